"""Closed lines in plan: area, which side of them a place lies on, and what lies inside; all exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.ground.spots import Place

Number = int | Fraction
Ring = tuple[Place, ...]
"""Corners in order; the last is joined to the first."""


@dataclass(frozen=True, slots=True)
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
        if where(self.ring, place) < 0:
            return False
        return all(where(hole, place) <= 0 for hole in self.holes)


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
    """The same for bare numbers of one scale; whole numbers are ten times faster than fractions."""
    inside = False
    x1, y1 = ring[-1]
    for x2, y2 in ring:
        side = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)
        if side == 0 and min(x1, x2) <= x <= max(x1, x2) and min(y1, y2) <= y <= max(y1, y2):
            return 0
        # A ray to the right crosses this side; half open in y, so that a corner counts once.
        if (y1 > y) != (y2 > y) and (side > 0) == (y2 > y1):
            inside = not inside
        x1, y1 = x2, y2
    return 1 if inside else -1


def turn(start: Place, end: Place, place: Place) -> Fraction:
    """Positive where the place lies left of the line from start to end, zero on it, negative right of it."""
    along_x, along_y = end[0].metres - start[0].metres, end[1].metres - start[1].metres
    return along_x * (place[1].metres - start[1].metres) - along_y * (place[0].metres - start[0].metres)


def crosses_itself(ring: Sequence[Place]) -> bool:
    """Whether two sides that are no neighbours touch, or fewer than three corners enclose anything."""
    if len(set(ring)) < 3 or len(set(ring)) < len(ring) or signed_area(ring) == 0:
        return True
    sides = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    for index, (one, other) in enumerate(sides):
        for later in range(index + 2, len(sides)):
            if index == 0 and later == len(sides) - 1:
                continue
            if _touch(one, other, *sides[later]):
                return True
    return False


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
