"""The daily report: one day on site for owner, office and inspector, each number with its entry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from gradecheck import __version__
from gradecheck.catalogue import _
from gradecheck.journal.facts import (
    CautionsRead,
    DayDescribed,
    DoubtAnswered,
    Note,
    PlanRevised,
    PointAdded,
    Rehearsed,
    SignedOff,
    Taped,
    TargetChanged,
    ToleranceChanged,
)
from gradecheck.journal.short_hash import grouped_hash
from gradecheck.journal.stamps import day_of
from gradecheck.journal.store import LogLine
from gradecheck.measure.judged import limit_text
from gradecheck.measure.printed import show, show_exact
from gradecheck.report.cautions import cautions_on_paper
from gradecheck.report.checks import CheckResult, dig_results, layout_results
from gradecheck.report.day_book import DayBook, Noted, PrintedLength
from gradecheck.report.day_instrument import InstrumentOfDay, instrument_of_day
from gradecheck.report.day_readings import AreaMap, AreaOfDay, areas_of_day, site_map
from gradecheck.report.review import Chosen, StageRow, laptop_lines, stage_rows, still_open
from gradecheck.report.scene import UNIT_WORDS
from gradecheck.report.stone import stone_text
from gradecheck.state.as_built import OverDugArea, check_layout, over_dug
from gradecheck.state.state import State

WEEKDAYS = (_("Monday"), _("Tuesday"), _("Wednesday"), _("Thursday"), _("Friday"), _("Saturday"), _("Sunday"))
SIGNERS = (_("Foreman"), _("Owner"), _("Office"), _("Inspector"))


@dataclass(frozen=True, slots=True)
class TapedLength:
    """One taped length of a layout check; `seq` is its entry."""

    seq: int
    between: str
    target: PrintedLength
    taped: PrintedLength
    off: PrintedLength


@dataclass(frozen=True, slots=True)
class LayoutOfDay:
    """A layout check taped that day, or never: the tapes that count, and what they say."""

    name: str
    tapes: tuple[TapedLength, ...]
    checks: tuple[CheckResult, ...]


@dataclass(frozen=True, slots=True)
class SignOff:
    """A stage signed off, with what was accepted although out, what nobody read, and what else was asked."""

    seq: int
    when: str
    by: str
    area: str
    stage: str
    accepted: tuple[str, ...]
    unread: tuple[str, ...]
    remark: str
    asked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LimitUsed:
    """A limit that something on the report was held to, and who sets it."""

    what: str
    limit: str
    source: str


@dataclass(frozen=True, slots=True)
class Trace:
    """What the report can be traced by: entries of the day, the journal's end, the plan, the program."""

    first: int
    last: int
    entries: int
    journal_last: int
    journal_hash: str
    journal_hash_short: str
    plan: str
    version: str


@dataclass(frozen=True)
class DailyReport:
    """Everything on the report, in the strings that screens show; what there is nothing of is empty."""

    job: str
    title: str
    day: str
    """Of the whole job its first and last."""
    weekday: str
    unit: str
    lengths: str
    rehearsal: str
    described: tuple[Noted, ...]
    people: tuple[str, ...]
    zero: str
    instrument: InstrumentOfDay
    summary: tuple[StageRow, ...]
    map: AreaMap | None
    """The whole site as it was found, each area at the topmost stage read."""
    is_whole: bool
    """Whether it is of all days of the job."""
    is_last: bool
    """Whether it is the last day with entries; what is open is told of that day alone."""
    open: tuple[str, ...]
    laptops: tuple[str, ...]
    """Of several laptops how far their lasers agree, and whose clocks differ; nothing of one."""
    areas: tuple[AreaOfDay, ...]
    layouts: tuple[LayoutOfDay, ...]
    over_dig: tuple[tuple[str, CheckResult], ...]
    over_dig_total: str
    struck: tuple[Noted, ...]
    trusted: tuple[Noted, ...]
    changes: tuple[Noted, ...]
    signed: tuple[SignOff, ...]
    notes: tuple[Noted, ...]
    limits: tuple[LimitUsed, ...]
    cautions: tuple[str, ...]
    cautions_read: tuple[Noted, ...]
    signers: tuple[str, ...]
    trace: Trace


def days_of(lines: Sequence[LogLine]) -> list[date]:
    """The days with entries by the clock on site, that of the last entry last."""
    days = dict.fromkeys(day_of(line.entry.at, line.entry.offset) for line in reversed(lines))
    return [date.fromisoformat(day) for day in reversed(days)]


def daily_report(state: State, lines: Sequence[LogLine], day: date | None) -> DailyReport:
    """The report of that day; `lines` are all of the journal, in order. What is judged now is judged by `state`.

    Without a day it is the report of the whole job.
    """
    book = DayBook(state, lines, day)
    dug = {name: found for name in state.plan.areas if (found := over_dug(state, name)) is not None}
    areas, layouts = areas_of_day(book, dug), tuple(_layouts(book))
    last = lines and book.is_of(lines[-1].entry)
    return DailyReport(
        job=state.plan.job,
        title=_("Daily report") if day is not None else _("Report of the whole job"),
        day=book.day or _whole(days_of(lines)),
        weekday=WEEKDAYS[day.weekday()] if day is not None else "",
        unit=state.plan.notation.units.value,
        lengths=UNIT_WORDS[state.plan.notation.units],
        rehearsal=_rehearsal(book),
        described=_described(book),
        people=book.people(),
        zero=_zero(state),
        instrument=instrument_of_day(book),
        summary=tuple(stage_rows(state, lines, Chosen(book.day))),
        map=site_map(state),
        is_whole=day is None,
        is_last=bool(last),
        open=tuple(still_open(state)) if last else (),
        laptops=tuple(laptop_lines(state, book.day)),
        areas=areas,
        layouts=layouts,
        over_dig=tuple(
            (found.area, result) for found in dug.values() for result in dig_results(found, state.plan.notation)
        ),
        over_dig_total=_total(state, list(dug.values())),
        struck=book.struck_or_corrected(),
        trusted=book.noted(DoubtAnswered),
        changes=book.noted((PlanRevised, PointAdded, TargetChanged, ToleranceChanged)),
        signed=tuple(_signed(book)),
        notes=book.noted(Note),
        limits=tuple(_limits(state, areas, layouts)),
        cautions=cautions_on_paper(state.plan),
        cautions_read=book.noted(CautionsRead),
        signers=SIGNERS,
        trace=_trace(book),
    )


def _whole(days: Sequence[date]) -> str:
    """The days of a job in words."""
    first, last = min(days, default=""), max(days, default="")
    return f"{last}" if first == last else _("{first} to {last}", first=first, last=last)


def _rehearsal(book: DayBook) -> str:
    if not book.state.record.rehearsal:
        return ""
    said = (book.as_noted(line).what for line in book.lines if isinstance(line.entry.fact, Rehearsed))
    return next(said, "REHEARSAL")


def _described(book: DayBook) -> tuple[Noted, ...]:
    """The weather and the crew of the day, each time they were told."""
    found = []
    for line in book.counting(DayDescribed):
        fact, noted = line.entry.fact, book.as_noted(line)
        assert isinstance(fact, DayDescribed)
        found.append(Noted(noted.seq, noted.when, noted.by, "day", fact.weather, fact.crew))
    return tuple(found)


def _zero(state: State) -> str:
    """What elevations on the report count from."""
    datum = state.plan.datums.get(state.datum) if state.datum else None
    if datum is not None:
        reads = show_exact(datum.reads.height, state.plan.notation.units, unit=True)
        return _("from the datum {name}, where {mark} reads {reads}", name=datum.name, mark=datum.mark, reads=reads)
    heights = {
        mark.name: show_exact(mark.elevation.height, state.plan.notation.units, unit=True)
        for mark in state.plan.benchmarks.values()
    }
    marks = ", ".join(_("{name} is {height}", name=name, height=height) for name, height in heights.items())
    return _("from the job's zero: {marks}", marks=marks)


def _layouts(book: DayBook) -> Iterator[LayoutOfDay]:
    state = book.state
    notation = state.plan.notation
    taped_today = {line.entry.fact.layout for line in book.counting(Taped) if isinstance(line.entry.fact, Taped)}
    for layout in state.plan.layout.values():
        taped = state.record.taped(layout.name)
        if not taped and book.of_day and state.shots:
            yield LayoutOfDay(
                layout.name, (), tuple(layout_results(layout.name, check_layout(state, layout), notation))
            )
        elif layout.name in taped_today:
            tapes = tuple(
                TapedLength(
                    book.current_number(kept.id),
                    _("{start} to {end}", start=kept.fact.start, end=kept.fact.end),
                    PrintedLength(show_exact(kept.fact.wanted, notation.units, unit=True), kept.fact.wanted),
                    PrintedLength(show_exact(kept.fact.length, notation.units, unit=True), kept.fact.length),
                    PrintedLength(show(off := kept.fact.length - kept.fact.wanted, notation, plus=True), off),
                )
                for kept in taped.values()
            )
            yield LayoutOfDay(
                layout.name, tapes, tuple(layout_results(layout.name, check_layout(state, layout), notation))
            )


def _total(state: State, dug: Sequence[OverDugArea]) -> str:
    """The stone that fills what was over-dug in all areas, empty where no volume is known."""
    stones = [found.stone for found in dug if found.stone is not None]
    if not stones:
        return ""
    prices = [stone.money for stone in stones if stone.money is not None]
    money = sum(prices, Fraction(0)) if len(prices) == len(stones) else None
    volume = sum((stone.volume for stone in stones), Fraction(0))
    mass = sum((stone.mass for stone in stones), Fraction(0))
    return stone_text(volume, mass, money, state.plan.notation.units)


def _signed(book: DayBook) -> Iterator[SignOff]:
    for line in book.counting(SignedOff):
        fact, noted = line.entry.fact, book.as_noted(line)
        assert isinstance(fact, SignedOff)
        exceptions = fact.accepted, fact.unread, fact.remark, fact.asked
        yield SignOff(noted.seq, noted.when, noted.by, fact.area, fact.stage, *exceptions)


def _limits(state: State, areas: Iterable[AreaOfDay], layouts: Iterable[LayoutOfDay]) -> Iterator[LimitUsed]:
    """Every limit that something was held to, once for each source."""
    used: dict[LimitUsed, None] = {}
    for area in areas:
        for stage in area.stages:
            used |= dict.fromkeys(_limits_of(stage.checks))
    for layout in layouts:
        used |= dict.fromkeys(
            LimitUsed("squareness", result.limit, result.source) for result in layout.checks if result.limit
        )
    yield from used
    units, rule = state.plan.notation.units, state.plan.closure
    allowed = limit_text(state.plan.rechecks.allowed, units)
    yield LimitUsed(_("a recheck"), allowed, _("the plan, or common practice, no source, where it says nothing"))
    if rule:
        yield LimitUsed(_("misclosure of a circuit"), rule, _("the plan"))


def _limits_of(checks: Iterable[CheckResult]) -> list[LimitUsed]:
    return [LimitUsed(result.section, result.limit, result.source) for result in checks if result.limit]


def _trace(book: DayBook) -> Trace:
    own, end = [line.entry.seq for line in book.of_day], book.lines[-1].entry if book.lines else None
    return Trace(
        first=own[0] if own else 0,
        last=own[-1] if own else 0,
        entries=len(own),
        journal_last=end.seq if end else 0,
        journal_hash=end.hash if end else "",
        journal_hash_short=grouped_hash(end.hash) if end else "",
        plan=book.state.plan_digest or "",
        version=__version__,
    )
