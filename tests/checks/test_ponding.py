"""Low spots hold water: how deep and how far, whatever the whole surface falls; ground that drains holds none."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from random import Random

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from gradecheck.checks.ponding import Pond, Ponding, _outer_edge, _parted, _without_slivers, ponds
from gradecheck.checks.slope import judge_plane
from gradecheck.ground.outline import Outline, turn
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import Corners, Triangles, triangulate
from gradecheck.ground.volumes import split
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, metres, millimetres
from gradecheck.plan.limits import Limits
from tests.ground.drawing import place, polygon, ring, sites, spots

LIMITS = Limits()


def _grid(*rows_mm: Iterable[int | Fraction]) -> list[Spot]:
    """Spots a metre apart, rows upward in y, heights in millimetres, named by column and row."""
    return [
        Spot(f"{x}-{y}", place(x, y), Elevation(Fraction(height) / 1000))
        for y, row in enumerate(rows_mm)
        for x, height in enumerate(row)
    ]


def _bowl(lowest: int | Fraction, rim: int | Fraction = 0) -> Triangles:
    """Four corners of a square of two metres and a spot in its middle."""
    high = Fraction(rim) / 1000
    return triangulate(spots((0, 0, high), (2, 0, high), (2, 2, high), (0, 2, high), (1, 1, Fraction(lowest) / 1000)))


def _only(found: Ponding) -> Pond:
    (pond,) = found.ponds
    return pond


# One pond -----------------------------------------------------------------------------------------------------


def test_a_bowl_holds_an_upturned_pyramid_of_water_up_to_its_rim() -> None:
    pond = _only(ponds(_bowl(-30), LIMITS))
    assert (pond.level, pond.depth, pond.deepest) == (Elevation(Fraction(0)), millimetres(30), "S5")
    assert pond.area == 4
    assert pond.volume == 4 * Fraction(30, 1000) / 3
    assert pond.spots == ("S5",)
    assert pond.lips == ("S1", "S2", "S3", "S4")


@pytest.mark.parametrize(
    ("inside_mm", "deep_mm"),
    [(Fraction(0), None), (Fraction(9, 10), None), (Fraction(1), 30), (Fraction(5), 30)],
)
def test_a_spot_at_the_edge_but_for_rounding_runs_off_over_it(inside_mm: Fraction, deep_mm: int | None) -> None:
    """A low spot on a side of ten metres, that far inside it: below 1 mm there is nothing to hold water back."""
    site = triangulate(
        spots((0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0), (5, inside_mm / 1000, Fraction(-30, 1000)))
    )
    assert [pond.depth for pond in ponds(site, LIMITS).ponds] == ([] if deep_mm is None else [millimetres(deep_mm)])


def test_a_rim_cut_on_one_side_lets_the_water_down_to_the_cut() -> None:
    cut = triangulate(spots((0, 0, 0), (2, 0, 0), (2, 2, -1), (0, 2, 0), (1, 1, -3)))
    pond = _only(ponds(cut, LIMITS))
    assert (pond.level, pond.depth, pond.lips) == (Elevation(Fraction(-1)), metres(2), ("S3",))
    # Two thirds of the way up the three dry edges, all the way up the one to the cut.
    beside_the_cut, others = 2 * Fraction(2, 3), 2 * Fraction(2, 3) ** 2
    assert pond.area == beside_the_cut + others
    assert pond.volume == pond.area * 2 / 3


def test_a_dome_holds_no_water() -> None:
    assert ponds(_bowl(30), LIMITS) == Ponding((), ())


@pytest.mark.parametrize(("thousandths", "verdict"), [(2000, "passes"), (4000, "can't tell"), (4001, "fault")])
def test_a_puddle_over_its_2_mm_by_twice_the_doubt_can_not_be_judged(thousandths: int, verdict: str) -> None:
    pond = _only(ponds(_bowl(-Fraction(thousandths, 1000)), LIMITS, doubt=millimetres(1)))
    assert pond.verdict == verdict


@pytest.mark.parametrize(
    ("depth", "verdict"), [(Fraction(1), "passes"), (Fraction(2), "passes"), (Fraction(2001, 1000), "fault")]
)
def test_a_puddle_exactly_as_deep_as_allowed_passes(depth: Fraction, verdict: str) -> None:
    pond = _only(ponds(_bowl(-depth), LIMITS))
    assert (pond.depth, pond.verdict, pond.limit) == (millimetres(depth), verdict, LIMITS["ponding at most"])


def test_a_limit_of_the_plan_is_the_one_that_is_named() -> None:
    pond = _only(ponds(_bowl(-30), LIMITS.with_rules({"ponding at most": Fraction(30, 1000)})))
    assert (pond.verdict, pond.limit.source) == ("passes", "the plan")


def test_the_overall_slope_hides_no_puddle() -> None:
    """Two and a half percent over the whole, and yet a spot that holds water a centimetre deep."""
    dip = {(2, 2): 35}
    site = _grid(*([-25 * x - dip.get((x, y), 0) for x in range(5)] for y in range(5)))
    plane = judge_plane(site, LIMITS)
    assert plane is not None
    assert plane.verdict == "passes"
    pond = _only(ponds(triangulate(site), LIMITS))
    assert (pond.deepest, pond.depth, pond.verdict) == ("2-2", millimetres(10), "fault")
    assert "3-2" in pond.lips


# More than one ------------------------------------------------------------------------------------------------


def _valley(*heights_mm: int) -> Triangles:
    """A trough along x between two banks a metre off on either side."""
    high = [500] * len(heights_mm)
    return triangulate(_grid(high, heights_mm, high))


def test_ponds_that_lie_apart_are_told_apart_deepest_first() -> None:
    found = ponds(_valley(0, -10, 0, -30, 0), LIMITS).ponds
    assert [(pond.deepest, pond.depth) for pond in found] == [("3-1", millimetres(30)), ("1-1", millimetres(10))]


def test_two_low_spots_below_one_lip_are_one_pond() -> None:
    pond = _only(ponds(_valley(0, -30, -10, -20, 0), LIMITS))
    assert (pond.spots, pond.deepest, pond.depth) == (("1-1", "2-1", "3-1"), "1-1", millimetres(30))


def test_a_pond_that_runs_over_into_another_keeps_its_own_level() -> None:
    found = ponds(_valley(0, -20, -10, -40, -25), LIMITS).ponds
    assert [(pond.deepest, pond.level.height, pond.lips) for pond in found] == [
        ("3-1", -millimetres(25), ("4-1",)),
        ("1-1", -millimetres(10), ("2-1",)),
    ]


# Where water may go -------------------------------------------------------------------------------------------


def test_a_drain_at_the_lowest_spot_leaves_nothing_standing() -> None:
    assert ponds(_bowl(-30), LIMITS, drains=[place(1, 1)]).ponds == ()


def test_a_drain_set_too_high_leaves_the_water_below_it() -> None:
    pond = _only(ponds(_bowl(-30), LIMITS, drains=[place(Fraction(3, 2), 1)]))
    assert (pond.level.height, pond.depth, pond.lips) == (-millimetres(15), millimetres(15), ("drain 1",))
    assert pond.area == 1
    assert pond.volume == Fraction(15, 1000) / 3


def test_a_drain_on_the_side_between_two_triangles_parts_both() -> None:
    pond = _only(ponds(_bowl(-30), LIMITS, drains=[place(Fraction(3, 2), Fraction(3, 2))]))
    assert (pond.depth, pond.area) == (millimetres(15), Fraction(1))


def test_of_several_drains_the_lowest_counts_wherever_they_lie() -> None:
    """One on a side between two triangles, one at the edge, one inside a triangle and lower than the others."""
    drains = [place(Fraction(3, 2), Fraction(3, 2)), place(0, 1), place(1, Fraction(3, 4))]
    for chosen in (drains, drains[::-1]):
        pond = _only(ponds(_bowl(-30), LIMITS, drains=chosen))
        assert pond.depth == millimetres(Fraction(15, 2))
        assert pond.area == Fraction(1, 4)


def test_a_drain_that_lies_off_the_surface_swallows_nothing() -> None:
    assert ponds(_bowl(-30), LIMITS, drains=[place(9, 9)]) == ponds(_bowl(-30), LIMITS)


def test_against_a_wall_water_stands_where_the_open_edge_would_let_it_go() -> None:
    site = triangulate(_grid([10, -12, 10], [20, 0, 20], [20, -5, 20]))
    assert ponds(site, LIMITS).ponds == ()
    pond = _only(ponds(site, LIMITS, kept_in=["0-0", "1-0", "2-0"]))
    assert (pond.spots, pond.depth, pond.lips) == (("1-0",), millimetres(12), ("1-1",))


def test_shut_in_all_round_there_is_no_level_and_the_spots_are_named() -> None:
    found = ponds(_bowl(-30), LIMITS, kept_in=["S1", "S2", "S3", "S4"])
    assert found == Ponding((), ("S1", "S2", "S3", "S4", "S5"))


def test_the_edge_of_a_planter_left_out_keeps_water_in() -> None:
    """The low spots lie round the hole; its edge is no way out, the outer edge is."""
    low = {(2, 2): -30, (3, 2): -30, (2, 3): -30, (3, 3): -30}
    site = _grid(*([low.get((x, y), 0) for x in range(6)] for y in range(6)))
    outer, hole = ring((0, 0), (5, 0), (5, 5), (0, 5)), ring((2, 2), (3, 2), (3, 3), (2, 3))
    pond = _only(ponds(triangulate(site, Outline(outer, (hole,))), LIMITS))
    assert (pond.depth, set(pond.spots)) == (millimetres(30), {"2-2", "3-2", "2-3", "3-3"})


def test_a_spot_a_hair_inside_the_edge_by_rounding_is_of_the_edge() -> None:
    hair = Fraction(1, 10**6)
    site = triangulate(spots((0, 0, 0), (1, hair, -1), (2, 0, 0), (2, 2, 0), (0, 2, 0)))
    assert any({0, 1, 2} == set(corners) for corners in site.corners)
    assert ponds(site, LIMITS).ponds == ()


@pytest.mark.parametrize("given_spots", [[], spots((0, 0, 0)), spots((0, 0, 0), (1, 0, -1), (2, 0, 0))])
def test_spots_that_make_no_surface_hold_no_water(given_spots: list[Spot]) -> None:
    assert ponds(triangulate(given_spots), LIMITS) == Ponding((), ())


# Along a line -------------------------------------------------------------------------------------------------


# Whatever the surface -----------------------------------------------------------------------------------------

_many = sites(least=5, most=16)
_drains = st.lists(st.tuples(st.integers(-8, 8), st.integers(-8, 8)), max_size=2)


@given(_many, st.tuples(st.fractions(-1, 1, max_denominator=400), st.fractions(-1, 1, max_denominator=400)))
def test_on_a_plane_water_never_stands(site: list[Spot], falls: tuple[Fraction, Fraction]) -> None:
    plane = Plane(place(0, 0), Elevation(Fraction(0)), FallXY(Slope(falls[0]), Slope(falls[1])))
    on_it = [Spot(spot.name, spot.at, plane.elevation(spot.at)) for spot in site]
    assert ponds(triangulate(on_it), LIMITS).ponds == ()


def _flooded_by_hand(surface: Triangles) -> dict[int, Fraction]:
    """All under endless water, which is let off over the outer edge until nothing more runs."""
    z = {corner: surface.spots[corner].z.metres for corners in surface.corners for corner in corners}
    whole = shapely.union_all(
        [polygon([surface.spots[corner].at for corner in corners]) for corners in surface.corners]
    )
    shore = whole.boundary if whole.geom_type == "Polygon" and not whole.interiors else whole.exterior
    top = max(z.values()) + 1
    water = {}
    for corner, height in z.items():
        at = shapely.Point(*(float(part.metres) for part in surface.spots[corner].at))
        water[corner] = height if shore.distance(at) < 1e-9 else top
    pairs = {(a, b) for corners in surface.corners for a in corners for b in corners if a != b}
    running = True
    while running:
        running = False
        for a, b in pairs:
            if (lower := max(z[a], water[b])) < water[a]:
                water[a], running = lower, True
    return water


@given(_many)
def test_the_depth_is_what_is_left_when_endless_water_has_run_off(site: list[Spot]) -> None:
    surface = triangulate(site)
    water = _flooded_by_hand(surface)
    left = {
        surface.spots[corner].name: height - surface.spots[corner].z.metres
        for corner, height in water.items()
        if height > surface.spots[corner].z.metres
    }
    found = ponds(surface, LIMITS)
    heights = {spot.name: spot.z for spot in surface.spots}
    assert {name: pond.level.above(heights[name]).metres for pond in found.ponds for name in pond.spots} == left
    assert all(pond.depth.metres == max(left[name] for name in pond.spots) for pond in found.ponds)
    assert found.shut_in == ()


@given(_many)
def test_area_and_volume_are_those_shapely_cuts_at_the_shore(site: list[Spot]) -> None:
    surface = triangulate(site)
    for pond in ponds(surface, LIMITS).ponds:
        area, volume = 0.0, 0.0
        for corners, plane in zip(surface.corners, surface.planes, strict=True):
            if {surface.spots[corner].name for corner in corners} & set(pond.spots):
                piece = _under_water(surface, corners, plane, pond.level)
                middle = piece.centroid
                area += piece.area
                if piece.area:
                    ground = plane.elevation(place(Fraction(middle.x), Fraction(middle.y)))
                    volume += piece.area * float(pond.level.above(ground).metres)
        assert pond.area is not None
        assert pond.volume is not None
        assert float(pond.area) == pytest.approx(area, abs=1e-6)
        assert float(pond.volume) == pytest.approx(volume, abs=1e-6)


def _under_water(surface: Triangles, corners: Corners, plane: Plane, level: Elevation) -> shapely.Geometry:
    """The part of a triangle in plan where its plane lies below the level."""
    triangle = polygon([surface.spots[corner].at for corner in corners])
    down_x, down_y = (float(fall.ratio) for fall in plane.falls)
    steep = (down_x**2 + down_y**2) ** 0.5
    above = float(plane.z.above(level).metres)
    if not steep:
        return triangle if above < 0 else shapely.Polygon()
    # From the plane's own place, so far down its fall lies the shore; beyond it is all water.
    far, ux, uy = 1e4, down_x / steep, down_y / steep
    x, y = float(plane.at[0].metres) + ux * above / steep, float(plane.at[1].metres) + uy * above / steep
    near = [(x - uy * far, y + ux * far), (x + uy * far, y - ux * far)]
    return triangle.intersection(
        shapely.Polygon([*near, *((px + ux * far, py + uy * far) for px, py in reversed(near))])
    )


def _finer(surface: Triangles) -> Triangles:
    """The same surface with every triangle cut in four at the middles of its sides."""
    found, corners = list(surface.spots), []
    middles: dict[frozenset[int], int] = {}
    for a, b, c in surface.corners:
        cut = []
        for one, other in ((a, b), (b, c), (c, a)):
            side = frozenset((one, other))
            if side not in middles:
                middles[side] = len(found)
                p, q, half = found[one], found[other], Fraction(1, 2)
                at = ((p.x + q.x) * half, (p.y + q.y) * half)
                found.append(Spot(f"m{len(found)}", at, p.z + q.z.above(p.z) * half))
            cut.append(middles[side])
        ab, bc, ca = cut
        corners += [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return Triangles(tuple(found), tuple(corners))


def _measures(found: Ponding) -> list[tuple[object, ...]]:
    return sorted((pond.level, pond.depth, pond.area, pond.volume) for pond in found.ponds)


@given(_many, _drains)
def test_more_spots_on_the_same_surface_change_no_pond(site: list[Spot], drains: list[tuple[int, int]]) -> None:
    """So no way that water could take across a triangle lies lower than the ways along its sides."""
    surface, swallow = triangulate(site), [place(x, y) for x, y in drains]
    assume(surface.corners)
    assert _measures(ponds(_finer(surface), LIMITS, swallow)) == _measures(ponds(surface, LIMITS, swallow))


_TURNS: dict[str, Callable[[Length, Length], tuple[Length, Length]]] = {
    "a quarter": lambda x, y: (-y, x),
    "half": lambda x, y: (-x, -y),
    "by the 3-4-5": lambda x, y: ((x * 3 - y * 4) * Fraction(1, 5), (x * 4 + y * 3) * Fraction(1, 5)),
}


@pytest.mark.parametrize("turn", _TURNS.values(), ids=_TURNS)
@given(site=_many, lift=st.fractions(-9, 9, max_denominator=64))
def test_turning_and_lifting_the_surface_changes_no_pond(
    turn: Callable[[Length, Length], tuple[Length, Length]], site: list[Spot], lift: Fraction
) -> None:
    surface = triangulate(site)
    moved = [Spot(spot.name, turn(*spot.at), spot.z + metres(lift)) for spot in surface.spots]
    before = ponds(surface, LIMITS)
    after = ponds(Triangles(tuple(moved), surface.corners), LIMITS)
    assert [pond.level.above(Elevation(lift)) for pond in after.ponds] == [pond.level.height for pond in before.ponds]
    assert [(p.depth, p.area, p.volume, p.spots, p.lips) for p in after.ponds] == [
        (p.depth, p.area, p.volume, p.spots, p.lips) for p in before.ponds
    ]


@given(_many, st.randoms(use_true_random=False))
def test_names_and_the_order_of_the_spots_change_no_pond(site: list[Spot], chance: Random) -> None:
    surface = triangulate(site)
    order = list(range(len(surface.spots)))
    chance.shuffle(order)
    renamed = tuple(Spot(f"R{old}", surface.spots[old].at, surface.spots[old].z) for old in order)
    new = {old: index for index, old in enumerate(order)}
    corners = tuple((new[a], new[b], new[c]) for a, b, c in surface.corners)
    before, after = ponds(surface, LIMITS), ponds(Triangles(renamed, corners), LIMITS)
    assert _measures(after) == _measures(before)
    old_names = {f"R{old}": surface.spots[old].name for old in order}
    assert {frozenset(old_names[name] for name in pond.spots) for pond in after.ponds} == {
        frozenset(pond.spots) for pond in before.ponds
    }


@given(_many, _drains)
def test_another_drain_never_makes_water_stand_higher(site: list[Spot], drains: list[tuple[int, int]]) -> None:
    surface = triangulate(site)
    volumes = [
        sum((pond.volume or 0 for pond in ponds(surface, LIMITS, [place(x, y) for x, y in drains[:count]]).ponds), 0)
        for count in range(len(drains) + 1)
    ]
    assert volumes == sorted(volumes, reverse=True)


# As by looking at everything ------------------------------------------------------------------------------------


@given(sites(least=8, most=40), st.lists(st.tuples(st.integers(-8, 8), st.integers(-8, 8)), max_size=5))
def test_ponds_are_those_found_by_flooding_all_the_ground_anew(
    site: list[Spot], drains: list[tuple[int, int]]
) -> None:
    """Drains one after the other, each into all the ground as it then lies; water let down until nothing moves."""
    limits, places = Limits(), [place(*drain) for drain in drains]
    surface, swallow = _drained(_without_slivers(triangulate(site)), drains)
    joined: dict[int, set[int]] = {}
    for corners in surface.corners:
        for corner in corners:
            joined.setdefault(corner, set()).update(set(corners) - {corner})
    ground = [spot.z.metres for spot in surface.spots]
    outlets = (_outer_edge(surface) | swallow) & joined.keys()
    water = {index: ground[index] if index in outlets else Fraction(10**6) for index in joined}
    moved = True
    while moved:
        let_down = {i: max(ground[i], min(water[i], *(water[j] for j in joined[i]))) for i in joined}
        moved, water = let_down != water, let_down
    found = ponds(triangulate(site), limits, places)
    wet = {surface.spots[index].name: water[index] for index in joined if water[index] > ground[index]}
    assert {name: pond.level.metres for pond in found.ponds for name in pond.spots} == wet
    for pond in found.ponds:
        under = [corners for corners in surface.corners if {surface.spots[c].name for c in corners} & {*pond.spots}]
        depths = [[pond.level.metres - ground[corner] for corner in corners] for corners in under]
        sizes = [turn(*(surface.spots[corner].at for corner in corners)) / 2 for corners in under]
        assert pond.volume == sum(
            split((one[0], one[1], one[2]), size).above for one, size in zip(depths, sizes, strict=True)
        )


def _drained(surface: Triangles, drains: list[tuple[int, int]]) -> tuple[Triangles, set[int]]:
    swallow = set[int]()
    for number, drain in enumerate(drains, 1):
        at = place(*drain)
        if (z := surface.elevation(at)) is None:
            continue
        known = [index for index, spot in enumerate(surface.spots) if spot.at == at]
        swallow.add(known[0] if known else len(surface.spots))
        if not known:
            grown = (*surface.spots, Spot(f"drain {number}", at, z))
            corners = [part for each in surface.corners for part in _parted(grown, each, len(surface.spots))]
            surface = Triangles(grown, tuple(corners))
    return surface, swallow
