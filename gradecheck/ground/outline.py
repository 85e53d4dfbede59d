"""Closed lines in plan: area, which side of them a place lies on, and what lies inside; all exact."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import inf, lcm

from gradecheck.ground.boxes import FEW, Box, Boxes
from gradecheck.ground.spots import Number, Place, in_steps, scale_of

Ring = tuple[Place, ...]
"""Corners in order; the last is joined to the first."""


Corner = tuple[Number, Number]


@dataclass(frozen=True)
class Outline:
    """A part of the site in plan: one ring around it, and rings around what is left out."""

    ring: Ring
    holes: tuple[Ring, ...] = ()

    @property
    def area(self) -> Fraction:
        """Square metres inside, less the holes."""
        return abs(signed_area(self.ring)) - sum((abs(signed_area(hole)) for hole in self.holes), Fraction(0))

    def contains(self, place: Place) -> bool:
        """Whether the place lies inside or on the line; the edge of a hole still belongs to the outline."""
        x, y = place[0].metres, place[1].metres
        around, *holes = self._lines
        return around.where(x, y) >= 0 and all(hole.where(x, y) <= 0 for hole in holes)

    @cached_property
    def _lines(self) -> tuple[_Line, ...]:
        return tuple(_Line(ring) for ring in (self.ring, *self.holes))


class _Line:
    """A ring made ready to be asked of many places: in whole numbers, and only the sides a place may lie beside."""

    def __init__(self, ring: Ring) -> None:
        self._scale = scale_of(length.metres for place in ring for length in place)
        corners = [(in_steps(x.metres, self._scale), in_steps(y.metres, self._scale)) for x, y in ring]
        self._sides = list(pairwise((corners[-1], *corners)))
        self._boxes = Boxes([_box(*side) for side in pairwise((ring[-1], *ring))]) if len(ring) > FEW else None

    def where(self, x: Fraction, y: Fraction) -> int:
        """As `where` tells it."""
        sides: Iterable[tuple[Corner, Corner]] = self._sides
        if self._boxes is not None:
            # None but these touch the ray to the right that is counted along.
            sides = [self._sides[index] for index in self._boxes.meeting((float(x), float(y), inf, float(y)))]
        times = lcm(x.denominator, y.denominator)
        if times > 1:
            sides = (((a * times, b * times), (c * times, d * times)) for (a, b), (c, d) in sides)
        steps = times * self._scale
        return _beside(sides, steps // x.denominator * x.numerator, steps // y.denominator * y.numerator)


def _box(one: Place, other: Place) -> Box:
    (x1, y1), (x2, y2) = ((float(place[0].metres), float(place[1].metres)) for place in (one, other))
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)


def signed_area(ring: Sequence[Place]) -> Fraction:
    """Square metres inside, positive where the corners run against the clock."""
    twice = Fraction(0)
    for (x1, y1), (x2, y2) in zip(ring, [*ring[1:], ring[0]], strict=True):
        twice += x1.metres * y2.metres - x2.metres * y1.metres
    return twice / 2


def where(ring: Sequence[Place], place: Place) -> int:
    """1 inside the ring, 0 on its line, -1 outside."""
    return where_number([(x.metres, y.metres) for x, y in ring], place[0].metres, place[1].metres)


def where_number(ring: Sequence[tuple[Number, Number]], x: Number, y: Number) -> int:
    """As `where`, for bare numbers of one scale (n × 2); whole ones are ten times faster than fractions."""
    return _beside(pairwise((ring[-1], *ring)), x, y)


def _beside(sides: Iterable[tuple[Corner, Corner]], x: Number, y: Number) -> int:
    inside = False
    for (x1, y1), (x2, y2) in sides:
        side = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)
        if side == 0 and min(x1, x2) <= x <= max(x1, x2) and min(y1, y2) <= y <= max(y1, y2):
            return 0
        # A ray to the right crosses this side; half open in y, so that a corner counts once.
        if (y1 > y) != (y2 > y) and (side > 0) == (y2 > y1):
            inside = not inside
    return 1 if inside else -1


def turn(start: Place, end: Place, place: Place) -> Fraction:
    """Twice the area of the triangle of the three places, in square metres.

    It is positive where the place lies left of the line from start to end, zero on it, negative right of it.
    """
    along_x, along_y = end[0].metres - start[0].metres, end[1].metres - start[1].metres
    return along_x * (place[1].metres - start[1].metres) - along_y * (place[0].metres - start[0].metres)


def crosses_itself(ring: Sequence[Place]) -> bool:
    """Whether two sides that are no neighbors touch, or fewer than three corners enclose anything."""
    if len(set(ring)) < 3 or len(set(ring)) < len(ring) or signed_area(ring) == 0:
        return True
    sides = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    return any(_touch(*sides[one], *sides[other]) for one, other in _near(sides))


def _near(sides: Sequence[tuple[Place, Place]]) -> Iterator[tuple[int, int]]:
    """The sides that are no neighbors and lie near enough to touch, two and two."""
    boxes = [_box(*side) for side in sides]
    found = Boxes(boxes)
    for one, box in enumerate(boxes):
        for other in found.meeting(box):
            if other > one + 1 and (one > 0 or other < len(sides) - 1):
                yield one, other


def _touch(a: Place, b: Place, c: Place, d: Place) -> bool:
    one, other = turn(a, b, c), turn(a, b, d)
    third, fourth = turn(c, d, a), turn(c, d, b)
    if (one > 0) != (other > 0) and (third > 0) != (fourth > 0) and 0 not in (one, other, third, fourth):
        return True
    return any(
        side == 0 and _between(start, end, place)
        for side, start, end, place in ((one, a, b, c), (other, a, b, d), (third, c, d, a), (fourth, c, d, b))
    )


def _between(start: Place, end: Place, place: Place) -> bool:
    return all(
        min(start[axis].metres, end[axis].metres) <= place[axis].metres <= max(start[axis].metres, end[axis].metres)
        for axis in (0, 1)
    )
