"""Verbs of what an office exchanges: `asbuilt`, what was built; `import`, a list or drawing as points of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from gradecheck.catalogue import _, count
from gradecheck.cli.built import truck_held
from gradecheck.cli.options import (
    OnJob,
    Reply,
    area_option,
    as_path,
    csv_option,
    flag,
    named,
    on_session,
    option,
    output_option,
    verb,
)
from gradecheck.cli.shared import chosen, length_json, tell
from gradecheck.exchange.answers import ImportAnswers
from gradecheck.exchange.as_built import as_built
from gradecheck.exchange.quantities import ENDINGS as QUANTITY_ENDINGS
from gradecheck.exchange.quantities import quantities as made_quantities
from gradecheck.exchange.table import PointTable, csv_text
from gradecheck.exchange.writers import ENDINGS, NEED_PLACES
from gradecheck.files.exports import ending_of, refuse_own
from gradecheck.files.imports import (
    Sent,
    changed_lines,
    changes,
    columns_given,
    found_lines,
    list_name,
    looked_at,
    spans_of,
    write_list,
)
from gradecheck.files.whole_files import write_whole
from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import Length
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder


@dataclass(frozen=True, kw_only=True, slots=True)
class AsBuiltOptions(OnJob):
    area: str | None = area_option()
    all: bool = flag("--all", _("every reading that counts, not just the last at each point"))
    csv: bool = csv_option()
    output: Path | None = output_option(
        "FILE", _("ends in .csv, .geojson, .xlsx, .dxf, .xml or .landxml; else CSV is printed")
    )


@on_session(AsBuiltOptions, apart=(("csv", "json"), ("csv", "output")))
def asbuilt(session: Session, options: AsBuiltOptions) -> Reply:
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
        return Reply(answer if options.json else None, text=csv_text(table).replace("\r\n", "\n"))
    return Reply(
        answer,
        [_("{rows} written to {output}.", rows=count(len(table.rows), "reading"), output=options.output)],
        saved=True,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class AmountsOptions(OnJob):
    area: str | None = area_option()
    csv: bool = csv_option()
    truck: str | None = option(
        "--truck", metavar="VOLUME", help=_("what a truck holds, loose, for the soil in loads")
    )
    output: Path | None = output_option("FILE", _("ends in .csv or .xlsx; else CSV is printed"))


@on_session(AmountsOptions, apart=(("csv", "json"), ("csv", "output")))
def quantities(session: Session, options: AmountsOptions) -> Reply:
    """Areas, layers, loads, over-dig and taped lengths for the invoice, and the days beside each other."""
    ending = ending_of(options.output, QUANTITY_ENDINGS) if options.output is not None else ""
    plan = session.plan
    truck = truck_held(options.truck, plan.notation.units) if options.truck else None
    table = made_quantities(session.state, session.all_lines(), chosen(plan, options.area), truck)
    rows = [
        {name: float(v) if isinstance(v, Fraction) else v for name, v in zip(table.columns, row, strict=True)}
        for row in table.rows
    ]
    answer = {"job": plan.job, "written": [str(options.output)] if options.output is not None else [], "rows": rows}
    if options.output is None:
        return Reply(answer if options.json else None, text=csv_text(table).replace("\r\n", "\n"))
    refuse_own(session, options.output)
    write_whole(options.output.parent, {options.output.name: ENDINGS[ending](table, now(), "")})
    return Reply(
        answer,
        [_("{rows} written to {output}.", rows=count(len(table.rows), "row"), output=options.output)],
        saved=True,
    )


def tell_left_out(table: PointTable, ending: str) -> None:
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


def rows_json(table: PointTable, notation: Notation) -> list[dict[str, object]]:
    """The rows as plain values."""
    return [
        {
            name: length_json(value, notation) if isinstance(value, Length) else value
            for name, value in zip(table.columns, row, strict=True)
        }
        for row in table.rows
    ]


# Import -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True, slots=True)
class ImportOptions(OnJob):
    file: Path = named("FILE", type=as_path, help=_("the list or the drawing"))
    dry: bool = flag("--dry", _("only show what is in it and what it asks"))
    units: str | None = option(
        "--units", choices=("in", "ft", "ft-in", "mm", "cm", "m", "usft"), help=_("the unit of its numbers")
    )
    order: str | None = option(
        "--order", metavar="PNEZD", help=_("for a list without headings: a letter for each column")
    )
    columns: Sequence[str] = option(
        "--columns",
        default=(),
        metavar="name=PT,x=E",
        action="append",
        help=_("heading, attribute or number for name, x, y, elevation, note; can be repeated"),
    )
    prefix: str | None = option("--prefix", metavar="P", help=_("goes before names that begin with a digit"))
    layer: Sequence[str] = option(
        "--layer", default=(), metavar="LAYER", action="append", help=_("the points' layer; can be repeated")
    )
    outline: str | None = option(
        "--outline", metavar="LAYER", help=_("the layer of the closed line that is the area's outline")
    )
    sheet: str | None = option("--sheet", metavar="SHEET", help=_("the sheet of a workbook"))
    planar: bool = flag("--planar", _("the GeoJSON is in lengths, not degrees"))
    as_name: str | None = option("--as", metavar="NAME.csv", help=_("the name of the list"))


@verb(ImportOptions)
def import_(options: ImportOptions) -> Reply:
    """Shows what a file holds and what must be answered; then writes its points beside the job file."""
    folder = job_folder(options.job) if options.job.is_dir() else options.job.parent
    target = folder / list_name(options.file, options.as_name)
    given = ImportAnswers(
        units=options.units or "",
        order=(options.order or "").upper(),
        columns=columns_given(options.columns),
        prefix=options.prefix or "",
        layers=tuple(options.layer),
        outline=options.outline or "",
        sheet=options.sheet or "",
        planar=options.planar,
    )
    looked = looked_at(options.file, given, target)
    changed = changes(looked)
    written = [] if options.dry or looked.taken.questions else write_list(looked, target)
    return _imported(looked, written, changed)


def _imported(looked: Sent, written: Sequence[Path], changed: dict[str, list[str]] | None) -> Reply:
    """What was found, and written where nothing is left to be answered."""
    taken = looked.taken
    spans = spans_of(taken)
    add = [f"{'points' if each.suffix == '.csv' else 'outline'}: {each.name}" for each in written]
    answer = {
        "file": looked.file, "kind": looked.kind, "layers": looked.layers, "samples": looked.samples,
        "taken as": taken.remarks, "questions": taken.questions, "points": len(taken.points), "spans": spans,
        "changed": changed, "written": [str(each) for each in written], "add to an area": add,
    }  # fmt: skip
    lines = found_lines(looked, samples=not written)
    lines += [f"? {question}" for question in taken.questions]
    if spans:
        lines.append(f"{count(len(taken.points), 'point')}: {spans}.")
    lines += changed_lines(changed)
    if written:
        lines.append(
            _("Written to {written}. In job.yaml an area takes it with:", written=_(" and ").join(map(str, written)))
        )
        lines += [f"    {each}" for each in add]
    return Reply(answer, lines, code=1 if taken.questions else 0, saved=bool(written))
