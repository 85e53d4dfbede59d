"""The job file as a form: what stands at a place of it, row by row, and what may stand there too."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, get_origin, overload

from gradecheck.catalogue import _, count, plural, translated
from gradecheck.measure.printed import show
from gradecheck.plan.edits import JobFileDraft
from gradecheck.plan.keys import JobFileKey, described, is_model, kinds_at
from gradecheck.plan.list_edits import InList, list_at
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.spans import Plain
from gradecheck.plan.yaml_tree import KeyPath

AREA_ORDER = ("points", "outline", "surface", "grid", "build-up", "tolerances")
"""What is looked for most in an area; the rest of what may be added stands below."""
MADE = _("made by the plan; type another finish for it")


@dataclass(frozen=True, slots=True)
class FormRow:
    """One row: `step` leads to what it shows, `value` is short, `says` explains it; `opens` where rows are below it.

    `is_there` where the file has it; else it may be added. `path` is where what is typed at it goes.
    """

    label: str
    value: str
    says: str
    path: KeyPath
    opens: bool = False
    is_there: bool = True
    figure: str = ""


class FormRows(Sequence[FormRow]):
    """The rows of a form; those of points are made as they are looked at, for there may be thousands."""

    def __init__(self, labels: Sequence[str], make: Callable[[int], FormRow], *, figures: bool = False) -> None:
        self.labels = tuple(labels)
        self.figures = figures
        """Whether the rows are points that come to an elevation."""
        self._make = make

    def __len__(self) -> int:
        return len(self.labels)

    @overload
    def __getitem__(self, index: int) -> FormRow: ...
    @overload
    def __getitem__(self, index: slice) -> list[FormRow]: ...
    def __getitem__(self, index: int | slice) -> FormRow | list[FormRow]:
        if isinstance(index, slice):
            return [self._make(at) for at in range(*index.indices(len(self)))]
        if not -len(self) <= index < len(self):
            raise IndexError(index)
        return self._make(index % len(self))


def form_rows(draft: JobFileDraft, plan: Plan | None, path: KeyPath) -> FormRows:
    """The rows at that place: what the file has, in its order, then what else may stand there."""
    if (found := list_at(draft, path)) is not None:
        return _listed(found, plan, path) if not found.rest else _of_list(found, path)
    if _is_points(path):
        return _points(draft, plan, path)
    rows = _rows(draft, plan, path)
    return FormRows([row.label for row in rows], rows.__getitem__)


def _rows(draft: JobFileDraft, plan: Plan | None, path: KeyPath) -> list[FormRow]:
    part, kinds = draft.at(path), kinds_at(path)
    there: Mapping[str, Plain] = part if isinstance(part, dict) else {}
    if isinstance(part, list):
        return [_item(each, (*path, place)) for place, each in enumerate(part)]
    keys = {key.key: key for kind in kinds if is_model(kind) for key in described(kind)}
    rows = [_row(name, value, (*path, name), keys.get(name), plan) for name, value in there.items()]
    rows = [replace(row, opens=True) if list_at(draft, row.path) is not None else row for row in rows]
    absent = [key for name, key in keys.items() if name not in there]
    if path[:1] == ("areas",) and len(path) == 2:
        absent.sort(key=lambda key: AREA_ORDER.index(key.key) if key.key in AREA_ORDER else len(AREA_ORDER))
    for key in absent:
        opens = _opens((*path, key.key), None)
        rows.append(FormRow(key.key, "", key_text(key), (*path, key.key), opens, is_there=False))
    return rows


def takes_names(draft: JobFileDraft, path: KeyPath) -> bool:
    """Whether names of the plan's own stand at that place: areas, points, those of a list too, benchmarks."""
    if (found := list_at(draft, path)) is not None:
        return not found.rest
    return any(get_origin(kind) is dict for kind in kinds_at(path))


def takes_value(draft: JobFileDraft, path: KeyPath) -> bool:
    """Whether one value stands at that place, with neither keys nor names of its own: a rule, a wall."""
    plain = not any(is_model(kind) or get_origin(kind) is dict for kind in kinds_at(path))
    return plain and list_at(draft, path) is None


def key_text(key: JobFileKey) -> str:
    """What a key is for, with an example."""
    return _("{says}. E.g. {example}", says=key.says, example=key.example)


def _is_points(path: KeyPath) -> bool:
    return len(path) == 3 and path[0] == "areas" and path[2] in ("points", "added")


def _points(draft: JobFileDraft, plan: Plan | None, path: KeyPath) -> FormRows:
    """Points with the elevations they come to, those that the plan makes behind them."""
    part = draft.at(path)
    area = plan.areas.get(str(path[1])) if plan else None
    written: Mapping[str, Plain] = part if isinstance(part, dict) else {}
    names = list(written)
    if area is not None and path[2] == "points":
        others = {*written, *_names(draft, (*path[:2], "added"))}
        names += [point.name for point in area.points if point.name not in others]

    def make(index: int) -> FormRow:
        name = names[index]
        point = area.point(name) if area is not None and name in area.index else None
        says, figure = _worked(point) if point else "", _finish(point, plan)
        if index < len(written):
            return FormRow(name, value_text(written[name]), says, (*path, name), opens=True, figure=figure)
        return FormRow(name, MADE, says, (*path[:2], "instead", name), is_there=False, figure=figure)

    return FormRows(names, make, figures=bool(names) and area is not None)


def _listed(found: InList, plan: Plan | None, path: KeyPath) -> FormRows:
    """The points of a list beside the job file, in its order, with the elevations they come to."""
    area = plan.areas.get(str(path[1])) if plan else None
    names = found.listed.names

    def make(index: int) -> FormRow:
        name = names[index]
        point = area.point(name) if area is not None and name in area.index else None
        cells = found.listed.cells(name) or {}
        value = ", ".join(f"{column} {text}" for column, text in cells.items())
        says = _worked(point) if point else ""
        return FormRow(name, value, says, (*found.home, name), opens=True, figure=_finish(point, plan))

    return FormRows(names, make, figures=bool(names) and area is not None)


def _of_list(found: InList, path: KeyPath) -> FormRows:
    """What a list says of one point: a row for each of its columns but the name."""
    cells = found.listed.cells(str(found.rest[0])) or {}
    rows = [
        FormRow(column, cells.get(column, ""), _SAID_OF_COLUMN[column], (*path[: len(found.home) + 1], column),
                is_there=column in cells)
        for column in found.listed.columns
    ]  # fmt: skip
    rows.sort(key=lambda row: not row.is_there)
    return FormRows([row.label for row in rows], rows.__getitem__)


_SAID_OF_COLUMN = {
    "x": _("How far to the right it is."),
    "y": _("How far up the plan it is."),
    "elevation": _("Its finish; without one it is on the area's surface."),
    "note": _("What it is, in words."),
}


def _worked(point: Point) -> str:
    return _("{name} = {working}.", name=point.name, working=translated(point.working))


def _names(draft: JobFileDraft, path: KeyPath) -> Sequence[str]:
    part = draft.at(path)
    return list(part) if isinstance(part, dict) else []


def _finish(point: Point | None, plan: Plan | None) -> str:
    return show(point.finish.height, plan.notation) if point is not None and plan is not None else ""


def _row(name: str, value: Plain, path: KeyPath, key: JobFileKey | None, plan: Plan | None) -> FormRow:
    says = key_text(key) if key else ""
    if path[0] == "areas" and len(path) == 2 and plan is not None and (area := plan.areas.get(name)) is not None:
        return FormRow(name, _of_area(area), area.what, path, opens=True)
    opens = _opens(path, value)
    text = _counted(name, value) if opens and isinstance(value, dict | list) else value_text(value)
    return FormRow(name, text, says, path, opens)


def _of_area(area: Area) -> str:
    parts = [area.use, count(len(area.points), "point")]
    if area.build_up is not None:
        parts.append(", ".join(layer.name for layer in area.build_up.layers))
    return " · ".join(filter(None, parts))


def _counted(name: str, value: dict[str, Plain] | list[Plain]) -> str:
    names = list(value) if isinstance(value, dict) else []
    if name in ("areas", "points", "added", "instead") or len(str(value)) > 400:
        return _("{names} …", names=", ".join(map(str, names[:4]))) if len(names) > 4 else ", ".join(map(str, names))
    return value_text(value)


def _item(value: Plain, path: KeyPath) -> FormRow:
    if isinstance(value, dict) and len(value) == 1:
        ((name, inner),) = value.items()
        return FormRow(name, value_text(inner), "", (*path, name))
    return FormRow(f"{int(path[-1]) + 1}", value_text(value), "", path, opens=isinstance(value, dict))


def _opens(path: KeyPath, value: Plain | None) -> bool:
    """Whether rows stand below it: keys or names, or the layers of a build-up."""
    kinds: list[Any] = kinds_at(path)
    if isinstance(value, str):
        return path[0] == "areas" and len(path) == 4 and path[2] in ("points", "added")
    if value is None:
        return any(is_model(kind) or get_origin(kind) is dict for kind in kinds)
    if isinstance(value, list):
        return any(isinstance(each, dict) for each in value)
    return True


def value_text(value: Plain) -> str:
    """The value in a few words, as people would type it."""
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        return ", ".join(f"{key} {_bracketed(each)}" for key, each in value.items())
    return ", ".join(map(_bracketed, value))


def _bracketed(value: Plain) -> str:
    if isinstance(value, list):
        return f"[{value_text(value)}]"
    return f"{{{value_text(value)}}}" if isinstance(value, dict) else value


def trail(path: KeyPath) -> str:
    """Where in the file that is: ``areas / terrace / points``."""
    return " / ".join(str(step) for step in path) or _("the whole plan")


def difference(old: JobFileDraft, new: JobFileDraft) -> list[str]:
    """The lines that go and that come, with - and + before them, each stretch under its line number.

    Those of a list beside the job file stand under its name.
    """
    lines = _differences(old.text, new.text)
    for name, text in new.lists.items():
        if differs := _differences(old.lists.get(name, ""), text):
            lines += [*([""] if lines else []), f"{name}:", *differs]
    return lines


def _differences(old: str, new: str) -> list[str]:
    before, after = _lines(old), _lines(new)
    lines: list[str] = []
    for each in difflib.unified_diff(before, after, n=1, lineterm=""):
        if each.startswith("@@"):
            number = each.split()[1].split(",")[0].removeprefix("-")
            lines += [*([""] if lines else []), _("line {number}", number=number)]
        elif not each.startswith(("---", "+++")):
            lines.append(each)
    return lines


def _lines(text: str) -> list[str]:
    """The lines without their ends."""
    return text.removeprefix("\ufeff").splitlines()


def changes_said(number: int) -> str:
    """How many changes are not written yet."""
    return plural(number, "{n} change not written", "{n} changes not written") if number else ""
