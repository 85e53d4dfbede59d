"""Planes: through a spot with falls in two directions, through three spots, and the best one through many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, degrees, hypot

from gradecheck.ground.outline import turn
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import Elevation, Length, Slope


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane that passes through a height at a place and falls along x and y; a negative fall rises."""

    at: Place
    z: Elevation
    falls: tuple[Slope, Slope]

    def elevation(self, place: Place) -> Elevation:
        """The height of the plane there, exact."""
        down = self.falls[0].over(place[0] - self.at[0]) + self.falls[1].over(place[1] - self.at[1])
        return self.z.minus(down)

    @property
    def true_fall(self) -> float:
        """The steepest fall, as a ratio."""
        return hypot(float(self.falls[0].ratio), float(self.falls[1].ratio))

    @property
    def direction(self) -> float:
        """Where water runs: degrees from x toward y, from -180 to 180."""
        return degrees(atan2(float(self.falls[1].ratio), float(self.falls[0].ratio)))


def plane_through(a: Spot, b: Spot, c: Spot) -> Plane | None:
    """The plane through three spots, None where they lie in one line in plan."""
    twice = turn(a.at, b.at, c.at)
    if not twice:
        return None
    bx, by, bz = (b.x - a.x).metres, (b.y - a.y).metres, b.z.above(a.z).metres
    cx, cy, cz = (c.x - a.x).metres, (c.y - a.y).metres, c.z.above(a.z).metres
    rise_x, rise_y = (bz * cy - cz * by) / twice, (bx * cz - cx * bz) / twice
    return Plane(a.at, a.z, (Slope(-rise_x), Slope(-rise_y)))


def best_plane(spots: Sequence[Spot]) -> Plane | None:
    """The plane with the least squares of vertical distances to the spots, exact; None where it is not determined."""
    if len(spots) < 3:
        return None
    count = len(spots)
    mean_x = sum((spot.x.metres for spot in spots), Fraction(0)) / count
    mean_y = sum((spot.y.metres for spot in spots), Fraction(0)) / count
    mean_z = sum((spot.z.metres for spot in spots), Fraction(0)) / count
    xx = xy = yy = xz = yz = Fraction(0)
    for spot in spots:
        x, y, z = spot.x.metres - mean_x, spot.y.metres - mean_y, spot.z.metres - mean_z
        xx, xy, yy, xz, yz = xx + x * x, xy + x * y, yy + y * y, xz + x * z, yz + y * z
    determinant = xx * yy - xy * xy
    if not determinant:
        return None
    rise_x, rise_y = (xz * yy - yz * xy) / determinant, (yz * xx - xz * xy) / determinant
    at = (Length(mean_x), Length(mean_y))
    return Plane(at, Elevation(mean_z), (Slope(-rise_x), Slope(-rise_y)))
