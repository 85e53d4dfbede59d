"""Rows of CSV as RFC 4180 has them: taken apart with the place of each cell, and cells made fit to be written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from gradecheck.catalogue import _
from gradecheck.plan.names import one_form

LINE_END = re.compile(r"\r\n|\n|\r")
"""What ends a line, whichever system wrote it."""
_PARTS = re.compile(r'[",;\t\r\n]')
"""Signs for which a cell is written in quotes."""
QUOTED = re.compile(r'"([^"]*+(?:""[^"]*+)*+)"')
"""A cell in quotes, as RFC 4180 has it."""
_FARTHEST_CLOSING_QUOTE = 1000
"""Characters; past that a quote that is not closed on its own line is taken for one that was forgotten."""
_GUARDED = re.compile(r"'*(?:\s*[=+\-@＝＋－＠﹦﹢﹣﹫]|[\t\r\n])")
"""What a spreadsheet would take for a formula, the wide and small signs too, behind any number of apostrophes."""


class CsvCell(NamedTuple):
    """What stands between two separators, its quotes undone or, without quotes, the spaces around it taken off."""

    text: str
    at: int
    """Place of its first character in the text, from 0."""


class Fault(NamedTuple):
    """What is wrong, and the place in the text, from 0, where it shows."""

    at: int
    says: str


@dataclass(slots=True)
class CsvRow:
    """The cells of one row and the place of its first character in the text, from 0."""

    at: int
    cells: list[CsvCell]
    end: int
    """Where its last line ends."""
    fault: Fault | None = None
    """What keeps it from being taken apart."""

    def cell(self, index: int) -> CsvCell:
        """The cell of that column; one left out at the end of a row is empty."""
        return self.cells[index] if index < len(self.cells) else CsvCell("", self.end)


def row_at(text: str, at: int, separator: str) -> CsvRow:
    """The row that begins at this place; quotes are undone as RFC 4180 has them."""
    row = CsvRow(at, [], line_end(text, at))
    while True:
        start = at
        while text[start : start + 1] == " ":
            start += 1
        if text[start : start + 1] == '"':
            at = _quoted(text, start, separator, row)
            if row.fault:
                return row
        else:
            at = text.find(separator, at, row.end)
            at = row.end if at < 0 else at
            row.cells.append(CsvCell(one_form(text[start:at].strip()), min(start, at)))
        if at >= row.end:
            return row
        at += 1


def _quoted(text: str, start: int, separator: str, row: CsvRow) -> int:
    """Adds the cell in quotes that begins here; gives the place behind it."""
    found = QUOTED.match(text, start, row.end)
    over_lines = None if found else QUOTED.match(text, start, start + _FARTHEST_CLOSING_QUOTE)
    if over_lines and _ends_cell(text, over_lines.end(), separator):
        row.end = line_end(text, over_lines.end())
        row.fault = Fault(start, _("This cell goes over a line end; write it on one line."))
    elif found is None:
        row.fault = Fault(start, _("The quote that begins this cell is not closed; close it, or remove it."))
    elif not _ends_cell(text, found.end(), separator):
        says = _("There is text after the quote that closes this cell; write a quote inside one twice.")
        row.fault = Fault(found.end(), says)
    else:
        row.cells.append(CsvCell(one_form(found[1].replace('""', '"')), start))
        return found.end() + len(text[found.end() : row.end]) - len(text[found.end() : row.end].lstrip(" "))
    return row.end


def _ends_cell(text: str, at: int, separator: str) -> bool:
    while text[at : at + 1] == " ":
        at += 1
    return text[at : at + 1] in ("", separator, "\r", "\n")


def line_end(text: str, at: int) -> int:
    """Where the line that holds this place ends, before the sign that ends it."""
    found = LINE_END.search(text, at)
    return found.start() if found else len(text)


def guarded(text: str) -> str:
    """An apostrophe before what looks like a formula (OWASP, CSV injection), or like one that has some already.

    Every list that is written for spreadsheets goes through here.
    """
    return f"'{text}" if _GUARDED.match(text) else text


def unguarded(text: str) -> str:
    """The text without the apostrophe that `guarded` put before it."""
    return text[1:] if text.startswith("'") and _GUARDED.match(text) else text


def cell_text(text: str) -> str:
    """The text as a cell is written: in quotes where it would else be taken apart."""
    plain = text == text.strip() and _PARTS.search(text) is None
    return text if plain else '"' + text.replace('"', '""') + '"'
