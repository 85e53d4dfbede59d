"""Verbs of what an office exchanges: `asbuilt`, what was built; `import`, a list or drawing as points of a plan."""

from __future__ import annotations

import argparse
import contextlib
import os
import shlex
import stat
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count
from gradecheck.cli.built import truck_held
from gradecheck.cli.options import (
    OnJob,
    Reply,
    area_option,
    as_path,
    flag,
    named,
    on_session,
    option,
    output_option,
    verb,
)
from gradecheck.cli.shared import chosen, length_json, tell
from gradecheck.exchange.as_built import as_built
from gradecheck.exchange.choose import UNITS, Answers, Taken
from gradecheck.exchange.found import MOST_BYTES, Grid
from gradecheck.exchange.kinds import read, take
from gradecheck.exchange.quantities import ENDINGS as QUANTITY_ENDINGS
from gradecheck.exchange.quantities import quantities as made_quantities
from gradecheck.exchange.table import Table, csv_text
from gradecheck.exchange.writers import ENDINGS, NEED_PLACES
from gradecheck.files.exports import ending_of, refuse_own
from gradecheck.files.whole_files import write_whole
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import Length
from gradecheck.plan.folder_names import folder_for, list_fault
from gradecheck.plan.geojson import write_geojson
from gradecheck.plan.load import LARGEST, read_text
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import COLUMNS, read_point_list, write_point_list
from gradecheck.plan.problems import PlanProblemsError, Problem
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder


@dataclass(frozen=True, kw_only=True, slots=True)
class AsBuilt(OnJob):
    area: str | None = area_option()
    all: bool = flag("--all", _("every reading that counts, not the last at each point alone"))
    output: Path | None = output_option(
        "FILE", _("ends in .csv, .geojson, .xlsx, .dxf, .xml or .landxml; else CSV is printed")
    )


@on_session(AsBuilt)
def asbuilt(session: Session, options: AsBuilt) -> Reply:
    """The last reading at every point, or all of them, as FILE's ending says; as CSV on stdout without one."""
    ending = ending_of(options.output, ENDINGS) if options.output is not None else ""
    state, lines = session.state, session.all_lines()
    recorded = [line.entry.area for line in lines if line.entry.area is not None]
    areas = {area.name for area in chosen(session.plan, options.area, gone=recorded)}
    if options.area is None:
        areas |= set(recorded)  # an area that the plan lost since was built all the same
    table = as_built(state, lines, areas or {options.area or ""}, every=options.all)
    if options.output is not None:
        refuse_own(session, options.output)
        written = ENDINGS[ending](table, now(), "existing")
        write_whole(options.output.parent, {options.output.name: written})
        tell_left_out(table, ending)
    if state.datum is not None:
        tell(_("Elevations are from the job's own zero; on site they are shown from {datum}.", datum=state.datum))

    def answer() -> dict[str, object]:
        last = lines[-1].entry if lines else None
        return {
            "job": session.plan.job,
            "log to entry": last.seq if last else 0,
            "hash": last.hash if last else "",
            "written": [str(options.output)] if options.output is not None else [],
            "rows": rows_json(table, session.plan.notation),
        }

    if options.output is None:
        return Reply(answer, text=csv_text(table).replace("\r\n", "\n"))
    return Reply(
        answer,
        [_("{rows} written to {output}.", rows=count(len(table.rows), "reading"), output=options.output)],
        saved=True,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Amounts(OnJob):
    area: str | None = area_option()
    truck: str | None = option(
        "--truck", metavar="VOLUME", help=_("what a truck holds, loose, for the soil in loads")
    )
    output: Path | None = output_option("FILE", _("ends in .csv or .xlsx; else CSV is printed"))


@on_session(Amounts)
def quantities(session: Session, options: Amounts) -> Reply:
    """Areas, layers, loads, over-dig and taped lengths for the invoice, and the days beside each other."""
    ending = ending_of(options.output, QUANTITY_ENDINGS) if options.output is not None else ""
    plan = session.plan
    truck = truck_held(options.truck, plan.notation.units) if options.truck else None
    table = made_quantities(session.state, session.all_lines(), chosen(plan, options.area), truck)
    rows = [
        {name: float(v) if isinstance(v, Fraction) else v for name, v in zip(table.columns, row, strict=True)}
        for row in table.rows
    ]
    told = {"job": plan.job, "written": [str(options.output)] if options.output is not None else [], "rows": rows}
    if options.output is None:
        return Reply(told, text=csv_text(table).replace("\r\n", "\n"))
    refuse_own(session, options.output)
    write_whole(options.output.parent, {options.output.name: ENDINGS[ending](table, now(), "")})
    return Reply(
        told,
        [_("{rows} written to {output}.", rows=count(len(table.rows), "row"), output=options.output)],
        saved=True,
    )


def tell_left_out(table: Table, ending: str) -> None:
    """How many rows have no place in a drawing, where there are some."""
    lost = sum(1 for row in table.rows if table.at(row) is None) if ending in NEED_PLACES else 0
    if lost:
        tell(
            _(
                "{lost} of {rows} without x and y left out of the drawing.",
                lost=count(lost, "point"),
                rows=len(table.rows),
            )
        )


def rows_json(table: Table, notation: Notation) -> list[dict[str, object]]:
    """The rows as plain values."""
    return [
        {
            name: length_json(value, notation) if isinstance(value, Length) else value
            for name, value in zip(table.columns, row, strict=True)
        }
        for row in table.rows
    ]


# Import -----------------------------------------------------------------------------------------------------------

IMPORTED = "# gradecheck import"
"""How a list begins that was written here; behind it stands what was answered."""
_OUR_GEOJSON = '{"type": "FeatureCollection", "units": '
"""How an outline begins that was written here."""
_SAMPLES = 10
_MOST_TOLD = 20


@dataclass
class _Import:
    """What was found in a file and what is to come of it."""

    file: str
    answers: Answers
    again: bool
    """Whether some of the answers are those of the last time."""
    taken: Taken = field(default_factory=Taken)
    kind: str = ""
    layers: dict[str, dict[str, int]] = field(default_factory=dict)
    samples: list[str] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True, slots=True)
class Import(OnJob):
    file: Path = named("FILE", type=as_path, help=_("the list or the drawing"))
    dry: bool = flag("--dry", _("only show what is in it and what must be answered"))
    units: str | None = option(
        "--units", choices=("in", "ft", "ft-in", "mm", "cm", "m", "usft"), help=_("what its numbers count")
    )
    order: str | None = option(
        "--order", metavar="PNEZD", help=_("of a list without headings: a letter for each column")
    )
    columns: Sequence[str] = option(
        "--columns",
        default=(),
        metavar="name=PT,x=E",
        action="append",
        help=_("the heading, attribute or number of name, x, y, elevation, note; may be given again"),
    )
    prefix: str | None = option("--prefix", metavar="P", help=_("stands before names that begin with a figure"))
    layer: Sequence[str] = option(
        "--layer", default=(), metavar="LAYER", action="append", help=_("of the points; may be given again")
    )
    outline: str | None = option(
        "--outline", metavar="LAYER", help=_("of the closed line that is the area's outline")
    )
    sheet: str | None = option("--sheet", metavar="SHEET", help=_("of a workbook"))
    planar: bool = flag("--planar", _("the GeoJSON is in lengths, not degrees"))
    as_name: str | None = option("--as", metavar="NAME.csv", help=_("what the list is called"))


@verb(Import)
def import_(options: Import) -> Reply:
    """Shows what a file holds and what must be answered; then writes its points beside the job file."""
    folder = job_folder(options.job) if options.job.is_dir() else options.job.parent
    name = options.as_name or f"{folder_for(options.file.stem)}.csv"
    if fault := list_fault(name) or (
        "" if name.lower().endswith(".csv") else _("“{name}”: end the list's name with .csv.", name=name)
    ):
        raise Refusal(fault)
    target = folder / name
    before = _text_of(target)
    looked = _looked_at(options, before)
    if options.dry or looked.taken.questions:
        return _imported(looked, [], _changes(before, looked))
    if (before is None and os.path.lexists(target)) or (before is not None and not before.startswith(IMPORTED)):
        raise Refusal(
            _("{target} is another file; give the list a name of its own with --as NAME.csv.", target=target)
        )
    changed = _changes(before, looked)
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
    return _imported(looked, [folder / each for each in contents], changed)


def _looked_at(options: Import, before: str | None) -> _Import:
    """The file with what was answered, now or the last time."""
    given = Answers(
        units=options.units or "",
        order=(options.order or "").upper(),
        columns=_columns_given(options.columns),
        prefix=options.prefix or "",
        layers=tuple(options.layer),
        outline=options.outline or "",
        sheet=options.sheet or "",
        planar=options.planar,
    )
    answers = _as_last_time(given, before)
    file = options.file.name
    found = read(_bytes_of(options.file), file, answers.sheet)
    looked = _Import(file, answers, again=answers != given, kind=found.kind)
    try:
        looked.taken = take(found, answers, file)
    except PlanProblemsError as wrong:
        raise PlanProblemsError(_first(wrong.problems, file)) from None
    if isinstance(found, Grid):
        looked.layers = {"": {"rows": len(found.rows)}}
        looked.samples = [f"{at}: {' | '.join(cells)}" for at, cells in found.rows[:_SAMPLES]]
    else:
        looked.layers = {layer: dict(counts) for layer, counts in found.layers().items()}
        for each in found.points[:_SAMPLES]:
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


def _first(problems: Sequence[Problem], file: str) -> Sequence[Problem]:
    """The first of many problems, and how many more there are: what is wrong with one row is so with all."""
    if len(problems) <= _MOST_TOLD:
        return problems
    return [
        *problems[:_MOST_TOLD],
        Problem(
            file,
            problems[_MOST_TOLD].line,
            1,
            _("And {problems:,} more like these.", problems=len(problems) - _MOST_TOLD),
        ),
    ]


def _columns_given(texts: Sequence[str] | None) -> dict[str, str]:
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


def _as_last_time(given: Answers, before: str | None) -> Answers:
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
        return Answers(
            units=given.units or (last.units if last.units in UNITS else ""),
            order=last.order if anew else given.order,
            columns=_columns_given(last.columns) if anew else given.columns,
            prefix=given.prefix or last.prefix,
            layers=given.layers or tuple(last.layer),
            outline=given.outline or last.outline,
            sheet=given.sheet or last.sheet,
            planar=given.planar or last.planar,
        )
    return given


def _list_text(looked: _Import) -> str:
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


def _changes(before: str | None, looked: _Import) -> dict[str, list[str]] | None:
    """What is new, gone and other than in the list of the last time; None where there was none."""
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


def _imported(looked: _Import, written: Sequence[Path], changed: dict[str, list[str]] | None) -> Reply:
    """What was found, and written where nothing is left to be answered."""
    taken = looked.taken
    spans = _spans(taken)
    add = [f"{'points' if each.suffix == '.csv' else 'outline'}: {each.name}" for each in written]
    answer = {
        "file": looked.file, "kind": looked.kind, "layers": looked.layers, "samples": looked.samples,
        "taken as": taken.remarks, "questions": taken.questions, "points": len(taken.points), "spans": spans,
        "changed": changed, "written": [str(each) for each in written], "add to an area": add,
    }  # fmt: skip
    lines = [f"{looked.file}: {looked.kind}"]
    for layer, counts in looked.layers.items():
        holds = ", ".join(
            f"{number} {what.removesuffix('s') if number == 1 else what}" for what, number in counts.items()
        )
        lines.append(f"  “{layer}”: {holds}" if layer or looked.kind not in ("CSV", "XLSX") else f"  {holds}")
    lines += [f"  {sample}" for sample in looked.samples if not written]
    lines += [f"{remark.removesuffix('.')}." for remark in taken.remarks]
    if looked.again:
        lines.append(_("Anything not answered now uses last time's answer."))
    lines += [f"? {question}" for question in taken.questions]
    if spans:
        lines.append(f"{count(len(taken.points), 'point')}: {spans}.")
    for what, names in (changed or {}).items():
        if names:
            shown = ", ".join(names[:_SAMPLES]) + (
                _(" and {names} more", names=len(names) - _SAMPLES) if len(names) > _SAMPLES else ""
            )
            lines.append(f"{len(names)} {what}: {shown}")
    if written:
        lines.append(
            _("Written to {written}. In job.yaml an area takes it with:", written=_(" and ").join(map(str, written)))
        )
        lines += [f"    {each}" for each in add]
    return Reply(answer, lines, code=1 if taken.questions else 0, saved=bool(written))


def _spans(taken: Taken) -> str:
    """How far the points reach each way, and between which elevations."""
    notation = Notation.usual(taken.units)
    spans = []
    for way, sizes in (
        ("x", [each.at[0] for each in taken.points if each.at]),
        ("y", [each.at[1] for each in taken.points if each.at]),
        ("elevation", [each.elevation.height for each in taken.points if each.elevation]),
    ):
        if sizes:
            low, high = (show(size, notation, unit=True) for size in (min(sizes), max(sizes)))
            spans.append(_("{way} {low} to {high}", way=way, low=low, high=high))
    return ", ".join(spans)


def _bytes_of(path: Path) -> bytes:
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
