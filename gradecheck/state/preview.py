"""What a correction would change, told before it is accepted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from gradecheck.checks.verdict import Verdict
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.state.state import State, Surface


@dataclass(frozen=True, slots=True)
class Preview:
    """How many points move, by how much at most, which change their verdict or lose it, and which go in doubt."""

    moved: int
    largest: Length
    changed: tuple[Surface, ...]
    doubted: tuple[Surface, ...] = ()


def verdicts(state: State) -> dict[Surface, Verdict | None]:
    """Today's judgment of every surface that was read."""
    return {surface: state.verdict(surface) for surface in state.shots}


def touched(before: State, after: State) -> Iterator[Surface]:
    """The surfaces whose judgment may differ between a state and one that a single fact was changed in.

    All that is judged from a setup which gives the same height, as sure as before, under the same target stays.
    """

    @cache
    def same_setup(setup: str) -> bool:
        return (
            before.book.setup(setup) == after.book.setup(setup)
            and before.carried.alike(after.carried, setup)
            and before.book.examples_under(setup) == after.book.examples_under(setup)
        )

    @cache
    def same_zero(area: str) -> bool:
        datum = before.plan.areas[area].datum if area in before.plan.areas else None
        return before.zero_of(datum) == after.zero_of(datum)

    same_plan = before.plan is after.plan
    for surface, shots in before.shots.items():
        last, now = shots[-1], after.latest(surface)
        if not (same_plan and now == last and same_setup(last.setup) and same_zero(surface.area)):
            yield surface


def preview_of(before: State, after: State) -> Preview:
    """What differs between a state and one that a single fact was changed in."""
    surfaces = list(touched(before, after))
    known = {surface for surface, _ in before.doubts()}
    doubted = [surface for surface, _ in after.doubts() if surface not in known]
    return preview(
        {surface: before.verdict(surface) for surface in surfaces},
        {surface: after.verdict(surface) for surface in surfaces if surface in after.shots},
        doubted,
    )


def preview(
    before: Mapping[Surface, Verdict | None],
    after: Mapping[Surface, Verdict | None],
    doubted: Sequence[Surface] = (),
) -> Preview:
    """What differs between two judgments of the same readings; `doubted` are those that go in doubt."""
    moves, changed = [], []
    for surface, was in before.items():
        now = after.get(surface)
        if was is not None and now is not None and was.difference != now.difference:
            moves.append(now.difference - was.difference)
        if (was.word if was else None) != (now.word if now else None):
            changed.append(surface)
    return Preview(len(moves), max(moves, key=abs, default=ZERO), tuple(changed), tuple(doubted))
