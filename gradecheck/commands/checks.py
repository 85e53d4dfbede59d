"""Commands on what was built: `checks` and `stone`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from gradecheck.actions import Refusal
from gradecheck.actions.entered import length_in
from gradecheck.checks.dig import haul
from gradecheck.commands.shared import chosen, meant_stage, open_session, point_names, print_json, printable
from gradecheck.ground.volumes import Section, between_sections
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT
from gradecheck.measure.units import UnitProblemError, read_quantity
from gradecheck.plan.model import Area
from gradecheck.plan.problems import suggestion
from gradecheck.plan.stone import Stone
from gradecheck.report.checks import (
    Told,
    line,
    told_ahead,
    told_area,
    told_layout,
    told_line,
    told_over_dig,
)
from gradecheck.report.stone import order_lines, order_rows, section_lines, section_rows
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_layout, check_line, next_risers, over_dug
from gradecheck.state.orders import area_orders


def checks(options: argparse.Namespace) -> int:
    """Slopes, ponding, flatness, steps, squareness and over-dig of what was read; 1 when anything is out."""
    with open_session(options) as session:
        areas = chosen(session.plan, options.area, options.stage)
        if options.stage is not None:
            options.stage = meant_stage(areas, options.stage)
            areas = [area for area in areas if options.stage in area.stages]
        told = _told(session, areas, options) if options.line is None else _line(session, options)
        if options.json:
            print_json(
                options,
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
                ],
            )
        else:
            print(printable("\n".join(_lines(told)) or "Nothing was read yet that can be checked."))
    return 1 if any(each.verdict == "fault" for _, each in told) else 0


def _told(session: Session, areas: Sequence[Area], options: argparse.Namespace) -> list[tuple[str, Told]]:
    state, notation = session.state, session.plan.notation
    found: list[tuple[str, Told]] = []
    for area in areas:
        result = check_area(state, area.name, options.stage)
        heading = f"{area.name}, {result.stage} ({result.read} of {result.points} read)"
        if result.read or result.gauged:
            found += [(heading, each) for each in told_area(result, notation)]
        found += [(heading, told_ahead(each, notation)) for each in next_risers(state, area.name)]
        if (dug := over_dug(state, area.name)) is not None:
            found.append((heading if result.read else f"{area.name}, subgrade", told_over_dig(dug, notation)))
    if options.area is None:
        read = {surface.area for surface in state.shots}
        for layout in session.plan.layout.values():
            # Nothing could be taped before work began, and what is an area's own is told with the area.
            if state.record.taped(layout.name) or (read and layout.area not in read):
                found += [
                    ("layout", each) for each in told_layout(layout.name, check_layout(state, layout), notation)
                ]
    return found


def _line(session: Session, options: argparse.Namespace) -> list[tuple[str, Told]]:
    """The falls between points that the person chose, and the straightedge along them."""
    names = []
    for part in point_names(session, options.line):
        name = session.name_of(part)
        if name is None or name not in session.plan.area_of:
            raise Refusal(f"There is no point “{part}”.{suggestion(part, session.plan.area_of)}")
        names.append(name)
    if len(names) < 2:
        raise Refusal("A line has two points or more; write it like F1,F5,F9.")
    falls, flat = check_line(session.state, names, options.stage)
    if not falls:
        raise Refusal("These points lie at one place; name two that do not.")
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


def stone(options: argparse.Namespace) -> int:
    """What to order for each layer, what to haul, and what over-digging cost; or cut and fill between sections."""
    with open_session(options) as session:
        plan, notation = session.plan, session.plan.notation
        truck = _truck(options.truck, notation.units) if options.truck else None
        if options.sections:
            between = between_sections(_sections(options.sections, notation.units))
            hauled = haul(between.above, plan.stone or Stone(), truck)
            rows, lines = list(section_rows(between, hauled)), list(section_lines(between, hauled, notation.units))
        else:
            found = [area_orders(session.state, area, truck) for area in chosen(plan, options.area)]
            rows = [row for each in found for row in order_rows(each)]
            lines = [line for each in found for line in order_lines(each, notation)]
        if options.json:
            print_json(options, rows)
        else:
            print(printable("\n".join(lines)))
    return 0


def _truck(text: str, units: Units) -> Fraction:
    """Cubic metres that a truck holds, loose."""
    like = "14 yd^3" if units.imperial else "10 m^3"
    try:
        held = read_quantity(text, "m^3")
    except UnitProblemError as wrong:
        raise Refusal(f"What a truck holds is a volume, such as “{like}”. {wrong}") from wrong
    if held <= 0:
        raise Refusal(f"A truck holds more than nothing; write it like “{like}”.")
    return held


def _sections(texts: Sequence[str], units: Units) -> list[Section]:
    found = [_section(text, units) for text in texts]
    if len(found) < 2 or any(one.at >= other.at for one, other in pairwise(found)):
        raise Refusal("Cut and fill lie between two sections or more, each farther along than the one before it.")
    return found


def _section(text: str, units: Units) -> Section:
    """``25:18:3``: a station, and square feet (or metres) of cut and of fill there."""
    station, *areas = text.split(":")
    square = FOOT**2 if units.imperial else Fraction(1)
    try:
        cut, fill = (Fraction(each) * square for each in areas)
        if min(cut, fill) < 0:
            raise ValueError
    except (ValueError, ZeroDivisionError) as wrong:
        like = "25 ft:18:3" if units.imperial else "8 m:1.7:0.3"
        what = "a station, the area cut and the area filled"
        raise Refusal(f"“{text}” is no section; write {what}, like {like}.") from wrong
    return Section(length_in(station, units), cut, fill)
