"""Rules of thumb, limits and grids as plans use them, against published or stated check values."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.checks.dig import OverDig
from gradecheck.findings.finding import Finding, Severity
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.plan.limits import RULES, SourcedLimit
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import target
from tests.findings.sample import found, plan_of
from tests.published.sources import (
    COMMON_PRACTICE,
    DERIVED,
    VERIFIED,
    VERIFIED_2,
    Source,
    agrees,
    in_feet,
    in_inches,
    of,
)
from tests.tables import each_of

FROM_THE_INPUTS = Source("arithmetic from the stated inputs", DERIVED)
TRADE = Source("a trade's rule of thumb, the exact number worked out", COMMON_PRACTICE)


def _finish(plan: Plan, point: str, stage: str = "finish") -> Fraction:
    """Inches above the job's zero."""
    area = plan.areas["yard"]
    return in_inches(target(area, area.point(point), stage).wanted.height)


# Rules of thumb: one inch in five feet stands for 3/16 in/ft -------------------------------------------------------

THUMB, EXACT = "pitch: {rule: 1 in per 5 ft, exact: 3/16 in/ft}\n", "pitch: 3/16 in/ft\n"
RISERS = {"T-03": ", down: 3, riser: 6", "T-05": ", up: 4, riser: 6"}

THUMBS = [
    # row, run in feet, what the trade says, what the exact pitch makes, in inches
    ("T-01", 5, Fraction(-1), Fraction(-15, 16)),
    ("T-02", 15, Fraction(-3), Fraction(-45, 16)),
    ("T-03", 15, Fraction(-21), Fraction(-333, 16)),
    ("T-04", 10, Fraction(-2), Fraction(-15, 8)),
    ("T-05", 10, Fraction(22), Fraction(177, 8)),
]


@pytest.mark.parametrize(
    ("row", "run", "says", "exact"), [pytest.param(*row, id=of(row[0], TRADE)) for row in THUMBS]
)
def test_a_plan_by_the_rule_of_thumb_and_by_the_exact_pitch(
    row: str, run: int, says: Fraction, exact: Fraction
) -> None:
    yard = f"points: {{P: {{from: DOOR, fall: pitch, over: {run} ft{RISERS.get(row, '')}}}}}\n"
    assert _finish(plan_of(yard, top=THUMB), "P") == says
    assert _finish(plan_of(yard, top=EXACT), "P") == exact
    (costs,) = found(plan_of(yard, top=THUMB), "rule of thumb")
    assert costs.beyond == abs(Length(Fraction(127, 5000) * (says - exact)).metres)


def test_t06_a_dig_of_ten_inches_is_three_eighths_short_of_the_layers() -> None:
    # T-06, common practice with the exact number worked out: 7 in of gravel, 1 in of sand and a 60 mm paver.
    plan = plan_of(
        "build-up: b\ntolerances: {subgrade: 1, base: 1, bedding: 1}\npoints: {P: 0}\n",
        top="build-ups: {b: [{paver: 2 3/8}, {bedding: 1}, {base: 7}]}\n",
    )
    assert -_finish(plan, "P", "subgrade") == Fraction(83, 8)
    assert Fraction(83, 8) - 10 == Fraction(3, 8) == in_inches(Length(_first("gap at most").value))


def test_t07_mixing_the_two_pitches_is_a_finding_of_half_the_allowed_gap() -> None:
    # T-07, common practice: 3/16 in over 15 ft, half of P-13.
    mixed = "points:\n  A: {from: DOOR, fall: pitch, over: 15 ft}\n  B: {from: DOOR, fall: 3/16 in/ft, over: 15 ft}\n"
    plan = plan_of(mixed, top="pitch: 1 in per 5 ft\n")
    (two,) = found(plan, "two pitches")
    assert (two.severity, two.where) == (Severity.ADVICE, ("B",))
    off = abs(_finish(plan, "A") - _finish(plan, "B"))
    assert off == Fraction(3, 16) == in_inches(Length(_first("gap at most").value)) / 2


@pytest.mark.parametrize(("pitch", "inch"), [("2%", Fraction(-18, 5)), ("1/4 in/ft", Fraction(-15, 4))])
def test_t08_the_same_run_by_the_pitches_that_are_asked_for(pitch: str, inch: Fraction) -> None:
    # T-08, worked out: 15 ft.
    plan = plan_of(f"points: {{P: {{from: DOOR, fall: {pitch}, over: 15 ft}}}}\n", top="pitch: 1 in per 5 ft\n")
    assert _finish(plan, "P") == inch
    # Neither is so near to 1 in per 5 ft that it could be meant for it.
    assert found(plan, "two pitches") == []


def test_t09_four_risers_ask_for_a_handrail_and_22_inches_for_no_guard() -> None:
    # T-09 by S-13 and S-14.
    plan = plan_of("flight: {from: DOOR, up: 4, total: 22}\n")
    (rail,) = found(plan, "risers in a flight")
    assert (rail.severity, int(rail.value)) == (Severity.REMINDER, 4)
    assert found(plan, "drop") == []


def test_t10_the_subgrade_under_a_pitched_run() -> None:
    # T-10, worked out: T-02 with a dig of 10 in.
    yard = "build-up: b\ntolerances: {subgrade: 1, base: 1}\npoints: {P: {from: DOOR, fall: pitch, over: 15 ft}}\n"
    layers = "build-ups: {b: [{paver and sand: 3}, {base: 7}]}\n"
    assert _finish(plan_of(yard, top=layers + EXACT), "P", "subgrade") == Fraction(-205, 16)
    assert _finish(plan_of(yard, top=layers + THUMB), "P", "subgrade") == -13


# The numbers themselves -------------------------------------------------------------------------------------------

IRC_GROUND = Source("IRC R401.3", VERIFIED)
IRC_RISER, IRC_TREAD = Source("IRC R311.7.5.1", VERIFIED), Source("IRC R311.7.5.2", VERIFIED)
IRC_SLOPE, IRC_LANDING = Source("IRC R311.7.7", VERIFIED_2), Source("IRC R311.7.6", VERIFIED_2)
IRC_FLIGHT = Source("IRC R318.7.3 (2024)", VERIFIED_2)
IRC_RAIL, IRC_GUARD = Source("IRC R311.7.8", VERIFIED_2), Source("IRC R312", VERIFIED_2)
IBC = Source("IBC 1011.5.2", VERIFIED_2)
BOCA = Source("BOCA 1981 as cited in a trade answer", VERIFIED_2)
ADA_LEVEL, ADA_LANDING = Source("ADA 2010 303.2", VERIFIED), Source("ADA 2010 405.7", VERIFIED)
ADA_RUN, ADA_RISE = Source("ADA 2010 405.2", VERIFIED), Source("ADA 2010 405.6", VERIFIED_2)
ADA_WALK = Source("ADA 2010 403.3, quoted", VERIFIED_2)
COMAR = Source("COMAR 10.17.01.22 A(3)", VERIFIED)
TOL = Source("paving institute, construction tolerances", VERIFIED)
T002 = Source("paving institute bulletin PAV-TEC-002", VERIFIED_2)
MANUAL = Source("published project manual, section 02518 (2012)", VERIFIED)
TRENCH, WAY_OUT = Source("29 CFR 1926.652(a)", VERIFIED_2), Source("29 CFR 1926.651(c)(2)", VERIFIED)
COIN = Source("a clerk of works, quoted in a trade forum", COMMON_PRACTICE)

NUMBERS = [
    # row, source, the limit's name, its number (a ratio, a length or a count) and what is printed for metric work
    ("P-01", TOL, "fall wanted", Fraction(2, 100), None),
    ("P-02", T002, "fall at least", Fraction(3, 200), None),
    ("P-04", TOL, "base at least on a walk", inches(4), 100),
    ("P-05", TOL, "base at least on a driveway", inches(6), 150),
    ("P-06", TOL, "base at least on a street", inches(8), 200),
    ("P-13", TOL, "gap at most", inches(Fraction(3, 8)), 10),
    ("P-14", TOL, "lippage at most", inches(Fraction(1, 8)), 3),
    ("P-15 least", MANUAL, "above drain at least", inches(Fraction(1, 8)), 3),
    ("P-15 most", MANUAL, "above drain at most", inches(Fraction(1, 4)), 6),
    ("P-20", TOL, "bond wander at most", inches(Fraction(1, 2)), 13),
    ("P-20 over", TOL, "bond wander over", feet(50), 16_000),
    ("P-24", TOL, "dig past edge at least", inches(6), 150),
    ("F-06", COIN, "ponding at most", millimetres(2), None),
    ("S-01 within", IRC_GROUND, "near building", feet(10), 3048),
    ("S-03", IRC_GROUND, "fall near building at least", Fraction(2, 100), None),
    ("S-05", IRC_RISER, "riser at most", inches(Fraction(31, 4)), 196),
    ("S-06", IRC_TREAD, "tread at least", inches(10), 254),
    ("S-07 risers", IRC_RISER, "riser varies at most", inches(Fraction(3, 8)), None),
    ("S-07 treads", IRC_TREAD, "tread varies at most", inches(Fraction(3, 8)), None),
    ("S-09 tread", IRC_SLOPE, "tread fall at most", Fraction(1, 48), None),
    ("S-09 landing", IRC_SLOPE, "landing fall at most", Fraction(1, 48), None),
    ("S-11", IRC_LANDING, "landing at least", inches(36), None),
    ("S-12", IRC_FLIGHT, "flight rise at most", feet(12) + inches(7), None),
    ("S-13", IRC_RAIL, "handrail from risers", 4, None),
    ("S-14", IRC_GUARD, "guard above drop", inches(30), None),
    ("S-16", IBC, "riser at least", inches(4), 102),
    ("S-22", BOCA, "neighbor risers differ at most", inches(Fraction(3, 16)), None),
    ("S-23", ADA_LEVEL, "level change at most", inches(Fraction(1, 4)), None),
    ("S-26 across", ADA_WALK, "accessible cross fall at most", Fraction(1, 48), None),
    ("S-26 along", ADA_WALK, "accessible run at most", Fraction(1, 20), None),
    ("S-27", ADA_RUN, "ramp at most", Fraction(1, 12), None),
    ("S-28", ADA_RISE, "ramp rise at most", inches(30), 760),
    ("S-29 slope", ADA_LANDING, "ramp landing fall at most", Fraction(1, 48), None),
    ("S-29 length", ADA_LANDING, "ramp landing at least", inches(60), None),
    ("S-33 least", COMAR, "pool deck fall at least", inches(Fraction(1, 4)).metres / feet(1).metres, None),
    ("S-33 most", COMAR, "pool deck fall at most", inches(Fraction(1, 2)).metres / feet(1).metres, None),
    ("X-01", TRENCH, "protect dig deeper than", feet(5), None),
    ("X-02", WAY_OUT, "way out of dig deeper than", feet(4), None),
]


def _first(name: str) -> SourcedLimit:
    """The figure of the rule's first source: a paving standard or, of codes, the residential where it has it."""
    return next(iter(RULES[name].by.values()))


@each_of(("name", "number", "metric"), [pytest.param(*rest, id=of(row, source)) for row, source, *rest in NUMBERS])
def test_a_usual_limit_is_what_is_published(name: str, number: Length | Fraction | int, metric: int | None) -> None:
    rule = _first(name)
    assert rule.value == (number.metres if isinstance(number, Length) else number)
    if metric is not None:
        assert rule.metric == millimetres(metric).metres


def test_metric_numbers_that_the_source_does_not_print_are_not_made_up() -> None:
    printed = {name for _, _, name, _, metric in NUMBERS if metric is not None}
    # S-29 prints 1525 mm beside 60 in, and the straightedge 3 m beside 10 ft: P-09.
    published = {name for name in RULES if _first(name).source != "common practice, no source"}
    assert {name for name in published if _first(name).metric is not None} - printed == {
        "ramp landing at least",
        "straightedge",
    }


# Rows as findings on a plan -------------------------------------------------------------------------------------


def _pitched(
    pitch: str, *, top: str = "", more: str = "", first: str = "1 ft", codes: str = "us-residential"
) -> Plan:
    """A patio pitched so from the house, its points ten feet apart."""
    points = f"points: {{A: {{at: [{first}, 0]}}, B: {{at: [{first.removesuffix(' ft')}.5 ft, 0]}}}}\n"
    return plan_of(f"{more}surface: {{at: DOOR, fall: {{x: {pitch}}}}}\n{points}", top=top, codes=codes)


BOTH = "us-residential, us-accessible"
HOUSE = "walls: {HOUSE: [[0, -20 ft], [0, 20 ft]]}\n"


def _only(findings: list[Finding]) -> Finding:
    (finding,) = findings
    return finding


def test_s04_a_patio_at_three_sixteenths_fails_beside_the_house() -> None:
    # S-04, worked out from S-03: 2% over 10 ft is 2.4 in, 3/16 in/ft only 1.875 in.
    beside = _only(found(_pitched("3/16 in/ft", top=HOUSE), "fall near the building"))
    assert (beside.severity, beside.limit.name) == (Severity.FAULT, "fall near building at least")
    away = _pitched("3/16 in/ft", top=HOUSE, first="10 ft")
    assert found(away, "fall near the building") == []
    assert _only(found(away, "fall")).severity is Severity.ADVICE
    assert in_inches(feet(10) * Fraction(2, 100)) == Fraction(24, 10)
    assert in_inches(feet(10) * beside.value) == Fraction(15, 8)


def test_c11_two_percent_drains_a_patio_and_may_cross_an_accessible_route() -> None:
    # C-11, worked out: 2.4 to 2.5 in over 10 ft, a window of a tenth of an inch.
    across = "points: {A: {at: [0, 2 ft]}, B: {at: [0, 4 ft]}, C: {at: [9 ft, 2 ft]}}\n"

    def told(pitch: str) -> set[str]:
        surface = f"accessible: yes\nalong: [A, C]\nsurface: {{at: DOOR, fall: {{y: {pitch}}}}}\n"
        plan = plan_of(surface + across, top="walls: {HOUSE: [[-9 ft, 0], [20 ft, 0]]}\n", codes=BOTH)
        return {each.what for what in ("fall near the building", "cross fall") for each in found(plan, what)}

    assert told("2%") == told("1/4 in/ft") == told("2.04%") == set()
    assert told("1.9999%") == {"fall near the building"}
    assert told("2.0834%") == {"cross fall"}
    window = [in_inches(feet(10) * ratio) for ratio in (_first("fall wanted").value, Fraction(1, 48))]
    assert window == [Fraction(24, 10), Fraction(25, 10)]


@pytest.mark.parametrize(
    ("use", "thick", "faults"),
    [
        pytest.param("walk", "4", 0, id=of("P-04", TOL)),
        pytest.param("walk", "3.9999", 1, id=of("P-04 beyond", TOL)),
        pytest.param("patio", "4", 0, id=of("P-04 patio", TOL)),
        pytest.param("driveway", "6", 0, id=of("P-05", TOL)),
        pytest.param("driveway", "5.9999", 1, id=of("P-05 beyond", TOL)),
        pytest.param("street", "8", 0, id=of("P-06", TOL)),
        pytest.param("street", "7.9999", 1, id=of("P-06 beyond", TOL)),
    ],
)
def test_a_base_is_as_thick_as_its_use_asks(use: str, thick: str, faults: int) -> None:
    yard = f"use: {use}\nbuild-up: b\ntolerances: {{subgrade: 1, base: 1}}\npoints: {{P: 0}}\n"
    plan = plan_of(yard, top=f"build-ups: {{b: [{{paver: 2 3/8}}, {{base: {thick}}}]}}\n")
    assert len(found(plan, "base thickness")) == faults


@pytest.mark.parametrize(
    ("base", "edge", "told"), [("4", "6", 0), ("4", "5.9999", 1), ("9", "9", 0), ("9", "8.9999", 1)]
)
def test_p24_base_and_dig_pass_the_edge_by_six_inches_or_the_bases_depth(base: str, edge: str, told: int) -> None:
    # P-24: the larger of 6 in and the thickness of the base; paving institute, VERIFIED.
    yard = "build-up: b\ntolerances: {subgrade: 1, base: 1}\npoints: {P: 0}\n"
    top = f"build-ups: {{b: {{layers: [{{paver: 2 3/8}}, {{base: {base}}}], past edge: {edge}}}}}\n"
    assert len(found(plan_of(yard, top=top), "dig past the edge")) == told


def test_s36_a_pool_deck_that_drains_into_the_pool_is_a_fault() -> None:
    # S-36, IDAPA 16.02.14.111, VERIFIED.
    into = _pitched("-2.0833%", top="walls: {POOL: [[0, -20 ft], [0, 20 ft]]}\n",
                    more="use: pool deck\ndrains: {away from: POOL}\n")  # fmt: skip
    assert _only(found(into, "toward the building")).severity is Severity.FAULT


def test_s33_a_pool_deck_falls_a_quarter_to_half_an_inch_in_a_foot() -> None:
    # S-33, COMAR 10.17.01.22 A(3), VERIFIED; S-34 asks the same least.
    deck, pool = "use: pool deck\ndrains: {away from: POOL}\n", "walls: {POOL: [[0, -20 ft], [0, 20 ft]]}\n"

    def told(pitch: str) -> list[str]:
        plan = _pitched(pitch, top=pool, more=deck, first="11 ft", codes="us-maryland-pools")
        return [each.limit.source for what in ("fall", "too steep") for each in found(plan, what)]

    assert told("1/4 in/ft") == told("1/2 in/ft") == []
    assert told("2.0833%") == told("4.1667%") == ["COMAR 10.17.01.22 A(3)"]


# Grids ------------------------------------------------------------------------------------------------------------

EBC = Source("Estimating in Building Construction, Ex. 9-5", VERIFIED)
EXAM = Source("an engineering exam problem's page", VERIFIED)


def _nodes(every: str, width: str, depth: str) -> Plan:
    """A level grid from the corner of the plan, walked there and back."""
    outline = f"[[0, 0], [{width}, 0], [{width}, {depth}], [0, {depth}]]"
    return plan_of(
        f"surface: {{at: DOOR, fall: {{x: 0%}}}}\ngrid: {{every: {every}, name: G, inside: {outline}}}\n", units="ft"
    )


GRIDS = [
    # row, source, spacing, width and depth in feet, what was found at each point, cubic feet, as printed
    ("W-02", EBC, "50", "50", "50", {"G1-1": "0.1", "G1-2": "0.8", "G2-1": "0", "G2-2": "0"},
     Fraction(1125, 2), "563"),
    # To 90 ft from 87.6, 87.6, 87.6 and 88.6: 5,375 ft3 are the 199 yd3 that are printed.
    ("W-06", EXAM, "50", "50", "50", {"G1-1": "2.4", "G1-2": "2.4", "G2-1": "2.4", "G2-2": "1.4"},
     Fraction(5375), "5375"),
    # Inches as feet; 25 ft2 times a quarter of the 3.0 in that the corners sum to, each as often as cells use it.
    ("W-20", FROM_THE_INPUTS, "5", "10", "5",
     {"G1-1": "1/24", "G1-2": "1/48", "G1-3": "0", "G2-1": "1/16", "G2-2": "1/24", "G2-3": "1/48"},
     Fraction(25, 16), "1.5625"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("every", "width", "depth", "given", "cubic_feet", "printed"),
    [pytest.param(*rest, id=of(row, source)) for row, source, *rest in GRIDS],
)
def test_a_grid_of_the_plan_is_the_grid_whose_cells_are_reckoned_by(
    every: str, width: str, depth: str, given: dict[str, str], cubic_feet: Fraction, printed: str
) -> None:
    plan = _nodes(every, width, depth)
    points = plan.areas["yard"].points
    assert {point.name for point in points} == set(given)
    deep = {name: Length(-feet(Fraction(figure)).metres) for name, figure in given.items()}
    dug = OverDig.of([(point.name, point.at) for point in points])
    assert in_feet(Length(in_feet(Length(in_feet(Length(dug.over_dug(deep))))))) == cubic_feet
    assert agrees(cubic_feet, printed)


def test_w06_in_the_cubic_yards_that_are_printed() -> None:
    # W-06, an engineering exam problem's page, VERIFIED: 199.
    assert agrees(Fraction(5375) / 27, "199")
