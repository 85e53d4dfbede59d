"""Lists as offices export them: CSV in whatever signs and letters, and the sheets of a workbook, to rows of cells."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

from gradecheck.catalogue import _, plural
from gradecheck.exchange.found import MOST_BYTES, MOST_ROWS, MOST_TEXT, Grid, refuse, shortest_decimal
from gradecheck.measure.notation import Units
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate
from gradecheck.plan.csv_rows import LINE_END
from gradecheck.plan.names import one_form, visible
from gradecheck.plan.point_list import SYNONYMS, decimal, rows_of
from gradecheck.plan.problems import PlanProblemsError, Problem

MOST_COLUMNS = 64
_LONGEST_LINE, _MOST_LINES = 20_000, 4 * MOST_ROWS
_MOST_PARTS, _LARGEST_PART = 200, 32_000_000
"""Of a workbook, which is a zip of parts."""
_SEPARATOR_LINE = re.compile(r"sep=(.)\s*(?:\r\n|\n|\r)")
"""The first line by which spreadsheets tell each other what stands between cells (common practice, no source)."""
INSTALL = _('install it with: pip install "gradecheck[exchange]"')


def decoded(content: bytes, file: str) -> tuple[str, list[str]]:
    """The text of a file, and what is to be told of how it was read."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if content.startswith(mark):
            try:
                return content.decode(encoding), []
            except UnicodeDecodeError:
                refuse(file, _("This text breaks off in the middle of a letter; get the file whole."))
    try:
        return content.decode("utf-8"), []
    except UnicodeDecodeError:
        text = content.decode("cp1252", "replace")
        return text, [_("The text is not UTF-8; read as Windows letters (cp1252). Check letters with accents.")]


def read_csv(content: bytes, file: str) -> Grid:
    """The rows of a CSV. Raises `PlanProblemsError`."""
    if len(content) > MOST_TEXT:
        refuse(file, _("This list is larger than {most} MB; divide it.", most=MOST_TEXT // 10**6))
    text, remarks = decoded(content, file)
    skipped = 0
    if first_line := _SEPARATOR_LINE.match(text):
        text, skipped = text[first_line.end() :], 1
        if first_line[1] not in ",;\t":
            text = text.replace(first_line[1], "\t")
    for number, line in enumerate(LINE_END.split(text), 1 + skipped):
        if len(line) > _LONGEST_LINE:
            refuse(
                file, _("This line has {line:,} characters; no row of a list has so many.", line=len(line)), number
            )
        if number > _MOST_LINES:
            refuse(file, _("The list goes on past {most:,} lines; divide it.", most=_MOST_LINES), number)
    text = _usual_signs(text)
    separator, rows = rows_of(text, file, _even_sign(text))
    if len(rows) > MOST_ROWS + 1:
        refuse(file, _("The list goes on past {most:,} rows; divide it.", most=MOST_ROWS))
    lines = _Lines(text, skipped)
    if faults := [row.fault for row in rows if row.fault]:
        raise PlanProblemsError([Problem(file, lines.of(fault.at), 1, fault.says) for fault in faults])
    cells = [(_("line {of}", of=lines.of(row.at)), tuple(cell.text for cell in row.cells)) for row in rows]
    return _grid("CSV", cells, remarks, file, comma=separator == ",")


def _first_lines(text: str) -> list[str]:
    return [line for line in LINE_END.split(text[:20_000]) if line.strip(" \t;,") and not line.startswith("#")][:20]


def _even_sign(text: str) -> str:
    """The tab or semicolon that every line has as often as the others; empty where it takes a closer look."""
    first = _first_lines(text)
    for sign in "\t;":
        if len({line.count(sign) for line in first}) == 1 and sign in first[0]:
            return sign
    return ""


def _usual_signs(text: str) -> str:
    """The text with tabs where bars or runs of spaces part the cells, as some programs write them."""
    first = _first_lines(text)
    if not first or any(sign in line for line in first for sign in "\t;,"):
        return text
    if all("|" in line for line in first):
        return text.replace("|", "\t")
    if len({len(line.split()) for line in first}) == 1:
        return "\n".join("\t".join(line.split()) for line in LINE_END.split(text))
    return text


class _Lines:
    """Which line a place in the text is on, for places that only go up."""

    def __init__(self, text: str, skipped: int) -> None:
        self._ends = (found.end() for found in LINE_END.finditer(text))
        self._line, self._next = 1 + skipped, next(self._ends, len(text) + 1)
        self._length = len(text)

    def of(self, at: int) -> int:
        """The line, counted from 1."""
        while at >= self._next:
            self._line, self._next = self._line + 1, next(self._ends, self._length + 1)
        return self._line


def _grid(
    kind: str, rows: Sequence[tuple[str, tuple[str, ...]]], remarks: Sequence[str], file: str, *, comma: bool = False
) -> Grid:
    """The rows under their headings, where the first row holds no number."""
    if not rows:
        refuse(file, _("This list is empty."))
    first = next((at for at, (_, cells) in enumerate(rows[:_MOST_TITLES]) if any(map(is_number, cells))), None)
    if first is None:
        refuse(file, _("There are no points in this list: no row with a number in it."))
    if first == 0:
        return Grid(kind, None, rows, tuple(remarks), comma)
    # Titles may stand above the headings; of those rows the one that says most that is known is the headings'.
    above = rows[:first]
    at = max(range(first), key=lambda each: (sum(map(bool, map(known_columns, above[each][1]))), each))
    titles = [" ".join(filter(None, cells)) for each, (_, cells) in enumerate(above) if each != at]
    all_remarks = [*remarks, *(_("skipped above the points: “{title}”", title=title[:60]) for title in titles)]
    return Grid(kind, above[at][1], rows[first:], tuple(all_remarks), comma)


_MOST_TITLES = 30
"""Rows above the first with a number in it."""


def is_number(text: str) -> bool:
    """Whether a cell could be a coordinate."""
    try:
        read_coordinate(shortened(text), Units.M)
    except NotUnderstoodError:
        return False
    return True


_LONG = re.compile(r"[-+]?[0-9]{1,12}[.,][0-9]{7,30}")


def shortened(text: str) -> str:
    """A decimal with more than six places rounded to six, which is all that a list here keeps; else the text."""
    if not _LONG.fullmatch(text):
        return text
    number = shortest_decimal(text.replace(",", "."))
    assert number is not None
    return decimal(Units.M.one * number, Units.M)


# Headings ---------------------------------------------------------------------------------------------------------

HEADINGS = {
    "name": (
        *SYNONYMS["name"],
        "pt",
        "pnt",
        "no",
        "num",
        "number",
        "pointno",
        "pointid",
        "pointname",
        "ptno",
        "ptid",
    ),
    "x": (*SYNONYMS["x"], "eastings", "xcoord"),
    "y": (*SYNONYMS["y"], "northings", "ycoord"),
    "elevation": (
        *SYNONYMS["elevation"],
        "elv",
        "rl",
        "grade",
        "fg",
        "finish",
        "design",
        "hgt",
        "h",
        "fgelev",
        "finishgrade",
        "finishedgrade",
    ),
    "note": (*SYNONYMS["note"], "desc", "d", "code", "feature", "comment", "remarks"),
}
"""Headings taken without asking, spaces and signs left out (common practice, no source)."""
_HEADING_UNITS = dict.fromkeys(("in", "inch", "inches"), "in") | dict.fromkeys(("ft", "foot", "feet"), "ft")
_HEADING_UNITS |= dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m") | {"mm": "mm", "cm": "cm"}
_HEADING_UNITS |= dict.fromkeys(("usft", "us ft", "us foot", "us survey feet", "survey feet"), "usft")
"""Units as headings tell them."""


def known_columns(heading: str) -> list[str]:
    """Our columns that a heading could mean."""
    plain = plain_heading(heading)
    return [column for column, known in HEADINGS.items() if plain in known]


def plain_heading(heading: str) -> str:
    """A heading in small letters without its unit, spaces and signs."""
    return re.sub(r"[\s_.#-]+", "", unit_parted(heading)[0])


def unit_parted(heading: str) -> tuple[str, str]:
    """A heading without its unit, and the unit it names, empty where it names none known here."""
    whole = " ".join(one_form(heading).casefold().split())
    if found := re.fullmatch(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]", whole):
        return found[1], _HEADING_UNITS.get(found[2].strip(), "")
    bare, _, unit = whole.rpartition("_")
    return (bare, _HEADING_UNITS[unit]) if bare and unit in _HEADING_UNITS else (whole, "")


# Workbooks --------------------------------------------------------------------------------------------------------


def read_xlsx(content: bytes, file: str, sheet: str = "") -> Grid:
    """The rows of a workbook's sheet, named where several hold something. Raises `PlanProblemsError`."""
    _check_size(content, file)
    try:
        import openpyxl
    except ImportError:
        refuse(file, _("Reading XLSX needs openpyxl; {install}", install=INSTALL))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
            try:
                return _sheet(book, content, file, sheet)
            finally:
                book.close()
    except PlanProblemsError:
        raise
    except Exception as wrong:  # noqa: BLE001 - whatever a library makes of a broken file is a problem of the file
        refuse(
            file,
            _("This workbook can't be read ({name}); open it and save it again as .xlsx.", name=type(wrong).__name__),
        )


def _check_size(content: bytes, file: str) -> None:
    """Refuses what would unpack to more than can be of use."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError):
        refuse(file, _("This workbook is damaged; open it and save it again as .xlsx."))
    if (
        sum(part.file_size for part in parts) > MOST_BYTES
        or max((p.file_size for p in parts), default=0) > _LARGEST_PART
    ):
        refuse(
            file,
            _(
                "This workbook unpacks to more than {most} MB; keep the list in one of its own.",
                most=MOST_BYTES // 10**6,
            ),
        )
    if len(parts) > _MOST_PARTS:
        refuse(
            file,
            _(
                "This workbook has more than {most} parts; keep the list in one of its own.",
                most=_MOST_PARTS,
            ),
        )
    if not any(part.filename == "xl/workbook.xml" for part in parts):
        refuse(file, _("This zip holds no workbook; unpack it, or save the list as .xlsx."))


def _sheet(book: Any, content: bytes, file: str, named: str) -> Grid:
    titles = [each.title for each in book.worksheets]
    if named and named not in titles:
        refuse(
            file,
            _(
                "There is no sheet “{text}”; this workbook has {listed}.",
                text=visible(named),
                listed=_listed(titles),
            ),
        )
    filled = []
    for sheet in book.worksheets:
        if named in ("", sheet.title) and (rows := _rows(sheet, file)):
            filled.append((sheet, rows))
    if len(filled) > 1:
        refuse(
            file,
            _(
                "Several sheets hold something; name one with --sheet: {listed}.",
                listed=_listed([s.title for s, _ in filled]),
            ),
        )
    if not filled:
        refuse(file, _("This workbook is empty."))
    [(sheet, rows)] = filled
    remarks = [_("sheet “{text}”", text=visible(sheet.title))]
    if sheet.sheet_state != "visible":
        remarks.append(_("The sheet is hidden."))
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = [packed.read(each) for each in packed.namelist() if each.startswith("xl/worksheets/")]
    hidden = sum(len(re.findall(rb"<row\b[^>]*\bhidden=\"(?:1|true)\"", part)) for part in parts)
    if hidden:
        remarks.append(plural(hidden, "{n} hidden row is imported too.", "{n} hidden rows are imported too."))
    if any(b"<f>" in part or b"<f " in part for part in parts):
        rows = list(_with_formulas(rows, content, sheet.title))
    return _grid("XLSX", rows, remarks, file)


def _listed(titles: Sequence[str]) -> str:
    return ", ".join(f"“{visible(title)}”" for title in titles)


def _rows(sheet: Any, file: str) -> list[tuple[str, tuple[str, ...]]]:
    """The rows that hold something, each with its number, as texts."""
    sheet.reset_dimensions()  # what the file says of them may be false
    found = []
    for number, row in enumerate(sheet.iter_rows(max_row=MOST_ROWS * 2, max_col=MOST_COLUMNS, values_only=True), 1):
        cells = ["" if value is None else _text(value) for value in row]
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            found.append((_("row {number}", number=number), tuple(cells)))
        if len(found) > MOST_ROWS + 1:
            refuse(file, _("The sheet goes on past {most:,} rows; divide it.", most=MOST_ROWS))
    return found


def _text(value: object) -> str:
    """A cell as it would have been typed."""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float | Decimal):
        text = str(value)
        if _SHORT.fullmatch(text):
            return text.removesuffix(".0")
        number = shortest_decimal(text)
        return str(value) if number is None or abs(number) >= 10**12 else decimal(Units.M.one * number, Units.M)
    if isinstance(value, date | time | timedelta):
        return f"{DATE}{value}"
    return visible(" ".join(str(value).split()))


_SHORT = re.compile(r"-?[0-9]{1,10}(?:\.[0-9]{1,6})?", re.ASCII)
"""A number that is in a list as it is."""
DATE = _("a date: ")
"""What stands before a cell that a spreadsheet has made a date of."""
NO_RESULT = _("a formula without a result")


def _with_formulas(
    rows: Sequence[tuple[str, tuple[str, ...]]], content: bytes, title: str
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The rows with a word in each cell whose formula has no result; those of libraries have none until opened."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
    sheet = book[title]
    sheet.reset_dimensions()
    known = dict(rows)
    for number, row in enumerate(sheet.iter_rows(max_row=MOST_ROWS * 2, max_col=MOST_COLUMNS), 1):
        cells = list(known.get(_("row {number}", number=number), ()))
        cells += [""] * (len(row) - len(cells))
        for at, cell in enumerate(row):
            if cell.data_type == "f" and not cells[at]:
                cells[at] = NO_RESULT
        if any(cells):
            yield _("row {number}", number=number), tuple(cells)
    book.close()
