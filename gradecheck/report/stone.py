"""Stone and soil in words: areas, volumes and weights as people say them, what was over-dug, what to order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradecheck.catalogue import _, count, stored
from gradecheck.checks.dig import Factor, Haul, fill, loads
from gradecheck.ground.volumes import Apart
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import FOOT
from gradecheck.plan.model import Plan
from gradecheck.plan.stone import POUND, TON, YARD_3, Stone
from gradecheck.report.rows import show_exact_to
from gradecheck.state.as_built import OverDugArea, UndercutArea
from gradecheck.state.orders import AreaOrders


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
    return _("{mass:.2f} ton", mass=float(mass / TON)) if mass >= TON / 10 else f"{float(mass / POUND):.0f} lb"


# -- over-dig


def over_dug_text(volume: Fraction, plan: Plan, *, wide: bool) -> str:
    """``over-dug 1.2 ft³``, where there is room with what the stone to fill it costs."""
    money = fill(volume, plan.stone or Stone()).money if wide else None
    return _(
        "over-dug {volume_text}{money_text}",
        volume_text=volume_text(volume, plan.notation.units),
        money_text=money_text(money),
    )


def over_dug_line(found: OverDugArea, notation: Notation) -> str:
    """What an area's dig was too deep by, in stone and money."""
    dug = found.dug
    if not dug.over:
        return _("none at {read} read", read=count(dug.read, "point"))
    worst, mean = show(dug.worst, notation, unit=True), show_exact_to(dug.mean, notation)
    says = _(
        "{over} of {read} below target, mean {mean}, worst {worst} at {where}",
        over=dug.over,
        read=dug.read,
        mean=mean,
        worst=worst,
        where=dug.where,
    )
    if found.stone is None:
        return _("{says}; no stone quantity: the plan has neither an outline nor places", says=says)
    so_far = "" if dug.read == dug.spots else _(" so far")
    stone = stone_text(found.stone.volume, found.stone.mass, found.stone.money, notation.units)
    unjoined = (
        _(" without {unjoined} that the plan has no place for", unjoined=count(dug.unjoined, "point"))
        if dug.unjoined
        else ""
    )
    return _("{says}; to fill{so_far}: {stone}{unjoined}", says=says, so_far=so_far, stone=stone, unjoined=unjoined)


def undercut_line(found: UndercutArea, notation: Notation) -> str:
    """What was ordered dug below the subgrade, by whom, and how much of it was dug: apart from over-dig."""
    ordered = ", ".join(
        _(
            "{depth} {where} by {who}",
            depth=show_exact(each.depth, notation.units, unit=True),
            where=_("at {point}", point=each.point) if each.point else _("everywhere"),
            who=each.ordered_by,
        )
        for each in found.orders
    )
    if not found.dug.over:
        return _("undercut ordered: {ordered}; none of it is read yet", ordered=ordered)
    if found.stone is None:
        dug = _("no stone quantity: the plan has neither an outline nor places")
    else:
        dug = stone_text(found.stone.volume, found.stone.mass, found.stone.money, notation.units)
    points = count(found.dug.over, "point")
    return _("undercut ordered: {ordered}; dug at {points}, to fill: {dug}", ordered=ordered, points=points, dug=dug)


# -- what to order and haul


def order_lines(found: AreaOrders, notation: Notation) -> Iterator[str]:
    """The area's name, and what it takes."""
    units = notation.units
    yield found.area
    if not found.has_outline:
        yield _("  no outline in the plan: give “outline:” to have quantities")
    for each in found.layers:
        text = stone_text(each.loose, each.mass, each.money, units)
        carried = _(": {loads}", loads=count(loads(each.loose, found.truck), "load")) if found.truck else ""
        yield _(
            "  order {name}: {text} loose, over {area} ({compacted} compacted){carried}",
            name=each.name,
            text=text,
            compacted=volume_text(each.compacted, units),
            area=area_text(each.area, units),
            carried=carried,
        )
    for other in found.not_ordered:
        over = _(
            "{volume} in place, over {area}",
            volume=volume_text(other.volume, units),
            area=area_text(other.area, units),
        )
        yield _("  not ordered: {name}, {over} ({why})", name=other.name, over=over, why=other.why)
    if found.earthwork is not None:
        yield _("  cut: {volume} in the ground", volume=volume_text(found.earthwork.cut, units))
        yield _(
            "  fill: {volume} in place, {loose} loose",
            volume=volume_text(found.earthwork.fill, units),
            loose=volume_text(found.earthwork.fill_loose, units),
        )
    if found.soil is not None:
        hauled = f": {count(found.soil.loads, 'load')}" if found.soil.loads is not None else ""
        yield _(
            "  haul: {volume} of soil, loose{loads}",
            volume=volume_text(found.soil.loose, units),
            loads=hauled,
        )
    if found.over_dug is not None:
        yield _("  over-dug: {over_dug_line}", over_dug_line=over_dug_line(found.over_dug, notation))
        if found.over_dug.undercut is not None:
            yield _("  {undercut_line}", undercut_line=undercut_line(found.over_dug.undercut, notation))
        if found.over_dug.dug.above:
            yield _(
                "  still to dig: {volume} above the subgrade, as read",
                volume=volume_text(found.over_dug.dug.above, units),
            )
    factors = [(each.name, factor) for each in found.layers for factor in each.factors]
    factors += [(_("cut and fill"), factor) for factor in (found.earthwork.factors if found.earthwork else ())]
    factors += [("haul", factor) for factor in (found.soil.factors if found.soil else ())]
    if factors:
        yield _("  worked out with:")
    for factor in dict.fromkeys(each for _name, each in factors):
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
    elif factor.unit == "m^3":
        value, unit = (value / YARD_3, " yd³") if imperial else (value, " m³")
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
        row = _row(found.area, stored("soil to haul"), found.soil.loose, found.soil.factors)
        yield row if found.soil.loads is None else {**row, "loads": found.soil.loads}
    if (moved := found.earthwork) is not None:
        yield _row(found.area, "cut", moved.cut, moved.factors)
        yield {**_row(found.area, "fill", moved.fill, moved.factors), "loose m3": float(moved.fill_loose)}
    if found.over_dug is not None and found.over_dug.dug.above:
        yield _row(found.area, stored("still to dig"), found.over_dug.dug.above, found.over_dug.dug.factors)
    if (filling := found.filling) is not None:
        yield _row(found.area, "over-dig", filling.volume, filling.factors, filling.mass, filling.money)
    undercut = found.over_dug.undercut if found.over_dug is not None else None
    if undercut is not None and (filled := undercut.stone) is not None:
        yield _row(found.area, stored("undercut, ordered"), filled.volume, filled.factors, filled.mass, filled.money)


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


# -- cut and fill between cross sections


def section_lines(between: Apart, hauled: Haul, units: Units) -> Iterator[str]:
    """Cut and fill by average end areas, each on its own line; what is cut swells on the truck."""
    carried = f": {count(hauled.loads, 'load')}" if hauled.loads is not None else ""
    yield _(
        "cut {cut} in the ground, {loose} loose{loads}",
        cut=volume_text(between.above, units),
        loose=volume_text(hauled.loose, units),
        loads=carried,
    )
    yield _("fill {fill} in place", fill=volume_text(between.below, units))


def section_rows(between: Apart, hauled: Haul) -> Iterator[dict[str, object]]:
    """The same as rows, in cubic metres."""
    cut = _row("sections", "cut", between.above, hauled.factors)
    yield {**cut, "loose m3": float(hauled.loose), "loads": hauled.loads}
    yield _row("sections", "fill", between.below, ())
