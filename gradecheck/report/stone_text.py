"""Areas, volumes and weights of stone as people say them, the same beside an answer as in the evening."""

from __future__ import annotations

from fractions import Fraction

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT
from gradecheck.plan.stone import POUND, TON, YARD_3


def stone_text(volume: Fraction, mass: Fraction, money: Fraction | None, units: Units) -> str:
    """``0.63 yd³, 1.19 ton, $45.39``: a volume of stone, its weight, and its price where it is known."""
    return f"{volume_text(volume, units)}, {mass_text(mass, units)}{money_text(money)}"


def money_text(money: Fraction | None) -> str:
    """``, $45.39`` behind a quantity; nothing where the price is not known."""
    return f", ${float(money):,.2f}" if money is not None else ""


def area_text(area: Fraction, units: Units) -> str:
    """Square feet or square metres."""
    return f"{float(area / FOOT**2):.1f} ft²" if units.imperial else f"{float(area):.2f} m²"


def volume_text(volume: Fraction, units: Units) -> str:
    """Cubic yards, cubic feet below half a yard, or cubic metres."""
    if not units.imperial:
        return f"{float(volume):.3f} m³"
    yards = volume / YARD_3
    return f"{float(yards):.2f} yd³" if yards >= Fraction(1, 2) else f"{float(yards * 27):.1f} ft³"


def mass_text(mass: Fraction, units: Units) -> str:
    """Short tons, pounds below a tenth of one, or tonnes."""
    if not units.imperial:
        return f"{float(mass / 1000):.2f} t"
    return f"{float(mass / TON):.2f} ton" if mass >= TON / 10 else f"{float(mass / POUND):.0f} lb"
