"""From what a file holds to points of a plan: what must be answered is asked, the rest is told as it was taken.

Northing and easting are never guessed, nor what a number counts. All points go through the reader of point lists, so
that a name or a length from a drawing is held to what one typed is held to.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from gradecheck.catalogue import _, count
from gradecheck.exchange.found import (
    SURVEY_FOOT,
    DrawnLine,
    DrawnPoint,
    FoundDrawing,
    Grid,
    PlainPoints,
    shortest_decimal,
)
from gradecheck.exchange.list_in import (
    DATE,
    HEADINGS,
    NO_RESULT,
    is_number,
    known_columns,
    plain_heading,
    shortened,
    unit_parted,
)
from gradecheck.exchange.plain_list import PlainList
from gradecheck.ground.outline import Outline, Ring, crosses_itself, signed_area, where
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT, Elevation, Length
from gradecheck.measure.typed import DIGITS, DIGITS_OF_A_PLACE, NotUnderstoodError, read_coordinate, read_length
from gradecheck.plan.csv_rows import cell_text, guarded
from gradecheck.plan.geojson import Outlined
from gradecheck.plan.lines import LineError, arc_through
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import (
    COLUMNS,
    LETTERS,
    MOST_ROWS,
    Listed,
    decimal,
    order_fault,
    prefixed,
    read_point_list,
)
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion

UNITS = {"in": "in", "ft": "ft", "ft-in": "ft-in", "mm": "mm", "cm": "cm", "m": "m", "usft": _("US survey feet")}
"""What `--units` may say."""
ALL_LAYERS = "*"
NO_ELEVATION = ("elevation", "none")
"""The answer that no column or attribute is the elevation."""
_LENGTHS = ("x", "y", "elevation")
_ORDER = _(
    "a letter for each: P point, N northing, E easting, Z elevation, D description, C skipped; PNEZD or PENZD fit "
    "alike."
)
_DATE = re.compile(
    r"[0-9]{1,2}[-./ ][A-Za-z]{3,9}|[0-9]{1,2}[-./][0-9]{1,2}[-./][0-9]{2,4}|[0-9]{4}-[0-9]{2}-[0-9]{2}.*"
)


@dataclass(frozen=True, slots=True)
class ImportAnswers:
    """What was answered: units of numbers, order or columns, prefix of names, layers, sheet.

    `columns` names for each of ours a heading, an attribute, or the number of a column, from 1.
    """

    units: str = ""
    order: str = ""
    columns: dict[str, str] = field(default_factory=dict)
    prefix: str = ""
    layers: tuple[str, ...] = ()
    outline: str = ""
    sheet: str = ""
    planar: bool = False


class ImportQuestion(str):
    """What must be answered: as a command has it; `asks` is the same for a screen, `key` what is answered.

    `column` is the one of ours that an answer for `columns` names, where that is one alone.
    """

    asks: str
    key: str
    column: str

    def __new__(cls, asks: str, key: str, command: str, typed: str, column: str = "") -> ImportQuestion:
        """`command` says how a command answers, `typed` what is typed on a screen."""
        made = super().__new__(cls, f"{asks} {command}")
        made.asks, made.key, made.column = f"{asks} {typed}", key, column
        return made


@dataclass(slots=True)
class ImportResult:
    """What came of it: points and an outline, or what must be answered first; `remarks` tell what was taken as."""

    points: Sequence[Listed] = field(default_factory=list)
    outline: Outlined | None = None
    questions: list[ImportQuestion] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    units: Units = Units.M


class _Row:
    """A point on its way: where it stands in the file, and its cells."""

    __slots__ = ("cells", "where")

    def __init__(self, where: str, cells: dict[str, str]) -> None:
        self.where, self.cells = where, cells


# Lists ----------------------------------------------------------------------------------------------------------


def take_list(grid: Grid, answers: ImportAnswers, file: str) -> ImportResult:
    """The points of a list. Raises `PlanProblemsError` for what is wrong in it."""
    taken = ImportResult(remarks=list(grid.remarks))
    columns = _columns(grid, answers, file, taken)
    units = _units_of_columns(grid, columns, answers, taken)
    if columns:
        named = "name" in columns
        _ask_prefix([_cell(c, columns["name"]) for _, c in grid.rows] if named else None, answers, taken)
    if taken.questions:
        return taken
    _refuse_dates(grid, columns, file)
    rows, width = [], len(answers.order) or len(grid.headings or ())
    places, lengths = tuple(columns.items()), [column for column in _LENGTHS if column in columns]
    for at, cells in grid.rows:
        if len(cells) > width:
            cells = _within(cells, width, answers.order, at, file)
        texts = {column: cells[place] if place < len(cells) else "" for column, place in places}
        for column in lengths:
            if texts[column]:
                texts[column] = _number(texts[column], at, file, comma=grid.comma)
        rows.append(_Row(at, texts))
    taken.points = _read(rows, units, answers.prefix, file)
    taken.units = _plain_units(units)
    return taken


def _cell(cells: Sequence[str], place: int) -> str:
    return cells[place] if place < len(cells) else ""


def _within(cells: tuple[str, ...], width: int, order: str, at: str, file: str) -> tuple[str, ...]:
    """The cells that have a column; a description at the end of the order takes what was parted from it."""
    beyond = [cell for cell in cells[width:] if cell] if width else []
    if not beyond:
        return cells
    if order.endswith("D"):
        return (*cells[: width - 1], ", ".join(filter(None, cells[width - 1 :])))
    says = _(
        "{at}: “{quoted}” is in no column; a text with a separator in it needs quotes.",
        at=at,
        quoted=_short(beyond[0]),
    )
    raise PlanProblemsError([Problem(file, _line(at), 1, says)])


def _columns(grid: Grid, answers: ImportAnswers, file: str, taken: ImportResult) -> dict[str, int]:
    """For each of our columns its place; what can't be told is asked."""
    found: dict[str, int] = {}
    if answers.order:
        if fault := order_fault(answers.order):
            raise PlanProblemsError([Problem(file, 1, 1, fault)])
        if grid.headings is not None:
            taken.remarks.append(
                _("the headings {listed} are skipped, since --order is given", listed=_listed(grid.headings))
            )
        return {LETTERS[letter]: at for at, letter in enumerate(answers.order) if LETTERS[letter]}
    if grid.headings is None and not answers.columns:
        width = max(len(cells) for _, cells in grid.rows)
        taken.questions.append(
            ImportQuestion(
                _("The list has no headings and {width}. Which is which?", width=count(width, "column")),
                "order",
                _("--order, {letters}", letters=_ORDER),
                _("Type {letters}", letters=_ORDER),
            )
        )
        return found
    headings = grid.headings or ()
    given = {column: text for column, text in answers.columns.items() if (column, text) != NO_ELEVATION}
    said = {_place_of(text, headings, file): column for column, text in given.items()}
    for at, heading in enumerate(headings):
        for column in known_columns(heading):
            if column in answers.columns or at in said:
                continue
            if column in found:
                taken.questions.append(
                    ImportQuestion(
                        _(
                            "“{one}” and “{other}” both could be {column}.",
                            one=_short(headings[found[column]]),
                            other=_short(heading),
                            column=column,
                        ),
                        "columns",
                        _('Say which: --columns "{column}=…"', column=column),
                        _("Type the one it is."),
                        column,
                    )
                )
            found.setdefault(column, at)
    found |= {column: at for at, column in said.items()}
    if ("x" in found) != ("y" in found) or not ({"x", "elevation"} & set(found)):
        taken.questions.append(
            ImportQuestion(
                _("Which columns place the points? There are {listed}.", listed=_listed(headings)),
                "columns",
                _('--columns "name=…,x=…,y=…,elevation=…", with x the easting and y the northing.'),
                _("Type name=…,x=…,y=…,elevation=… with a heading or number; x is the easting, y the northing."),
            )
        )
    unused = [at for at in range(len(headings)) if at not in found.values() and _holds_numbers(grid, at)]
    if "elevation" not in (*found, *answers.columns) and unused and not taken.questions:
        taken.questions.append(
            ImportQuestion(
                _(
                    "Which column is the elevation? Left over: {listed}.",
                    listed=_listed([headings[at] for at in unused]),
                ),
                "columns",
                _('--columns "elevation=…"; elevation=none leaves it to the plan\'s surface.'),
                _("Type its heading; none leaves it to the plan's surface."),
                "elevation",
            )
        )
    sources = [
        _("{column} from “{quoted}”", column=column, quoted=_short(headings[at]))
        for column, at in found.items()
        if at < len(headings)
    ]
    if sources:
        taken.remarks.append(", ".join(sources))
    over = [heading for at, heading in enumerate(headings) if heading and at not in found.values()]
    if over:
        taken.remarks.append(_("skipped: {listed}", listed=_listed(over)))
    return found


def _holds_numbers(grid: Grid, place: int) -> bool:
    return any(is_number(_cell(cells, place)) for _, cells in grid.rows[:20])


def _place_of(said: str, headings: Sequence[str], file: str) -> int:
    """The place of a column by its heading or its number."""
    plain = [" ".join(heading.casefold().split()) for heading in headings]
    wanted = " ".join(said.casefold().split())
    if plain.count(wanted) == 1:
        return plain.index(wanted)
    bare = [plain_heading(heading) for heading in headings]
    if bare.count(plain_heading(said)) == 1:
        return bare.index(plain_heading(said))
    if said.isdecimal() and 1 <= int(said) <= 64:
        return int(said) - 1
    near = suggestion(said, headings)
    headings_there = (
        _(" There are {listed}.", listed=_listed(headings)) if headings else _(" Name it by its number, from 1.")
    )
    raise PlanProblemsError(
        [
            Problem(
                file,
                1,
                1,
                _(
                    "There is no one column “{quoted}”.{headings}{meant}",
                    quoted=_short(said),
                    headings=headings_there,
                    meant=near,
                ),
            )
        ]
    )


def _units_of_columns(
    grid: Grid, columns: dict[str, int], answers: ImportAnswers, taken: ImportResult
) -> dict[str, str]:
    """What the numbers of each column of lengths count; asked where its heading does not say."""
    found = {}
    for column in _LENGTHS:
        if column in columns:
            headings = grid.headings or ()
            heading = headings[columns[column]] if columns[column] < len(headings) else ""
            found[column] = answers.units or unit_parted(heading)[1]
    if not answers.units and not (found and all(found.values())):
        spans = ", ".join(filter(None, (_span(grid, columns[column], column) for column in found)))
        spans_text = _(" They go: {spans}.", spans=spans) if spans else ""
        taken.questions.append(
            ImportQuestion(
                _("What unit are the numbers in?{said}", said=spans_text),
                "units",
                _("--units in, ft, mm, cm, m, ft-in or usft."),
                _("Type in, ft, mm, cm, m, ft-in or usft."),
            )
        )
    return found


def _span(grid: Grid, place: int, column: str) -> str:
    numbers = [
        number
        for _, cells in grid.rows
        if (number := shortest_decimal(_cell(cells, place).replace(",", "."))) is not None
    ]
    return (
        _(
            "{column} from {least:g} to {most:g}",
            column=column,
            least=float(min(numbers)),
            most=float(max(numbers)),
        )
        if numbers
        else ""
    )


def _ask_prefix(names: Sequence[str] | None, answers: ImportAnswers, taken: ImportResult) -> None:
    if answers.prefix:
        return
    if names is None:
        taken.questions.append(
            ImportQuestion(
                _("The points have no names."),
                "prefix",
                _("--prefix P numbers them in the order of the file: P1, P2."),
                _("Type a letter, P say: it numbers them in the order of the file, P1, P2."),
            )
        )
        return
    numbered = [name for name in names if name[:1].isdecimal()]
    if numbered:
        taken.questions.append(
            ImportQuestion(
                _(
                    "{numbered} could be taken for a reading (“{quoted}”).",
                    numbered=count(len(numbered), "name"),
                    quoted=_short(numbered[0]),
                ),
                "prefix",
                _("--prefix P puts a letter before those that begin with a figure."),
                _("Type a letter, P say: it stands before those that begin with a figure."),
            )
        )


def _refuse_dates(grid: Grid, columns: dict[str, int], file: str) -> None:
    """Refuses lengths that a spreadsheet has made something else of."""
    wrong = []
    for at, cells in grid.rows:
        for column in _LENGTHS:
            cell = _cell(cells, columns[column]) if column in columns else ""
            if cell.startswith(DATE) or _DATE.fullmatch(cell):
                says = _(
                    "{at}, {column}: “{quoted}”: a spreadsheet made a date of a fraction. Format it as text.",
                    at=at,
                    column=column,
                    quoted=_short(cell),
                )
                wrong.append(Problem(file, _line(at), 1, says))
            elif cell == NO_RESULT:
                says = _(
                    "{at}, {column}: {no_result}; open the file in the spreadsheet and save it.",
                    at=at,
                    column=column,
                    no_result=NO_RESULT,
                )
                wrong.append(Problem(file, _line(at), 1, says))
    if wrong:
        raise PlanProblemsError(wrong)


def _number(text: str, at: str, file: str, *, comma: bool) -> str:
    """A cell of a list whose commas part cells: one in a number is a decimal comma where it can be nothing else."""
    if comma and "," in text:
        if re.search(r",[0-9]{3}(?![0-9])", text) or text.count(",") > 1:
            says = _(
                "{at}: “{quoted}” can mean two things; write it with a point, or without the comma.",
                at=at,
                quoted=_short(text),
            )
            raise PlanProblemsError([Problem(file, _line(at), 1, says)])
        text = text.replace(",", ".")
    return shortened(text)


# All of them --------------------------------------------------------------------------------------------------------


_PLAIN_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_.+-]{0,23}", re.ASCII)
_PLAIN_TEXT = re.compile(r"[ -~]{0,120}", re.ASCII)
_Sizes = tuple[str, str, Length | None, Length | None, Length | None]
"""Name, note, x, y and elevation of a point on its way."""


def _plainly(sizes: Iterable[_Sizes], prefix: str) -> list[Listed] | None:
    """The points where their names are plain Latin letters and figures, all different, and no text takes a look.

    Those the reader of point lists takes as they are, and so they need not go through it; None for all others.
    """
    with contextlib.suppress(NotUnderstoodError):
        return _all_plain(sizes, prefix)
    return None


def _all_plain(sizes: Iterable[_Sizes], prefix: str) -> list[Listed] | None:
    points: list[Listed] = []
    names: set[str] = set()
    for number, (name, note, x, y, z) in enumerate(sizes, 1):
        if prefix:
            name = prefixed(prefix, name or str(number))
        names.add(name.lower())
        if (
            len(names) < number
            or number > MOST_ROWS
            or _PLAIN_NAME.fullmatch(name) is None
            or (note and _PLAIN_TEXT.fullmatch(note) is None)
            or (x is None) != (y is None)
            or (x is None and z is None)
        ):
            return None
        at = None if x is None or y is None else (x, y)
        points.append(Listed(name, at, None if z is None else Elevation(z.metres), note, number))
    return points


def _sizes_of_rows(rows: Sequence[_Row], units: dict[str, str]) -> Iterator[_Sizes]:
    """Raises `NotUnderstoodError` for what is no plain length."""
    counts = [Units(_in_a_list(units[column])) if column in units else Units.M for column in _LENGTHS]
    readers = tuple(zip(_LENGTHS, counts, (read_coordinate, read_coordinate, read_length), strict=True))
    for row in rows:
        cells, sizes = row.cells, []
        for column, counted, read in readers:
            text = cells.get(column, "")
            if text and (not text.isascii() or not text.isprintable() or "," in text):
                raise NotUnderstoodError(text)
            sizes.append(read(text, counted) if text else None)
        yield cells.get("name", ""), cells.get("note", ""), *sizes  # type: ignore[misc]  # three of them


def _read(rows: Sequence[_Row], units: dict[str, str], prefix: str, file: str) -> list[Listed]:
    """The rows through the reader of point lists; what it finds wrong is told at its place in the file."""
    if "usft" not in units.values() and (plain := _plainly(_sizes_of_rows(rows, units), prefix)) is not None:
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


def _plain_units(units: dict[str, str]) -> Units:
    first = next(iter(units.values()), "m")
    return Units(_in_a_list(first))


def _placed(problem: Problem, rows: Sequence[_Row]) -> Problem:
    if not 2 <= problem.line <= len(rows) + 1:
        return problem
    at = rows[problem.line - 2].where
    says = re.sub(r"on line (\d+)", lambda found: f"at {rows[int(found[1]) - 2].where}", problem.says)
    return Problem(problem.file, _line(at), 1, f"{at}: {says}")


def _line(at: str) -> int:
    """The line that a place names, 1 where it names none."""
    word, _space, number = at.partition(" ")
    words = {_("line {of}", of=1).split()[0], _("row {number}", number=1).split()[0]}
    return int(number) if word in words and number.isdecimal() else 1


# Drawings -----------------------------------------------------------------------------------------------------------


def take_drawing(drawing: FoundDrawing, answers: ImportAnswers, file: str) -> ImportResult:
    """The points of a drawing, and the outline where one was asked for. Raises `PlanProblemsError`."""
    taken = ImportResult(remarks=list(drawing.remarks))
    if drawing.left_out.total():
        others = ", ".join(f"{number} {kind}" for kind, number in drawing.left_out.items() if number)
        taken.remarks.append(_("left out: {others}", others=others))
    one = _one(drawing, answers, taken)
    points = _points(drawing, answers, file, taken)
    columns = _attributes(points, answers, file, taken)
    names = _texts_of(points, columns["name"]) if "name" in columns else None
    if points:
        _ask_prefix(names, answers, taken)
    elif not taken.questions and not answers.outline:
        there = _listed(list(drawing.layers()))
        says = _(
            "There are no points on what was named; there is something on {there}. --outline LAYER takes a line.",
            there=there,
        )
        raise PlanProblemsError([Problem(file, 1, 1, says)])
    if not drawing.planar and not answers.planar:
        taken.questions.append(
            ImportQuestion(
                _(
                    "Nothing in the file says that its numbers are lengths; GeoJSON is longitude and latitude "
                    "otherwise."
                ),
                "planar",
                _("--planar says they are."),
                _("Type yes where they are lengths."),
            )
        )
    if taken.questions or one is None:
        return taken
    taken.units = _usual_units(one, answers)
    plain = _by_columns(points, columns, one, taken.units, answers.prefix) or _plainly(
        _sizes_of_points(points, columns, one, taken.units), answers.prefix
    )
    if plain is None:
        rows = [_Row(each.where, _cells(each, columns, one, taken.units)) for each in points]
        plain = _read(rows, dict.fromkeys(_LENGTHS, taken.units.value), answers.prefix, file)
    taken.points = plain
    if answers.outline:
        taken.outline = _outline(drawing, answers.outline, one, file)
    else:
        closed = {each.layer: None for each in drawing.lines if each.closed}
        if closed:
            taken.remarks.append(
                _(
                    "--outline LAYER takes a closed line as the area's outline: {lines}",
                    lines=_listed(list(closed)),
                )
            )
    return taken


def _one(drawing: FoundDrawing, answers: ImportAnswers, taken: ImportResult) -> Fraction | None:
    """What a number of the drawing counts, in meters."""
    if answers.units:
        return SURVEY_FOOT if answers.units == "usft" else Units(answers.units).one.metres
    if drawing.one is not None and drawing.trusted:
        taken.remarks.append(_("numbers are in {counts}, as the file says", counts=drawing.counts))
        return drawing.one
    corners = [each.at for each in drawing.drawn if each.at]
    corners += [corner for each in drawing.lines for corner, _ in each.corners]
    corners += [corner for _, face in drawing.faces for corner in face]
    xs, ys = [at[0] for at in corners] or [Fraction(0)], [at[1] for at in corners] or [Fraction(0)]
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    said = _("The file says {counts}.", counts=drawing.counts) if drawing.counts else _("The file doesn't say.")
    taken.questions.append(
        ImportQuestion(
            _(
                "What unit are the numbers in? It is {wide:.6g} by {deep:.6g} of them. {said}",
                wide=float(wide),
                deep=float(deep),
                said=said,
            ),
            "units",
            _("--units in, ft, mm, cm, m or usft."),
            _("Type in, ft, mm, cm, m or usft."),
        )
    )
    return None


def _usual_units(one: Fraction, answers: ImportAnswers) -> Units:
    for units in (Units.IN, Units.FT, Units.MM, Units.CM, Units.M):
        if units.one.metres == one:
            return units
    return Units.FT if one % FOOT == 0 or answers.units == "usft" or one == SURVEY_FOOT else Units.M


def _points(drawing: FoundDrawing, answers: ImportAnswers, file: str, taken: ImportResult) -> Sequence[DrawnPoint]:
    """The points of the layers that were named, or of the only one; corners of faces where it has no points."""
    there = dict.fromkeys(drawing.layers_of_points()) or dict.fromkeys(layer for layer, _ in drawing.faces)
    every = drawing.layers()
    for layer in answers.layers:
        if layer != ALL_LAYERS and layer not in every:
            near = suggestion(layer, every)
            says = _(
                "There is no layer “{quoted}”; there are {listed}.{meant}",
                quoted=_short(layer),
                listed=_listed(list(every)),
                meant=near,
            )
            raise PlanProblemsError([Problem(file, 1, 1, says)])
    chosen = set(there) if ALL_LAYERS in answers.layers else set(answers.layers) or set(there)
    if len(there) > 1 and not answers.layers:
        taken.questions.append(
            ImportQuestion(
                _("Points are on several layers: {listed}. Which ones?", listed=_listed(list(there))),
                "layer",
                _('--layer NAME, again for more, or --layer "{all_layers}" for all.', all_layers=ALL_LAYERS),
                _("Type a layer, with ; between several, or {all_layers} for all.", all_layers=ALL_LAYERS),
            )
        )
        return []
    if drawing.columns is not None and chosen & set(there):  # all have names
        return drawing.columns if chosen >= set(there) else drawing.columns.on(chosen)
    points = [each for each in drawing.points if each.layer in chosen]
    alone = [each for each in points if each.texts]
    if 0 < len(alone) < len(points):
        named = {(each.layer, each.at) for each in alone}
        alone = [each for each in points if each.texts or (each.layer, each.at) not in named]
    alone = alone or points
    if alone:
        return alone
    corners = dict.fromkeys(corner for layer, face in drawing.faces if layer in chosen for corner in face)
    if corners:
        taken.remarks.append(
            _("{corners} of faces taken as points; the faces are not kept", corners=count(len(corners), "corner"))
        )
    return [
        DrawnPoint("", corner, {}, _("corner {number}", number=number)) for number, corner in enumerate(corners, 1)
    ]


def _attributes(
    points: Sequence[DrawnPoint], answers: ImportAnswers, file: str, taken: ImportResult
) -> dict[str, str]:
    """For name, elevation and note the attribute that says it; the elevation may be ``z`` or ``none``."""
    plain = points.texts if isinstance(points, PlainPoints) else None
    keys = dict.fromkeys(plain or (key for each in points for key in each.texts))
    found: dict[str, str] = {}
    for column in ("name", "elevation", "note"):
        if said := answers.columns.get(column):
            near = {key.casefold(): key for key in keys}.get(said.casefold())
            if near is None and not (column == "elevation" and said in ("z", "none")):
                says = _(
                    "No point has “{quoted}”; there is {listed}.",
                    quoted=_short(said),
                    listed=_listed(list(keys)) or _("nothing beside them"),
                )
                raise PlanProblemsError([Problem(file, 1, 1, says)])
            found[column] = near or said
        elif known := next((key for name in HEADINGS[column] for key in keys if plain_heading(key) == name), None):
            found[column] = known
    if "elevation" not in found:
        if points and all(each.at is not None and each.at[2] == 0 for each in points):
            taken.questions.append(
                ImportQuestion(
                    _("All points lie at z 0. Is that their elevation?"),
                    "columns",
                    _("--columns elevation=z; --columns elevation=none leaves it to the plan's surface."),
                    _("Type z where it is; none leaves it to the plan's surface."),
                    "elevation",
                )
            )
        found["elevation"] = "z"
    elif "elevation" not in answers.columns and any(_differ(each, found["elevation"]) for each in points):
        taken.questions.append(
            ImportQuestion(
                _(
                    "The heights of points and their “{quoted}” differ. Which is it?",
                    quoted=_short(found["elevation"]),
                ),
                "columns",
                _('--columns elevation=z or --columns "elevation={quoted}".', quoted=_short(found["elevation"])),
                _("Type z, or {quoted}.", quoted=_short(found["elevation"])),
                "elevation",
            )
        )
    sources = [
        _("{column} from “{quoted}”", column=column, quoted=_short(key))
        for column, key in found.items()
        if key != "z"
    ]
    if sources:
        taken.remarks.append(", ".join(sources))
    return found


def _texts_of(points: Sequence[DrawnPoint], key: str) -> Sequence[str]:
    if isinstance(points, PlainPoints):
        return points.texts.get(key, ("",) * len(points))
    return [each.texts.get(key, "") for each in points]


def _by_columns(
    points: Sequence[DrawnPoint], columns: dict[str, str], one: Fraction, units: Units, prefix: str
) -> PlainList | None:
    """The points of plain columns, where the reader of point lists takes all of them as they are."""
    if not isinstance(points, PlainPoints) or columns["elevation"] not in ("z", "none"):
        return None
    names, notes = _texts_of(points, columns.get("name", "")), _texts_of(points, columns.get("note", ""))
    if prefix:
        names = [prefixed(prefix, name or str(number)) for number, name in enumerate(names, 1)]
    times = one / units.one.metres
    if (
        len(points) > MOST_ROWS
        or len(set(map(str.lower, names))) < len(names)
        or not all(map(_PLAIN_NAME.fullmatch, names))
        or not all(map(_PLAIN_TEXT.fullmatch, set(notes)))
        or points.largest * float(times) >= 10**DIGITS - 1
    ):
        return None
    places = points.places[:2] if columns["elevation"] == "none" else points.places
    return PlainList(names, notes, places, times, units)


def _differ(point: DrawnPoint, key: str) -> bool:
    text, z = point.texts.get(key, ""), point.at[2] if point.at is not None else None
    said = shortest_decimal(text) if text else None
    return bool(text) and z is not None and (said is None or abs(said - z) > Fraction(1, 10**5))


_STEPS = 10**6
"""Of a unit, as a list writes them: six decimals."""


def _sizes_of_points(
    points: Sequence[DrawnPoint], columns: dict[str, str], one: Fraction, units: Units
) -> Iterator[_Sizes]:
    """What a list would hold of them, to the last of its decimals; `NotUnderstoodError` for what it would refuse."""
    name, note, key = columns.get("name", ""), columns.get("note", ""), columns["elevation"]
    metres = units.one.metres
    times = None if one == metres else one / metres
    counted = None if metres == 1 else metres
    place, height = 10**DIGITS_OF_A_PLACE, 10**DIGITS

    def written(number: Fraction | None, most: int) -> Length | None:
        if number is None:
            return None
        if times is not None:
            number *= times
        above, below = number.as_integer_ratio()
        if _STEPS % below:
            steps = (2 * abs(above) * _STEPS + below) // (2 * below)
            number = Fraction(-steps if above < 0 else steps, _STEPS)
            above, below = number.as_integer_ratio()
        if abs(above) >= most * below:
            raise NotUnderstoodError
        return Length(number if counted is None else number * counted)

    for point in points:
        texts = point.texts
        x, y, z = point.at or (None, None, None)
        if key in texts:
            z = shortest_decimal(texts[key]) if texts[key] else None
            if z is None and texts[key]:
                raise NotUnderstoodError
        elif key == "none":
            z = None
        yield texts.get(name, ""), texts.get(note, ""), written(x, place), written(y, place), written(z, height)


def _cells(point: DrawnPoint, columns: dict[str, str], one: Fraction, units: Units) -> dict[str, str]:
    """A point of a drawing as the cells of a list."""
    x, y, z = point.at or (None, None, None)
    texts: dict[str, str] = {c: point.texts.get(columns[c], "") for c in ("name", "note") if c in columns}
    key = columns["elevation"]
    if key in point.texts:
        text = point.texts[key]
        z = shortest_decimal(text) if text else None
        if text and z is None:
            texts["elevation"] = text
    elif key == "none":
        z = None
    for column, number in zip(_LENGTHS, (x, y, z), strict=True):
        if number is not None:
            texts[column] = decimal(Length(number * one), units)
    return texts


# Outlines -----------------------------------------------------------------------------------------------------------


def _outline(drawing: FoundDrawing, layer: str, one: Fraction, file: str) -> Outlined:
    """The closed line of that layer with those inside it as holes; arcs as chords, as the plan has them."""
    closed = [each for each in drawing.lines if each.closed and each.layer == layer]
    if not closed:
        layers = dict.fromkeys(each.layer for each in drawing.lines if each.closed)
        there = _("there are some on {listed}", listed=_listed(list(layers))) if layers else _("there is none at all")
        raise PlanProblemsError(
            [
                Problem(
                    file,
                    1,
                    1,
                    _("There is no closed line on “{quoted}”; {there}.", quoted=_short(layer), there=there),
                )
            ]
        )
    rings = sorted((_ring(each, one, file) for each in closed), key=lambda ring: -abs(signed_area(ring)))
    outer, *holes = rings
    if any(map(crosses_itself, rings)):
        raise PlanProblemsError(
            [Problem(file, 1, 1, _("A closed line on “{quoted}” crosses itself.", quoted=_short(layer)))]
        )
    if any(where(outer, corner) < 0 for hole in holes for corner in hole):
        says = _(
            "There are several closed lines side by side on “{quoted}”; an area has one outline.",
            quoted=_short(layer),
        )
        raise PlanProblemsError([Problem(file, 1, 1, says)])
    return Outlined("", Outline(outer, tuple(holes)), 1)


def _ring(line: DrawnLine, one: Fraction, file: str) -> Ring:
    places = [(Length(x * one), Length(y * one)) for (x, y, _), _ in line.corners]
    corners: list[Place] = []
    for start, end, (_corner, bulge) in zip(places, [*places[1:], places[0]], line.corners, strict=True):
        corners.append(start)
        if bulge and start != end:
            with contextlib.suppress(LineError):  # as good as straight
                corners += arc_through(start, _middle(start, end, bulge), end).chords()[:-1]
        if len(corners) > _MOST_CORNERS:
            says = _(
                "{where} takes more than {most:,} corners; draw it with straight sides.",
                where=line.where,
                most=_MOST_CORNERS,
            )
            raise PlanProblemsError([Problem(file, 1, 1, says)])
    return tuple(dict.fromkeys(corners))


_MOST_CORNERS = 20_000


def _middle(start: Place, end: Place, bulge: float) -> Place:
    """The middle of the arc: as far to the right of the chord as the bulge times half of it (DXF reference)."""
    half = (shortest_decimal(bulge) or Fraction(0)) / 2
    (x, y), (to_x, to_y) = ((each[0].metres, each[1].metres) for each in (start, end))
    return Length((x + to_x) / 2 + (to_y - y) * half), Length((y + to_y) / 2 - (to_x - x) * half)


def _short(text: str) -> str:
    return visible(text if len(text) <= 40 else f"{text[:40]}…")


def _listed(headings: Sequence[str]) -> str:
    listed = [f"“{_short(each)}”" for each in headings[:12]]
    return ", ".join(listed) + (_(" and {headings} more", headings=len(headings) - 12) if len(headings) > 12 else "")
