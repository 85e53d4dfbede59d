"""The log for other programs: CSV that a spreadsheet can't mistake for formulas, and plain JSON values."""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Iterable, Sequence

from gradecheck.plan.csv_rows import guarded
from gradecheck.plan.names import visible
from gradecheck.report.log import LogRow

COLUMNS = ("seq", "day", "time", "offset", "by", "kind", "subject", "typed", "then", "now", "note")


def log_csv(rows: Iterable[LogRow]) -> str:
    """The rows as CSV text with a heading line."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([safe_cell(getattr(row, column)) for column in COLUMNS])
    return out.getvalue()


def safe_cell(value: object) -> object:
    """Text that begins like a formula gets an apostrophe before it (OWASP, CSV injection); numbers stay numbers.

    Nothing is left in it that a terminal would obey which shows the file.
    """
    if not isinstance(value, str):
        return value
    kept = value if value.isprintable() else "".join(c if c in "\t\r\n" else visible(c) for c in value)
    return guarded(kept)


def log_json(rows: Sequence[LogRow]) -> list[dict[str, object]]:
    """The rows as plain values."""
    return [dataclasses.asdict(row) for row in rows]
