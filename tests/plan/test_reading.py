"""A sound job file becomes the plan it means: every name resolved, every elevation exact, in any order of writing."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Rod
from tests.plan.sample import WALK, plan_of, spoiled
from tests.strategies import Chain, chains, mm
from tests.tables import each_of

W1 = "W1: {from: DOOR, fall: 3/16 in/ft, over: 15 ft}"
W2 = "W2: -3 1/4 in"


def _finish(text: str, point: str) -> Length:
    plan = plan_of(text)
    return plan.areas[plan.area_of[point]].point(point).finish.height


def _point(entry: str) -> str:
    return spoiled((W2, f"W2: {entry}"))


@pytest.mark.parametrize(
    ("entry", "sixteenths"),
    [
        ("-3 1/4 in", -52),
        ("{elevation: -3 1/4 in}", -52),
        ("{from: DOOR}", 0),
        ("{from: W1}", -45),
        ("{from: DOOR, fall: 1/4 in/ft, over: 12 ft}", -48),
        ("{from: DOOR, rise: 1/4 in/ft, over: 12 ft}", 48),
        ("{from: DOOR, fall: 2%, over: 200}", -64),
        ('{from: DOOR, fall: "1:48", over: 24 ft}', -96),
        ("{from: DOOR, fall: 1:48, over: 24 ft}", -96),
        ("{from: DOOR, fall: 1 in per 5 ft, over: 15 ft}", -48),
        ("{from: DOOR, up: 3, riser: 6 in}", 288),
        ("{from: DOOR, down: 3, riser: 5 7/8}", -282),
        ("{from: W1, fall: 1/4 in/ft, over: 4 ft, up: 2, riser: 6 in}", -45 - 16 + 192),
        ("{from: W1, rise: 1/4 in/ft, over: 4 ft, down: 2, riser: 6 in}", -45 + 16 - 192),
    ],
)
def test_a_point_lies_where_its_entry_says(entry: str, sixteenths: int) -> None:
    assert _finish(_point(entry), "W2") == inches(Fraction(sixteenths, 16))


@given(chains())
def test_a_chain_of_falls_and_flights_ends_at_the_sum_of_its_parts(chain: Chain) -> None:
    plan = plan_of(chain.job())
    found = [mm(point.finish.height) for point in plan.areas["long walk"].points]
    assert found == list(chain.finishes_mm)


@given(chains().flatmap(lambda chain: st.tuples(st.just(chain), st.permutations(range(len(chain.entries))))))
def test_the_order_of_points_in_the_file_changes_no_elevation(drawn: tuple[Chain, list[int]]) -> None:
    chain, order = drawn
    area = plan_of(chain.job(order)).areas["long walk"]
    assert [point.name for point in area.points] == [f"P{index + 1}" for index in order]
    for index, finish in enumerate(chain.finishes_mm):
        assert mm(area.point(f"P{index + 1}").finish.height) == finish


def test_a_point_may_start_from_one_in_an_area_written_later() -> None:
    text = spoiled((W1, "W1: {from: Y1, down: 1, riser: 6 in}")) + "  yard:\n    points:\n      Y1: 4 in\n"
    assert _finish(text, "W1") == inches(-2)


def test_a_thousand_points_each_from_the_last_are_followed_to_the_end() -> None:
    links = "".join(f"      P{n}: {{from: P{n - 1}, fall: 1%, over: 1 ft}}\n" for n in range(1000, 0, -1))
    text = WALK + "  long walk:\n    points:\n" + links + "      P0: 0\n"
    assert _finish(text, "P1000") == -feet(10)


@pytest.mark.parametrize(
    ("entry", "working"),
    [
        ("-3 1/4 in", "−3 1/4 in as given"),
        ("{from: DOOR, fall: 1/4 in/ft, over: 12 ft}", "DOOR 0 − 12 ft × 1/4 in/ft = −3 in"),
        ("{from: DOOR, fall: 0%, over: 12 ft}", "DOOR 0 − 12 ft × 0% = 0 in"),
        ("{from: DOOR, rise: 2%, over: 180}", "DOOR 0 + 180 in × 2% = 3.6 in"),
        ("{from: DOOR, up: 4, riser: 6}", "DOOR 0 + 4 × 6 in = 24 in"),
        (
            "{from: W1, fall: 1/4 in/ft, over: 4 ft, down: 2, riser: 5 7/8 in}",
            "W1 −2 13/16 − 4 ft × 1/4 in/ft − 2 × 5 7/8 in = −15 9/16 in",
        ),
    ],
)
def test_every_elevation_can_show_its_sum(entry: str, working: str) -> None:
    assert plan_of(_point(entry)).areas["garden walk"].point("W2").working == working


def test_a_text_may_be_as_long_as_120_characters() -> None:
    longest = "x" * 120
    assert plan_of(_point(f"{{elevation: -3, what: {longest}}}")).areas["garden walk"].point("W2").what == longest


def test_the_rest_of_the_plan_is_what_the_file_says() -> None:
    plan = plan_of(WALK)
    area = plan.areas["garden walk"]
    assert plan.job == "Fernhill Mews"
    assert plan.benchmarks["DOOR"].what == "threshold"
    assert plan.rod == Rod("site rod", "standard", Notation(Units.IN, inches(Fraction(1, 16))))
    assert area.stages == ("subgrade", "base", "bedding", "finish")
    assert area.build_up is not None
    assert area.build_up.dig == inches(Fraction(75, 8))
    assert [layer.name for layer in area.build_up.above("base")] == ["paver", "bedding"]
    assert area.build_up.above("finish") == ()
    assert plan.area_of == {"W1": "garden walk", "W2": "garden walk"}
    assert plan.names == {"door": "DOOR", "w1": "W1", "w2": "W2"}
    assert area.index == {"W1": 0, "W2": 1}


def test_a_tolerance_is_the_same_both_ways_or_one_for_each() -> None:
    tolerances = plan_of(WALK).areas["garden walk"].tolerances
    assert (tolerances["subgrade"].high, tolerances["subgrade"].low) == (
        inches(Fraction(1, 2)),
        inches(Fraction(3, 4)),
    )
    assert tolerances["base"].high == tolerances["base"].low == inches(Fraction(3, 8))


@each_of(
    ("units", "one"),
    [("in", inches(1)), ("ft-in", inches(1)), ("ft", inches(12)), ("mm", millimetres(1)), ("cm", millimetres(10)),
     ("m", millimetres(1000))],
)  # fmt: skip
@each_of(
    ("written", "high", "low"),
    [
        ("+0 -1/2", "0", "1/2"),
        ("+1 -1/2", "1", "1/2"),
        ("+0.25/-0.5", "1/4", "1/2"),
        ("±3/8", "3/8", "3/8"),
        ("3/8", "3/8", "3/8"),
        ("{high: 1/4, low: 0}", "1/4", "0"),
    ],
)
def test_a_tolerance_says_high_and_low_in_the_jobs_units_everywhere(
    units: str, one: Length, written: str, high: str, low: str
) -> None:
    text = (
        f"job: Elm Row\nunits: {units}\nbenchmarks: {{DOOR: 0}}\ntolerances:\n  finish: {written}\nareas:\n  walk:\n"
    )
    text += f"    tolerances:\n      finish: {written}\n    points: {{W1: 0}}\n  court: {{points: {{C1: 0}}}}\n"
    for area in plan_of(text).areas.values():
        assert area.tolerances["finish"] == Tolerance(one * Fraction(high), one * Fraction(low))


def test_a_taped_length_and_a_recheck_may_bear_both_signs_at_once() -> None:
    text = f"{WALK}layout: {{corner: {{sides: [9 ft, 9 ft], tolerance: ±1/4}}}}\nrechecks: {{allowed: ± 1/8 in}}\n"
    plan = plan_of(text)
    assert plan.layout["corner"].tolerance == inches(Fraction(1, 4))
    assert plan.rechecks.allowed == inches(Fraction(1, 8))


def test_an_areas_own_tolerance_comes_before_the_jobs() -> None:
    text = spoiled(("    build-up: walk\n", "    build-up: walk\n    tolerances: {finish: 1/16 in}\n"))
    tolerances = plan_of(text).areas["garden walk"].tolerances
    assert tolerances["finish"].high == inches(Fraction(1, 16))
    assert tolerances["base"].high == inches(Fraction(3, 8))


def test_an_area_without_a_build_up_is_finish_alone() -> None:
    area = plan_of(WALK + "  yard:\n    points:\n      Y1: 0\n").areas["yard"]
    assert area.build_up is None
    assert area.stages == ("finish",)
    assert list(area.tolerances) == ["finish"]


def test_a_route_is_the_order_in_which_the_points_are_walked() -> None:
    text = spoiled(("    build-up: walk\n", "    build-up: walk\n    route: [W2, W1]\n"))
    assert [point.name for point in plan_of(text).areas["garden walk"].points] == ["W2", "W1"]


def test_points_may_say_where_and_what_they_are() -> None:
    point = plan_of(_point("{elevation: 0, at: [12 ft, -6], what: by the drain}")).areas["garden walk"].point("W2")
    assert point.at == (feet(12), inches(-6))
    assert point.what == "by the drain"


@pytest.mark.parametrize(
    ("units", "length"),
    [("in", inches(3)), ("ft-in", inches(3)), ("ft", feet(3)), ("mm", millimetres(3)), ("cm", millimetres(30))],
)
def test_a_bare_number_has_the_jobs_unit(units: str, length: Length) -> None:
    text = (
        f"job: a\nunits: {units}\nbenchmarks: {{B: 0}}\ntolerances: {{finish: 1}}\n"
        "areas: {a: {points: {P: 3}}}\n"
    )
    assert _finish(text, "P") == length


@pytest.mark.parametrize(
    ("units", "rods", "notation"),
    [
        ("in", "{}", Notation(Units.IN, inches(Fraction(1, 16)))),
        ("in", "{r: {graduation: 1/8 in}}", Notation(Units.IN, inches(Fraction(1, 8)))),
        ("ft-in", "{r: {graduation: 1/8 in, units: in}}", Notation(Units.FT_IN, inches(Fraction(1, 8)))),
        ("mm", "{r: {graduation: 5 mm}}", Notation(Units.MM, millimetres(5))),
        # A rod in hundredths of a foot says nothing about how inches are printed.
        ("in", "{r: {graduation: 0.01 ft, units: ft}}", Notation(Units.IN, inches(Fraction(1, 16)))),
        ("mm", "{a: {graduation: 2}, b: {graduation: 5}}", Notation(Units.MM, millimetres(2))),
    ],
)
def test_the_job_writes_its_units_to_the_marks_of_its_first_rod(units: str, rods: str, notation: Notation) -> None:
    text = (
        f"job: a\nunits: {units}\nrods: {rods}\nbenchmarks: {{B: 0}}\n"
        "tolerances: {finish: 1}\nareas: {a: {points: {P: 3}}}\n"
    )
    assert plan_of(text).notation == notation


def test_a_job_without_rods_has_the_usual_one() -> None:
    plan = plan_of(spoiled(("rods:\n  site rod: {kind: standard, graduation: 1/16 in}\n", "")))
    assert plan.rod == Rod("rod", "standard", Notation.usual(Units.IN))


def test_the_first_rod_of_the_file_is_the_one_used_when_none_is_named() -> None:
    text = spoiled(("rods:\n", "rods:\n  zero rod: {kind: direct, units: ft}\n"))
    assert plan_of(text).rod == Rod("zero rod", "direct", Notation.usual(Units.FT))
