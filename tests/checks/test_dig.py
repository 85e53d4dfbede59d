"""Over-dig: one sum from what was read, however few points that are, while it is dug and afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.dig import Difference, OverDig, OverDug, fill, past_the_edge
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Triangles, covered
from gradecheck.measure.quantities import ZERO, Elevation, Length, feet, inches, metres
from gradecheck.plan.stone import Stone
from tests.ground.drawing import heights, place, ring, sites

NO_EDGE = past_the_edge(None, ZERO)
WALK = Outline(ring((0, 0), (6, 0), (6, 4), (0, 4)))


def over_dig(
    spots: Sequence[Difference],
    outline: Outline | None = None,
    area: Fraction | None = None,
    past_edge: Length = ZERO,
) -> OverDug:
    """What is told where every spot of an area was read."""
    return OverDig.of([(spot.name, spot.at) for spot in spots], outline, area, past_edge).over_dig_of(spots)


def _read(*given_spots: tuple[int, int, int | Fraction]) -> list[Difference]:
    """Differences in metres at x, y."""
    return [Difference(f"S{n}", metres(z), place(x, y)) for n, (x, y, z) in enumerate(given_spots, 1)]


def _at_corners(*depths: int | Fraction) -> list[Difference]:
    corners = [(0, 0), (6, 0), (6, 4), (0, 4)]
    return _read(*((x, y, depth) for (x, y), depth in zip(corners, depths, strict=True)))


def _without_places(spots: Sequence[Difference]) -> list[Difference]:
    return [replace(spot, at=None) for spot in spots]


def _grid(columns: int, rows: int) -> list[tuple[str, Place]]:
    return [(f"G{x}-{y}", place(2 * x, 2 * y)) for y in range(rows) for x in range(columns)]


@st.composite
def _digs(draw: st.DrawFn) -> list[Difference]:
    columns, rows = draw(st.integers(2, 5)), draw(st.integers(2, 4))
    return [Difference(name, Length(draw(heights)), at) for name, at in _grid(columns, rows)]


# How far too deep ---------------------------------------------------------------------------------------------


def test_an_area_dug_too_deep_everywhere_alike_is_that_deep_times_its_area() -> None:
    found = over_dig(_at_corners(*[Fraction(-1, 50)] * 4), WALK)
    assert found.mean == found.worst == metres(Fraction(1, 50))
    assert found.volume == Fraction(24, 50)
    assert found.area == 24
    assert (found.read, found.over, found.unjoined) == (4, 4, 0)


def test_what_stands_high_fills_no_hole() -> None:
    """Over 6 by 4 from 1 high to 1 low: the wedge that is low is 3 long, 4 wide and half a metre deep on average."""
    found = over_dig(_at_corners(1, -1, -1, 1), WALK)
    assert found.volume == 6
    assert found.mean == metres(Fraction(1, 2))
    assert found.over == 2


def test_the_worst_spot_is_named_and_of_equals_the_first() -> None:
    found = over_dig(_at_corners(0, Fraction(-1, 20), Fraction(-1, 20), Fraction(3, 20)), WALK)
    assert (found.worst, found.where) == (metres(Fraction(1, 20)), "S2")


def test_where_nothing_is_too_deep_no_spot_is_the_worst() -> None:
    found = over_dig(_at_corners(0, 1, 2, 3), WALK)
    assert (found.worst, found.volume, found.over) == (ZERO, Fraction(0), 0)
    assert found.where is None


def test_spots_without_a_place_make_their_mean_times_the_area_and_say_so() -> None:
    found = over_dig(_without_places(_at_corners(Fraction(-1, 10), 0, Fraction(-3, 10), 5)), area=Fraction(20))
    assert found.mean == metres(Fraction(1, 10))
    assert found.volume == 2
    assert found.how == "an equal share of the area each"
    assert found.unjoined == 0


def test_the_outline_gives_the_area_where_only_the_places_are_missing() -> None:
    found = over_dig(_without_places(_at_corners(-1, -1, -1, -1)), WALK, past_edge=metres(1))
    assert found.area == 24
    assert found.volume == 8 * 6


def test_with_no_places_and_no_area_there_is_a_mean_but_no_volume() -> None:
    found = over_dig(_without_places(_at_corners(-1, 0, 0, 0)))
    assert found.mean == metres(Fraction(1, 4))
    assert found.volume is None
    assert found.how == "no area known"


def test_nothing_read_is_nothing_dug_too_deep() -> None:
    found = over_dig([], WALK)
    assert (found.read, found.mean, found.volume) == (0, ZERO, Fraction(0))
    assert found.where is None


def test_two_spots_or_a_row_of_them_count_by_their_mean() -> None:
    found = over_dig(_read((0, 0, -1), (2, 0, -2), (4, 0, 0)), area=Fraction(5))
    assert found.how == "an equal share of the area each"
    assert found.volume == 5


def test_a_spot_without_a_place_beside_others_is_counted_but_not_joined() -> None:
    found = over_dig([*_at_corners(-1, -1, -1, -1), Difference("LOOSE", metres(-9))], WALK)
    assert found.volume == 24
    assert found.unjoined == 1
    assert (found.worst, found.where) == (metres(9), "LOOSE")


@pytest.mark.parametrize("outline", [WALK, None], ids=["by its outline", "by the line round the spots"])
def test_the_dig_past_the_edge_is_added_once_and_told(outline: Outline | None) -> None:
    spots = _at_corners(-1, -1, -1, -1)
    found = over_dig(spots, outline, past_edge=metres(Fraction(1, 2)))
    assert found.area == 24
    assert found.volume == 7 * 5
    (past,) = found.factors
    assert past.value == Fraction(7 * 5, 24)
    assert past.source == "the outline, every edge carried outward"


def test_an_area_alone_cannot_be_carried_past_its_edge_and_that_is_told() -> None:
    found = over_dig(_without_places(_at_corners(-1, -1, -1, -1)), area=Fraction(24), past_edge=metres(1))
    assert found.volume == 24
    assert found.factors[0].source == "not added: the outline is not known"


def test_ground_beside_an_l_counts_only_inside_it() -> None:
    corners = [(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)]
    spots = _read(*((x, y, -1) for x, y in corners))
    assert over_dig(spots, Outline(ring(*corners))).volume == 20


@given(sites())
def test_over_dig_on_one_side_is_high_ground_on_the_other(site: list[Spot]) -> None:
    low, high = (_differences(site, way) for way in (1, -1))
    found, turned = over_dig(low), over_dig(high)
    assert found.volume is not None
    assert turned.volume is not None
    differs = sum(spot.difference.metres for spot in low) / len(low)
    assert turned.mean.metres - found.mean.metres == differs


def _differences(site: Sequence[Spot], way: int = 1) -> list[Difference]:
    return [Difference(spot.name, Length(spot.z.metres * way), spot.at) for spot in site]


@given(sites(), st.fractions(0, 2, max_denominator=32))
def test_digging_deeper_everywhere_adds_that_depth_times_the_area(site: list[Spot], more: Fraction) -> None:
    deep = [replace(spot, difference=spot.difference - metres(3)) for spot in _differences(site)]
    deeper = [replace(spot, difference=spot.difference - metres(more)) for spot in deep]
    one, other = over_dig(deep), over_dig(deeper)
    assert one.volume is not None
    assert other.volume is not None
    assert one.area is not None
    assert other.volume - one.volume == more * one.area


# Whichever way it was cut -----------------------------------------------------------------------------------------


def _cut(columns: Sequence[int], rows: Sequence[int], ways: Sequence[bool]) -> Triangles:
    """A grid of those lines, each of its cells cut one way or the other."""
    wide = len(columns)
    found = tuple(
        Spot(f"G{n}", place(columns[n % wide], rows[n // wide]), Elevation(Fraction(0)))
        for n in range(wide * len(rows))
    )
    corners: list[tuple[int, int, int]] = []
    for cell, way in enumerate(ways):
        a = cell % (wide - 1) + cell // (wide - 1) * wide
        b, c, d = a + 1, a + wide + 1, a + wide
        corners += [(a, b, c), (a, c, d)] if way else [(a, b, d), (b, c, d)]
    return Triangles(found, tuple(corners))


def _whole(triangles: Triangles) -> OverDig:
    return OverDig(tuple(spot.name for spot in triangles.spots), triangles, covered(triangles), NO_EDGE)


@st.composite
def _cut_twice(draw: st.DrawFn) -> tuple[Triangles, Triangles]:
    lines = st.lists(st.integers(-20, 20), min_size=2, max_size=4, unique=True).map(sorted)
    columns, rows = draw(lines), draw(lines)
    cells = (len(columns) - 1) * (len(rows) - 1)
    ways = st.lists(st.booleans(), min_size=cells, max_size=cells)
    return _cut(columns, rows, draw(ways)), _cut(columns, rows, draw(ways))


@given(_cut_twice(), st.data())
def test_a_volume_does_not_hang_on_which_way_each_cell_was_cut(
    both: tuple[Triangles, Triangles], data: st.DataObject
) -> None:
    one, other = (_whole(each) for each in both)
    read = {name: Length(data.draw(heights)) for name in one.spots if data.draw(st.booleans())}
    assert one.over_dug(read) == other.over_dug(read)


@given(st.tuples(*[st.integers(1, 9)] * 4), st.lists(heights, min_size=4, max_size=4))
def test_nor_does_that_of_four_spots_that_make_no_cell(
    reach: tuple[int, int, int, int], depths: list[Fraction]
) -> None:
    """Four spots on two crossing lines, cut along either."""
    east, north, west, south = reach
    at = [(east, 0), (0, north), (-west, 0), (0, -south)]
    found = tuple(Spot(f"S{n}", place(*each), Elevation(Fraction(0))) for n, each in enumerate(at))
    ways: tuple[tuple[tuple[int, int, int], ...], ...] = (((0, 1, 2), (0, 2, 3)), ((0, 1, 3), (1, 2, 3)))
    volumes = {
        _whole(Triangles(found, way)).over_dug({f"S{n}": Length(depth) for n, depth in enumerate(depths)})
        for way in ways
    }
    assert len(volumes) == 1


@pytest.mark.parametrize("quarter", range(4))
def test_one_corner_an_inch_deep_costs_the_same_in_every_place(quarter: int) -> None:
    """A patio of 10 ft by 10 ft: a quarter of 100 ft² by 1/12 ft."""
    corners = [(feet(x), feet(y)) for x, y in ((0, 0), (10, 0), (10, 10), (0, 10))]
    spots = [Difference(f"S{n}", inches(-1) if n == quarter else ZERO, at) for n, at in enumerate(corners)]
    volume = over_dig(spots).volume
    assert volume is not None
    assert volume / Fraction(3048, 10_000) ** 3 == Fraction(100, 4 * 12)


def test_a_hole_beside_a_heap_is_not_netted_away() -> None:
    """By the four-point method, by hand: 24 m² / 4 × 1² / (1 + 3) = 1.5 m³ below, though the mean stands high."""
    assert over_dig(_at_corners(-1, 1, 1, 1)).volume == Fraction(3, 2)


@given(_digs(), st.data())
def test_digging_one_spot_deeper_never_costs_less(dig: list[Difference], data: st.DataObject) -> None:
    spot = data.draw(st.sampled_from(dig))
    deeper = replace(spot, difference=spot.difference - Length(abs(data.draw(heights))))
    live = _live(dig)
    assert live.over_dug(_as_read([*dig, deeper])) >= live.over_dug(_as_read(dig))


# However few were read -----------------------------------------------------------------------------------------


def test_one_point_too_deep_does_not_stand_for_the_whole_area() -> None:
    """A grid of nine over 4 by 4 m, its corner 1 m too deep: a quarter of the cell at it, not 16 m3."""
    dig = OverDig.of(_grid(3, 3))
    found = dig.over_dig_of([Difference("G0-0", metres(-1), place(0, 0))])
    assert (found.read, found.spots) == (1, 9)
    assert found.volume == 1


def test_the_mean_is_over_the_points_read_and_a_high_one_adds_nothing() -> None:
    dig = OverDig.of(_grid(3, 3))
    assert dig.over_dig_of([Difference("G0-0", metres(-1)), Difference("G1-0", metres(3))]).mean == metres(
        Fraction(1, 2)
    )


def test_a_point_without_a_place_stands_for_its_share_of_the_area_alone() -> None:
    dig = OverDig.of([(name, None) for name, _ in _grid(3, 2)], WALK)
    assert dig.over_dig_of([Difference("G0-0", metres(-1))]).volume == Fraction(24, 6)
    assert dig.over_dig_of([Difference("G0-0", metres(-1)), Difference("G1-0", metres(3))]).volume == Fraction(24, 6)


@given(_digs(), st.data())
def test_what_is_told_is_the_running_total_whatever_was_read_so_far(
    dig: list[Difference], data: st.DataObject
) -> None:
    """With every point placed, with some or with none; in any order, and some read again."""
    placed = data.draw(st.sampled_from([dig, _without_places(dig), [*_without_places(dig[:2]), *dig[2:]]]))
    once = data.draw(st.lists(st.sampled_from(placed), unique_by=lambda spot: spot.name))
    live, total, read = _live(placed, WALK, inches(6)), Fraction(0), dict[str, Difference]()
    for spot in [*(replace(spot, difference=metres(-1)) for spot in once[:3]), *once]:
        so_far = {name: each.difference for name, each in read.items()}
        total += live.change(so_far, spot.name, spot.difference)
        read[spot.name] = spot
        assert live.over_dig_of(list(read.values())).volume == total


# While it is dug ----------------------------------------------------------------------------------------------


def _live(spots: Sequence[Difference], outline: Outline | None = None, past_edge: Length = ZERO) -> OverDig:
    return OverDig.of([(spot.name, spot.at) for spot in spots], outline, past_edge=past_edge)


def _as_read(spots: Sequence[Difference]) -> dict[str, Length]:
    return {spot.name: spot.difference for spot in spots}


@given(_digs(), st.randoms(use_true_random=False))
def test_with_a_whole_grid_read_the_running_total_is_the_full_sum(dig: list[Difference], chance: object) -> None:
    read = list(dig)
    chance.shuffle(read)  # type: ignore[attr-defined]
    edge = inches(6)
    assert _live(dig, past_edge=edge).over_dug(_as_read(read)) == over_dig(read, past_edge=edge).volume


@given(sites())
def test_with_all_spots_read_it_is_the_full_sum_on_scattered_ground_too(site: list[Spot]) -> None:
    spots = _differences(site)
    assert _live(spots).over_dug(_as_read(spots)) == over_dig(spots).volume


@given(_digs(), st.data())
def test_reading_spot_after_spot_adds_up_to_the_total_in_any_order(
    dig: list[Difference], data: st.DataObject
) -> None:
    live, total, read = _live(dig, past_edge=inches(6)), Fraction(0), dict[str, Length]()
    for spot in data.draw(st.permutations(dig)):
        total += live.change(read, spot.name, spot.difference)
        read[spot.name] = spot.difference
        assert total == live.over_dug(read)
    again = data.draw(st.sampled_from(dig)).name
    better = live.change(read, again, metres(0))
    assert total + better == live.over_dug({**read, again: metres(0)})


def test_a_spot_read_alone_counts_a_quarter_of_each_cell_at_it() -> None:
    """The middle of four cells of 2 by 2 m; a grid of nine."""
    live = OverDig.of(_grid(3, 3))
    assert live.over_dug({"G1-1": metres(-1)}) == 4
    assert live.over_dug({"G1-1": metres(1)}) == 0


def test_what_is_not_read_yet_and_what_cannot_be_joined_is_left_out() -> None:
    live = OverDig.of(_grid(2, 2))
    assert live.over_dug({}) == 0
    assert live.over_dug({"ELSEWHERE": metres(-5)}) == 0
    assert live.change({}, "ELSEWHERE", metres(-5)) == 0


def test_a_row_of_spots_has_no_running_volume() -> None:
    live = OverDig.of([("A", place(0, 0)), ("B", place(1, 0)), ("C", place(2, 0))], past_edge=inches(6))
    assert live.over_dug({"A": metres(-1), "B": metres(-1), "C": metres(-1)}) == 0


def test_one_more_spot_looks_only_at_the_triangles_around_it() -> None:
    """Of 36 spots read before, only the corner's own and its neighbors are asked for."""
    live = OverDig.of(_grid(6, 6))

    class Unread(dict[str, Length]):
        looked: set[str]

        def __contains__(self, name: object) -> bool:
            self.looked.add(str(name))
            return super().__contains__(name)

    read = Unread({name: metres(-1) for name, _ in _grid(6, 6)})
    read.looked = set()
    live.change(read, "G0-0", metres(-2))
    assert read.looked <= {"G0-0", "G1-0", "G0-1", "G1-1"}


def test_the_result_of_a_dig_can_be_priced_as_it_stands() -> None:
    """4 by 6 m, 2 cm too deep, half a metre past every edge: 0.7 m3 of compacted stone."""
    found = over_dig(_at_corners(*[Fraction(-1, 50)] * 4), WALK, past_edge=metres(Fraction(1, 2)))
    assert found.volume is not None
    priced = fill(found.volume, Stone(density=Fraction(2000), loose=False, price=Fraction(4, 100)))
    assert (priced.volume, priced.mass, priced.money) == (Fraction(7, 10), Fraction(1400), Fraction(56))


def test_high_and_too_deep_do_not_make_up_for_each_other() -> None:
    """A cell of 6 by 4 with 1 m above at two corners and 1 m below at the others: 6 m³ of either by hand."""
    found = over_dig(_read((0, 0, 1), (6, 0, 1), (6, 4, -1), (0, 4, -1)))
    assert (found.above, found.volume) == (6, 6)


@given(sites())
def test_what_stands_high_is_over_dug_on_the_other_side(site: list[Spot]) -> None:
    low, high = (over_dig(_differences(site, way)) for way in (1, -1))
    assert (low.above, low.volume) == (high.volume, high.above)
