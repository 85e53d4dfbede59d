"""Flatness under a straightedge laid on spots in a line, and steps between neighbours entered directly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import sqrt

from gradecheck.checks.held import Held, Verdict
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import INCH, Elevation, Length, millimetres
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


# Lines of spots -----------------------------------------------------------------------------------------------


def profile(spots: Sequence[Spot]) -> Profile:
    """The stations of spots along the straight line from the first to the last of them, in order from there.

    A spot off the line counts where it lies square to it. Stations are exact where the line's length is rational,
    else rounded to a nanometre. Of spots at one station the first counts; a line without length gives one station.
    """
    if not spots:
        return ()
    first, last = spots[0], spots[-1]
    x, y = (last.x - first.x).metres, (last.y - first.y).metres
    return _stations(spots, x, y, first) if x or y else (Station(first.name, Length(Fraction(0)), first.z),)


def lines(
    spots: Sequence[Spot],
    along: tuple[Fraction, Fraction] = (Fraction(1), Fraction(0)),
    outline: Outline | None = None,
) -> tuple[Profile, ...]:
    """The rows of a grid, along a direction on the plan, and then its columns, square to it.

    Spots within a millimetre of one line are of it, at least three of them: two have no gap between. With an
    outline a line is parted where the middle between two of its spots lies outside. No direction is a ValueError.
    """
    x, y = along
    if not (x or y):
        raise ValueError("rows need a direction")
    found = []
    for way_x, way_y in ((x, y), (-y, x)):
        for row in _rows(spots, way_x, way_y):
            for part in _parted(row, outline):
                stations = _stations(part, way_x, way_y, part[0])
                if len(stations) > 2:
                    found.append(stations)
    return tuple(found)


def _stations(spots: Sequence[Spot], x: Fraction, y: Fraction, first: Spot) -> Profile:
    long = root(x * x + y * y)
    found: dict[Fraction, Spot] = {}
    for spot in spots:
        found.setdefault((spot.x - first.x).metres * x + (spot.y - first.y).metres * y, spot)
    return tuple(Station(found[dot].name, Length(dot / long), found[dot].z) for dot in sorted(found))


def _rows(spots: Sequence[Spot], x: Fraction, y: Fraction) -> Iterator[list[Spot]]:
    """Spots that lie on lines in that direction, each line in its order."""
    long = root(x * x + y * y)
    rows: list[tuple[Fraction, list[Spot]]] = []
    for spot in sorted(spots, key=lambda spot: spot.y.metres * x - spot.x.metres * y):
        off = (spot.y.metres * x - spot.x.metres * y) / long
        if rows and off - rows[-1][0] <= IN_LINE.metres:
            rows[-1][1].append(spot)
        else:
            rows.append((off, [spot]))
    for _, row in rows:
        yield sorted(row, key=lambda spot: spot.x.metres * x + spot.y.metres * y)


def _parted(row: Sequence[Spot], outline: Outline | None) -> Iterator[list[Spot]]:
    part = [row[0]]
    half = Fraction(1, 2)
    for one, other in pairwise(row):
        if outline is not None and not outline.contains(((one.x + other.x) * half, (one.y + other.y) * half)):
            yield part
            part = []
        part.append(other)
    yield part


# The straightedge ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Laid:
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
    laid: tuple[Laid, ...]
    limit: Limit
    verdict: Verdict

    @property
    def worst(self) -> Laid:
        """The place with the largest gap, the first of equals."""
        return max(self.laid, key=lambda laid: laid.gap)


def judge_line(line: Profile, limits: Limits) -> Flatness | None:
    """The straightedge of that length laid along the line; a gap exactly at the limit passes.

    It rests on the highest spots under it: the gap is the upper convex hull of the stations it covers less their
    heights, so a plane has none however steep. It is stepped by half its length from either end of the line, so
    that no end of a line is told from the other; on a line shorter than itself it is laid once. Between spots the
    surface is taken as straight: where an end of the straightedge has no spot below it, it may rest on that. None
    for fewer than two stations.
    """
    if len(line) < 2:
        return None
    laid = tuple(_lay(line, start, end) for start, end in _places(line, limits["straightedge"].value))
    limit = limits["gap at most"]
    over = any(each.gap > limit.length for each in laid)
    return Flatness(line, laid, limit, "fault" if over else "passes")


def judge_lines(found: Sequence[Profile], limits: Limits) -> tuple[Flatness, ...]:
    """The same for each line."""
    return tuple(judged for line in found if (judged := judge_line(line, limits)))


def upper_hull(line: Profile) -> Profile:
    """The stations that a string stretched over the line touches at a bend, and both ends."""
    hull: list[Station] = []
    for station in line:
        while len(hull) > 1 and _over(hull[-2], station, hull[-1]) >= 0:
            hull.pop()
        hull.append(station)
    return tuple(hull)


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


def _lay(line: Profile, start: Fraction, end: Fraction) -> Laid:
    covered = (
        _between(line, start),
        *(station for station in line if start < station.at.metres < end),
        _between(line, end),
    )
    hull = upper_hull(covered)
    worst, at, rests = Fraction(0), covered[0], (hull[0], hull[1])
    under = iter(pairwise(hull))
    left, right = next(under)
    for station in covered:
        while station.at > right.at:
            left, right = next(under)
        if (gap := _over(left, right, station)) > worst:
            worst, at, rests = gap, station, (left, right)
    return Laid(Length(start), Length(end), Length(worst), at, rests)


def _between(line: Profile, at: Fraction) -> Station:
    """The spot at that station, or the straight surface between the two beside it."""
    for one, other in pairwise(line):
        if at <= other.at.metres:
            for station in (one, other):
                if station.at.metres == at:
                    return station
            share = (at - one.at.metres) / (other.at - one.at).metres
            return Station("", Length(at), one.z + other.z.above(one.z) * share)
    return line[-1]


def _over(left: Station, right: Station, station: Station) -> Fraction:
    """How far the straight line between two stations lies above a third, plumb."""
    share = (station.at - left.at).metres / (right.at - left.at).metres
    return (left.z.metres + right.z.above(left.z).metres * share) - station.z.metres


# Entered directly ---------------------------------------------------------------------------------------------


def judge_lippage(where: str, step: Length, limits: Limits) -> Held:
    """The step between two neighbouring units, either way up, against "lippage at most"."""
    limit, value = limits["lippage at most"], abs(step)
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


def flatness_numbers(elevations: Sequence[Elevation]) -> FlatnessNumbers:
    """From elevations every foot along a line (ASTM E1155; constants from memory, check).

    At least twelve, for two differences over 10 ft; fewer are a ValueError.
    """
    if len(elevations) < 12:
        raise ValueError("F-numbers need an elevation every foot over at least 11 ft")
    inches = [elevation.metres / INCH for elevation in elevations]
    over_one = [after - before for before, after in pairwise(inches)]
    bends = [after - before for before, after in pairwise(over_one)]
    over_ten = [after - before for before, after in zip(inches, inches[10:], strict=False)]
    return FlatnessNumbers(_number(4.57, bends), _number(12.5, over_ten))


def _number(constant: float, differences: Sequence[Fraction]) -> float | None:
    mean = sum(differences, Fraction(0)) / len(differences)
    variance = sum(((each - mean) ** 2 for each in differences), Fraction(0)) / (len(differences) - 1)
    below = 3 * sqrt(variance) + float(abs(mean))
    return constant / below if below else None
