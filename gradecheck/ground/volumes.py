"""Volumes and areas by the usual methods, what lies above and below apart; metres, square and cubic, all exact."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import hypot
from typing import Any

from gradecheck.ground.outline import Outline, Ring, crosses_itself, turn
from gradecheck.ground.spots import Place
from gradecheck.ground.triangles import Corners, Triangles
from gradecheck.ground.whole import Number, counted, ratio, scale_of
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
    """Above and below apart over one triangle of that area in plan, cut along the line of no depth."""
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


def plan_area(triangles: Triangles, corners: Corners) -> Fraction:
    """Square metres of one triangle in plan."""
    a, b, c = (triangles.spots[corner].at for corner in corners)
    return abs(turn(a, b, c)) / 2


def covered(triangles: Triangles) -> Fraction:
    """Square metres in plan of all triangles."""
    sizes, scale = _sizes(triangles)
    return ratio(sum(sizes), 2 * scale**2)


def _sizes(triangles: Triangles) -> tuple[list[Number], int]:
    """Twice the area in plan of each triangle, in squares of one over a scale, and the scale."""
    scale = scale_of(part.metres for spot in triangles.spots for part in spot.at)
    at = [(counted(spot.x.metres, scale), counted(spot.y.metres, scale)) for spot in triangles.spots]
    sizes = list[Number]()
    for a, b, c in triangles.corners:
        (ax, ay), (bx, by), (cx, cy) = at[a], at[b], at[c]
        size = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        sizes.append(size if size >= 0 else -size)
    return sizes, scale


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
    neighbours: Sequence[Outline] = (),
) -> Fraction:
    """Square metres of the outline with every edge carried outward, corners kept square; holes become smaller.

    Nothing is carried past a wall, nor into a neighbour.

    Exact where all sides run along x or y: (w + 2e)(l + 2e) for a rectangle; else to a millionth of a square
    metre. A corner sharper than about 23 degrees is cut off. A ValueError where the distance is negative or the
    outline crosses itself.
    """
    if past_edge.metres < 0 or crosses_itself(outline.ring):
        raise ValueError("only a line that does not cross itself can be carried outward")
    if not past_edge:
        return outline.area
    import shapely

    rings = [outline.ring, *outline.holes]
    edge, ground = float(past_edge.metres), shapely.Polygon(*_in_floats(rings))
    grown = ground.buffer(edge, join_style="mitre", mitre_limit=5.0)
    taken = [shapely.Polygon(*_in_floats([other.ring, *other.holes])) for other in neighbours]
    for wall in walls:
        line = _in_floats([wall])[0]
        strips = [_behind(one, other, ground, 2 * edge) for one, other in pairwise(line) if one != other]
        taken += map(shapely.Polygon, strips)
        # What lies behind a corner lies behind neither of its two stretches.
        for (_, corner, behind, _), (_, _, _, far) in pairwise(strips):
            across = behind[0] + far[0] - corner[0], behind[1] + far[1] - corner[1]
            taken.append(shapely.MultiPoint([corner, behind, across, far]).convex_hull)
    if taken := [each for each in taken if each.intersects(grown)]:
        grown = grown.difference(shapely.union_all(taken)).union(ground)
    straight = all(
        _along_an_axis(each) for each in (*rings, *(ring for other in neighbours for ring in _rings(other)))
    )
    if not straight or not all(_along_an_axis(wall, closed=False) for wall in walls):
        return Fraction(round(grown.area * 10**6), 10**6)
    # Every corner of the result lies at a corner's x and a corner's y, each moved by the distance one way or not.
    places = [place for ring in rings for place in ring]
    fixed = [place for line in (*walls, *(each.ring for each in neighbours)) for place in line]
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
