"""Findings on how a plan drains: the same checks that the ground is held to, on the plan's own spots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gradecheck.checks.drains import (
    along_route,
    at_walls,
    building,
    drain_limits,
    drain_most,
    drain_places,
    drain_way,
)
from gradecheck.checks.ponding import ponds
from gradecheck.checks.slope import JudgedFall, judge_falls, judge_route
from gradecheck.findings.finding import Finding, Severity
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Area, Plan


def drainage_findings(plan: Plan) -> Iterator[Finding]:
    """Falls along the way water is to run, near buildings and across accessible routes, and puddles."""
    for area in plan.areas.values():
        spots = area_spots(area)
        if area.has_own_rules or len(spots) < 2:
            continue
        limits, most = drain_limits(plan, area), drain_most(plan, area)
        if (way := drain_way(plan, area)) is not None:
            for fall in judge_falls(spots, way, limits, building(plan), area.outline, most).judged:
                yield from _fall(area, fall)
        if area.accessible:
            yield from _route(area, spots, limits)
        yield from _ponds(plan, area, spots, limits)


def area_spots(area: Area) -> list[Spot]:
    """The area's points on the finish, those that have a place."""
    return [spot for point in area.points if (spot := point.spot) is not None]


def _fall(area: Area, judged: JudgedFall) -> Iterator[Finding]:
    if judged.verdict == "passes":
        return
    fall = judged.fall
    steep = judged.limit.name.endswith("at most")
    what = "too steep" if steep else "toward the building" if judged.backward else judged.what
    line = _line(area, fall.end)
    yield Finding(
        Severity(judged.verdict), area.name, what, (fall.start, fall.end), fall.slope.ratio, judged.limit, line
    )


def _route(area: Area, spots: Sequence[Spot], limits: Limits) -> Iterator[Finding]:
    """An accessible route runs the way its points are walked: from the first to the last."""
    along = along_route(spots)
    if along is None:
        return
    falls = judge_route(spots, along, limits, area.outline)
    for judged in (*falls.running.judged, *falls.cross.judged):
        if judged.verdict != "passes":
            where, ratio = (judged.fall.start, judged.fall.end), abs(judged.fall.slope.ratio)
            line = _line(area, judged.fall.end)
            yield Finding(Severity(judged.verdict), area.name, judged.what, where, ratio, judged.limit, line)


def _ponds(plan: Plan, area: Area, spots: Sequence[Spot], limits: Limits) -> Iterator[Finding]:
    """Low spots of the design itself; water leaves over its edge, but not through a wall."""
    if len(spots) < 3 or (area.surface is not None and area.surface.kind == "plane" and not _bumps(area)):
        return  # on a plane with fall nothing stands
    joined = triangulate(spots, area.outline)
    for pond in ponds(joined, limits, drain_places(plan, area), at_walls(plan, spots)).ponds:
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


def _line(area: Area, name: str) -> int:
    return area.point(name).line if name in area.place else area.line
