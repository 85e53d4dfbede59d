"""The plan as it stands on site: the office's, with what was added and changed there put over it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from gradecheck.catalogue import stored
from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Elevation
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.targets import true_minus

Amendment = PointAdded | TargetChanged | ToleranceChanged


def amended(plan: Plan, amendments: Iterable[Amendment]) -> Plan:
    """The plan with the amendments in their order; what speaks of an area or point that is gone changes nothing."""
    areas, added = dict(plan.areas), dict[str, PointAdded]()
    for amendment in amendments:
        area = areas.get(amendment.area)
        if area is None:
            continue
        changed = _changed(area, amendment, areas)
        if isinstance(amendment, PointAdded) and changed is not area:
            added[amendment.point] = amendment
        elif isinstance(amendment, TargetChanged):  # given a finish of its own, it moves with nothing any more
            added.pop(amendment.point, None)
        areas[area.name] = changed
    for fact in added.values():  # each was added after what it lies against
        areas[fact.area] = _with_its_start(areas[fact.area], fact, areas, plan)
    return replace(plan, areas=areas)


def _with_its_start(area: Area, fact: PointAdded, areas: Mapping[str, Area], plan: Plan) -> Area:
    """The area with the point moved as far as what it was made from has moved since."""
    finish: Elevation | None = None
    if fact.on_surface and fact.at is not None and area.surface is not None:
        finish = area.surface.elevation(fact.at)
    elif fact.above is not None:
        homes = (other for other in areas.values() if fact.start in other.index and other.datum == area.datum)
        home, mark = next(homes, None), plan.benchmarks.get(fact.start) if area.datum is None else None
        start = home.point(fact.start).finish if home else mark.elevation if mark else None
        finish = start + fact.above if start is not None else None
    if finish is None or finish == fact.finish or fact.point not in area.index:
        return area
    says = stored(
        "{working}; moved with {start} to ", working=fact.working, start=fact.start or stored("the surface")
    )
    says += true_minus(show_exact(finish.height, plan.notation.units, unit=True))
    points = (replace(each, finish=finish, working=says) if each.name == fact.point else each for each in area.points)
    return replace(area, points=tuple(points))


def _changed(area: Area, amendment: Amendment, areas: dict[str, Area]) -> Area:
    match amendment:
        case PointAdded() as fact:
            # The office may have drawn the point meanwhile, here or in another area; then the plan's own counts.
            if any(fact.point in other.index for other in areas.values()):
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
    working = stored("{working}, changed on site: {why}", working=point.working, why=fact.why)
    return replace(point, finish=fact.finish, exact=None, working=working, on_site=True)
