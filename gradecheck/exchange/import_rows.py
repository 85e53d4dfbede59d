"""Points on their way from a file go through the reader of point lists.

So a name or a length from a drawing is held to what one typed is held to.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Iterator, Sequence

from gradecheck.catalogue import _
from gradecheck.exchange.found import SURVEY_FOOT, shortest_decimal
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate, read_length
from gradecheck.plan.csv_rows import cell_text, guarded
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import COLUMNS, MOST_ROWS, Listed, decimal, prefixed, read_point_list
from gradecheck.plan.problems import PlanProblemsError, Problem

LENGTHS = ("x", "y", "elevation")
"""The columns that hold lengths."""


class ImportRow:
    """A point on its way: where it stands in the file, and its cells."""

    __slots__ = ("cells", "where")

    def __init__(self, where: str, cells: dict[str, str]) -> None:
        self.where, self.cells = where, cells


PLAIN_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_.+-]{0,23}", re.ASCII)
PLAIN_TEXT = re.compile(r"[ -~]{0,120}", re.ASCII)
"""Names and notes that the reader of point lists takes as they are."""
Sizes = tuple[str, str, Length | None, Length | None, Length | None]
"""Name, note, x, y and elevation of a point on its way."""


def plainly(sizes: Iterable[Sizes], prefix: str) -> list[Listed] | None:
    """The points where their names are plain Latin letters and figures, all different, and no text takes a look.

    Those the reader of point lists takes as they are, and so they need not go through it; None for all others.
    """
    with contextlib.suppress(NotUnderstoodError):
        return _all_plain(sizes, prefix)
    return None


def _all_plain(sizes: Iterable[Sizes], prefix: str) -> list[Listed] | None:
    points: list[Listed] = []
    names: set[str] = set()
    for number, (name, note, x, y, z) in enumerate(sizes, 1):
        if prefix:
            name = prefixed(prefix, name or str(number))
        names.add(name.lower())
        if (
            len(names) < number
            or number > MOST_ROWS
            or PLAIN_NAME.fullmatch(name) is None
            or (note and PLAIN_TEXT.fullmatch(note) is None)
            or (x is None) != (y is None)
            or (x is None and z is None)
        ):
            return None
        at = None if x is None or y is None else (x, y)
        points.append(Listed(name, at, None if z is None else Elevation(z.metres), note, number))
    return points


def _sizes_of_rows(rows: Sequence[ImportRow], units: dict[str, str]) -> Iterator[Sizes]:
    """Raises `NotUnderstoodError` for what is no plain length."""
    counts = [Units(_in_a_list(units[column])) if column in units else Units.M for column in LENGTHS]
    readers = tuple(zip(LENGTHS, counts, (read_coordinate, read_coordinate, read_length), strict=True))
    for row in rows:
        cells, sizes = row.cells, []
        for column, counted, read in readers:
            text = cells.get(column, "")
            if text and (not text.isascii() or not text.isprintable() or "," in text):
                raise NotUnderstoodError(text)
            sizes.append(read(text, counted) if text else None)
        yield cells.get("name", ""), cells.get("note", ""), *sizes  # type: ignore[misc]  # three of them


def read_rows(rows: Sequence[ImportRow], units: dict[str, str], prefix: str, file: str) -> list[Listed]:
    """The rows through the reader of point lists; what it finds wrong is told at its place in the file."""
    if "usft" not in units.values() and (plain := plainly(_sizes_of_rows(rows, units), prefix)) is not None:
        return plain
    lines = ["\t".join(f"{c} ({_in_a_list(units[c])})" if c in units else c for c in COLUMNS)]
    for number, row in enumerate(rows, 1):
        cells = []
        for column in COLUMNS:
            text = row.cells.get(column, "")
            if column == "name":
                # In quotes, so that one that begins with # is not taken for a remark.
                name = (text or (str(number) if prefix else "")).translate(_LINE_ENDS).replace('"', '""')
                cells.append(f'"{name}"')
                continue
            if column == "note":
                text = guarded(visible(text))
            elif units.get(column) == "usft" and (size := shortest_decimal(text.replace(",", "."))) is not None:
                text = decimal(Length(size * SURVEY_FOOT), Units.FT)
            cells.append(cell_text(text))
        lines.append("\t".join(cells))
    try:
        points = read_point_list("\n".join(lines), file, Units.M, prefix=prefix)
    except PlanProblemsError as wrong:
        raise PlanProblemsError([_placed(problem, rows) for problem in wrong.problems]) from None
    return [Listed(each.name, each.at, each.elevation, each.note, at) for at, each in enumerate(points, 1)]


_LINE_ENDS = {10: 0x2028, 13: 0x2028}
"""Line ends as the one sign for them that no list is parted at; names with it are refused."""


def _in_a_list(units: str) -> str:
    return "ft" if units == "usft" else units


def plain_units(units: dict[str, str]) -> Units:
    """The units of the first column of lengths, feet for US survey feet; meters where there is none."""
    first = next(iter(units.values()), "m")
    return Units(_in_a_list(first))


def _placed(problem: Problem, rows: Sequence[ImportRow]) -> Problem:
    if not 2 <= problem.line <= len(rows) + 1:
        return problem
    at = rows[problem.line - 2].where
    says = re.sub(r"on line (\d+)", lambda found: f"at {rows[int(found[1]) - 2].where}", problem.says)
    return Problem(problem.file, line_of(at), 1, f"{at}: {says}")


def line_of(at: str) -> int:
    """The line that a place names, 1 where it names none."""
    word, _space, number = at.partition(" ")
    words = {_("line {of}", of=1).split()[0], _("row {number}", number=1).split()[0]}
    return int(number) if word in words and number.isdecimal() else 1
