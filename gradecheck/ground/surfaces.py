"""Surfaces: what height the finish has at any place, from planes, four corners or joined spots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isqrt, sqrt
from typing import Literal

from gradecheck.ground.outline import turn
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Corners, Triangles
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope

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
    """How much that surface falls along x and along y at a place on it; a place off it is a ValueError."""
    a, b, c, d = spots
    shares = _shares(a.at, b.at, c.at, d.at, place)
    if shares is None:
        raise ValueError("the place lies off the surface")
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
