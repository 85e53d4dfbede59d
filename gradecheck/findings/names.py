"""Names of one alphabet that can't be told apart on a stake: 1 and l, O and 0, rn and m."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gradecheck.findings.finding import Finding, Severity, by_the_plan
from gradecheck.plan.model import Plan
from gradecheck.plan.names import Seen

ALIKE = "names alike"


def name_findings(plan: Plan) -> Iterator[Finding]:
    """Points, benchmarks and areas whose names differ only so; those of two alphabets are a problem of the file."""
    limit = by_the_plan("names that look alike", "count")
    areas: Seen[None] = Seen()
    names: Seen[None] = Seen()
    for benchmark in plan.benchmarks:
        names.add(benchmark, None)
    for area in plan.areas.values():
        if alike := areas.nearly(area.name):
            where = (alike[0], area.name)
            yield Finding(Severity.ADVICE, area.name, ALIKE, where, Fraction(2), limit, area.line)
        areas.add(area.name, None)
        for point in area.points:
            if alike := names.nearly(point.name):
                where = (alike[0], point.name)
                yield Finding(Severity.ADVICE, area.name, ALIKE, where, Fraction(2), limit, point.line)
            names.add(point.name, None)
