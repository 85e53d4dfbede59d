"""What a joined job comes to: every elevation as a plain model has it, that walks ancestors and adds whole inches."""

from __future__ import annotations

import random
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.joining.log import JoinedLog
from gradecheck.journal.chain import from_row
from gradecheck.journal.facts import MarkMade, Reading, SetupMade
from gradecheck.measure.quantities import Length, inches
from gradecheck.plan.load import understand
from gradecheck.plan.model import Plan
from gradecheck.state.state import State, Surface, fold_joined
from tests.joining.days import BENCHMARKS, POINTS, days
from tests.joining.laptops import Stored, joined_rows, plain_of
from tests.joining.model import Model

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


def joined(rows: dict[str, Stored], own: str) -> State:
    """The state of a laptop that has these rows."""
    return fold_joined(plan(), JoinedLog(joined_rows(rows.values()), own), lambda entry: entry)


class Inches:
    """The plain model of what the readings come to."""

    def __init__(self, rows: dict[str, Stored]) -> None:
        self.model: Model = plain_of(rows.values())
        self.entries = {digest: from_row(row) for digest, row in rows.items()}
        self.of_id = {entry.id: digest for digest, entry in self.entries.items()}
        for name, row in list(self.model.rows.items()):
            self.model.rows[name] = type(row)(row.name, row.before, row.laptop, row.number, row.at, row.knows,
                                              self.of_id.get(row.replaces, ""), row.says)  # fmt: skip
        self.closed = self.model.closed()
        self.order = self.model.order()
        self._beams: dict[str, int | None] = {}

    def counts(self, first: str) -> object:
        """The fact that counts in the place of an entry."""
        return self.entries[self.model.standing(first)[0]].fact

    def firsts(self, kind: type) -> list[str]:
        """The entries of a kind that are first in their place, in order."""
        return [
            name
            for name in self.order
            if isinstance(self.entries[name].fact, kind) and not self.model.rows[name].replaces
        ]

    def beam(self, setup: str) -> int | None:
        """Inches above the zero at which the laser of a setup stands."""
        if setup not in self._beams:
            self._beams[setup] = self._beam(setup)
        return self._beams[setup]

    def _beam(self, setup: str) -> int | None:
        fact = self.counts(setup)
        if not isinstance(fact, SetupMade):
            return None
        [sight] = fact.backsights
        mark = self.mark(sight.mark, setup)
        return None if mark is None else mark + whole(sight.rod)

    def mark(self, name: str, by: str) -> int | None:
        """A mark as whoever wrote that entry knew it, by the name that was written."""
        if name in BENCHMARKS:
            return BENCHMARKS[name]
        plain, _, laptop = name.partition(" of ")
        every = [each for each in self.firsts(MarkMade) if self.entries[each].fact.mark == plain]
        line = [each for each in every if each in self.model.line(by)]
        known = [each for each in every if each in self.closed[by] and self.entries[each].laptop == laptop]
        meant = line[-1] if not laptop and line else self.alike(known, self.closed[by] | {by})[-1] if known else ""
        if not meant:
            return None
        made = [each for each in self.alike(every, set(self.closed), meant) if each in self.closed[by]]
        # Struck ones count no more, and then the one before under that name does.
        still = [each for each in made if isinstance(self.counts(each), MarkMade)]
        return self.seen(still[-1]) if still else None

    def alike(self, made: list[str], seen: set[str], with_it: str = "") -> list[str]:
        """The first of them and what was made anew of it where nobody who saw these rows saw a fork in between.

        With one of them given, what is one mark with that.
        """
        start, found = with_it or made[0], []
        for each in made:
            early, late = (each, start) if each in self.model.line(start) else (start, each)
            if early in self.model.line(late) and not self.parts(early, late, seen):
                found.append(each)
        return found

    def parts(self, early: str, late: str, seen: set[str]) -> bool:
        """Whether the chain parts between two rows of it, by the rows that were seen."""
        here = late
        while here != early:
            before = self.model.rows[here].before
            if sum(self.model.rows[each].before == before for each in seen) > 1:
                return True
            here = before
        return False

    def seen(self, made: str) -> int | None:
        """Where a turning point lies, seen from its setup."""
        fact = self.counts(made)
        assert isinstance(fact, MarkMade)
        beam = self.beam(self.of_id[fact.setup])
        return None if beam is None else beam - whole(fact.rod)

    def readings(self) -> dict[str, tuple[str, int | None]]:
        """Every reading that counts: its point, and what was found there."""
        found = {}
        for name in self.firsts(Reading):
            fact = self.counts(name)
            if isinstance(fact, Reading):
                beam = self.beam(self.of_id[fact.setup])
                found[self.entries[name].id] = fact.point, None if beam is None else beam - whole(fact.rod)
        return found


def whole(length: Length) -> int:
    """Whole inches."""
    marks = length.metres / inches(1).metres
    assert marks.denominator == 1
    return marks.numerator


def found_in(state: State) -> dict[str, tuple[str, int | None]]:
    """The same from the state."""
    shots = [(surface, shot) for surface, each in state.shots.items() for shot in each]
    heights = {shot.id: state.found(shot, surface) for surface, shot in shots}
    return {
        shot.id: (surface.point, whole(height.height) if (height := heights[shot.id]) is not None else None)
        for surface, shot in shots
    }


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
        for point in POINTS:
            last = state.latest(Surface("walk", point, "finish"))
            at_point = [each for each in order if wanted.get(each, ("", 0))[0] == point]
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
def test_no_setup_moves_by_what_its_laptop_did_not_know_unless_that_corrects(seed: int) -> None:
    for laptop in days(seed):
        rows = {row[-1]: row for row in laptop.own}
        if any(row[12] is not None for row in laptop.all.values()):
            continue
        alone, with_others = joined({**rows, **laptop.theirs}, laptop.own[-1][-1]), everything(seed)[0]
        if any(row[12] is not None for row in with_others.values()):
            continue
        whole_job = joined(with_others, laptop.own[-1][-1])
        assert found_in(alone).items() <= found_in(whole_job).items()


def test_with_plain_names_and_all_known_to_all_the_elevations_would_be_others() -> None:
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
