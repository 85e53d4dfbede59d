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
from gradecheck.measure.quantities import Elevation, Length

Depths = Sequence[Sequence[Fraction | None]]
"""Depths at the nodes of a grid, row by row; None where there is no node, and so none of its cells."""
_NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Apart:
    """Cubic metres above and below, kept apart; neither is negative."""

    above: Fraction
    below: Fraction

    def __add__(self, other: Apart) -> Apart:
        return Apart(self.above + other.above, self.below + other.below)

    @property
    def net(self) -> Fraction:
        """What lies above less what lies below."""
        return self.above - self.below


NEITHER = Apart(_NOTHING, _NOTHING)


# Sections and offsets -----------------------------------------------------------------------------------------


def end_areas(first: Fraction, last: Fraction, apart: Fraction) -> Fraction:
    """Between two sections so far apart, by their average; too much where the two differ in shape."""
    return apart * (first + last) / 2


def runs_out(area: Fraction, length: Fraction) -> Fraction:
    """From a section to the point where it runs out to nothing, as a pyramid."""
    return area * length / 3


def prismoidal(first: Fraction, middle: Fraction, last: Fraction, apart: Fraction) -> Fraction:
    """Between two sections; `middle` is measured or built half-way, it is not the mean of the two areas."""
    return apart * (first + 4 * middle + last) / 6


def trapezoidal(offsets: Sequence[Fraction], apart: Fraction) -> Fraction:
    """The area under offsets evenly spaced along a line, or the volume under sections, side by side."""
    return sum((end_areas(one, other, apart) for one, other in pairwise(offsets)), _NOTHING)


def parabolic(offsets: Sequence[Fraction], apart: Fraction) -> Fraction:
    """The same by the one-third rule, for a curved edge; a ValueError unless the number of strips is even."""
    if len(offsets) < 3 or len(offsets) % 2 == 0:
        raise ValueError("the one-third rule needs an even number of strips")
    return apart / 3 * (offsets[0] + offsets[-1] + 4 * sum(offsets[1:-1:2]) + 2 * sum(offsets[2:-1:2]))


# Grids --------------------------------------------------------------------------------------------------------


def rectangular_cells(depths: Depths, cell: Fraction) -> Fraction:
    """Over a grid of cells of one area: a quarter of it times each depth as often as cells use it.

    Where depths of both signs share a cell this is the net; `cells_apart` keeps the two apart.
    """
    return cell / 4 * sum((sum(corners) for corners in _cells(depths)), _NOTHING)


def triangular_cells(depths: Depths, cell: Fraction) -> Fraction:
    """The same with each cell cut in two from its first corner to the one opposite."""
    return cell / 6 * sum((2 * a + b + 2 * c + d for a, b, c, d in _cells(depths)), _NOTHING)


def cells_apart(depths: Depths, cell: Fraction) -> Apart:
    """Above and below apart over a grid of cells of one area; their difference is what `rectangular_cells` gives."""
    return sum((cell_apart(corners, cell) for corners in _cells(depths)), NEITHER)


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


def zero_point(cut: Fraction, fill: Fraction, side: Fraction) -> Fraction:
    """How far from the corner with the cut the side of a cell passes through nothing; neither depth is negative.

    A ValueError where there is neither cut nor fill.
    """
    if min(cut, fill) < 0 or not cut + fill:
        raise ValueError("a zero point lies between a cut and a fill")
    return cut / (cut + fill) * side


def _cells(depths: Depths) -> list[tuple[Fraction, Fraction, Fraction, Fraction]]:
    """The corners of each cell that has all four, in turn round it."""
    cells = []
    for row, following in pairwise(depths):
        for (a, d), (b, c) in pairwise(zip(row, following, strict=True)):
            if a is not None and b is not None and c is not None and d is not None:
                cells.append((a, b, c, d))
    return cells


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


def volume_between(upper: Sequence[Elevation], lower: Sequence[Elevation], triangles: Triangles) -> Apart:
    """Cubic metres where `upper` lies above `lower`, and where it lies below.

    Both give a height for each of `triangles.spots`, in their order; those spots' own heights are not used.
    A ValueError where their numbers differ.
    """
    if not len(upper) == len(lower) == len(triangles.spots):
        raise ValueError("two heights are needed for each spot")
    depths = [one.above(other).metres for one, other in zip(upper, lower, strict=True)]
    up = scale_of(depths)
    counts = [counted(depth, up) for depth in depths]
    sizes, across = _sizes(triangles)
    above: Number = 0
    below: Number = 0
    mixed = NEITHER
    for (a, b, c), size in zip(triangles.corners, sizes, strict=True):
        # All on one side, as most are, only adds up; the others are cut along the line of no depth.
        one, other, third = counts[a], counts[b], counts[c]
        if one >= 0 and other >= 0 and third >= 0:
            above += size * (one + other + third)
        elif one <= 0 and other <= 0 and third <= 0:
            below -= size * (one + other + third)
        else:
            mixed += split((depths[a], depths[b], depths[c]), ratio(size, 2 * across**2))
    steps = 6 * across**2 * up
    return mixed + Apart(ratio(above, steps), ratio(below, steps))


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
