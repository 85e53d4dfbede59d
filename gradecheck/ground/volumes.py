"""Volumes and areas by the usual methods, what lies above and below apart; metres, square and cubic, all exact."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import hypot
from typing import Any

from gradecheck.catalogue import _
from gradecheck.ground.outline import Outline, Ring, crosses_itself, turn
from gradecheck.ground.spots import Number, Place, in_steps, scale_of
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.ground.triangles import Corners, Triangles, plan_area
from gradecheck.measure.quantities import Length

_NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Apart:
    """Cubic metres above and below, kept apart; neither is negative."""

    above: Fraction
    below: Fraction

    def __add__(self, other: Apart) -> Apart:
        return Apart(self.above + other.above, self.below + other.below)


NEITHER = Apart(_NOTHING, _NOTHING)


# Sections and cells -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Section:
    """A cross section at a station: square metres of cut and of fill, kept apart."""

    at: Length
    cut: Fraction
    fill: Fraction


def between_sections(sections: Sequence[Section]) -> Apart:
    """Cubic metres of cut (above) and fill (below) by average end areas, sections in the order of their stations.

    Where one of two neighbors has none of it, it runs out there as a pyramid (common practice, no source).
    """

    def between(one: Fraction, other: Fraction, apart: Length) -> Fraction:
        return apart.metres * (one + other) / (2 if one and other else 3)

    return sum(
        (
            Apart(between(one.cut, other.cut, other.at - one.at), between(one.fill, other.fill, other.at - one.at))
            for one, other in pairwise(sections)
        ),
        NEITHER,
    )


def cell_apart(corners: Sequence[Fraction], area: Fraction) -> Apart:
    """Above and below apart over one cell, from the depths at its corners, in whatever order.

    A quarter of the area times the square of each sum over both sums together: the four-point method of land
    leveling (US Soil Conservation Service, National Engineering Handbook, section 15, chapter 12; from memory). Where
    all lie on one side that is the mean of the depths over the area.
    """
    high = sum((max(depth, _NOTHING) for depth in corners), _NOTHING)
    low = high - sum(corners, _NOTHING)
    if not high + low:
        return NEITHER
    share = area / len(corners) / (high + low)
    return Apart(share * high**2, share * low**2)


# Triangles ----------------------------------------------------------------------------------------------------


def split(depths: tuple[Fraction, Fraction, Fraction], area: Fraction) -> Apart:
    """Cubic metres above and below apart over one triangle, cut along the line of no depth.

    `depths` are metres at its three corners, positive above; `area` is its square metres in plan.
    """
    low, middle, high = sorted(depths)
    net = area * (low + middle + high) / 3
    if low >= 0:
        return Apart(net, _NOTHING)
    if high <= 0:
        return Apart(_NOTHING, -net)
    # The corner alone on its side of the line stands over a triangle of its own.
    if middle >= 0:
        below = area * low**3 / ((low - middle) * (low - high)) / -3
        return Apart(net + below, below)
    above = area * high**3 / ((high - middle) * (high - low)) / 3
    return Apart(above, above - net)


# Edges --------------------------------------------------------------------------------------------------------


def hull(places: Sequence[Place]) -> Ring:
    """The corners of the tightest line round all places, against the clock; fewer than three where none is."""
    ordered = sorted(set(places))
    if len(ordered) < 3:
        return tuple(ordered)
    half: list[list[Place]] = []
    for way in (ordered, ordered[::-1]):
        chain: list[Place] = []
        for place in way:
            while len(chain) > 1 and turn(chain[-2], chain[-1], place) <= 0:
                chain.pop()
            chain.append(place)
        half.append(chain[:-1])
    return (*half[0], *half[1])


def carried_area(
    outline: Outline,
    past_edge: Length,
    walls: Sequence[Sequence[Place]] = (),
    neighbors: Sequence[Outline] = (),
) -> Fraction:
    """Square metres of the outline with every edge carried outward, corners kept square; holes become smaller.

    Nothing is carried past a wall, nor into a neighbor.

    Exact where all sides run along x or y: (w + 2e)(l + 2e) for a rectangle; else to a millionth of a square
    metre. A corner sharper than about 23 degrees is cut off. A ValueError where the distance is negative or the
    outline crosses itself.
    """
    if past_edge.metres < 0 or crosses_itself(outline.ring):
        raise ValueError(_("only a line that does not cross itself can be carried outward"))
    if not past_edge:
        return outline.area
    import shapely

    rings = [outline.ring, *outline.holes]
    edge, ground = float(past_edge.metres), shapely.Polygon(*_in_floats(rings))
    grown = ground.buffer(edge, join_style="mitre", mitre_limit=5.0)
    taken = [shapely.Polygon(*_in_floats([other.ring, *other.holes])) for other in neighbors]
    for wall in walls:
        line = _in_floats([wall])[0]
        strips = [_behind(one, other, ground, 2 * edge) for one, other in pairwise(line) if one != other]
        taken += map(shapely.Polygon, strips)
        # What lies behind a corner lies behind neither of its two stretches.
        for before, after in pairwise(strips):
            corner, behind, far = before[1], before[2], after[3]
            across = behind[0] + far[0] - corner[0], behind[1] + far[1] - corner[1]
            taken.append(shapely.MultiPoint([corner, behind, across, far]).convex_hull)
    if taken := [each for each in taken if each.intersects(grown)]:
        grown = grown.difference(shapely.union_all(taken)).union(ground)
    straight = all(
        _along_an_axis(each) for each in (*rings, *(ring for other in neighbors for ring in _rings(other)))
    )
    if not straight or not all(_along_an_axis(wall, closed=False) for wall in walls):
        return Fraction(round(grown.area * 10**6), 10**6)
    # Every corner of the result lies at a corner's x and a corner's y, each moved by the distance one way or not.
    places = [place for ring in rings for place in ring]
    fixed = [place for line in (*walls, *(each.ring for each in neighbors)) for place in line]
    xs, ys = (
        _moved({at[axis] for at in places}, past_edge, {at[axis] for at in (*places, *fixed)}) for axis in (0, 1)
    )
    total = _NOTHING
    for part in getattr(grown, "geoms", [grown]):
        outer, *holes = (
            tuple((xs(x), ys(y)) for x, y in line.coords[:-1]) for line in (part.exterior, *part.interiors)
        )
        total += Outline(outer, tuple(holes)).area
    return total


def _rings(outline: Outline) -> list[Ring]:
    return [outline.ring, *outline.holes]


def _in_floats(lines: Sequence[Sequence[Place]]) -> tuple[list[tuple[float, float]], list[list[tuple[float, float]]]]:
    """The first line in metres, and the others."""
    first, *others = [[(float(x.metres), float(y.metres)) for x, y in line] for line in lines]
    return first, others


def _behind(
    one: tuple[float, float], other: tuple[float, float], ground: Any, deep: float
) -> list[tuple[float, float]]:
    """The strip along a stretch of wall on the side away from the ground."""
    import shapely

    along = other[0] - one[0], other[1] - one[1]
    long = hypot(*along)
    off = -along[1] / long, along[0] / long
    middle = (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
    near, far = (
        ground.distance(shapely.Point(middle[0] + off[0] * side * deep, middle[1] + off[1] * side * deep))
        for side in (1, -1)
    )
    side = deep if near > far else -deep
    return [one, other, (other[0] + off[0] * side, other[1] + off[1] * side),
            (one[0] + off[0] * side, one[1] + off[1] * side)]  # fmt: skip


def _along_an_axis(line: Sequence[Place], *, closed: bool = True) -> bool:
    places = [*line, line[0]] if closed else line
    return all(one[0] == other[0] or one[1] == other[1] for one, other in pairwise(places))


def _moved(corners: Iterable[Length], edge: Length, fixed: Iterable[Length]) -> Callable[[float], Length]:
    """Finds the place that a float stands for: a corner moved by the edge one way or the other, or a fixed one."""
    moved = sorted({*fixed, *(each for corner in corners for each in (corner + edge, corner - edge))})
    floats = [float(each.metres) for each in moved]

    def nearest(found: float) -> Length:
        index = bisect_left(floats, found)
        beside = range(max(index - 1, 0), min(index + 1, len(moved)))
        return moved[min(beside, key=lambda each: abs(floats[each] - found))]

    return nearest


_HALF = Fraction(1, 2)
Dot = tuple[Number, Number]
"""Where a spot lies, in whole steps where that can be."""
Quad = tuple[int, int, int, int]
"""Four spots in turn, against the clock."""


@dataclass(frozen=True, slots=True)
class Face:
    """A part of the ground that is reckoned with as one; `corners` are places in the list of spots.

    A cell is a rectangle of four spots and has no `triangles`. All else has those it is cut into, each with the
    square metres it counts: a pair of triangles has four, cut both ways and each counted by half.
    """

    corners: tuple[int, ...]
    area: Fraction
    triangles: tuple[tuple[Corners, Fraction], ...] = ()

    def apart(self, depths: Sequence[Fraction]) -> Apart:
        """Cubic metres above and below, from the depth at each corner, in turn."""
        if not self.triangles:
            return cell_apart(depths, self.area)
        at = dict(zip(self.corners, depths, strict=True))
        return sum((split((at[a], at[b], at[c]), area) for (a, b, c), area in self.triangles), NEITHER)


def faces(triangles: Triangles) -> tuple[Face, ...]:
    """Every triangle once: in a cell, in a pair with the one it might as well have been cut from, or alone.

    Pairs are taken where the choice of diagonal was closest first, so that they hang on where the spots lie alone.
    """
    paired: dict[int, int] = {}
    found = []
    for cell, quad, one, other in _pairs(triangles):
        if one in paired or other in paired:
            continue
        paired[one], paired[other] = other, one
        a, b, c, d = quad
        area = sum((plan_area(triangles, triangles.corners[index]) for index in (one, other)), Fraction(0))
        ways: list[Corners] = [] if cell else [(a, b, c), (a, c, d), (a, b, d), (b, c, d)]
        found.append(Face(quad, area, tuple((each, plan_area(triangles, each) / 2) for each in ways)))
    for index, corners in enumerate(triangles.corners):
        if index not in paired:
            area = plan_area(triangles, corners)
            found.append(Face(corners, area, ((corners, area),)))
    return tuple(found)


def cut_as(triangles: Triangles, surface: AreaSurface | None) -> Triangles:
    """The triangles, every cell cut by the diagonal nearer to the surface: which way it was cut was chance.

    A crease of the surface that runs from corner to corner of a cell is kept so; where both lie as near, as on a
    plane, nothing changes.
    """
    corners, spots = list(triangles.corners), triangles.spots
    for cell, (a, b, c, d), one, other in _pairs(triangles) if surface is not None else ():
        (ax, ay), (cx, cy) = spots[a].at, spots[c].at
        middle = surface.elevation(((ax + cx) * _HALF, (ay + cy) * _HALF)) if cell and surface is not None else None
        if middle is None:
            continue
        off = {
            ends: abs((spots[ends[0]].z.above(middle) + spots[ends[1]].z.above(middle)).metres)
            for ends in ((a, c), (b, d))
        }
        if off[b, d] < off[a, c]:
            corners[one], corners[other] = (a, b, d), (b, c, d)
    return Triangles(spots, tuple(corners))


def _pairs(triangles: Triangles) -> list[tuple[bool, Quad, int, int]]:
    """Two triangles that share a side and could be cut the other way, cells first: whether one, where, and which."""
    scale = scale_of(part.metres for spot in triangles.spots for part in spot.at)
    at = [(in_steps(spot.x.metres, scale), in_steps(spot.y.metres, scale)) for spot in triangles.spots]
    ranked = []
    for quad, one, other in _neighbors(triangles):
        a, b, c, d = (at[corner] for corner in quad)
        if _turn(d, a, b) > 0 and _turn(b, c, d) > 0:
            # Both angles that face the shared side make half a turn where the four lie on one circle.
            choice = round(_cotangent(b, c, a) + _cotangent(d, a, c), 9)
            cell = a[0] + c[0] == b[0] + d[0] and a[1] + c[1] == b[1] + d[1] and _square(a, c) == _square(b, d)
            ranked.append((not cell, choice, sorted((a, b, c, d)), quad, one, other))
    return [(not plain, quad, one, other) for plain, _, _, quad, one, other in sorted(ranked)]


def _neighbors(triangles: Triangles) -> Iterator[tuple[Quad, int, int]]:
    sides: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for index, (a, b, c) in enumerate(triangles.corners):
        for start, end, apex in ((a, b, c), (b, c, a), (c, a, b)):
            sides[min(start, end), max(start, end)].append((index, apex))
    for (start, end), shared in sides.items():
        if len(shared) == 2:
            (one, left), (other, right) = shared
            corners = triangles.corners[one]
            # The first triangle runs from start to end where that is its own way round.
            if corners[(corners.index(start) + 1) % 3] != end:
                left, right = right, left
            yield (start, right, end, left), one, other


def _turn(a: Dot, b: Dot, c: Dot) -> Number:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _square(a: Dot, b: Dot) -> Number:
    return (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2


def _cotangent(at: Dot, one: Dot, other: Dot) -> float:
    """Of the angle at a spot between two others, the first of them to the right."""
    (x, y), (u, v) = (one[0] - at[0], one[1] - at[1]), (other[0] - at[0], other[1] - at[1])
    return float(x * u + y * v) / float(x * v - y * u)
