"""What is over-dug so far, short enough to stand beside an answer."""

from __future__ import annotations

from fractions import Fraction

from gradecheck.checks.dig import fill
from gradecheck.plan.model import Plan
from gradecheck.plan.stone import Stone
from gradecheck.report.stone_text import money_text, volume_text


def over_dug_text(volume: Fraction, plan: Plan, *, wide: bool) -> str:
    """``over-dug 1.2 ft³``, where there is room with what the stone to fill it costs."""
    money = fill(volume, plan.stone or Stone()).money if wide else None
    return f"over-dug {volume_text(volume, plan.notation.units)}{money_text(money)}"
