"""Tolerances that the instrument can't tell."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from gradecheck.findings.finding import Finding, Severity
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.limits import Limit
from gradecheck.plan.model import Plan
from gradecheck.survey.uncertainty import expanded, sight_budget

TOO_TIGHT = "tolerance against the instrument"


def unresolved(plan: Plan) -> Iterator[Finding]:
    """Stages whose tolerance is less than twice U (k = 2): one backsight and one foresight of the longest shot.

    The finding's value is the tolerance, its limit twice U.
    """
    if plan.instrument is None:
        return
    sight = sight_budget(plan.instrument, plan.rod, ZERO, None).total
    twice = expanded(sight * sqrt(2)) * 2
    limit = Limit(TOO_TIGHT, "length", twice.metres, "common practice, no source")
    for area in plan.areas.values():
        for stage in area.stages:
            tolerance = min(area.tolerances[stage].high, area.tolerances[stage].low)
            if twice > tolerance:
                yield Finding(Severity.FAULT, area.name, TOO_TIGHT, (stage,), tolerance.metres, limit, area.line)
