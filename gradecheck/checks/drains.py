"""Where the water of an area is to go, as its plan says: which way, into what, and not through walls."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gradecheck.checks.ways import Along, AwayFrom, Way
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import millimetres
from gradecheck.plan.limits import Limit, Limits
from gradecheck.plan.model import Area, Plan

AT_A_WALL = millimetres(600)
"""Nearer to a building than this, water does not leave by the area's edge."""


def drain_limits(plan: Plan, area: Area) -> Limits:
    """The area's limits, with what its `drains:` asks put over them."""
    limits = plan.limits(area)
    if area.drains and area.drains.at_least is not None:
        asked = area.drains.at_least.ratio
        return limits.with_rules({"fall at least": asked, "fall wanted": asked})
    if area.use == "pool deck":
        return limits.lending("pool deck fall at least", "fall at least", "fall wanted")
    return limits


def drain_most(plan: Plan, area: Area) -> Limit | None:
    """The steepest that an area may fall, where its plan or its use says."""
    if area.drains and area.drains.at_most is not None:
        return Limit("fall at most", "slope", area.drains.at_most.ratio, "the plan")
    return plan.limits(area).get("pool deck fall at most") if area.use == "pool deck" else None


def drain_way(plan: Plan, area: Area) -> Way | None:
    """Which way the area's water is to run: away from what it names, else away from the nearest building, else down
    its own plane; None where nobody can say."""
    away = area.drains.away_from if area.drains else None
    if away is not None:
        return _away_from(plan, away)
    if plan.walls:
        return _together(plan.walls.values())
    if area.surface is not None and area.surface.kind == "plane":
        x, y = (fall.ratio for fall in area.surface.planes[0].falls)
        return Along(x, y) if x or y else None
    return None


def building(plan: Plan) -> AwayFrom | None:
    """The job's walls together, None where the plan names none: a mark alone is no building.

    Nor is a line that a pool deck drains away from; that is the edge of the pool.
    """
    decks = (area.drains for area in plan.areas.values() if area.use == "pool deck")
    pools = {drains.away_from for drains in decks if drains}
    return _together(wall for name, wall in plan.walls.items() if name not in pools)


def _together(walls: Iterable[tuple[Place, ...]]) -> AwayFrom | None:
    first, *others = tuple(walls) or ((),)
    return AwayFrom(first, tuple(others)) if first else None


def _away_from(plan: Plan, name: str) -> AwayFrom | None:
    if name in plan.walls:
        return AwayFrom(plan.walls[name])
    at = plan.benchmarks[name].at if name in plan.benchmarks else _place(plan, name)
    return AwayFrom((at,)) if at else None


def along_route(spots: Sequence[Spot]) -> Along | None:
    """The way an accessible route runs: from the first of its spots as they are walked to the last."""
    if len(spots) < 2:
        return None
    x, y = (spots[-1].x - spots[0].x).metres, (spots[-1].y - spots[0].y).metres
    return Along(x, y) if x or y else None


def drain_places(plan: Plan, area: Area) -> list[Place]:
    """Where the drains lie that the area's water runs into."""
    return [place for name in area.drains.into if (place := _place(plan, name))] if area.drains else []


def at_walls(plan: Plan, spots: Sequence[Spot]) -> set[str]:
    """The spots so near to a wall that water does not leave past them."""
    house = _together(plan.walls.values())
    return {spot.name for spot in spots if house and house.is_near(spot.at, AT_A_WALL)}


def _place(plan: Plan, name: str) -> Place | None:
    home = plan.areas.get(plan.area_of.get(name, ""))
    return home.point(name).at if home else None
