"""Falls of a bent walk: each pair of spots is asked on the one leg that both lie on, along it or across it, once."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from gradecheck.checks.falls import Ground
from gradecheck.checks.slope import RouteFalls, between_legs, judge_travel
from gradecheck.checks.ways import Travel, on_one_leg
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import shape_through
from gradecheck.measure.quantities import ZERO, Elevation, metres
from gradecheck.plan.limits import Limits
from tests.strategies import examples

Dot = tuple[int, int]
LIMITS = Limits(True, {}, codes=("us-accessible",))
L_SHAPE = ((0, 0), (20, 0), (20, 20), (15, 20), (15, 5), (0, 5))
U_SHAPE = ((0, 0), (20, 0), (20, 20), (15, 20), (15, 5), (5, 5), (5, 20), (0, 20))
WALKS = {
    "L by its edges": (L_SHAPE, (((0, 0), (20, 0), (20, 20)), ((0, 5), (15, 5), (15, 20)))),
    "L, one edge read back": (L_SHAPE, (((20, 20), (20, 0), (0, 0)), ((0, 5), (15, 5), (15, 20)))),
    "L along its middle": (L_SHAPE, (((0, 2), (18, 2), (18, 20)),)),
    "U by its edges": (U_SHAPE, (((0, 20), (0, 0), (20, 0), (20, 20)), ((5, 20), (5, 5), (15, 5), (15, 20)))),
    "U along its middle": (U_SHAPE, (((2, 20), (2, 2), (18, 2), (18, 20)),)),
}
"""Outlines with the lines people walk along, all running along x or y."""


def _place(dot: Dot) -> Place:
    return metres(dot[0]), metres(dot[1])


def _inside(ring: tuple[Dot, ...], x: Fraction, y: Fraction) -> bool:
    """Whether it lies in the outline or on it: the walks are put together of upright and flat strips."""
    flat = 0 <= x <= 20 and 0 <= y <= 5
    upright = (15 <= x <= 20 or (ring is U_SHAPE and 0 <= x <= 5)) and 0 <= y <= 20
    return flat or upright


def _legs(lines: tuple[tuple[Dot, ...], ...], dot: Dot) -> set[str]:
    """Which way the stretches run that lie nearest to the spot: along x, along y, or both where they are as near."""
    found: list[tuple[int, str]] = []
    for line in lines:
        for (ax, ay), (bx, by) in pairwise(line):
            x = min(max(dot[0], min(ax, bx)), max(ax, bx))
            y = min(max(dot[1], min(ay, by)), max(ay, by))
            found.append(((dot[0] - x) ** 2 + (dot[1] - y) ** 2, "x" if ay == by else "y"))
    least = min(far for far, _ in found)
    return {way for far, way in found if far == least}


def _ways(lines: tuple[tuple[Dot, ...], ...], one: Dot, other: Dot) -> set[str]:
    """How a line between the two goes: along a leg of both, across it, both of different legs, or neither."""
    x, y = abs(other[0] - one[0]), abs(other[1] - one[1])
    found = set()
    for leg in _legs(lines, one) & _legs(lines, other):
        along, aside = (x, y) if leg == "x" else (y, x)
        if 4 * aside <= along:
            found.add("running fall")
        if 4 * along <= aside:
            found.add("cross fall")
    return found


def _checked(
    walk: str, dots: list[Dot], *, built: bool
) -> tuple[RouteFalls, tuple[tuple[str, ...], tuple[str, ...]]]:
    ring, lines = WALKS[walk]
    outline = Outline(tuple(map(_place, ring)))
    spots = tuple(Spot(f"{x},{y}", _place((x, y)), Elevation(Fraction(x + y, -100))) for x, y in dots)
    shape = shape_through(list(spots), outline) if built else None
    off = tuple(ZERO for _ in spots) if built else None
    ground, travel = Ground(spots, shape, outline, off), Travel(tuple(tuple(map(_place, line)) for line in lines))
    found = judge_travel(ground, travel, LIMITS)
    return found, between_legs(ground, travel, found)


def _dot(name: str) -> Dot:
    x, y = map(int, name.split(","))
    return x, y


@st.composite
def walked(draw: st.DrawFn) -> tuple[str, list[Dot]]:
    """A walk and spots on it, as many about its inner corner as elsewhere."""
    walk = draw(st.sampled_from(sorted(WALKS)))
    ring = WALKS[walk][0]
    all_over = [(x, y) for x in range(21) for y in range(21) if _inside(ring, Fraction(x), Fraction(y))]
    corner = [(x, y) for x, y in all_over if x >= 11 and y <= 9]
    dots = draw(st.sets(st.sampled_from(all_over) | st.sampled_from(corner), min_size=4, max_size=24))
    return walk, sorted(dots)


@examples(150)
@given(walked())
def test_a_pair_is_asked_along_or_across_its_leg_never_both(
    drawn: tuple[str, list[Dot]],
) -> None:
    walk, dots = drawn
    lines = WALKS[walk][1]
    found, _ = _checked(walk, dots, built=False)
    for falls, way in ((found.running, "running fall"), (found.cross, "cross fall")):
        pairs = [(_dot(each.fall.start), _dot(each.fall.end)) for each in falls.judged]
        assert len({frozenset(pair) for pair in pairs}) == len(pairs), "none twice"
        for one, other in pairs:
            assert _ways(lines, one, other) == {way}


@examples(150)
@given(walked())
def test_no_spot_with_a_neighbor_on_its_leg_is_left_out_unsaid(
    drawn: tuple[str, list[Dot]],
) -> None:
    walk, dots = drawn
    ring, lines = WALKS[walk]
    found, told = _checked(walk, dots, built=False)
    judged = {
        frozenset((each.fall.start, each.fall.end)) for falls in (found.running, found.cross) for each in falls.judged
    }
    for falls, way, between in ((found.running, "running fall", told[0]), (found.cross, "cross fall", told[1])):
        asked = {name for each in falls.judged for name in (each.fall.start, each.fall.end)}
        for one in dots:
            beside = [
                other
                for other in dots
                if other != one
                and _ways(lines, one, other) == {way}
                and _inside(ring, Fraction(one[0] + other[0], 2), Fraction(one[1] + other[1], 2))
            ]
            assert bool(beside) == (f"{one[0]},{one[1]}" in asked)
        assert not set(between) & asked
        event(f"{way}: {'some' if between else 'none'} told as between two legs")
    assert judged or len(dots) < 20


@given(st.sets(st.integers(0, 20), min_size=3, max_size=10), st.booleans())
def test_on_a_straight_walk_every_stretch_from_spot_to_spot_is_asked(stations: set[int], built: bool) -> None:
    # However uneven the stretches are: a step between two spots that each have a nearer one behind is no secret.
    xs = sorted(stations)
    dots = [(x, y) for x in xs for y in (0, 5)]
    spots = tuple(Spot(f"{x},{y}", _place((x, y)), Elevation(Fraction(0))) for x, y in dots)
    shape = shape_through(list(spots), None) if built else None
    travel = Travel((tuple(map(_place, ((0, 0), (20, 0)))),))
    ground = Ground(spots, shape, None, tuple(ZERO for _ in spots) if built else None)
    found = judge_travel(ground, travel, LIMITS)
    asked = {frozenset((each.fall.start, each.fall.end)) for each in found.running.judged}
    assert {frozenset((f"{one},{y}", f"{other},{y}")) for one, other in pairwise(xs) for y in (0, 5)} <= asked


@examples(60)
@given(walked())
def test_what_was_built_is_asked_between_the_same_spots(drawn: tuple[str, list[Dot]]) -> None:
    walk, dots = drawn
    plain, _ = _checked(walk, dots, built=False)
    built, _ = _checked(walk, dots, built=True)
    for one, other in ((plain.running, built.running), (plain.cross, built.cross)):
        pairs = [{frozenset((each.fall.start, each.fall.end)) for each in falls.judged} for falls in (one, other)]
        if pairs[0] and len(dots) > 3:  # else the plane through all of them is told
            assert pairs[0] == pairs[1]


def test_of_a_bent_walk_only_the_outer_corner_is_between_legs() -> None:
    dots = [(x, y) for x in (0, 5, 10, 15, 20) for y in (0, 5)] + [(x, y) for x in (15, 20) for y in (10, 15, 20)]
    found, told = _checked("L by its edges", dots, built=True)
    across = {frozenset((each.fall.start, each.fall.end)) for each in found.cross.judged}
    assert {frozenset(("15,0", "15,5")), frozenset(("15,5", "20,5"))} <= across, (
        "one for each leg at the inner corner"
    )
    assert told == ((), ("20,0",))


@pytest.mark.parametrize(
    ("one", "other", "is_one"),
    [
        ((4, 0), (4, 1), True),  # a quarter askew, as much as may be
        ((4, 0), (4, -1), True),
        ((4, 0), (-4, 1), True),  # either way along it
        ((400, 0), (400, 101), False),
        ((1, 0), (0, 1), False),
    ],
)
def test_stretches_a_little_askew_are_one_leg(one: Dot, other: Dot, is_one: bool) -> None:
    assert on_one_leg(one, other) is is_one
    assert on_one_leg(other, one) is is_one
