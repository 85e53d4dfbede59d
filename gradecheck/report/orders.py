"""What is to be ordered and hauled, as lines and as rows for other programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradecheck.checks.dig import Factor
from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import FOOT
from gradecheck.plan.stone import TON, YARD_3
from gradecheck.report.checks import told_over_dig
from gradecheck.report.stone_text import area_text, stone_text, volume_text
from gradecheck.state.orders import AreaOrders


def order_lines(found: AreaOrders, notation: Notation) -> Iterator[str]:
    """The area's name, and what it takes."""
    units = notation.units
    yield found.area
    if not found.has_outline:
        yield "  no outline in the plan: give “outline:” to have quantities"
    for each in found.layers:
        text = stone_text(each.loose, each.mass, each.money, units)
        yield f"  order {each.name}: {text} loose, over {area_text(each.area, units)}"
    for other in found.not_ordered:
        over = f"{volume_text(other.volume, units)} in place, over {area_text(other.area, units)}"
        yield f"  not ordered: {other.name}, {over} ({other.why})"
    if found.soil is not None:
        yield f"  haul: {volume_text(found.soil.loose, units)} of soil, loose"
    if found.over_dug is not None:
        yield f"  over-dug: {told_over_dig(found.over_dug, notation).says}"
    factors = [(each.name, factor) for each in found.layers for factor in each.factors]
    factors += [("haul", factor) for factor in (found.soil.factors if found.soil else ())]
    if factors:
        yield "  worked out with:"
    for factor in dict.fromkeys(factor for _, factor in factors):
        used = ", ".join(dict.fromkeys(name for name, each in factors if each == factor))
        yield f"    {factor.name} {_number(factor, imperial=units.imperial)} ({used}): {factor.source}"


def _number(factor: Factor, *, imperial: bool) -> str:
    """A factor in the units that stone is sold in."""
    value, unit, sign = factor.value, f" {factor.unit}" if factor.unit else "", ""
    if factor.unit == "kg/m^3":
        value, unit = (value * YARD_3 / TON, " ton/yd³") if imperial else (value / 1000, " t/m³")
    elif factor.unit == "$/kg":
        (value, unit), sign = ((value * TON, "/ton") if imperial else (value * 1000, "/t")), "$"
    elif factor.unit == "m" and imperial:
        value, unit = value / FOOT, " ft"
    elif factor.unit == "$/m^3":
        (value, unit), sign = ((value * YARD_3, "/yd³") if imperial else (value, "/m³")), "$"
    return f"{sign}{float(value):.4g}{unit}"


def order_rows(found: AreaOrders) -> Iterator[dict[str, object]]:
    """The same as rows: cubic metres, kilograms, money, and every factor with its source."""
    for each in found.layers:
        yield _row(found.area, each.name, each.loose, each.factors, each.mass, each.money)
    for other in found.not_ordered:
        yield {**_row(found.area, other.name, other.volume, ()), "not ordered": other.why}
    if found.soil is not None:
        yield _row(found.area, "soil to haul", found.soil.loose, found.soil.factors)
    if (filling := found.filling) is not None:
        yield _row(found.area, "over-dig", filling.volume, filling.factors, filling.mass, filling.money)


def _row(
    area: str,
    what: str,
    volume: Fraction,
    factors: Sequence[Factor],
    mass: Fraction | None = None,
    money: Fraction | None = None,
) -> dict[str, object]:
    return {
        "area": area,
        "what": what,
        "m3": float(volume),
        "kg": float(mass) if mass is not None else None,
        "money": float(money) if money is not None else None,
        "factors": [
            {"name": each.name, "value": float(each.value), "unit": each.unit, "source": each.source}
            for each in factors
        ],
    }
