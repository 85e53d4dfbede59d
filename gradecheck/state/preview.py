"""What a correction would change, told before it is accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

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
    """Today's judgement of every surface that was read."""
    return {surface: state.verdict(surface) for surface in state.shots}


def preview(
    before: Mapping[Surface, Verdict | None],
    after: Mapping[Surface, Verdict | None],
    doubted: Sequence[Surface] = (),
) -> Preview:
    """What differs between two judgements of the same readings; `doubted` are those that go in doubt."""
    moves, changed = [], []
    for surface, was in before.items():
        now = after.get(surface)
        if was is not None and now is not None and was.difference != now.difference:
            moves.append(now.difference - was.difference)
        if (was.word if was else None) != (now.word if now else None):
            changed.append(surface)
    return Preview(len(moves), max(moves, key=abs, default=ZERO), tuple(changed), tuple(doubted))
