"""What an area's plan says of its ground: its shape, where its water is to go, and which way people walk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.checks.ponding import Ponding, outer_sides
from gradecheck.checks.ways import AwayFrom, Travel, Way
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import Shape, shape_through, shape_within
from gradecheck.ground.triangles import Triangles
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
        return Limit("fall at most", "slope", area.drains.at_most.ratio, _("the plan"))
    return plan.limits(area).get("pool deck fall at most") if area.use == "pool deck" else None


def shape_of(area: Area) -> Shape | None:
    """The shape of the area's finish: its surface, else what its points make; None where they lie in one line."""
    if area.surface is not None:
        return shape_within(area.surface, area.outline)
    spots = {point.at: Spot(point.name, point.at, point.exact or point.finish) for point in area.points if point.at}
    return shape_through(list(spots.values()), area.outline)


def drain_way(plan: Plan, area: Area) -> Way | None:
    """What the plan names for the area's water to run away from; None where it runs as the surface falls.

    Water that is to run into drains runs as the surface falls.
    """
    away = area.drains.away_from if area.drains and not area.drains.into else None
    return _away_from(plan, away) if away is not None else None


def says_how_it_drains(plan: Plan, area: Area, shape: Shape | None) -> bool:
    """Whether the plan says how water is to run: by a surface, a wall, drains; or its points lie in one plane."""
    if plan.walls or drain_way(plan, area) is not None:
        return True
    written = area.surface is not None or area.drains is not None
    return shape is not None and (written or shape.plane is not None)


def is_drained(area: Area) -> bool:
    """Whether the area's water is to run into drains."""
    return bool(area.drains and area.drains.into)


def travel_of(area: Area) -> Travel | None:
    """Which way people walk on the area, None where its plan does not say."""
    return Travel(area.travel) if area.travel else None


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


def drain_places(plan: Plan, area: Area) -> list[Place]:
    """Where the drains lie that the area's water runs into."""
    return [place for name in area.drains.into if (place := _place(plan, name))] if area.drains else []


def at_walls(plan: Plan, spots: Sequence[Spot]) -> set[str]:
    """The spots so near to a wall that water does not leave past them."""
    house = _together(plan.walls.values())
    return {spot.name for spot in spots if house and house.is_near(spot.at, AT_A_WALL)}


def no_way_out(plan: Plan, ground: Triangles, found: Ponding) -> tuple[str, ...]:
    """The spots that water can't leave for walls on every side; none where a side is open between two walls."""
    house = _together(plan.walls.values())
    if not found.shut_in or house is None:
        return ()
    ends = [(ground.spots[a].at, ground.spots[b].at) for a, b in outer_sides(ground)]
    middles = [((a[0] + b[0]) * Fraction(1, 2), (a[1] + b[1]) * Fraction(1, 2)) for a, b in ends]
    return found.shut_in if all(house.is_near(middle, AT_A_WALL) for middle in middles) else ()


def _place(plan: Plan, name: str) -> Place | None:
    home = plan.areas.get(plan.area_of.get(name, ""))
    return home.point(name).at if home else None
