"""The daily report as a PDF: its blocks laid out by a template, with fonts inside and nothing fetched."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any, Literal

from gradecheck.catalogue import _, not_reviewed
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.names import visible
from gradecheck.report.daily_report import DailyReport
from gradecheck.report.day_paper import Block, Drawing, Facts, Items, Table, Words, owners_page, record
from gradecheck.report.grade_plan import STAKES, label_blocks, plan_blocks
from gradecheck.report.grade_plan import TITLE as PLAN_TITLE
from gradecheck.report.left import TITLE, WorkOrder, order_blocks
from gradecheck.report.rows import minus, rounding
from gradecheck.report.setting_out import StakeLabel
from gradecheck.report.svg import MOST_NAMED, map_svg

Paper = Literal["letter", "a4"]
TEMPLATE = "daily_report.typ"
MAP_WIDE = 820.0
"""Width of a map in its own units; so many fill the page."""
MAP_HIGH, FRONT_HIGH = 260.0, (220.0, 420.0)
"""Height of the drawing itself in the record, and the least and most on the owner's page."""
PLAN_HIGH = 420.0
"""Height of the drawing of an area in the grade plan."""
_PAGE, _LINE = 610, 130
"""Points that the owner's page has beside its head and the lines to sign on, and letters in one of its lines."""
LONGEST_WORD = 18
"""Characters after which a word without a space may be broken."""

_LONG_WORD = re.compile(rf"\S{{{LONGEST_WORD}}}(?=\S)")
_FRACTION = re.compile(r"((?:\N{ALMOST EQUAL TO}\N{NARROW NO-BREAK SPACE})?[+\N{MINUS SIGN}]?)(?:(.*) )?(\S+/\S+)")


def can_be_set() -> bool:
    """Whether this machine has what sets a PDF; for Windows on ARM there is none."""
    try:
        import typst  # noqa: F401 - asked for by loading it: one that is there and can't be loaded is none
    except ImportError:
        return False
    return True


def daily_report_pdf(report: DailyReport, paper: Paper = "letter") -> bytes:
    """The report as a PDF, the same bytes for the same report.

    All texts reach the template as data, so nothing in them can be markup; they are dated by the report's day alone.
    """
    front = list(owners_page(report))
    values = {
        "title": report.title,
        "job": printed(report.job),
        "day": report.day,
        "weekday": report.weekday,
        "rehearsal": printed(report.rehearsal),
        "front": _blocks(front, _room(front)),
        "record": _blocks(record(report), MAP_HIGH),
    }
    return _set(values, paper)


def work_order_pdf(order: WorkOrder, paper: Paper = "letter") -> bytes:
    """What is left as a PDF, set as the daily report is."""
    values = {
        "title": TITLE,
        "job": printed(order.job),
        "day": order.day,
        "weekday": order.time,
        "rehearsal": printed(order.rehearsal),
        "front": _blocks(order_blocks(order), MAP_HIGH),
        "record": [],
    }
    return _set(values, paper)


def grade_plan_pdf(
    plan: Plan, areas: Sequence[Area], notes: Sequence[str], day: str, paper: Paper = "letter"
) -> bytes:
    """The grade plan as a PDF, as it is on that day, set as the daily report is."""
    return _planned(PLAN_TITLE, plan, plan_blocks(plan, areas, notes), day, paper)


def labels_pdf(plan: Plan, labels: Sequence[StakeLabel], day: str, paper: Paper = "letter") -> bytes:
    """The labels of stakes as a PDF."""
    return _planned(STAKES, plan, label_blocks(labels), day, paper)


def _planned(title: str, plan: Plan, blocks: Iterable[Block], day: str, paper: Paper) -> bytes:
    values = {
        "title": title,
        "job": printed(plan.job),
        "day": day,
        "weekday": "",
        "rehearsal": "",
        "front": _blocks(blocks, PLAN_HIGH),
        "record": [],
    }
    return _set(values, paper)


def _set(values: dict[str, Any], paper: Paper) -> bytes:
    import typst

    values["paper"] = "us-letter" if paper == "letter" else "a4"
    values["words"] = {
        "rehearsal": _("REHEARSAL"),
        "practice": _("{rehearsal}. Practice only; not a record of work.", rehearsal=values["rehearsal"]),
        "page": _("page {page} of {all}"),
        "name": _("name and signature"),
        "date": _("date"),
        "reviewed": not_reviewed(),
    }
    moment = datetime.fromisoformat(values["day"][-len("2026-05-12") :]).replace(tzinfo=UTC)
    return bytes(
        typst.compile(
            files(__package__).joinpath(TEMPLATE).read_bytes(),
            sys_inputs={"report": json.dumps(values)},
            ignore_system_fonts=True,
            font_paths=[],
            timestamp=int(moment.timestamp()),
            pdf_tags=False,  # seven eighths of the file, and of no use on paper
        )
    )


def _room(front: Sequence[Block]) -> float:
    """How high the owner's drawing may be, so that its letters need not shrink: what the text leaves of a page."""
    lines = 0
    for block in front:
        match block:
            case Table():
                lines += 1 + len(block.rows)
            case Items():
                lines += sum(1 + len(text) // _LINE for text in block.texts)
            case Facts():
                lines += len(block.pairs)
            case Words():
                lines += 1 + sum(len(text) for text, _ in block.pieces) // _LINE
            case _:
                lines += 2
    least, most = FRONT_HIGH
    return min(max((_PAGE - 12 * lines) / 0.646 - 130, least), most)


def _blocks(blocks: Iterable[Block], high: float) -> list[dict[str, Any]]:
    return [{"kind": type(block).__name__.casefold(), **_block(block, high)} for block in blocks]


def _block(block: Block, high: float) -> dict[str, Any]:
    """The values the template places: texts fit to print, figures taken apart at their fraction."""
    match block:
        case Table():
            return {"columns": _plain(block.columns), **_cells(block)}
        case Words():  # a code is set whole, for whoever copies it
            return {
                "pieces": [[text if how == "code" else printed(text), how] for text, how in block.pieces if text],
                "quiet": block.quiet,
            }
        case Drawing():
            drawn = block.map
            most = 0 if block.fills else MOST_NAMED
            unplaced = ", ".join(printed(each.name) for each in drawn.scene.unplaced)
            return {
                "svg": map_svg(
                    drawn.scene,
                    drawn.stage,
                    MAP_WIDE,
                    high,
                    feet=drawn.feet,
                    font="Libertinus Serif",
                    most_named=most,
                ),
                "caption": printed(block.caption),
                "fills": block.fills,
                "unplaced": _("Without a place on the plan: {points}.", points=unplaced) if unplaced else "",
            }
        case _:
            return {field.name: _plain(getattr(block, field.name)) for field in dataclasses.fields(block)}


def _cells(table: Table) -> dict[str, Any]:
    """The cells, and of each column of figures the most characters in a fraction."""
    rows, fractions = [], [0] * len(table.columns)
    for row in table.rows:
        cells = []
        for place, (column, cell) in enumerate(zip(table.columns, row, strict=True)):
            parts = _parts(cell.text) if column.figure else [printed(cell.text), ""]
            fractions[place] = max(fractions[place], len(parts[1]))
            cells.append([*parts, cell.strong])
        rows.append(cells)
    return {"rows": rows, "fractions": fractions}


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return printed(value)
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if dataclasses.is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    return value


def printed(text: str) -> str:
    """A text as it is set: nothing invisible in it, a true minus before figures, long words breakable."""
    whole = minus(visible(text))
    return _LONG_WORD.sub(lambda word: f"{word[0]}\N{ZERO WIDTH SPACE}", whole)


def _parts(text: str) -> list[str]:
    """A figure as what stands before its fraction, and the fraction, so that both can be set under one another."""
    whole = minus(rounding(text))
    found = _FRACTION.fullmatch(whole)
    if found is None:
        return [whole, ""]
    sign, before, fraction = found.groups()
    return [f"{sign}{before}\N{NO-BREAK SPACE}" if before else sign, fraction]
