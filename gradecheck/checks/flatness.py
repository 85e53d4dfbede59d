"""Flatness under a straightedge laid on spots in a line, and steps between neighbors entered directly."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm, sqrt

from gradecheck.catalogue import _
from gradecheck.checks.held import Held, Judgment, over
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Number, Spot, in_steps, ratio, scale_of
from gradecheck.ground.surfaces import Shape, distance, root
from gradecheck.measure.quantities import INCH, ZERO, Elevation, Length, feet, millimetres
from gradecheck.plan.limits import Limit, Limits

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


def grid_lines(
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
        raise ValueError(_("rows need a direction"))
    found = []
    for way in ((x, y), (-y, x)):
        turned = _Turned(spots, way)
        for row in turned.rows():
            for part in pieces_of_row(spots, row, outline, folds) if len(row) > 2 else ():
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
        x, y = in_steps(way[0], turn), in_steps(way[1], turn)
        scale = scale_of(part.metres for spot in spots for part in spot.at)
        at = [(in_steps(spot.x.metres, scale), in_steps(spot.y.metres, scale)) for spot in spots]
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


def pieces_of_row(
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


# The straightedge ---------------------------------------------------------------------------------------------


Dot = tuple[Number, Number]
"""How far along and how high, in whole steps where that can be."""


@dataclass(frozen=True, slots=True)
class LaidStraightedge:
    """The straightedge laid once: the largest gap below it, where that is, and the stations it rests on there.

    `gap` is plumb, not square to the straightedge: at the slopes of paving the two are the same. Where there is no
    gap it is shown at the start and rests there.
    """

    start: Length
    end: Length
    gap: Length
    at: Station
    rests: tuple[Station, Station]


@dataclass(frozen=True, slots=True)
class Flatness:
    """Every place of the straightedge along one line, and the worst gap against its limit."""

    line: Profile
    laid: tuple[LaidStraightedge, ...]
    limit: Limit
    verdict: Judgment

    @property
    def worst(self) -> LaidStraightedge:
        """The place with the largest gap, the first of equals."""
        return max(self.laid, key=lambda laid: laid.gap)


def fold_at_most(limits: Limits) -> Fraction:
    """The change of slope, as a ratio, that alone would open a quarter of the allowed gap under the straightedge.

    A bend of b in the middle of a straightedge of length l opens b l / 4 (the geometry of a small angle).
    """
    return limits["gap at most"].value / limits["straightedge"].value


def judge_line(line: Profile, limits: Limits, doubt: Length = ZERO) -> Flatness | None:
    """The straightedge of that length laid along the line; a gap exactly at the limit passes.

    The heights are those found less those planned, so that only what was built counts. A gap lies between three
    heights: beyond the limit by no more than twice the `doubt` of one it can't be told.

    It rests on the highest spots under it: the gap is the upper convex hull of the stations it covers less their
    heights, so a plane has none however steep. It is stepped by half its length from either end of the line, so
    that no end of a line is told from the other; on a line shorter than itself it is laid once. Between spots the
    surface is taken as straight: where an end of the straightedge has no spot below it, it may rest on that. None
    for fewer than two stations.
    """
    if len(line) < 2:
        return None
    places = list(_places(line, limits["straightedge"].value))
    along = _Laying(line, [end for place in places for end in place])
    laid = tuple(along.lay(start, end) for start, end in places)
    limit = limits["gap at most"]
    most = max(each.gap for each in laid)
    return Flatness(line, laid, limit, over(most.metres, limit.value, (doubt * 2).metres))


def judge_lines(found: Sequence[Profile], limits: Limits, doubt: Length = ZERO) -> tuple[Flatness, ...]:
    """The straightedge laid along each line; lines too short for it are left out."""
    return tuple(judged for line in found if (judged := judge_line(line, limits, doubt)))


def _hull(dots: Sequence[Dot]) -> list[int]:
    """Which of these, from left to right, the string touches."""
    hull: list[int] = []
    for index, dot in enumerate(dots):
        while len(hull) > 1 and _over(dots[hull[-2]], dot, dots[hull[-1]]) >= 0:
            hull.pop()
        hull.append(index)
    return hull


def _over(left: Dot, right: Dot, dot: Dot) -> Number:
    """How far the straight line between two lies above a third, plumb, times how far apart the two are."""
    return (right[0] - left[0]) * (left[1] - dot[1]) + (right[1] - left[1]) * (dot[0] - left[0])


def _places(line: Profile, length: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    first, last = line[0].at.metres, line[-1].at.metres
    if last - first <= length:
        yield first, last
        return
    half = length / 2
    steps = range(int((last - first - length) // half) + 1)
    starts = {first + step * half for step in steps} | {last - length - step * half for step in steps}
    for start in sorted(starts):
        yield start, start + length


class _Laying:
    """A line on which the straightedge is laid at places that begin and end at `ends`, all in whole numbers."""

    def __init__(self, line: Profile, ends: Sequence[Fraction]) -> None:
        self._line = line
        self._across = scale_of([*(station.at.metres for station in line), *ends])
        self._up = scale_of(station.z.metres for station in line)
        self._at = [in_steps(station.at.metres, self._across) for station in line]
        self._z = [in_steps(station.z.metres, self._up) for station in line]

    def lay(self, start: Fraction, end: Fraction) -> LaidStraightedge:
        """The straightedge laid there; only what lies below it is looked at."""
        ends = in_steps(start, self._across), in_steps(end, self._across)
        inner = range(bisect_right(self._at, ends[0]), bisect_left(self._at, ends[1]))
        (left, left_times), (right, right_times) = (self._ground(at) for at in ends)
        # The ground between two spots is a whole number of steps high once all heights are counted in finer ones.
        finer = lcm(left_times, right_times)
        dots: list[Dot] = [
            (ends[0], left * (finer // left_times)),
            *((self._at[index], self._z[index] * finer) for index in inner),
            (ends[1], right * (finer // right_times)),
        ]
        hull = _hull(dots)
        worst, at, rests = Fraction(0), 0, (hull[0], hull[1])
        for one, other in pairwise(hull):
            apart = dots[other][0] - dots[one][0]
            below = [_over(dots[one], dots[other], dots[index]) for index in range(one, other + 1)]
            most = max(below)
            if most and (gap := ratio(most, apart)) > worst:
                worst, at, rests = gap, one + below.index(most), (one, other)

        def station(dot: int) -> Station:
            if 0 < dot < len(dots) - 1:
                return self._line[inner[dot - 1]]
            return self._station(dots[dot], self._up * finer)

        plumb = Length(worst / (self._up * finer))
        return LaidStraightedge(
            Length(start), Length(end), plumb, station(at), (station(rests[0]), station(rests[1]))
        )

    def _ground(self, at: Number) -> tuple[Number, int]:
        """How high the ground lies there, times a whole number, and that number."""
        index = bisect_left(self._at, at)
        if index == len(self._at) or self._at[index] == at:
            return self._z[min(index, len(self._at) - 1)], 1
        (from_at, to_at), (low, high) = self._at[index - 1 : index + 1], self._z[index - 1 : index + 1]
        apart = to_at - from_at
        if isinstance(apart, int):
            return low * apart + (high - low) * (at - from_at), apart
        return low + (high - low) * (at - from_at) / apart, 1

    def _station(self, dot: Dot, up: int) -> Station:
        """The spot there, or the straight surface between the two beside it."""
        index = bisect_left(self._at, dot[0])
        if index < len(self._at) and self._at[index] == dot[0]:
            return self._line[index]
        return Station("", Length(ratio(dot[0], self._across)), Elevation(ratio(dot[1], up)))


# Entered directly ---------------------------------------------------------------------------------------------


def judge_lippage(where: str, step: Length, limits: Limits, stricter: Limit | None = None) -> Held:
    """The step between two neighboring units, either way up, against "lippage at most", or what is `stricter`."""
    limit, value = limits["lippage at most"], abs(step)
    if stricter is not None and stricter.value < limit.value:
        limit = stricter
    return Held("lippage", (where,), value.metres, limit, "fault" if value > limit.length else "passes")


def judge_above_drain(where: str, height: Length, limits: Limits) -> Held:
    """How far the surface stands above a drain's rim, negative below it, against "above drain" at least and at most.

    It carries the limit that is broken; where both are kept, the nearer one.
    """
    least, most = limits["above drain at least"], limits["above drain at most"]
    if height < least.length or height > most.length:
        broken = least if height < least.length else most
        return Held("above drain", (where,), height.metres, broken, "fault")
    nearer = least if height - least.length < most.length - height else most
    return Held("above drain", (where,), height.metres, nearer, "passes")


# Flatness numbers ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FlatnessNumbers:
    """F-numbers of one line: FF for bumps, FL for how near to level it lies; None where it is perfect in that.

    They belong to level floors: paving that falls as it must has a low FL.
    """

    flatness: float | None
    levelness: float | None


def flatness_numbers(line: Profile) -> FlatnessNumbers | None:
    """From the heights of stations a foot apart (ASTM E1155; constants from memory, check).

    None where they stand otherwise, or are fewer than twelve: it takes two differences over 10 ft.
    """
    ends = pairwise(line)
    if len(line) < 12 or any(abs(other.at - one.at - feet(1)) > IN_LINE for one, other in ends):
        return None
    inches = [station.z.metres / INCH for station in line]
    over_one = [after - before for before, after in pairwise(inches)]
    bends = [after - before for before, after in pairwise(over_one)]
    over_ten = [after - before for before, after in zip(inches, inches[10:], strict=False)]
    return FlatnessNumbers(_number(4.57, bends), _number(12.5, over_ten))


def _number(constant: float, differences: Sequence[Fraction]) -> float | None:
    mean = sum(differences, Fraction(0)) / len(differences)
    variance = sum(((each - mean) ** 2 for each in differences), Fraction(0)) / (len(differences) - 1)
    below = 3 * sqrt(variance) + float(abs(mean))
    return constant / below if below else None
