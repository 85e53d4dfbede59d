"""Commands on what was built: `checks` and `stone`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from gradecheck.actions import Refusal
from gradecheck.commands.shared import chosen, meant_stage, open_session, point_names, print_json, printable
from gradecheck.plan.model import Area
from gradecheck.plan.problems import suggestion
from gradecheck.report.checks import (
    Told,
    line,
    told_ahead,
    told_area,
    told_layout,
    told_line,
    told_over_dig,
)
from gradecheck.report.stone import order_lines, order_rows
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
    """What to order for each layer, what to haul, and what over-digging cost so far."""
    with open_session(options) as session:
        notation = session.plan.notation
        found = [area_orders(session.state, area) for area in chosen(session.plan, options.area)]
        if options.json:
            print_json(options, [row for each in found for row in order_rows(each)])
        else:
            print(printable("\n".join(line for each in found for line in order_lines(each, notation))))
    return 0
