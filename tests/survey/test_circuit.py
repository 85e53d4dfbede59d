"""A circuit misses by what it came in too high; closing is decided exactly, and nothing is lost in sharing out."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, Elevation, Length, feet, inches, metres, millimetres
from gradecheck.plan.closure import (
    NAMED,
    Allowance,
    allowance_from,
    allowed,
    closes,
)
from gradecheck.survey.circuit import Circuit, Leg, SharedBy
from tests.strategies import elevations, lengths

GATE = Elevation(Fraction(0))
MILE = feet(5280)

setup_counts = st.integers(1, 40)
distances = st.fractions(Fraction(1, 2), 4000, max_denominator=1000).map(Length)
sharing = st.sampled_from(list(SharedBy))


def _walk(*rises: Length, end: Elevation = GATE, distance: Length | None = None, setups: int = 1) -> Circuit:
    """A line from the gate at zero over turning points to a post at `end`."""
    marks = ["GATE", *(f"TP{number}" for number in range(1, len(rises))), "POST"]
    legs = [
        Leg(marks[place], marks[place + 1], rise, setups=setups, distance=distance)
        for place, rise in enumerate(rises)
    ]
    return Circuit(tuple(legs), GATE, end)


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """A line between two known marks, or a loop, of up to a dozen legs."""
    carried = draw(st.lists(st.tuples(lengths, setup_counts, distances), min_size=1, max_size=12))
    loop = len(carried) > 1 and draw(st.booleans())
    marks = ["GATE", *(f"TP{number}" for number in range(1, len(carried))), "GATE" if loop else "POST"]
    legs = tuple(Leg(marks[place], marks[place + 1], *each) for place, each in enumerate(carried))
    start = draw(elevations)
    return Circuit(legs, start, start if loop else draw(elevations))


# Misclosure ---------------------------------------------------------------------------------------------------


def test_a_circuit_that_comes_in_too_high_has_a_positive_misclosure() -> None:
    too_high = _walk(inches(30), inches(-29))
    assert too_high.misclosure == inches(1)
    assert replace(too_high, end=Elevation(inches(2).metres)).misclosure == inches(-1)


@given(circuits())
def test_walked_the_other_way_a_circuit_misses_by_minus_as_much(circuit: Circuit) -> None:
    back = tuple(Leg(leg.end, leg.start, -leg.rise, leg.setups, leg.distance) for leg in reversed(circuit.legs))
    assert Circuit(back, circuit.end, circuit.start).misclosure == -circuit.misclosure


def test_a_circuit_is_as_long_as_its_legs_or_unknown_where_one_leg_is() -> None:
    circuit = _walk(ZERO, ZERO, ZERO, distance=feet(120), setups=2)
    assert (circuit.distance, circuit.setups) == (feet(360), 6)
    unknown = replace(circuit, legs=(*circuit.legs[:2], replace(circuit.legs[2], distance=None)))
    assert (unknown.distance, unknown.setups) == (None, 6)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Leg("GATE", "GATE", ZERO), "A leg from GATE back to itself carries nothing"),
        (lambda: Leg("GATE", "POST", ZERO, setups=0), "The leg GATE to POST needs at least one setup"),
        (lambda: Leg("GATE", "POST", ZERO, distance=ZERO), "distance of the leg GATE to POST must be more than"),
        (lambda: Circuit((), GATE, GATE), "at least one leg"),
        (
            lambda: Circuit((Leg("GATE", "TP1", ZERO), Leg("TP2", "POST", ZERO)), GATE, GATE),
            "The leg GATE to TP1 is followed by TP2 to POST; the legs must meet",
        ),
        (
            lambda: Circuit((Leg("GATE", "TP1", ZERO), Leg("TP1", "GATE", ZERO)), GATE, Elevation(Fraction(1))),
            "GATE begins and ends the loop and can't have two elevations",
        ),
    ],
    ids=["onto-itself", "no-setup", "no-distance", "no-legs", "a-gap", "a-loop-of-two-elevations"],
)
def test_what_no_crew_can_have_walked_is_refused_in_a_sentence(make: object, says: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=says):
        make()


# Sharing out --------------------------------------------------------------------------------------------------


@given(circuits(), sharing)
def test_the_corrections_are_together_exactly_minus_the_misclosure(circuit: Circuit, by: SharedBy) -> None:
    assert sum(circuit.shares(by), ZERO) == -circuit.misclosure
    last = circuit.distributed(by)[-1]
    assert last.correction == -circuit.misclosure
    assert last.elevation == circuit.end


@given(circuits(), sharing)
def test_a_leg_is_corrected_in_proportion_to_its_size(circuit: Circuit, by: SharedBy) -> None:
    first, share = circuit.legs[0], circuit.shares(by)[0]
    for leg, other in zip(circuit.legs, circuit.shares(by), strict=True):
        assert other.metres * first.size(by) == share.metres * leg.size(by)


@given(circuits(), sharing)
def test_between_two_marks_the_rise_changes_by_the_share_of_that_leg_alone(circuit: Circuit, by: SharedBy) -> None:
    here = circuit.start
    for leg, share, mark in zip(circuit.legs, circuit.shares(by), circuit.distributed(by), strict=True):
        assert mark.mark == leg.end
        assert mark.elevation.above(here) == leg.rise + share
        here = mark.elevation


@given(circuits(), sharing, elevations)
def test_higher_marks_get_the_same_corrections(circuit: Circuit, by: SharedBy, more: Elevation) -> None:
    raised = replace(circuit, start=circuit.start + more.height, end=circuit.end + more.height)
    assert raised.shares(by) == circuit.shares(by)


@given(circuits(), sharing)
def test_no_mark_is_corrected_by_more_than_the_misclosure(circuit: Circuit, by: SharedBy) -> None:
    corrections = [abs(mark.correction) for mark in circuit.distributed(by)]
    assert len(corrections) == len(circuit.legs)
    assert max(corrections) <= abs(circuit.misclosure)


def test_sharing_by_distance_needs_every_distance() -> None:
    circuit = _walk(inches(1), inches(1))
    with pytest.raises(ValueError, match="The leg GATE to TP1 has no distance; give it, or share by setups"):
        circuit.shares(SharedBy.DISTANCE)
    assert circuit.shares(SharedBy.SETUPS) == (inches(-1), inches(-1))


# Allowances ---------------------------------------------------------------------------------------------------


def test_a_circuit_exactly_at_its_fixed_allowance_closes() -> None:
    rule = Allowance(inches(Fraction(1, 8)))
    assert closes(_walk(inches(Fraction(1, 8))), rule)
    assert closes(_walk(inches(Fraction(-1, 8))), rule)
    assert not closes(_walk(inches(Fraction(1, 8)) + Length(Fraction(1, 10**30))), rule)


def test_four_set_ups_exactly_at_twice_the_allowance_of_one_close() -> None:
    rule = Allowance(feet(Fraction(2, 100)), "setup")
    assert closes(_walk(feet(Fraction(4, 100)), setups=4), rule)
    assert not closes(_walk(feet(Fraction(4, 100)) + Length(Fraction(1, 10**30)), setups=4), rule)


def test_an_irrational_allowance_is_decided_beyond_floats() -> None:
    """Two setups: 0.02 ft times the root of two, which no fraction is. A convergent from either side tells."""
    below, above = Fraction(1, 1), Fraction(3, 2)
    for _ in range(60):
        below, above = (below + 2) / (below + 1), (above + 2) / (above + 1)
        below, above = min(below, above), max(below, above)
    assert float(below) == float(above) == sqrt(2)
    assert closes(_walk(feet(Fraction(2, 100) * below), setups=2), Allowance(feet(Fraction(2, 100)), "setup"))
    assert not closes(_walk(feet(Fraction(2, 100) * above), setups=2), Allowance(feet(Fraction(2, 100)), "setup"))


def test_a_loop_may_be_allowed_more_than_a_line() -> None:
    rule = NAMED["fgcc first i"]
    line = _walk(millimetres(4), distance=metres(1000))
    loop = Circuit(
        (
            Leg("GATE", "TP1", millimetres(4), distance=metres(500)),
            Leg("TP1", "GATE", ZERO, distance=metres(500)),
        ),
        GATE,
        GATE,
    )
    assert loop.misclosure == line.misclosure
    assert closes(loop, rule)
    assert not closes(line, rule)


def test_a_rule_by_distance_says_that_it_needs_the_distances() -> None:
    with pytest.raises(ValueError, match="“NRCS” needs the distance of every leg"):
        closes(_walk(ZERO), allowance_from("NRCS", Units.FT))


@given(
    circuits(), st.sampled_from([*NAMED.values(), Allowance(inches(1)), Allowance(feet(Fraction(2, 100)), "setup")])
)
def test_the_allowed_figure_is_the_root_or_under_a_nanometre_below(circuit: Circuit, rule: Allowance) -> None:
    shown, nanometre = allowed(circuit, rule), Fraction(1, 10**9)
    assert shown.metres**2 <= rule.square(circuit) < (shown.metres + nanometre) ** 2


@given(circuits(), st.sampled_from(list(NAMED.values())))
def test_four_times_the_way_is_allowed_twice_as_much(circuit: Circuit, rule: Allowance) -> None:
    longer = replace(circuit, legs=tuple(replace(leg, distance=(leg.distance or ZERO) * 4) for leg in circuit.legs))
    assert rule.square(longer) == 4 * rule.square(circuit)


HUNDREDTH_MILE = Allowance(feet(Fraction(5, 100)), "distance", MILE)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("1/8 in", Allowance(inches(Fraction(1, 8)))),
        ("3", Allowance(millimetres(3))),
        ("0.02 ft per root setup", Allowance(feet(Fraction(2, 100)), "setup")),
        ("1/8 in per root setup", Allowance(inches(Fraction(1, 8)), "setup")),
        ("3 per root setups", Allowance(millimetres(3), "setup")),
        ("12 mm per root km", Allowance(millimetres(12), "distance", metres(1000))),
        ("0.05 ft per root mile", HUNDREDTH_MILE),
        ("0.0138 ft per root 100 ft", Allowance(feet(Fraction(138, 10_000)), "distance", feet(100))),
        ("third order", HUNDREDTH_MILE),
        ("USACE third", HUNDREDTH_MILE),
        ("FGCC third", Allowance(millimetres(12), "distance", metres(1000))),
        ("  fgcc   first order, class II ", Allowance(millimetres(4), "distance", metres(1000), loop=millimetres(5))),
        ("USACE construction layout", Allowance(feet(Fraction(1, 10)), "distance", MILE)),
        ("nrcs", Allowance(feet(Fraction(1, 10)), "distance", MILE)),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_rule_is_written_as_people_say_it(text: str, rule: Allowance) -> None:
    assert allowance_from(text, Units.MM) == rule


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "“” is not an allowance; write it like 1/8 in, 0.02 ft per root setup"),
        ("a little", "“a little” is not an allowance"),
        ("0.02 ft per setup", "is not an allowance"),
        ("0.02 ft per root fortnight", "is not an allowance"),
        ("per root km", "is not an allowance"),
        ("0 in", "“0 in” must be more than zero"),
        ("-1/8 in", "“-1/8 in” must be more than zero"),
        ("0.02 ft per root 0 ft", "“0 ft” must be more than zero"),
        ("FGCC fourth", "not a class known here; write one of FGCC first I, FGCC first II, FGCC second I"),
        ("USACE first", "write one of USACE second I, USACE second II, USACE third, USACE construction"),
        ("1/8 in " * 20, "too long for an allowance"),
        ("1/8\nin per root km\x00", "is not an allowance"),
    ],
    ids=range(12),
)
def test_a_rule_not_understood_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        allowance_from(text, Units.IN)
    assert str(refused.value).endswith(".")


@given(st.text(max_size=60), st.sampled_from(list(Units)))
def test_any_text_is_a_rule_or_a_sentence(text: str, units: Units) -> None:
    said, rule = "", None
    try:
        rule = allowance_from(text, units)
    except ValueError as refused:
        said = str(refused)
    assert said.endswith(".") if rule is None else rule.square(_walk(ZERO, distance=metres(1000))) > 0


@given(st.sampled_from(list(NAMED.values())), st.sampled_from(list(Units)))
def test_a_named_rule_is_read_back_from_its_own_words(rule: Allowance, units: Units) -> None:
    assert allowance_from(rule.words, units) == rule
