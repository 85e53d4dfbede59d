"""Ramps: the slope and rise of a run and the fall of a landing, each exactly at its limit and about it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from gradecheck.checks.steps import check_ramp, unmarked_ramps
from gradecheck.measure.quantities import Elevation, Length, Slope, feet, inches
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Landing, Rise, Steps
from gradecheck.plan.read import read_plan

LIMITS = Limits(codes=("us-accessible",))


def _checked(end: Fraction | int, landing: Fraction | int = 0, u: Fraction | int = 0) -> dict[str, str]:
    """A run of 30 ft that rises so many inches, and a landing of 5 ft behind it; U of each height in inches."""
    steps = Steps(
        "ramp",
        (Rise("A", "B", inches(end), feet(30)),),
        (Landing("B", "C", feet(5), Slope(Fraction(0))),),
    )
    heights = {"A": Elevation(Fraction(0)), "B": Elevation(inches(end).metres)}
    heights["C"] = heights["B"] + inches(landing)
    doubts: dict[str, Length] = {name: inches(u) for name in heights}
    return {held.what: held.verdict for held in check_ramp(steps, heights, LIMITS, doubts)}


RUN, RISE, LANDING = "ramp", "rise of a ramp's run", "fall of a ramp's landing"


@pytest.mark.parametrize("sign", [1, -1], ids=["up", "down"])
def test_exactly_at_its_limits_a_ramp_passes_whatever_is_in_doubt(sign: int) -> None:
    """1:12 over 30 ft is 30 in; 1:48 of 5 ft is 1 1/4 in (ADA 2010, 405.2, 405.6, 405.7)."""
    for u in (0, Fraction(1, 4)):
        assert _checked(30 * sign, Fraction(5, 4) * sign, u) == {RUN: "passes", RISE: "passes", LANDING: "passes"}


@pytest.mark.parametrize(
    ("u", "verdict"), [(0, "fault"), (Fraction(1, 33), "fault"), (Fraction(1, 32), "can't tell"), (1, "can't tell")]
)
def test_beyond_by_less_than_its_two_heights_leave_open_it_can_not_be_told(u: Fraction | int, verdict: str) -> None:
    """A sixteenth beyond each; two heights leave twice U open."""
    over = Fraction(1, 16)
    assert _checked(30 + over, Fraction(5, 4) + over, u) == {RUN: verdict, RISE: verdict, LANDING: verdict}


def test_what_was_not_read_at_both_ends_is_left_out() -> None:
    steps = Steps("ramp", (Rise("A", "B", inches(30), feet(30)),))
    assert list(check_ramp(steps, {"A": Elevation(Fraction(0))}, LIMITS)) == []


@pytest.mark.parametrize(
    ("run", "drop", "told"),
    [
        ("20 ft", "1 ft", ()),  # 1:20, what an accessible walk may run (ADA 2010, 403.3)
        ("19 ft", "1 ft", ("A to B",)),
        ("8 ft", "2 ft", ("A to B",)),  # 1:4
        ("8 ft", "25 in", ()),
        ("3 ft", "6 in", ("A to B",)),
        ("35 in", "6 in", ()),
    ],
)
def test_ground_between_points_is_a_ramp_if_steeper_than_a_walk(run: str, drop: str, told: tuple[str, ...]) -> None:
    text = (
        "job: Wicken Yard\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/4}\n"
        "areas:\n  bank:\n    points:\n"
        f"      A: {{elevation: 0, at: [0 ft, 0 ft]}}\n      B: {{elevation: -{drop}, at: [{run}, 0 ft]}}\n"
    )
    area = read_plan(text, "job.yaml").areas["bank"]
    assert unmarked_ramps(area) == told
    for use in ("ramp", "steps", "driveway", "street"):
        assert unmarked_ramps(replace(area, use=use)) == ()
    assert unmarked_ramps(replace(area, accessible=True)) == ()
