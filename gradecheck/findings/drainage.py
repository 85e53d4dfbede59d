"""Findings on how a plan drains: the same checks that the ground is held to, on the plan's own spots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gradecheck.checks.ponding import ponds
from gradecheck.checks.slope import Along, AwayFrom, JudgedFall, Way, judge_falls, judge_route
from gradecheck.findings.finding import Finding, Severity
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.quantities import millimetres
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Area, Plan

AT_A_WALL = millimetres(600)
"""Nearer to a building than this, water does not leave by the area's edge."""
DRY_USES = ("steps", "ramp")
"""Held to rules of their own: treads, landings and runs."""


def drainage_findings(plan: Plan) -> Iterator[Finding]:
    """Falls along the way water is to run, near buildings and across accessible routes, and puddles."""
    for area in plan.areas.values():
        spots = area_spots(area)
        if area.use in DRY_USES or len(spots) < 2:
            continue
        limits = drain_limits(plan, area)
        if (way := drain_way(plan, area)) is not None:
            for fall in judge_falls(spots, way, limits, building(plan), area.outline).judged:
                yield from _fall(area, fall)
        if area.use == "pool deck":
            yield from _steepest(area, spots, way, limits)
        if area.accessible:
            yield from _route(area, spots, limits)
        yield from _ponds(plan, area, spots, limits)


def area_spots(area: Area) -> list[Spot]:
    """The area's points on the finish, those that have a place."""
    return [spot for point in area.points if (spot := point.spot) is not None]


def drain_limits(plan: Plan, area: Area) -> Limits:
    """The area's limits, with what its `drains:` asks put over them."""
    asked = {}
    if area.drains and area.drains.at_least is not None:
        asked = {"fall at least": area.drains.at_least.ratio, "fall wanted": area.drains.at_least.ratio}
    elif area.use == "pool deck":
        least = plan.limits(area)["pool deck fall at least"].value
        asked = {"fall at least": least, "fall wanted": least}
    return plan.limits(area).with_rules(asked)


def drain_way(plan: Plan, area: Area) -> Way | None:
    """Which way the area's water is to run: away from what it names, else away from the nearest building, else down
    its own plane; None where nobody can say."""
    away = area.drains.away_from if area.drains else None
    if away is not None:
        return _away_from(plan, away)
    if plan.walls:
        return building(plan)
    if area.surface is not None and area.surface.kind == "plane":
        x, y = (fall.ratio for fall in area.surface.planes[0].falls)
        return Along(x, y) if x or y else None
    return None


def building(plan: Plan) -> AwayFrom | None:
    """The job's walls together, None where the plan names none."""
    corners = tuple(corner for line in plan.walls.values() for corner in line)
    return AwayFrom(corners) if corners else None


def _away_from(plan: Plan, name: str) -> AwayFrom | None:
    if name in plan.walls:
        return AwayFrom(plan.walls[name])
    at = plan.benchmarks[name].at if name in plan.benchmarks else _place(plan, name)
    return AwayFrom((at,)) if at else None


def _fall(area: Area, judged: JudgedFall) -> Iterator[Finding]:
    if judged.verdict == "passes":
        return
    fall = judged.fall
    what = "toward the building" if judged.backward else judged.what
    line = _line(area, fall.end)
    yield Finding(
        Severity(judged.verdict), area.name, what, (fall.start, fall.end), fall.slope.ratio, judged.limit, line
    )


def _steepest(area: Area, spots: Sequence[Spot], way: Way | None, limits: Limits) -> Iterator[Finding]:
    most = limits["pool deck fall at most"]
    if way is None:
        return
    for judged in judge_falls(spots, way, limits).judged:
        if judged.fall.slope > most.slope:
            where = judged.fall.start, judged.fall.end
            line = _line(area, judged.fall.end)
            yield Finding(
                Severity.FAULT, area.name, "fall of a pool deck", where, judged.fall.slope.ratio, most, line
            )


def _route(area: Area, spots: Sequence[Spot], limits: Limits) -> Iterator[Finding]:
    """An accessible route runs the way its points are walked: from the first to the last."""
    first, last = spots[0], spots[-1]
    along = (last.x - first.x).metres, (last.y - first.y).metres
    if not any(along):
        return
    falls = judge_route(spots, Along(*along), limits, area.outline)
    for judged in (*falls.running.judged, *falls.cross.judged):
        if judged.verdict != "passes":
            where, ratio = (judged.fall.start, judged.fall.end), abs(judged.fall.slope.ratio)
            line = _line(area, judged.fall.end)
            yield Finding(Severity(judged.verdict), area.name, judged.what, where, ratio, judged.limit, line)


def _ponds(plan: Plan, area: Area, spots: Sequence[Spot], limits: Limits) -> Iterator[Finding]:
    """Low spots of the design itself; water leaves over its edge, but not through a wall."""
    if len(spots) < 3 or (area.surface is not None and area.surface.kind == "plane" and not _bumps(area)):
        return  # on a plane with fall nothing stands
    house = building(plan)
    walled = {spot.name for spot in spots if house and house.is_near(spot.at, AT_A_WALL)}
    drains = [drain for name in area.drains.into if (drain := _place(plan, name))] if area.drains else []
    for pond in ponds(triangulate(spots, area.outline), limits, drains, walled).ponds:
        if pond.verdict != "passes":
            line = _line(area, pond.deepest)
            yield Finding(
                Severity(pond.verdict), area.name, "puddle", pond.spots, pond.depth.metres, pond.limit, line
            )


def _bumps(area: Area) -> bool:
    """Whether any point lies off the area's plane, or the plane is level."""
    surface = area.surface
    assert surface is not None
    level = not any(fall.ratio for fall in surface.planes[0].falls)
    return level or any(point.at and surface.elevation(point.at) != point.finish for point in area.points)


def _place(plan: Plan, name: str) -> Place | None:
    home = plan.areas.get(plan.area_of.get(name, ""))
    return home.point(name).at if home else None


def _line(area: Area, name: str) -> int:
    return area.point(name).line if name in area.place else area.line
