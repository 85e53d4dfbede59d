"""Flights: what is judged, what is left alone, and what the next riser must be to end right."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.held import Held
from gradecheck.checks.steps import (
    Ahead,
    Flight,
    FlightCheck,
    Nosing,
    Tread,
    check_flight,
    flights_of,
    to_end_right,
)
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope, feet, inches, metres, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.flights import equal_risers
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Landing, Rise, Steps
from tests.strategies import GRADUATIONS, lengths

HOUSE = ("us-residential",)
LIMITS = Limits(codes=HOUSE)
SIXTEENTH = inches(Fraction(1, 16))
graduations = st.sampled_from([mark for marks in GRADUATIONS.values() for mark in marks])
counts = st.integers(1, 30)


def up(number: str | int) -> Elevation:
    return Elevation(_inches(number).metres)


def _inches(number: str | int) -> Length:
    return read_length(str(number), Units.IN)


def flight(*heights: str | int | None) -> Flight:
    nosings = tuple(Nosing(f"N{index}", None if z is None else up(z)) for index, z in enumerate(heights))
    return Flight(nosings)


def of_risers(*risers: str, sign: int = 1) -> Flight:
    at, nosings = Elevation(Fraction(0)), [Nosing("N0", Elevation(Fraction(0)))]
    for index, riser in enumerate(risers, 1):
        at = at + _inches(riser) * sign
        nosings.append(Nosing(f"N{index}", at))
    return Flight(tuple(nosings))


def found(check: FlightCheck | Ahead, what: str) -> list[Held]:
    return [held for held in check.held if held.what == what]


# Equal risers -------------------------------------------------------------------------------------------------


@given(lengths, counts, graduations)
def test_equal_risers_sum_to_the_total_exactly(total: Length, count: int, graduation: Length) -> None:
    risers = equal_risers(total, count, graduation)
    assert len(risers) == count
    assert sum((riser.metres for riser in risers), Fraction(0)) == total.metres


@given(lengths, counts, graduations)
def test_every_nosing_from_the_head_is_on_the_mark_nearest_its_share(
    total: Length, count: int, graduation: Length
) -> None:
    height = ZERO
    for number, riser in enumerate(equal_risers(total, count, graduation)[:-1], 1):
        height += riser
        assert (height.metres / graduation.metres).denominator == 1
        assert abs(height.metres - total.metres * number / count) <= graduation.metres / 2


@given(st.integers(-5000, 5000), counts, graduations)
def test_risers_of_a_readable_total_differ_by_one_mark_at_most(marks: int, count: int, graduation: Length) -> None:
    risers = equal_risers(graduation * marks, count, graduation)
    assert all((riser.metres / graduation.metres).denominator == 1 for riser in risers)
    assert max(risers) - min(risers) <= graduation


@given(lengths, counts, graduations)
def test_what_no_mark_can_show_stays_in_the_riser_at_the_foot(total: Length, count: int, graduation: Length) -> None:
    *above, foot = equal_risers(total, count, graduation)
    assert all((riser.metres / graduation.metres).denominator == 1 for riser in above)
    assert all(abs(one - other) <= graduation for one, other in pairwise(above))
    assert abs(foot.metres - total.metres / count) <= graduation.metres / 2
    if above:
        assert abs(foot - above[-1]).metres <= graduation.metres * Fraction(3, 2)


def test_a_rest_at_the_foot_may_differ_from_its_neighbor_by_over_a_mark() -> None:
    """So the docstring says; with shares of 0.26 mark the nosings stand at 0, 1 and then 0.78."""
    assert equal_risers(millimetres(Fraction(78, 100)), 3, millimetres(1)) == (
        ZERO,
        millimetres(1),
        millimetres(Fraction(-22, 100)),
    )


# What is judged -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("risers", "u", "what", "verdict"),
    [
        # 7 13/16 is 1/16 over 7 3/4; the two heights of a riser leave twice U open.
        (("7 13/16", "7 13/16"), "1/64", "riser", "fault"),
        (("7 13/16", "7 13/16"), "1/32", "riser", "can't tell"),
        (("7 3/4", "7 3/4"), "1/32", "riser", "passes"),
        # One that goes the wrong way, of a flight that goes up.
        (("6", "-1/16"), "1/64", "riser", "fault"),
        (("6", "-1/32"), "1/64", "riser", "can't tell"),
        # 15/32 and 7/16 between two risers are 3/32 and 1/16 over 3/8; they leave four times U open.
        (("6", "6 15/32"), "1/64", "largest less smallest riser", "fault"),
        (("6", "6 7/16"), "1/64", "largest less smallest riser", "can't tell"),
        (("6", "6 3/8"), "1/64", "largest less smallest riser", "passes"),
    ],
)
def test_beyond_a_limit_by_less_than_is_open_can_not_be_told(
    risers: tuple[str, ...], u: str, what: str, verdict: str
) -> None:
    one = of_risers(*risers)
    doubts = {nosing.name: _inches(u) for nosing in one.nosings}
    worst = {held.verdict for held in found(check_flight(replace(one, doubts=doubts), LIMITS), what)} - {"passes"}
    assert worst == ({verdict} - {"passes"})
    plainly = {held.verdict for held in found(check_flight(one, LIMITS), what)} - {"passes"}
    assert plainly == (set() if verdict == "passes" else {"fault"}), "of a plan nothing is in doubt"


def test_a_landings_fall_that_two_heights_leave_open_can_not_be_judged() -> None:
    """It falls 1 1/16 in over 48 in, 1/16 more than 1:48; its ends leave twice U open."""
    landing = Landing("N2", "L", inches(48), Slope(Fraction(17, 16 * 48)))
    one = replace(of_risers("6", "6"), landings=(landing,))
    for u, verdict in (("1/64", "fault"), ("1/32", "can't tell")):
        doubts = {"N2": _inches(u), "L": _inches(u)}
        (held,) = found(check_flight(replace(one, doubts=doubts), LIMITS), "landing fall")
        assert held.verdict == verdict


def test_what_is_still_to_be_built_breaks_no_rule_within_rod_resolution() -> None:
    built = of_risers("7 13/16", "7 13/16").nosings
    told = {}
    for u in ("1/64", "1/32"):
        doubts = {nosing.name: _inches(u) for nosing in built}
        ahead = to_end_right(built, up("23 1/4"), 1, SIXTEENTH, LIMITS, doubts)
        assert ahead is not None
        told[u] = {held.verdict for held in ahead.breaks}
    assert told == {"1/64": {"fault"}, "1/32": {"can't tell"}}


@pytest.mark.parametrize("sign", [1, -1], ids=["up", "down"])
def test_risers_are_judged_alike_whichever_way_they_are_walked(sign: int) -> None:
    check = check_flight(of_risers("6", "6 1/8", "5 7/8", sign=sign), LIMITS)
    assert [riser.height for riser in check.risers] == [_inches("6"), _inches("6 1/8"), _inches("5 7/8")]
    assert check.total == inches(18)
    assert check.faults == ()


def test_a_riser_that_goes_the_wrong_way_is_a_fault() -> None:
    check = check_flight(flight(0, 6, "5 1/2", 12), LIMITS)
    assert check.risers[1].height == _inches("-1/2")
    assert ("riser at least", ("N1", "N2")) in [(held.limit.name, held.where) for held in check.faults]


def test_an_unread_nosing_leaves_its_two_risers_and_their_neighbors_open() -> None:
    check = check_flight(flight(0, 6, None, 18, 24), LIMITS)
    assert [(riser.start, riser.end) for riser in check.risers] == [("N0", "N1"), ("N3", "N4")]
    assert found(check, "neighbor risers") == []
    assert found(check, "largest less smallest riser")[0].value == 0
    assert check.total == inches(24)


def test_a_flight_with_an_end_not_read_has_no_whole_rise_but_its_risers() -> None:
    check = check_flight(flight(0, 6, 12, 18, None), LIMITS)
    assert check.total is None
    assert found(check, "total rise") == found(check, "drop") == []
    (rail,) = found(check, "risers in a flight")
    assert rail.value == 4
    assert rail.verdict == "reminder"


@pytest.mark.parametrize(("risers", "verdict"), [(5, "passes"), (6, "reminder")])
def test_a_drop_of_more_than_30_inches_is_a_reminder_of_a_guard(risers: int, verdict: str) -> None:
    # Five risers of 6 in are 30 in (IRC 2018, R312.1.1: more than 30 in); nothing says what stands on the wall.
    (drop,) = found(check_flight(of_risers(*["6"] * risers), LIMITS), "drop")
    assert drop.verdict == verdict


def test_one_riser_has_no_spread_and_no_neighbor() -> None:
    check = check_flight(flight(0, 6), LIMITS)
    assert {held.what for held in check.held} == {"riser", "total rise", "drop", "risers in a flight"}


def test_a_landing_with_no_step_yet_has_no_rise() -> None:
    check = check_flight(flight(0), LIMITS)
    assert check.total is None
    assert {held.what for held in check.held} == {"risers in a flight"}


def test_the_spread_names_the_smallest_and_the_largest() -> None:
    (spread,) = found(check_flight(of_risers("6", "6 1/4", "5 3/4"), LIMITS), "largest less smallest riser")
    assert spread.where == ("N2", "N3", "N1", "N2")
    assert (spread.length, spread.verdict) == (_inches("1/2"), "fault")
    assert spread.beyond == _inches("1/8").metres


def test_a_rule_of_the_plan_is_held_and_named_as_its_source() -> None:
    strict = LIMITS.with_rules({"riser varies at most": inches(Fraction(1, 8)).metres})
    (spread,) = found(check_flight(of_risers("6", "6 1/4"), strict), "largest less smallest riser")
    assert (spread.verdict, spread.limit.source) == ("fault", "the plan")


def test_a_tread_of_unknown_depth_or_fall_is_not_judged_by_it() -> None:
    treads = Tread("N1", depth=inches(14)), Tread("N2", fall=Slope(Fraction(1, 40))), Tread("N3")
    check = check_flight(replace(of_risers("6", "6", "6", "6"), treads=treads), LIMITS)
    assert [(held.where, held.verdict) for held in found(check, "tread")] == [(("N1",), "passes")]
    assert [(held.where, held.verdict) for held in found(check, "tread fall")] == [(("N2",), "fault")]
    assert found(check, "deepest less narrowest tread") == []


def test_a_tread_that_tips_back_too_steeply_is_a_fault_too() -> None:
    treads = (Tread("N1", inches(14), Slope(Fraction(-1, 40))),)
    (fall,) = found(check_flight(replace(of_risers("6", "6"), treads=treads), LIMITS), "tread fall")
    assert (fall.slope.ratio, fall.verdict) == (Fraction(1, 40), "fault")


# From the plan's steps ----------------------------------------------------------------------------------------

STEPS = Steps(
    "flight",
    (Rise("F2", "G1", inches(-6)), Rise("G1", "G2", inches(-6)), Rise("G2L", "G3", inches(-6))),
    (Landing("G2", "G2L", feet(4), Slope(Fraction(1, 96))),),
    inches(15),
    Slope(Fraction(1, 96)),
)
WANTED = {"F2": up(0), "G1": up(-6), "G2": up(-12), "G2L": up("-12 1/2"), "G3": up("-18 1/2")}


def test_a_landing_parts_the_flights_and_belongs_to_the_upper_or_lower() -> None:
    one, other = flights_of(STEPS, WANTED)
    assert [nosing.name for nosing in one.nosings] == ["F2", "G1", "G2"]
    assert [nosing.name for nosing in other.nosings] == ["G2L", "G3"]
    assert one.landings == STEPS.landings
    assert other.landings == ()
    assert one.treads == (Tread("G1", inches(15), Slope(Fraction(1, 96))),)


def test_as_built_a_landing_falls_as_measured_and_not_as_planned() -> None:
    one, _ = flights_of(STEPS, {**WANTED, "G2L": up("-13 1/2")}, treads=())
    (fall,) = found(check_flight(one, LIMITS), "landing fall")
    assert (fall.slope.ratio, fall.verdict) == (Fraction(3, 2) / 48, "fault")


def test_what_was_not_measured_is_not_judged_as_if_it_were_built_as_wanted() -> None:
    one, _ = flights_of(STEPS, {"F2": up(0), "G1": up(-6), "G2": up(-12)}, treads=[Tread("G9", inches(3))])
    check = check_flight(one, LIMITS)
    assert found(check, "landing") == found(check, "landing fall") == found(check, "tread") == []
    assert check.total == inches(12)


def test_a_ramp_has_no_flights() -> None:
    assert flights_of(Steps("ramp", (Rise("A", "B", inches(10), feet(10)),)), {}) == ()


# To end right -------------------------------------------------------------------------------------------------


def _ahead(built: Flight, end: str | int, left: int, limits: Limits = LIMITS) -> Ahead:
    ahead = to_end_right(built.nosings, up(end), left, SIXTEENTH, limits)
    assert ahead is not None
    return ahead


def test_what_is_left_is_divided_equally_over_the_risers_to_go() -> None:
    ahead = _ahead(flight(0, "6 1/8", "12 1/4"), 24, 2)
    assert ahead.share == _inches("5 7/8")
    assert ahead.risers == (_inches("5 7/8"), _inches("5 7/8"))
    assert ahead.nosings == (up("18 1/8"), up(24))
    assert [held.limit.name for held in ahead.breaks] == ["neighbor risers differ at most"]


def test_a_remainder_is_spread_in_marks_of_the_graduation() -> None:
    ahead = _ahead(flight(0, "6 1/8"), 24, 3)
    assert sorted(ahead.risers) == [_inches("5 15/16"), _inches("5 15/16"), _inches("6")]
    assert ahead.breaks == ()


@pytest.mark.parametrize(
    ("first", "breaks"),
    [("6 1/4", False), ("6 3/8", True), ("5 3/4", False), ("5 5/8", True)],
    ids=["spread 1/3 in", "spread 1/2 in", "spread 1/3 in low", "spread 1/2 in low"],
)
def test_it_says_when_equal_risers_can_no_longer_keep_the_spread(first: str, breaks: bool) -> None:
    ahead = _ahead(flight(0, first), 24, 3)
    assert ("riser varies at most" in {held.limit.name for held in ahead.breaks}) is breaks


def test_it_says_when_the_risers_to_go_would_be_too_high() -> None:
    ahead = _ahead(flight(0, "7 1/2"), 31, 3)
    assert ahead.share > inches(Fraction(31, 4))
    assert {held.limit.name for held in ahead.breaks if held.verdict == "fault"} == {"riser at most"}


def test_a_flight_built_past_its_end_breaks_the_lowest_riser() -> None:
    ahead = _ahead(flight(0, 6, 12, 18), 17, 1)
    assert ahead.risers == (inches(-1),)
    assert "riser at least" in {held.limit.name for held in ahead.breaks}


def test_the_rest_no_mark_shows_lies_at_the_foot_built_up_or_down() -> None:
    built, end = [Nosing("foot", up(0))], up("12 1/32")
    going_up = to_end_right(built, end, 2, SIXTEENTH, LIMITS)
    going_down = to_end_right([Nosing("head", end)], up(0), 2, SIXTEENTH, LIMITS)
    assert going_up is not None
    assert going_down is not None
    notation = Notation(Units.IN, SIXTEENTH)
    assert [is_exact(riser, notation) for riser in going_up.risers] == [False, True]
    assert [is_exact(riser, notation) for riser in going_down.risers] == [True, False]
    assert going_up.nosings[-1] == end
    assert going_down.nosings[-1] == up(0)


@pytest.mark.parametrize(
    ("built", "left"), [((0, 6, None), 2), ((0, 6), 0), ((), 3)], ids=["last not read", "none left", "nothing built"]
)
def test_nothing_is_promised_without_a_last_nosing_or_a_riser_to_build(
    built: tuple[int | None, ...], left: int
) -> None:
    assert to_end_right(flight(*built).nosings, up(24), left, SIXTEENTH, LIMITS) is None


def test_a_nosing_missed_further_back_does_no_harm() -> None:
    ahead = _ahead(flight(0, None, 12), 24, 2)
    assert ahead.risers == (inches(6), inches(6))
    assert ahead.breaks == ()


@given(st.lists(st.integers(60, 200), max_size=8), counts, lengths, st.sampled_from([1, -1]), graduations)
def test_built_as_it_says_the_flight_ends_exactly_where_it_should(
    built: list[int], left: int, end: Length, sign: int, graduation: Length
) -> None:
    at, nosings = Elevation(Fraction(0)), [Nosing("0", Elevation(Fraction(0)))]
    for number, riser in enumerate(built, 1):
        at = at + millimetres(riser) * sign
        nosings.append(Nosing(str(number), at))
    ahead = to_end_right(nosings, Elevation(end.metres), left, graduation, LIMITS)
    assert ahead is not None
    assert ahead.nosings[-1].metres == end.metres
    assert all(abs(riser - ahead.share) <= graduation for riser in ahead.risers)
    # Asked again after each riser that is built so, it goes on with the same plan to within a mark.
    if left > 1:
        again = to_end_right(
            [*nosings, Nosing("next", ahead.nosings[0])], Elevation(end.metres), left - 1, graduation, LIMITS
        )
        assert again is not None
        assert abs(again.share - ahead.share) <= graduation


def test_a_metric_job_is_held_to_what_its_sources_print_in_millimetres() -> None:
    nosings = Nosing("a", Elevation(Fraction(0))), Nosing("b", Elevation(metres(Fraction(196, 1000)).metres))
    assert check_flight(Flight(nosings), Limits(metric=True, codes=HOUSE)).faults == ()
    higher = Nosing("b", Elevation(Fraction(1961, 10_000)))
    assert [
        held.limit.name
        for held in check_flight(Flight((nosings[0], higher)), Limits(metric=True, codes=HOUSE)).faults
    ] == ["riser at most"]
