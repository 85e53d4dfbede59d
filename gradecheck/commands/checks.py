"""Commands on what was built: `checks` and `stone`."""

from __future__ import annotations

import argparse
from fractions import Fraction

from gradecheck.checks.stone import Factor, fill, haul, order
from gradecheck.commands.shared import open_session, print_json, printable
from gradecheck.intake import Refusal
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.model import Area
from gradecheck.plan.problems import suggestion
from gradecheck.plan.stone import SAND, Stone
from gradecheck.report.checks import (
    Told,
    area_text,
    line,
    stone_text,
    told_ahead,
    told_area,
    told_layout,
    told_line,
    told_over_dig,
    volume_text,
)
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_layout, check_line, next_risers, over_dug


def checks(options: argparse.Namespace) -> int:
    """Slopes, puddles, flatness, steps, squareness and over-dig of what was read; 1 when anything is out."""
    with open_session(options) as session:
        told = _line(session, options) if options.line else _told(session, options)
        if options.json:
            print_json(
                [
                    {
                        "area": area,
                        "section": each.section,
                        "verdict": each.verdict,
                        "says": each.says,
                        "limit": each.limit,
                        "source": each.source,
                    }
                    for area, each in told
                ]
            )
        else:
            print(printable("\n".join(_lines(told)) or "Nothing was read yet that can be checked."))
    return 1 if any(each.verdict == "fault" for _, each in told) else 0


def _told(session: Session, options: argparse.Namespace) -> list[tuple[str, Told]]:
    state, notation = session.state, session.plan.notation
    found: list[tuple[str, Told]] = []
    for area in chosen_areas(session, options.area):
        result = check_area(state, area.name, options.stage if options.stage in area.stages else None)
        heading = f"{area.name}, {result.stage} ({result.read} of {result.points} read)"
        if result.read or result.gauged:
            found += [(heading, each) for each in told_area(result, notation)]
        found += [(heading, told_ahead(each, notation)) for each in next_risers(state, area.name)]
        if (dug := over_dug(state, area.name)) is not None:
            found.append((heading if result.read else f"{area.name}, subgrade", told_over_dig(dug, notation)))
    if options.area is None:
        for layout in session.plan.layout.values():
            if state.record.taped(layout.name):
                found += [
                    ("layout", each) for each in told_layout(layout.name, check_layout(state, layout), notation)
                ]
    return found


def _line(session: Session, options: argparse.Namespace) -> list[tuple[str, Told]]:
    """The falls between points that the person chose, and the straightedge along them."""
    names = []
    for part in options.line.split(","):
        name = session.name_of(part)
        if name is None or name not in session.plan.area_of:
            raise Refusal(f"There is no point “{part}”.{suggestion(part, session.plan.area_of)}")
        names.append(name)
    if len(names) < 2:
        raise Refusal("A line has two points or more; write it like F1,F5,F9.")
    falls, flat = check_line(session.state, names, options.stage)
    if not falls:
        raise Refusal("These points were not read, or the plan does not say where they lie.")
    return [(" to ".join((names[0], names[-1])), each) for each in told_line(falls, flat, session.plan.notation)]


def _lines(told: list[tuple[str, Told]]) -> list[str]:
    lines: list[str] = []
    last = ""
    for heading, each in told:
        if heading != last:
            lines += ["", heading] if lines else [heading]
            last = heading
        lines.append(f"  {each.section:<12} {line(each)}")
    return lines


def chosen_areas(session: Session, name: str | None) -> list[Area]:
    """The area of that name, or all. Raises Refusal."""
    if name is None:
        return list(session.plan.areas.values())
    if name not in session.plan.areas:
        raise Refusal(f"There is no area “{name}”.{suggestion(name, session.plan.areas)}")
    return [session.plan.areas[name]]


def stone(options: argparse.Namespace) -> int:
    """What to order for each layer, what to haul, and what over-digging cost so far."""
    with open_session(options) as session:
        units = session.plan.notation.units
        given = session.plan.stone or Stone()
        rows: list[dict[str, object]] = []
        lines: list[str] = []
        for area in chosen_areas(session, options.area):
            lines.append(area.name)
            if area.outline is None:
                lines.append("  no outline in the plan: give “outline:” to have quantities")
            elif area.build_up is not None:
                for layer in area.build_up.layers:
                    if layer.name not in ("base", "bedding"):
                        continue
                    past = area.build_up.past_edge if layer.name == "base" else ZERO
                    material = given if layer.name == "base" else SAND
                    what = order(layer.name, area.outline, layer.thickness, material, past)
                    text = stone_text(what.loose, what.mass, what.money, units)
                    lines.append(f"  order {layer.name}: {text} loose, over {area_text(what.area, units)}")
                    rows.append(_row(area.name, layer.name, what.loose, what.mass, what.money, what.factors))
                dig = order("dig", area.outline, area.build_up.dig, given, area.build_up.past_edge)
                soil = haul(dig.compacted, given)
                lines.append(f"  haul: {volume_text(soil.loose, units)} of soil, loose")
                rows.append(_row(area.name, "soil to haul", soil.loose, None, None, soil.factors))
            if (dug := over_dug(session.state, area.name)) is not None and dug.dug.volume is not None:
                filled = fill(dug.dug.volume, given)
                lines.append(f"  over-dug: {told_over_dig(dug, session.plan.notation).says}")
                rows.append(_row(area.name, "over-dig", filled.volume, filled.mass, filled.money, filled.factors))
        if options.json:
            print_json(rows)
        else:
            print(printable("\n".join(lines)))
    return 0


def _row(
    area: str,
    what: str,
    volume: Fraction,
    mass: Fraction | None,
    money: Fraction | None,
    factors: tuple[Factor, ...],
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
