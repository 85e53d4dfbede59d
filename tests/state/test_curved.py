"""Perfect work passes every check on plans with arcs, slots and curbs too."""

from __future__ import annotations

import pytest

from gradecheck.measure.quantities import inches
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.report.checks import area_results, result_line
from gradecheck.state.as_built import check_area
from gradecheck.state.state import fold
from tests.plan.test_arcs import ROUND
from tests.plan.test_curbs import YARD
from tests.plan.test_slots import COURT
from tests.report.site import Site

ACCESSIBLE = ROUND.replace("  walk:\n    outline", "  walk:\n    accessible: yes\n    outline")


@pytest.mark.parametrize(
    ("text", "area", "passes"),
    [
        (ROUND, "patio", "13 falls within"),
        (ROUND, "walk", "10 falls within"),
        (f"codes: [us-accessible]\n{ACCESSIBLE}", "walk", "10 falls within"),
        (COURT, "court", "no low spot holds water"),
        (YARD, "curb top", "1 line within"),
    ],
    ids=["round patio", "curved walk", "accessible", "slot", "curb"],
)
def test_readings_just_at_their_targets_pass_every_check(text: str, area: str, passes: str) -> None:
    plan = read_plan(f"rods: {{site rod: {{}}}}\n{text}", "job.yaml")
    site, home = Site(plan), plan.areas[area]
    site.set_up("DOOR", inches(50))
    for point in home.points:
        site.read((area, point.name, "finish"), inches(50) - target(home, point, "finish").wanted.height)
    results = area_results(check_area(fold(plan, site.entries), area), plan.notation)
    assert {each.verdict for each in results} <= {"passes", "not checked"}
    assert any(passes in result_line(each) for each in results if each.verdict == "passes")
