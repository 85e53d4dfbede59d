"""Findings on a plan in words."""

from __future__ import annotations

from gradecheck.checks.findings import Unresolved, unresolved
from gradecheck.measure.printed import show_exact
from gradecheck.plan.model import Plan
from gradecheck.report.rows import show_sure


def finding_lines(plan: Plan) -> list[str]:
    """Every finding, a sentence each."""
    return [_unresolved_line(plan, each) for each in unresolved(plan)]


def _unresolved_line(plan: Plan, found: Unresolved) -> str:
    units = plan.notation.units
    tolerance, sure = show_exact(found.tolerance, units, unit=True), show_sure(found.sure, units)
    return (
        f"{found.area}, {found.stage}: {tolerance} of tolerance is less than twice what the instrument leaves open "
        f"({sure} at the longest shot); shorten the shots or read a finer rod."
    )
