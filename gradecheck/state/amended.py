"""The plan as it stands on site: the office's, with what was added and changed there put over it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.plan.model import Area, Plan, Point, Tolerance

Amendment = PointAdded | TargetChanged | ToleranceChanged


def amended(plan: Plan, amendments: Iterable[Amendment]) -> Plan:
    """The plan with the amendments in their order; what speaks of an area or point that is gone changes nothing."""
    areas = dict(plan.areas)
    for amendment in amendments:
        area = areas.get(amendment.area)
        if area is not None:
            areas[area.name] = _changed(area, amendment, areas)
    return replace(plan, areas=areas)


def _changed(area: Area, amendment: Amendment, areas: dict[str, Area]) -> Area:
    match amendment:
        case PointAdded() as fact:
            # The office may have drawn the point meanwhile, here or in another area; then the plan's own counts.
            if any(fact.point in other.place for other in areas.values()):
                return area
            point = Point(fact.point, fact.finish, fact.working, fact.what, fact.at, on_site=True)
            return replace(area, points=(*area.points, point))
        case TargetChanged() as fact:
            return replace(area, points=tuple(_lifted(point, fact) for point in area.points))
        case ToleranceChanged() as fact:
            if fact.stage not in area.stages:
                return area
            return replace(area, tolerances={**area.tolerances, fact.stage: Tolerance(fact.high, fact.low)})


def _lifted(point: Point, fact: TargetChanged) -> Point:
    if point.name != fact.point:
        return point
    working = f"{point.working}, changed on site: {fact.why}"
    return replace(point, finish=fact.finish, exact=None, working=working, on_site=True)
