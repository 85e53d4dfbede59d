"""The ground between spots as flat triangles: which they are, how high any place on them lies, their volumes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gradecheck.ground.boxes import Box, Boxes
from gradecheck.ground.outline import Outline, turn
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Number, Place, Spot, in_steps, ratio, scale_of
from gradecheck.measure.quantities import Elevation, Length

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
        return tuple(plane for index in range(len(self.corners)) if (plane := self.plane(index)) is not None)

    def plane(self, index: int) -> Plane | None:
        """The plane of one triangle, worked out once; None where its corners lie in one line."""
        if index not in self._planes:
            self._planes[index] = plane_through(*(self.spots[corner] for corner in self.corners[index]))
        return self._planes[index]

    @cached_property
    def _planes(self) -> dict[int, Plane | None]:
        return {}

    def elevation(self, place: Place) -> Elevation | None:
        """The height at a place, None where no triangle lies."""
        planes = (self.plane(index) for index in self._at(place))
        first = next((plane for plane in planes if plane is not None), None)
        return first.elevation(place) if first is not None else None

    def within(self, outline: Outline) -> tuple[Corners, ...]:
        """The triangles whose middle lies inside the outline."""
        return tuple(_inside(self.spots, self.corners, outline))

    def all_at(self, place: Place) -> list[int]:
        """The triangles that a place lies in or on the edge of, by their place in the list."""
        return list(self._at(place))

    def _at(self, place: Place) -> Iterator[int]:
        x, y = float(place[0].metres), float(place[1].metres)
        for index in self._boxes.meeting((x, y, x, y)):
            a, b, c = (self.spots[corner].at for corner in self.corners[index])
            if all(turn(one, other, place) >= 0 for one, other in ((a, b), (b, c), (c, a))):
                yield index

    @cached_property
    def _boxes(self) -> Boxes:
        at = [(float(spot.x.metres), float(spot.y.metres)) for spot in self.spots]
        return Boxes([_box([at[corner] for corner in corners]) for corners in self.corners])


def plan_area(triangles: Triangles, corners: Corners) -> Fraction:
    """Square metres of one triangle in plan."""
    a, b, c = (triangles.spots[corner].at for corner in corners)
    return abs(turn(a, b, c)) / 2


def covered(triangles: Triangles) -> Fraction:
    """Square metres in plan of all triangles."""
    scale = scale_of(part.metres for spot in triangles.spots for part in spot.at)
    at = [(in_steps(spot.x.metres, scale), in_steps(spot.y.metres, scale)) for spot in triangles.spots]
    twice: Number = 0
    for a, b, c in triangles.corners:
        (ax, ay), (bx, by), (cx, cy) = at[a], at[b], at[c]
        size = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        twice += size if size >= 0 else -size
    return ratio(twice, 2 * scale**2)


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
    ends = shapely.get_coordinates(joined).tolist()
    # Each triangle comes as four places, the last of them the first again.
    named = ([where[x, y] for x, y in ends[start : start + 3]] for start in range(0, len(ends), 4))
    return Triangles(kept, tuple(sorted(_inside(kept, named, outline))))


def _inside(spots: Sequence[Spot], named: Iterable[Sequence[int]], outline: Outline | None) -> Iterator[Corners]:
    """The triangles that have a width and their middle inside the outline, each against the clock."""
    scale = scale_of(part.metres for spot in spots for part in spot.at)
    at = [(in_steps(spot.x.metres, scale), in_steps(spot.y.metres, scale)) for spot in spots]
    for a, b, c in named:
        (ax, ay), (bx, by), (cx, cy) = at[a], at[b], at[c]
        side = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if side == 0:
            continue
        middle = Length(ratio(ax + bx + cx, 3 * scale)), Length(ratio(ay + by + cy, 3 * scale))
        if outline is None or outline.contains(middle):
            yield (a, b, c) if side > 0 else (a, c, b)


def _box(places: Sequence[tuple[float, float]]) -> Box:
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return min(xs), min(ys), max(xs), max(ys)
