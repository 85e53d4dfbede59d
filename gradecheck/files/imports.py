"""A list or drawing that an office sent, as points beside the job file: what is in it and what must be answered.

The answers stand in the first line of the list that is written, so that the next version of the same file needs none.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shlex
import stat
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count, plural
from gradecheck.exchange.answers import NONE, UNITS, ImportAnswers, ImportQuestion, ImportResult
from gradecheck.exchange.found import MOST_BYTES, FoundDrawing, Grid
from gradecheck.exchange.kinds import read, take
from gradecheck.exchange.list_points import fewest_letters
from gradecheck.files.whole_files import write_whole
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.plan.folder_names import folder_for, list_fault
from gradecheck.plan.geojson import write_geojson
from gradecheck.plan.load import LARGEST, read_text
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import COLUMNS, read_point_list, write_point_list
from gradecheck.plan.problems import PlanProblemsError, Problem

IMPORTED = "# gradecheck import"
"""How a list begins that was written here; behind it stands what was answered."""
_OUR_GEOJSON = '{"type": "FeatureCollection", "units": '
"""How an outline begins that was written here."""
SAMPLES = 10
_MOST_LISTED = 20


@dataclass
class Sent:
    """What was found in a file and what is to come of it."""

    file: str
    answers: ImportAnswers
    again: bool
    """Whether some of the answers are those of the last time."""
    before: str | None
    """The list that was written of it the last time, or what else has its name."""
    taken: ImportResult = field(default_factory=ImportResult)
    kind: str = ""
    layers: dict[str, dict[str, int]] = field(default_factory=dict)
    samples: list[str] = field(default_factory=list)


def list_name(file: Path, given: str | None = None) -> str:
    """What the list of that file is called. Raises Refusal."""
    name = given or f"{folder_for(file.stem)}.csv"
    if fault := list_fault(name) or (
        "" if name.lower().endswith(".csv") else _("“{name}”: end the list's name with .csv.", name=name)
    ):
        raise Refusal(fault)
    return name


def looked_at(path: Path, given: ImportAnswers, target: Path) -> Sent:
    """The file with what was answered, now or the last time. Raises Refusal and `PlanProblemsError`."""
    before = _text_of(target)
    answers = _as_last_time(given, before)
    file = path.name
    found = read(bytes_of(path), file, answers.sheet)
    looked = Sent(file, answers, answers != given, before, kind=found.kind)
    try:
        looked.taken = take(found, answers, file)
    except PlanProblemsError as wrong:
        raise PlanProblemsError(_first(wrong.problems, file)) from None
    _refuse_too_many(looked, found)
    if isinstance(found, Grid):
        looked.layers = {"": {"rows": len(found.rows)}}
        looked.samples = [f"{at}: {_in_bars(cells)}" for at, cells in found.rows[:SAMPLES]]
        if found.headings:
            numbered = _in_bars([heading and f"{at} {heading}" for at, heading in enumerate(found.headings, 1)])
            looked.samples.insert(0, _("columns: {numbered}", numbered=numbered))
    else:
        looked.layers = {layer: dict(counts) for layer, counts in found.layers().items()}
        for each in found.drawn[:SAMPLES]:
            place = " ".join(f"{float(size):.10g}" for size in each.at or () if size is not None)
            texts = ", ".join(f"{key} {text}" for key, text in list(each.texts.items())[:8] if text)
            looked.samples.append(
                _(
                    "{where} on “{layer}”: {place} {texts}",
                    where=each.where,
                    layer=each.layer,
                    place=place,
                    texts=texts,
                ).rstrip()
            )
    return looked


def _in_bars(cells: Sequence[str]) -> str:
    """Cells of a row beside each other, up to the last that holds something."""
    return " | ".join(cells).rstrip(" |")


def _refuse_too_many(looked: Sent, found: Grid | FoundDrawing) -> None:
    """Refuses more points than one list holds, with what is not answered yet answered so that it is shortest."""
    taken, answers = looked.taken, looked.answers
    if len(found.rows if isinstance(found, Grid) else found.drawn) < _SURELY_FIT:
        return
    if keys := {each.key for each in taken.questions}:
        answers = replace(answers, units=answers.units or "m", prefix=answers.prefix or "P", planar=True)
        if isinstance(found, Grid) and keys & {"order", "columns"}:
            answers = replace(answers, order="", columns=fewest_letters(found))
        elif "columns" in keys:
            answers = replace(answers, columns={**answers.columns, "elevation": NONE})
        try:
            taken = take(found, answers, looked.file)
        except PlanProblemsError:
            return  # what is wrong is said when it comes to it
    if taken.questions:
        return
    text = write_point_list(taken.points, taken.units)
    if (size := len(text.encode()) + _MOST_REMARK) <= LARGEST:
        return
    points = len(taken.points)
    raise Refusal(
        _(
            "The file has {points}, more than a list holds: about {fit:,} of these fit. Divide the file.",
            points=plural(points, "{n:,} point", "{n:,} points"),
            fit=points * LARGEST // size // 100 * 100,
        )
    )


_SURELY_FIT = 2_000
"""Points that fit into a list however long their names and notes are, but for the longest notes."""
_MOST_REMARK = 1_000
"""About what the remark above the points takes with what was answered, in bytes."""


def _first(problems: Sequence[Problem], file: str) -> Sequence[Problem]:
    """The first of many problems, and how many more there are: what is wrong with one row is so with all."""
    if len(problems) <= _MOST_LISTED:
        return problems
    return [
        *problems[:_MOST_LISTED],
        Problem(
            file,
            problems[_MOST_LISTED].line,
            1,
            _("And {problems:,} more like these.", problems=len(problems) - _MOST_LISTED),
        ),
    ]


def columns_given(texts: Sequence[str] | None) -> dict[str, str]:
    """``name=Pt,x=East`` as a table; may be given again, for a heading with a comma in it."""
    found: dict[str, str] = {}
    for text in texts or ():
        for part in text.split(",") if text.count("=") > 1 else [text]:
            column, equals, said = part.partition("=")
            if not equals or column.strip() not in COLUMNS or not said.strip():
                raise Refusal(
                    _(
                        "“{part}” is not a column; write name=…, x=…, y=…, elevation=… or note=…, with a heading.",
                        part=part,
                    )
                )
            found[column.strip()] = said.strip()
    return found


def with_answer(answers: ImportAnswers, question: ImportQuestion | None, text: str) -> ImportAnswers:
    """The answers with one more, as it was typed: to the question, or to what it names: ``units m``, ``prefix Q``.

    Raises Refusal where that is none.
    """
    word, _space, rest = text.strip().partition(" ")
    named = word.casefold() if word.casefold() in KEYS and (rest.strip() or word.casefold() == "planar") else ""
    key = named or (question.key if question is not None else "")
    said = (rest if named else text).strip()
    match key:
        case "units" if said.casefold() in UNITS:
            return replace(answers, units=said.casefold())
        case "order":
            return replace(answers, order=said.upper(), columns={})
        case "columns":
            column = question.column if question is not None else ""
            given = {column: said} if column and "=" not in said else columns_given([said])
            return replace(answers, columns={**answers.columns, **given}, order="")
        case "prefix":
            return replace(answers, prefix=said)
        case "outline":
            return replace(answers, outline=said)
        case "sheet":
            return replace(answers, sheet=said)
        case "layer":
            return replace(answers, layers=tuple(each.strip() for each in said.split(";") if each.strip()))
        case "planar" if said.casefold() in ("yes", "y", "s", "si", "sí", ""):
            return replace(answers, planar=True)
    if question is not None:
        raise Refusal(_("“{text}” is no answer. {question}", text=text.strip(), question=question.asks))
    raise Refusal(
        _("“{text}” is no answer; begin with what it is about: {keys}.", text=text.strip(), keys=", ".join(KEYS))
    )


KEYS = ("units", "order", "columns", "prefix", "layer", "outline", "sheet", "planar")
"""What can be answered, by the word that stands before it."""


def _as_last_time(given: ImportAnswers, before: str | None) -> ImportAnswers:
    """What was answered now, and what was not as it stands in the list of the last time."""
    if before is None or not before.startswith(IMPORTED):
        return given
    with contextlib.suppress(ValueError, SystemExit, argparse.ArgumentError):
        words = shlex.split(before.partition("\n")[0].removeprefix(IMPORTED))
        parser = argparse.ArgumentParser(exit_on_error=False, add_help=False)
        for name in ("units", "order", "prefix", "outline", "sheet"):
            parser.add_argument(f"--{name}", default="")
        for name in ("columns", "layer"):
            parser.add_argument(f"--{name}", action="append", default=[])
        parser.add_argument("--planar", action="store_true")
        last, _ = parser.parse_known_args(words)
        anew = not (given.order or given.columns)
        return ImportAnswers(
            units=given.units or (last.units if last.units in UNITS else ""),
            order=last.order if anew else given.order,
            columns=columns_given(last.columns) if anew else given.columns,
            prefix=given.prefix or last.prefix,
            layers=given.layers or tuple(last.layer),
            outline=given.outline or last.outline,
            sheet=given.sheet or last.sheet,
            planar=given.planar or last.planar,
        )
    return given


def _list_text(looked: Sent) -> str:
    """The list as it is written, under a remark with what was answered."""
    answers = looked.answers
    words: list[str] = [
        word
        for name, value in (
            ("units", answers.units), ("order", answers.order), ("prefix", answers.prefix),
            ("outline", answers.outline), ("sheet", answers.sheet),
            *(("layer", layer) for layer in answers.layers),
            *(("columns", f"{column}={said}") for column, said in answers.columns.items()),
        )
        if value
        for word in (f"--{name}={value}",)
    ]  # fmt: skip
    words += ["--planar"] if answers.planar else []
    remark = visible(" ".join([IMPORTED, shlex.join([f"--from={looked.file}", *words])]))
    return f"{remark}\n{write_point_list(looked.taken.points, looked.taken.units)}"


def changes(looked: Sent) -> dict[str, list[str]] | None:
    """What is new, gone and other than in the list of the last time; None where there was none."""
    before = looked.before
    if before is None or not before.startswith(IMPORTED) or looked.taken.questions:
        return None
    try:
        old = {each.name: each for each in read_point_list(before, "", looked.taken.units)}
    except PlanProblemsError:
        return None
    new = {each.name: each for each in read_point_list(_list_text(looked), "", looked.taken.units)}
    return {
        "new": [name for name in new if name not in old],
        "gone": [name for name in old if name not in new],
        "changed": [name for name in new if name in old and new[name] != old[name]],
    }


def write_list(looked: Sent, target: Path) -> list[Path]:
    """Writes the points, and the outline where there is one, beside the job file. Raises Refusal."""
    folder, name, before = target.parent, target.name, looked.before
    if (before is None and os.path.lexists(target)) or (before is not None and not before.startswith(IMPORTED)):
        raise Refusal(
            _("{target} is another file; give the list a name of its own with --as NAME.csv.", target=target)
        )
    contents = {name: _list_text(looked)} if looked.taken.points else {}
    if looked.taken.outline is not None:
        outline = f"{name[:-4]}-outline.geojson"
        there = _text_of(folder / outline)
        if os.path.lexists(folder / outline) and (there is None or not there.startswith(_OUR_GEOJSON)):
            raise Refusal(
                _("{folder} is another file; give the list another name with --as NAME.csv.", folder=folder / outline)
            )
        contents[outline] = write_geojson([], [looked.taken.outline], looked.taken.units)
    for each, text in contents.items():
        if len(text.encode()) > LARGEST:
            raise Refusal(
                _(
                    "{file} would have {size:,} bytes, more than {most:,}; import it in parts.",
                    file=each,
                    size=len(text.encode()),
                    most=LARGEST,
                )
            )
    write_whole(folder, {each: text.encode() for each, text in contents.items()})
    return [folder / each for each in contents]


def found_lines(looked: Sent, *, samples: bool = True) -> list[str]:
    """What is in the file, in words: its kind, what is on each layer, samples, and how it was taken."""
    lines = [f"{looked.file}: {looked.kind}"]
    for layer, counts in looked.layers.items():
        holds = ", ".join(_counted(what, number) for what, number in counts.items())
        lines.append(f"  “{layer}”: {holds}" if layer or looked.kind not in ("CSV", "XLSX") else f"  {holds}")
    lines += [f"  {sample}" for sample in looked.samples if samples]
    lines += [f"{remark.removesuffix('.')}." for remark in looked.taken.remarks]
    if looked.again:
        lines.append(_("Anything not answered now uses last time's answer."))
    return lines


def _counted(what: str, number: int) -> str:
    """So many of what lies on a layer, or of the rows of a list."""
    return {
        "rows": count(number, "row"),
        "point": count(number, "point"),
        "line": count(number, "line"),
        "face": count(number, "face"),
    }.get(what) or count(number, "closed line")


def changed_lines(changed: dict[str, list[str]] | None) -> list[str]:
    """What is new, gone and changed since the last time."""
    lines = []
    for what, names in (changed or {}).items():
        if names:
            shown = ", ".join(names[:SAMPLES]) + (
                _(" and {names} more", names=len(names) - SAMPLES) if len(names) > SAMPLES else ""
            )
            lines.append(f"{len(names)} {what}: {shown}")
    return lines


def spans_of(taken: ImportResult) -> str:
    """How far the points reach each way, and between which elevations."""
    notation = Notation.usual(taken.units)
    spans, points = [], list(taken.points)
    for way, sizes in (
        ("x", [each.at[0] for each in points if each.at]),
        ("y", [each.at[1] for each in points if each.at]),
        ("elevation", [each.elevation.height for each in points if each.elevation]),
    ):
        if sizes:
            low, high = (show(size, notation, unit=True) for size in (min(sizes), max(sizes)))
            spans.append(_("{way} {low} to {high}", way=way, low=low, high=high))
    return ", ".join(spans)


def bytes_of(path: Path) -> bytes:
    """What a file holds; a pipe or a folder is none. Raises Refusal."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as file:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise Refusal(_("{path} is not a plain file; name the list or the drawing itself.", path=path))
            return file.read(MOST_BYTES + 1)
    except OSError as wrong:
        raise Refusal(
            _(
                "{path} can't be read ({reason}); check the name.",
                path=path,
                reason=(wrong.strerror or str(wrong)).lower(),
            )
        ) from wrong


def _text_of(path: Path) -> str | None:
    """The text of a list beside the job file, None where there is none to be read."""
    try:
        return read_text(path)
    except PlanProblemsError:
        return None
