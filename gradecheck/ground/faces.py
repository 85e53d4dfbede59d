"""The ground between spots cut so that it does not matter which way: cells, pairs of triangles, and what is left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.ground.surfaces import AreaSurface
from gradecheck.ground.triangles import Corners, Triangles
from gradecheck.ground.volumes import NEITHER, Apart, cell_apart, plan_area, split
from gradecheck.ground.whole import Number, counted, scale_of

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
    """The same with every cell cut by the diagonal that lies nearer to the surface: which way it was cut was chance.

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
    at = [(counted(spot.x.metres, scale), counted(spot.y.metres, scale)) for spot in triangles.spots]
    ranked = []
    for quad, one, other in _neighbours(triangles):
        a, b, c, d = (at[corner] for corner in quad)
        if _turn(d, a, b) > 0 and _turn(b, c, d) > 0:
            # Both angles that face the shared side make half a turn where the four lie on one circle.
            choice = round(_cotangent(b, c, a) + _cotangent(d, a, c), 9)
            cell = a[0] + c[0] == b[0] + d[0] and a[1] + c[1] == b[1] + d[1] and _square(a, c) == _square(b, d)
            ranked.append((not cell, choice, sorted((a, b, c, d)), quad, one, other))
    return [(not plain, quad, one, other) for plain, _, _, quad, one, other in sorted(ranked)]


def _neighbours(triangles: Triangles) -> Iterator[tuple[Quad, int, int]]:
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
