"""Curved walks and round patios in a plan: their points, elevations, outlines, and nothing found in them."""

from __future__ import annotations

from fractions import Fraction
from math import hypot
from pathlib import Path

import pytest

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import feet
from gradecheck.plan.changes import changes
from gradecheck.plan.load import load_plan
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan

ROUND = """\
job: Round Yard
units: ft
benchmarks: {DOOR: {elevation: 0, at: [10 ft, 0]}}
tolerances: {finish: 0.02 ft}
layout: {patio: {outline of: patio}, walk: {outline of: walk}}
areas:
  patio:
    outline: {center: [10 ft, 12 ft], radius: 10 ft}
    surface: {at: P1, fall: {y: 2%}}
    points: {P1: {from: DOOR, fall: 2%, over: 2 ft, at: [10 ft, 2 ft]}}
    grid: {every: 4 ft, name: P}
  walk:
    outline: [[40 ft, 0], [44 ft, 0], [44 ft, 10 ft], {to: [54 ft, 20 ft], radius: 10 ft, turn: right},
              [54 ft, 24 ft], {to: [40 ft, 10 ft], through: [44.100505 ft, 19.899495 ft]}]
    surface: {at: W1, fall: {y: 2%}}
    points: {W1: {from: DOOR, fall: 2%, over: 2 ft, at: [42 ft, 2 ft]}}
    edges:
      L: {every: 4 ft, along: [[40 ft, 0], [40 ft, 10 ft], {to: [54 ft, 24 ft], radius: 14 ft, turn: right}]}
      R: {stations: [0, 5 ft, 21 ft], right: 4 ft,
          along: [[40 ft, 0], [40 ft, 10 ft], {to: [54 ft, 24 ft], radius: 14 ft, turn: right}]}
"""


@pytest.fixture(scope="module")
def plan() -> Plan:
    """A round patio and a walk that bends a quarter turn, from four feet wide."""
    return read_plan(ROUND, "job.yaml")


def where(plan: Plan, name: str) -> tuple[float, float]:
    """The point's place in feet."""
    at = plan.areas["walk"].point(name).at
    assert at is not None
    return float(at[0].metres / feet(1).metres), float(at[1].metres / feet(1).metres)


def test_nothing_is_found_in_it(plan: Plan) -> None:
    assert findings(plan) == []


def test_stations_run_on_along_the_arc(plan: Plan) -> None:
    """10 ft straight, then 11 ft on the arc of 14 ft: 11/14 of a radian, so sin 0.7071 and cos 0.7072 of it."""
    assert where(plan, "L1") == (40, 0)
    assert where(plan, "L3") == (40, 8)
    assert where(plan, "L4") == (40, 10)
    # Four feet on: 4/14 of a radian about (54, 10).
    assert where(plan, "L5") == pytest.approx((40.567552, 13.945801), abs=2e-5)
    assert where(plan, "R1") == (44, 0)
    assert where(plan, "R2") == (44, 5)
    assert where(plan, "R3") == pytest.approx((46.931168, 17.073303), abs=2e-5)
    x, y = where(plan, "R3")
    assert hypot(x - 54, y - 10) == pytest.approx(10, abs=1e-5)


def test_every_point_has_the_elevation_of_the_plane_at_its_place(plan: Plan) -> None:
    """2% down along y from 0 at y = 0, as DOOR has it."""
    for point in plan.areas["walk"].points:
        assert point.at is not None
        assert point.finish.metres == point.at[1].metres * Fraction(-2, 100)


def test_the_outline_holds_every_point_on_its_arcs(plan: Plan) -> None:
    for area in plan.areas.values():
        assert area.outline is not None
        assert all(point.at and area.outline.contains(point.at) for point in area.points)


def test_an_arc_is_taped_at_its_ends(plan: Plan) -> None:
    corners = [at for _, at in plan.layout["walk"].corners]
    assert corners == [(feet(x), feet(y)) for x, y in ((40, 0), (44, 0), (44, 10), (54, 20), (54, 24), (40, 10))]
    assert len(plan.layout["patio"].corners) == 4


def test_another_radius_is_a_change_told_in_one_line(plan: Plan) -> None:
    """The circle has as many chords as before; one corner is told, and how many more."""
    other = read_plan(ROUND.replace("radius: 10 ft}\n    surface", "radius: 9.5 ft}\n    surface"), "job.yaml")
    [told] = [each for each in changes(plan, other).others if "outline" in each.what]
    assert told.what == "patio outline corner no. 1 and 243 more"


def test_another_shape_is_told_by_how_many_corners_it_has(plan: Plan) -> None:
    square = "outline: [[0, 2 ft], [20 ft, 2 ft], [20 ft, 22 ft], [0, 22 ft]]"
    other = read_plan(ROUND.replace("outline: {center: [10 ft, 12 ft], radius: 10 ft}", square), "job.yaml")
    [told] = [each for each in changes(plan, other).others if "outline" in each.what]
    assert told.was.startswith("244 of them, from [")
    assert told.now == "[[0 ft, 2 ft], [20 ft, 2 ft], [20 ft, 22 ft], [0 ft, 22 ft]]"
    assert len(told.was) < 120


def test_a_straight_line_with_stations_is_exact() -> None:
    straight = "      S: {stations: [1/16 in], along: [[40 ft, 0], [40 ft, 10 ft]]}\n"
    text = ROUND.replace("      L: {every", f"{straight}      L: {{every")
    plan = read_plan(text, "job.yaml")
    at = plan.areas["walk"].point("S1").at
    assert at == (feet(40), feet(Fraction(1, 192)))


def test_a_curved_plan_is_kept_and_read_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, plan: Plan) -> None:
    monkeypatch.setenv("GRADECHECK_CACHE", str(tmp_path / "cache"))
    (tmp_path / "job.yaml").write_text(ROUND, encoding="utf-8")
    first, again = load_plan(tmp_path / "job.yaml").plan, load_plan(tmp_path / "job.yaml").plan
    assert first == again == plan
