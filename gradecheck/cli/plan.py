"""The verb `plan`: the grade plan as tables and drawings, as an SVG, as a point list or GeoJSON."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.exchange import tell_left_out
from gradecheck.cli.on_site import OnSite, plan_on_site
from gradecheck.cli.options import OnJob, Reply, area_option, as_path, flag, option, output_option, stage_option, verb
from gradecheck.cli.shared import chosen, has_braille, tell
from gradecheck.cli.stakes import above_finish, labels_file, labels_of, labels_reply
from gradecheck.exchange.grade_points import grade_points
from gradecheck.exchange.writers import BEGINNINGS, ENDINGS
from gradecheck.files.exports import ending_of
from gradecheck.files.whole_files import write_whole
from gradecheck.measure.printed import with_true_minus
from gradecheck.plan.geojson import write_geojson
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.point_list import write_point_list
from gradecheck.report.grade_plan import area_zero, grade_plan_json, grade_plan_lines, listed, outlined, own_zero
from gradecheck.report.plan_changes import amendment_line, changed_names
from gradecheck.report.rows import example_figures
from gradecheck.report.svg import plan_svg
from gradecheck.session.clock_watch import now
from gradecheck.session.session import job_folder

PAPER = (".pdf", ".html")
_PDF, _PDF_TITLES = b"%PDF-", (b", grade plan ", b", stakes ")
"""How every PDF begins, and what is in the title of one that was written here."""
_BEGINNINGS = {"--svg": "<svg ", "--csv": "name,x (", "--geojson": '{"type": "FeatureCollection", "units": '}
"""How a file that was written here begins; a grade plan has its title instead."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanOptions(OnJob):
    area: str | None = area_option()
    svg: Path | None = option("--svg", metavar="FILE", type=as_path, help=_("write the drawing to FILE as an SVG"))
    csv: bool = flag("--csv", _("the points as a list"))
    geojson: bool = flag("--geojson", _("the points and outlines as GeoJSON"))
    output: Path | None = output_option(
        "FILE", _("write it as FILE ends: .pdf, .html, .svg, .txt, .csv, .geojson, .xlsx, .dxf, .xml")
    )
    ascii: bool = flag("--ascii", _("plain letters where fonts lack blocks"))
    ties: bool = flag("--ties", _("the two tapes that find each point; drawn in an SVG"))
    labels: bool = flag("--labels", _("stake labels; -o FILE: .pdf, .html, .txt, .csv, .xlsx"))
    above: str | None = option("--above", metavar="LENGTH", help=_("how far the stake tops are above finish"))
    ground: bool = flag("--ground", _("for --labels, from existing ground instead of the stake tops"))
    stage: str | None = stage_option()


@verb(
    PlanOptions,
    apart=(
        *(("labels", other) for other in ("svg", "csv", "geojson", "ascii", "ties")),
        *(("ties", other) for other in ("csv", "geojson", "json")),
        ("ground", "above"),
    ),
    belongs=(("above", "labels"), ("stage", "labels"), ("ground", "labels")),
)
def plan(options: PlanOptions) -> Reply:
    """The grade plan of the job or of one area."""
    if options.labels:
        return _labels(options)
    ending = options.output.suffix.casefold() if options.output is not None else ""
    by_ending = not (options.csv or options.geojson or options.json)
    if by_ending and ending == ".svg" and options.svg is None:
        options, ending = replace(options, svg=options.output, output=None), ""
    if by_ending and ending in (".csv", ".geojson"):
        options = replace(options, csv=ending == ".csv", geojson=ending == ".geojson")
    kinds = [f"--{kind}" for kind in ("csv", "geojson", "json") if getattr(options, kind)]
    drawn = ending in ENDINGS and not kinds
    printed = ending in PAPER and not kinds
    if len(kinds) > 1:
        raise Refusal(_("{kinds} are several answers; ask for one at a time.", kinds=_(" and ").join(kinds)))
    if options.json and options.output is not None:
        raise Refusal(_("With --json the answer is printed; -o FILE is for the grade plan, --csv and --geojson."))
    if options.ascii and (kinds or drawn or printed or (options.svg is not None and options.output is None)):
        raise Refusal(_("--ascii is for the grade plan; it changes nothing in what is asked for here."))
    on_site = plan_on_site(options.job)
    plan = on_site.plan
    areas = chosen(plan, options.area)
    notes = _notes(on_site, areas)
    if options.ties and on_site.untaped:
        tell(on_site.untaped)
    files = list(_files(options, plan, areas, notes, "".join(kinds)))
    for path, content in files:
        write_whole(path.parent, {path.name: content})
    if (options.csv or options.geojson or drawn) and (own := own_zero(plan, areas)):
        tell(_("Elevations count from datum {own}; an area that takes them needs “datum: {own}” too.", own=own))
    for area in areas if options.csv or options.geojson or drawn else ():
        if area_zero(plan, area) is None and own_zero(plan, areas) is None:
            warning = _(
                "{name} is on datum {datum}, which is tied in on site; its elevations are left out",
                name=area.name,
                datum=area.datum,
            )
            warning += (
                _(", and with them points without a place.") if any(not each.at for each in area.points) else "."
            )
            tell(warning)
    if drawn:
        tell_left_out(grade_points(plan, areas), ending)
    for area in areas if options.csv or options.geojson or drawn or options.svg is not None else ():
        if examples := example_figures(area.examples):
            tell(_("{name}: {examples}: don't build from it.", name=area.name, examples=examples))
    written = [str(path) for path, _ in files]
    if (kinds or files) and (beside := on_site.remark if options.json else _in_short(on_site, areas)):
        tell(beside)
    if options.json:
        areas_json = [grade_plan_json(plan, area) for area in areas]
        lines = [amendment_line(fact, plan.notation) for fact in on_site.within(areas)]
        answer = {"job": plan.job, "written": written, "on site": lines, "areas": areas_json}
        return Reply(answer, saved=bool(files))
    if options.output is None and (options.csv or options.geojson or not files):
        text = _text(options, plan, areas, notes, plain=options.ascii or not has_braille())
        return Reply(text=text.replace("\r\n", "\n"), saved=bool(files))
    return Reply(lines=[_("Written to {written}.", written=_(" and ").join(written))], saved=bool(files))


def _labels(options: PlanOptions) -> Reply:
    """What is written on the stakes, printed or into a file."""
    if options.json and options.output is not None:
        raise Refusal(_("With --json the answer is printed; without it -o FILE is written."))
    on_site = plan_on_site(options.job)
    plan = on_site.plan
    areas = chosen(plan, options.area)
    labels = labels_of(plan, areas, None if options.ground else above_finish(plan, options.above), options.stage)
    if on_site.remark:
        tell(on_site.remark)
    for area in areas:
        if examples := example_figures(area.examples):
            tell(_("{name}: {examples}: don't build from it.", name=area.name, examples=examples))
    path = options.output
    if path is None:
        return labels_reply(plan, labels)
    content, beginning = labels_file(plan, labels, path, f"{now():%Y-%m-%d}")
    _refuse_what_is_not_ours(path, options.job, plan, beginning)
    write_whole(path.parent, {path.name: content})
    return Reply(lines=[_("Written to {written}.", written=path)], saved=True)


def _notes(on_site: OnSite, areas: Sequence[Area]) -> list[str]:
    """What the head of the grade plan says of the work on site, so that it is read on paper too."""
    lines = [f"  {amendment_line(fact, on_site.plan.notation)}" for fact in on_site.within(areas)]
    return [
        *([on_site.remark] if on_site.remark else []),
        *([_("Changed on site, and shown so:"), *lines] if lines else []),
    ]


def _in_short(on_site: OnSite, areas: Sequence[Area]) -> str:
    """The same beside an answer that has no room for it."""
    changes = on_site.within(areas)
    changed = (
        _(
            "Changed on site, and so in this: {changed_names}. “gradecheck changes” shows why.",
            changed_names=changed_names(changes),
        )
        if changes
        else ""
    )
    return " ".join(filter(None, (on_site.remark, changed)))


def _files(
    options: PlanOptions, plan: Plan, areas: Sequence[Area], notes: Sequence[str], kind: str
) -> Iterator[tuple[Path, bytes]]:
    """What is to be written where; raises Refusal before the first where one of them may not be."""
    files = []
    if options.svg is not None:
        picture = plan_svg(plan, areas, tapes=options.ties)
        files.append((options.svg, picture.encode(), _BEGINNINGS["--svg"].encode()))
    if options.output is not None:
        ending = options.output.suffix.casefold()
        if ending in PAPER and not kind:
            ending_of(options.output, PAPER)
            content = _paper(ending, plan, areas, notes)
            beginning = _PDF if ending == ".pdf" else content.partition(b"<title>")[0]
        elif ending in ENDINGS and not kind:
            content = ENDINGS[ending](grade_points(plan, areas), now(), "proposed")
            beginning = BEGINNINGS.get(ending, b"")
        else:
            content = _text(options, plan, areas, notes, plain=options.ascii).encode()
            beginning = _BEGINNINGS[kind].encode() if kind else content.partition(b"\n")[0]
        files.append((options.output, content, beginning))
    if len(files) > 1 and _same(files[0][0], files[1][0]):
        raise Refusal(_("The SVG and the grade plan can't be one file; give each a name of its own."))
    for path, _content, beginning in files:
        _refuse_what_is_not_ours(path, options.job, plan, beginning)
    if options.output is not None and options.output.suffix and not kind:
        ending_of(options.output, (*PAPER, ".svg", ".txt", *ENDINGS))
    yield from ((path, content) for path, content, _ in files)


def _paper(ending: str, plan: Plan, areas: Sequence[Area], notes: Sequence[str]) -> bytes:
    from gradecheck.report.page import grade_plan_page
    from gradecheck.report.pdf import grade_plan_pdf

    day = f"{now():%Y-%m-%d}"
    if ending == ".pdf":
        return grade_plan_pdf(plan, areas, notes, day)
    return grade_plan_page(plan, areas, notes, day).encode()


def _text(options: PlanOptions, plan: Plan, areas: Sequence[Area], notes: Sequence[str], *, plain: bool) -> str:
    if options.csv:
        return write_point_list(listed(plan, areas, own_zero(plan, areas)), plan.notation.units)
    if options.geojson:
        return write_geojson(listed(plan, areas, own_zero(plan, areas)), outlined(areas), plan.notation.units)
    size = shutil.get_terminal_size((80, 24))
    columns, rows = (size.columns, size.lines) if options.output is None else (80, 24)
    lines = grade_plan_lines(
        plan, areas, max(columns, 20), max(rows - 4, 8), notes, braille=not plain, tapes=options.ties
    )
    text = "".join(f"{line}\n" for line in lines)
    return text if plain else with_true_minus(text)


# -- files


def _refuse_what_is_not_ours(path: Path, job: Path, plan: Plan, beginning: bytes) -> None:
    """Refuses to write over the plan, the journal, or any file of the job that this command did not write."""
    folder = job_folder(job) if job.is_dir() or not job.is_file() else job.parent
    theirs = [job if job.is_file() else folder / "job.yaml", *(folder / name for name in plan.files)]
    name = path.name.casefold()
    in_job = _same(path.parent, folder)
    if (in_job and (name.startswith("journal.") or name == "job.yaml")) or any(_same(path, each) for each in theirs):
        raise Refusal(_("{path} belongs to the job itself; give the new file another name.", path=path))
    if not os.path.lexists(path):
        return
    if not path.is_file():
        raise Refusal(_("{path} is no file that can be written over; give the new file another name.", path=path))
    if in_job and not (beginning and _begins(path, beginning)):
        raise Refusal(_("{path} is another file of the job; give the new file a name of its own.", path=path))


def _begins(path: Path, beginning: bytes) -> bool:
    with contextlib.suppress(OSError), open(path, "rb") as file:
        if file.read(len(beginning)) == beginning:
            rest = file.read() if beginning == _PDF else b""
            return beginning != _PDF or any(title in rest for title in _PDF_TITLES)
    return False


def _same(one: Path, other: Path) -> bool:
    """Whether two names mean one file or folder, there already or not, in whichever case they are written."""
    with contextlib.suppress(OSError):
        return os.path.samefile(one, other)
    return os.path.realpath(one) == os.path.realpath(other)
