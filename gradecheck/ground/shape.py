"""The shape a plan gives to an area: which facets lie at a place, how each falls there, and where it folds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface, in_one_plane, root, warped_fall
from gradecheck.ground.triangles import Corners, Triangles, triangulate
from gradecheck.ground.volumes import plan_area
from gradecheck.measure.quantities import Elevation, millimetres

Vector = tuple[Fraction, Fraction]
SLIVER = millimetres(300)
"""Three points of no surface that lie nearer to one line than this say nothing of how the ground falls across it."""


@dataclass(frozen=True)
class Shape:
    """A surface as facets: each side of a fold, each flat piece between spots, or one warped whole.

    A facet is known by its number. A place on a fold lies on the facets of both sides, one off the surface on none.
    """

    surface: AreaSurface

    def facets(self, place: Place) -> tuple[int, ...]:
        """The facets that hold the place."""
        surface = self.surface
        if surface.kind == "joined":
            found = (self._facet_of[index] for index in surface.triangles.all_at(place))
            return tuple(dict.fromkeys(facet for facet in found if facet is not None))
        z = surface.elevation(place)
        if z is None or not surface.planes:
            return (0,) if z is not None else ()
        return tuple(index for index, plane in enumerate(surface.planes) if plane.elevation(place) == z)

    def fall(self, facet: int, place: Place) -> Vector:
        """How much that facet falls along x and along y there; only a warped one falls otherwise elsewhere."""
        if self.surface.kind == "warped":
            return warped_fall(self.surface.spots, place)
        x, y = self._planes[facet].falls
        return x.ratio, y.ratio

    def elevation(self, place: Place) -> Elevation | None:
        """The height there, None off the surface."""
        return self.surface.elevation(place)

    @property
    def is_smooth(self) -> bool:
        """Whether it has no fold, though it may be no plane."""
        return self.surface.kind == "warped"

    @cached_property
    def plane(self) -> Plane | None:
        """The plane that the whole is, None where it is none."""
        if self.surface.kind == "warped":
            return in_one_plane(self.surface.spots)
        return self._planes[0] if len(set(self._planes)) == 1 else None

    def bend(self, one: Place, other: Place) -> Fraction:
        """How much the slope along the straight line from one place to the other changes between them, as a ratio.

        Nothing on one facet. It is a fold's own bend, seen along the line, as far as both ends can tell.
        """
        here, there = self.facets(one), self.facets(other)
        up, down = self.elevation(one), self.elevation(other)
        if set(here) & set(there) or up is None or down is None:
            return Fraction(0)
        x, y = (other[0] - one[0]).metres, (other[1] - one[1]).metres
        run = root(x * x + y * y)
        if not run:
            return Fraction(0)
        straight = up.above(down).metres / run
        return max(
            min(
                abs((fall[0] * x + fall[1] * y) / run - straight) for fall in (self.fall(each, at) for each in facets)
            )
            for facets, at in ((here, one), (there, other))
        )

    @cached_property
    def _planes(self) -> tuple[Plane, ...]:
        """The plane of each facet; nothing of a warped one."""
        return tuple(self._numbered) if self.surface.kind == "joined" else self.surface.planes

    @cached_property
    def _numbered(self) -> dict[Plane, int]:
        """The planes of the triangles, each once."""
        found: dict[Plane, int] = {}
        for index in range(len(self.surface.corners)):
            if (plane := self._of_triangle(index)) is not None:
                found.setdefault(plane, len(found))
        return found

    @cached_property
    def _facet_of(self) -> dict[int, int | None]:
        planes = ((index, self._of_triangle(index)) for index in range(len(self.surface.corners)))
        return {index: self._numbered[plane] if plane is not None else None for index, plane in planes}

    def _of_triangle(self, index: int) -> Plane | None:
        """The plane of a triangle as it passes over the first spot, so that two of one plane are alike."""
        plane, at = self.surface.triangles.plane(index), self.surface.spots[0].at
        return Plane(at, plane.elevation(at), plane.falls) if plane is not None else None


def shape_within(surface: AreaSurface, outline: Outline | None) -> Shape:
    """The shape of a surface as far as the outline reaches: what joins spots across a notch is no ground."""
    if surface.kind != "joined" or outline is None:
        return Shape(surface)
    corners = surface.triangles.within(outline)
    return Shape(replace(surface, corners=corners) if corners else surface)


def shape_through(spots: Sequence[Spot], outline: Outline | None) -> Shape | None:
    """The shape of an area of which only spots are given: their plane, else joined triangles; None in one line."""
    if (plane := in_one_plane(spots)) is not None:
        return Shape(AreaSurface("plane", (plane,)))
    joined = triangulate(spots, outline)
    corners = tuple(each for each in joined.corners if not _is_sliver(joined, each))
    return Shape(AreaSurface("joined", spots=joined.spots, corners=corners)) if corners else None


def _is_sliver(joined: Triangles, corners: Corners) -> bool:
    a, b, c = (joined.spots[corner].at for corner in corners)
    longest = max(
        (one[0] - other[0]).metres ** 2 + (one[1] - other[1]).metres ** 2 for one, other in ((a, b), (b, c), (c, a))
    )
    return (2 * plan_area(joined, corners)) ** 2 < longest * SLIVER.metres**2
