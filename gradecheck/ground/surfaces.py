"""Surfaces: what height the finish has at any place, from planes, corners or joined spots, and where it folds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import isqrt, sqrt
from typing import Literal

from gradecheck.catalogue import _
from gradecheck.ground.outline import Outline, turn
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Corners, Triangles, plan_area, triangulate
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, millimetres

FINE = 10**9
"""Steps in a metre where a root has to be rounded: a nanometre."""


@dataclass(frozen=True)
class AreaSurface:
    """One surface of an area.

    `planes` make a plane, a ``crown`` (the lower of them holds everywhere) or a ``valley`` (the higher); four
    `spots` in turn make a ``warped`` surface between straight sides; `spots` with `corners` are joined triangles.
    `says` names what carries it, for the working of a point.
    """

    kind: Literal["plane", "crown", "valley", "warped", "joined"]
    planes: tuple[Plane, ...] = ()
    spots: tuple[Spot, ...] = ()
    corners: tuple[Corners, ...] = ()
    says: str = ""

    @cached_property
    def triangles(self) -> Triangles:
        """The spots of a joined surface with the triangles between them; their planes are worked out once."""
        return Triangles(self.spots, self.corners)

    def elevation(self, place: Place) -> Elevation | None:
        """The height there, None outside the spots of a warped or joined surface."""
        if self.kind == "joined":
            return self.triangles.elevation(place)
        if self.kind == "warped":
            return _warped(self.spots, place)
        heights = [plane.elevation(place) for plane in self.planes]
        return max(heights) if self.kind == "valley" else min(heights)


def edge_plane(one: Spot, other: Spot, fall: Slope, toward: Place) -> Plane | None:
    """The plane through two spots that falls square off the line between them, to the side where `toward` lies.

    None where the spots lie at one place in plan, or `toward` on their line. The direction is rounded to a
    thousand-millionth, because a length across the plan has no exact value.
    """
    side = turn(one.at, other.at, toward)
    along_x, along_y = (other.x - one.x).metres, (other.y - one.y).metres
    if not side:
        return None
    long = root(along_x * along_x + along_y * along_y)
    left = 1 if side > 0 else -1
    # Along the line it rises as the spots do; square to it it falls as asked.
    along = other.z.above(one.z).metres / (long * long)
    across = fall.ratio * left / long
    fall_x = Slope(-along * along_x - across * along_y)
    fall_y = Slope(-along * along_y + across * along_x)
    return Plane(one.at, one.z, FallXY(fall_x, fall_y))


def in_one_plane(spots: Sequence[Spot]) -> Plane | None:
    """The plane that all spots lie in exactly, None where there is none or they do not determine one."""
    for third in spots[2:]:
        if plane := plane_through(spots[0], spots[1], third):
            return plane if all(plane.elevation(spot.at) == spot.z for spot in spots) else None
    return None


def root(number: Fraction) -> Fraction:
    """The square root, exact where it is rational with that denominator, else rounded to a thousand-millionth."""
    top, bottom = isqrt(number.numerator), isqrt(number.denominator)
    if top * top == number.numerator and bottom * bottom == number.denominator:
        return Fraction(top, bottom)
    return Fraction(isqrt(number.numerator * FINE * FINE // number.denominator), FINE)


def distance(one: Place, other: Place) -> Length:
    """How far apart two places are in plan."""
    x, y = (other[0] - one[0]).metres, (other[1] - one[1]).metres
    return Length(root(x * x + y * y))


def _warped(spots: Sequence[Spot], place: Place) -> Elevation | None:
    """The height on the surface that joins opposite sides by straight lines; exact on a trapezoid."""
    a, b, c, d = spots
    shares = _shares(a.at, b.at, c.at, d.at, place)
    if shares is None:
        return None
    s, t = shares
    weights = ((1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t)
    return Elevation(sum((w * spot.z.metres for w, spot in zip(weights, spots, strict=True)), Fraction(0)))


def warped_fall(spots: Sequence[Spot], place: Place) -> tuple[Fraction, Fraction]:
    """The falls of that surface along x and along y, as ratios, at a place on it. Raises ValueError off it."""
    a, b, c, d = spots
    shares = _shares(a.at, b.at, c.at, d.at, place)
    if shares is None:
        raise ValueError(_("the place lies off the surface"))
    s, t = shares

    def toward(a: Fraction, b: Fraction, c: Fraction, d: Fraction) -> tuple[Fraction, Fraction]:
        """How it changes with each share."""
        return (b - a) * (1 - t) + (c - d) * t, (d - a) * (1 - s) + (c - b) * s

    (x_s, x_t), (y_s, y_t), (z_s, z_t) = (
        toward(a.x.metres, b.x.metres, c.x.metres, d.x.metres),
        toward(a.y.metres, b.y.metres, c.y.metres, d.y.metres),
        toward(a.z.metres, b.z.metres, c.z.metres, d.z.metres),
    )
    twice = x_s * y_t - x_t * y_s
    return -(z_s * y_t - z_t * y_s) / twice, -(x_s * z_t - x_t * z_s) / twice


def _shares(a: Place, b: Place, c: Place, d: Place, place: Place) -> tuple[Fraction, Fraction] | None:
    """How far the place lies along a-b and along a-d, each from 0 to 1; None outside."""
    ex, ey = (b[0] - a[0]).metres, (b[1] - a[1]).metres
    fx, fy = (d[0] - a[0]).metres, (d[1] - a[1]).metres
    gx, gy = (a[0] - b[0] + c[0] - d[0]).metres, (a[1] - b[1] + c[1] - d[1]).metres
    hx, hy = (place[0] - a[0]).metres, (place[1] - a[1]).metres
    # With p = a + e s + f t + g s t, t solves (g x f) t² + (e x f + h x g) t + (h x e) = 0, where x is the cross.
    two, one, none = gx * fy - gy * fx, ex * fy - ey * fx + hx * gy - hy * gx, hx * ey - hy * ex
    slack = Fraction(0) if not (gx or gy) else Fraction(1, 10**6)
    for t in _roots(two, one, none):
        below_x, below_y = ex + gx * t, ey + gy * t
        # Where a-b runs along d-c, one of the roots is where a-d and b-c meet: no side is left there to lie on.
        if not -slack <= t <= 1 + slack or not (below_x or below_y):
            continue
        s = (hx - fx * t) / below_x if abs(below_x) >= abs(below_y) else (hy - fy * t) / below_y
        if -slack <= s <= 1 + slack:
            return s, t
    return None


def _roots(two: Fraction, one: Fraction, none: Fraction) -> list[Fraction]:
    if not two:
        return [-none / one] if one else []
    under = one * one - 4 * two * none
    if under < 0:
        return []
    size = root(under)
    if size * size == under:  # always so on a trapezoid
        return [(-one + size) / (2 * two), (-one - size) / (2 * two)]
    # Floats first, then one exact step of Newton's: heights come out within a millionth of a millimetre.
    found = []
    for sign in (1, -1):
        t = Fraction((-float(one) + sign * sqrt(float(under))) / (2 * float(two)))
        slope = 2 * two * t + one
        t = t - ((two * t + one) * t + none) / slope if slope else t
        found.append(Fraction(round(t * FINE * FINE), FINE * FINE))
    return found


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
