"""What is known is worked out from plan and journal alone: it never raises, and corrections move what they should."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    Entry,
    InstrumentMoved,
    Late,
    Note,
    Reading,
    SetupMade,
    Void,
)
from gradecheck.journal.store import LogLine
from gradecheck.measure.quantities import Elevation, Length, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.log import log_row
from gradecheck.report.rows import answer, point_row
from gradecheck.state.state import State, Surface, first_and_last, fold
from tests.journal.drafts import FIRST_MOMENT
from tests.journal_strategies import JOB, PLAN, SURFACES, Site, days, everything_known, nonsense, sixteenths
from tests.strategies import examples, lengths


def _state(site: Site) -> State:
    return fold(PLAN, site.entries)


def _found(state: State) -> dict[Surface, Elevation | None]:
    return {surface: state.found(shots[-1], surface) for surface, shots in state.shots.items()}


# -- any journal at all


@given(days())
def test_the_same_journal_always_gives_the_same_state(entries: list[Entry]) -> None:
    assert everything_known(fold(PLAN, entries)) == everything_known(fold(PLAN, entries))


@given(days())
def test_entries_that_go_by_once_and_are_not_kept_give_the_same_state(entries: list[Entry]) -> None:
    replacing = [entry for entry in entries if entry.replaces is not None]
    assert everything_known(fold(PLAN, iter(entries), replacing)) == everything_known(fold(PLAN, entries))


@given(days())
def test_asking_changes_nothing(entries: list[Entry]) -> None:
    state = fold(PLAN, entries)
    first = everything_known(state)
    assert everything_known(state) == first


@examples(200)
@given(nonsense())
def test_no_sequence_of_entries_makes_the_state_or_its_rows_raise(entries: list[Entry]) -> None:
    state = fold(PLAN, entries)
    known = everything_known(state)
    assert known["problems"] == sorted(state.problems())
    for surface in (Surface(*each) for each in SURFACES):
        assert point_row(state, surface).point == surface.point
        reply = answer(state, surface)
        assert (reply is None) == (state.verdict(surface) is None)
    for entry in entries:
        assert log_row(state, LogLine(entry, None)).seq == entry.seq


@pytest.mark.parametrize("ends", ["set up", "moved"])
def test_a_backsight_stands_until_the_laser_is_set_up_or_moved(ends: str) -> None:
    site = Site(PLAN)
    taken = BacksightTaken("site rod", Backsight("DOOR", inches(50), Elevation(Fraction(0))))
    first = site.add(taken)
    assert _state(site).sights_by_place == {first.seq: taken}
    if ends == "set up":
        site.set_up("DOOR", inches(50))
    else:
        site.add(InstrumentMoved("a new spot"))
    assert _state(site).sights == []
    again = site.add(taken)
    assert _state(site).sights_by_place == {again.seq: taken}


@given(days())
def test_an_area_has_as_many_checked_points_as_have_a_reading_that_stands(entries: list[Entry]) -> None:
    state = fold(PLAN, entries)
    read = {(last.fact.area, last.fact.point, last.fact.stage) for last in _standing_readings(entries)}
    for area in state.plan.areas.values():
        for stage in area.stages:
            checked = [point.name for point in area.points if (area.name, point.name, stage) in read]
            assert state.checked(area.name, stage) == len(checked)


@given(days(), st.integers(0, 2))
def test_the_next_point_is_the_first_without_a_trusted_reading(entries: list[Entry], after: int) -> None:
    state = fold(PLAN, entries)
    doubtful = [surface for surface, _ in state.doubts()]
    for area in state.plan.areas.values():
        here = after % len(area.points)
        for stage in area.stages:
            open_ = [
                place
                for place, point in enumerate(area.points)
                if not state.latest(surface := Surface(area.name, point.name, stage)) or surface in doubtful
            ]
            in_turn = [place for place in open_ if place > here] + [place for place in open_ if place <= here]
            assert state.next_unchecked(area.name, stage, here) == (in_turn[0] if in_turn else None)


@given(days())
def test_of_several_readings_the_last_that_stands_counts(entries: list[Entry]) -> None:
    # Those that were entered later count where they were taken, which has tests of its own.
    in_time = [
        dataclasses.replace(entry, fact=dataclasses.replace(entry.fact, late=None))
        if isinstance(entry.fact, Reading)
        else entry
        for entry in entries
    ]
    last: dict[Surface, Length] = {}
    for entry in _standing_readings(in_time):
        last[Surface(entry.fact.area, entry.fact.point, entry.fact.stage)] = entry.fact.rod
    assert {surface: shots[-1].rod for surface, shots in fold(PLAN, in_time).shots.items()} == last


def _standing_readings(entries: Sequence[Entry]) -> list[Entry]:
    return [last for _, last in first_and_last(entries) if isinstance(last.fact, Reading)]


def test_what_stands_in_each_place_is_the_last_of_its_chain() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    read = site.read(("walk", "W1", "finish"), inches(50))
    right = site.add(dataclasses.replace(read.fact, rod=inches(49)), replaces=read.id)
    struck = site.add(Void("wrong point"), replaces=right.id)
    assert [(first.seq, last.seq) for first, last in first_and_last(site.entries)] == [(1, 1), (2, struck.seq)]


# -- a setup corrected, struck, moved

rods = st.integers(1, 1600).map(sixteenths)


@given(
    backsight=rods,
    by=lengths,
    here=st.lists(st.tuples(st.sampled_from(SURFACES[:12]), rods), min_size=1, max_size=8),
    elsewhere=st.lists(st.tuples(st.sampled_from(SURFACES[12:14]), rods), max_size=4),
)
def test_a_corrected_backsight_moves_its_setups_elevations_alone(
    backsight: Length,
    by: Length,
    here: list[tuple[tuple[str, str, str], Length]],
    elsewhere: list[tuple[tuple[str, str, str], Length]],
) -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", backsight)
    for surface, rod in here:
        site.read(surface, rod, first)
    second = site.set_up("KERB", inches(40))
    for surface, rod in elsewhere:
        site.read(surface, rod, second)
    before = _found(_state(site))
    assert isinstance(first.fact, SetupMade)
    (sight,) = first.fact.backsights
    right = dataclasses.replace(sight, rod=backsight + by)
    site.add(dataclasses.replace(first.fact, backsights=(right,)), replaces=first.id)
    after = _found(_state(site))
    for surface, was in before.items():
        now = after[surface]
        assert was is not None
        assert now is not None
        moved = now.above(was)
        assert moved == (by if surface.area == "walk" else inches(0))


@given(by=lengths, rod=rods)
def test_correcting_a_backsight_moves_all_that_leans_on_it(by: Length, rod: Length) -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", inches(48))
    site.mark("TP1", inches(60), first)
    site.set_up("TP1", inches(30))
    site.read(("walk", "W1", "finish"), rod)
    before = _found(_state(site))[Surface("walk", "W1", "finish")]
    # DOOR 0 + 48 − 60 = TP1 −12; −12 + 30 − rod.
    assert before == Elevation((inches(18) - rod).metres)
    assert isinstance(first.fact, SetupMade)
    (sight,) = first.fact.backsights
    right = dataclasses.replace(sight, rod=sight.rod + by)
    site.add(dataclasses.replace(first.fact, backsights=(right,)), replaces=first.id)
    after = _found(_state(site))[Surface("walk", "W1", "finish")]
    assert after is not None
    assert after.above(before) == by


@given(by=lengths)
def test_correcting_a_reading_moves_its_surface_and_its_mark(by: Length) -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    made = site.read(("walk", "W1", "finish"), inches(50))
    site.read(("walk", "W2", "finish"), inches(52))
    site.mark("W1", inches(50), site.entries[0], reading=made)
    before = _state(site)
    site.add(dataclasses.replace(made.fact, rod=inches(50) + by), replaces=made.id)
    after = _state(site)
    assert after.mark("W1") == before.mark("W1").minus(by)
    assert _found(after) == {
        **_found(before),
        Surface("walk", "W1", "finish"): Elevation((inches(-2) - by).metres),
    }


def test_a_reading_struck_gives_its_surface_back_to_the_one_before() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    site.read(("walk", "W1", "finish"), inches(48) + sixteenths(8))
    second = site.read(("walk", "W1", "finish"), inches(52))
    surface = Surface("walk", "W1", "finish")
    assert (_state(site).verdict(surface).word, _state(site).checked("walk", "finish")) == (Word.FILL, 1)
    site.add(Void("rod stood on the string"), replaces=second.id)
    # −1/2 is wanted there, and 48 − 48 1/2 was found the first time.
    assert (_state(site).verdict(surface).word, _state(site).checked("walk", "finish")) == (Word.ON_GRADE, 1)
    site.add(Void("that one too"), replaces=site.entries[1].id)
    assert (_state(site).verdict(surface), _state(site).checked("walk", "finish")) == (None, 0)


def test_a_corrected_reading_counts_in_its_own_place_not_as_the_latest() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    first = site.read(("walk", "W1", "finish"), inches(52))
    site.read(("walk", "W1", "finish"), inches(48) + sixteenths(8))
    site.add(dataclasses.replace(first.fact, rod=inches(53)), replaces=first.id)
    shots = _state(site).shots[Surface("walk", "W1", "finish")]
    assert [shot.rod for shot in shots] == [inches(53), inches(48) + sixteenths(8)]


@pytest.mark.parametrize(("after", "newest"), [(2, 51), (3, 50), (4, 50)])
def test_a_reading_from_paper_comes_just_behind_the_entry_that_it_names(after: int, newest: int) -> None:
    """The point was read as entry 3; what is entered as entry 4 may have been taken before that, or since."""
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    site.add(Note("walk", "rain"))
    first = site.read(("walk", "W1", "finish"), inches(51))
    assert isinstance(first.fact, Reading)
    on_paper = Late(FIRST_MOMENT.isoformat(), "JM", after)
    site.add(dataclasses.replace(first.fact, rod=inches(50), late=on_paper))
    shot = _state(site).latest(Surface("walk", "W1", "finish"))
    assert shot is not None
    assert shot.rod == inches(newest)


def test_striking_a_reading_takes_its_mark_and_what_stood_on_it() -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", inches(48))
    made = site.read(("walk", "W1", "finish"), inches(50))
    site.mark("W1", inches(50), first, reading=made)
    site.set_up("W1", inches(40))
    assert _state(site).setup is not None
    site.add(Void("rod on a stone"), replaces=made.id)
    assert _state(site).mark("W1") is None
    assert _state(site).setup is None


def test_the_only_reading_struck_opens_the_point_again() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    reads = [site.read(("walk", point, "base"), inches(60)) for point in ("W1", "W2", "W3")]
    assert _state(site).next_unchecked("walk", "base", 0) is None
    site.add(Void("x"), replaces=reads[1].id)
    assert [_state(site).next_unchecked("walk", "base", after) for after in (0, 1, 2)] == [1, 1, 1]


def test_readings_outside_the_plan_do_not_count_as_checked_points() -> None:
    # As after a point was taken out of the job file: W9 was read under the plan of yesterday.
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    for point in ("W1", "W2", "W9"):
        site.read(("walk", point, "base"), inches(60))
    assert _state(site).checked("walk", "base") == 2
    assert _state(site).next_unchecked("walk", "base", 1) == 2


def test_the_last_set_up_is_the_one_that_is_read_from() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    second = site.set_up("KERB", inches(40))
    state = _state(site)
    assert state.setup is not None
    assert state.setup.id == second.id
    assert state.setup.instrument is not None
    assert state.setup.instrument.zero == Elevation(inches(36).metres)


def test_when_the_newest_set_up_is_struck_none_stands_until_the_next() -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", inches(48))
    site.read(("walk", "W1", "finish"), inches(50), first)
    second = site.set_up("KERB", inches(40))
    site.add(Void("wrong mark"), replaces=second.id)
    # Where the instrument stood for the first, it may no longer stand; what was read then still counts.
    assert _state(site).setup is None
    assert _state(site).verdict(Surface("walk", "W1", "finish")) is not None
    third = site.set_up("DOOR", inches(45))
    state = _state(site)
    assert state.setup is not None
    assert state.setup.id == third.id


def test_striking_an_older_setup_takes_its_own_readings_alone() -> None:
    site = Site(PLAN)
    first = site.set_up("DOOR", inches(48))
    site.read(("walk", "W1", "finish"), inches(50), first)
    second = site.set_up("KERB", inches(40))
    site.read(("walk", "W2", "finish"), inches(42), second)
    site.add(Void("tripod slipped"), replaces=first.id)
    state = _state(site)
    assert state.setup is not None
    assert state.setup.id == second.id
    assert state.verdict(Surface("walk", "W1", "finish")) is None
    assert state.verdict(Surface("walk", "W2", "finish")) is not None
    assert state.problems() == ["W1 finish has no height of instrument; read it again."]


def test_a_set_up_without_any_backsight_gives_no_plane() -> None:
    site = Site(PLAN)
    empty = site.add(SetupMade("site rod", ()))
    site.read(("walk", "W1", "finish"), inches(50), empty)
    state = _state(site)
    assert state.setup is None
    assert state.verdict(Surface("walk", "W1", "finish")) is None


@pytest.mark.parametrize("order", [(0, 1), (1, 0)], ids=["strike-then-read", "read-then-strike"])
def test_a_reading_from_a_struck_set_up_is_kept_but_not_judged(order: tuple[int, int]) -> None:
    site = Site(PLAN)
    stood = site.set_up("DOOR", inches(48))
    does = [
        lambda: site.add(Void("slipped"), replaces=stood.id),
        lambda: site.read(("walk", "W1", "finish"), inches(50), stood),
    ]
    for which in order:
        does[which]()
    state = _state(site)
    shot = state.latest(Surface("walk", "W1", "finish"))
    assert shot is not None
    assert shot.rod == inches(50)
    assert state.found(shot) is None


def test_a_plan_without_the_rod_of_a_set_up_still_folds() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48), rod="lost rod")
    site.read(("walk", "W1", "finish"), inches(50))
    assert _state(site).setup is None
    assert _state(site).problems() == ["W1 finish has no height of instrument; read it again."]


def test_another_plan_judges_the_same_readings_anew() -> None:
    site = Site(PLAN)
    site.set_up("DOOR", inches(48))
    site.read(("court", "C1", "finish"), inches(51))
    lower = JOB.replace("C1: -3 in", "C1: -5 in")
    surface = Surface("court", "C1", "finish")
    assert _state(site).verdict(surface).word is Word.ON_GRADE
    revised: Plan = read_plan(lower, "job.yaml")
    verdict = fold(revised, site.entries).verdict(surface)
    assert verdict is not None
    assert (verdict.word, verdict.difference) == (Word.CUT, inches(2))


def test_the_direct_rod_counts_upward_where_the_standard_one_counts_down() -> None:
    site = Site(PLAN)
    site.set_up("KERB", sixteenths(16 * 10), rod="hand rod")
    site.read(("court", "C1", "finish"), inches(11))
    # KERB lies at −4; on a direct rod one inch more is one inch higher.
    assert _found(_state(site)) == {Surface("court", "C1", "finish"): Elevation(Fraction(inches(-3).metres))}
