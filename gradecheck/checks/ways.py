"""Which way water is to run, the same everywhere, away from a wall or down a surface; and which way people walk."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import hypot, inf, sqrt

from gradecheck.catalogue import _
from gradecheck.ground.boxes import HAIR, Box, Boxes
from gradecheck.ground.spots import Number, Place
from gradecheck.ground.surfaces import Shape
from gradecheck.measure.quantities import Length

Vector = tuple[Fraction, Fraction]
Stretch = tuple[Vector, Vector]
OFF = 1e-12
"""By this share of the largest number in it a distance in floats may be off, and by far less it is."""


@dataclass(frozen=True, slots=True)
class Along:
    """The same way everywhere: a direction on the plan, of any length but none, which is a ValueError."""

    x: Fraction
    y: Fraction

    def __post_init__(self) -> None:
        if not (self.x or self.y):
            raise ValueError(_("a direction needs a length"))

    @property
    def across(self) -> Along:
        """A quarter turn to the left of it."""
        return Along(-self.y, self.x)

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """The direction; it is the same at every place."""
        return ((self.x, self.y),)


@dataclass(frozen=True)
class AwayFrom:
    """Square away from a wall, given by its corners in turn, or straight away from a single place.

    The wall is not closed: a house all round repeats its first corner. No corner at all is a ValueError. `others`
    are walls apart from it; the nearest of all counts.
    """

    line: tuple[Place, ...]
    others: tuple[tuple[Place, ...], ...] = ()

    def __post_init__(self) -> None:
        if not self.line:
            raise ValueError(_("a wall needs a place"))

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """From the nearest place of the wall to this one: two where a hollow corner is as near by either side.

        None on the wall itself, where either side could be meant.
        """
        found = {self._off(index, place) for _, index in self._nearest(place)}
        least = min(square(off) for off in found)
        return tuple(sorted(off for off in found if square(off) == least)) if least else ()

    @property
    def is_place(self) -> bool:
        """Whether it is a single place and no wall."""
        return len(self._stretches) == 1 and self._stretches[0][0] == self._stretches[0][1]

    def is_near(self, place: Place, within: Length) -> bool:
        """Whether the place lies nearer to the wall than that."""
        nearest, limit = self._nearest(place), float(within.metres)
        far = min(far for far, _ in nearest)
        if abs(far - limit) > HAIR * limit + self._slack(place):
            return far < limit
        return any(square(self._off(index, place)) < within.metres**2 for _, index in nearest)

    def _nearest(self, place: Place) -> list[tuple[float, int]]:
        """The stretches that may be the nearest and how far off they are: floats leave few to compare exactly."""
        x, y, slack = float(place[0].metres), float(place[1].metres), self._slack(place)
        found, reach = list[tuple[float, int]](), inf
        for off, index in self._boxes.nearest(x, y):
            if sqrt(off) > reach:
                break
            far = _far(self._floats[index], x, y)
            found.append((far, index))
            reach = min(reach, far * (1 + HAIR) + slack)
        return [each for each in found if each[0] <= reach]

    def _off(self, index: int, place: Place) -> Vector:
        """From the nearest place on a stretch of the wall to that one."""
        return _off(self._stretches[index], place[0].metres, place[1].metres)

    def _slack(self, place: Place) -> float:
        """What a distance in floats from there may be off."""
        return OFF * max(abs(float(place[0].metres)), abs(float(place[1].metres)), self._largest)

    @cached_property
    def _stretches(self) -> tuple[Stretch, ...]:
        found: list[Stretch] = []
        for line in (self.line, *self.others):
            corners = [(corner[0].metres, corner[1].metres) for corner in line]
            found += pairwise(corners) if len(corners) > 1 else [(each, each) for each in corners]
        return tuple(found)

    @cached_property
    def _floats(self) -> list[Box]:
        return [(float(ax), float(ay), float(bx), float(by)) for (ax, ay), (bx, by) in self._stretches]

    @cached_property
    def _boxes(self) -> Boxes:
        return Boxes([(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)) for ax, ay, bx, by in self._floats])

    @cached_property
    def _largest(self) -> float:
        return max(abs(each) for stretch in self._floats for each in stretch)


@dataclass(frozen=True)
class Down:
    """Down one facet of a shape, the way it falls at each place; nowhere where it is level."""

    shape: Shape
    facet: int

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """How it falls there."""
        fall = self.shape.fall(self.facet, place)
        return (fall,) if any(fall) else ()


@dataclass(frozen=True)
class Travel:
    """Along lines on the plan, or square to them: both ways along the nearest stretch of the nearest line.

    A place as near to two stretches, as where a line bends, may be walked along either; a line between two places is
    asked on the leg that both lie on. No stretch is a ValueError.
    """

    lines: tuple[tuple[Place, ...], ...]
    square_to: bool = False

    def __post_init__(self) -> None:
        if not self._stretches:
            raise ValueError(_("a direction of travel needs two places"))

    @property
    def across(self) -> Travel:
        """Square to it."""
        return Travel(self.lines, not self.square_to)

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """Both ways along each nearest stretch there, or square to it."""
        found = dict.fromkeys(self._ways[index] for index in self._nearest(place))
        return tuple(way for x, y in found for way in ((x, y), (-x, -y)))

    def _nearest(self, place: Place) -> list[int]:
        x, y = place[0].metres, place[1].metres
        far = [square(_off(stretch, x, y)) for stretch in self._stretches]
        least = min(far)
        return [index for index, each in enumerate(far) if each == least]

    @cached_property
    def _stretches(self) -> tuple[Stretch, ...]:
        corners = [[(x.metres, y.metres) for x, y in line] for line in self.lines]
        return tuple(each for line in corners for each in pairwise(line) if each[0] != each[1])

    @cached_property
    def _ways(self) -> tuple[Vector, ...]:
        ways = ((bx - ax, by - ay) for (ax, ay), (bx, by) in self._stretches)
        return tuple((-y, x) if self.square_to else (x, y) for x, y in ways)


Way = Along | AwayFrom | Down | Travel
BENT = 4
"""Stretches that go at most one sideways of one another for so many along, about 14 degrees, are one leg."""


def on_one_leg(heading: tuple[Number, Number], other: tuple[Number, Number]) -> bool:
    """Whether two headings, each x and y of any length, are those of one leg of a walk, either way along it."""
    along = heading[0] * other[0] + heading[1] * other[1]
    across = heading[0] * other[1] - heading[1] * other[0]
    along = max(along, -along)
    return -along <= BENT * across <= along


def square(vector: Vector) -> Fraction:
    """How long it is, squared."""
    return vector[0] ** 2 + vector[1] ** 2


def _off(stretch: Stretch, x: Fraction, y: Fraction) -> Vector:
    """From the nearest place on a stretch to that one."""
    (ax, ay), (bx, by) = stretch
    x, y = x - ax, y - ay
    along_x, along_y = bx - ax, by - ay
    dot = x * along_x + y * along_y
    if dot <= 0:
        return x, y
    long = along_x**2 + along_y**2
    if dot >= long:
        return x - along_x, y - along_y
    across = (x * along_y - y * along_x) / long
    return across * along_y, -across * along_x


def _far(stretch: Box, x: float, y: float) -> float:
    ax, ay, bx, by = stretch
    along_x, along_y = bx - ax, by - ay
    long = along_x * along_x + along_y * along_y
    share = ((x - ax) * along_x + (y - ay) * along_y) / long if long else 0.0
    share = min(max(share, 0.0), 1.0)
    return hypot(x - ax - share * along_x, y - ay - share * along_y)
