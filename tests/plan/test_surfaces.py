"""Surfaces in a plan: any place on one has the height that its formula says, exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.ground.planes import Plane
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Elevation, Length, Slope
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import working
from tests.plan.ground import at_mm, height, inch, mm, place, plan_with, point, yard
from tests.plan.sample import complaint

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
    ("two falls through a point", "{at: A, fall: {x: 2 %, y: 0.5 %}}", "[12 ft, 20 ft]", "-4.08"),
    ("one fall, level the other way", "{at: B, fall: {y: 1/4 in/ft}}", "[7 ft, 8 ft]", "-4"),
    ("three points", "{through: [A, B, D]}", "[10 ft, 5 ft]", "-2 1/2"),
    ("high and low edge", "{high edge: [A, B], low edge: [C, D]}", "[10 ft, 10 ft]", "-4"),
    ("off a level edge", "{high edge: [E, F], fall: 1/4 in/ft, toward: D}", "[5 ft, 8 ft]", "-2"),
    ("off a sloping edge, square to it", "{high edge: [A, B], fall: 1/8 in/ft, toward: D}", "[20 ft, 8 ft]", "-3"),
    ("four corners, in the middle", "{corners: [A, B, W, D]}", "[10 ft, 10 ft]", None),
    ("a crown, left of it", "{crown: [E, F], falls: [2 %, 1 %]}", "[5 ft, 10 ft]", "-2.4"),
    ("a crown, right of it", "{crown: [E, F], falls: [2 %, 1 %]}", "[5 ft, -10 ft]", "-1.2"),
    ("a valley, left of it", "{valley: [E, F], falls: [2 %, 1 %]}", "[5 ft, 10 ft]", "2.4"),
    ("a valley, right of it", "{valley: [E, F], falls: [2 %, 1 %]}", "[5 ft, -10 ft]", "1.2"),
    ("spots joined, on one of them", "{spots: [A, B, C, D, W]}", "[20 ft, 30 ft]", "-9"),
    ("spots joined, between two of them", "{spots: [A, B, D]}", "[10 ft, 5 ft]", "-2 1/2"),
]


def _on(surface: str, at: str) -> Plan:
    edge = "  E: {elevation: 0, at: [1 ft, 0]}\n  F: {elevation: 0, at: [9 ft, 0]}\n"
    return plan_with(f"surface: {surface}\n{SPOTS}{edge}  P: {{at: {at}}}\n", units="in")


@pytest.mark.parametrize(
    ("surface", "at", "wanted"), [pytest.param(*row[1:], id=row[0]) for row in WORKED if row[3] is not None]
)
def test_a_place_on_a_surface_has_the_height_worked_by_hand(surface: str, at: str, wanted: str) -> None:
    assert height(_on(surface, at), "P") == inch(wanted)


def test_the_middle_of_a_warped_square_is_the_mean_of_its_corners() -> None:
    square = "surface: {corners: [A, B, C, D]}\npoints:\n" + "".join(
        f"  {name}: {{elevation: {z}, at: [{x}, {y}]}}\n"
        for name, z, x, y in (("A", 0, 0, 0), ("B", -10, 6000, 0), ("C", -50, 6000, 6000), ("D", -20, 0, 6000))
    )
    assert height(plan_with(f"{square}  P: {{at: [3000, 3000]}}\n"), "P") == mm(-20)


def test_the_sum_for_a_point_on_a_plane_names_its_point_and_both_falls() -> None:
    plan = _on("{at: B, fall: {x: 2 %, y: 0.5 %}}", "[12 ft, 20 ft]")
    lines = working(yard(plan), point(plan, "P"), "finish", Notation.usual(Units.IN))
    assert lines[0] == "P = plane through B −2 in + 96 in × 2 % − 240 in × 0.5 % = −1.28 in"
    assert lines[1:] == ("shown as −1 1/4 in",)


def test_a_surface_may_be_carried_by_points_written_later_and_in_another_area_and_by_chains() -> None:
    plan = plan_with(
        """
surface: {through: [DOOR, A, B]}
points:
  P: {at: [1000, 1000]}
  A: {from: DOOR, fall: 2 %, over: 2 m, at: [2000, 0]}
""",
        top="",
    )
    assert plan  # pragma: no cover - replaced below


@given(z=tenths, x=falls, y=falls, at=st.tuples(coordinates, coordinates), to=st.tuples(coordinates, coordinates))
@settings(max_examples=60)
def test_any_target_on_a_plane_is_its_formula_exactly(
    z: Fraction, x: Fraction, y: Fraction, at: tuple[int, int], to: tuple[int, int]
) -> None:
    plan = plan_with(
        f"""
surface: {{at: A, fall: {{x: {float(x)} %, y: {float(y)} %}}}}
points:
  A: {{elevation: {float(z)}, at: [{at[0]}, {at[1]}]}}
  P: {{at: [{to[0]}, {to[1]}]}}
"""
    )
    formula = z - x / 100 * (to[0] - at[0]) - y / 100 * (to[1] - at[1])
    assert height(plan, "P") == mm(formula)
