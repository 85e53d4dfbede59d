"""Findings without a limit of their own, how findings are told apart, put together and ordered."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.findings.slips import TOO_TIGHT
from gradecheck.measure.quantities import inches
from gradecheck.report.findings import finding_json, finding_line
from tests.findings.sample import found, marked_line, plan_of

FLIGHT = "flight: {from: DOOR, down: 4, riser: 9}\n"


def test_points_named_like_the_keys_are_advised_against_once_an_area() -> None:
    plan = plan_of("points: {F1: -1, f12: -2, F13: -3, F0: -4, AF1: -5, F1a: -6}")
    (finding,) = found(plan, "names like keys")
    assert (finding.severity, finding.where) == (Severity.ADVICE, ("F1", "f12"))
    assert "F1, f12: named like the keys F1 to F12; use another name, such as P1." in finding_line(plan, finding)
    assert found(plan_of("points: {P1: -1, F13: -2}"), "names like keys") == []


def test_a_sound_plan_has_no_findings() -> None:
    plan = plan_of(
        "surface: {at: DOOR, fall: {x: 2%}}\ngrid: {every: 3 ft, inside: [[0, 0], [9 ft, 0], [9 ft, 9 ft]]}"
    )
    assert findings(plan) == []


RING = "walls: {house: [[0, 0], [9 ft, 0], [9 ft, 9 ft], [0, 9 ft], [0, 0]]}\n"
SUNK = """\
points:
  A: {elevation: -1, at: [0, 0]}
  B: {elevation: -1, at: [9 ft, 0]}
  C: {elevation: -1, at: [9 ft, 9 ft]}
  D: {elevation: -1, at: [0, 9 ft]}
  E: {elevation: -4, at: [54, 54]}
"""
ON_A_PLANE = """\
surface: {at: DOOR, fall: {x: 2%}}
grid: {every: 3 ft, inside: [[0, 0], [9 ft, 0], [9 ft, 9 ft], [0, 9 ft]]}
"""
OPEN = RING.replace(", [0, 0]]}", "]}")


@pytest.mark.parametrize("yard", [SUNK, ON_A_PLANE])
def test_walls_on_every_side_leave_water_no_way_out_without_a_drain(yard: str) -> None:
    (closed,) = found(plan_of(yard, top=RING), "no way out")
    assert (closed.severity, closed.where) == (Severity.ADVICE, ("yard",))
    assert found(plan_of(yard, top=OPEN), "no way out") == []
    assert found(plan_of(yard), "no way out") == []


def test_a_drain_is_a_way_out() -> None:
    assert found(plan_of(SUNK + "drains: {into: [E]}\n", top=RING), "no way out") == []


# Without a limit ----------------------------------------------------------------------------------------------


def test_two_points_at_one_place_and_height_are_one_drawn_twice() -> None:
    yard = "points:\n  A: {elevation: -1, at: [0, 0]}\n  §B: {elevation: -1, at: [0, 0]}\n"
    (twice,) = found(plan_of(yard), "drawn twice")
    assert (twice.severity, twice.where, twice.line) == (Severity.ADVICE, ("A", "B"), marked_line(yard))


@pytest.mark.parametrize("other", ["elevation: -2, at: [0, 0]", "elevation: -1, at: [0, 0.000001]", "elevation: -1"])
def test_a_step_over_another_point_is_not(other: str) -> None:
    assert found(plan_of(f"points: {{A: {{elevation: -1, at: [0, 0]}}, B: {{{other}}}}}"), "drawn twice") == []


CORNERS = (
    "A: {elevation: -1, at: [0, 0]}, B: {elevation: -1.72, at: [9 ft, 0]}, C: {elevation: -1.72, at: [9 ft, 9 ft]}"
)
SQUARE = "[[0, 0], [9 ft, 0], [9 ft, 9 ft], [0, 9 ft]]"


@pytest.mark.parametrize(
    "made",
    [
        f"grid: {{every: 3 ft, inside: {SQUARE}, name: G}}",
        "edges: {E: {every: 36, along: [[0, 0], [9 ft, 0]]}, F: {every: 3 ft, along: [[9 ft, 0], [9 ft, 9 ft]]}}",
        f"grid: {{every: 3 ft, inside: {SQUARE}, name: G}}\nedges: {{E: {{every: 36, along: [[0, 0], [9 ft, 0]]}}}}",
    ],
    ids=["grid", "edges", "both"],
)
def test_a_point_that_the_plan_makes_where_one_is_drawn_is_nobodys_slip(made: str) -> None:
    yard = f"surface: {{through: [A, B, C]}}\npoints: {{{CORNERS}}}\n{made}\n"
    assert found(plan_of(yard), "drawn twice") == []
    twice = yard.replace(CORNERS, f"{CORNERS}, §D: {{elevation: -1, at: [0, 0]}}")
    (finding,) = found(plan_of(twice), "drawn twice")
    assert (finding.where, finding.line) == (("A", "D"), marked_line(twice))
    on_surface = yard.replace(CORNERS, f"{CORNERS}, §D: {{at: [0, 0]}}")
    assert [each.where for each in found(plan_of(on_surface), "drawn twice")] == [("A", "D")]


def test_points_of_a_flight_may_stand_off_the_surface_they_rise_from() -> None:
    yard = (
        "surface: {at: DOOR, fall: {x: 2%}}\npoints: {A: {at: [9 ft, 0]}}\n"
        "flight: {from: A, up: 2, riser: 6, tread: 14, toward: [99 ft, 0]}\n"
    )
    assert found(plan_of(yard), "off the surface") == []


def test_the_rule_of_thumbs_cost_is_shown_for_its_longest_run() -> None:
    yard = (
        "points:\n  A: {from: DOOR, fall: pitch, over: 10 ft}\n  §B: {from: DOOR, fall: pitch, over: 15 ft}\n"
        "  C: {from: DOOR, fall: 1%, over: 90 ft}\n"
    )
    top = "pitch: {rule: 1 in per 5 ft, exact: 3/16 in/ft}\n"
    (costs,) = found(plan_of(yard, top=top), "rule of thumb")
    assert (costs.severity, costs.where, costs.line) == (Severity.REMINDER, ("B",), marked_line(yard, top=top))
    assert costs.value == inches(3).metres
    assert costs.limit.value == inches(Fraction(45, 16)).metres
    assert found(plan_of(yard, top="pitch: 1 in per 5 ft\n"), "rule of thumb") == []
    assert found(plan_of(yard, top="pitch: {rule: 2%, exact: 2%}\n"), "rule of thumb") == []


def test_what_rounding_costs_is_shown_where_it_costs_most() -> None:
    yard = "points:\n  A: -1 1/16\n  §B: -2 3/32\n  C: -3\n"
    (costs,) = found(plan_of(yard, top="round targets: 1/4\n"), "rounding")
    assert (costs.severity, costs.where, costs.line) == (Severity.REMINDER, ("B",), 11)
    assert costs.value == inches(Fraction(3, 32)).metres
    assert found(plan_of(yard), "rounding") == []
    assert found(plan_of("points: {A: -1, B: -2 1/4}", top="round targets: 1/4\n"), "rounding") == []


DEEP = "build-ups: {deep: {layers: [{slab: 3}, {base: VALUE}], past edge: 99}}\n"
DUG = "build-up: deep\ntolerances: {subgrade: 1, base: 1/2}\npoints: {P: 0, Q: -2}\n"


@pytest.mark.parametrize(
    ("base", "told"),
    [
        ("44.999999", []),
        ("45", [("way out of the dig from the finish", "way out of dig deeper than")]),
        ("56.999999", [("way out of the dig from the finish", "way out of dig deeper than")]),
        ("57", [("depth of the dig from the finish", "protect dig deeper than")]),
    ],
)
def test_a_dig_is_pointed_out_from_the_depth_where_rules_begin(base: str, told: list[tuple[str, str]]) -> None:
    # The rules speak of four and five feet and deeper, so here the limit itself counts.
    plan = plan_of(DUG, top=DEEP.replace("VALUE", base))
    deep = [each for each in findings(plan) if " of the dig" in each.what]
    assert [(each.what, each.limit.name) for each in deep] == told
    assert [each.severity for each in deep] == [Severity.FAULT] * len(told)


def test_a_dig_is_counted_from_the_ground_at_the_lowest_point() -> None:
    top = DEEP.replace("VALUE", "12")
    assert found(plan_of(DUG + "ground: 30.999999\n", top=top), "way out of the dig") == []
    (deep,) = found(plan_of(DUG + "ground: 31\n", top=top), "way out of the dig")
    assert (deep.where, deep.limit.name) == (("Q",), "way out of dig deeper than")


def test_a_dig_not_carried_past_the_edge_at_all_is_a_reminder() -> None:
    top = "build-ups:\n  §walk: [{slab: 2}, {base: 4}]\n"
    yard = "build-up: walk\ntolerances: {subgrade: 1, base: 1/2}\npoints: {P: 0}\n"
    (edge,) = found(plan_of(yard, top=top), "dig past the edge")
    assert (edge.severity, edge.line) == (Severity.REMINDER, marked_line(yard, top=top))
    assert found(plan_of("use: steps\n" + yard, top=top), "dig past the edge") == []


def test_a_tolerance_the_instrument_just_tells_passes() -> None:
    # Twice U is a whole number of ten-thousandths of a millimetre, so it can be written as a tolerance.
    top = "instrument: {beam: 20 arcsec, receiver: 1/16 in, longest shot: 90 ft}\n"

    def tight(tolerance: str) -> list[Fraction]:
        yard = f"tolerances: {{finish: {tolerance}}}\npoints: {{P: 0}}\n"
        finding = found(plan_of(yard, top=top), TOO_TIGHT)
        assert all((each.severity, each.where, each.line) == (Severity.FAULT, ("finish",), 8) for each in finding)
        return [each.limit.value * 1000 for each in finding]

    (twice,) = tight("0.01 mm")
    assert (twice * 10_000).denominator == 1
    assert tight(f"{float(twice):.4f} mm") == []
    assert tight(f"{float(twice) - 0.0001:.4f} mm") == [twice]
    # It is the tighter side that counts.
    assert tight("{high: 0.01 mm, low: 1}") == [twice]


def test_without_an_instrument_nothing_is_said_of_it() -> None:
    assert found(plan_of("tolerances: {finish: 0.01 mm}\npoints: {P: 0}"), TOO_TIGHT) == []


# Which limit holds --------------------------------------------------------------------------------------------


def test_an_areas_own_limits_come_before_the_jobs_and_then_the_usual() -> None:
    plan = plan_of("rules: {riser at most: 9 1/2}\n" + FLIGHT, top="rules: {riser at most: 8}\n")
    assert found(plan, "riser") == []
    (job_wide,) = found(plan_of(FLIGHT, top="rules: {riser at most: 8}\n"), "riser")
    assert (job_wide.limit.value, job_wide.limit.source) == (inches(8).metres, "the plan")
    (usual,) = found(plan_of(FLIGHT), "riser")
    assert (usual.limit.value, usual.limit.source) == (
        inches(Fraction(31, 4)).metres,
        "IRC 2018 R311.7.5.1, 2024 R318.7.5.1",
    )


@pytest.mark.parametrize("units", ["mm", "cm", "m"])
def test_a_metric_job_is_held_to_what_the_source_prints_for_metric_work(units: str) -> None:
    assert found(plan_of("flight: {from: DOOR, down: 2, riser: 196 mm}", units=units), "riser") == []
    (high,) = found(plan_of("flight: {from: DOOR, down: 2, riser: 196.5 mm}", units=units), "riser")
    assert high.limit.value == Fraction(196, 1000)


def test_steps_and_ramps_are_not_held_to_the_falls_of_paving() -> None:
    flat = "points: {A: {elevation: 0, at: [0, 0]}, B: {elevation: 0, at: [99, 0]}}\n"
    wall = "walls: {WALL: [[-9 ft, -9 ft], [-9 ft, 9 ft]]}\n"
    assert found(plan_of(flat, top=wall), "fall near the building")
    for use in ("steps", "ramp"):
        assert findings(plan_of(f"use: {use}\n{flat}", top=wall)) == []


def test_which_way_water_is_to_run_must_be_known_to_say_that_it_does_not() -> None:
    flat = "points: {A: {elevation: 0, at: [0, 0]}, B: {elevation: 0, at: [9 ft, 0]}}\n"
    assert findings(plan_of(flat)) == []
    (fall,) = found(plan_of("drains: {away from: DOOR}\n" + flat.replace("[0, 0]", "[1, 0]")), "fall")
    assert fall.where == ("A", "B")


@pytest.mark.parametrize(
    ("use", "walls", "near"),
    [
        ("", "walls: {DOOR WALL: [[0, -9 ft], [0, 9 ft]]}\n", True),
        ("drains: {away from: DOOR}\n", "", False),
        ("drains: {away from: COPING}\n", "walls: {COPING: [[0, -9 ft], [0, 9 ft]]}\n", True),
        ("use: pool deck\ndrains: {away from: COPING}\n", "walls: {COPING: [[0, -9 ft], [0, 9 ft]]}\n", False),
        (
            "use: pool deck\ndrains: {away from: COPING}\n",
            "walls: {COPING: [[0, -9 ft], [0, 9 ft]], HOUSE: [[30 ft, -9 ft], [30 ft, 9 ft]]}\n",
            False,
        ),
    ],
    ids=["a wall", "a mark", "a wall named so", "the edge of a pool", "a pool far from the house"],
)
def test_only_a_wall_of_the_plan_makes_ground_near_a_building(use: str, walls: str, near: bool) -> None:
    """1.8% away from it: less than the 2% asked near a building."""
    yard = f"{use}surface: {{at: DOOR, fall: {{x: 1.8%}}}}\npoints: {{A: {{at: [1 ft, 0]}}, B: {{at: [9 ft, 0]}}}}\n"
    assert bool(found(plan_of(yard, top=walls), "fall near the building")) is near


# How they are told --------------------------------------------------------------------------------------------


def test_of_those_alike_on_one_line_the_worst_is_told_and_how_many_more() -> None:
    edge = "edges: {§E: {every: 5 ft, along: [[10 ft, 0], [10 ft, 30 ft]]}}\n"
    # Warped from 1% along one side to level along the other: at no two of the seven points it falls alike.
    corners = (
        "points: {A: {elevation: 0, at: [0, 0]}, B: {elevation: -2.4, at: [20 ft, 0]}, "
        "C: {elevation: 0, at: [20 ft, 30 ft]}, D: {elevation: 0, at: [0, 30 ft]}}\n"
    )
    yard = "surface: {corners: [A, B, C, D]}\n" + corners + edge
    plan = plan_of(yard)
    (flat,) = (each for each in found(plan, "fall") if each.where[0].startswith("E"))
    assert (flat.more, flat.line) == (6, marked_line(yard))
    assert finding_line(plan, flat).endswith("And 6 more like it.")
    assert finding_json(plan, flat)["more"] == 6


def test_findings_stand_in_the_order_of_the_lines_and_none_twice() -> None:
    plan = plan_of(
        "build-up: thin\ntolerances: {subgrade: 1, base: 1/2}\n"
        "points: {P: {elevation: -1, also: {from: DOOR, down: 1, riser: 2}}}\n" + FLIGHT,
        top="build-ups: {thin: [{slab: 2}, {base: 2}]}\n",
    )
    finding = findings(plan)
    assert len(finding) > 4
    assert [each.line for each in finding] == sorted(each.line for each in finding)
    assert len({finding_line(plan, each) for each in findings(plan)}) == len(finding)


def test_renaming_points_renames_the_findings_and_changes_no_number() -> None:
    yard = "surface: {at: DOOR, fall: {x: 1%}}\npoints: {A: {at: [0, 0]}, B: {at: [9 ft, 0]}, C: {at: [0, 9 ft]}}\n"
    one, other = plan_of(yard), plan_of(yard.replace("A:", "X:").replace("B:", "Y:").replace("C:", "Z:"))
    assert [(each.what, each.value, each.limit, each.line) for each in findings(one)] == [
        (each.what, each.value, each.limit, each.line) for each in findings(other)
    ]
    assert findings(one)


def test_a_finding_comes_with_place_number_limit_and_source() -> None:
    plan = plan_of("flight: {from: DOOR, down: 2, riser: 9}\n")
    assert [finding_line(plan, each) for each in findings(plan)] == [
        "line 8: fault: yard, DOOR to S1: the riser is 9 in, the limit is 7 3/4 in; change their number. "
        "(IRC 2018 R311.7.5.1, 2024 R318.7.5.1) And 1 more like it."
    ]
    (riser,) = findings(plan)
    assert finding_json(plan, riser) == {
        "severity": "fault",
        "line": 8,
        "area": "yard",
        "what": "riser",
        "where": ["DOOR", "S1"],
        "more": 1,
        "value": {"mm": pytest.approx(228.6), "text": "9 in"},
        "limit": {"mm": pytest.approx(196.85), "text": "7 3/4 in"},
        "kind": "length",
        "rule": "riser at most",
        "source": "IRC 2018 R311.7.5.1, 2024 R318.7.5.1",
        "says": "DOOR to S1: the riser is 9 in, the limit is 7 3/4 in; change their number.",
    }
