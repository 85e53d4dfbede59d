"""Cut and fill between two surfaces within a line: what is dug away and what is filled up, kept apart.

Both surfaces are made of flat pieces, and where two pieces lie over each other the volume is that between two planes,
cut along the line in which they meet. In floats, for pieces meet anywhere, and to a millionth of a cubic meter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.ground.volumes import NEITHER, Apart, faces, split
from gradecheck.measure.quantities import Length

_Corner = tuple[Fraction, Fraction]
_FINE = 10**6
_SPECK = 1e-12
"""Square metres that are nothing but rounding."""


@dataclass(frozen=True, slots=True)
class SurfacePiece:
    """A flat piece of a surface: a triangle, or everywhere where it has no corners; `weight` is the part it counts.

    A cell of four spots may be cut by either diagonal, so each way counts by half.
    """

    plane: Plane
    corners: tuple[Place, ...] = ()
    weight: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class CutFill:
    """Cubic metres between the ground and what is dug to, over the `covered` square metres where both are known."""

    apart: Apart
    covered: Fraction


def pieces_of(surface: AreaSurface | None, spots: Sequence[Spot]) -> list[SurfacePiece]:
    """The flat pieces of a surface; of one that is not plane, or none, those of the spots that lie on it."""
    if surface is not None and surface.kind == "plane":
        return [SurfacePiece(surface.planes[0])]
    joined = surface.triangles if surface is not None and surface.kind == "joined" else triangulate(spots)
    return list(_of_triangles(joined))


def _of_triangles(joined: Triangles) -> Iterator[SurfacePiece]:
    for face in faces(joined):
        ways = [corners for corners, _area in face.triangles]
        if len(face.corners) == 4 and not ways:
            a, b, c, d = face.corners
            ways = [(a, b, c), (a, c, d), (a, b, d), (b, c, d)]
        for corners in ways:
            spots = [joined.spots[corner] for corner in corners]
            plane = plane_through(*spots)
            if plane is not None:
                weight = Fraction(1, 2) if len(face.corners) == 4 else Fraction(1)
                yield SurfacePiece(plane, tuple(spot.at for spot in spots), weight)


def cut_and_fill(
    within: Outline, ground: Sequence[SurfacePiece], finish: Sequence[SurfacePiece], dig: Length
) -> CutFill:
    """What lies between existing ground and a dig so far below the finish, within the outline."""
    import shapely

    region = shapely.Polygon(_floats(within.ring), [_floats(hole) for hole in within.holes])
    total, covered = NEITHER, Fraction(0)
    tops = [(piece, _shape(piece, region)) for piece in finish]
    for below in ground:
        there = _shape(below, region)
        for above, shape in tops:
            if not there.intersects(shape):
                continue
            weight = below.weight * above.weight
            for corners, area in _triangles(there.intersection(shape)):
                depths = [_depth(below.plane, above.plane, dig, corner) for corner in corners]
                part = split((depths[0], depths[1], depths[2]), area * weight)
                total, covered = total + part, covered + area * weight
    return CutFill(Apart(_rounded(total.above), _rounded(total.below)), _rounded(covered))


def _rounded(number: Fraction) -> Fraction:
    return Fraction(round(number * _FINE), _FINE)


def _floats(ring: Sequence[Place]) -> list[tuple[float, float]]:
    return [(float(x.metres), float(y.metres)) for x, y in ring]


def _shape(piece: SurfacePiece, region: Any) -> Any:
    import shapely

    return region.intersection(shapely.Polygon(_floats(piece.corners))) if piece.corners else region


def _triangles(shape: Any) -> Iterator[tuple[list[_Corner], Fraction]]:
    """Triangles from one corner to each side of a shape, with their square metres: with a sign, so that what lies
    outside it or in a hole cancels out; lines and points have none.
    """
    for part in getattr(shape, "geoms", [shape]):
        if part.geom_type != "Polygon" or part.area < _SPECK:
            continue
        for number, ring in enumerate((part.exterior, *part.interiors)):
            corners = [(Fraction(x), Fraction(y)) for x, y in ring.coords]
            first = corners[0]
            found = [([first, one, other], _twice(first, one, other) / 2) for one, other in pairwise(corners)]
            way = 1 if (sum(area for _, area in found) > 0) is (number == 0) else -1
            yield from ((triangle, area * way) for triangle, area in found if area)


def _twice(a: _Corner, b: _Corner, c: _Corner) -> Fraction:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _depth(ground: Plane, finish: Plane, dig: Length, at: _Corner) -> Fraction:
    """How far the ground stands above the dig there, in metres."""
    place = Length(at[0]), Length(at[1])
    return (ground.elevation(place).above(finish.elevation(place)) + dig).metres
