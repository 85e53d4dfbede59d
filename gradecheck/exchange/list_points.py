"""From a list to points of a plan: what must be answered is asked, the rest is told as it was taken.

Northing and easting are never guessed, nor what a number counts.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from gradecheck.catalogue import _, count
from gradecheck.exchange.answers import (
    NONE,
    ImportAnswers,
    ImportQuestion,
    ImportResult,
    ask_prefix,
    in_quotes,
    short,
)
from gradecheck.exchange.found import Grid, shortest_decimal
from gradecheck.exchange.import_rows import LENGTHS, ImportRow, line_of, plain_units, read_rows
from gradecheck.exchange.list_in import (
    DATE,
    NO_RESULT,
    is_number,
    known_columns,
    plain_heading,
    shortened,
    unit_parted,
)
from gradecheck.plan.point_list import LETTERS, order_fault
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion

_ORDER = _(
    "a letter for each: P point, N northing, E easting, Z elevation, D description, C skipped; PNEZD or PENZD fit "
    "alike."
)
_DATE = re.compile(
    r"[0-9]{1,2}[-./ ][A-Za-z]{3,9}|[0-9]{1,2}[-./][0-9]{1,2}[-./][0-9]{2,4}|[0-9]{4}-[0-9]{2}-[0-9]{2}.*"
)


def take_list(grid: Grid, answers: ImportAnswers, file: str) -> ImportResult:
    """The points of a list. Raises `PlanProblemsError` for what is wrong in it."""
    taken = ImportResult(remarks=list(grid.remarks))
    columns = _columns(grid, answers, file, taken)
    units = _units_of_columns(grid, columns, answers, taken)
    if columns and not any(each.column == "name" for each in taken.questions):
        named = "name" in columns
        ask_prefix([_cell(c, columns["name"]) for _, c in grid.rows] if named else None, answers, taken)
    if taken.questions:
        return taken
    _refuse_dates(grid, columns, file)
    rows, width = [], len(answers.order) or len(grid.headings or ())
    places, lengths = tuple(columns.items()), [column for column in LENGTHS if column in columns]
    for at, cells in grid.rows:
        if len(cells) > width:
            cells = _within(cells, width, answers.order, at, file)
        texts = {column: cells[place] if place < len(cells) else "" for column, place in places}
        for column in lengths:
            if texts[column]:
                texts[column] = _number(texts[column], at, file, comma=grid.comma)
        rows.append(ImportRow(at, texts))
    taken.points = read_rows(rows, units, answers.prefix, file)
    taken.units = plain_units(units)
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
        quoted=short(beyond[0]),
    )
    raise PlanProblemsError([Problem(file, line_of(at), 1, says)])


def _columns(grid: Grid, answers: ImportAnswers, file: str, taken: ImportResult) -> dict[str, int]:
    """For each of our columns its place; what can't be told is asked."""
    found: dict[str, int] = {}
    if answers.order:
        if fault := order_fault(answers.order):
            raise PlanProblemsError([Problem(file, 1, 1, fault)])
        if grid.headings is not None:
            taken.remarks.append(
                _("the headings {listed} are skipped, since --order is given", listed=in_quotes(grid.headings))
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
    said: dict[int, str] = {}
    for column, text in answers.columns.items():
        if text.casefold() == NONE:
            continue
        place = _place_of(text, headings, file)
        if place in said:
            says = _("“{quoted}” can't be both {one} and {other}.", quoted=short(text), one=said[place], other=column)
            raise PlanProblemsError([Problem(file, 1, 1, says)])
        said[place] = column
    for at, heading in enumerate(headings):
        for column in known_columns(heading):
            if column in answers.columns or at in said:
                continue
            if column in found:
                taken.questions.append(
                    ImportQuestion(
                        _(
                            "“{one}” and “{other}” both could be {column}.",
                            one=short(headings[found[column]]),
                            other=short(heading),
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
    _ask_columns(grid, found, answers, file, taken)
    sources = [
        _("{column} from “{quoted}”", column=column, quoted=short(headings[at]))
        for column, at in found.items()
        if at < len(headings)
    ]
    if sources:
        taken.remarks.append(", ".join(sources))
    over = [heading for at, heading in enumerate(headings) if heading and at not in found.values()]
    if over:
        taken.remarks.append(_("skipped: {listed}", listed=in_quotes(over)))
    return found


def _ask_columns(grid: Grid, found: dict[str, int], answers: ImportAnswers, file: str, taken: ImportResult) -> None:
    """Asks for each column that is neither known nor answered; northing and easting are never guessed."""
    headings = grid.headings or tuple(str(at + 1) for at in range(max(len(cells) for _, cells in grid.rows)))
    none = {column for column, text in answers.columns.items() if text.casefold() == NONE}
    if none & {"x", "y"}:
        none |= {"x", "y"}
        found.pop("x", None)
        found.pop("y", None)
    over = [
        at
        for at in range(len(headings))
        if at not in found.values() and any(_cell(cells, at) for _, cells in grid.rows)
    ]
    numbers = [at for at in over if _holds_numbers(grid, at)]
    alone = "elevation" in found and len(numbers) < 2  # and so no two are left over that could place the points
    unplaced = ("x" in found) != ("y" in found) or not ("x" in found or alone)
    asked = [column for column in ("y", "x") if unplaced and column not in found and column not in none]
    left = len(numbers) - len(asked)
    if "elevation" not in (*found, *answers.columns) and left > 0:
        asked.append("elevation")
    if "name" not in (*found, *none) and not answers.prefix and len(over) > len(asked):
        asked.insert(0, "name")
    if not asked and not taken.questions and not {"x", "elevation"} & set(found):
        says = _("A point needs a northing and an easting, or an elevation; no column is one.")
        raise PlanProblemsError([Problem(file, 1, 1, says)])
    for column in asked if not taken.questions else ():
        places = over if column == "name" else numbers
        listed = in_quotes([headings[at] for at in places or range(len(headings))], 4)
        question, command, typed = _asking(column, listed)
        taken.questions.append(ImportQuestion(question, "columns", command, typed, column))


def fewest_letters(grid: Grid) -> dict[str, str]:
    """Columns that would give the shortest list: points numbered, and three of numbers at most."""
    width = max(len(cells) for _, cells in grid.rows)
    numbers = [at for at in range(width) if _holds_numbers(grid, at)]
    numbers.sort(key=lambda at: sum(len(_cell(cells, at)) for _, cells in grid.rows))
    chosen = [str(at + 1) for at in numbers[:3]]
    chosen = [NONE] * (3 - len(chosen)) + chosen  # the shortest as the elevation, which takes the fewest figures
    return {"name": NONE, **dict(zip(("elevation", "x", "y"), chosen, strict=True))}


def _asking(column: str, listed: str) -> tuple[str, str, str]:
    """How a column is asked for: the question, how a command answers it, and what is typed."""
    match column:
        case "name":
            return (
                _("Which column is the point's name? Left over: {listed}.", listed=listed),
                _('--columns "name=…"; name=none numbers them.'),
                _("Type its heading or number; none numbers them."),
            )
        case "y":
            return (
                _("Which column is the northing? Left over: {listed}.", listed=listed),
                _('--columns "y=…"; y=none where there are only elevations.'),
                _("Type its heading or number; none where there are only elevations."),
            )
        case "x":
            return (
                _("Which column is the easting? Left over: {listed}.", listed=listed),
                _('--columns "x=…"; x=none where there are only elevations.'),
                _("Type its heading or number; none where there are only elevations."),
            )
    return (
        _("Which column is the elevation? Left over: {listed}.", listed=listed),
        _('--columns "elevation=…"; elevation=none leaves it to the plan\'s surface.'),
        _("Type its heading or number; none leaves it to the plan's surface."),
    )


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
        _(" There are {listed}.", listed=in_quotes(headings)) if headings else _(" Name it by its number, from 1.")
    )
    raise PlanProblemsError(
        [
            Problem(
                file,
                1,
                1,
                _(
                    "There is no one column “{quoted}”.{headings}{meant}",
                    quoted=short(said),
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
    for column in LENGTHS:
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


def _refuse_dates(grid: Grid, columns: dict[str, int], file: str) -> None:
    """Refuses lengths that a spreadsheet has made something else of."""
    wrong = []
    for at, cells in grid.rows:
        for column in LENGTHS:
            cell = _cell(cells, columns[column]) if column in columns else ""
            if cell.startswith(DATE) or _DATE.fullmatch(cell):
                says = _(
                    "{at}, {column}: “{quoted}”: a spreadsheet made a date of a fraction. Format it as text.",
                    at=at,
                    column=column,
                    quoted=short(cell),
                )
                wrong.append(Problem(file, line_of(at), 1, says))
            elif cell == NO_RESULT:
                says = _(
                    "{at}, {column}: {no_result}; open the file in the spreadsheet and save it.",
                    at=at,
                    column=column,
                    no_result=NO_RESULT,
                )
                wrong.append(Problem(file, line_of(at), 1, says))
    if wrong:
        raise PlanProblemsError(wrong)


def _number(text: str, at: str, file: str, *, comma: bool) -> str:
    """A cell of a list whose commas part cells: one in a number is a decimal comma where it can be nothing else."""
    if comma and "," in text:
        if re.search(r",[0-9]{3}(?![0-9])", text) or text.count(",") > 1:
            says = _(
                "{at}: “{quoted}” can mean two things; write it with a point, or without the comma.",
                at=at,
                quoted=short(text),
            )
            raise PlanProblemsError([Problem(file, line_of(at), 1, says)])
        text = text.replace(",", ".")
    return shortened(text)
