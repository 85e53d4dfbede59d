"""After a kick exactly the readings behind the last good look are in doubt, with all that was carried from them."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.facts import DoubtAnswered, Entry, Rechecked, SetupMade, Void
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.plan.closure import closes
from gradecheck.plan.model import Plan
from gradecheck.state.state import State, Surface, fold
from gradecheck.survey.circuit import closings
from tests.journal_strategies import PLAN, SURFACES, Site, sixteenths
from tests.strategies import lengths

ALLOWED = PLAN.rechecks.allowed
READABLE = [Surface(*each) for each in SURFACES if each[0] != "verge"]
"""Every surface that needs no datum tied, one reading each."""
W1, W2, C1 = Surface("walk", "W1", "finish"), Surface("walk", "W2", "finish"), Surface("court", "C1", "finish")

kicks = st.builds(
    lambda more, sign: (ALLOWED + more) * sign,
    st.one_of(st.just(Length(Fraction(1, 10**9))), st.integers(1, 400).map(sixteenths)),
    st.sampled_from((1, -1)),
)
"""Any kick beyond what a recheck may be off, also by a hair."""
slight = st.fractions(-1, 1, max_denominator=64).map(lambda part: ALLOWED * part)
"""Anything within it, its edges too."""


@dataclass
class Watched:
    """One setup on the door, what was read and looked at from it, and how far it really stands off by now."""

    rod: str
    site: Site = field(default_factory=lambda: Site(PLAN))
    off: Length = ZERO
    reads: list[tuple[Surface, Entry]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.stood = self.site.set_up("DOOR", inches(48), rod=self.rod)

    def figure(self, elevation: Elevation) -> Length:
        """What the rod shows of that elevation as the instrument really stands."""
        if self.rod == "hand rod":
            return elevation.height + inches(48) - self.off
        return inches(48) - elevation.height + self.off

    def read(self) -> None:
        """A reading at the next surface."""
        surface = READABLE[len(self.reads)]
        self.reads.append((surface, self.site.read(surface, inches(50) + self.off, self.stood)))

    def look(self, mark: str = "DOOR", by: Length = ZERO) -> Entry:
        """A recheck; `by` is what the eye is off by, and the fact says what it meant at the time."""
        rod = self.figure(PLAN.benchmarks[mark].elevation) + by
        return self.site.add(Rechecked(self.stood.id, mark, rod, ZERO, True))

    def state(self) -> State:
        """What is known now."""
        return fold(PLAN, self.site.entries)


def _doubtful(state: State) -> set[Surface]:
    return {surface for surface, _ in state.doubts()}


_events = st.lists(st.one_of(st.just("read"), slight), max_size=10)


def _happen(watched: Watched, events: list[str | Length], mark: str) -> int:
    """What was done while all was well; how many readings lie before the last good look."""
    safe = 0
    for event in events:
        if isinstance(event, Length):
            watched.look(mark, event)
            safe = len(watched.reads)
        else:
            watched.read()
    return safe


either_rod = st.sampled_from(("site rod", "hand rod"))
marks = st.sampled_from(("DOOR", "KERB"))


@given(either_rod, marks, _events, st.integers(0, 4), kicks)
def test_a_kick_puts_exactly_what_follows_the_last_good_look_in_doubt(
    rod: str, mark: str, events: list[str | Length], late: int, kick: Length
) -> None:
    watched = Watched(rod)
    safe = _happen(watched, events, mark)
    watched.off = kick
    for _ in range(late):
        watched.read()
    assert _doubtful(watched.state()) == set()
    watched.look(mark)
    state = watched.state()
    assert _doubtful(state) == {surface for surface, _ in watched.reads[safe:]}
    assert [shot.id for _, shot in state.doubts()] == [entry.id for _, entry in watched.reads[safe:]]
    assert state.setup is None
    assert state.doubt.disturbed == [watched.stood.id]


@given(either_rod, marks, _events, st.integers(0, 4), slight)
def test_a_kick_within_what_is_allowed_puts_nothing_in_doubt(
    rod: str, mark: str, events: list[str | Length], late: int, kick: Length
) -> None:
    watched = Watched(rod)
    _happen(watched, events, mark)
    watched.off = kick
    for _ in range(late):
        watched.read()
    watched.look(mark)
    state = watched.state()
    assert _doubtful(state) == set()
    assert state.doubt.disturbed == []
    assert state.setup is not None
    assert state.setup.id == watched.stood.id


@given(either_rod, kicks)
def test_a_recheck_says_how_far_the_mark_seems_to_lie_off(rod: str, kick: Length) -> None:
    watched = Watched(rod)
    watched.off = kick
    watched.look("KERB")
    state = watched.state()
    failed = state.doubt.failed(watched.stood.id)
    assert failed is not None
    # The instrument went up by the kick: the mark seems to have gone down by it.
    assert state.doubt.misclosure(failed) == -kick


@given(either_rod, kicks, st.integers(1, 4))
def test_a_good_look_after_the_failed_one_does_not_take_the_doubt_away(rod: str, kick: Length, late: int) -> None:
    watched = Watched(rod)
    watched.off = kick
    for _ in range(late):
        watched.read()
    watched.look()
    watched.off = ZERO
    watched.look()
    watched.read()
    state = watched.state()
    assert _doubtful(state) == {surface for surface, _ in watched.reads}
    assert state.setup is None


@given(either_rod, kicks, st.integers(1, 5))
def test_striking_the_failed_recheck_lifts_the_doubt(rod: str, kick: Length, late: int) -> None:
    watched = Watched(rod)
    watched.off = kick
    for _ in range(late):
        watched.read()
    look = watched.look()
    watched.site.add(Void("that was the wrong bolt"), replaces=look.id)
    state = watched.state()
    assert _doubtful(state) == set()
    assert state.setup is not None


@given(either_rod, kicks)
def test_the_backsight_put_right_may_show_that_nobody_kicked_it(rod: str, keyed_off: Length) -> None:
    watched = Watched(rod)
    watched.read()
    watched.off = keyed_off
    watched.look()
    assert _doubtful(watched.state()) == {watched.reads[0][0]}
    fact = watched.stood.fact
    assert isinstance(fact, SetupMade)
    (sight,) = fact.backsights
    right = dataclasses.replace(sight, rod=watched.figure(Elevation(Fraction(0))))
    watched.site.add(dataclasses.replace(fact, backsights=(right,)), replaces=watched.stood.id)
    assert _doubtful(watched.state()) == set()


@given(kicks, st.integers(1, 6), st.data())
def test_a_reading_retaken_from_a_new_setup_ends_its_own_doubt_alone(
    kick: Length, late: int, data: st.DataObject
) -> None:
    watched = Watched("site rod")
    watched.off = kick
    for _ in range(late):
        watched.read()
    watched.look()
    again = watched.site.set_up("DOOR", inches(45))
    shot_again = data.draw(st.sets(st.sampled_from([surface for surface, _ in watched.reads])))
    for surface in sorted(shot_again):
        watched.site.read(surface, inches(46), again)
    assert _doubtful(watched.state()) == {surface for surface, _ in watched.reads} - shot_again
    assert watched.state().setup is not None


@given(kicks, st.integers(1, 6), st.data())
def test_an_answered_doubt_is_none_until_the_answer_is_struck(kick: Length, late: int, data: st.DataObject) -> None:
    watched = Watched("site rod")
    watched.off = kick
    for _ in range(late):
        watched.read()
    watched.look()
    doubtful = {surface for surface, _ in watched.reads}
    trusted = data.draw(st.sets(st.sampled_from(watched.reads).map(lambda read: read[1].id)))
    answer = watched.site.add(DoubtAnswered(tuple(sorted(trusted)), "string line agrees"))
    left = {surface for surface, entry in watched.reads if entry.id not in trusted}
    assert _doubtful(watched.state()) == left
    watched.site.add(Void("it did not"), replaces=answer.id)
    assert _doubtful(watched.state()) == doubtful


# -- carried on


@given(kicks, st.integers(1, 6))
def test_doubt_follows_turning_points_into_every_later_set_up(kick: Length, moves: int) -> None:
    watched = Watched("site rod")
    watched.read()
    safe = watched.site.mark("SAFE", inches(40), watched.stood)
    watched.look()
    watched.off = kick
    watched.site.mark("TP0", inches(40), watched.stood)
    watched.look()
    stood = watched.stood
    for number in range(moves):
        stood = watched.site.set_up(f"TP{number}", inches(44))
        watched.site.mark(f"TP{number + 1}", inches(40), stood)
    watched.site.read(W2, inches(50), stood)
    on_safe = watched.site.set_up("SAFE", inches(44))
    watched.site.read(C1, inches(50), on_safe)
    state = watched.state()
    assert _doubtful(state) == {W2}
    assert [state.doubt.mark_in_doubt(f"TP{number}") for number in range(moves + 1)] == [True] * (moves + 1)
    assert not state.doubt.mark_in_doubt("SAFE")
    assert state.doubt.disturbed == [watched.stood.id]
    assert safe.seq < watched.site.entries[4].seq


def test_a_set_up_on_one_mark_in_doubt_of_several_is_in_doubt() -> None:
    watched = Watched("site rod")
    watched.site.mark("TP1", inches(40), watched.stood)
    watched.off = inches(1)
    watched.look()
    fact = watched.site.set_up("DOOR", inches(44)).fact
    assert isinstance(fact, SetupMade)
    both = (*fact.backsights, dataclasses.replace(fact.backsights[0], mark="TP1", rod=inches(36)))
    on_both = watched.site.add(dataclasses.replace(fact, backsights=both))
    watched.site.read(W2, inches(50), on_both)
    assert _doubtful(watched.state()) == {W2}


def test_a_turning_point_shot_anew_is_trusted_the_old_one_not() -> None:
    watched = Watched("site rod")
    watched.site.mark("TP1", inches(40), watched.stood)
    on_old = watched.site.set_up("TP1", inches(44))
    watched.site.read(W1, inches(50), on_old)
    watched.site.add(Rechecked(watched.stood.id, "DOOR", inches(49), ZERO, True))
    fresh = watched.site.set_up("DOOR", inches(48))
    watched.site.mark("TP1", inches(40), fresh)
    watched.site.read(W2, inches(50), watched.site.set_up("TP1", inches(44)))
    state = watched.state()
    assert _doubtful(state) == {W1}
    assert not state.doubt.mark_in_doubt("TP1")


def test_a_mark_is_as_sound_as_the_reading_it_was_made_of() -> None:
    watched = Watched("site rod")
    surface, read = W1, watched.site.read(W1, inches(50), watched.stood)
    watched.look()
    watched.site.mark("W1", inches(50), watched.stood, reading=read)
    watched.off = inches(1)
    watched.look()
    state = watched.state()
    assert surface not in _doubtful(state)
    assert not state.doubt.mark_in_doubt("W1")


def test_a_look_at_a_mark_that_is_not_known_any_more_tells_nothing() -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", inches(48))
    site.mark("TP1", inches(40), first)
    second = site.set_up("KERB", inches(48))
    site.read(W2, inches(50), second)
    # KERB lies at −4 and TP1 at 8: the second plane is at 44.
    look = site.add(Rechecked(second.id, "TP1", inches(36), ZERO, True))
    site.read(C1, inches(50), second)
    state = fold(PLAN, site.entries)
    assert (_doubtful(state), state.doubt.last_good(second.id, 99)) == (set(), look.seq)
    site.add(Void("tripod slipped"), replaces=first.id)
    state = fold(PLAN, site.entries)
    assert _doubtful(state) == set()
    assert state.setup is not None
    # Nor is it a good look: a later failed one reaches back behind it.
    assert state.doubt.last_good(second.id, 99) == second.seq
    site.add(Rechecked(second.id, "KERB", inches(47), ZERO, True))
    assert _doubtful(fold(PLAN, site.entries)) == {W2, C1}


@given(kicks, st.integers(0, 3), st.integers(0, 3), st.booleans())
def test_a_look_at_a_mark_first_seen_after_the_kick_hides_nothing(
    kick: Length, early: int, late: int, looked_before: bool
) -> None:
    """It is where it was seen, whatever happened before; only a look at what was known before that tells."""
    watched = Watched("site rod")
    if not looked_before:
        watched.off = kick
    for _ in range(early):
        watched.read()
    tp = Elevation(inches(8).metres)
    watched.site.mark("TP1", watched.figure(tp), watched.stood)
    if looked_before:  # then the mark is as good as the setup, and so is a look at it
        watched.look()
    for _ in range(late):
        watched.read()
    watched.site.add(Rechecked(watched.stood.id, "TP1", watched.figure(tp), ZERO, True))
    watched.off = kick
    watched.look()
    safe = len(watched.reads) if looked_before else 0
    assert _doubtful(watched.state()) == {surface for surface, _ in watched.reads[safe:]}


@pytest.mark.parametrize("count", [1, 3])
@given(by=lengths)
def test_a_set_up_without_any_recheck_is_never_in_doubt(count: int, by: Length) -> None:
    watched = Watched("site rod")
    watched.off = by
    for _ in range(count):
        watched.read()
    assert _doubtful(watched.state()) == set()


# A circuit that closes ------------------------------------------------------------------------------------------

PER_ROOT = dataclasses.replace(PLAN, closure="0.02 ft per root setup")
"""0.24 in for each root setup: over two 0.339 in, where a recheck may be off 1/8."""


def _walked(plan: Plan, off: Length, *more: Length) -> State:
    """From DOOR over TP1 and back to DOOR, which is then found off by so much; looks at it again follow."""
    site = Site(plan)
    first = site.set_up("DOOR", inches(48))
    site.mark("TP1", inches(50), first)
    second = site.set_up("TP1", inches(46))
    site.read(READABLE[0], inches(45), second)
    for each in (off, *more):
        site.add(Rechecked(second.id, "DOOR", inches(44) - each, ZERO, True))
    return fold(plan, site.entries)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("off", "doubtful"), [("1/8", False), ("3/16", False), ("5/16", False), ("3/8", True), ("12", True)]
)
def test_a_circuit_that_closes_within_the_plan_s_rule_is_no_kick(off: str, doubtful: bool, sign: int) -> None:
    state = _walked(PER_ROOT, inches(Fraction(off) * sign))
    assert bool(state.doubts()) is doubtful
    assert bool(state.doubt.disturbed) is doubtful


def test_the_circuit_and_the_recheck_give_one_answer() -> None:
    for sixteenth in range(17):
        state = _walked(PER_ROOT, inches(Fraction(sixteenth, 16)))
        (closing,) = closings(state.book)
        assert bool(state.doubts()) is not closes(closing.circuit, PER_ROOT.allowance)


def test_without_a_plan_rule_a_closing_is_held_to_the_recheck_tolerance() -> None:
    assert not _walked(PLAN, inches(Fraction(1, 8))).doubts()
    assert _walked(PLAN, inches(Fraction(3, 16))).doubts()


@pytest.mark.parametrize(("again", "doubtful"), [("1/4", False), ("5/16", False), ("3/8", False), ("7/16", True)])
def test_a_look_after_the_closing_shows_whether_the_laser_moved_since(again: str, doubtful: bool) -> None:
    """The circuit closed at 1/4; what the mark is off by later may differ from that by 1/8."""
    state = _walked(PER_ROOT, inches(Fraction(1, 4)), inches(Fraction(again)))
    assert bool(state.doubt.disturbed) is doubtful
    assert not state.doubts(), "what was read before the circuit closed stays good"


def test_a_kick_after_a_look_that_was_good_is_no_circuit_that_misses() -> None:
    assert _walked(PER_ROOT, ZERO, inches(Fraction(3, 16))).doubt.disturbed


def test_a_mark_the_setup_stands_on_shows_a_kick_whatever_circuits_allow() -> None:
    site = Site(PER_ROOT)
    stood = site.set_up("DOOR", inches(48))
    site.read(READABLE[0], inches(45), stood)
    site.add(Rechecked(stood.id, "DOOR", inches(48) - inches(Fraction(3, 16)), ZERO, True))
    assert fold(PER_ROOT, site.entries).doubts()
