"""Slopes and compound quantities are exact, of the right kind, and agree with the published unit definitions."""

from __future__ import annotations

import re
from fractions import Fraction
from math import isclose, radians, tan

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.measure.typed import LENGTH_UNITS
from gradecheck.measure.units import NAMES, UnitProblemError, read_quantity, read_slope, registry
from tests.measure.outside import everything
from tests.strategies import slope_texts
from tests.tables import each_of

LENGTHS = ("in", "ft", "yd", "mm", "cm", "m")
WEIGHTS = ("kg", "t", "lb", "ton")


def test_the_two_lists_of_units_agree_with_each_other() -> None:
    for name in LENGTHS:
        assert read_quantity(f"1 {name}", "m") == LENGTH_UNITS[name], name


def test_what_has_no_dimension_elsewhere_is_a_currency_here() -> None:
    assert {*NAMES} == {*LENGTHS, *WEIGHTS, "$"}


@pytest.mark.parametrize("kind", [LENGTHS, WEIGHTS], ids=["lengths", "weights"])
def test_every_factor_is_the_one_of_pints_full_registry(kind: tuple[str, ...]) -> None:
    for name in kind:
        for other in kind:
            expected = everything().Quantity(Fraction(1), name).to(other).magnitude
            assert read_quantity(f"1 {name}", other) == expected, f"{name} in {other}"


@given(
    st.fractions(0, 9999, max_denominator=1000).filter(lambda number: 10**6 % number.denominator == 0),
    st.sampled_from(WEIGHTS),
    st.sampled_from(LENGTHS),
    st.sampled_from((1, 2, 3)),
    st.sampled_from(WEIGHTS),
    st.sampled_from(LENGTHS),
)
def test_a_weight_by_length_area_or_volume_converts_as_pint_does(
    number: Fraction, weight: str, length: str, power: int, wanted_weight: str, wanted_length: str
) -> None:
    text = f"{float(number):.6f}".rstrip("0").rstrip(".")
    expected = (
        everything().Quantity(number, f"{weight}/{length}**{power}").to(f"{wanted_weight}/{wanted_length}**{power}")
    )
    mark = {1: "", 2: "^2", 3: "³"}[power]
    found = read_quantity(f"{text} {weight}/{length}{mark}", f"{wanted_weight}/{wanted_length}{mark}")
    assert found == expected.magnitude


@pytest.mark.parametrize(
    ("text", "wanted", "number"),
    [
        ("1.5 ton/yd^3", "ton/yd^3", Fraction(3, 2)),
        ("1.6 t/m^3", "kg/m³", Fraction(1600)),
        ("38 $/ton", "$/lb", Fraction(19, 1000)),
        ("42 $/yd^3", "$/ft³", Fraction(42, 27)),
        ("1.6t/m³", "t/m^3", Fraction(8, 5)),
        ("-2 in", "in", Fraction(-2)),
        ("-1-1/2 in", "in", Fraction(-3, 2)),
        ("+1 1/2 in", "in", Fraction(3, 2)),
        ("3/16 in/ft", "m/m", Fraction(1, 64)),
        ("1-1/2 in", "in", Fraction(3, 2)),
    ],
)
def test_a_quantity_of_the_job_file_is_read_exactly(text: str, wanted: str, number: Fraction) -> None:
    assert read_quantity(text, wanted) == number


@pytest.mark.parametrize(
    ("text", "wanted", "told"),
    [
        ("1.5 t/m^2", "t/m^3", "“1.5 t/m^2” is not a quantity in t/m^3; check its units."),
        ("42 $/yd^3", "$/ton", "“42 $/yd^3” is not a quantity in $/ton; check its units."),
        (
            "3 furlong",
            "m",
            "“furlong” is not a unit known here; use one of in, ft, yd, mm, cm, m, kg, t, lb, ton, $.",
        ),
        ("3", "m", "“3” is not a number with a unit; write it like 1.5 m."),
        ("m", "m", "“m” is not a number with a unit; write it like 1.5 m."),
        ("1.2.3 ft", "m", "“1.2.3” in “1.2.3 ft” is not a number; write it like 1.5 m."),
        ("1 000 ft", "m", "“1 000” in “1 000 ft” is not a number; write it like 1.5 m."),
        ("1/0 ft", "m", "“1/0” in “1/0 ft” is not a number; write it like 1.5 m."),
    ],
)
def test_a_quantity_of_another_kind_is_refused_in_words(text: str, wanted: str, told: str) -> None:
    with pytest.raises(UnitProblemError, match=f"^{re.escape(told)}$"):
        read_quantity(text, wanted)


@pytest.mark.parametrize(
    "unit",
    [
        "M",
        "MM",
        "pt",
        "min",
        "rod",
        "survey_foot",
        "10**10",
        "m**2",
        "m^9",
        "m^3/m^2/m",
        "(m)",
        "m*m",
        "ft in",
        "㎜",
        "",
    ],
)
def test_pint_sees_only_units_of_the_list(unit: str) -> None:
    with pytest.raises(UnitProblemError):
        read_quantity(f"3 {unit}", "m")


def test_the_registry_knows_nothing_it_was_not_told() -> None:
    for stranger in ("furlong", "survey_foot", "liter", "minute", "degree"):
        with pytest.raises(pint.UndefinedUnitError):
            registry().parse_units(stranger)


@each_of(
    ("text", "ratio"),
    [
        ("3/16 in/ft", Fraction(1, 64)),
        ("0.1875 in/ft", Fraction(1, 64)),
        ("2%", Fraction(1, 50)),
        ("2 %", Fraction(1, 50)),
        ("1.5 percent", Fraction(3, 200)),
        ("1/2%", Fraction(1, 200)),
        ("1:48", Fraction(1, 48)),
        ("-1:48", Fraction(-1, 48)),
        ("\N{MINUS SIGN}1 : 48", Fraction(-1, 48)),
        ("1 : 48", Fraction(1, 48)),
        ("1:66.5", Fraction(2, 133)),
        ("1 in per 5 ft", Fraction(1, 60)),
        ("20 mm/m", Fraction(1, 50)),
        ("1-1/2 in per 10 ft", Fraction(1, 80)),
        ("5 cm per 2.5 m", Fraction(1, 50)),
        ("0%", Fraction(0)),
        ("\N{MINUS SIGN}2%", Fraction(-1, 50)),
        ('1/4"/ft', Fraction(1, 48)),
        ('1/4" per ft', Fraction(1, 48)),
        ("1/4 in per ft", Fraction(1, 48)),
        ("1/4” per ft", Fraction(1, 48)),
        ("1/4″/ft", Fraction(1, 48)),
        ("1/4’’ per ft", Fraction(1, 48)),
        ("1/4 in. per ft.", Fraction(1, 48)),
        ("3 in. per 10’", Fraction(1, 40)),
        ("1/4 inch per foot", Fraction(1, 48)),
        ("1 1/2 inches per 10 feet", Fraction(1, 80)),
        ("1/4 in/foot", Fraction(1, 48)),
        ("1/4 per ft", Fraction(1, 48)),
        ("1/4 per foot", Fraction(1, 48)),
        ("1/4/ft", Fraction(1, 48)),
        ("1 1/4 per ft", Fraction(5, 48)),
        ("20 mm per m", Fraction(1, 50)),
        ("1/48", Fraction(1, 48)),
        ("1/50", Fraction(1, 50)),
        ("1/12", Fraction(1, 12)),
        ("2/100", Fraction(1, 50)),
        ("15 ‰", Fraction(15, 1000)),
        ("15‰", Fraction(15, 1000)),
        ("-7.5 ‰", Fraction(-75, 10_000)),
        ("-1 1/2%", Fraction(-15, 1000)),
        ("-1/4 in/ft", Fraction(-1, 48)),
    ],
)
def test_a_slope_is_read_exactly_in_every_form(text: str, ratio: Fraction) -> None:
    assert read_slope(text).ratio == ratio


@given(slope_texts())
def test_any_slope_a_job_file_writes_means_its_exact_ratio(drawn: tuple[str, Fraction]) -> None:
    text, ratio = drawn
    assert read_slope(text).ratio == ratio


@given(st.integers(-5999, 5999))
def test_an_angle_is_its_tangent_to_twelve_places(hundredths: int) -> None:
    sign, size = ("-" if hundredths < 0 else ""), abs(hundredths)
    slope = read_slope(f"{sign}{size // 100}.{size % 100:02d} deg")
    assert isclose(slope.ratio, tan(radians(hundredths / 100)), rel_tol=0, abs_tol=1e-12)


@each_of(
    "text",
    [
        "",
        "2",
        "%",
        "steep",
        "2 kg",
        "2 kg/kg",
        "1 ton/lb",
        "2 $/$",
        "2 s/s",
        "1/m",
        "1 /m",
        "2 in/in/in",
        "2 ft^2/ft^2",
        "2 yd³/ft³",
        "5 in/3 ft",
        "3/16 in",
        "3/16 kg/ft",
        "42 $/yd^3",
        "3/16 in/ft/ft",
        "3/16 in^2/ft",
        "1 in per 0 ft",
        "1 in per",
        "1:0",
        "0:0",
        "1:48:2",
        "--1:48",
        "1:-48",
        "1e3%",
        "1e1 in/ft",
        "nan %",
        "inf deg",
        "60 deg",
        "-90 deg",
        "1/0%",
        "10**10**10",
        "2% %",
        "\N{FULLWIDTH DIGIT TWO}%",
        "\N{ARABIC-INDIC DIGIT TWO}%",
        "1_0%",
        "9" * 5000 + " %",
        "1 in per 5 ft per 2 ft",
    ],
)
def test_what_is_no_slope_is_refused_with_one_sentence_that_shows_how(text: str) -> None:
    with pytest.raises(UnitProblemError) as refused:
        read_slope(text)
    says = str(refused.value)
    assert says.endswith(".")
    assert len(says) <= 120
    assert "write it like" in says


@pytest.mark.parametrize(
    ("text", "spelling"),
    [
        ("2,5%", "2.5%"),
        ("2,5 %", "2.5 %"),
        ("0,5 in/ft", "0.5 in/ft"),
        ("1:12,5", "1:12.5"),
        ("1/4", "1/4 in/ft or 1:4, whichever it is"),
        ("3/16", "3/16 in/ft or 3:16, whichever it is"),
        ("1/64", "1/64 in/ft or 1:64, whichever it is"),
        ("1 in 48", "1:48"),
        ("1 in 12.5", "1:12.5"),
        ("20 per m", "20 mm/m"),
        ("20/m", "20 mm/m"),
        ("0.25 per ft", "0.25 in/ft or 0.25 ft/ft, whichever it is"),
        ("2 per foot", "2 in/ft or 2 ft/ft, whichever it is"),
        ("2 pct", "2%"),
        ("2 per cent", "2%"),
        ("0.02", "2% (0.02 is no slope without a unit)"),
        ("2", "3/16 in/ft, 2% or 1:48"),
    ],
)
def test_a_slope_written_otherwise_is_refused_with_the_spelling_that_works(text: str, spelling: str) -> None:
    with pytest.raises(UnitProblemError) as refused:
        read_slope(text)
    assert str(refused.value) == f"“{text}” is not a slope; write it like {spelling}."


@example("1/4 in/ft")
@given(st.text(max_size=30))
def test_no_text_gives_anything_but_a_slope_or_a_sentence(text: str) -> None:
    says = "It was read."
    try:
        slope = read_slope(text)
    except UnitProblemError as refused:
        says = str(refused)
    else:
        assert abs(slope.ratio) < 10**12
    assert says.endswith(".")
