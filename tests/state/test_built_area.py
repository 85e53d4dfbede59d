"""Perfect work passes: read exactly at its targets, a plan that examine calls clean gives no finding in any check."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from random import Random
from textwrap import indent

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import Length, inches
from gradecheck.plan.model import Plan, Point
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.report.checks import CheckResult, area_results, line_results, result_line
from gradecheck.state.as_built import check_area, check_line
from gradecheck.state.state import State, fold
from tests.journal_strategies import Site
from tests.strategies import examples

HEAD = """\
job: Gorse Hill
units: in
codes: [us-residential, us-accessible]
instrument: {beam: 10 arcsec, receiver: 1/32 in, longest shot: 60 ft}
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 3/8 in}
"""
ROD = inches(200)


def _plan(yard: str, top: str = "") -> Plan:
    return read_plan(f"{HEAD}{top}areas:\n  yard:\n{indent(yard.strip(chr(10)), '    ')}\n", "job.yaml")


def _read(plan: Plan, off: Callable[[Point], Length | None]) -> State:
    """Every point of the yard read so far off its target; None: not read."""
    site, area = Site(plan), plan.areas["yard"]
    site.set_up("DOOR", ROD, rod=plan.rod.name)
    for point in area.points:
        by = off(point)
        if by is not None:
            wanted = target(area, point, "finish").wanted
            site.read(("yard", point.name, "finish"), ROD - wanted.height - by)
    return fold(plan, site.entries)


def _told(plan: Plan, off: Callable[[Point], Length | None]) -> list[CheckResult]:
    return area_results(check_area(_read(plan, off), "yard", "finish"), plan.notation)


def _beyond(told: list[CheckResult]) -> list[str]:
    """What says that something is wrong, or perhaps wrong."""
    return [result_line(each) for each in told if each.verdict in ("fault", "advice", "can't tell")]


def _out(told: list[CheckResult]) -> list[str]:
    return [result_line(each) for each in told if each.verdict == "fault"]


SQUARE = "outline: [[0 ft, 0 ft], [20 ft, 0 ft], [20 ft, 20 ft], [0 ft, 20 ft]]\ngrid: {every: 5 ft, name: G}\n"
PLAZA = (
    SQUARE
    + """\
drains: {into: [D]}
surface: {spots: [A, B, C, E, D]}
points:
  A: {elevation: -1, at: [0 ft, 0 ft]}
  B: {elevation: -1, at: [20 ft, 0 ft]}
  C: {elevation: -1, at: [20 ft, 20 ft]}
  E: {elevation: -1, at: [0 ft, 20 ft]}
  D: {elevation: -3 1/2, at: [10 ft, 10 ft]}
"""
)
DRIVE = """\
outline: [[0 ft, 0 ft], [20 ft, 0 ft], [20 ft, 40 ft], [0 ft, 40 ft]]
grid: {every: 5 ft, name: G}
surface: {crown: [M, N], falls: [2%, 2.5%]}
points:
  M: {elevation: 0, at: [10 ft, 0 ft]}
  N: {elevation: -4, at: [10 ft, 40 ft]}
"""
DECK = """\
surface: {corners: [P, Q, R, S]}
outline: [[0 ft, 0 ft], [20 ft, 0 ft], [24 ft, 22 ft], [0 ft, 20 ft]]
grid: {every: 4 ft, name: G}
points:
  P: {elevation: 0, at: [0 ft, 0 ft]}
  Q: {elevation: -6, at: [20 ft, 0 ft]}
  R: {elevation: -12, at: [24 ft, 22 ft]}
  S: {elevation: -5, at: [0 ft, 20 ft]}
"""
WALK = """\
accessible: yes
along: [W, [37.5 ft, 2.5 ft], [37.5 ft, 40 ft]]
surface: {at: W, fall: {x: 1:48, y: 1:48}}
outline: [[0 ft, 0 ft], [40 ft, 0 ft], [40 ft, 40 ft], [35 ft, 40 ft], [35 ft, 5 ft], [0 ft, 5 ft]]
grid: {every: 2.5 ft, name: G}
points:
  W: {elevation: 0, at: [0 ft, 2.5 ft]}
"""
KNOWN = {"a plaza round a drain": PLAZA, "a crowned drive": DRIVE, "a warped deck": DECK, "an L-shaped walk": WALK}


@pytest.mark.parametrize("yard", KNOWN.values(), ids=KNOWN)
def test_folded_and_warped_ground_at_its_targets_passes_every_check(yard: str) -> None:
    plan = _plan(yard)
    told = _told(plan, lambda _: inches(0))
    assert _beyond(told) == []
    assert {"falls", "flatness"} <= {each.section for each in told if each.verdict == "passes"}


# Over drawn plans ---------------------------------------------------------------------------------------------

_percent = st.integers(-50, 50).map(lambda tenths: f"{tenths / 10:g}%")
_fall = st.integers(10, 50).map(lambda tenths: f"{tenths / 10:g}%")
_height = st.integers(-24, 24).map(lambda quarters: f"{quarters / 4:g}")
_side = st.integers(8, 30)
WALL = "walls: {HOUSE: [[0 ft, 0 ft], [40 ft, 0 ft]]}\n"


@st.composite
def yards(draw: st.DrawFn) -> tuple[str, str]:
    """An area of every kind of surface, with or without a house, a drain, a way to walk; and what stands above it."""
    wide, deep = draw(_side), draw(_side)
    kind = draw(st.sampled_from(("plane", "edge", "warped", "crown", "valley", "spots", "drain", "alone")))
    corners = {"A": (0, 0), "B": (wide, 0), "C": (wide, deep), "E": (0, deep)}
    at = {name: f"at: [{x} ft, {y + 1} ft]" for name, (x, y) in corners.items()}
    points = {name: f"{{elevation: {draw(_height)}, {place}}}" for name, place in at.items()}
    drains = ""
    if kind == "plane":
        points = {"A": f"{{elevation: 0, {at['A']}}}"}
        surface = f"{{at: A, fall: {{x: {draw(_percent)}, y: {draw(_percent)}}}}}"
    elif kind == "edge":
        points = {name: points[name] for name in "ABE"}
        surface = "{through: [A, B, E]}"
    elif kind == "warped":
        surface = "{corners: [A, B, C, E]}"
    elif kind in ("crown", "valley"):
        points = {
            "A": f"{{elevation: {draw(_height)}, at: [{wide / 2:g} ft, 1 ft]}}",
            "B": f"{{elevation: {draw(_height)}, at: [{wide / 2:g} ft, {deep + 1} ft]}}",
        }
        surface = f"{{{kind}: [A, B], falls: [{draw(_fall)}, {draw(_fall)}]}}"
    elif kind in ("spots", "drain"):
        x, y = draw(st.integers(2, wide - 2)), draw(st.integers(2, deep - 2))
        points["D"] = f"{{elevation: {draw(_height)}, at: [{x} ft, {y + 1} ft]}}"
        surface = "{spots: [A, B, C, E, D]}"
        drains = "drains: {into: [D]}\n" if kind == "drain" else ""
    else:
        surface = ""
    yard = f"outline: [[0 ft, 1 ft], [{wide} ft, 1 ft], [{wide} ft, {deep + 1} ft], [0 ft, {deep + 1} ft]]\n"
    yard += f"surface: {surface}\ngrid: {{every: {draw(st.integers(3, 7))} ft, name: G}}\n" if surface else ""
    yard += drains
    if draw(st.booleans()):
        yard += f"accessible: yes\nalong: [[{wide / 2:g} ft, 1 ft], [{wide / 2:g} ft, {deep + 1} ft]]\n"
    yard += "rules: {fall at least: 0%, fall wanted: 0.5%, fall near building at least: 1%}\n"
    yard += "points:\n" + "".join(f"  {name}: {entry}\n" for name, entry in points.items())
    top = WALL if draw(st.booleans()) else ""
    return yard, top + ("round targets: 1/16 in\n" if draw(st.booleans()) else "")


def _about_the_ground(plan: Plan) -> list[str]:
    """What examine finds of the ground itself."""
    kinds = {
        "fall",
        "fall near the building",
        "toward the building",
        "too steep",
        "running fall",
        "cross fall",
        "ponding",
    }
    return [each.what for each in findings(plan) if each.what in kinds]


@examples(150)
@given(yards(), st.data())
def test_a_clean_plan_read_in_part_or_whole_gives_no_finding(drawn: tuple[str, str], data: st.DataObject) -> None:
    plan = _plan(*drawn)
    if _about_the_ground(plan):
        return
    names = [point.name for point in plan.areas["yard"].points]
    left_out = data.draw(st.sets(st.sampled_from(names)) if data.draw(st.booleans()) else st.just(set[str]()))
    assert _beyond(_told(plan, lambda point: None if point.name in left_out else inches(0))) == []


@examples(100, few=10)
@given(yards(), st.randoms(use_true_random=False))
def test_what_the_rod_can_not_resolve_is_never_out(drawn: tuple[str, str], chance: Random) -> None:
    """Each height is off by no more than its U: then no check can know that anything is beyond its limit."""
    plan = _plan(*drawn)
    if _about_the_ground(plan):
        return
    still = _read(plan, lambda _: inches(0))
    (first, *_) = still.shots
    shot = still.shots[first][-1]
    u = still.uncertainty(shot.setup, shot.rod, first)
    assert u is not None
    told = _told(plan, lambda _: u * Fraction(chance.randint(-64, 64), 64))
    assert _out(told) == []


# Along a line -------------------------------------------------------------------------------------------------


def _along(yard: str, names: str, **off: str) -> list[tuple[str, str]]:
    """The falls along a line and how they came out, where these points were found so far off and all others not."""
    plan = _plan(yard)
    state = _read(plan, lambda point: inches(Fraction(off.get(point.name, "0"))))
    falls, flat = check_line(state, names.split(), "finish")
    told = line_results(falls, flat, plan.notation)
    return [(each.section, each.verdict) for each in told]


def test_a_line_between_two_points_is_held_to_the_areas_rule() -> None:
    """From the crown down to the edge it falls 2% over 10 ft, which is 2.4 in; with one inch less it is 1.17%."""
    drained = DRIVE + "drains: {at least: 2%}\n"
    assert _along(drained, "G1-3 G1-1") == [("fall", "passes")]
    assert _along(drained, "G1-3 G1-1", **{"G1-1": "1"}) == [("fall", "fault")]
    assert _along(drained, "G1-1 G1-3", **{"G1-1": "1"}) == [("fall", "fault")]
    assert _along(drained, "G1-3 G1-1", **{"G1-1": "1/16"}) == [("fall", "can't tell")]


def test_a_line_water_does_not_run_along_is_held_to_nothing_and_says_so() -> None:
    yard = (
        "surface: {at: DOOR, fall: {x: 2%}}\n"
        "points: {A: {at: [0 ft, 5 ft]}, B: {at: [0 ft, 20 ft]}, C: {at: [9 ft, 5 ft]}}\n"
    )
    assert _along(yard, "A B") == [("fall", "reminder")]
    assert _along(yard, "A C B") == [("fall", "passes"), ("fall", "reminder"), ("flatness", "passes")]


def test_a_line_on_an_accessible_walk_has_its_running_or_cross_limit() -> None:
    assert _along(WALK, "G2-1 G2-9") == [("running fall", "passes")]
    assert _along(WALK, "G1-1 G3-1") == [("cross fall", "passes")]
    assert _along(WALK, "G1-1 G3-1", **{"G3-1": "-1"}) == [("cross fall", "fault")]
