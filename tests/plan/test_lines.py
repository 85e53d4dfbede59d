"""Lines with arcs: their lengths, places at a station, offsets; worked out with pencil and by other programs."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import Length, metres
from gradecheck.plan.lines import Arc, Line, LineError, arc_by_radius, arc_through, circle
from tests.plan.ground import place

MICROMETRE = 1e-6


def at(x: float, y: float) -> Place:
    """A place in metres, to a hundredth of a millimetre."""
    return metres(Fraction(round(x * 10**5), 10**5)), metres(Fraction(round(y * 10**5), 10**5))


def near(found: Place, x: float, y: float, within: float = 1e-4) -> bool:
    """Whether the place is that one, in metres, to a tenth of a millimetre."""
    return abs(float(found[0].metres) - x) <= within and abs(float(found[1].metres) - y) <= within


def test_an_arc_through_three_places_has_their_circle() -> None:
    """(0, 0) over (10, 4) to (20, 0): center (10, -10.5), radius 14.5, turning right, 87.2056 degrees, 22.0694 long.

    Worked out by hand from the bisectors; the length also by a drawing library.
    """
    arc = arc_through(at(0, 0), at(10, 4), at(20, 0))
    assert (arc.x, arc.y) == pytest.approx((10, -10.5))
    assert arc.radius == pytest.approx(14.5)
    assert not arc.turns_left
    assert arc.length == pytest.approx(22.0694, abs=5e-5)
    assert near(arc.place(arc.length / 2), 10, 4)


def test_an_arc_by_its_radius_is_the_shorter_one_to_the_side_it_turns() -> None:
    """(0, 0) to (12, 5), radius 10, to the left: center (3.0772, 9.5148), 81.0832 degrees, 14.1517 long."""
    arc = arc_by_radius(at(0, 0), at(12, 5), metres(10), turns_left=True)
    assert (arc.x, arc.y) == pytest.approx((3.0772, 9.5148), abs=5e-5)
    assert arc.length == pytest.approx(14.1517, abs=5e-5)
    other = arc_by_radius(at(0, 0), at(12, 5), metres(10), turns_left=False)
    assert other.length == pytest.approx(14.1517, abs=5e-5)
    # The same chord's other side: the center mirrored in it.
    assert (other.x, other.y) == pytest.approx((12 - 3.0772, 5 - 9.5148), abs=5e-5)


def _bend() -> Line:
    """A line from (0, 0) to (10, 0), then a quarter turn to the left of radius 8 m."""
    return Line([at(0, 0), at(10, 0), arc_by_radius(at(10, 0), at(18, 8), metres(8), turns_left=True)])


def test_a_station_is_counted_along_line_and_arc() -> None:
    """22.5664 long; station 15 at (14.6808, 1.5123); 2 right of it (15.8510, -0.1096): checked by two programs."""
    line = _bend()
    assert line.length == pytest.approx(22.5664, abs=5e-5)
    assert near(line.place(15.0), 14.6808, 1.5123)
    assert near(line.place(15.0, right=2.0), 15.8510, -0.1096)
    assert near(line.place(4.0, right=2.0), 4, -2)
    assert near(line.place(4.0, right=-2.0), 4, 2)
    assert near(line.place(22.5664, right=1.0), 19, 8)


@given(st.floats(0, 22.5), st.floats(-3, 3))
def test_a_place_on_the_arc_is_its_radius_from_the_center(station: float, right: float) -> None:
    x, y = (float(each.metres) for each in _bend().place(station, right=right))
    if station <= 10:
        assert (x, y) == pytest.approx((station, -right), abs=MICROMETRE)
    else:
        assert hypot(x - 10, y - 8) == pytest.approx(8 + right, abs=2 * MICROMETRE)


@given(st.floats(0, 22.5))
def test_places_are_rounded_once_to_a_thousandth_of_a_millimetre(station: float) -> None:
    for each in _bend().place(station):
        assert (each.metres * 10**6).denominator == 1


def test_a_line_without_arcs_is_its_places() -> None:
    line = Line([place(0, 0), place(3, 4), place(3, 10)])
    assert list(line) == [place(0, 0), place(3, 4), place(3, 10)]
    assert line.corners == [place(0, 0), place(3, 4), place(3, 10)]


def test_an_arc_is_laid_out_in_chords_within_a_millimetre() -> None:
    line = _bend()
    assert (line[0], line[1], line[-1]) == (at(0, 0), at(10, 0), at(18, 8))
    assert line.corners == [at(0, 0), at(10, 0), at(18, 8)]
    for one, other in pairwise(line[1:]):
        x, y = (float((a + b).metres) / 2 for a, b in zip(one, other, strict=True))
        assert 8 - 0.001 <= hypot(x - 10, y - 8) <= 8 + MICROMETRE


def test_two_edges_of_a_curved_walk_have_as_many_chords() -> None:
    outer = Line([at(10, 0), arc_by_radius(at(10, 0), at(0, 10), metres(10), turns_left=True)])
    inner = Line([at(8, 0), arc_by_radius(at(8, 0), at(0, 8), metres(8), turns_left=True)])
    assert len(outer) == len(inner)


def test_a_circle_is_closed_and_as_long_as_its_radius_says() -> None:
    ring = circle(at(5, 5), metres(2))
    assert ring.length == pytest.approx(12.56637, abs=1e-4)
    assert all(abs(hypot(float(x.metres) - 5, float(y.metres) - 5) - 2) < 2e-6 for x, y in ring)
    assert len(set(ring)) == len(ring)
    assert ring.corners == [at(7, 5), at(5, 7), at(3, 5), at(5, 3)]


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (lambda: arc_through(at(0, 0), at(1, 1), at(2, 2)), "These three lie in one line; write the end alone."),
        (lambda: arc_through(at(0, 0), at(1, 1), at(0, 0)), "An arc ends at another place than it begins."),
        (
            lambda: arc_by_radius(at(0, 0), at(10, 0), metres(4), turns_left=True),
            "This radius is too small to reach the end; it is half the way there at least.",
        ),
    ],
)
def test_what_is_no_arc_is_refused(made: object, says: str) -> None:
    with pytest.raises(LineError) as refused:
        made()  # type: ignore[operator]
    assert str(refused.value) == says


def test_an_offset_past_the_center_of_an_arc_is_refused() -> None:
    with pytest.raises(LineError, match=r"^The line turns tighter than this offset; write a smaller one\.$"):
        _bend().place(15.0, right=-8.0)


def test_stations_by_step_begin_anew_at_each_corner_and_end_at_the_end() -> None:
    line = _bend()
    made = line.every(Length(Fraction(4)))
    # 0, 4, 8 on the straight; 10, 14, 18, 22 on the arc; the end.
    assert [round(station, 4) for station in made] == [0, 4, 8, 10, 14, 18, 22, 22.5664]


def test_a_corner_is_offset_along_both_ways() -> None:
    """A right angle to the left, 2 m to the right of it: 2 m out in both directions."""
    line = Line([at(0, 0), at(10, 0), at(10, 10)])
    assert near(line.place(10.0, right=2.0), 12, -2)
    assert near(line.place(10.0, right=-2.0), 8, 2)


def test_arcs_of_any_chord_keep_both_ends() -> None:
    for x, y, radius in ((3, 9, 6), (1, 0, 0.5), (-4, 2, 50)):
        for left in (True, False):
            arc = arc_by_radius(at(0, 0), at(x, y), metres(Fraction(radius)), turns_left=left)
            assert isinstance(arc, Arc)
            assert near(arc.place(0), 0, 0)
            assert near(arc.place(arc.length), x, y)


RADII = st.integers(1, 400_000).map(lambda tenths: Length(Fraction(tenths, 10_000)))


@given(RADII, st.integers(-999, 999), st.integers(-999, 999), st.floats(0, 1))
def test_a_round_outline_holds_every_place_on_its_circle(radius: Length, x: int, y: int, share: float) -> None:
    whole = circle(at(x / 100, y / 100), radius)
    outline = Outline(tuple(circle(at(x / 100, y / 100), radius).ring()))
    assert outline.contains(whole.place(float(whole.length) * share))


@given(RADII, st.integers(1, 5_000), st.floats(0, 1))
def test_the_outline_of_a_bend_holds_every_place_on_both_its_arcs(inner: Length, wide: int, share: float) -> None:
    """A quarter ring about (0, 0): the outer arc bulges out of it, the inner one into it."""
    outer = inner + Length(Fraction(wide, 1000))
    zero = Length(Fraction(0))
    far = arc_by_radius((outer, zero), (zero, outer), outer, turns_left=True)
    near_by = arc_by_radius((zero, inner), (inner, zero), inner, turns_left=False)
    outline = Outline(tuple(Line([(inner, zero), (outer, zero), far, (zero, inner), near_by]).ring()))
    for arc in (far, near_by):
        assert outline.contains(arc.place(arc.length * share))
