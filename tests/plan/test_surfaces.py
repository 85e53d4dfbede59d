"""Surfaces in a plan: any place on one has the height that its formula says, exactly."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import pairwise

import pytest
import yaml
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.area_entries import SurfaceEntry
from gradecheck.plan.model import Plan
from gradecheck.plan.surfaces import SurfaceError, surface_of
from gradecheck.plan.targets import working
from tests.plan.ground import at_mm, height, inch, mm, place, plan_with, point, yard
from tests.strategies import examples

coordinates = st.integers(-20_000, 20_000)
tenths = st.integers(-5_000, 5_000).map(lambda number: Fraction(number, 10))
falls = st.integers(-900, 900).map(lambda number: Fraction(number, 100))
"""Percent, with two decimals."""

SPOTS = """\
points:
  A: {elevation: 0, at: [0, 0]}
  B: {elevation: -2, at: [20 ft, 0]}
  C: {elevation: -5, at: [20 ft, 10 ft]}
  D: {elevation: -3, at: [0, 10 ft]}
  W: {elevation: -9, at: [20 ft, 30 ft]}
"""
"""A, B, C and D lie in one plane; W does not."""

WORKED = [
    # how the surface is written, a place in feet, its height in inches, worked by hand
    ("two falls through a point", "{at: A, fall: {x: 2%, y: 0.5%}}", "[12 ft, 20 ft]", "-4.08"),
    ("one fall, level the other way", "{at: B, fall: {y: 1/4 in/ft}}", "[7 ft, 8 ft]", "-4"),
    ("three points", "{through: [A, B, D]}", "[10 ft, 5 ft]", "-2 1/2"),
    ("high and low edge", "{high edge: [A, B], low edge: [C, D]}", "[10 ft, 10 ft]", "-4"),
    ("off a level edge", "{high edge: [E, F], fall: 1/4 in/ft, toward: D}", "[5 ft, 8 ft]", "-2"),
    ("off a sloping edge, square to it", "{high edge: [A, B], fall: 1/8 in/ft, toward: D}", "[20 ft, 8 ft]", "-3"),
    ("a crown, left of it", "{crown: [E, F], falls: [2%, 1%]}", "[5 ft, 10 ft]", "-2.4"),
    ("a crown, right of it", "{crown: [E, F], falls: [2%, 1%]}", "[5 ft, -10 ft]", "-1.2"),
    ("a valley, left of it", "{valley: [E, F], falls: [2%, 1%]}", "[5 ft, 10 ft]", "2.4"),
    ("a valley, right of it", "{valley: [E, F], falls: [2%, 1%]}", "[5 ft, -10 ft]", "1.2"),
    ("spots joined, on one of them", "{spots: [A, B, C, D, W]}", "[20 ft, 30 ft]", "-9"),
    ("spots joined, between two of them", "{spots: [A, B, D]}", "[10 ft, 5 ft]", "-2 1/2"),
]


def _on(surface: str, at: str) -> Plan:
    edge = "  E: {elevation: 0, at: [1 ft, 0]}\n  F: {elevation: 0, at: [9 ft, 0]}\n"
    return plan_with(f"surface: {surface}\n{SPOTS}{edge}  P: {{at: {at}}}\n", units="in")


@pytest.mark.parametrize(("surface", "at", "wanted"), [pytest.param(*row[1:], id=row[0]) for row in WORKED])
def test_a_place_on_a_surface_has_the_height_worked_by_hand(surface: str, at: str, wanted: str) -> None:
    assert height(_on(surface, at), "P") == inch(wanted)


def test_the_middle_of_a_warped_square_is_the_mean_of_its_corners() -> None:
    square = "surface: {corners: [A, B, C, D]}\npoints:\n" + "".join(
        f"  {name}: {{elevation: {z}, at: [{x}, {y}]}}\n"
        for name, z, x, y in (("A", 0, 0, 0), ("B", -10, 6000, 0), ("C", -50, 6000, 6000), ("D", -20, 0, 6000))
    )
    assert height(plan_with(f"{square}  P: {{at: [3000, 3000]}}\n"), "P") == mm(-20)


def test_the_sum_for_a_point_on_a_plane_names_its_point_and_both_falls() -> None:
    plan = _on("{at: B, fall: {x: 2%, y: 0.5%}}", "[12 ft, 20 ft]")
    lines = working(yard(plan), point(plan, "P"), "finish", Notation.usual(Units.IN))
    assert lines[0] == "P = plane through B −2 + 96 in × 2% − 240 in × 0.5% = −1.28 in"
    assert lines[1:] == ("shown as −1 1/4 in",)


def test_a_surface_may_lean_on_points_written_later_and_on_chains() -> None:
    plan = plan_with(
        """
surface: {through: [DOOR, A, K]}
points:
  P: {at: [1000, 1000]}
  A: {from: DOOR, fall: 2%, over: 2 m, at: [2000, 0]}
""",
        after="court: {points: {K: {from: A, down: 1, riser: 160, at: [0, 2000]}}}",
    )
    assert height(plan, "A") == mm(-40)
    # A lies 40 lower and K 200 lower, each 2 m off: half of either at the middle.
    assert height(plan, "P") == mm(-20 - 100)


def test_a_point_may_lie_on_a_surface_and_another_be_counted_from_it() -> None:
    plan = plan_with(
        """
surface: {at: DOOR, fall: {x: 2%}}
points:
  Q: {from: P, down: 2, riser: 150}
  P: {at: [5000, 0]}
"""
    )
    assert height(plan, "Q") == mm(-100 - 300)


def test_a_surface_with_no_point_on_it_is_there_all_the_same() -> None:
    # On site a point may be put on it.
    area = yard(plan_with("surface: {at: DOOR, fall: {x: 2%}}\npoints: {P: -7}"))
    assert area.surface is not None
    assert area.surface.elevation(place(1000, 0)) == at_mm(-20)


@given(z=tenths, x=falls, y=falls, at=st.tuples(coordinates, coordinates), to=st.tuples(coordinates, coordinates))
@examples(60)
def test_any_target_on_a_plane_is_its_formula_exactly(
    z: Fraction, x: Fraction, y: Fraction, at: tuple[int, int], to: tuple[int, int]
) -> None:
    plan = plan_with(
        f"""
surface: {{at: A, fall: {{x: {float(x)}%, y: {float(y)}%}}}}
points:
  A: {{elevation: {float(z)}, at: [{at[0]}, {at[1]}]}}
  P: {{at: [{to[0]}, {to[1]}]}}
"""
    )
    assert height(plan, "P") == mm(z - x / 100 * (to[0] - at[0]) - y / 100 * (to[1] - at[1]))


# Surfaces by themselves: what a job file means is read once, and asked at many places -------------------------

places = st.tuples(coordinates, coordinates)


def _turned(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _surface(entry: str, **spots: tuple[tuple[int, int], Fraction]) -> AreaSurface:
    written = {name: Spot(name, place(*at), at_mm(z)) for name, (at, z) in spots.items()}
    return surface_of(SurfaceEntry.model_validate(yaml.safe_load(entry)), written.__getitem__)


def _z(surface: AreaSurface, at: tuple[int | Fraction, int | Fraction]) -> Fraction:
    found = surface.elevation(place(*at))
    assert found is not None
    return found.metres * 1000


@given(a=places, b=places, c=places, z=st.tuples(tenths, tenths, tenths), to=places)
def test_a_plane_through_three_points_is_straight_between_them(
    a: tuple[int, int], b: tuple[int, int], c: tuple[int, int], z: tuple[Fraction, Fraction, Fraction],
    to: tuple[int, int],
) -> None:  # fmt: skip
    assume(_turned(a, b, c))
    plane = _surface("{through: [A, B, C]}", A=(a, z[0]), B=(b, z[1]), C=(c, z[2]))
    assert [_z(plane, at) for at in (a, b, c)] == list(z)
    halfway = Fraction(a[0] + to[0], 2), Fraction(a[1] + to[1], 2)
    assert _z(plane, halfway) == (_z(plane, a) + _z(plane, to)) / 2


@given(
    a=places,
    z=st.tuples(tenths, tenths),
    fall=falls.map(abs),
    three_four_five=st.integers(1, 400),
    off=st.integers(1, 9),
)
def test_off_a_high_edge_it_falls_square_to_the_edge_and_along_with_it(
    a: tuple[int, int], z: tuple[Fraction, Fraction], fall: Fraction, three_four_five: int, off: int
) -> None:
    # An edge whose length is whole, so that a place square off it has whole numbers too.
    b = a[0] + 4 * three_four_five, a[1] + 3 * three_four_five
    left = a[0] - 3 * off, a[1] + 4 * off
    surface = _surface(
        f"{{high edge: [A, B], fall: {float(fall)}%, toward: C}}", A=(a, z[0]), B=(b, z[1]), C=(left, z[0])
    )
    assert (_z(surface, a), _z(surface, b)) == z
    assert _z(surface, left) == z[0] - fall / 100 * 5 * off


@given(a=places, b=places, z=st.tuples(tenths, tenths), slopes=st.tuples(falls, falls), to=places)
def test_a_crown_is_the_lower_of_its_two_planes_and_a_valley_the_higher(
    a: tuple[int, int], b: tuple[int, int], z: tuple[Fraction, Fraction], slopes: tuple[Fraction, Fraction],
    to: tuple[int, int],
) -> None:  # fmt: skip
    assume(a != b)
    ends = {"A": (a, z[0]), "B": (b, z[1])}
    for kind, lower_or_higher in (("crown", min), ("valley", max)):
        surface = _surface(f"{{{kind}: [A, B], falls: [{float(slopes[0])}%, {float(slopes[1])}%]}}", **ends)
        assert surface.kind == kind
        both = [plane.elevation(place(*to)) for plane in surface.planes]
        assert surface.elevation(place(*to)) == lower_or_higher(both)


@given(x=st.integers(1, 9000), slopes=st.tuples(st.integers(0, 900), st.integers(0, 900)))
def test_a_crown_falls_to_its_left_and_right_as_written_and_a_valley_rises(x: int, slopes: tuple[int, int]) -> None:
    ends = {"A": ((0, 0), Fraction(0)), "B": ((0, 1000), Fraction(0))}
    left, right = (Fraction(slope, 10_000) for slope in slopes)
    written = f"falls: [{slopes[0] / 100}%, {slopes[1] / 100}%]"
    crown = _surface(f"{{crown: [A, B], {written}}}", **ends)
    valley = _surface(f"{{valley: [A, B], {written}}}", **ends)
    # From A to B is up the page: left of it lies the side of smaller x.
    assert (_z(crown, (-x, 500)), _z(crown, (x, 500))) == (-left * x, -right * x)
    assert (_z(valley, (-x, 500)), _z(valley, (x, 500))) == (left * x, right * x)
    assert _z(crown, (0, 500)) == _z(valley, (0, 500)) == 0


@st.composite
def corners(draw: st.DrawFn) -> list[tuple[tuple[int, int], Fraction]]:
    """Four corners in turn around a piece of ground, each with a height."""
    ring = draw(st.lists(places, min_size=4, max_size=4, unique=True))
    turns = [_turned(ring[i], ring[(i + 1) % 4], ring[(i + 2) % 4]) for i in range(4)]
    assume(all(side > 0 for side in turns) or all(side < 0 for side in turns))
    return [(at, draw(tenths)) for at in ring]


HAIR = Fraction(1, 10**6)
"""Millimetres; where four corners make no parallelogram, a root has to be taken."""


@given(around=corners(), share=st.fractions(0, 1, max_denominator=16))
@settings(suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
def test_a_warped_surface_meets_its_corners_and_is_straight_on_its_sides(
    around: list[tuple[tuple[int, int], Fraction]], share: Fraction
) -> None:
    surface = _surface("{corners: [A, B, C, D]}", **dict(zip("ABCD", around, strict=True)))
    for (at, z), (next_at, next_z) in zip(around, [*around[1:], around[0]], strict=True):
        assert abs(_z(surface, at) - z) <= HAIR
        between = at[0] + (next_at[0] - at[0]) * share, at[1] + (next_at[1] - at[1]) * share
        assert abs(_z(surface, between) - (z + (next_z - z) * share)) <= HAIR


@given(
    z=st.tuples(tenths, tenths, tenths, tenths),
    size=st.tuples(st.integers(1, 9000), st.integers(1, 9000)),
    lean=st.integers(-3000, 3000),
    share=st.tuples(st.fractions(0, 1, max_denominator=16), st.fractions(0, 1, max_denominator=16)),
)
def test_on_a_parallelogram_it_is_exact_everywhere(
    z: tuple[Fraction, ...], size: tuple[int, int], lean: int, share: tuple[Fraction, Fraction]
) -> None:
    (wide, deep), (s, t) = size, share
    around = [((0, 0), z[0]), ((wide, 0), z[1]), ((wide + lean, deep), z[2]), ((lean, deep), z[3])]
    surface = _surface("{corners: [A, B, C, D]}", **dict(zip("ABCD", around, strict=True)))
    at = wide * s + lean * t, deep * t
    formula = z[0] * (1 - s) * (1 - t) + z[1] * s * (1 - t) + z[2] * s * t + z[3] * (1 - s) * t
    assert _z(surface, at) == formula


@st.composite
def trapezoids(draw: st.DrawFn) -> list[tuple[tuple[int, int], Fraction]]:
    """Four corners of which two sides run alike and are not as long as each other, begun at any of them."""
    whole, way = st.integers(-60, 60), st.tuples(st.integers(-40, 40), st.integers(-40, 40))
    (x, y), along, aside = draw(st.tuples(whole, whole)), draw(way), draw(way)
    one, other = draw(st.lists(st.integers(1, 40), min_size=2, max_size=2, unique=True))
    assume(along[0] * aside[1] != along[1] * aside[0])
    back = x + aside[0], y + aside[1]
    ring = [(x, y), (x + along[0] * one, y + along[1] * one)]
    ring += [(back[0] + along[0] * other, back[1] + along[1] * other), back]
    begun = draw(st.integers(0, 3))
    return [(at, draw(tenths)) for at in [*ring[begun:], *ring[:begun]]]


@given(around=trapezoids(), s=st.fractions(0, 1, max_denominator=60), t=st.fractions(0, 1, max_denominator=60))
def test_on_a_trapezoid_it_is_exact_everywhere(
    around: list[tuple[tuple[int, int], Fraction]], s: Fraction, t: Fraction
) -> None:
    surface = _surface("{corners: [A, B, C, D]}", **dict(zip("ABCD", around, strict=True)))
    shares = (1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t
    x, y = (sum(share * at[axis] for share, (at, _) in zip(shares, around, strict=True)) for axis in (0, 1))
    assert _z(surface, (x, y)) == sum(share * z for share, (_, z) in zip(shares, around, strict=True))


@given(around=trapezoids(), at=st.tuples(st.integers(-4000, 4000), st.integers(-4000, 4000)))
def test_beside_a_trapezoid_it_has_no_height_and_within_it_has_one(
    around: list[tuple[tuple[int, int], Fraction]], at: tuple[int, int]
) -> None:
    surface = _surface("{corners: [A, B, C, D]}", **dict(zip("ABCD", around, strict=True)))
    sides = [_turned(one, other, at) for (one, _), (other, _) in pairwise([*around, around[0]])]
    within = all(side >= 0 for side in sides) or all(side <= 0 for side in sides)
    assert (surface.elevation(place(*at)) is not None) is within


def test_level_with_where_its_sides_meet_lies_off_the_surface() -> None:
    around = [((0, 0), Fraction(0)), ((10, 0), Fraction(0)), ((8, 5), Fraction(0)), ((2, 5), Fraction(1))]
    beside: list[tuple[int | Fraction, int | Fraction]]
    beside = [(0, 5), (10, 5), (5, 12), (5, Fraction(25, 3)), (0, Fraction(25, 3)), (-1, -1), (20, 20)]
    for begun in range(4):
        corners = dict(zip("ABCD", [*around[begun:], *around[:begun]], strict=True))
        surface = _surface("{corners: [A, B, C, D]}", **corners)
        for at in beside:
            assert surface.elevation(place(*at)) is None, (begun, at)


@given(spots=st.lists(st.tuples(places, tenths), min_size=3, max_size=12, unique_by=lambda spot: spot[0]))
def test_joined_spots_keep_their_heights_and_bound_the_rest(
    spots: list[tuple[tuple[int, int], Fraction]],
) -> None:
    named = {f"S{number}": spot for number, spot in enumerate(spots)}
    (ax, ay), *others = (at for at, _ in spots)
    first = next((x - ax, y - ay) for x, y in others)
    if all(first[0] * (y - ay) == first[1] * (x - ax) for x, y in others):
        with pytest.raises(SurfaceError):  # in one line
            _surface(f"{{spots: [{', '.join(named)}]}}", **named)
        return
    surface = _surface(f"{{spots: [{', '.join(named)}]}}", **named)
    for at, z in spots:
        assert _z(surface, at) == z
    middle = Fraction(sum(at[0] for at, _ in spots), len(spots)), Fraction(sum(at[1] for at, _ in spots), len(spots))
    heights = [z for _, z in spots]
    assert min(heights) <= _z(surface, middle) <= max(heights)


def test_beyond_its_corners_and_spots_a_surface_has_no_height() -> None:
    around = {name: (at, Fraction(0)) for name, at in zip("ABCD", ((0, 0), (9, 0), (9, 9), (0, 9)), strict=True)}
    for entry in ("{corners: [A, B, C, D]}", "{spots: [A, B, C, D]}"):
        surface = _surface(entry, **around)
        assert surface.elevation(place(9, 9)) is not None
        assert surface.elevation(place(10, 5)) is None


# Chains -------------------------------------------------------------------------------------------------------


@st.composite
def steps(draw: st.DrawFn) -> list[tuple[str, Fraction]]:
    """How a point lies against the one before it, as a job file writes it, and how much higher it is."""
    found = []
    for _ in range(draw(st.integers(1, 12))):
        run, percent = draw(st.integers(1, 9000)), draw(st.integers(0, 2000))
        count, riser = draw(st.integers(1, 20)), draw(st.integers(1, 300))
        change = Fraction(percent, 10_000) * run
        found.append(
            draw(
                st.sampled_from(
                    [
                        (f"fall: {percent / 100}%, over: {run}", -change),
                        (f"rise: {percent / 100}%, over: {run}", change),
                        (f"down: {count}, riser: {riser}", Fraction(-count * riser)),
                        (f"up: {count}, riser: {riser}", Fraction(count * riser)),
                        (
                            f"fall: {percent / 100}%, over: {run}, up: {count}, riser: {riser}",
                            count * riser - change,
                        ),
                    ]
                )
            )
        )
    return found


@given(start=tenths, chain=steps(), order=st.randoms(use_true_random=False))
@examples(60)
def test_a_chain_of_falls_and_risers_is_its_sum_in_any_order(
    start: Fraction, chain: list[tuple[str, Fraction]], order: random.Random
) -> None:
    lines = [f"  P0: {float(start)}"]
    lines += [f"  P{number}: {{from: P{number - 1}, {how}}}" for number, (how, _) in enumerate(chain, 1)]
    order.shuffle(lines)
    plan = plan_with("points:\n" + "\n".join(lines))
    assert height(plan, f"P{len(chain)}") == mm(start + sum(change for _, change in chain))


@given(
    chain=steps(), letters=st.lists(st.sampled_from("BCEGHJKLMNQRSTUVWXYZ"), unique=True, min_size=13, max_size=13)
)
@examples(40)
def test_renaming_points_changes_no_number(chain: list[tuple[str, Fraction]], letters: list[str]) -> None:
    def heights(called: list[str]) -> list[Length]:
        lines = [f"  {called[0]}: {{elevation: 10, at: [0, 0]}}"]
        lines += [f"  {called[i]}: {{from: {called[i - 1]}, {how}}}" for i, (how, _) in enumerate(chain, 1)]
        surface = f"surface: {{at: {called[0]}, fall: {{x: 2%, y: 1%}}}}\n"
        grid = "grid: {every: 900, name: A, inside: [[0, 0], [2000, 0], [2000, 2000], [0, 2000]]}\n"
        return [
            each.finish.height for each in yard(plan_with(surface + grid + "points:\n" + "\n".join(lines))).points
        ]

    assert heights(letters) == heights([f"P{number}" for number in range(13)])
