"""Every table that goes to a spreadsheet as CSV (RFC 4180); no text in it is run as a formula, no name is lost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from gradecheck.plan.csv_rows import cell_text, guarded
from gradecheck.plan.names import visible


def csv_of(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The rows under their headings, a line each."""
    lines = (",".join(map(_cell, row)) for row in (headings, *rows))
    return "".join(f"{line or _EMPTY}\n" for line in lines)


_EMPTY = '""'
"""One empty cell, which would else be no row at all."""


def _cell(value: object) -> str:
    return "" if value is None else cell_text(str(safe_cell(value)))


def safe_cell(value: object) -> object:
    """Text that begins like a formula gets an apostrophe before it (OWASP, CSV injection); numbers stay numbers.

    Nothing is left in it that a terminal would obey which shows the file.
    """
    if isinstance(value, Decimal):
        return f"{value:f}"  # some spreadsheets take an exponent for text
    if not isinstance(value, str):
        return value
    kept = value if value.isprintable() else "".join(c if c in "\t\r\n" else visible(c) for c in value)
    return guarded(kept)


def rows_csv(rows: Sequence[Mapping[str, object]]) -> str:
    """Rows of an answer in JSON as a table: a column for each key, in the order in which keys come.

    A length is two columns, its millimeters as ``rod (mm)`` and its text; what a key holds beneath it is
    ``rod, key``, and several texts stand in one cell with semicolons between them.
    """
    flat = [dict(_cells("", row)) for row in rows]
    keys = dict.fromkeys(key for row in flat for key in row)
    # A length that a row lacks leaves both cells empty; its text alone would come first there.
    texts = (key for key in keys if not key.endswith(_MM))
    headings = [each for key in texts for each in (f"{key}{_MM}", key) if each in keys]
    return "" if not rows else csv_of(headings, ([row.get(key, "") for key in headings] for row in flat))


_MM = " (mm)"


def _cells(key: str, value: object) -> Iterable[tuple[str, object]]:
    match value:
        case {"mm": mm, "text": text}:
            yield f"{key}{_MM}", _plain(mm)
            yield key, text
        case dict():
            for name, each in value.items():
                yield from _cells(f"{key}, {name}" if key else str(name), each)
        case list() | tuple():
            yield key, "; ".join(_words(each) for each in value)
        case _:
            yield key, _plain(value)


def _words(value: object) -> str:
    """What stands in a list, in words: ``kind: side, start: C1``."""
    if isinstance(value, Mapping):
        return ", ".join(f"{name}: {safe_cell(each)}" for name, each in _cells("", dict(value)) if each != "")
    return str(safe_cell(_plain(value)))


def _plain(value: object) -> object:
    """A number as its shortest decimal, yes or no, and nothing for what is not there."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return Decimal(repr(value)) if isinstance(value, float) else value
