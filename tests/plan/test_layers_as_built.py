"""Layers as they are built: lifts, hold points, the ground before any dig, and widths, as the job file has them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Elevation, Length, feet, inches
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target, working

JOB = """\
job: Larch Row yard
units: in
benchmarks: {DOOR: 0}
build-ups:
  yard: {layers: [{paver: 2 3/8}, {bedding: 1}, {base: 10}], lifts: {base: 2}}
tolerances: {finish: 1/8, bedding: 1/4, base: 3/8, subgrade: 1/2}
hold points: [subgrade, base lift 1, base]
areas:
  yard:
    build-up: yard
    points: {A: {elevation: -1, at: [1 ft, 1 ft]}}
  gate:
    build-up: yard
    layers: {base: 5}
    hold points: []
    points: {G: {elevation: -2, at: [9 ft, 1 ft]}}
"""


def plan(text: str = JOB) -> Plan:
    return read_plan(
        text, "job.yaml", {"g.csv": "name,x,y,elevation\na,0,0,-1\nb,120,0,-2\nc,0,120,-3\n"}.__getitem__
    )


def wanted(job: Plan, area: str, point: str) -> dict[str, Length]:
    home = job.areas[area]
    return {stage: target(home, home.point(point), stage).wanted.height for stage in home.stages}


def test_a_layer_in_lifts_has_a_stage_for_each_of_the_lower_ones() -> None:
    # By hand: finish -1, so bedding -3 3/8, base -4 3/8, subgrade -14 3/8, and the first of two lifts of 5 in -9 3/8.
    assert wanted(plan(), "yard", "A") == {
        "subgrade": inches(Fraction(-115, 8)),
        "base lift 1": inches(Fraction(-75, 8)),
        "base": inches(Fraction(-35, 8)),
        "bedding": inches(Fraction(-27, 8)),
        "finish": inches(-1),
    }


def test_lifts_may_be_of_different_thickness_from_the_bottom_up() -> None:
    found = wanted(plan(JOB.replace("lifts: {base: 2}", "lifts: {base: [4 in, 3 in, 3 in]}")), "yard", "A")
    assert found["base lift 1"] == inches(Fraction(-83, 8))
    assert found["base lift 2"] == inches(Fraction(-59, 8))
    assert list(found) == ["subgrade", "base lift 1", "base lift 2", "base", "bedding", "finish"]


def test_where_an_area_has_another_thickness_its_lifts_stay_in_proportion() -> None:
    found = wanted(plan(), "gate", "G")
    assert found["base lift 1"] - found["subgrade"] == inches(Fraction(5, 2)) == found["base"] - found["base lift 1"]


def test_a_lower_lift_has_its_layers_tolerance_or_one_of_its_own() -> None:
    area = plan().areas["yard"]
    assert area.tolerances["base lift 1"] == area.tolerances["base"]
    own = plan(JOB.replace("base: 3/8", "base: 3/8, base lift 1: 1")).areas["yard"]
    assert own.tolerances["base lift 1"].high == inches(1)


def test_the_working_of_a_lift_takes_off_what_will_lie_on_it() -> None:
    area = plan().areas["yard"]
    lines = working(area, area.point("A"), "base lift 1", Notation.usual(Units.IN))
    assert lines[-1] == "A base lift 1 = finish −1 − 2 3/8 in paver − 1 in bedding − 5 in base = −9 3/8 in"


def test_one_lift_is_none() -> None:
    assert (
        "base lift 1"
        not in plan(JOB.replace("base: 2}", "base: 1}").replace(", base lift 1", "")).areas["yard"].stages
    )


def test_hold_points_are_those_of_the_job_that_the_area_has_or_its_own() -> None:
    job = plan()
    assert job.areas["yard"].holds == ("subgrade", "base lift 1", "base")
    assert job.areas["gate"].holds == ()
    assert plan(JOB.replace("hold points: []", "hold points: [BASE]")).areas["gate"].holds == ("base",)


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        ("lifts: {base: 2}", "lifts: {frost: 2}", "There is no layer “frost” to be rolled in lifts."),
        ("lifts: {base: 2}", "lifts: {base: [4, 4]}",
         "These lifts are not as thick together as base; write thicknesses that are."),
        ("lifts: {base: 2}", "lifts: {base: 2}, loose: {base: 12}",
         "base is spread in lifts, each loose for itself; take “loose:” or “lifts:” out."),
        ("hold points: [subgrade, base lift 1, base]", "hold points: [subsoil]", 
         "No build-up has a stage “subsoil”."),
        ("hold points: []", "hold points: [subsoil]",
         "Area “gate” has no stage “subsoil”; it has subgrade, base lift 1, base, bedding, finish."),
    ],
)  # fmt: skip
def test_what_can_not_be_meant_is_told(was: str, now: str, says: str) -> None:
    with pytest.raises(PlanProblemsError) as told:
        plan(JOB.replace(was, now))
    assert [problem.says.split(" Did you")[0] for problem in told.value.problems] == [says]


# -- the ground before any dig


def ground(written: str) -> Plan:
    return plan(
        JOB.replace("  yard:\n    build-up: yard\n", f"  yard:\n    build-up: yard\n    existing ground: {written}\n")
    )


def at(x: int, y: int) -> tuple[Length, Length]:
    return feet(x), feet(y)


@pytest.mark.parametrize(
    ("written", "here"),
    [
        ("-2", Fraction(-2)),
        ("{elevation: -2, at: [0, 0], fall: {x: 1%, y: -2%}}", Fraction(-2) - Fraction(36, 100) + Fraction(96, 100)),
        ("{spots: [[0, 0, -1], [10 ft, 0, -2], [0, 10 ft, -3]]}", Fraction(-1) - Fraction(3, 10) - Fraction(8, 10)),
        ("{point list: g.csv}", Fraction(-1) - Fraction(3, 10) - Fraction(8, 10)),
    ],
)
def test_existing_ground_is_level_a_plane_or_through_spots(written: str, here: Fraction) -> None:
    """At (3 ft, 4 ft): a fall of 1% over 36 in and a rise of 2% over 48 in; 1 in over 10 ft in x, 2 in in y."""
    surface = ground(written).areas["yard"].existing
    assert surface is not None
    assert surface.elevation(at(3, 4)) == Elevation(inches(here).metres)


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("{spots: [[0, 0, -1], [10 ft, 0, -2], [20 ft, 0, -3]]}",
         "These spots lie in one line or at one place; existing ground needs three that do not."),
        ("{elevation: -1, spots: [[0, 0, -1], [9, 0, -2], [0, 9, -2]]}",
         "Existing ground has an “elevation:”, “spots:” or a “point list:”; give one of them."),
        ("{elevation: -1, at: [0, 0]}",
         "“elevation:”, “at:” and “fall:” make a plane together; add what is missing."),
    ],
)  # fmt: skip
def test_ground_that_is_no_surface_is_told(written: str, says: str) -> None:
    with pytest.raises(PlanProblemsError) as told:
        ground(written)
    assert [problem.says for problem in told.value.problems] == [says]


# -- widths


RAMP = """\
job: Larch Row ramp
units: in
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 1/8}
areas:
  ramp:
    ramp: {from: DOOR, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft, toward: [100 ft, 0], width: 4 ft}
  steps:
    flight: {from: DOOR, down: 4, riser: 6 in, tread: 15 in, toward: [3 ft, 4 ft], width: 5 ft}
  bare:
    ramp: {from: DOOR, fall: 1:14, runs: [14 ft], width: 4 ft, name: B}
"""


def test_a_ramp_is_as_long_as_its_runs_and_landings_and_as_wide_as_told() -> None:
    outline = plan(RAMP).areas["ramp"].outline
    assert outline is not None
    assert outline.ring == (at(0, -2), at(38, -2), at(38, 2), at(0, 2)), "14 + 5 + 14 + 5 ft"


def test_steps_askew_to_the_plan_are_as_wide_too() -> None:
    outline = plan(RAMP).areas["steps"].outline
    assert outline is not None
    # Three treads of 15 in between four risers: 45 in long, 60 in wide.
    assert float(outline.area) == pytest.approx(45 * 60 * 0.0254**2, rel=1e-6)
    assert plan(RAMP).areas["steps"].steps[0].width == feet(5)


def test_without_places_there_is_no_outline() -> None:
    assert plan(RAMP).areas["bare"].outline is None
