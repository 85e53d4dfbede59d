"""What a joined job comes to: every elevation as a plain model has it, that walks ancestors and adds whole inches."""

from __future__ import annotations

import random
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.joining.log import JoinedLog, LinkedRow
from gradecheck.journal.facts import KIND_OF, MarkGiven, Reading
from gradecheck.plan.load import understand
from gradecheck.plan.model import Plan
from gradecheck.state.state import State, Surface, fold_joined
from tests.joining.days import days
from tests.joining.inches import POINTS, Found, Inches, height
from tests.joining.laptops import Stored, joined_rows

JOB = """\
job: Wickering Yard
units: in
rods: {site rod: {kind: standard, graduation: 1/16 in}}
benchmarks: {DOOR: 0, STEP: 2}
tolerances: {finish: 1/8 in}
areas: {walk: {points: {W1: -3, W2: -4, W3: -5}}}
"""


@cache
def plan() -> Plan:
    """The plan that all of them follow."""
    return understand(JOB, "job.yaml", {}.__getitem__).plan


def joined(rows: dict[str, Stored] | list[LinkedRow], own: str) -> State:
    """The state of a laptop that has these rows."""
    read = rows if isinstance(rows, list) else joined_rows(rows.values())
    return fold_joined(plan(), JoinedLog(read, own), lambda entry: entry)


def found_in(state: State) -> Found:
    """The same from the state."""
    area, found = state.plan.areas["walk"], Found()
    for surface, shots in state.shots.items():
        point: str | int | None = surface.point
        if point not in POINTS:
            point = height(area.point(surface.point).finish) if surface.point in area.index else None
        for shot in shots:
            seen = state.found(shot, surface)
            in_doubt = seen is not None and state.in_doubt(shot)
            found[shot.id] = point, None if seen is None else height(seen), in_doubt
    return found


def heights(state: State) -> dict[str, tuple[str | int | None, int | None]]:
    """The point and the elevation of each reading, whether it is in doubt or not."""
    return {name: (point, found) for name, (point, found, _in_doubt) in found_in(state).items()}


def corrects(row: Stored) -> bool:
    """Whether an entry stands in another's place, or says what a benchmark was all along."""
    return row[12] is not None or row[5] == KIND_OF[MarkGiven]


def wanted_in(state: State) -> tuple[dict[str, int], list[int]]:
    """What the points are wanted at, and what those are that were added."""
    points = {point.name: height(point.finish) for point in state.plan.areas["walk"].points}
    return {name: points.pop(name) for name in POINTS}, sorted(points.values())


def everything(seed: int) -> tuple[dict[str, Stored], list[str]]:
    """All rows of a made-up history, and the last own one of each laptop."""
    laptops = days(seed)
    rows = {digest: row for laptop in laptops for digest, row in laptop.all.items()}
    return rows, [laptop.own[-1][-1] for laptop in laptops]


@given(st.integers(0, 10**9))
def test_every_elevation_is_what_the_plain_model_says_on_every_laptop(seed: int) -> None:
    rows, owns = everything(seed)
    plain = Inches(rows)
    wanted = plain.readings()
    order = [plain.entries[name].id for name in plain.firsts(Reading)]
    for own in owns:
        state = joined(rows, own)
        assert found_in(state) == wanted
        assert wanted_in(state) == (plain.targets(), plain.added())
        assert state.laptops is not None
        assert {each.first.id for each in state.laptops.conflicts} == plain.conflicts()
        for point in POINTS:
            last = state.latest(Surface("walk", point, "finish"))
            at_point = [each for each in order if wanted.get(each, ("",))[0] == point]
            assert (last.id if last else None) == (at_point[-1] if at_point else None)


@given(st.integers(0, 10**9))
def test_in_whichever_order_the_rows_came_the_state_is_the_same(seed: int) -> None:
    rows, owns = everything(seed)
    names = list(rows)
    random.Random(seed).shuffle(names)
    here, there = joined(rows, owns[0]), joined({name: rows[name] for name in names}, owns[0])
    assert found_in(here) == found_in(there)
    assert {name: here.mark(name) for name in here.book.marks()} == {
        name: there.mark(name) for name in there.book.marks()
    }
    assert here.doubts() == there.doubts()


@given(st.integers(0, 10**9))
def test_no_setup_moves_by_what_its_laptop_did_not_know_save_corrections(seed: int) -> None:
    laptops = days(seed, calm=True)
    whole = {digest: row for laptop in laptops for digest, row in laptop.all.items()}
    assert not any(map(corrects, whole.values()))
    for laptop in laptops:
        rows, own = {row[-1]: row for row in laptop.own}, laptop.own[-1][-1]
        alone, whole_job = joined({**rows, **laptop.theirs}, own), joined(whole, own)
        assert heights(alone).items() <= heights(whole_job).items(), "doubt may come with what others recorded"


def test_with_plain_names_known_to_all_the_elevations_would_be_others() -> None:
    # The negative control: what each laptop knew does make a difference in these histories.
    wrong = 0
    for seed in range(120):
        rows, owns = everything(seed)
        state = joined(rows, owns[0])
        right = found_in(state)
        state.book._knew = None
        state.book.version += 1
        wrong += found_in(state) != right
    assert wrong > 2
