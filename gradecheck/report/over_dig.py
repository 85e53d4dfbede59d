"""What is over-dug so far, short enough to stand beside an answer."""

from __future__ import annotations

from fractions import Fraction

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT
from gradecheck.plan.model import Plan


def over_dug_text(volume: Fraction, plan: Plan, *, wide: bool) -> str:
    """``over-dug 1.2 ft³``, where there is room with what the stone to fill it costs."""
    imperial = plan.notation.units in (Units.IN, Units.FT_IN, Units.FT)
    text = f"over-dug {float(volume / FOOT**3):.1f} ft³" if imperial else f"over-dug {float(volume):.3f} m³"
    if wide and plan.stone is not None and plan.stone.price is not None:
        text += f", {float(volume * plan.stone.in_place * plan.stone.price):,.2f} $"
    return text
