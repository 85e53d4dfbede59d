"""The ground between spots as flat triangles: which they are, how high any place on them lies, their volumes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gradecheck.ground.outline import Outline, turn
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import Elevation

Corners = tuple[int, int, int]
"""Places in the list of spots, against the clock."""


@dataclass(frozen=True)
class Triangles:
    """Spots joined by triangles; heights on them are exact, only which spots are joined is found in floats."""

    spots: tuple[Spot, ...]
    corners: tuple[Corners, ...]

    @cached_property
    def planes(self) -> tuple[Plane, ...]:
        """The plane of each triangle."""
        found = (plane_through(*(self.spots[corner] for corner in corners)) for corners in self.corners)
        return tuple(plane for plane in found if plane is not None)

    def elevation(self, place: Place) -> Elevation | None:
        """The height at a place, None where no triangle lies."""
        for (a, b, c), plane in zip(self.corners, self.planes, strict=True):
            ring = self.spots[a].at, self.spots[b].at, self.spots[c].at
            if all(turn(ring[side], ring[(side + 1) % 3], place) >= 0 for side in range(3)):
                return plane.elevation(place)
        return None


def triangulate(spots: Sequence[Spot], outline: Outline | None = None) -> Triangles:
    """Joins the spots by Delaunay's rule; with an outline only triangles whose middle lies inside it.

    Spots at one place count once, the first of them; fewer than three, or all in one line, give no triangle.
    """
    import shapely

    first: dict[tuple[float, float], Spot] = {}
    for spot in spots:
        first.setdefault((spot.x.mm, spot.y.mm), spot)
    kept = tuple(first.values())
    if len(kept) < 3:
        return Triangles(kept, ())
    where = {at: index for index, at in enumerate(first)}
    joined = shapely.delaunay_triangles(shapely.MultiPoint(list(where)))
    corners = []
    for triangle in joined.geoms:
        a, b, c = (where[corner] for corner in triangle.exterior.coords[:3])
        side = turn(kept[a].at, kept[b].at, kept[c].at)
        if side == 0:
            continue
        ordered = (a, b, c) if side > 0 else (a, c, b)
        if outline is None or outline.contains(_middle([kept[corner] for corner in ordered])):
            corners.append(ordered)
    return Triangles(kept, tuple(sorted(corners)))


def _middle(spots: Sequence[Spot]) -> Place:
    third = Fraction(1, 3)
    return (
        (spots[0].x + spots[1].x + spots[2].x) * third,
        (spots[0].y + spots[1].y + spots[2].y) * third,
    )
