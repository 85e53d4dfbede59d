"""Verbs on what was built: `checks`, `stone` and `gauge`."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.entered import length_in
from gradecheck.catalogue import _, check_word
from gradecheck.checks.dig import haul
from gradecheck.cli.options import (
    AGAIN,
    OnJob,
    Recording,
    Reply,
    area_option,
    csv_option,
    named,
    on_session,
    option,
    stage_option,
)
from gradecheck.cli.shared import chosen, meant_stage, point_names
from gradecheck.ground.volumes import Section, between_sections
from gradecheck.journal.facts import Gauged
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT
from gradecheck.measure.units import UnitProblemError, read_quantity
from gradecheck.plan.model import Area
from gradecheck.plan.stone import Stone
from gradecheck.report.checks import (
    CheckResult,
    ahead_results,
    area_results,
    dig_results,
    gauged_result,
    layout_results,
    line_results,
    result_line,
)
from gradecheck.report.stone import order_lines, order_rows, section_lines, section_rows
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_gauged, check_layout, check_line, next_risers, over_dug
from gradecheck.state.orders import area_orders


@dataclass(frozen=True, kw_only=True, slots=True)
class ChecksOptions(OnJob):
    area: str | None = area_option()
    stage: str | None = stage_option()
    line: Sequence[str] | None = option(
        "--line",
        metavar="P1,P5,P9",
        action="append",
        help=_("slope and straightedge along these points; {again}", again=AGAIN),
    )
    csv: bool = csv_option()


@on_session(ChecksOptions, apart=(("line", "area"), ("csv", "json")), by_code=True)
def checks(session: Session, options: ChecksOptions) -> Reply:
    """Slopes, ponding, flatness, steps, squareness and over-dig of what was read; 1 when anything is out."""
    areas = chosen(session.plan, options.area, options.stage)
    if options.stage is not None:
        options = dataclasses.replace(options, stage=meant_stage(areas, options.stage))
        areas = [area for area in areas if options.stage in area.stages]
    found = _every(session, areas, options) if options.line is None else _line(session, options.line, options.stage)
    rows = [
        {
            "area": area,
            "section": each.section,
            "verdict": each.verdict,
            "says": each.says,
            "limit": each.limit,
            "source": each.source,
        }
        for area, each in found
    ]
    code = 1 if any(each.verdict == "fault" for _, each in found) else 0
    return Reply(rows, _lines(found) or [_("Nothing has been read yet that can be checked.")], code=code)


def _every(session: Session, areas: Sequence[Area], options: ChecksOptions) -> list[tuple[str, CheckResult]]:
    state, notation = session.state, session.plan.notation
    found: list[tuple[str, CheckResult]] = []
    for area in areas:
        result = check_area(state, area.name, options.stage)
        heading = _(
            "{name}, {stage} ({read} of {points} read)",
            name=area.name,
            stage=result.stage,
            read=result.read,
            points=result.points,
        )
        if result.read or result.gauged:
            found += [(heading, each) for each in area_results(result, notation)]
        found += [(heading, ahead_results(each, notation)) for each in next_risers(state, area.name)]
        if (dug := over_dug(state, area.name)) is not None:
            where = heading if result.read else _("{name}, subgrade", name=area.name)
            found += [(where, each) for each in dig_results(dug, notation)]
    if options.area is None:
        read = {surface.area for surface in state.shots}
        for layout in session.plan.layout.values():
            # Nothing could be taped before work began, and what is an area's own is told with the area.
            if state.record.taped(layout.name) or (read and layout.area not in read):
                found += [
                    ("layout", each) for each in layout_results(layout.name, check_layout(state, layout), notation)
                ]
    return found


def _line(session: Session, points: Sequence[str], stage: str | None) -> list[tuple[str, CheckResult]]:
    """The falls between points that the person chose, and the straightedge along them."""
    names = []
    for part in point_names(session, points):
        name = session.name_of(part)
        if name is None or name not in session.plan.area_of:
            raise actions.no_point(session.plan, part)
        names.append(name)
    if len(names) < 2:
        raise Refusal(_("A line has two points or more; write it like P1,P5,P9."))
    falls, flat = check_line(session.state, names, stage)
    if not falls:
        raise Refusal(_("These points are at the same place; name two that aren't."))
    return [
        (_(" to ").join((names[0], names[-1])), each) for each in line_results(falls, flat, session.plan.notation)
    ]


def _lines(found: list[tuple[str, CheckResult]]) -> list[str]:
    lines: list[str] = []
    last = ""
    for heading, each in found:
        if heading != last:
            lines += ["", heading] if lines else [heading]
            last = heading
        lines.append(f"  {check_word(each.section):<12} {result_line(each)}")
    return lines


@dataclass(frozen=True, kw_only=True, slots=True)
class OrderOptions(OnJob):
    area: str | None = area_option()
    truck: str | None = option(
        "--truck", metavar="VOLUME", help=_("what a truck holds, loose, such as “14 yd^3”; gives loads")
    )
    sections: Sequence[str] = option(
        "--sections",
        default=(),
        metavar="STATION:CUT:FILL",
        nargs="+",
        help=_("cut and fill between cross sections by average end areas, in square feet or meters"),
    )
    csv: bool = csv_option()


@on_session(OrderOptions, apart=(("sections", "area"), ("csv", "json")))
def stone(session: Session, options: OrderOptions) -> Reply:
    """What to order for each layer, what to haul, and what over-digging cost; or cut and fill between sections."""
    plan, notation = session.plan, session.plan.notation
    truck = truck_held(options.truck, notation.units) if options.truck else None
    if options.sections:
        between = between_sections(_sections(options.sections, notation.units))
        hauled = haul(between.above, plan.stone or Stone(), truck)
        return Reply(list(section_rows(between, hauled)), list(section_lines(between, hauled, notation.units)))
    found = [area_orders(session.state, area, truck) for area in chosen(plan, options.area)]
    rows = [row for each in found for row in order_rows(each)]
    return Reply(rows, [line for each in found for line in order_lines(each, notation)])


def truck_held(text: str, units: Units) -> Fraction:
    """Cubic metres that a truck holds, loose."""
    like = "14 yd^3" if units.imperial else "10 m^3"
    try:
        held = read_quantity(text, "m^3")
    except UnitProblemError as wrong:
        raise Refusal(_("A truck's load is a volume, such as “{like}”. {wrong}", like=like, wrong=wrong)) from wrong
    if held <= 0:
        raise Refusal(_("A truck holds more than zero; write it like “{like}”.", like=like))
    return held


def _sections(texts: Sequence[str], units: Units) -> list[Section]:
    found = [_section(text, units) for text in texts]
    if len(found) < 2 or any(one.at >= other.at for one, other in pairwise(found)):
        raise Refusal(_("Cut and fill need two sections or more, each farther along than the one before."))
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
        what = _("a station, the area cut and the area filled")
        raise Refusal(
            _("“{text}” is not a section; write {what}, like {like}.", text=text, what=what, like=like)
        ) from wrong
    return Section(length_in(station, units), cut, fill)


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeOptions(Recording):
    kind: str = named("KIND", choices=("lippage", "drain"))
    area: str = named("AREA")
    where: str = named("WHERE")
    reading: str = named("LENGTH")


@on_session(GaugeOptions)
def gauge(session: Session, options: GaugeOptions) -> Reply:
    """A step between units, or above a drain, measured directly; 1 when it is beyond its limit."""
    kind: Literal["lippage", "above drain"] = "lippage" if options.kind == "lippage" else "above drain"
    fact = session.record(actions.gauge(session.state, kind, options.area, options.where, options.reading)).fact
    assert isinstance(fact, Gauged)
    check = gauged_result(check_gauged(session.state, fact), session.plan.notation)
    answer = [{"says": check.says, "verdict": check.verdict, "source": check.source}]
    return Reply(answer, [result_line(check)], code=1 if check.verdict == "fault" else 0)
