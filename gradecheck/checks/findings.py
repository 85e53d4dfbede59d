"""What is doubtful about a plan that can be read: told in the office, before anyone drives out."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Plan
from gradecheck.survey.uncertainty import expanded, sight_budget


@dataclass(frozen=True, slots=True)
class Unresolved:
    """A tolerance that the instrument can't tell: `sure` (U, k = 2) is more than half of it."""

    area: str
    stage: str
    tolerance: Length
    sure: Length


def unresolved(plan: Plan) -> list[Unresolved]:
    """The tolerances too tight for the instrument: one backsight and one foresight of the plan's longest shot."""
    if plan.instrument is None:
        return []
    sight = sight_budget(plan.instrument, plan.rod, ZERO, None).total
    sure = expanded(sight * sqrt(2))
    found = []
    for area in plan.areas.values():
        for stage in area.stages:
            tolerance = min(area.tolerances[stage].high, area.tolerances[stage].low)
            if sure * 2 > tolerance:
                found.append(Unresolved(area.name, stage, tolerance, sure))
    return found
