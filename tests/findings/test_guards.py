"""Guards: more than 30 in down within 36 in of an edge is pointed out, beside patios, landings and walls alike."""

from __future__ import annotations

import pytest

from gradecheck.checks.not_checked import not_limited
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Finding, Severity
from gradecheck.plan.read import read_plan
from gradecheck.report.findings import finding_line

HEAD = """\
job: Siskin Wall
units: in
codes: [us-residential]
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas:
"""
# IRC 2018 R312.1.1: more than 30 in, measured plumb to the grade below at any point within 36 in of the edge.
TERRACE = (
    "  terrace:\n    use: patio\n    points: {T1: {elevation: 0, at: [0, 0]}, T2: {elevation: 0, at: [0, 99]}}\n"
)
LOWER = "  lawn walk:\n    points: {L1: {elevation: DOWN, at: [ASIDE, 0]}}\n"


def _found(areas: str) -> list[Finding]:
    return [each for each in findings(read_plan(HEAD + areas, "job.yaml")) if each.what == "drop beside an edge"]


@pytest.mark.parametrize(
    ("down", "aside", "told"),
    [("-30", "36", 0), ("-30.0001", "36", 1), ("-30.0001", "36.0001", 0), ("-40", "0", 1), ("40", "36", 0)],
)
def test_a_drop_to_other_work_counts_where_it_is_too_deep_and_near_enough(down: str, aside: str, told: int) -> None:
    found = _found(TERRACE + LOWER.replace("DOWN", down).replace("ASIDE", aside))
    upper = [each for each in found if each.area == "terrace"]
    assert len(upper) == told
    assert {each.severity for each in upper} <= {Severity.REMINDER}


def test_over_a_retaining_wall_the_surface_below_counts() -> None:
    below = (
        "  court:\n    outline: [[6, -200], [400, -200], [400, 300], [6, 300]]\n"
        "    surface: {at: C1, fall: {x: 2%}}\n    points: {C1: {elevation: -48, at: [200, 0]}}\n"
    )
    (found,) = [each for each in _found(TERRACE + below) if each.area == "terrace"]
    assert found.where[1] == "court"


@pytest.mark.parametrize(("ground", "told"), [("-30", 0), ("-30.0001", 1)])
@pytest.mark.parametrize("use", ["patio", "walk", "ramp", "pool deck"])
def test_a_drop_to_existing_ground_counts_beside_any_paving(use: str, ground: str, told: int) -> None:
    areas = f"  deck:\n    use: {use}\n    ground: {ground}\n    points: {{D1: 0}}\n"
    assert len(_found(areas)) == told


def test_it_is_told_as_what_may_be_required() -> None:
    plan = read_plan(HEAD + "  deck:\n    ground: -40\n    points: {D1: 0}\n", "job.yaml")
    assert [finding_line(plan, each) for each in findings(plan)] == [
        "line 7: reminder: deck, D1, ground: the drop is 40 in, more than 30 in; a guard may be required; "
        "check the local code. (IRC 2018 R312.1.1, 2024 R321.1.1)"
    ]


def test_without_a_code_such_a_drop_is_not_passed_over_in_silence() -> None:
    text = HEAD.replace("codes: [us-residential]", "codes: []") + "  deck:\n    ground: -40\n    points: {D1: 0}\n"
    plan = read_plan(text, "job.yaml")
    assert findings(plan) == []
    (told,) = not_limited(plan, plan.areas["deck"])
    assert told.why == "no code is named for guards"
