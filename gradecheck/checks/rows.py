"""Spots that lie in lines: rows and columns of a grid, or along a line that was chosen, as stations with heights."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Number, Spot, counted, ratio, scale_of
from gradecheck.ground.surfaces import Shape, distance, root
from gradecheck.measure.quantities import Elevation, Length, millimetres

IN_LINE = millimetres(1)
"""How far spots may lie off a line and still be of it: places that were turned are rounded to less than that."""


@dataclass(frozen=True, slots=True)
class Station:
    """How far along a line and how high; `name` is empty where the surface between two spots was taken."""

    name: str
    at: Length
    z: Elevation


Profile = tuple[Station, ...]


@dataclass(frozen=True)
class Folds:
    """Where a plan folds its ground: no straightedge lies over that.

    `planned` is how high each of the spots is planned. A change of slope along the line of no more than `most` is no
    fold.
    """

    planned: Sequence[Elevation]
    shape: Shape | None
    most: Fraction

    def between(self, spots: Sequence[Spot], one: int, other: int) -> bool:
        """Whether the ground folds somewhere between two spots that follow on one another."""
        return self.shape is not None and self.shape.bend(spots[one].at, spots[other].at) > self.most

    def at(self, spots: Sequence[Spot], before: int, here: int, after: int) -> bool:
        """Whether it folds at the middle one of three."""
        if self.shape is not None and (self.shape.is_smooth or self.shape.plane is not None):
            return False
        up = self._slope(spots, before, here)
        down = self._slope(spots, here, after)
        return up is not None and down is not None and abs(up - down) > self.most

    def _slope(self, spots: Sequence[Spot], one: int, other: int) -> Fraction | None:
        run = distance(spots[one].at, spots[other].at)
        return self.planned[one].above(self.planned[other]).metres / run.metres if run else None


def profile(spots: Sequence[Spot]) -> Profile:
    """The stations of spots along the straight line from the first to the last of them, in order from there.

    A spot off the line counts where it lies square to it. Stations are exact where the line's length is rational,
    else rounded to a nanometre. Of spots at one station the first counts; a line without length gives one station.
    """
    if not spots:
        return ()
    first, last = spots[0], spots[-1]
    x, y = (last.x - first.x).metres, (last.y - first.y).metres
    if not (x or y):
        return (Station(first.name, Length(Fraction(0)), first.z),)
    turned = _Turned(spots, (x, y))
    return turned.stations(range(len(spots)), 0)


def lines(
    spots: Sequence[Spot],
    along: tuple[Fraction, Fraction] = (Fraction(1), Fraction(0)),
    outline: Outline | None = None,
    folds: Folds | None = None,
) -> tuple[Profile, ...]:
    """The rows of a grid, along a direction on the plan, and then its columns, square to it.

    Spots within a millimetre of one line are of it, at least three of them: two have no gap between. With an
    outline a line is parted where the middle between two of its spots lies outside, and it is parted at folds. No
    direction is a ValueError.
    """
    x, y = along
    if not (x or y):
        raise ValueError("rows need a direction")
    found = []
    for way in ((x, y), (-y, x)):
        turned = _Turned(spots, way)
        for row in turned.rows():
            for part in parted(spots, row, outline, folds) if len(row) > 2 else ():
                stations = turned.stations(part, part[0])
                if len(stations) > 2:
                    found.append(stations)
    return tuple(found)


class _Turned:
    """Spots seen along a direction: how far along it and to its left each lies, in whole steps where that can be."""

    def __init__(self, spots: Sequence[Spot], way: tuple[Fraction, Fraction]) -> None:
        self._spots = spots
        self._long = root(way[0] ** 2 + way[1] ** 2)
        turn = scale_of(way)
        x, y = counted(way[0], turn), counted(way[1], turn)
        scale = scale_of(part.metres for spot in spots for part in spot.at)
        at = [(counted(spot.x.metres, scale), counted(spot.y.metres, scale)) for spot in spots]
        self._along = [right * x + up * y for right, up in at]
        self._left = [up * x - right * y for right, up in at]
        self._steps = scale * turn * self._long
        """So many of these numbers make a metre."""

    def rows(self) -> Iterator[list[int]]:
        """The spots that lie on lines in that direction, each line in its order."""
        if not self._spots:
            return
        most = self._steps * IN_LINE.metres
        wide: Number = most.numerator // most.denominator if self._all_whole else most
        row: list[int] = []
        for index in sorted(range(len(self._spots)), key=self._left.__getitem__):
            if row and self._left[index] - self._left[row[0]] > wide:
                yield sorted(row, key=self._along.__getitem__)
                row = []
            row.append(index)
        yield sorted(row, key=self._along.__getitem__)

    @property
    def _all_whole(self) -> bool:
        return all(isinstance(each, int) for each in self._left)

    def stations(self, chosen: Sequence[int], first: int) -> Profile:
        """Of those spots, counted from the first; of several at one station the first counts."""
        found: dict[Number, int] = {}
        for index in chosen:
            found.setdefault(self._along[index] - self._along[first], index)
        steps = self._steps
        return tuple(
            Station(
                self._spots[found[along]].name,
                Length(ratio(along * steps.denominator, steps.numerator)),
                self._spots[found[along]].z,
            )
            for along in sorted(found)
        )


def parted(
    spots: Sequence[Spot], row: Sequence[int], outline: Outline | None, folds: Folds | None
) -> Iterator[list[int]]:
    """The places in the list of a row of spots, in pieces that a straightedge can be laid on.

    A spot on a fold belongs to the pieces on both sides.
    """
    part = [row[0]]
    half = Fraction(1, 2)
    for before, index in pairwise(row):
        one, other = spots[before], spots[index]
        leaves = outline is not None and not outline.contains(((one.x + other.x) * half, (one.y + other.y) * half))
        if leaves or (folds is not None and folds.between(spots, before, index)):
            yield part
            part = []
        elif folds is not None and len(part) > 1 and folds.at(spots, part[-2], before, index):
            yield part
            part = [before]
        part.append(index)
    yield part
