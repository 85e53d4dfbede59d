"""Planes: through a spot with falls in two directions, through three spots, and the best one through many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.ground.outline import turn
from gradecheck.ground.spots import Number, Place, Spot, in_steps, ratio, scale_of
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane that passes through a height at a place and falls along x and y; a negative fall rises."""

    at: Place
    z: Elevation
    falls: FallXY

    def elevation(self, place: Place) -> Elevation:
        """The height of the plane there, exact."""
        down = self.falls.x.over(place[0] - self.at[0]) + self.falls.y.over(place[1] - self.at[1])
        return self.z.minus(down)


def plane_through(a: Spot, b: Spot, c: Spot) -> Plane | None:
    """The plane through three spots, None where they lie in one line in plan."""
    twice = turn(a.at, b.at, c.at)
    if not twice:
        return None
    bx, by, bz = (b.x - a.x).metres, (b.y - a.y).metres, b.z.above(a.z).metres
    cx, cy, cz = (c.x - a.x).metres, (c.y - a.y).metres, c.z.above(a.z).metres
    rise_x, rise_y = (bz * cy - cz * by) / twice, (bx * cz - cx * bz) / twice
    return Plane(a.at, a.z, FallXY(Slope(-rise_x), Slope(-rise_y)))


def best_plane(spots: Sequence[Spot]) -> Plane | None:
    """The plane with the least squares of vertical distances to the spots, exact; None where it is not determined."""
    if len(spots) < 3:
        return None
    across = scale_of(part.metres for spot in spots for part in spot.at)
    up, count = scale_of(spot.z.metres for spot in spots), len(spots)
    xs, ys = ([in_steps(spot.at[axis].metres, across) for spot in spots] for axis in (0, 1))
    zs = [in_steps(spot.z.metres, up) for spot in spots]
    xx, xy, yy = _spread(xs, xs), _spread(xs, ys), _spread(ys, ys)
    xz, yz = _spread(xs, zs), _spread(ys, zs)
    determinant = xx * yy - xy * xy
    if not determinant:
        return None
    rise_x = ratio((xz * yy - yz * xy) * across, determinant * up)
    rise_y = ratio((yz * xx - xz * xy) * across, determinant * up)
    at = (Length(ratio(sum(xs), across * count)), Length(ratio(sum(ys), across * count)))
    return Plane(at, Elevation(ratio(sum(zs), up * count)), FallXY(Slope(-rise_x), Slope(-rise_y)))


def gradient_weights(places: Sequence[Place]) -> list[tuple[Fraction, Fraction]] | None:
    """Pairs of weights, n × 2 per metre, as many as places; each weight times its spot's height in metres, summed,
    is the rise of the best plane along x and along y as a ratio. None where the places lie in one line.
    """
    count = len(places)
    if count < 3:
        return None
    scale = scale_of(part.metres for place in places for part in place)
    xs, ys = ([in_steps(place[axis].metres, scale) for place in places] for axis in (0, 1))
    xx, xy, yy = _spread(xs, xs), _spread(xs, ys), _spread(ys, ys)
    determinant = xx * yy - xy * xy
    if not determinant:
        return None
    sum_x, sum_y = sum(xs), sum(ys)
    found = []
    for x, y in zip(xs, ys, strict=True):
        left, up = count * x - sum_x, count * y - sum_y
        found.append(
            (ratio((left * yy - up * xy) * scale, determinant), ratio((up * xx - left * xy) * scale, determinant))
        )
    return found


def _spread(ones: Sequence[Number], others: Sequence[Number]) -> Number:
    """The sum of the products of what both are off their means, times their number."""
    return len(ones) * sum(one * other for one, other in zip(ones, others, strict=True)) - sum(ones) * sum(others)
