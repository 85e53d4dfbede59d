"""Layers in a plan: how deep each surface lies, how high it stands loose, and whose tolerance holds there."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import target, working
from tests.plan.ground import inch, mm, plan_with, point, yard
from tests.strategies import examples

LAYERS = "[{paver: 2 3/8}, {bedding: 1}, {base: 6}]"
TOLERANCES = "{finish: 1/8, bedding: 1/4, base: 3/8, subgrade: {high: 1/2, low: 3/4}}"


def _built(build_up: str, area: str = "", *, tolerances: str = TOLERANCES) -> Plan:
    """A yard built up so, with one point at nothing."""
    return plan_with(
        f"build-up: terrace\ntolerances: {tolerances}\npoints: {{P: 0}}\n{area}",
        units="in",
        top=f"build-ups: {{terrace: {build_up}}}\n",
    )


def _wanted(plan: Plan, stage: str) -> Length:
    return target(yard(plan), point(plan, "P"), stage).wanted.height


def test_each_surface_lies_below_the_finish_by_what_lies_on_it() -> None:
    plan = _built(LAYERS)
    assert yard(plan).stages == ("subgrade", "base", "bedding", "finish")
    assert [_wanted(plan, stage) for stage in yard(plan).stages] == [
        inch("-9 3/8"), inch("-3 3/8"), inch("-2 3/8"), inch("0"),
    ]  # fmt: skip


def test_a_loose_layer_stands_higher_unrolled_and_is_a_stage_of_its_own() -> None:
    plan = _built(f"{{layers: {LAYERS}, loose: {{base: 7 1/2}}}}")
    assert yard(plan).stages == ("subgrade", "base loose", "base", "bedding", "finish")
    assert _wanted(plan, "base loose") == inch("-1 7/8")
    assert _wanted(plan, "base") == inch("-3 3/8")
    assert _wanted(plan, "subgrade") == inch("-9 3/8")


def test_units_are_set_high_and_seated_to_the_finish() -> None:
    plan = _built(f"{{layers: {LAYERS}, set high: 3/8}}")
    assert yard(plan).stages == ("subgrade", "base", "bedding", "paver set", "finish")
    assert _wanted(plan, "paver set") == inch("3/8")


def test_the_sum_says_what_lies_above_and_that_it_is_not_rolled_yet() -> None:
    plan = _built(f"{{layers: {LAYERS}, loose: {{base: 7 1/2}}}}")
    usual = Notation.usual(Units.IN)
    assert working(yard(plan), point(plan, "P"), "base loose", usual)[1] == (
        "P base loose = finish 0 − 2 3/8 in paver − 1 in bedding + 1 1/2 in until base is down = −1 7/8 in"
    )


def test_a_loose_stage_without_its_own_tolerance_has_that_of_its_layer() -> None:
    loose = f"{{layers: {LAYERS}, loose: {{base: 7 1/2, bedding: 1 1/4}}, set high: 3/8}}"
    plan = _built(loose)
    tolerances = yard(plan).tolerances
    assert tolerances["base loose"] == tolerances["base"]
    assert tolerances["paver set"] == tolerances["finish"]
    own = _built(loose, tolerances=TOLERANCES.replace("}}", "}, base loose: 1, paver set: 3/4}"))
    assert yard(own).tolerances["base loose"].high == inch("1")
    assert yard(own).tolerances["paver set"].high == inch("3/4")


def test_an_area_with_other_thicknesses_grows_loose_in_step() -> None:
    plan = _built(f"{{layers: {LAYERS}, loose: {{base: 7 1/2}}}}", "layers: {base: 8}\n")
    assert _wanted(plan, "subgrade") == inch("-11 3/8")
    assert _wanted(plan, "base loose") == inch("-3 3/8") + inch("2")  # 8 in of base are spread 10 in high


def test_an_area_without_a_build_up_has_its_finish_alone() -> None:
    plan = plan_with(
        f"build-up: drive\ntolerances: {TOLERANCES}\npoints: {{P: 0}}",
        units="in",
        top=f"build-ups: {{drive: {{layers: {LAYERS}, past edge: 10}}, walk: [{{slab: 2}}, {{base: 4}}]}}\n",
        after="walk: {build-up: walk, tolerances: {base: 1, subgrade: 1}, points: {W: 0}}\nlawn: {points: {L: 0}}",
    )
    drive, walk, lawn = (plan.areas[name].build_up for name in ("yard", "walk", "lawn"))
    assert drive is not None
    assert walk is not None
    assert (drive.dig, walk.dig, drive.past_edge, walk.past_edge) == (inch("9 3/8"), inch("6"), inch("10"), inch("0"))
    assert lawn is None
    assert plan.areas["lawn"].stages == ("finish",)


@given(
    thickness=st.lists(st.integers(1, 400), min_size=1, max_size=6),
    extra=st.lists(st.integers(0, 100), min_size=6, max_size=6),
    finish=st.integers(-3000, 3000),
)
@examples(40)
def test_surfaces_follow_the_finish_and_the_dig_is_the_sum_of_the_layers(
    thickness: list[int], extra: list[int], finish: int
) -> None:
    layers = [f"L{number}" for number in range(len(thickness))]
    written = ", ".join(f"{{{name}: {thick}}}" for name, thick in zip(layers, thickness, strict=True))
    loose = {name: thick + more for name, thick, more in zip(layers, thickness, extra, strict=False) if more}
    spread = ", ".join(f"{name}: {high}" for name, high in loose.items())
    stages = ["finish", "subgrade", *layers[1:]]
    plan = plan_with(
        f"build-up: b\ntolerances: {{{', '.join(f'{stage}: 5' for stage in stages)}}}\npoints: {{P: {finish}}}",
        top=f"build-ups: {{b: {{layers: [{written}], loose: {{{spread}}}}}}}\n",
    )
    area = yard(plan)
    assert _wanted(plan, "finish") == mm(finish)
    assert _wanted(plan, "subgrade") == mm(finish - sum(thickness))
    for place, name in enumerate(layers[1:], 1):
        assert _wanted(plan, name) == mm(finish - sum(thickness[:place]))
    for name, high in loose.items():
        below = mm(finish - sum(thickness[: layers.index(name) + 1]))
        assert _wanted(plan, f"{name} loose") - below == mm(high)
    assert area.build_up is not None
    assert area.build_up.dig == mm(sum(thickness))
    # What is loose stands directly before what it is rolled to.
    for name in loose:
        rolled = "finish" if name == layers[0] else name
        assert area.stages.index(f"{name} loose") + 1 == area.stages.index(rolled)


# Rounded for the plan ----------------------------------------------------------------------------------------


@given(
    finish=st.integers(-90_000, 90_000).map(lambda number: Fraction(number, 10)), step=st.sampled_from([1, 2, 5, 10])
)
@examples(40)
def test_rounded_targets_are_off_by_half_a_step_at_most(finish: Fraction, step: int) -> None:
    plan = plan_with(f"points: {{P: {float(finish)}}}", top=f"round targets: {step}\n")
    found = point(plan, "P")
    exact = found.exact or found.finish
    assert exact.height == mm(finish)
    assert (found.finish.metres * 1000 / step).denominator == 1
    assert abs(found.finish.above(exact)) <= mm(Fraction(step, 2))


def test_what_is_counted_from_a_rounded_point_counts_from_its_exact_height() -> None:
    # Rounding is never piled up.
    chain = "points: {P: {from: DOOR, fall: 2%, over: 120}, Q: {from: P, fall: 2%, over: 120}}"
    plan = plan_with(chain, top="round targets: 5\n")
    assert (point(plan, "P").finish.height, point(plan, "Q").finish.height) == (mm(0), mm(-5))
    assert point(plan, "Q").exact is not None


@pytest.mark.parametrize(("way", "sign"), [("fall", -1), ("rise", 1)])
def test_a_jobs_own_pitch_stands_wherever_it_is_named(way: str, sign: int) -> None:
    plan = plan_with(
        f"points: {{P: {{from: DOOR, {way}: pitch, over: 10 ft}}}}", units="in", top="pitch: 1 in per 5 ft\n"
    )
    assert point(plan, "P").finish.height == inch("2") * sign
    assert "10 ft × 1 in per 5 ft" in point(plan, "P").working
