"""Findings on how a plan drains: the same checks that the ground is held to, on the plan's own spots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradecheck.checks.drains import (
    at_walls,
    building,
    drain_limits,
    drain_most,
    drain_places,
    drain_way,
    is_drained,
    no_way_out,
    says_how_it_drains,
    shape_of,
    travel_of,
)
from gradecheck.checks.falls import Fall, Ground
from gradecheck.checks.ponding import ponds
from gradecheck.checks.slope import JudgedFall, judge_ground, judge_travel
from gradecheck.findings.finding import Finding, Severity, by_the_plan
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.ground.volumes import cut_as
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Area, Plan


def drainage_findings(plan: Plan) -> Iterator[Finding]:
    """Falls of each facet, near buildings and across accessible routes, and puddles."""
    for area in plan.areas.values():
        spots = area_spots(area)
        if area.has_own_rules or not spots:
            continue
        limits, most = drain_limits(plan, area), drain_most(plan, area)
        shape = shape_of(area)
        ground = Ground(tuple(spots), shape, area.outline)
        if says_how_it_drains(plan, area, shape):
            house, way = building(plan), drain_way(plan, area)
            for fall in judge_ground(ground, way, limits, house, most, drained=is_drained(area)).judged:
                yield from _fall(area, fall)
        if area.accessible:
            yield from _route(area, ground, limits)
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
    yield Finding(Severity(judged.verdict), area.name, what, _where(fall), fall.slope.ratio, judged.limit, line)


def _where(fall: Fall) -> tuple[str, ...]:
    return tuple(dict.fromkeys((fall.start, fall.end)))


def _route(area: Area, ground: Ground, limits: Limits) -> Iterator[Finding]:
    """An accessible route runs the way its plan says."""
    travel = travel_of(area)
    if limits.get("accessible run at most") is None and limits.get("accessible cross fall at most") is None:
        return
    if travel is None:
        limit = by_the_plan("direction of travel", "count", Fraction(1))
        yield Finding(
            Severity.REMINDER, area.name, "direction of travel", (area.name,), Fraction(0), limit, area.line
        )
        return
    falls = judge_travel(ground, travel, limits)
    for judged in (*falls.running.judged, *falls.cross.judged):
        if judged.verdict != "passes":
            ratio, line = abs(judged.fall.slope.ratio), _line(area, judged.fall.end)
            what, where = judged.what, _where(judged.fall)
            yield Finding(Severity(judged.verdict), area.name, what, where, ratio, judged.limit, line)


def _ponds(plan: Plan, area: Area, spots: Sequence[Spot], limits: Limits) -> Iterator[Finding]:
    """Low spots of the design itself; water leaves over its edge, but not through a wall."""
    falls = area.surface is not None and area.surface.kind == "plane" and not _bumps(area)
    walled = at_walls(plan, spots)
    if len(spots) < 3 or (falls and not walled):
        return  # on a plane with fall nothing stands
    joined = cut_as(triangulate(spots, area.outline), area.surface)
    found = ponds(joined, limits, drain_places(plan, area), walled)
    if no_way_out(plan, joined, found):
        limit = by_the_plan("drains", "count")
        yield Finding(Severity.ADVICE, area.name, "no way out", (area.name,), Fraction(0), limit, area.line)
    for pond in found.ponds if not falls else ():
        if pond.verdict != "passes":
            line = _line(area, pond.deepest)
            yield Finding(
                Severity(pond.verdict), area.name, "ponding", pond.spots, pond.depth.metres, pond.limit, line
            )


def _bumps(area: Area) -> bool:
    """Whether any point lies off the area's plane, or the plane is level."""
    surface = area.surface
    assert surface is not None
    level = not any(fall.ratio for fall in surface.planes[0].falls)
    return level or any(point.at and surface.elevation(point.at) != point.finish for point in area.points)


def _line(area: Area, name: str) -> int:
    return area.point(name).line if name in area.index else area.line
