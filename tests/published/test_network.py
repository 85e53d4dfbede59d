"""A level network's least squares adjustment against a published worked example."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation
from gradecheck.measure.typed import read_length
from gradecheck.survey.circuit import Leg
from gradecheck.survey.network import Adjustment, adjust
from tests.published.sources import VERIFIED, Source, agrees, in_feet, of

LITE = Source(
    "Open Access Surveying Library, Least Squares Lite, ch. B and D; benchmark elevations recovered from its "
    "adjusted differences and residuals",
    VERIFIED,
)
# It prints s0 0.028, s(R) 0.014 and s(Q-R) 0.017 for all eight, which come of using the sum of squares of seven.
LITE_CORRECTED = Source("Open Access Surveying Library, Least Squares Lite, ch. D, by the arithmetic", VERIFIED)

BENCHMARKS = {"A": "806.52", "B": "818.32", "C": "820.12", "D": "824.04"}
SIGHTS = [
    ("A", "Q", "8.91"),
    ("B", "Q", "-2.92"),
    ("C", "Q", "-4.67"),
    ("D", "Q", "-8.66"),
    ("A", "R", "-3.56"),
    ("C", "R", "-17.12"),
    ("D", "R", "-21.10"),
    ("Q", "R", "-12.47"),
]


def _adjusted(sights: int) -> Adjustment:
    known = {mark: Elevation(read_length(text, Units.FT).metres) for mark, text in BENCHMARKS.items()}
    legs = [Leg(start, end, read_length(rise, Units.FT)) for start, end, rise in SIGHTS[:sights]]
    return adjust(known, legs)


def _feet(metres: float | None) -> Fraction:
    assert metres is not None
    return Fraction(metres) / Fraction("0.3048")


def _squares(adjustment: Adjustment) -> Fraction:
    return sum((in_feet(leg.residual) ** 2 for leg in adjustment.legs), Fraction(0))


@pytest.mark.parametrize(
    ("sights", "q", "r", "squares", "dof", "sigma0"),
    [
        pytest.param(7, "815.4150", "802.9667", "0.004767", 5, "0.0309", id=of("LS-1a", LITE)),
        pytest.param(8, "815.4184", "802.9621", "0.005063", 6, "0.02905", id=of("LS-1b", LITE_CORRECTED)),
    ],
)
def test_the_unknowns_and_the_scatter(sights: int, q: str, r: str, squares: str, dof: int, sigma0: str) -> None:
    adjustment = _adjusted(sights)
    elevations = {mark.mark: in_feet(mark.elevation.height) for mark in adjustment.marks}
    assert elevations.keys() == {"Q", "R"}
    assert agrees(elevations["Q"], q)
    assert agrees(elevations["R"], r)
    assert agrees(_squares(adjustment), squares)
    assert adjustment.dof == dof
    assert agrees(_feet(adjustment.sigma0), sigma0)


def test_ls_1a_residuals() -> None:
    """LS-1a.

    Open Access Surveying Library, Least Squares Lite, ch. B and D; benchmark elevations recovered from its adjusted
    differences and residuals [VERIFIED].
    """
    printed = ["-0.015", "0.015", "-0.035", "0.035", "0.007", "-0.033", "0.027"]
    for leg, residual in zip(_adjusted(7).legs, printed, strict=True):
        assert agrees(in_feet(leg.residual), residual), leg.leg.name


def test_ls_1b_deviations() -> None:
    """LS-1b: Open Access Surveying Library, Least Squares Lite, ch. D, by the arithmetic [VERIFIED]."""
    adjustment = _adjusted(8)
    deviation = {mark.mark: _feet(mark.deviation) for mark in adjustment.marks}
    assert agrees(deviation["Q"], "0.0133")
    assert agrees(deviation["R"], "0.0149")
    link = adjustment.legs[-1]
    assert agrees(in_feet(link.rise), "-12.456")
    assert agrees(_feet(link.deviation), "0.0176")


def test_ls_1b_deviations_follow_from_the_inverse_of_the_normal_equations() -> None:
    """LS-1b.

    Open Access Surveying Library, Least Squares Lite, ch. D, by the arithmetic [VERIFIED]. The inverse is [[4, 1],
    [1, 5]] / 19; for R less Q that is 4 + 5 - 2 over 19.
    """
    adjustment = _adjusted(8)
    assert adjustment.sigma0 is not None
    of_q, of_r = (mark.deviation for mark in adjustment.marks)
    assert of_q == pytest.approx(adjustment.sigma0 * sqrt(4 / 19))
    assert of_r == pytest.approx(adjustment.sigma0 * sqrt(5 / 19))
    assert adjustment.legs[-1].deviation == pytest.approx(adjustment.sigma0 * sqrt(7 / 19))
