"""Point lists: the plain table of names, places and elevations that any office can produce, read and written as CSV.

A comma, semicolon or tab stands between cells, as the text itself shows. Where it is a semicolon or tab, a comma
in a number is a decimal comma, unless other numbers of the list have a point: then ``1,250`` can mean two things
and is refused. Spaces around a cell that is not in quotes do not count.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from gradecheck.catalogue import _
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate, read_length
from gradecheck.plan.csv_rows import LINE_END, CsvCell, CsvRow, Fault, cell_text, guarded, line_end, row_at, unguarded
from gradecheck.plan.names import (
    LONGEST_NAME,
    LONGEST_TEXT,
    folded,
    hidden_in,
    name_fault,
    one_form,
    point_name_fault,
)
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion

MOST_ROWS = 50_000
"""Points in one list."""
COLUMNS = ("name", "x", "y", "elevation", "note")
"""What a list can say of a point."""
LETTERS = {"P": "name", "N": "y", "E": "x", "Y": "y", "X": "x", "Z": "elevation", "D": "note", "C": ""}
"""The order of a list without headings, a letter for each column as the trade has it (common practice, no source):
point, northing, easting, elevation, description; a code is passed over."""
SYNONYMS = {
    "name": ("name", "point", "id", "nr"),
    "x": ("x", "east", "easting", "e"),
    "y": ("y", "north", "northing", "n"),
    "elevation": ("elevation", "elev", "z", "height", "level", "el"),
    "note": ("note", "what", "description", "remark"),
}
"""The headings known for each column, in small letters."""

_COLUMN_OF = {heading: column for column, headings in SYNONYMS.items() for heading in headings}
_UNITS_OF = {units.value: units for units in Units} | {
    "inch": Units.IN,
    "inches": Units.IN,
    "foot": Units.FT,
    "feet": Units.FT,
}
_LENGTHS = ("x", "y", "elevation")
_SEPARATORS = ("\t", ";", ",")
_LINES_TO_TELL_BY = 20
_GIANT = 10**7 - Fraction(1, 2 * 10**6)
"""What six decimals round to eight digits before the point, which are not read as a length."""
_GIANT_PLACE = 10**10 - Fraction(1, 2 * 10**6)
"""The same for a coordinate, which may have ten."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One point of a list; place or elevation may be missing where the plan gives it."""

    name: str
    at: Place | None
    elevation: Elevation | None
    note: str
    line: int = field(compare=False)
    """Where it was found, counted from 1; the same point on another line is the same point."""


def order_fault(order: str) -> str | None:
    """Why these letters can't be the order of a list without headings, or None where they can."""
    said = [LETTERS.get(letter) for letter in order]
    named = [column for column in said if column]
    if None in said or not order:
        return _(
            "“{order}” is not an order of columns; write a letter for each, such as PNEZD or PENZ.",
            order=order[:LONGEST_NAME],
        )
    if len(set(named)) < len(named) or order.count("C") > 1:
        return _(
            "“{order}” has a column twice; N and Y are the same, and so are E and X.", order=order[:LONGEST_NAME]
        )
    if ("x" in named) != ("y" in named) or not {"x", "elevation"} & set(named):
        return _("“{order}” does not place a point; it needs N and E, or Z, or all three.", order=order)
    return None


def read_point_list(
    text: str,
    file: str,
    units: Units,
    columns: Mapping[str, str] | None = None,
    order: str = "",
    prefix: str = "",
) -> list[Listed]:
    """The points of a CSV text in its order; numbers count the heading's unit, as in ``x (ft)``, else `units`.

    `columns` names for each of our columns the heading it stands under; then no heading is guessed and all other
    columns are passed over. Without it a heading that is not known is a problem, so that none is lost by a slip.
    A list without headings is read by its `order` alone, such as ``PNEZD``: northing first or easting first fits
    every list, and one of them is the plan in a mirror. `prefix` is put before names that are numbers, and before
    the number of the row where the order has no name.

    Raises `PlanProblemsError` with every problem found, and `ValueError` for a column of `columns` we do not have.
    """
    if unknown := set(columns or ()) - set(COLUMNS):
        raise ValueError(_("no such column of a point list: {unknown}", unknown=", ".join(sorted(unknown))))
    reader = _ListReader(text, file, units, columns, order, prefix)
    points = reader.points()
    if reader.problems:
        raise PlanProblemsError(reader.problems)
    return points


class ListLayout(NamedTuple):
    """How a list is laid out: its rows of points, and which column is what and counts in which unit."""

    separator: str
    rows: list[CsvRow]
    places: dict[str, int]
    units: dict[str, Units]
    width: int
    comma: bool
    """Whether its numbers have a decimal comma."""


def laid_out(
    text: str, units: Units, columns: Mapping[str, str] | None = None, order: str = "", prefix: str = ""
) -> ListLayout:
    """The list taken apart as `read_point_list` does it, to be edited. Raises `PlanProblemsError`, `ValueError`."""
    if unknown := set(columns or ()) - set(COLUMNS):
        raise ValueError(_("no such column of a point list: {unknown}", unknown=", ".join(sorted(unknown))))
    reader = _ListReader(text, "", units, columns, order, prefix)
    rows = reader.laid()
    if reader.problems:
        raise PlanProblemsError(reader.problems)
    places = {name: column.place for name, column in reader.columns.items()}
    numbers = [row.cell(places[name]).text for row in rows for name in _LENGTHS if name in places]
    comma = (
        reader.separator != "," and any("," in each for each in numbers) and not any("." in each for each in numbers)
    )
    used = {name: column.units for name, column in reader.columns.items()}
    return ListLayout(reader.separator, rows, places, used, reader.width, comma)


def rows_of(text: str, file: str, separator: str = "") -> tuple[str, list[CsvRow]]:
    """What stands between the cells of a CSV text, if not known, and its rows, a heading among them, as they are.

    Raises `PlanProblemsError`.
    """
    reader = _ListReader(text, file, Units.M, None)
    reader.separator = separator or reader.separator
    rows = reader._rows()
    if reader.problems:
        raise PlanProblemsError(reader.problems)
    return reader.separator, rows


def write_point_list(points: Iterable[Listed], units: Units) -> str:
    """The points as CSV (RFC 4180) with their units in the headings; feet and inches are written in inches.

    Numbers have six decimals at most: what the unit can write so is exact, the rest is rounded there. A column with
    a number too long to be read again is in metres. Notes that a spreadsheet would take for a formula get an
    apostrophe before them, which `read_point_list` takes off again.
    """
    listed = list(points)
    sizes = [[_size(point, column) for point in listed] for column in _LENGTHS]
    written = [
        written_units(units, column, place=name != "elevation") for name, column in zip(_LENGTHS, sizes, strict=True)
    ]
    headings = [f"{column} ({used})" for column, used in zip(_LENGTHS, written, strict=True)]
    rows = [["name", *headings, "note"]]
    for point, *places in zip(listed, *sizes, strict=True):
        numbers = ["" if size is None else decimal(size, used) for size, used in zip(places, written, strict=True)]
        rows.append([guarded(point.name), *numbers, guarded(point.note)])
    return "".join(",".join(map(cell_text, row)) + "\r\n" for row in rows)


def written_units(units: Units, sizes: Iterable[Length | None], *, place: bool) -> Units:
    """The units to write these lengths in: those asked for, plain inches for feet and inches, metres for giants."""
    plain = Units.IN if units is Units.FT_IN else units
    most, part = (plain.one * (_GIANT_PLACE if place else _GIANT)).metres.as_integer_ratio()
    pairs = (size.metres.as_integer_ratio() for size in sizes if size is not None)
    giant = any(abs(above) * part >= most * below for above, below in pairs)  # as whole numbers: ten times faster
    return Units.M if giant else plain


def decimal(size: Length, units: Units, places: int = 6) -> str:
    """The number of units as plain decimals without an idle nought, rounded at so many places."""
    (metres, parts), one = size.metres.as_integer_ratio(), units.one.metres
    # Whole numbers: half of the last place goes away from zero, ten times faster than by fractions.
    above, below = 2 * abs(metres) * one.denominator * 10**places, parts * one.numerator
    digits = f"{(above + below) // (2 * below):0{places + 1}d}"
    whole, part = digits[:-places], digits[-places:].rstrip("0")
    text = f"{whole}.{part}" if part else whole
    return f"-{text}" if metres < 0 and text != "0" else text


def _size(point: Listed, column: str) -> Length | None:
    if column == "elevation":
        return None if point.elevation is None else point.elevation.height
    return None if point.at is None else point.at[0 if column == "x" else 1]


class _Column(NamedTuple):
    place: int
    units: Units


@dataclass
class _ListReader:
    text: str
    file: str
    units: Units
    wanted: Mapping[str, str] | None
    order: str = ""
    prefix: str = ""
    problems: list[Problem] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.begins = 1 if self.text.startswith("\N{ZERO WIDTH NO-BREAK SPACE}") else 0
        self.lines = [self.begins, *(found.end() for found in LINE_END.finditer(self.text))]
        self.columns: dict[str, _Column] = {}
        self.sound_heading = True
        self.width = len(self.order)
        self.numbered: list[CsvCell] = []
        self.nameless: set[int] = set()
        self.separator = self._separator()

    def points(self) -> list[Listed]:
        """All that could be read; what could not is among the problems."""
        return self._listed(self.laid())

    def laid(self) -> list[CsvRow]:
        """The rows of points, when it is known which column is what; none after a problem with that."""
        rows = self._rows()
        if not rows:
            if not self.problems:
                self._problem(self.begins, _("This list is empty; write a row of headings, then the points."))
            return []
        if self.order:
            if self._is_heading(rows[0]):
                self._problem(
                    rows[0].at, _("These are headings; take this row out, or “order:” out of the job file.")
                )
                return []
            for place, letter in enumerate(self.order):
                if LETTERS[letter]:
                    self.columns[LETTERS[letter]] = _Column(place, self.units)
        elif self.wanted is not None or self._is_heading(rows[0]):
            heading = rows.pop(0)
            if heading.fault:
                # Without it no cell has a meaning; what is wrong with the quotes of the rest can still be told.
                for fault in [row.fault for row in (heading, *rows) if row.fault]:
                    self._problem(*fault)
                return []
            self._read_heading(heading)
        else:
            says = _(
                "This list has no headings; write name, x, y, elevation above, or “order: PNEZD” in the job file."
            )
            self._problem(rows[0].at, says)
            return []
        if len(rows) > MOST_ROWS:
            self._problem(rows[MOST_ROWS].at, _("The list goes on past {most:,} points; divide it.", most=MOST_ROWS))
            del rows[MOST_ROWS:]
        return rows

    def _problem(self, at: int, says: str) -> None:
        line = self._line(at)
        self.problems.append(Problem(self.file, line, at - self.lines[line - 1] + 1, says))

    def _line(self, at: int) -> int:
        return max(1, bisect_right(self.lines, at))

    # The rows -----------------------------------------------------------------------------------------------

    def _separator(self) -> str:
        """The sign that makes most headings of the first row, else most numbers where numbers belong."""
        starts = [at for at in self.lines if not self._passed_over(at)][:_LINES_TO_TELL_BY]
        if not starts:
            return ","
        first = self.text[starts[0] : line_end(self.text, starts[0])]

        def fits(separator: str) -> tuple[int, int, int]:
            rows = [row_at(self.text, at, separator).cells for at in starts]
            return sum(map(self._known, rows[0])), sum(map(self._numbers, rows)), first.count(separator)

        return max(_SEPARATORS, key=fits)

    def _passed_over(self, at: int) -> bool:
        line = self.text[at : line_end(self.text, at)].strip()
        return line.startswith("#") or not line.strip(" \t,;")

    def _rows(self) -> list[CsvRow]:
        """All rows with something in them, the heading among them, but no more than can be of use."""
        rows: list[CsvRow] = []
        behind = self.begins
        for at in self.lines:
            if at < behind:
                continue  # inside a row that goes over a line end
            passed_over, hidden = self._passed_over(at), self._hidden(at)
            if not passed_over:
                row = row_at(self.text, at, self.separator)
                row.fault = hidden or row.fault
                behind = row.end
                rows.append(row)
            elif hidden:
                self._problem(*hidden)
            if len(rows) > MOST_ROWS + 1:
                break
        return rows

    def _hidden(self, at: int) -> Fault | None:
        line = self.text[at : line_end(self.text, at)]
        place = hidden_in(line.replace("\t", " ") if self.separator == "\t" else line)
        if place is None:
            return None
        return Fault(
            at + place,
            _("A character that can't go in a point list (U+{code:04X}); remove it.", code=ord(line[place])),
        )

    # The headings -------------------------------------------------------------------------------------------

    def _known(self, cell: CsvCell) -> bool:
        names, _ = _heading(cell.text)
        known = _COLUMN_OF if self.wanted is None else [_single_spaced(text) for text in self.wanted.values()]
        return any(name in known for name in names)

    def _numbers(self, cells: list[CsvCell]) -> int:
        """How many of the cells that hold the places in a list without headings are numbers."""
        return sum(self._is_number(cell.text) for cell in cells[:4])

    def _is_number(self, text: str) -> bool:
        try:
            read_coordinate(text, self.units)
        except NotUnderstoodError:
            return False
        return True

    def _is_heading(self, row: CsvRow) -> bool:
        """A row with a number in it is a point; one without a digit is no point, whatever it says."""
        if any(self._is_number(cell.text) for cell in row.cells):
            return False
        return any(map(self._known, row.cells)) or not any(c.isnumeric() for cell in row.cells for c in cell.text)

    def _read_heading(self, row: CsvRow) -> None:
        before = len(self.problems)
        self.width = len(row.cells)
        for index, cell in enumerate(row.cells):
            self._read_heading_cell(index, cell)
        missing = [column for column in (self.wanted or ()) if column not in self.columns]
        if self.wanted is not None and len(self.problems) == before:
            for column in missing:
                near = suggestion(self.wanted[column], [cell.text for cell in row.cells])
                says = _(
                    "No column is headed “{wanted}”, where {column} should be.{meant}",
                    wanted=self.wanted[column][:LONGEST_TEXT],
                    column=column,
                    meant=near,
                )
                self._problem(row.at, says)
        if len(self.problems) == before:
            self._miss_columns(row.at)
        self.sound_heading = len(self.problems) == before

    def _read_heading_cell(self, index: int, cell: CsvCell) -> None:
        if len(cell.text) > LONGEST_TEXT:
            self._problem(cell.at, _too_long(cell.text))
            return
        names, unit = _heading(cell.text)
        columns = self._columns_named(names)
        if not columns:
            if not cell.text:
                self.nameless.add(index)
            elif self.wanted is None:
                near = suggestion(names[-1], _COLUMN_OF)
                says = _(
                    "“{heading}” is not a heading known here; use {columns} and {last}.{meant}",
                    heading=cell.text,
                    columns=", ".join(COLUMNS[:-1]),
                    last=COLUMNS[-1],
                    meant=near,
                )
                self._problem(cell.at, says)
            return
        for column in columns:
            if column in self.columns:
                self._problem(
                    cell.at, _("“{text}” is a second heading for {column}; keep one.", text=cell.text, column=column)
                )
            elif column in _LENGTHS and unit is not None and unit not in _UNITS_OF:
                says = _(
                    "“{unit}” in a heading is not a unit known here; use {units}, like {column} (ft).",
                    unit=unit,
                    units=", ".join(Units),
                    column=column,
                )
                self._problem(cell.at, says)
            else:
                self.columns[column] = _Column(index, self.units if unit is None else _UNITS_OF.get(unit, self.units))

    def _columns_named(self, names: tuple[str, ...]) -> list[str]:
        if self.wanted is not None:
            return [column for column, text in self.wanted.items() if _single_spaced(text) in names]
        return [_COLUMN_OF[name] for name in names[-1:] if name in _COLUMN_OF]

    def _miss_columns(self, at: int) -> None:
        if "name" not in self.columns:
            self._problem(at, _("No column is headed “name”; add one."))
        if ("x" in self.columns) != ("y" in self.columns):
            there, missing = ("x", "y") if "x" in self.columns else ("y", "x")
            self._problem(
                at, _("There is a column {there} but none headed “{missing}”; add it.", there=there, missing=missing)
            )
        elif "x" not in self.columns and "elevation" not in self.columns:
            self._problem(at, _("No column is headed “elevation”, and none “x” and “y”; add what places the points."))

    # The points ---------------------------------------------------------------------------------------------

    def _listed(self, rows: list[CsvRow]) -> list[Listed]:
        lengths = [self.columns[column].place for column in _LENGTHS if column in self.columns]
        pointed = any("." in row.cell(place).text for row in rows for place in lengths)
        comma = self.separator != "," and not pointed
        first_line: dict[str, int] = {}
        points = [self._point(row, str(number), comma, first_line) for number, row in enumerate(rows, 1)]
        if self.numbered:
            first, more = self.numbered[0], len(self.numbered) - 1
            self._problem(first.at, numbered_fault(first.text, more))
        return [point for point in points if point is not None]

    def _point(self, row: CsvRow, number: str, comma: bool, first_line: dict[str, int]) -> Listed | None:
        before = len(self.problems)
        if row.fault:
            self._problem(*row.fault)
            return None
        self._refuse_cells_without_a_column(row)
        cells = {column: row.cell(its.place) for column, its in self.columns.items()}
        named = cells["name"] if "name" in cells else CsvCell(number if self.order else "", row.at)
        name = self._name(named, self._line(row.at), first_line) if "name" in cells or self.order else ""
        x, y, z = (self._length(column, cells[column], comma) if column in cells else None for column in _LENGTHS)
        note = self._note(cells["note"]) if "note" in cells else ""
        if self.sound_heading:
            self._miss_lengths(cells, row)
        if len(self.problems) > before:
            return None
        at = None if x is None or y is None else (x, y)
        return Listed(name, at, None if z is None else Elevation(z.metres), note, self._line(row.at))

    def _refuse_cells_without_a_column(self, row: CsvRow) -> None:
        for index, cell in enumerate(row.cells):
            if cell.text and (index >= self.width or index in self.nameless):
                sign = _("a tab") if self.separator == "\t" else f"“{self.separator}”"
                says = _(
                    "“{text}” is in no column; a text with {sign} in it needs quotes.",
                    text=cell.text[:LONGEST_NAME],
                    sign=sign,
                )
                self._problem(cell.at, says)
                return

    def _name(self, cell: CsvCell, line: int, first_line: dict[str, int]) -> str:
        name = prefixed(self.prefix, cell.text)
        key = folded(name)
        if len(name) > LONGEST_TEXT:
            self._problem(cell.at, _too_long(name))
        elif name.isdecimal() and name_fault(name) is None:
            self.numbered.append(cell)  # told once for all of them
        elif fault := point_name_fault(name):
            self._problem(cell.at, fault)
        elif key in first_line:
            says = _(
                "“{name}” is listed already on line {first_line}; give each point its own name.",
                name=name,
                first_line=first_line[key],
            )
            self._problem(cell.at, says)
        else:
            first_line[key] = line
        return name

    def _note(self, cell: CsvCell) -> str:
        note = unguarded(cell.text)
        if len(note) > LONGEST_TEXT:
            self._problem(cell.at, _too_long(note))
        elif (hidden := hidden_in(note)) is not None:
            self._problem(
                cell.at,
                _("A character in this text can't be seen (U+{code:04X}); remove it.", code=ord(note[hidden])),
            )
        return note

    def _length(self, column: str, cell: CsvCell, comma: bool) -> Length | None:
        if not cell.text:
            return None
        text = cell.text
        if comma and text.count(",") == 1:
            text = text.replace(",", ".")
        try:
            read = read_length if column == "elevation" else read_coordinate
            return read(text, self.columns[column].units)
        except NotUnderstoodError as wrong:
            self._problem(cell.at, f"{column}: {wrong}")
            return None

    def _miss_lengths(self, cells: Mapping[str, CsvCell], row: CsvRow) -> None:
        there = [column for column in _LENGTHS if column in cells and cells[column].text]
        if ("x" in there) != ("y" in there):
            one, other = ("x", "y") if "x" in there else ("y", "x")
            self._problem(
                cells[other].at,
                _("{other} is missing here, though {one} is given; give both or none.", other=other, one=one),
            )
        elif not there:
            self._problem(row.at, _("This point has no elevation and no x and y; give the one or the other."))


def prefixed(prefix: str, name: str) -> str:
    """The name, with the prefix before it where it begins with a digit."""
    return f"{prefix}{name}" if prefix and name[:1].isdecimal() else name


def numbered_fault(first: str, more: int) -> str:
    """The sentence for names that are numbers, with the way to use them."""
    also = _(" and {more} more names here", more=more) if more else ""
    return _(
        "“{first}”{also} could be taken for a reading; write “prefix: P” next to “file:” in the job file.",
        first=first,
        also=also,
    )


def _heading(text: str) -> tuple[tuple[str, ...], str | None]:
    """What a heading may be called, as it stands and without its unit; and the unit in it, if it names one."""
    whole = _single_spaced(text[:LONGEST_TEXT])
    if found := re.fullmatch(r"([^()\[\]]*)(?:\(([^()\[\]]*)\)|\[([^()\[\]]*)\])", whole):
        unit = found[2] if found[2] is not None else found[3]
        return (whole, found[1].strip()), unit.strip()
    bare, _, unit = whole.rpartition("_")
    return ((whole, bare.strip()), unit) if bare and unit in _UNITS_OF else ((whole,), None)


def _single_spaced(text: str) -> str:
    return " ".join(one_form(text).casefold().split())


def _too_long(text: str) -> str:
    return _(
        "This cell is {number:,} characters long; it holds {most} at most.",
        number=len(text),
        most=LONGEST_TEXT,
    )
