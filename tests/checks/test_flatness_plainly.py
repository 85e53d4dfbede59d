"""The straightedge and the lines it is laid on are those found by looking at every spot each time."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.flatness import LaidStraightedge, Profile, Station, grid_lines, judge_line, profile
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.limits import Limits
from tests.ground.drawing import outlines, spots

IN_LINE = Fraction(1, 1000)
"""Metres; rows nearer to each other than this are one row."""

# Laid by looking at the whole line ------------------------------------------------------------------------------


def _laid(line: Profile, start: Fraction, end: Fraction) -> LaidStraightedge:
    inner = [station for station in line if start < station.at.metres < end]
    covered = (_between(line, start), *inner, _between(line, end))
    hull = [
        station
        for station in covered
        if not any(_rises_over(left, station, right) for left in covered for right in covered)
    ]
    worst, at, rests = Fraction(0), covered[0], (hull[0], hull[1])
    for station in covered:
        left, right = next(pair for pair in pairwise(hull) if pair[0].at <= station.at <= pair[1].at)
        share = (station.at - left.at).metres / (right.at - left.at).metres
        gap = left.z.metres + right.z.above(left.z).metres * share - station.z.metres
        if gap > worst:
            worst, at, rests = gap, station, (left, right)
    return LaidStraightedge(Length(start), Length(end), Length(worst), at, rests)


def _rises_over(left: Station, station: Station, right: Station) -> bool:
    """Whether the straight line between two stations passes over one between them, or through it."""
    if not left.at < station.at < right.at:
        return False
    share = (station.at - left.at).metres / (right.at - left.at).metres
    return left.z.metres + right.z.above(left.z).metres * share >= station.z.metres


def _between(line: Profile, at: Fraction) -> Station:
    for station in line:
        if station.at.metres == at:
            return station
    one, other = next(pair for pair in pairwise(line) if pair[0].at.metres < at < pair[1].at.metres)
    share = (at - one.at.metres) / (other.at - one.at).metres
    return Station("", Length(at), one.z + other.z.above(one.z) * share)


_alongs = st.lists(st.fractions(0, 40, max_denominator=48), min_size=2, max_size=40, unique=True)
_ups = st.fractions(-1, 1, max_denominator=640)
_lengths = st.fractions(Fraction(1, 10), 12, max_denominator=60)


@given(_alongs, st.data(), _lengths)
def test_the_straightedge_lies_as_by_looking_at_the_whole_line(
    alongs: list[Fraction], data: st.DataObject, length: Fraction
) -> None:
    line = tuple(Station(f"L{n}", Length(at), Elevation(data.draw(_ups))) for n, at in enumerate(sorted(alongs)))
    found = judge_line(line, Limits(metric=True).with_rules({"straightedge": length}))
    assert found is not None
    for laid in found.laid:
        assert laid == _laid(line, laid.start.metres, laid.end.metres)


# Lines of spots -------------------------------------------------------------------------------------------------


def _lines(site: list[Spot], along: tuple[Fraction, Fraction], outline: Outline | None) -> Iterator[Profile]:
    for x, y in (along, (-along[1], along[0])):
        for row in _rows(site, x, y):
            for part in _parted(sorted(row, key=lambda spot: spot.x.metres * x + spot.y.metres * y), outline):
                stations = _stations(part, x, y)
                if len(stations) > 2:
                    yield stations


def _rows(site: list[Spot], x: Fraction, y: Fraction) -> list[list[Spot]]:
    rows: list[tuple[Fraction, list[Spot]]] = []
    for spot in sorted(site, key=lambda spot: spot.y.metres * x - spot.x.metres * y):
        off = (spot.y.metres * x - spot.x.metres * y) / root(x * x + y * y)
        if rows and off - rows[-1][0] <= IN_LINE:
            rows[-1][1].append(spot)
        else:
            rows.append((off, [spot]))
    return [row for _, row in rows]


def _parted(row: list[Spot], outline: Outline | None) -> list[list[Spot]]:
    parts = [[row[0]]]
    for one, other in pairwise(row):
        middle = (one.x + other.x) * Fraction(1, 2), (one.y + other.y) * Fraction(1, 2)
        if outline is not None and not outline.contains(middle):
            parts.append([])
        parts[-1].append(other)
    return parts


def _stations(part: list[Spot], x: Fraction, y: Fraction) -> Profile:
    found: dict[Fraction, Spot] = {}
    for spot in part:
        found.setdefault((spot.x - part[0].x).metres * x + (spot.y - part[0].y).metres * y, spot)
    long = root(x * x + y * y)
    return tuple(Station(found[dot].name, Length(dot / long), found[dot].z) for dot in sorted(found))


_ways = st.tuples(*[st.fractions(-3, 3, max_denominator=7)] * 2).filter(any)
_places = st.tuples(
    st.integers(-4, 4).flatmap(lambda n: st.sampled_from((Fraction(n), Fraction(n) + IN_LINE))),
    st.integers(-4, 4) | st.fractions(-4, 4, max_denominator=3),
)


@given(
    st.lists(_places, max_size=50), _ways | st.just((Fraction(1), Fraction(0))), st.none() | outlines().map(Outline)
)
def test_rows_and_columns_are_those_found_by_the_plain_rule(
    where: list[tuple[Fraction, int | Fraction]], along: tuple[Fraction, Fraction], outline: Outline | None
) -> None:
    site = spots(*((x, y, 0) for x, y in where))
    assert grid_lines(site, along, outline) == tuple(_lines(site, along, outline))


@given(st.lists(_places, min_size=2, max_size=20, unique=True))
def test_a_named_line_has_the_stations_of_the_plain_rule(where: list[tuple[Fraction, int | Fraction]]) -> None:
    site = spots(*((x, y, 0) for x, y in where))
    x, y = (site[-1].x - site[0].x).metres, (site[-1].y - site[0].y).metres
    assert profile(site) == _stations(site, x, y)
