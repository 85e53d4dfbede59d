"""Figures that a new job began with and nobody has put their own in place of."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.findings.finding import Finding, Severity, by_the_plan
from gradecheck.plan.model import Plan

EXAMPLE = "example figure"


def example_findings(plan: Plan) -> Iterator[Finding]:
    """A fault for each line that is still marked; under its area where the targets of one alone come from it."""
    limit = by_the_plan("examples", "count")
    for line in plan.examples:
        areas = [area.name for area in plan.areas.values() if line in area.examples]
        area = areas[0] if len(areas) == 1 else "the job"
        yield Finding(Severity.FAULT, area, EXAMPLE, tuple(areas), limit.value, limit, line)
