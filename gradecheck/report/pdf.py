"""The daily report as a PDF: its strings laid out by a template, with fonts inside and nothing fetched."""

from __future__ import annotations

import dataclasses
import json
import re
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any, Literal

from gradecheck.plan.names import visible
from gradecheck.report.checks import MARKS, Told
from gradecheck.report.day_book import Figure
from gradecheck.report.day_readings import AreaMap, DayReading, StageSheet
from gradecheck.report.day_sheet import DaySheet, Trace
from gradecheck.report.svg import map_svg

Paper = Literal["letter", "a4"]
TEMPLATE = "day_sheet.typ"
MAP_SIZE = 820.0, 300.0
"""Width and height of a map in its own units, of which 820 fill the page."""
LONGEST_WORD = 18
"""Characters after which a word without a space may be broken."""

_MINUS = re.compile(r"(?<![\w\-.])-(?=\d)")
_LONG_WORD = re.compile(rf"\S{{{LONGEST_WORD}}}(?=\S)")
_FRACTION = re.compile(r"((?:~\N{NARROW NO-BREAK SPACE})?[+\N{MINUS SIGN}]?)(?:(.*) )?(\S+/\S+)")
_FIGURES = ("target", "rod", "found", "off")


def day_sheet_pdf(sheet: DaySheet, paper: Paper = "letter") -> bytes:
    """The sheet as a PDF, the same bytes for the same sheet.

    All texts reach the template as data, so nothing in them can be markup; they are dated by the sheet's day alone.
    """
    import typst

    values = {**_plain(sheet), "paper": "us-letter" if paper == "letter" else "a4"}
    moment = datetime.fromisoformat(sheet.day).replace(tzinfo=UTC)
    return bytes(
        typst.compile(
            files(__package__).joinpath(TEMPLATE).read_bytes(),
            sys_inputs={"sheet": json.dumps(values)},
            ignore_system_fonts=True,
            font_paths=[],
            timestamp=int(moment.timestamp()),
            pdf_tags=False,  # seven eighths of the file, and of no use on paper
        )
    )


def _plain(value: Any) -> Any:
    """The values the template places: texts fit to print, figures taken apart at their fraction."""
    match value:
        case str():
            return printed(value)
        case Trace():  # a hash is set whole, for whoever copies it
            return dataclasses.asdict(value)
        case Figure():
            return _parts(value.text)
        case Told():
            return {**_fields(value), "mark": MARKS[value.verdict]}
        case AreaMap():
            return {
                "stage": value.stage,
                "svg": _drawn(value),
                "unplaced": [printed(each.name) for each in value.scene.unplaced],
            }
        case StageSheet():
            return {**_fields(value), "widths": _widths(value.readings)}
        case tuple() | list():
            return [_plain(each) for each in value]
        case _ if dataclasses.is_dataclass(value):
            return _fields(value)
        case _:
            return value


def _drawn(drawn: AreaMap) -> str:
    return map_svg(drawn.scene, drawn.stage, *MAP_SIZE, feet=drawn.feet, font="Libertinus Serif")


def _fields(value: Any) -> dict[str, Any]:
    return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}


def printed(text: str) -> str:
    """A text as it is set: nothing invisible in it, a true minus before figures, long words breakable."""
    whole = _MINUS.sub("\N{MINUS SIGN}", visible(text))
    return _LONG_WORD.sub(lambda word: f"{word[0]}\N{ZERO WIDTH SPACE}", whole)


def _parts(text: str) -> list[str]:
    """A figure as what stands before its fraction, and the fraction, so that both can be set under one another."""
    whole = _MINUS.sub("\N{MINUS SIGN}", text).replace("~", "~\N{NARROW NO-BREAK SPACE}")
    found = _FRACTION.fullmatch(whole)
    if found is None:
        return [whole, ""]
    sign, before, fraction = found.groups()
    return [f"{sign}{before}\N{NO-BREAK SPACE}" if before else sign, fraction]


def _widths(readings: tuple[DayReading, ...]) -> dict[str, list[int]]:
    """The most characters before the fraction and in it, for each column of figures."""
    widths = {}
    for name in _FIGURES:
        parts = [_parts(getattr(reading, name).text) for reading in readings]
        widths[name] = [max((len(part[place]) for part in parts), default=0) for place in (0, 1)]
    return widths
