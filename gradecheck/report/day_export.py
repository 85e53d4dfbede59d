"""The daily report for other programs and for a message: CSV of each area, JSON of everything, ten lines of text."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from gradecheck.catalogue import _, count, stored
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.names import visible
from gradecheck.report.daily_report import DailyReport
from gradecheck.report.day_book import PrintedLength
from gradecheck.report.day_readings import AreaOfDay, DayReading
from gradecheck.report.decides import DECIDES
from gradecheck.report.spreadsheet import csv_of

BEFORE = ("entry", "day", "time", "by", "area", "stage", "point", "what", "setup")
AFTER = ("then", "now", stored("in doubt"), "remark", stored("log to entry"), "hash")
FIGURES = ("target", "rod", "found", "off")
LONGEST_LINE = 140
MOST_LINES = 10


def area_csv(report: DailyReport, area: AreaOfDay) -> str:
    """An area's readings as CSV: each length as a number in the job's unit, and as the text on the report."""
    units = Units(report.unit)
    short = units.value if units is not Units.FT_IN else "in"
    figures = [heading for name in FIGURES for heading in (f"{name} ({short})", stored("{name} text", name=name))]
    rows = []
    upto = report.trace.journal_last, report.trace.journal_hash_short
    for stage in area.stages:
        for reading in stage.readings:
            row = [reading.seq, reading.day, reading.time, reading.by, area.name, stage.stage, reading.point,
                   reading.what, reading.setup or "", *_figures(reading, units), reading.then, reading.now,
                   "yes" if reading.doubt else "no", reading.remark, *upto]  # fmt: skip
            rows.append(row)
    return csv_of([*BEFORE, *figures, *AFTER], rows)


def _figures(reading: DayReading, units: Units) -> Iterable[object]:
    for name in FIGURES:
        figure: PrintedLength = getattr(reading, name)
        yield "" if figure.length is None else length_number(figure.length, units)
        yield with_unit(figure, units)


def with_unit(figure: PrintedLength, units: Units) -> str:
    """The figure's text with its unit, where it does not say one: ``3/8`` alone is a date to a spreadsheet."""
    says_one = any(c.isalpha() or c in "'\"" for c in figure.text)
    return figure.text if says_one or figure.length is None else f"{figure.text} {units.value}"


def length_number(length: Length, units: Units) -> float:
    """The length as a decimal of the unit, to a millionth."""
    return round(float(length.metres / units.one.metres), 6)


def day_json(report: DailyReport) -> dict[str, Any]:
    """Everything on the report as plain values, a length as ``{"mm": ..., "text": ...}``."""
    return dict(_plain(report, Units(report.unit)))


def _plain(value: Any, units: Units) -> Any:
    match value:
        case PrintedLength():
            return {"mm": value.length.mm if value.length is not None else None, "text": with_unit(value, units)}
        case tuple() | list():
            return [_plain(each, units) for each in value]
        case _ if dataclasses.is_dataclass(value):
            fields = (
                field.name for field in dataclasses.fields(value) if field.name != "map"
            )  # a picture of the rest
            return {name: _plain(getattr(value, name), units) for name in fields}
        case _:
            return value


def message(report: DailyReport) -> str:
    """What was checked, what is out and what was over-dug, in ten lines at most."""
    readings = [reading for area in report.areas for stage in area.stages for reading in stage.readings]
    who = ", ".join(dict.fromkeys(person.partition(" ")[0].rstrip(",") for person in report.people))
    lines = [f"{report.job}, {report.day}: {count(len(readings), 'reading')}{f' by {who}' if who else ''}."]
    if report.rehearsal:
        lines.insert(0, f"{report.rehearsal}.")
    trace = report.trace
    journal = _(
        "Log to entry {number}, hash {hash}.",
        number=trace.journal_last,
        hash=trace.journal_hash_short or _("none"),
    )
    lines += [f"{wrong}."] if (wrong := report.instrument.disagrees) else []
    after = [*_faults(report), *_over_dig(report), *_doubts(report), DECIDES, journal]
    room = MOST_LINES - len(lines) - len(after)
    stages = _stages(report)
    if len(stages) > room:
        stages = [
            *stages[: room - 1],
            _("and {stages} more; see the daily report.", stages=count(len(stages) - room + 1, "stage")),
        ]
    return "\n".join(_short(line) for line in (*lines, *stages, *after)) + "\n"


def _stages(report: DailyReport) -> list[str]:
    """A line for each stage, those with something out first: how many were read, how many are out, and which."""
    out: dict[tuple[str, str], list[str]] = {}
    for area in report.areas:
        for stage in area.stages:
            out[area.name, stage.stage] = stage.out
    lines = []
    first = sorted(
        report.summary, key=lambda row: not (out.get((row.area, row.stage)) or row.doubt or row.not_judged)
    )
    for row in first:
        names = out.get((row.area, row.stage), [])
        out_text = _("; out: {names}", names=", ".join(names)) if names else ""
        unknown = _("; {not_judged} not judged", not_judged=row.not_judged) if row.not_judged else ""
        lines.append(
            _(
                "{area}, {stage}: {read} of {points} read, {within} on grade{out}{unknown}",
                area=row.area,
                stage=row.stage,
                read=row.read,
                points=row.points,
                within=row.within,
                out=out_text,
                unknown=unknown,
            )
        )
    return lines


def _faults(report: DailyReport) -> list[str]:
    checks = [(area.name, result) for area in report.areas for stage in area.stages for result in stage.checks]
    checks += [(layout.name, result) for layout in report.layouts for result in layout.checks]
    faults = [f"{name}: {result.says}" for name, result in checks if result.verdict == "fault"]
    return [_("{checks} OUT: {found}", checks=count(len(faults), "check"), found="; ".join(faults))] if faults else []


def _over_dig(report: DailyReport) -> list[str]:
    dug = [f"{area}: {result.says}" for area, result in report.over_dig if result.verdict != "passes"]
    if not dug:
        return [_("Over-dig: none so far.")] if report.over_dig else []
    total = _(" {total} in all;", total=report.over_dig_total) if report.over_dig_total else ""
    return [_("Over-dig so far:{total} {dug}", total=total, dug="; ".join(dug))]


def _doubts(report: DailyReport) -> list[str]:
    doubts = sum(row.doubt for row in report.summary)
    return (
        [_("IN DOUBT: {doubts}; read again or trust with a reason.", doubts=count(doubts, "point"))] if doubts else []
    )


def _short(line: str) -> str:
    line = visible(line)
    return line if len(line) <= LONGEST_LINE else f"{line[: LONGEST_LINE - 1].rstrip()}…"
