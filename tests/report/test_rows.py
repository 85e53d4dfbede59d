"""Figures that nobody reads off a rod are told in what people measure with."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import inches, millimetres
from gradecheck.report.rows import minus, rounding, show_exact_to, show_sure


@pytest.mark.parametrize(
    ("sixty_fourths", "said"),
    [
        # The coarsest of 1/16, 1/32 and 1/64 that lies within a tenth of it.
        ("4.16", "±1/16 in"),  # 0.065 in
        ("2.95", "±3/64 in"),  # 0.046 in
        ("9.86", "±5/32 in"),  # 0.154 in
        ("64", "±1 in"),
        ("8", "±1/8 in"),
        ("2", "±1/32 in"),
        ("1.3", "±0.0203 in"),
        ("0.2", "±0.00313 in"),
    ],
)
def test_an_uncertainty_is_told_as_a_fraction_near_it_or_as_a_decimal(sixty_fourths: str, said: str) -> None:
    assert show_sure(inches(Fraction(sixty_fourths) / 64), Units.IN) == said
    assert show_sure(inches(Fraction(sixty_fourths) / 64), Units.FT_IN) == said


@pytest.mark.parametrize(("mm", "units", "said"), [("1.62", Units.MM, "±1.62 mm"), ("1.62", Units.CM, "±0.162 cm")])
def test_in_other_units_it_stays_a_decimal(mm: str, units: Units, said: str) -> None:
    assert show_sure(millimetres(Fraction(mm)), units) == said


def test_a_rounding_mark_and_a_minus_do_not_run_together() -> None:
    assert minus(rounding("~-15")) == "\N{ALMOST EQUAL TO}\N{NARROW NO-BREAK SPACE}\N{MINUS SIGN}15"


@pytest.mark.parametrize(
    ("hundredths", "said"),
    [
        ("13", "1/8 in"),
        ("-13", "-1/8 in"),
        ("100", "1 in"),
        ("27", "17/64 in"),
        ("0.5", "less than 1/64 in"),
        ("0", "0 in"),
    ],
)
def test_a_mean_is_told_in_fractions_where_the_job_has_them(hundredths: str, said: str) -> None:
    for units in (Units.IN, Units.FT_IN):
        assert show_exact_to(inches(Fraction(hundredths) / 100), Notation(units, units.graduation)) == said
