"""Which corner to move, and where: a shoved corner comes back, found with a compass rather than by the code."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import combinations
from math import cos, dist, hypot, pi, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.layout import Corners, Pair, Tape, rectangle
from gradecheck.checks.squaring import as_taped, squaring
from gradecheck.measure.quantities import Length, feet, inches
from gradecheck.plan.limits import Limits

LIMITS = Limits()
MARK = inches(Fraction(1, 16))
QUARTER = inches(Fraction(1, 4))
COURT = rectangle(feet(20), feet(12))
"""A at the left below, B 240 in to the right of it, C above B by 144 in, D above A."""
WHERE = {"A": (0.0, 0.0), "B": (240.0, 0.0), "C": (240.0, 144.0), "D": (0.0, 144.0)}


def tapes(places: Mapping[str, tuple[float, float]]) -> dict[Pair, Length]:
    """What a tape shows between pins at these places in inches, to a millionth of one."""
    return {
        frozenset(pair): inches(Fraction(round(dist(places[pair[0]], places[pair[1]]) * 10**6), 10**6))
        for pair in combinations(places, 2)
    }


def quarter(_: Tape) -> Length:
    return QUARTER


def on_two_tapes(one: tuple[float, float], other: tuple[float, float], r: float, s: float) -> tuple[float, float]:
    """Where tapes of r from one pin and s from the other cross, to the left of the way from one to the other."""
    far = dist(one, other)
    along = (r * r - s * s + far * far) / (2 * far)
    out = sqrt(r * r - along * along)
    ux, uy = (other[0] - one[0]) / far, (other[1] - one[1]) / far
    return one[0] + along * ux - out * uy, one[1] + along * uy + out * ux


def test_a_corner_half_an_inch_too_far_out_goes_back_along_its_side() -> None:
    found = squaring(COURT, tapes({**WHERE, "C": (240.0, 144.5)}), LIMITS, quarter, MARK)
    assert found is not None
    (move,) = found
    ((end, by),) = move.along
    assert (move.corner, end) == ("C", "B")
    assert float(by.metres) == pytest.approx(0.5 * 0.0254, abs=1e-6)


def test_what_is_too_short_goes_away_from_its_neighbor() -> None:
    found = squaring(COURT, tapes({**WHERE, "D": (0.375, 144.0)}), LIMITS, quarter, MARK)
    assert found is not None
    assert [(move.corner, move.along[0][0]) for move in found] == [("D", "C")]
    assert found[0].along[0][1].metres < 0, "away from C"


shoves = st.tuples(st.floats(0.5, 6), st.floats(0, 2 * pi))


@given(st.sampled_from("ABCD"), shoves)
def test_the_shoved_corner_is_found_and_goes_where_two_tapes_cross(name: str, shove: tuple[float, float]) -> None:
    far, way = shove
    x, y = WHERE[name]
    there = x + far * cos(way), y + far * sin(way)
    found = squaring(COURT, tapes({**WHERE, name: there}), LIMITS, quarter, MARK)
    assert found is not None
    assert [move.corner for move in found] == [name]
    # Put back with wanted tapes from the two neighbors: they cross at the wanted corner.
    names = "ABCD"
    after, before = names[(names.index(name) + 1) % 4], names[names.index(name) - 1]
    r, s = dist(WHERE[after], WHERE[name]), dist(WHERE[before], WHERE[name])
    wanted = on_two_tapes(WHERE[after], WHERE[before], r, s)
    goes = [0.0, 0.0]
    for end, by in found[0].along:
        ex, ey = WHERE[end][0] - there[0], WHERE[end][1] - there[1]
        share = float(by.metres) / 0.0254 / hypot(ex, ey)
        goes = [goes[0] + share * ex, goes[1] + share * ey]
    # Of a way that runs along one line as far as the tape can tell, what lies across it is left out.
    blur = 1 / 32 + 1e-3
    assert hypot(there[0] + goes[0] - wanted[0], there[1] + goes[1] - wanted[1]) < blur * 2


def test_a_court_that_leans_needs_two_corners_and_its_first_side_stays() -> None:
    leant = {**WHERE, "C": (242.0, 144.0), "D": (2.0, 144.0)}
    found = squaring(COURT, tapes(leant), LIMITS, quarter, MARK)
    assert found is not None
    assert [move.corner for move in found] == ["C", "D"]
    pins = dict(leant)
    for move in found:
        x, y = pins[move.corner]
        for end, by in move.along:
            far = dist(leant[end], leant[move.corner])
            share = float(by.metres) / 0.0254 / far
            x += share * (leant[end][0] - leant[move.corner][0])
            y += share * (leant[end][1] - leant[move.corner][1])
        pins[move.corner] = x, y
    assert dist(pins["A"], pins["C"]) == pytest.approx(hypot(240, 144), abs=0.1)
    assert dist(pins["B"], pins["D"]) == pytest.approx(hypot(240, 144), abs=0.1)


def test_what_is_right_is_left_alone_what_is_untaped_not_guessed() -> None:
    right = tapes(WHERE)
    assert squaring(COURT, right, LIMITS, quarter, MARK) == ()
    del right[frozenset("AC")]
    assert squaring(COURT, right, LIMITS, quarter, MARK) is None


def test_tapes_that_contradict_one_another_move_nothing() -> None:
    wrong = tapes(WHERE)
    wrong[frozenset("AC")] += inches(3)
    assert squaring(COURT, wrong, LIMITS, quarter, MARK) is None


def test_a_triangle_is_put_right_by_one_corner() -> None:
    corner: Corners = [("P", (feet(0), feet(0))), ("Q", (feet(9), feet(0))), ("R", (feet(0), feet(12)))]
    pins = {"P": (0.0, 0.0), "Q": (108.0, 0.0), "R": (1.0, 144.0)}
    found = squaring(corner, tapes(pins), LIMITS, quarter, MARK)
    assert found is not None
    assert len(found) == 1


def test_the_pins_stand_as_taped() -> None:
    pins = {**WHERE, "C": (241.5, 143.25), "B": (239.0, -0.5)}
    taped = tapes(pins)
    found = as_taped(COURT, taped)
    assert found is not None
    for pair, length in taped.items():
        one, other = (found[name] for name in pair)
        assert dist(one, other) == pytest.approx(float(length.metres), abs=1e-7)
    # Not mirrored: still against the clock.
    (ax, ay), (bx, by), (cx, cy) = (found[name] for name in "ABC")
    assert (bx - ax) * (cy - ay) > (cx - ax) * (by - ay)
