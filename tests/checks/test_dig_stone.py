"""The stone that fills a hole, orders and loads: every factor is used once and told."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.dig import fill, haul, loads, order
from gradecheck.codec import decode, encode
from gradecheck.ground.outline import Outline
from gradecheck.measure.quantities import metres
from gradecheck.measure.units import read_quantity
from gradecheck.plan.stone import SAND, SAND_SOURCES, SOURCES, Stone
from tests.ground.drawing import ring

WALK = Outline(ring((0, 0), (6, 0), (6, 4), (0, 4)))
ORDERED = Stone(
    density=read_quantity("1.5 ton/yd^3", "kg/m^3"),
    price=read_quantity("38 $/ton", "$/kg"),
    given=("density", "price"),
)


# Stone and money ----------------------------------------------------------------------------------------------


def test_a_loose_density_needs_compaction_and_a_compacted_one_does_not() -> None:
    loose = Stone(density=Fraction(1600), loose=True, compaction=Fraction(5, 4))
    compacted = replace(loose, density=Fraction(2000), loose=False)
    assert loose.in_place == compacted.in_place == 2000
    assert fill(Fraction(3), loose).mass == fill(Fraction(3), compacted).mass == 6000


@pytest.mark.parametrize("loose", [True, False])
def test_the_weight_is_the_volume_times_each_factor_that_is_told_once(loose: bool) -> None:
    stone = replace(ORDERED, loose=loose)
    found = fill(Fraction(7, 3), stone)
    assert found.money == Fraction(7, 3) * prod(factor.value for factor in found.factors)
    assert len({factor.name for factor in found.factors}) == len(found.factors)
    assert ("loose over compacted" in [factor.name for factor in found.factors]) is loose


@pytest.mark.parametrize("loose", [True, False])
def test_an_order_is_area_times_thickness_times_each_factor_once(loose: bool) -> None:
    stone = replace(ORDERED, loose=loose, waste=Fraction(7, 100))
    ordered = order("base", WALK, metres(Fraction(1, 5)), stone, metres(Fraction(1, 2)))
    value = {factor.name: factor.value for factor in ordered.factors}
    density = value["density, loose" if loose else "density, compacted"]
    in_place = 24 * value["carried past the edge"] * Fraction(1, 5)
    assert len(value) == len(ordered.factors)
    assert ordered.area == 35
    assert ordered.compacted == in_place == 7
    assert ordered.loose == in_place * value["loose over compacted"] * value["waste"]
    assert ordered.mass == in_place * density * value["waste"] * (value["loose over compacted"] if loose else 1)
    assert ordered.money == ordered.mass * value["price"]


def test_without_a_price_there_is_no_money_and_no_factor_for_it() -> None:
    found = fill(Fraction(1), Stone())
    assert found.money is None
    assert "price" not in [factor.name for factor in found.factors]
    assert order("base", WALK, metres(1), Stone()).money is None


def test_what_fills_a_hole_has_no_waste_and_what_is_ordered_has() -> None:
    volume = Fraction(24)
    ordered = order("base", WALK, metres(1), ORDERED)
    assert ordered.compacted == volume
    assert ordered.mass == fill(volume, ORDERED).mass * Fraction(105, 100)


def test_an_area_alone_is_ordered_as_it_is_and_that_is_told() -> None:
    ordered = order("bedding", Fraction(24), metres(Fraction(3, 100)), SAND, metres(1))
    assert ordered.area == 24
    assert ordered.factors[0].source == "not added: the outline is not known"


def test_every_factor_says_whether_the_plan_or_a_usual_number_gave_it() -> None:
    sources = {factor.name: factor.source for factor in order("base", WALK, metres(1), ORDERED).factors}
    assert sources["density, loose"] == sources["price"] == "the plan"
    assert sources["loose over compacted"] == "a contractor's published method: 5 in placed make 4 in compacted"
    assert sources["waste"] == "suppliers' pages: order 5 to 10% more (common practice, no source)"
    assert haul(Fraction(1), ORDERED).factors[0].source == "an engineering site's swell factors: loam 25%"
    assert {factor.source for factor in order("bedding", WALK, metres(1), SAND).factors[1:]} == {
        "ordered by the thickness it is screeded to, as a published order is worked",
        "a gravel pit's page: sand or gravel 100 lb/ft^3 loose",
        "a supplier's rule: 1 yd^3 covers 300 ft^2 at 1 in, where 324 ft^2 would be exact",
    }


def test_every_usual_number_has_a_source() -> None:
    numbers = {"density", "price", "compaction", "waste", "swell"}
    assert set(SOURCES) == set(SAND_SOURCES) == numbers
    assert all(Stone().source(field) and SAND.source(field) for field in numbers)


@pytest.mark.parametrize("stone", [Stone(), SAND, ORDERED])
def test_stone_is_kept_exactly_with_the_plan(stone: Stone) -> None:
    assert decode(Stone, encode(stone)) == stone


@pytest.mark.parametrize(
    ("field", "number"),
    [("density", 0), ("density", -1), ("compaction", Fraction(9, 10)), ("waste", -1), ("swell", -1), ("price", -1)],
)
def test_stone_that_cannot_be_is_refused(field: str, number: Fraction) -> None:
    with pytest.raises(ValueError, match=r"stone|nothing"):
        replace(Stone(), **{field: Fraction(number)})  # type: ignore[arg-type]


# Soil and trucks ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("loose", "trips"), [("0", 0), ("0.001", 1), ("7", 1), ("7.001", 2), ("14", 2)])
def test_a_truck_that_is_part_full_is_a_load_and_a_full_one_is_no_more(loose: str, trips: int) -> None:
    assert loads(Fraction(loose), Fraction(7)) == trips


@pytest.mark.parametrize("truck", [0, -7])
def test_a_truck_that_holds_nothing_is_refused(truck: int) -> None:
    with pytest.raises(ValueError, match="truck holds"):
        loads(Fraction(1), Fraction(truck))


@given(st.fractions(0, 500, max_denominator=20), st.fractions(0, 1, max_denominator=20))
def test_soil_swells_once_and_its_loads_hold_it_with_under_one_to_spare(bank: Fraction, swell: Fraction) -> None:
    hauled = haul(bank, Stone(swell=swell), Fraction(6))
    assert hauled.loose == bank * (1 + swell)
    assert hauled.loads is not None
    assert 0 <= hauled.loads * 6 - hauled.loose < 6
    assert [factor.value for factor in hauled.factors] == [1 + swell, 6]


def test_without_a_truck_no_loads_are_counted() -> None:
    assert haul(Fraction(5), Stone()).loads is None
