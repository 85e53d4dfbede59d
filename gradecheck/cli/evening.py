"""Verbs of the evening: `review`, `sign`, `day` and `report`."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.catalogue import _, stage_word, translated
from gradecheck.cli.options import (
    AGAIN,
    DAY,
    OnJob,
    Recording,
    Reply,
    area_option,
    csv_option,
    flag,
    named,
    on_session,
    option,
    output_option,
    stage_option,
)
from gradecheck.cli.shared import chosen, day_named, length_json, meant_stage, point_names
from gradecheck.journal.facts import SignedOff
from gradecheck.journal.store import LogLine
from gradecheck.measure.printed import with_true_minus
from gradecheck.report.log import LogRow, log_row
from gradecheck.report.review import (
    Chosen,
    StageRow,
    laptop_lines,
    open_lines,
    rechecks_line,
    stage_rows,
    still_open,
    trend,
    trend_lines,
)
from gradecheck.session.session import Session
from gradecheck.sharing.beside import share_what_is_finished
from gradecheck.state.signing import questions
from gradecheck.state.state import State

if TYPE_CHECKING:
    from gradecheck.report.pdf import Paper

HEADING = (
    f"{_('area'):<18}{_('stage'):<13}{_('read'):>9}{_('on grade'):>10}{_('cut'):>5}{_('fill'):>6}{_('close'):>7}"
    f"{_('doubt'):>7}{_('questioned'):>12}{_('struck'):>8}  {_('worst')}"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReviewOptions(OnJob):
    area: str | None = area_option()
    stage: str | None = stage_option()
    day: str | None = option("--day", metavar=DAY)
    person: str | None = option("--person", metavar="XX", help=_("what this person recorded"))
    entries: bool = flag("--entries", _("the entries too, by time"))
    left: bool = flag("--left", _("what is left, as a work order to take along; exit 1 while anything is"))
    csv: bool = csv_option()
    output: Path | None = output_option("FILE", _("of --left, ends in .pdf, .html, .csv or .txt"))


@on_session(
    ReviewOptions,
    by_code=True,
    apart=(
        ("csv", "json"),
        ("csv", "output"),
        ("csv", "entries"),
        ("left", "entries"),
        ("left", "day"),
        ("left", "person"),
    ),
    belongs=(("output", "left"),),
)
def review(session: Session, options: ReviewOptions) -> Reply:
    """What was checked, what is out, what is still open; 1 while anything is open."""
    if options.left:
        return _left(session, options)
    state, areas = session.state, chosen(session.plan, options.area, options.stage, options.day)
    fitting = Chosen(
        options.day,
        areas[0].name if options.area is not None else None,
        meant_stage(areas, options.stage) if options.stage is not None else None,
        actions.initials(options.person) if options.person is not None else None,
    )
    log = session.all_lines()
    rows, left = stage_rows(state, log, fitting), still_open(state)
    looks, biases = rechecks_line(state, log, fitting), trend_lines(state)
    of_laptops = laptop_lines(state, options.day)
    entries = list(_entry_rows(state, log, fitting)) if options.entries else []
    stages = [dataclasses.asdict(row) for row in rows]
    answer: dict[str, object] = {
        "stages": stages,
        "open": left,
        "rechecks": looks,
        "trend": _trend_json(state),
        "laptops": of_laptops,
        "lasers": _lasers_json(state),
    }
    if options.entries:
        answer["entries"] = [dataclasses.asdict(row) for row in entries]
    lines = [HEADING, *map(row_line, rows)] if rows else [_("No readings match.")]
    lines += ["", *map(_entry_line, entries)] if options.entries else []
    lines += ["", *open_lines(state)]
    lines += ["", looks] if looks else []
    lines += ["", _("At points read again:"), *(f"  {each}" for each in biases)] if biases else []
    lines += ["", *of_laptops] if of_laptops else []
    return Reply(answer, lines, code=1 if left else 0, table=stages)


def _left(session: Session, options: ReviewOptions) -> Reply:
    from gradecheck.files.exports import left_of, write_left
    from gradecheck.report.left import order_csv, work_order_lines

    areas = chosen(session.plan, options.area, options.stage, None)
    stage = meant_stage(areas, options.stage) if options.stage is not None else None
    order = left_of(session, areas, stage)
    answer = {"left": [dataclasses.asdict(row) for row in order.rows], "not begun": list(order.not_begun)}
    code = 1 if order.rows or order.not_begun else 0
    if options.output is None:
        if options.csv:
            return Reply(text=order_csv(order), code=code)
        return Reply(answer, work_order_lines(order), code=code)
    written = write_left(session, options.output, order)
    return Reply(
        {**answer, "file": str(written)}, [_("Written to {written}.", written=written)], code=code, saved=True
    )


def _trend_json(state: State) -> list[dict[str, object]]:
    return [
        {
            "kind": bias.kind,
            "name": bias.name,
            "mean": length_json(bias.mean, state.plan.notation),
            "count": bias.count,
            "scatter mm": None if bias.scatter is None else bias.scatter * 1000,
        }
        for bias in trend(state)
    ]


def _lasers_json(state: State) -> list[dict[str, object]]:
    if state.laptops is None:
        return []
    from gradecheck.report.joining import lasers  # few jobs have several laptops

    notation = state.plan.notation
    return [
        {
            "laptops": each.laptops,
            "points": len(each.points),
            "mean": length_json(each.mean, notation),
            "exact mean m": str(each.mean.metres),
            "least": length_json(each.least, notation),
            "most": length_json(each.most, notation),
        }
        for each in lasers(state)
    ]


def row_line(row: StageRow) -> str:
    """One stage as a line of the table."""
    read = _("{read} of {points}", read=row.read, points=row.points)
    signed = _("  signed {signed}", signed=row.signed) if row.signed else ""
    stage = _within(stage_word(row.stage), 12)
    return (
        f"{_within(row.area, 17):<18}{stage:<13}{read:>9}{row.within:>10}{row.cut:>5}{row.fill:>6}"
        f"{row.undecided:>7}{row.doubt:>7}{row.questioned:>12}{row.voided:>8}  {row.worst}{signed}"
    )


def _within(name: str, most: int) -> str:
    """The name in so many characters at most; one that was cut says so."""
    return name if len(name) <= most else f"{name[: most - 1]}…"


def _entry_line(row: LogRow) -> str:
    return f"{row.seq:>5} {row.time} {row.who:<4} {row.kind:<8} {row.subject:<26} {row.typed:<12} {row.now}"


def _entry_rows(state: State, lines: Sequence[LogLine], chosen: Chosen) -> Iterator[LogRow]:
    fitting = (line for line in lines if chosen.takes(line.entry.at, line.entry.offset, line.entry.by))
    return (log_row(state, line) for line in fitting)


@dataclass(frozen=True, kw_only=True, slots=True)
class SignOptions(Recording):
    area: str = named("AREA")
    stage: str = named("STAGE")
    accept: Sequence[str] = option(
        "--accept",
        default=(),
        metavar="POINT,...",
        action="extend",
        nargs="+",
        help=_("points that are out or not read; {again}", again=AGAIN),
    )
    accept_open: bool = flag(
        "--accept-open",
        _("also accept stages below not read or out, and checks that are OUT or NOT CHECKED"),
    )
    remark: str = option("--remark", metavar="TEXT", default="")


@on_session(SignOptions)
def sign(session: Session, options: SignOptions) -> Reply:
    """Signs a stage off; points that are out or unread are accepted by name, all else that is open in one go."""
    accept, state = point_names(session, options.accept), session.state
    area = state.plan.areas.get(options.area)
    known = area is not None and options.stage in area.stages
    asked = questions(state, options.area, options.stage) if options.accept_open and known else ()
    action = actions.sign_off(state, options.area, options.stage, accept, options.remark, asked=asked)
    fact = session.record(action).fact
    assert isinstance(fact, SignedOff)
    share_what_is_finished(session)
    more = _("; accepted though out: {accepted}", accepted=", ".join(fact.accepted)) if fact.accepted else ""
    unread = _("; not read: {unread}", unread=", ".join(fact.unread)) if fact.unread else ""
    lines = [
        _(
            "{area}, {stage}: signed off by {by}{more}{unread}.",
            area=fact.area,
            stage=fact.stage,
            by=session.by,
            more=more,
            unread=unread,
        )
    ]
    return Reply(
        dataclasses.asdict(fact), [*lines, *(_("  accepted: {point}", point=translated(each)) for each in fact.asked)]
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class DayOptions(Recording):
    weather: str = named("WEATHER")
    crew: str = named("CREW")


@on_session(DayOptions)
def day(session: Session, options: DayOptions) -> Reply:
    """Says what the weather was and who was there."""
    session.record(actions.describe_day(options.weather, options.crew))
    says = _("Noted for the daily report: {weather}; {crew}.", weather=options.weather, crew=options.crew)
    return Reply({"weather": options.weather, "crew": options.crew}, [says])


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportOptions(OnJob):
    day: str | None = option("--day", metavar=DAY, help=_("the last day with entries if left out"))
    all: bool = flag("--all", _("the report of the whole job: all its days"))
    output: Path | None = output_option(
        "FILE", _("ends in .pdf, .html, .csv, .json or .txt; else ten lines are printed")
    )
    paper: Paper | None = option("--paper", choices=("letter", "a4"), help=_("paper of the PDF; letter if left out"))


@on_session(ReportOptions)
def report(session: Session, options: ReportOptions) -> Reply:
    """Writes the daily report as the ending of FILE says; without one, says the day in ten lines."""
    # What draws and exports is as much again as all that the other verbs of the evening load.
    from gradecheck.files.exports import report_of, write_daily_report
    from gradecheck.report.day_export import day_json, message

    if options.paper is not None and (options.output is None or options.output.suffix.casefold() != ".pdf"):
        raise Refusal(_("--paper goes with a daily report on paper: -o FILE.pdf."))
    if options.all and options.day is not None:
        raise Refusal(_("--all means all days; leave out --day."))
    report = report_of(session, day_named(options.day), whole=options.all)
    if options.output is None:
        return Reply(lambda: day_json(report), text=with_true_minus(message(report)))
    written = write_daily_report(session, options.output, paper=options.paper or "letter", report=report)
    share_what_is_finished(session)
    trace = report.trace
    answer = {
        "day": report.day,
        "files": [str(path) for path in written],
        "entries": trace.entries,
        "last": trace.journal_last,
        "hash": trace.journal_hash,
        "hash to read out": trace.journal_hash_short,
    }
    return Reply(answer, [_("{day}: written to {path}.", day=report.day, path=path) for path in written], saved=True)
