"""Low spots that hold water on the triangles between spots: how deep, how far it spreads, and where it spills."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heapify, heappop, heappush
from itertools import pairwise

from gradecheck.catalogue import _
from gradecheck.checks.held import Judgment, over
from gradecheck.ground.outline import turn
from gradecheck.ground.spots import Place, Spot, in_steps, scale_of
from gradecheck.ground.triangles import Corners, Triangles, plan_area
from gradecheck.ground.volumes import split
from gradecheck.measure.quantities import ZERO, Elevation, Length, millimetres
from gradecheck.plan.limits import Limit, Limits

NARROW = millimetres(1)
"""A triangle at an edge that is nowhere as wide has only rounding between its corners."""

Joined = Mapping[int, Collection[int]]
"""Which spots, by their places in a list, each is joined to."""


@dataclass(frozen=True, slots=True)
class Pond:
    """Water that stands when all that can has run off.

    It stands at `level`, is `depth` deep at the spot `deepest` (the first of equals), covers the `spots` and spills
    over the `lips`: the spots at just that height beside it. `area` is square metres of water in plan, `volume`
    cubic metres, both exact; None along a line, where no width is known.
    """

    level: Elevation
    depth: Length
    deepest: str
    spots: tuple[str, ...]
    lips: tuple[str, ...]
    area: Fraction | None
    volume: Fraction | None
    limit: Limit
    verdict: Judgment


@dataclass(frozen=True, slots=True)
class Ponding:
    """The ponds, deepest first, and the spots from which water has no way out at all, however high it rises."""

    ponds: tuple[Pond, ...]
    shut_in: tuple[str, ...]


def ponds(
    triangles: Triangles,
    limits: Limits,
    drains: Sequence[Place] = (),
    kept_in: Collection[str] = (),
    doubt: Length = ZERO,
    unknown: Collection[str] = (),
) -> Ponding:
    """The ponds on a surface: every low spot whose water can neither leave over the outer edge nor into a drain.

    Water leaves at every spot of the outer edge but those `kept_in` by name (along a wall, a raised curb), and at
    `drains`, wherever they lie on the surface; one that lies off it is passed over. The edge of a hole in the
    surface keeps water in. Where ponds run together the water is one. Deeper than "ponding at most" is a fault,
    exactly as deep passes; deeper by no more than twice the `doubt` of a height it can't be told. What lies beyond
    spots that are `unknown` may swallow water, so it leaves there. Spots that no triangle joins are left out, and
    triangles at an edge narrower than a millimetre: a spot that rounding put a hair inside the edge is of the edge.
    """
    surface, swallow = _with_drains(_without_slivers(triangles), drains)
    joined = _joined(surface.corners)
    edge = {index for index in _outer_edge(surface) if surface.spots[index].name not in kept_in}
    edge |= {index for index in joined if surface.spots[index].name in unknown}
    water = _flooded(surface.spots, joined, edge | swallow)
    found, at = [], _triangles_at(surface.corners)
    for wet in _apart(surface.spots, joined, water):
        level = water[min(wet)]
        touched = {corners for index in wet for corners in at[index]}
        # A corner beside a pond is covered by it or stands no lower than its level, so no triangle holds two ponds.
        pieces = [(_depths(surface.spots, corners, level), plan_area(surface, corners)) for corners in touched]
        area = sum((_wet_area(depths, whole) for depths, whole in pieces), Fraction(0))
        volume = sum((split(depths, whole).above for depths, whole in pieces), Fraction(0))
        found.append(_pond(surface.spots, joined, wet, level, limits["ponding at most"], (area, volume), doubt))
    shut_in = tuple(surface.spots[index].name for index in sorted(joined) if index not in water)
    return Ponding(_deepest_first(found), shut_in)


def can_pond(triangles: Triangles, kept_in: Collection[str] = ()) -> bool:
    """Whether any spot lies where water could stand: off the outer edge, or along it at a wall."""
    surface = _without_slivers(triangles)
    edge = {index for index in _outer_edge(surface) if surface.spots[index].name not in kept_in}
    return any(index not in edge for corners in surface.corners for index in corners)


# The flood ----------------------------------------------------------------------------------------------------


def _flooded(spots: Sequence[Spot], joined: Joined, outlets: Iterable[int]) -> dict[int, Elevation]:
    """The height of the water at each spot that a way leads out from; that of the ground where it is dry.

    From the outlets inward, the lowest first: water at a spot stands as high as the lowest way out of it, and on
    flat triangles a lowest way leads along their edges.
    """
    scale = scale_of(spot.z.metres for spot in spots)
    ground = [in_steps(spot.z.metres, scale) for spot in spots]
    water: dict[int, Elevation] = {}
    # The height, the spot it is reached at, and the spot whose own height it is.
    rim = [(ground[outlet], outlet, outlet) for outlet in outlets]
    heapify(rim)
    while rim:
        height, index, lip = heappop(rim)
        if index in water:
            continue
        water[index] = spots[lip].z
        for neighbor in joined[index]:
            if neighbor not in water:
                higher = lip if ground[neighbor] < height else neighbor
                heappush(rim, (ground[higher], neighbor, higher))
    return water


def _apart(spots: Sequence[Spot], joined: Joined, water: Mapping[int, Elevation]) -> Iterator[set[int]]:
    """The spots under water, pond by pond; joined spots under water always have one level."""
    under = {index for index, height in water.items() if height > spots[index].z}
    for first in sorted(under):
        pond, todo = set[int](), [first] if first in under else []
        while todo:
            index = todo.pop()
            if index in under:
                under.remove(index)
                pond.add(index)
                todo.extend(joined[index])
        if pond:
            yield pond


def _pond(
    spots: Sequence[Spot],
    joined: Joined,
    wet: set[int],
    level: Elevation,
    limit: Limit,
    spread: tuple[Fraction, Fraction] | None,
    doubt: Length = ZERO,
) -> Pond:
    deepest = min(sorted(wet), key=lambda index: spots[index].z)
    depth = level.above(spots[deepest].z)
    beside = {other for index in wet for other in joined[index]} - wet
    return Pond(
        level=level,
        depth=depth,
        deepest=spots[deepest].name,
        spots=tuple(spots[index].name for index in sorted(wet)),
        lips=tuple(spots[index].name for index in sorted(beside) if spots[index].z == level),
        area=spread[0] if spread else None,
        volume=spread[1] if spread else None,
        limit=limit,
        verdict=over(depth.metres, limit.value, (doubt * 2).metres),
    )


def _deepest_first(found: Iterable[Pond]) -> tuple[Pond, ...]:
    return tuple(sorted(found, key=lambda pond: pond.depth, reverse=True))


def _depths(spots: Sequence[Spot], corners: Corners, level: Elevation) -> tuple[Fraction, Fraction, Fraction]:
    a, b, c = (level.above(spots[corner].z).metres for corner in corners)
    return a, b, c


def _wet_area(depths: tuple[Fraction, Fraction, Fraction], area: Fraction) -> Fraction:
    """The part of a triangle that lies under water, cut along the shore; at least one depth is positive."""
    low, middle, high = sorted(depths)
    if low >= 0:
        return area
    # The corner alone on its side of the shore has a triangle of its own.
    if middle <= 0:
        return area * high**2 / ((high - middle) * (high - low))
    return area - area * low**2 / ((low - middle) * (low - high))


# The surface --------------------------------------------------------------------------------------------------


def _joined(corners: Iterable[Corners]) -> dict[int, set[int]]:
    joined: dict[int, set[int]] = defaultdict(set)
    for triangle in corners:
        for corner in triangle:
            joined[corner] |= set(triangle) - {corner}
    return dict(joined)


def _triangles_at(corners: Iterable[Corners]) -> dict[int, list[Corners]]:
    at: dict[int, list[Corners]] = defaultdict(list)
    for triangle in corners:
        for corner in triangle:
            at[corner].append(triangle)
    return dict(at)


def _without_slivers(triangles: Triangles) -> Triangles:
    spots, kept = triangles.spots, set(triangles.corners)
    beside = {side: corners for corners in triangles.corners for side in _sides(corners)}
    todo = [side for side in beside if side[::-1] not in beside]
    while todo:
        a, b = todo.pop()
        corners = beside[a, b]
        long = (spots[b].x - spots[a].x).metres ** 2 + (spots[b].y - spots[a].y).metres ** 2
        if corners in kept and (2 * plan_area(triangles, corners)) ** 2 < long * NARROW.metres**2:
            kept.remove(corners)
            todo.extend(side[::-1] for side in _sides(corners) if side[::-1] in beside)
    return Triangles(spots, tuple(corners for corners in triangles.corners if corners in kept))


def _sides(corners: Corners) -> list[tuple[int, int]]:
    return list(pairwise((*corners, corners[0])))


def _outer_edge(surface: Triangles) -> set[int]:
    """The spots of the outer edge."""
    return {corner for side in outer_sides(surface) for corner in side}


def outer_sides(surface: Triangles) -> list[tuple[int, int]]:
    """The sides of the outer edge, each by the places of its two spots.

    The outer edge runs round the triangles against the clock, while the edge of a hole runs with it.
    """
    sides = {side for corners in surface.corners for side in _sides(corners)}
    bare = [(a, b) for a, b in sides if (b, a) not in sides]
    beside: dict[int, set[int]] = defaultdict(set)
    for a, b in bare:
        beside[a].add(b)
        beside[b].add(a)
    # Each edge by one of its spots, and twice the area that its sides run round: positive where it is the ground
    # itself, negative for a hole.
    edge_of: dict[int, int] = {}
    for first in beside:
        reach = [first] if first not in edge_of else []
        while reach:
            corner = reach.pop()
            if corner not in edge_of:
                edge_of[corner] = first
                reach.extend(beside[corner])
    around: dict[int, Fraction] = defaultdict(Fraction)
    for a, b in bare:
        base = surface.spots[edge_of[a]].at
        around[edge_of[a]] += turn(base, surface.spots[a].at, surface.spots[b].at)
    return [(a, b) for a, b in bare if around[edge_of[a]] > 0]


def _with_drains(triangles: Triangles, drains: Sequence[Place]) -> tuple[Triangles, set[int]]:
    """The same surface with a spot at every drain that lies on it, and which spots those are."""
    spots, swallow = list(triangles.spots), set[int]()
    taken = {spot.at: index for index, spot in reversed(list(enumerate(spots)))} if drains else {}
    parts: dict[int, list[Corners]] = {}
    for number, drain in enumerate(drains, 1):
        # A part of a triangle has its plane, so the whole one says how high the ground lies there.
        if (z := triangles.elevation(drain)) is None:
            continue
        index = taken.setdefault(drain, len(spots))
        swallow.add(index)
        if index < len(spots):
            continue
        spots.append(Spot(_("drain {number}", number=number), drain, z))
        for each in triangles.all_at(drain):
            before = parts.get(each, [triangles.corners[each]])
            parts[each] = [part for triangle in before for part in _parted(spots, triangle, index)]
    corners = (parts.get(index, [triangle]) for index, triangle in enumerate(triangles.corners))
    return Triangles(tuple(spots), tuple(part for each in corners for part in each)), swallow


def _parted(spots: Sequence[Spot], corners: Corners, index: int) -> Iterator[Corners]:
    """The triangle, or the two or three that a place on its side or inside it parts it into."""
    sides = _sides(corners)
    turns = [turn(spots[a].at, spots[b].at, spots[index].at) for a, b in sides]
    if min(turns) < 0:
        yield corners
        return
    yield from ((a, b, index) for (a, b), left in zip(sides, turns, strict=True) if left > 0)
