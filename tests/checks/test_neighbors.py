"""Neighbors are those that are found by looking at every two spots, however few the quick way looks at."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.neighbors import neighbors
from gradecheck.checks.ways import Along, AwayFrom, Vector, Way
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import Elevation, Length, feet
from tests.ground.drawing import outlines, place, ring, spots
from tests.strategies import examples

Pairs = list[tuple[int, int, Length]]


# The plain definition, written out ------------------------------------------------------------------------------


def _by_every_pair(site: list[Spot], way: Way, outline: Outline | None) -> Pairs:
    chosen: dict[tuple[int, int], Length] = {}
    pairs = {
        (start, end): _run(site[start], site[end], way)
        for start in range(len(site))
        for end in range(len(site))
        if _joined(site[start], site[end], way)
        and (outline is None or outline.contains(_middle(site[start].at, site[end].at)))
    }
    for fixed in (0, 1):
        for index in range(len(site)):
            own = [pair for pair in pairs if pair[fixed] == index]
            least = min((_square(site, pair) for pair in own), default=None)
            chosen |= {pair: pairs[pair] for pair in own if _square(site, pair) == least}
    return [(start, end, run) for (start, end), run in sorted(chosen.items()) if run]


def _joined(start: Spot, end: Spot, way: Way) -> bool:
    x, y = (end.x - start.x).metres, (end.y - start.y).metres
    outward = _headings(start.at, way)
    return any(_ahead(x, y, heading) for heading in _headings(end.at, way)) and (
        not outward or any(x * u + y * v > 0 for u, v in outward)
    )


def _ahead(x: Fraction, y: Fraction, heading: Vector) -> bool:
    along, across = x * heading[0] + y * heading[1], x * heading[1] - y * heading[0]
    return along > 0 and 4 * abs(across) <= along  # no more than one aside in four ahead


def _run(start: Spot, end: Spot, way: Way) -> Length:
    x, y = (end.x - start.x).metres, (end.y - start.y).metres
    ahead = [(u, v) for u, v in _headings(end.at, way) if _ahead(x, y, (u, v))]
    return Length(root(max((x * u + y * v) ** 2 / (u * u + v * v) for u, v in ahead)))


def _headings(at: Place, way: Way) -> list[Vector]:
    """From the nearest place of all stretches of all walls."""
    if isinstance(way, Along):
        return [(way.x, way.y)]
    x, y = at[0].metres, at[1].metres
    offs = {off for line in (way.line, *way.others) for off in _offs(line, x, y)}
    least = min(u * u + v * v for u, v in offs)
    return [(u, v) for u, v in offs if u * u + v * v == least] if least else []


def _offs(line: tuple[Place, ...], x: Fraction, y: Fraction) -> list[Vector]:
    corners = [(corner[0].metres, corner[1].metres) for corner in line]
    found = []
    for (ax, ay), (bx, by) in zip(corners, corners[1:] or corners, strict=False):
        u, v = bx - ax, by - ay
        share = ((x - ax) * u + (y - ay) * v) / (u * u + v * v) if u or v else Fraction(0)
        share = min(max(share, Fraction(0)), Fraction(1))
        found.append((x - ax - share * u, y - ay - share * v))
    return found


def _square(site: list[Spot], pair: tuple[int, int]) -> Fraction:
    one, other = site[pair[0]], site[pair[1]]
    return (other.x - one.x).metres ** 2 + (other.y - one.y).metres ** 2


def _middle(one: Place, other: Place) -> Place:
    return (one[0] + other[0]) * Fraction(1, 2), (one[1] + other[1]) * Fraction(1, 2)


# What is drawn --------------------------------------------------------------------------------------------------

_askew = st.fractions(-9, 9, max_denominator=12)
_cornered = st.tuples(st.integers(-9, 9), st.integers(-9, 9))
_crowds = st.one_of(
    st.lists(_cornered, min_size=2, max_size=60),  # many as near as one another, some at one place
    st.lists(st.tuples(_askew, _askew), min_size=2, max_size=40),
    st.lists(st.tuples(st.integers(-60, 60), st.sampled_from((0, 2))), min_size=2, max_size=50),  # a long border
)
_walls = st.lists(st.lists(_cornered, min_size=1, max_size=12), min_size=1, max_size=3)
_ways = st.one_of(
    st.tuples(_askew, _askew).filter(any).map(lambda way: Along(*way)),
    _walls.map(lambda walls: AwayFrom(ring(*walls[0]), tuple(ring(*wall) for wall in walls[1:]))),
)


@examples(300)
@given(_crowds, _ways, st.none() | outlines().map(Outline))
def test_they_are_those_found_by_looking_at_every_two_spots(
    where: list[tuple[int | Fraction, int | Fraction]], way: Way, outline: Outline | None
) -> None:
    site = spots(*((x, y, 0) for x, y in where))
    assert list(neighbors(site, way, outline)) == _by_every_pair(site, way, outline)


@given(st.lists(_cornered, min_size=2, max_size=20), _ways)
def test_far_from_the_plans_corner_they_are_the_same(where: list[tuple[int, int]], way: Way) -> None:
    """As far out as coordinates of a whole country reach, in feet that no float holds."""
    off = feet(Fraction(10**7, 3))
    far = [Spot(str(n), (feet(x) + off, feet(y) + off), Elevation(Fraction(0))) for n, (x, y) in enumerate(where)]
    assert list(neighbors(far, way, None)) == _by_every_pair(far, way, None)


@given(_walls, st.tuples(_askew, _askew), st.integers(0, 12))
def test_the_way_off_a_wall_is_from_the_nearest_place_of_all_its_stretches(
    walls: list[list[tuple[int, int]]], at: tuple[Fraction, Fraction], within: int
) -> None:
    house = AwayFrom(ring(*walls[0]), tuple(ring(*wall) for wall in walls[1:]))
    assert list(house.headings(place(*at))) == sorted(_headings(place(*at), house))
    squares = [u * u + v * v for line in (house.line, *house.others) for u, v in _offs(line, *at)]
    assert house.is_near(place(*at), Length(Fraction(within))) == (min(squares) < within**2)
