"""Pitches, flights, build-ups and rod readings of hardscape against published or stated check values."""

from __future__ import annotations

from fractions import Fraction
from math import atan, atan2, degrees

import pytest

from gradecheck.checks.verdict import judge
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.measure.typed import Tolerance, read_length
from gradecheck.measure.units import read_slope
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import target
from gradecheck.survey.setup import Setup
from tests.first_things import set_up
from tests.published.sources import (
    COMMON_PRACTICE,
    DERIVED,
    VERIFIED,
    VERIFIED_2,
    Source,
    agrees,
    in_inches,
    of,
    plan_with,
    site,
    wanted,
)

USUAL = Notation.usual(Units.IN)


def _inches(text: str) -> Length:
    """What the check values write, for example ``-2 13/16``."""
    return read_length(text, Units.IN)


def _printed(length: Length) -> str:
    return show(length, USUAL)


# Conversions of pitches ---------------------------------------------------------------------------------------

FROM_THE_INPUTS = Source("arithmetic from the stated inputs", DERIVED)

PITCHES = [
    # row, pitch, the same written otherwise, percent, one in so many, mm in a metre
    ("C-01", "1/8 in/ft", ["1:96"], "1.0417", "96", "10.42"),
    ("C-02", "3/16 in/ft", ["1:64"], "1.5625", "64", "15.63"),
    ("C-03", "1 in per 5 ft", ["0.2 in/ft", "1:60"], "1.6667", "60", "16.67"),
    ("C-04", "2%", ["0.24 in/ft", "1:50", "20 mm/m"], "2.0", "50", "20.0"),
    ("C-05", "1/4 in/ft", ["1:48"], "2.0833", "48", "20.83"),
    ("C-06", "1/2 in/ft", ["1:24"], "4.1667", "24", "41.67"),
    ("C-07", "1.5%", ["0.18 in/ft", "15 mm/m"], "1.5", "66.67", "15.0"),
    ("C-08", "1%", ["0.12 in/ft", "1:100", "10 mm/m"], "1.0", "100", "10.0"),
    ("C-09 gentle", "1.25%", ["0.15 in/ft", "1:80"], "1.25", "80", "12.5"),
    ("C-09 middle", "2.5%", ["0.30 in/ft", "1:40"], "2.5", "40", "25"),
    ("C-09 steep", "5%", ["0.60 in/ft", "1:20"], "5", "20", "50"),
]


@pytest.mark.parametrize(
    ("pitch", "otherwise", "percent", "one_in", "mm_per_metre"),
    [pytest.param(*row, id=of(name, FROM_THE_INPUTS)) for name, *row in PITCHES],
)
def test_a_pitch_is_the_same_however_it_is_written(
    pitch: str, otherwise: list[str], percent: str, one_in: str, mm_per_metre: str
) -> None:
    slope = read_slope(pitch)
    assert {read_slope(text) for text in otherwise} == {slope}
    assert agrees(slope.percent, percent)
    assert agrees(1 / slope.ratio, one_in)
    assert agrees(slope.ratio * 1000, mm_per_metre)


@pytest.mark.parametrize(
    ("pitch", "limit", "enough"),
    [
        pytest.param("3/16 in/ft", "1.5%", True, id=of("C-02 against 1.5%", FROM_THE_INPUTS)),
        pytest.param("3/16 in/ft", "2%", False, id=of("C-02 against 2%", FROM_THE_INPUTS)),
        pytest.param("1 in per 5 ft", "2%", False, id=of("C-03 against 2%", FROM_THE_INPUTS)),
        pytest.param("1/4 in/ft", "1:48", True, id=of("C-05 against 1:48, equal", FROM_THE_INPUTS)),
        pytest.param("1:48", "1/4 in/ft", True, id=of("C-05 the other way, equal", FROM_THE_INPUTS)),
    ],
)
def test_pitches_compare_exactly_with_a_limit(pitch: str, limit: str, enough: bool) -> None:
    assert (read_slope(pitch) >= read_slope(limit)) is enough


@pytest.mark.parametrize(
    ("angle", "percent"),
    [
        pytest.param("0.1 deg", "0.1745", id=of("C-10 tenth of a degree", FROM_THE_INPUTS)),
        pytest.param("1 deg", "1.7455", id=of("C-10 one degree", FROM_THE_INPUTS)),
    ],
)
def test_an_angle_is_a_hundred_times_its_tangent_in_percent(angle: str, percent: str) -> None:
    """One published level specification equates 1 degree with 0.18%: that is a tenth of a degree."""
    assert agrees(read_slope(angle).percent, percent)


def test_c_11_two_percent_and_1_to_48_differ_by_a_tenth_of_an_inch() -> None:
    """C-11: arithmetic from the stated inputs [DERIVED]."""
    plan = plan_with(
        """
        LEAST: {from: ZERO, fall: 2%, over: 10 ft}
        MOST: {from: ZERO, fall: "1:48", over: 10 ft}
        """
    )
    least, most = wanted(plan, "LEAST"), wanted(plan, "MOST")
    assert (show_exact(least, Units.IN), show_exact(most, Units.IN)) == ("-2.4", "-2 1/2")
    assert in_inches(least - most) == Fraction("0.1")
    assert agrees(read_slope("2%").percent, "2.000")
    assert agrees(read_slope("1:48").percent, "2.083")


def test_c_12_two_falls_at_right_angles_make_one_true_fall_between_them() -> None:
    """C-12: arithmetic from the stated inputs [DERIVED].

    4 m along the 2% and 3 m along the 1.5% lie 5 m apart, straight down the steepest way.
    """
    plan = plan_with(
        """
        ALONG: {from: ZERO, fall: 2%, over: 4 m}
        ACROSS: {from: ALONG, fall: 1.5%, over: 3 m}
        """,
        units="mm",
    )
    assert wanted(plan, "ACROSS") == -read_slope("2.5%").over(read_length("5 m", Units.MM))
    assert Fraction("2") ** 2 + Fraction("1.5") ** 2 == Fraction("2.5") ** 2
    off_the_steeper = degrees(atan(read_slope("1.5%").ratio / read_slope("2%").ratio))
    assert agrees(Fraction(off_the_steeper), "36.87")
    assert off_the_steeper == pytest.approx(degrees(atan2(3, 4)), abs=1e-9)


# Reading vectors ----------------------------------------------------------------------------------------------


@pytest.fixture
def patio() -> Plan:
    """R-01's patio: 15 ft out at 3/16 in/ft, a 2 3/8 in paver on 1 in of sand on 6 in of base."""
    return plan_with(
        "EDGE: {from: ZERO, fall: 3/16 in/ft, over: 15 ft}",
        build_up="[{paver: 2 3/8 in}, {sand: 1 in}, {base: 6 in}]",
        tolerances="{subgrade: 0, base: 0, sand: 0, finish: 0}",
    )


@pytest.fixture
def stood(patio: Plan) -> Setup:
    """The rod reads 48 1/4 on the benchmark."""
    return set_up(patio.rod, patio.benchmarks["ZERO"].elevation, _inches("48 1/4"))


@pytest.mark.parametrize(
    ("stage", "elevation", "rod"),
    [
        pytest.param("finish", "-2 13/16", "51 1/16", id=of("R-01 finish", FROM_THE_INPUTS)),
        pytest.param("base", "-6 3/16", "54 7/16", id=of("R-01 top of base", FROM_THE_INPUTS)),
        pytest.param("subgrade", "-12 3/16", "60 7/16", id=of("R-01 subgrade", FROM_THE_INPUTS)),
    ],
)
def test_every_stage_has_its_elevation_and_its_grade_rod(
    patio: Plan, stood: Setup, stage: str, elevation: str, rod: str
) -> None:
    area = site(patio)
    goal = target(area, area.point("EDGE"), stage)
    assert _printed(goal.wanted.height) == elevation
    assert _printed(stood.grade_rod(goal.wanted)) == rod
    # Nothing was rounded to get there.
    assert goal.wanted.height == _inches(elevation)
    assert stood.grade_rod(goal.wanted) == _inches(rod)


@pytest.mark.parametrize(
    ("reading", "elevation", "difference", "word"),
    [
        pytest.param("60 1/8", "-11 7/8", "5/16", Word.CUT, id=of("R-02", FROM_THE_INPUTS)),
        # Over-dug: to be filled with base, not with soil or sand.
        pytest.param("61 3/16", "-12 15/16", "-3/4", Word.FILL, id=of("R-03", FROM_THE_INPUTS)),
    ],
)
def test_a_reading_on_the_subgrade_is_judged_against_its_target(
    patio: Plan, stood: Setup, reading: str, elevation: str, difference: str, word: Word
) -> None:
    area = site(patio)
    goal = target(area, area.point("EDGE"), "subgrade")
    found = stood.elevation(_inches(reading))
    assert _printed(found.height) == elevation
    verdict = judge(found, goal.wanted, goal.tolerance)
    assert verdict.word is word
    assert verdict.difference == _inches(difference)
    assert _printed(verdict.rounded(USUAL.graduation)) == difference


# Trade facts --------------------------------------------------------------------------------------------------

TRADE = Source("rule of thumb 1 in in 5 ft against the exact 3/16 in/ft", COMMON_PRACTICE)
WORKED_OUT = Source("trade figures, the comparison worked out from them", f"{COMMON_PRACTICE}; {DERIVED}")

RULE_OF_THUMB = "1 in per 5 ft"
EXACT = "3/16 in/ft"

FLIGHTS = [
    # row, run, steps, by the rule of thumb, exact, between the two
    ("T-01", "5 ft", "", "-1", "-15/16", "1/16"),
    ("T-02", "15 ft", "", "-3", "-2 13/16", "3/16"),
    ("T-03", "15 ft", ", down: 3, riser: 6 in", "-21", "-20 13/16", "3/16"),
    ("T-04", "10 ft", "", "-2", "-1 7/8", "1/8"),
    ("T-05", "10 ft", ", up: 4, riser: 6 in", "22", "22 1/8", "1/8"),
]


@pytest.mark.parametrize(
    ("run", "steps", "by_rule", "exactly", "between"),
    [pytest.param(*row, id=of(name, TRADE)) for name, *row in FLIGHTS],
)
def test_the_rule_of_thumb_runs_lower_than_the_exact_pitch(
    run: str, steps: str, by_rule: str, exactly: str, between: str
) -> None:
    plan = plan_with(
        f"""
        RULE: {{from: ZERO, fall: {RULE_OF_THUMB}, over: {run}{steps}}}
        TRUE: {{from: ZERO, fall: {EXACT}, over: {run}{steps}}}
        """
    )
    rule, true = wanted(plan, "RULE"), wanted(plan, "TRUE")
    assert (show_exact(rule, Units.IN), show_exact(true, Units.IN)) == (by_rule, exactly)
    assert true - rule == _inches(between)


def test_the_two_pitches_differ_by_a_tenth_of_a_percent() -> None:
    # T-01 as slope: rule of thumb 1 in in 5 ft against the exact 3/16 in/ft [common practice, no source].
    assert agrees(read_slope(RULE_OF_THUMB).percent - read_slope(EXACT).percent, "0.1042")


def test_ten_inches_of_dig_are_three_eighths_short_of_a_60_mm_paver() -> None:
    """P-09, the whole tolerance of a base, is 3/8 in under a 10 ft straightedge."""
    # T-06: trade figures, the comparison worked out from them [common practice, no source; DERIVED].
    plan = plan_with(
        "P: {elevation: 0}",
        build_up="[{paver: 2 3/8 in}, {sand: 1 in}, {gravel: 7 in}]",
        tolerances="{subgrade: 0, gravel: 0, sand: 0, finish: 0}",
    )
    build_up = site(plan).build_up
    assert build_up is not None
    assert _printed(build_up.dig) == "10 3/8"
    assert wanted(plan, "P", "subgrade") == -build_up.dig
    said = plan_with(
        "P: {elevation: 0}",
        build_up="[{paver and sand: 3 in}, {gravel: 7 in}]",
        tolerances="{subgrade: 0, gravel: 0, finish: 0}",
    )
    assert _printed(wanted(said, "P", "subgrade")) == "-10"
    assert wanted(said, "P", "subgrade") - wanted(plan, "P", "subgrade") == _inches("3/8")


def test_mixing_the_two_pitches_spends_half_the_surface_tolerance() -> None:
    """P-13 allows 3/8 in under a 10 ft straightedge."""
    # T-07: trade figures, the comparison worked out from them [common practice, no source; DERIVED].
    plan = plan_with(
        f"""
        OUT: {{from: ZERO, fall: {RULE_OF_THUMB}, over: 15 ft}}
        BACK: {{from: OUT, rise: {EXACT}, over: 15 ft}}
        """
    )
    assert abs(wanted(plan, "BACK")) == _inches("3/16")
    assert abs(wanted(plan, "BACK")) * 2 == _inches("3/8")


@pytest.mark.parametrize(
    ("pitch", "drop"),
    [
        pytest.param("2%", "-3.6", id=of("T-08 at 2%", WORKED_OUT)),
        pytest.param("1/4 in/ft", "-3 3/4", id=of("T-08 at 1/4 in/ft", WORKED_OUT)),
    ],
)
def test_the_same_run_at_other_pitches(pitch: str, drop: str) -> None:
    plan = plan_with(f"END: {{from: ZERO, fall: {pitch}, over: 15 ft}}")
    assert show_exact(wanted(plan, "END"), Units.IN) == drop


def test_four_risers_of_six_inches_stay_under_the_guards_drop() -> None:
    """S-13 asks for a handrail from 4 risers on, S-14 for a guard over a drop of 30 in; local code decides."""
    # T-09: trade figures, the comparison worked out from them [common practice, no source; DERIVED].
    plan = plan_with(
        f"""
        FOOT: {{from: ZERO, fall: {EXACT}, over: 10 ft}}
        HEAD: {{from: FOOT, up: 4, riser: 6 in}}
        """
    )
    assert wanted(plan, "HEAD") == _inches("22 1/8")
    assert wanted(plan, "HEAD") - wanted(plan, "FOOT") == inches(4 * 6)
    assert ZERO < wanted(plan, "HEAD") < inches(30)


@pytest.mark.parametrize(
    ("pitch", "subgrade"),
    [
        pytest.param(EXACT, "-12 13/16", id=of("T-10", WORKED_OUT)),
        pytest.param(RULE_OF_THUMB, "-13", id=of("T-10 by the rule of thumb", WORKED_OUT)),
    ],
)
def test_the_dig_lies_ten_inches_down_whatever_the_finish_pitches(pitch: str, subgrade: str) -> None:
    plan = plan_with(
        f"END: {{from: ZERO, fall: {pitch}, over: 15 ft}}",
        build_up="[{paver and sand: 3 in}, {gravel: 7 in}]",
        tolerances="{subgrade: 0, gravel: 0, finish: 0}",
    )
    assert show_exact(wanted(plan, "END", "subgrade"), Units.IN) == subgrade


# Published examples -------------------------------------------------------------------------------------------

MASONRY = Source("Masonry and Concrete (2004), fig. 8-23", VERIFIED_2)
PATIO_GUIDE = Source("public patio guide", VERIFIED)


def test_a_string_across_the_patio_drops_three_inches_to_its_outer_stake() -> None:
    # W-17: Masonry and Concrete (2004), fig. 8-23 [VERIFIED-2].
    plan = plan_with("STAKE: {from: ZERO, fall: 1/4 in/ft, over: 12 ft}")
    assert wanted(plan, "STAKE") == inches(-3)
    assert site(plan).point("STAKE").working == "ZERO 0 − 12 ft × 1/4 in/ft = −3 in"


def test_the_dig_is_the_sum_of_the_layers() -> None:
    # W-19: public patio guide [VERIFIED].
    plan = plan_with(
        "P: {elevation: 0}",
        build_up="[{paver: 2 3/8 in}, {sand: 1 in}, {base: 6 in}]",
        tolerances="{subgrade: 0, base: 0, sand: 0, finish: 0}",
    )
    build_up = site(plan).build_up
    assert build_up is not None
    assert in_inches(build_up.dig) == Fraction("9.375")
    assert _printed(wanted(plan, "P", "subgrade")) == "-9 3/8"


def test_a_base_is_on_grade_up_to_its_published_tolerance() -> None:
    """P-08: base layer +3/4, -1/2 in (+20, -13 mm), institute construction tolerances [VERIFIED].

    The inch and the millimetre figures are two tolerances, not one: 3/4 in is less than 20 mm, 1/2 in than 13 mm.
    """
    in_inch = Tolerance(high=_inches("3/4"), low=_inches("1/2"))
    in_mm = Tolerance(high=read_length("20", Units.MM), low=read_length("13", Units.MM))
    grade = Elevation(_inches("-6 3/16").metres)
    for allowed, higher, lower in ((in_inch, "3/4 in", "-1/2 in"), (in_mm, "20 mm", "-13 mm")):
        for text, word in ((higher, Word.CUT), (lower, Word.FILL)):
            edge = read_length(text, Units.IN)
            hair = inches(Fraction(1, 64)) * (1 if edge > ZERO else -1)
            assert judge(grade + edge, grade, allowed).word is Word.ON_GRADE
            assert judge(grade + edge + hair, grade, allowed).word is word
    assert in_inch.high < in_mm.high
    assert in_inch.low < in_mm.low
