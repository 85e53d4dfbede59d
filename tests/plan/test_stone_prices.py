"""Stone is sold by the ton and by the yard: a price in either is what the order costs, by weight or by volume."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.checks.dig import fill, order
from gradecheck.measure.quantities import inches
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from tests.measure.outside import everything

WEIGHTS = {"kg": "kilogram", "t": "tonne", "lb": "pound", "ton": "US_ton"}
VOLUMES = {f"{name}{power}": f"{name}**3" for name in ("yd", "m", "ft") for power in ("^3", "3", "³")}


def plan_with(stone: str) -> Plan:
    text = f"job: Larch Street\nunits: in\nbenchmarks: {{DOOR: 0}}\ntolerances: {{finish: 1/8}}\nstone: {{{stone}}}\n"
    return read_plan(f"{text}areas:\n  walk: {{points: {{W1: -1}}}}\n", "job.yaml")


def _in(unit: str, number: Fraction, wanted: str) -> Fraction:
    return Fraction(everything().Quantity(number, everything()(unit).units).to(wanted).magnitude)


stones = st.tuples(
    st.sampled_from(("", "density: 140 lb/ft^3, ", "density: 1.5 ton/yd^3, ", "density: 2.1 t/m3, ")),
    st.sampled_from(("", "loose: no, ", "loose: yes, ")),
    st.sampled_from(("", "compaction: 1.3, ", "waste: 10%, ")),
).map("".join)


@settings(max_examples=30)
@given(stones, st.sampled_from(sorted(VOLUMES)), st.integers(1, 99_999))
def test_a_price_by_volume_is_paid_for_every_loose_yard_that_is_ordered(said: str, unit: str, cents: int) -> None:
    stone = plan_with(f"{said}price: {cents // 100}.{cents % 100:02d} $/{unit}").stone
    assert stone is not None
    ordered = order("base", Fraction(30), inches(6), stone)
    assert ordered.money == _in("m**3", ordered.loose, VOLUMES[unit]) * Fraction(cents, 100)
    filled = fill(Fraction(7, 3), stone)
    assert filled.money == _in("m**3", Fraction(7, 3) * stone.compaction, VOLUMES[unit]) * Fraction(cents, 100)


@settings(max_examples=20)
@given(stones, st.sampled_from(sorted(WEIGHTS)), st.integers(1, 99_999))
def test_a_price_by_weight_is_paid_for_the_weight_that_is_ordered(said: str, unit: str, cents: int) -> None:
    stone = plan_with(f"{said}price: {cents // 100}.{cents % 100:02d} $/{unit}").stone
    assert stone is not None
    ordered = order("base", Fraction(30), inches(6), stone)
    assert ordered.money == _in("kg", ordered.mass, WEIGHTS[unit]) * Fraction(cents, 100)


def test_fifty_seven_dollars_a_yard_for_two_yards_is_114() -> None:
    stone = plan_with("price: 57 $/yd^3, waste: 0%, compaction: 1.25").stone
    assert stone is not None
    yard = Fraction(9144, 10_000) ** 3
    ordered = order("base", 2 * yard / Fraction(5, 4) / inches(6).metres, inches(6), stone)
    assert ordered.money == 114
    assert "price" in stone.given


@pytest.mark.parametrize("written", ["57 $/yd^3", "57$/yd3", "57 $ / yd³", "$57/yd^3", "$ 57 / yd3", "57.00 $/yd^3"])
def test_the_usual_spellings_of_a_price_by_the_yard(written: str) -> None:
    assert plan_with(f"price: {written}").stone == plan_with("price: 57 $/yd^3").stone


NO_PRICES = (
    *("57", "$57", "57 $", "57 $/yd", "57 $/yd^2", "57 yd^3", "57 $/in/ft", "57,50 $/t", "$57 $/t", "57 /yd^3"),
    *("57 $/hour", "free"),
)


@pytest.mark.parametrize("written", NO_PRICES)
def test_what_is_no_price_is_refused_with_one_of_each_kind(written: str) -> None:
    with pytest.raises(PlanProblemsError) as refused:
        plan_with(f'price: "{written}"')
    (problem,) = refused.value.problems
    assert "is not a price; write it like $38/ton or $57/yd^3 (also t, kg, lb, m^3)." in problem.says


@pytest.mark.parametrize("written", ["0 $/yd^3", "-57 $/yd^3", "0 $/ton", "-0.01 $/lb"])
def test_a_price_is_more_than_nothing(written: str) -> None:
    with pytest.raises(PlanProblemsError, match=r"This must be more than zero\."):
        plan_with(f"price: {written}")
