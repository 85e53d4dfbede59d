"""Changes a row of a point list beside the job file and nothing else of it: order, quotes, separator, line ends stay.

Nothing is guessed to have worked: the new text is taken apart again, and must hold what the old one held but for that
row; else the edit is refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate, read_length
from gradecheck.plan.csv_rows import LINE_END, QUOTED, CsvCell, CsvRow, guarded, unguarded
from gradecheck.plan.edits import Edit, EditRefusedError, JobFileDraft, Put, Rename
from gradecheck.plan.names import hidden_in, one_form, point_name_fault
from gradecheck.plan.point_list import COLUMNS, ListLayout, decimal, laid_out, prefixed
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.references import refuse_in_use, users_of
from gradecheck.plan.spans import BYTE_ORDER_MARK, Leaf, Plain, part_at
from gradecheck.plan.yaml_tree import KeyPath

_TABLES = (".json", ".geojson")
"""How files end that are no tables."""


class ListSpan(NamedTuple):
    """Where something stands in a list: from `start` to `end` of its text."""

    file: str
    text: str
    start: int
    end: int


class _How(NamedTuple):
    """How the job file says that a list is read."""

    units: Units
    columns: tuple[tuple[str, str], ...]
    order: str
    prefix: str


@dataclass(frozen=True, eq=False)
class ListText:
    """A list's text as it is in the file, and how the job file reads it. `laid` is None where nobody can read it."""

    text: str
    how: _How
    laid: ListLayout | None

    @property
    def prefix(self) -> str:
        """What stands before names that are numbers."""
        return self.how.prefix

    @property
    def unnamed(self) -> bool:
        """Whether its points are named by the number of their row."""
        return bool(self.how.order) and "P" not in self.how.order

    @property
    def names(self) -> list[str]:
        """The points in their order."""
        return list(self._rows)

    @property
    def columns(self) -> list[str]:
        """What it says of a point beside its name, as it is called here."""
        return [column for column in COLUMNS[1:] if column in self._laid.places]

    def cells(self, name: str) -> dict[str, str] | None:
        """What is written of that point, column by column; None where it is not listed."""
        row = self._rows.get(name)
        if row is None:
            return None
        found = {column: row.cell(self._laid.places[column]).text for column in self.columns}
        return {column: unguarded(text) if column == "note" else text for column, text in found.items() if text}

    def span(self, name: str, column: str = "") -> tuple[int, int]:
        """Where the row of that point, or its cell of that column, stands."""
        row = self._row(name)
        return self._cell_span(row, self._laid.places[column]) if column else (row.at, row.end)

    @property
    def _laid(self) -> ListLayout:
        if self.laid is None:
            raise EditRefusedError(_("This list can't be read as it is; correct it in an editor first."))
        return self.laid

    @property
    def _rows(self) -> Mapping[str, CsvRow]:
        return _named(self)

    def _row(self, name: str) -> CsvRow:
        row = self._rows.get(name)
        if row is None:
            raise EditRefusedError(_("“{name}” is not in the list any more; look again.", name=name))
        return row

    # -- changing

    def put(self, name: str, values: Mapping[str, str], after: str | None = None) -> str:
        """The text with those cells of that point set; a point that is not listed comes behind `after`, or last."""
        for column in values:
            if column not in self._laid.places or column == "name":
                says = _("This list has no column for {column}; it has {columns}.",
                         column=column, columns=", ".join(self.columns))  # fmt: skip
                raise EditRefusedError(says)
        if name not in self._rows:
            return self._added(name, values, after)
        row = self._row(name)
        splices, texts = [], [cell.text for cell in row.cells]
        last = len(row.cells)
        for column, typed in sorted(values.items(), key=lambda each: self._laid.places[each[0]]):
            place = self._laid.places[column]
            value = self._written(column, typed)
            if place < len(row.cells):
                start, end = self._cell_span(row, place)
                splices.append((start, end, self._as_cell(value, quoted=self.text[start : start + 1] == '"')))
            else:
                splices.append((row.end, row.end, self._laid.separator * (place + 1 - last) + self._as_cell(value)))
                last = place + 1
            texts += [""] * (place + 1 - len(texts))
            texts[place] = value
        return self._proved(splices, {name: texts})

    def renamed(self, name: str, to: str) -> str:
        """The text with that point called otherwise."""
        self._refuse_unnamed()
        row = self._row(name)
        cell = self._named_as(to, numbered=row.cell(self._laid.places["name"]).text != name)
        if to in self._rows and to != name:
            raise EditRefusedError(_("“{name}” is there already; take another name.", name=to))
        start, end = self._cell_span(row, self._laid.places["name"])
        texts = [each.text for each in row.cells]
        texts[self._laid.places["name"]] = cell
        quoted = self.text[start : start + 1] == '"'
        return self._proved([(start, end, self._as_cell(cell, quoted=quoted))], {name: texts})

    def without(self, name: str) -> str:
        """The text without that point's row."""
        self._refuse_unnamed()
        row = self._row(name)
        if len(self._rows) == 1:
            raise EditRefusedError(_("It is the only point of this list; a list has one at least."))
        start, end = self._line(row)
        if end == len(self.text) and self.text[end - 1 : end] not in ("\r", "\n"):
            start = max(found.start() for found in LINE_END.finditer(self.text, 0, start))
        return self._proved([(start, end, "")], {name: None})

    def moved(self, name: str, after: str | None) -> str:
        """The text with that point's row behind the other one's, before all where that is None."""
        self._refuse_unnamed()
        row, names = self._row(name), self.names
        if name == after:
            raise EditRefusedError(_("“{name}” can't come behind itself.", name=name))
        rest = [each for each in names if each != name]
        order = (
            [name, *rest] if after is None else [*rest[: rest.index(after) + 1], name, *rest[rest.index(after) + 1 :]]
        )
        if order == names:
            return self.text
        start, end = self._line(row)
        line = self.text[row.at : row.end]
        cut = (start, end, "")
        if end == len(self.text) and self.text[end - 1 : end] not in ("\r", "\n"):
            cut = (max(found.start() for found in LINE_END.finditer(self.text, 0, start)), end, "")
        to = self._row(rest[0]).at if after is None else self._line(self._row(after))[1]
        return self._proved([cut, (to, to, self._as_line(line, to))], {}, order)

    def _added(self, name: str, values: Mapping[str, str], after: str | None) -> str:
        if self.unnamed:
            self._refuse_unnamed()
        cells = [""] * max(self._laid.width, 1)
        cells[self._laid.places["name"]] = self._named_as(name, numbered=self._is_numbered)
        for column, typed in values.items():
            cells[self._laid.places[column]] = self._written(column, typed)
        line = self._laid.separator.join(map(self._as_cell, cells))
        names = self.names
        behind = names[-1] if after is None else after
        to = self._line(self._row(behind))[1]
        at = names.index(behind) + 1
        return self._proved([(to, to, self._as_line(line, to))], {name: cells}, [*names[:at], name, *names[at:]])

    # -- writing

    @property
    def _is_numbered(self) -> bool:
        """Whether the names in it are numbers, which the prefix makes names of."""
        place = self._laid.places["name"]
        return bool(self.prefix) and any(row.cell(place).text[:1].isdecimal() for row in self._rows.values())

    def _named_as(self, name: str, *, numbered: bool) -> str:
        """What is written in the column of names, so that the point is called so."""
        if fault := point_name_fault(name):
            raise EditRefusedError(fault)
        bare = name.removeprefix(self.prefix)
        cell = bare if numbered and self.prefix and bare != name and bare[:1].isdecimal() else name
        return guarded(_seen(cell))

    def _written(self, column: str, typed: str) -> str:
        """What is written in a cell for what was typed: a number as the others of its list are."""
        text = _seen(typed)
        if column == "note":
            return guarded(text)
        if not text:
            return ""
        units = self._laid.units[column]
        read = read_length if column == "elevation" else read_coordinate
        try:
            length: Length = read(text.replace(",", ".") if self._laid.comma else text, units)
        except NotUnderstoodError as wrong:
            raise EditRefusedError(str(wrong)) from wrong
        plain = Units.IN if units is Units.FT_IN else units
        number = decimal(length, plain)
        exact = read(number, units) == length
        written = text.replace(",", ".") if _is_bare(text.replace(",", ".")) else number if exact else text
        return written.replace(".", ",") if self._laid.comma and _is_bare(written) else written

    def _as_cell(self, value: str, *, quoted: bool = False) -> str:
        plain = value == value.strip() and not any(c in value for c in (self._laid.separator, '"', "\r", "\n"))
        if plain and not quoted and not value.startswith("#"):
            return value
        return '"' + value.replace('"', '""') + '"'

    def _as_line(self, line: str, at: int) -> str:
        found = LINE_END.findall(self.text)
        end = max(("\n", "\r\n", "\r"), key=found.count)
        return line + end if at == 0 or self.text[at - 1] in "\r\n" + BYTE_ORDER_MARK else end + line

    def _line(self, row: CsvRow) -> tuple[int, int]:
        """From the start of its line to behind its line end."""
        found = LINE_END.match(self.text, row.end)
        return row.at, found.end() if found else row.end

    def _cell_span(self, row: CsvRow, place: int) -> tuple[int, int]:
        """Where the cell stands, its quotes included and the spaces around it left out."""
        if place >= len(row.cells):
            return row.end, row.end
        at = row.cells[place].at
        if self.text[at : at + 1] == '"' and (found := QUOTED.match(self.text, at, row.end)):
            return at, found.end()
        end = self.text.find(self._laid.separator, at, row.end)
        return at, at + len(self.text[at : row.end if end < 0 else end].rstrip())

    def _refuse_unnamed(self) -> None:
        if self.unnamed:
            raise EditRefusedError(_("These points are named by their row; give the list a column of names first."))

    def _proved(
        self,
        splices: Sequence[tuple[int, int, str]],
        changed: Mapping[str, Sequence[str] | None],
        order: Sequence[str] | None = None,
    ) -> str:
        """The new text, when it holds what was meant: the same rows in that order, but for those changed."""
        text, done = "", 0
        for start, end, new in sorted(splices, key=lambda each: each[:2]):
            text, done = text + self.text[done:start] + new, end
        text += self.text[done:]
        width = max(self._laid.width, *(len(row.cells) for row in self._rows.values()))

        def padded(cells: Sequence[str]) -> list[str]:
            return [one_form(each.strip()) for each in cells] + [""] * (width - len(cells))

        old = {name: padded([cell.text for cell in row.cells]) for name, row in self._rows.items()}
        meant = old | {name: padded(cells) for name, cells in changed.items() if cells is not None}
        gone = [name for name, cells in changed.items() if cells is None]
        wanted = [meant[name] for name in order or meant if name not in gone]
        laid = _taken(text, self.how).laid
        if (
            laid is None
            or laid.separator != self._laid.separator
            or [padded([cell.text for cell in row.cells]) for row in laid.rows] != wanted
        ):
            raise EditRefusedError(_("This can't be changed here without changing more; edit the list in an editor."))
        return text


def _is_bare(text: str) -> bool:
    """Whether it is a number without a unit or fraction, as every program reads it."""
    digits = text.removeprefix("-")
    return digits.replace(".", "", 1).isdigit() and digits.isascii() and digits[:1] != "." and digits[-1:] != "."


def _seen(typed: str) -> str:
    text = one_form(" ".join(typed.split()).replace("\N{MINUS SIGN}", "-"))
    if hidden_in(text) is not None:
        raise EditRefusedError(_("A character in this can't be seen; write it without."))
    return text


@lru_cache(maxsize=16)
def _taken(text: str, how: _How) -> ListText:
    try:
        laid = laid_out(text, how.units, dict(how.columns) or None, how.order, how.prefix)
    except (PlanProblemsError, ValueError):
        laid = None
    if laid is not None and any(row.fault for row in laid.rows):
        laid = None
    return ListText(text, how, laid)


@lru_cache(maxsize=16)
def _named(listed: ListText) -> dict[str, CsvRow]:
    """The rows by the points they hold; of two with one name the first."""
    laid, found = listed.laid, dict[str, CsvRow]()
    if laid is None:
        return {}
    for number, row in enumerate(laid.rows, 1):
        cell = row.cell(laid.places["name"]) if not listed.unnamed else CsvCell(str(number), row.at)
        found.setdefault(prefixed(listed.prefix, unguarded(cell.text)), row)
    return found


# -- lists in a draft


class InList(NamedTuple):
    """A place in a list: where the job file names it, its file, the list, and the way on: a point, a column."""

    home: KeyPath
    file: str
    listed: ListText
    rest: KeyPath


def files_of_lists(draft: JobFileDraft) -> list[str]:
    """The tables beside the job file that hold points of its areas. Raises `EditRefusedError`."""
    areas = draft.plain.get("areas")
    homes = [("areas", name, key) for name in (areas if isinstance(areas, dict) else ()) for key in _HOMES]
    named = [found[1] for home in homes if (found := _file_at(draft, home)) is not None]
    return [name for name in dict.fromkeys(named) if not name.lower().endswith(_TABLES)]


_HOMES = ("points", "point list")


def _file_at(draft: JobFileDraft, path: KeyPath) -> tuple[KeyPath, str] | None:
    """Where a list is named at the beginning of the path, and its file."""
    if len(path) < 3 or path[0] != "areas" or path[2] not in _HOMES:
        return None
    # Parts and not what is written in them: points written out may be thousands, and this is asked for every row.
    named = part_at(draft.root, path[:3])
    if isinstance(named, Leaf):
        return path[:3], named.text
    file = part_at(draft.root, (*path[:3], "file")) if path[2] == "point list" else None
    return ((*path[:3], "file"), file.text) if isinstance(file, Leaf) else None


def list_at(draft: JobFileDraft, path: KeyPath) -> InList | None:
    """The list that the path leads to or into, None where it leads to none that was read."""
    found = _file_at(draft, path)
    if found is None or found[1] not in draft.lists or path[: len(found[0])] != found[0]:
        return None
    home, file = found
    entry = draft.at(path[:3])
    says = entry if isinstance(entry, dict) else {}
    columns = says.get("columns")
    pairs = tuple((key, str(each)) for key, each in columns.items()) if isinstance(columns, dict) else ()
    written = str(says.get("units") or draft.plain.get("units") or "mm")
    units = Units(written) if written in set(Units) else Units.MM
    how = _How(units, pairs, str(says.get("order") or ""), str(says.get("prefix") or ""))
    return InList(home, file, _taken(draft.lists[file], how), path[len(home) :])


def value_at(draft: JobFileDraft, path: KeyPath) -> Plain | None:
    """What is written there, in the job file or in a list beside it; None where nothing is."""
    found = list_at(draft, path)
    if found is None or not found.rest or found.listed.laid is None:
        return draft.at(path)
    cells = found.listed.cells(str(found.rest[0]))
    if cells is None or len(found.rest) == 1:
        return dict(cells) if cells is not None else None
    return cells.get(str(found.rest[1]))


def span_in_list(draft: JobFileDraft, path: KeyPath) -> ListSpan | None:
    """Where in its list a point or a cell stands; None where the path leads into no list."""
    found = list_at(draft, path)
    if found is None or not found.rest or value_at(draft, (*found.home, found.rest[0])) is None:
        return None
    column = str(found.rest[1]) if len(found.rest) > 1 else ""
    return ListSpan(found.file, found.listed.text, *found.listed.span(str(found.rest[0]), column))


def put_in_list(draft: JobFileDraft, found: InList, value: Plain, after: str | None) -> JobFileDraft:
    """A point's row or one cell of it set. Raises `EditRefusedError`."""
    name = str(found.rest[0])
    if len(found.rest) > 1:
        values = {str(found.rest[1]): str(value)}
    elif isinstance(value, str):
        values = row_typed(value)
    else:
        raise EditRefusedError(_("A point of a list has x, y, elevation and note; type them."))
    return _with(draft, found.file, found.listed.put(name, values, after))


def rename_in_list(draft: JobFileDraft, found: InList, to: str) -> JobFileDraft:
    """A point of a list is called otherwise, and who refers to it in the job file follows."""
    name = str(found.rest[0])
    path = (*found.home[:2], "points", name)
    edits: list[Edit] = [
        Rename(use.path, to) if use.is_key else Put(use.path, to) for use in users_of(draft.plain, path)
    ]
    followed = draft.edited(*edits) if edits else draft
    return _with(followed, found.file, found.listed.renamed(name, to))


def delete_in_list(draft: JobFileDraft, found: InList) -> JobFileDraft:
    """A point of a list is gone, unless the job file still uses it. Raises `EditRefusedError`."""
    name = str(found.rest[0])
    if len(found.rest) > 1:
        return _with(draft, found.file, found.listed.put(name, {str(found.rest[1]): ""}))
    refuse_in_use(draft, (*found.home[:2], "points", name))
    return _with(draft, found.file, found.listed.without(name))


def move_in_list(draft: JobFileDraft, found: InList, after: str | None) -> JobFileDraft:
    """A point of a list comes behind another. Raises `EditRefusedError`."""
    return _with(draft, found.file, found.listed.moved(str(found.rest[0]), after))


def _with(draft: JobFileDraft, file: str, text: str) -> JobFileDraft:
    return replace(draft, lists={**draft.lists, file: text})


def row_typed(typed: str) -> dict[str, str]:
    """``x 4 ft, y 2 ft, elevation -3, note by the tap`` by column; a length alone is the elevation."""
    found: dict[str, str] = {}
    for part in typed.split(","):
        words = part.strip()
        key, _space, rest = words.partition(" ")
        if key.casefold() in COLUMNS[1:] and key.casefold() not in found:
            found[key.casefold()] = rest.strip()
        elif found:
            last = list(found)[-1]
            found[last] = f"{found[last]}, {words}"
        elif typed.strip() == words:
            return {"elevation": words}
        else:
            raise EditRefusedError(_("Type it like “x 4 ft, y 2 ft, elevation -3, note by the tap”."))
    return found
