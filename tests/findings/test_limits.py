"""Findings with a limit: hit exactly it passes, a hair beyond it is found, on its line and with who sets it."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.findings.finding import Severity
from gradecheck.plan.limits import RULES
from gradecheck.report.findings import SENTENCES, finding_json, finding_line
from tests.findings.sample import found, marked_line, plan_of
from tests.tables import each_of

FAULT, ADVICE, REMINDER = Severity.FAULT, Severity.ADVICE, Severity.REMINDER
V = "VALUE"
"""Stands in a plan for the number that is put to its limit."""


@dataclass(frozen=True)
class Case:
    """One limit: a plan with `V` in it, the number that passes and the one a hair beyond."""

    name: str
    what: str
    rule: str
    severity: Severity
    yard: str
    passes: str
    beyond: str
    top: str = ""
    source: str = ""
    """Who sets the limit, where it is not the rule's own source."""

    @property
    def code(self) -> str:
        """The first code that sets the limit; the strictest is of no matter where one alone is named."""
        rule = RULES.get(self.rule)
        return next((code for code in rule.by if code), "us-residential") if rule else "us-residential"

    def __str__(self) -> str:
        return self.name


TWO = "points:\n  A: {at: [12 ft, 0]}\n  §B: {at: [22 ft, 0]}\n"
PLANE = "surface: {at: DOOR, fall: {x: VALUE}}\n"
WALL = "walls: {WALL: [[0, -20 ft], [0, 20 ft]]}\n"
NEAR = "points:\n  §A: {at: [2 ft, 0]}\n  B: {at: [12 ft, 0]}\n"
DECK = "use: pool deck\ndrains: {away from: POOL}\n"
POOL = "walls: {POOL: [[0, -20 ft], [0, 20 ft]]}\n"
ROUTE = "accessible: yes\nalong: [A, B]\n"
ACROSS = "surface: {at: DOOR, fall: {y: VALUE}}\naccessible: yes\nalong: [A, C]\n"
FLIGHT = "§flight: {from: DOOR, down: 3, riser: 6, tread: 14"
PAVED = "build-ups:\n  §paved: {layers: [{paver: 2 3/8}, {bedding: 1}, {base: 6}], past edge: 6}\n"
STAGES = "build-up: paved\ntolerances: {subgrade: 1, base: 3/8, bedding: 1/4}\npoints: {P: 0}\n"


def _paved(old: str, new: str) -> str:
    assert old in PAVED
    return PAVED.replace(old, new)


DRAINAGE = [
    Case("fall", "fall", "fall at least", FAULT, PLANE + TWO, "1.5%", "1.49999%"),
    Case("fall wanted", "fall", "fall wanted", ADVICE, PLANE + TWO, "2%", "1.99999%"),
    Case("fall the plan asks for", "fall", "fall at least", FAULT, "drains: {at least: 3%}\n" + PLANE + TWO,
         "3%", "2.99999%", source="the plan"),
    Case("near a building", "fall near the building", "fall near building at least", FAULT, PLANE + NEAR,
         "2%", "1.99999%", WALL),
    Case("toward a building", "toward the building", "fall near building at least", FAULT, PLANE + NEAR,
         "0%", "-0.00001%", WALL),
    Case("pool deck, too flat", "fall", "pool deck fall at least", FAULT, DECK + PLANE + TWO,
         "1:48", "2.0833%", POOL),
    Case("pool deck, too steep", "too steep", "pool deck fall at most", FAULT, DECK + PLANE + TWO,
         "1:24", "4.1667%", POOL),
    Case("steeper than the plan asks for", "too steep", "fall at most", FAULT,
         "drains: {at most: 3%}\n" + PLANE + TWO, "3%", "3.00001%", source="the plan"),
    Case("route, along", "running fall", "accessible run at most", FAULT, ROUTE + PLANE + TWO,
         "1:20", "5.00001%"),
    Case("route, rising", "running fall", "accessible run at most", FAULT, ROUTE + PLANE + TWO,
         "-5%", "-5.00001%"),
    Case("route, across", "cross fall", "accessible cross fall at most", FAULT,
         ACROSS + "points:\n  A: {at: [0, 0]}\n  B: {at: [0, 4 ft]}\n  §C: {at: [10 ft, 0]}\n", "1:48", "2.08334%"),
    Case("ponding", "ponding", "ponding at most", FAULT,
         "points:\n  A: {elevation: 0, at: [0, 0]}\n  B: {elevation: 0, at: [9 ft, 0]}\n"
         "  C: {elevation: 0, at: [9 ft, 9 ft]}\n  D: {elevation: 0, at: [0, 9 ft]}\n"
         "  §M: {elevation: VALUE, at: [4 ft, 5 ft]}\n", "-2 mm", "-2.000001 mm"),
]  # fmt: skip
STEPS = [
    Case("riser too high", "riser", "riser at most", FAULT, "§flight: {from: DOOR, down: 2, riser: VALUE}\n",
         "7 3/4", "7.750001"),
    Case("riser too low", "riser", "riser at least", FAULT, "§flight: {from: DOOR, up: 2, riser: VALUE}\n",
         "4", "3.999999"),
    Case("risers that vary", "largest less smallest riser", "riser varies at most", FAULT,
         "rules: {riser varies at most: VALUE}\n§flight: {from: DOOR, down: 3, total: 20, round to: 1/8}\n",
         "1/8", "0.124999", source="the plan"),
    Case("neighbor risers", "neighbor risers", "neighbor risers differ at most", ADVICE,
         "rules: {neighbor risers differ at most: VALUE}\n§flight: {from: DOOR, up: 3, total: 20, round to: 1/8}\n",
         "1/8", "0.124999", source="the plan"),
    Case("tread", "tread", "tread at least", FAULT, "§flight: {from: DOOR, down: 3, riser: 6, tread: VALUE}\n",
         "10", "9.999999"),
    Case("tread fall", "tread fall", "tread fall at most", FAULT, FLIGHT + ", tread fall: VALUE}\n",
         "1:48", "2.083334%"),
    Case("landing", "landing", "landing at least", FAULT, FLIGHT + ", landings: {1: {length: VALUE}}}\n",
         "36", "35.999999"),
    Case("landing fall", "landing fall", "landing fall at most", FAULT,
         FLIGHT + ", landings: {1: {length: 48, fall: VALUE}}}\n", "1:48", "2.083334%"),
    Case("rise of a flight", "total rise", "flight rise at most", FAULT,
         "§flight: {from: DOOR, down: 20, total: VALUE, round to: 1/64}\n", "151", "151.000001"),
    Case("drop beside a flight", "drop", "guard above drop", REMINDER,
         "§flight: {from: DOOR, down: 5, total: VALUE}\n", "30", "30.000001"),
    Case("handrail", "risers in a flight", "handrail from risers", REMINDER,
         "§flight: {from: DOOR, down: VALUE, riser: 6}\n", "3", "4"),
    Case("step in a route", "level change", "level change at most", FAULT,
         "accessible: yes\npoints:\n  A: 0\n  §B: {from: A, down: 1, riser: VALUE}\n", "1/4", "0.250001"),
    Case("ramp", "ramp", "ramp at most", FAULT, "§ramp: {from: DOOR, fall: VALUE, runs: 120}\n",
         "1:12", "8.333334%"),
    Case("rise of a ramp", "rise of a ramp's run", "ramp rise at most", FAULT,
         "§ramp: {from: DOOR, rise: 1:12, runs: VALUE}\n", "360", "360.000012"),
    Case("ramp landing", "ramp landing", "ramp landing at least", FAULT,
         "§ramp: {from: DOOR, fall: 1:14, runs: 120, landing: VALUE}\n", "60", "59.999999"),
    Case("width of a ramp", "ramp width", "ramp width at least", FAULT,
         "§ramp: {from: DOOR, fall: 1:14, runs: 120, width: VALUE}\n", "36", "35.999999"),
    Case("width of steps", "steps width", "steps width at least", FAULT,
         "§flight: {from: DOOR, down: 3, riser: 6, width: VALUE}\n", "36", "35.999999"),
    Case("fall of a ramp's landing", "fall of a ramp's landing", "ramp landing fall at most", FAULT,
         "§ramp: {from: DOOR, fall: 1:14, runs: 120, landing: 60, landing fall: VALUE}\n", "1:48", "2.083334%"),
]  # fmt: skip
LAYERS = [
    Case("base of a walk", "base thickness", "base at least on a walk", FAULT, STAGES, "4", "3.999999",
         _paved("base: 6", "base: VALUE")),
    Case("base of a driveway", "base thickness", "base at least on a driveway", FAULT, "use: driveway\n" + STAGES,
         "6", "5.999999", _paved("base: 6", "base: VALUE")),
    Case("base of a street", "base thickness", "base at least on a street", FAULT, "use: street\n" + STAGES,
         "8", "7.999999", _paved("base: 6", "base: VALUE")),
    Case("bedding too thick", "bedding thickness", "bedding at most", FAULT, STAGES, "1 1/2", "1.500001",
         _paved("bedding: 1", "bedding: VALUE")),
    Case("bedding too thin", "bedding thickness", "bedding at least", ADVICE, STAGES, "3/4", "0.749999",
         _paved("bedding: 1", "bedding: VALUE")),
    Case("past the edge", "dig past the edge", "dig past edge at least", ADVICE, STAGES, "6", "5.999999",
         _paved("past edge: 6", "past edge: VALUE")),
    Case("past the edge of a thick base", "dig past the edge", "as thick as the base", ADVICE, STAGES, "9",
         "8.999999", _paved("base: 6}], past edge: 6", "base: 9}], past edge: VALUE"), source="the plan itself"),
    Case("tighter than above", "tighter than above", "tolerance of bedding", ADVICE,
         STAGES.replace("base: 3/8", "base: VALUE"), "1/4", "0.249999", PAVED.replace("§", ""),
         source="the plan itself"),
]  # fmt: skip
DRAIN = (
    "surface: {at: DOOR, fall: {x: 2%}}\ndrains: {into: G}\npoints:\n"
    "  A: {at: [0, 0]}\n  B: {at: [10 ft, 0]}\n  §G: {elevation: VALUE, at: [20 ft, 0]}\n"
)
"""The surface lies at -4.8 in where the drain is."""
PITCH = "pitch: 1 in per 5 ft\n"
SENSE = [
    Case("two routes", "two routes", "the other route", FAULT,
         "points:\n  §P: {elevation: -6, also: {from: DOOR, down: 1, riser: VALUE}}\n", "6", "6.000001",
         source="the plan itself"),
    Case("off the surface", "off the surface", "the surface", FAULT,
         "surface: {at: DOOR, fall: {x: 2%}}\npoints:\n  §P: {elevation: VALUE, at: [100, 0]}\n", "-2", "-2.000001",
         source="the plan itself"),
    Case("outside the outline", "outside the outline", "the outline", FAULT,
         "outline: [[0, 0], [90, 0], [90, 90]]\npoints:\n  §P: {elevation: -2, at: [VALUE, 40]}\n",
         "90", "90.000001", source="the plan itself"),
    Case("drain above", "drain above", "the drain lies lowest", FAULT, DRAIN, "-2.4", "-2.399999",
         source="the plan itself"),
    Case("too near the drain", "above the drain", "above drain at least", ADVICE, DRAIN, "-4.925", "-4.924999"),
    Case("too far above the drain", "above the drain", "above drain at most", ADVICE, DRAIN, "-5.05", "-5.050001"),
    Case("as good as the jobs pitch", "two pitches", "pitch", ADVICE,
         "points:\n  §P: {from: DOOR, fall: VALUE, over: 10 ft}\n", "1 in per 5 ft", "1.6668%", PITCH,
         source="the plan itself"),
    Case("not meant for the jobs pitch", "two pitches", "pitch", ADVICE,
         "points:\n  §P: {from: DOOR, fall: VALUE, over: 10 ft}\n", "1.8751%", "1.875%", PITCH,
         source="the plan itself"),
]  # fmt: skip
FLAT = "surface: {at: DOOR, fall: {x: 2%}}\n"
SLIPS = [
    Case("finish tolerance", "tolerance", "finish tolerance at most", ADVICE,
         "tolerances: {finish: VALUE}\npoints: {P: 0}\n", "1", "1.000001"),
    Case("tolerance below the finish", "tolerance", "tolerance at most", ADVICE,
         STAGES.replace("subgrade: 1,", "subgrade: {high: 1, low: VALUE},"), "3", "3.000001", PAVED.replace("§", "")),
    Case("tolerance and its own layer", "tolerance against the layer", "thickness of bedding", ADVICE,
         STAGES.replace("bedding: 1/4", "bedding: {high: 1/4, low: VALUE}"), "1", "1.000001", PAVED.replace("§", ""),
         source="the plan itself"),
    Case("tolerance and the layer above", "tolerance against the layer", "thickness of bedding", ADVICE,
         STAGES.replace("base: 3/8", "base: {high: VALUE, low: 3/8}"), "1", "1.000001", PAVED.replace("§", ""),
         source="the plan itself"),
    Case("paver as thin as paper", "top layer", "top layer at least", ADVICE, STAGES, "1/4", "0.249999",
         _paved("paver: 2 3/8", "paver: VALUE")),
    Case("paver as thick as a wall", "top layer", "top layer at most", ADVICE, STAGES, "12", "12.000001",
         _paved("paver: 2 3/8", "paver: VALUE")),
    Case("outline in inches for feet", "small area", "area at least", ADVICE,
         "outline: [[0, 0], [20, 0], [20, VALUE], [0, VALUE]]\npoints: {P: {elevation: 0, at: [0, 0]}}\n",
         "36", "35.999999"),
    Case("points in inches for feet", "small area", "area at least", ADVICE,
         FLAT + "points: {A: {at: [0, 0]}, B: {at: [VALUE, 9]}, C: {at: [9, 20]}}\n", "36", "35.999999"),
    Case("far from its benchmark in plan", "large site", "site at most", ADVICE,
         FLAT + "points: {A: {at: [VALUE, 0]}}\n", "5280 ft", "5280.000001 ft"),
    Case("far below its benchmark", "far in height", "from the benchmarks at most", ADVICE,
         "points:\n  §P: {elevation: VALUE}\n", "-33 ft", "-33.000001 ft"),
    Case("alone in height", "alone in height", "alone in height at most", ADVICE,
         "points:\n  A: {elevation: -2}\n  §P: {elevation: VALUE}\n", "-50", "-50.000001"),
    Case("drop to a neighbor", "drop between points", "drop between points at most", ADVICE,
         "points:\n  A: {elevation: -2, at: [0, 0]}\n  §P: {elevation: VALUE, at: [30, 0]}\n", "10", "10.000001"),
    Case("pitch of a bank", "steep pitch", "pitch at most", ADVICE,
         "points:\n  §P: {from: DOOR, fall: VALUE, over: 2 ft}\n", "25%", "25.000001%"),
]  # fmt: skip
CASES = [*SLIPS, *DRAINAGE, *STEPS, *LAYERS, *SENSE]


@each_of("case", CASES)
def test_at_the_limit_nothing_is_found(case: Case) -> None:
    plan = plan_of(case.yard.replace(V, case.passes), top=case.top.replace(V, case.passes), codes=case.code)
    assert found(plan, case.what, case.rule) == []


@each_of("case", CASES)
def test_a_hair_beyond_it_is_found_on_its_line_with_who_sets_the_limit(case: Case) -> None:
    yard, top = case.yard.replace(V, case.beyond), case.top.replace(V, case.beyond)
    plan = plan_of(yard, top=top, codes=case.code)
    (finding,) = found(plan, case.what, case.rule)
    assert finding.severity is case.severity
    assert finding.line == marked_line(yard, top=top)
    assert finding.area == "yard"
    assert finding.limit.source == (case.source or next(iter(RULES[case.rule].by.values())).source)
    text = finding_line(plan, finding)
    assert text.startswith(f"line {finding.line}: {case.severity.value}: yard, ")
    assert (f"({finding.limit.source})" in text) == (finding.limit.source != "the plan itself")
    assert finding_json(plan, finding)["rule"] == case.rule


NOT_BY_A_PLAN = {
    "deepest less narrowest tread": "a flight is planned with one tread; built ones vary",
}
ELSEWHERE = {
    "direction of travel",
    "drawn twice",
    "names alike",
    "names like keys",
    "no way out",
    "example figure",
    "rule of thumb",
    "rounding",
    "depth of the dig",
    "way out of the dig",
    "drop beside an edge",
    "depth of the dig from the finish",
    "way out of the dig from the finish",
    "tolerance against the instrument",
    "degrees",
}
"""Told without a limit of their own to be hit, or at it: test_others.py, test_lists_in_plans.py, test_examples.py."""


def test_every_sentence_said_of_a_plan_is_put_to_its_limit_here() -> None:
    assert set(SENTENCES) == {case.what for case in CASES} | set(NOT_BY_A_PLAN) | ELSEWHERE
