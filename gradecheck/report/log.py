"""One log entry as the texts people see: what was done, how it was judged then, and how it is judged now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from gradecheck.catalogue import _, check_word, placed, plural, stage_word, stored, translated
from gradecheck.checks.verdict import Verdict
from gradecheck.journal.facts import (
    BacksightTaken,
    CautionsRead,
    DatumChosen,
    DayDescribed,
    DoubtAnswered,
    Entry,
    Fact,
    Gauged,
    InstrumentMoved,
    InstrumentTested,
    MarkGiven,
    MarkMade,
    Note,
    PlanRevised,
    PointAdded,
    Reading,
    Rechecked,
    Rehearsed,
    SetupMade,
    SignedOff,
    Taped,
    TargetChanged,
    ToleranceChanged,
    Void,
)
from gradecheck.journal.stamps import day_of, on_site, taken_at
from gradecheck.journal.store import LogLine
from gradecheck.measure.judged import at_a_mark
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import offset_words, show, show_exact
from gradecheck.measure.quantities import Length
from gradecheck.measure.typed import Tolerance
from gradecheck.measure.verdict_words import Word
from gradecheck.report.plan_changes import amendment_line
from gradecheck.report.rows import headline
from gradecheck.report.spreadsheet import csv_of
from gradecheck.state.state import State, Surface, shot_of

IN_DOUBT = _("in doubt: ")
"""Before what a reading in doubt comes out at now."""


@dataclass(frozen=True, slots=True)
class LogRow:
    """An entry in the log; `note` says what became of it.

    `about` is the number of the entry that it strikes or stands in for, `replaced_by` the id of the one that did so
    to it. `clock` is what the machine's clock showed where that could not be believed. Of several laptops, `laptop`
    is what the one that wrote it is called, and `behind` says whose clock its own was far behind.
    """

    id: str
    seq: int
    day: str
    time: str
    offset: str
    """How far the clock on site was from UTC, as ``-05:00``."""
    by: str
    kind: str
    subject: str
    typed: str
    then: str
    now: str
    note: str
    struck: bool
    about: int | None = None
    replaced_by: str | None = None
    clock: str = ""
    laptop: str = ""
    behind: str = ""
    late: bool = False
    """Whether it is a reading that was entered later than it was taken."""

    @property
    def who(self) -> str:
        """Who recorded it, and on which laptop where there are several."""
        return f"{self.by}, {self.laptop}" if self.laptop else self.by

    @property
    def done(self) -> str:
        """The kind in a word for people; a reading from paper is marked here, where nothing is cut."""
        return _("read late") if self.late else _DONE.get(self.kind, self.kind)

    def is_place(self, seq: int) -> bool:
        """Whether it stands at that place of the log, first or corrected since."""
        return seq == (self.seq if self.about is None else self.about)

    @property
    def subject_line(self) -> str:
        """What was done, with the number of the entry it was done to."""
        clocks = [text for text in (CLOCK_UNKNOWN if self.clock else "", self.behind) if text]
        marked = f" ({'; '.join(clocks)})" if clocks else ""
        if self.about is None:
            return f"{self.subject}{marked}"
        if self.kind == "void":
            return _(
                "no. {about}: {subject}{marked}",
                about=self.about,
                subject=self.subject.removeprefix(_STRIKES),
                marked=marked,
            )
        return _("corrects {about}: {subject}{marked}", about=self.about, subject=self.subject, marked=marked)


_DONE = {
    "plan": placed("entry", "plan"),
    "cautions": placed("entry", "cautions"),
    "moved": placed("entry", "moved"),
    "backsight": placed("entry", "backsight"),
    "set-up": _("setup"),
    "void": _("struck"),
    "mark": _("mark"),
    "mark given": _("mark"),
    "recheck": placed("entry", "recheck"),
    "doubt": placed("entry", "doubt"),
    "datum": placed("entry", "datum"),
    "test": placed("entry", "test"),
    "reading": placed("entry", "reading"),
    "point added": _("point"),
    "target": placed("entry", "target"),
    "tolerance": placed("entry", "tolerance"),
    "taped": placed("entry", "taped"),
    "gauged": placed("entry", "gauged"),
    "signed off": _("signed"),
    "day": placed("entry", "day"),
    "rehearsal": placed("entry", "rehearsal"),
    "note": _("note"),
}
_STRIKES = _("strikes: ")
FAILED = _("FAILED")
_NOTES = (
    stored("no. {seq} corrected: {reason}"),
    stored("hold point {hold} gone past, not signed: {reason}"),
    stored("undercut {deep} {where} ordered by {who}: {reason}"),
    stored("working offset off"),
    stored("working offset {said} the target, until it is taken off"),
)
"""What the program itself notes; other notes are what somebody typed."""
_REASONS = (stored("a new setup was begun"), stored("the laser was not moved"))
"""The reasons that the program gives itself."""
CLOCK_UNKNOWN = _("clock unknown")
BRIEF = 60
"""Characters of what was entered, where an entry is told in passing."""


def became(row: LogRow, rows: Sequence[LogRow]) -> str:
    """Which of the rows struck or corrected that one; empty for one that counts."""
    later = next((each for each in rows if each.id == row.replaced_by), None)
    if later is None:
        return _("struck") if row.struck else ""
    return _("struck: no. {seq}", seq=later.seq) if later.kind == "void" else _("now no. {seq}", seq=later.seq)


def in_full(row: LogRow, rows: Sequence[LogRow]) -> str:
    """All that a row says, in one line."""
    now = _("now {now}", now=row.now) if row.now not in ("", row.then) else ""
    clock = _("the clock showed {clock}", clock=row.clock) if row.clock else ""
    said = (f"{row.seq} {row.done} {row.subject_line}".rstrip(), row.typed, row.then, now, became(row, rows), clock)
    return ", ".join(part for part in said if part)


def names_in(fact: Fact) -> tuple[str, ...]:
    """The points and marks that a fact is about, as it names them."""
    match fact:
        case Reading() | PointAdded() | TargetChanged():
            return (fact.point,)
        case Rechecked() | MarkMade() | MarkGiven():
            return (fact.mark,)
        case BacksightTaken():
            return (fact.sight.mark,)
        case SetupMade():
            return tuple(sight.mark for sight in fact.backsights)
        case _:
            return ()


def set_up_of(state: State, row: LogRow, rows: Sequence[LogRow]) -> LogRow | None:
    """The row of the setup that a backsight went into, as it counts now; None where there is none on it."""
    setup = state.setup_with(row.about or row.seq)
    return next((each for each in rows if setup and each.is_place(setup.seq) and not each.struck), None)


def _offset(minutes: int) -> str:
    hours, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hours:02}:{rest:02}"


def log_row(state: State, line: LogLine) -> LogRow:
    """One entry for the log."""
    entry = line.entry
    local = on_site(entry.at, entry.offset)
    subject, then, now = _then_and_now(state, entry, line.first or entry)
    struck = line.replaced_by is not None
    clock = (
        _("{clock_unknown}: it showed {clock}", clock_unknown=CLOCK_UNKNOWN, clock=entry.clock) if entry.clock else ""
    )
    laptop, behind = _of_laptop(state, entry)
    return LogRow(
        id=entry.id,
        seq=entry.seq,
        day=day_of(entry.at, entry.offset),
        time=local.strftime("%H:%M"),
        offset=_offset(entry.offset),
        by=entry.by,
        kind=entry.kind,
        subject=subject,
        typed=_figures(state, entry),
        then=then,
        now="" if struck else now,
        note="; ".join(filter(None, (_("struck or replaced") if struck else "", clock, behind))),
        struck=struck,
        about=line.first.seq if line.first else None,
        replaced_by=line.replaced_by,
        clock=entry.clock,
        laptop=laptop,
        behind=behind,
        late=isinstance(entry.fact, Reading) and entry.fact.late is not None,
    )


def _of_laptop(state: State, entry: Entry) -> tuple[str, str]:
    """What the laptop of an entry is called, and whose clock its own was far behind; empty in a job of one."""
    if state.laptops is None:
        return "", ""
    from gradecheck.report.joining import clock_behind  # few jobs have several laptops

    return state.laptops.called(entry.seq), clock_behind(state.laptops, entry.seq)


def briefly(entry: Entry) -> str:
    """What an entry is without the plan it belongs to: ``reading P4 base, 51 3/8, RK, 2026-05-12 13:20``."""
    local = on_site(entry.at, entry.offset)
    return f"{_what(entry)}, {entry.by}, {local:%Y-%m-%d %H:%M:%S}"


def undo_line(undo: Entry, first: Entry, last: Entry) -> str:
    """What an undo did to the place in the log that `first` began and in which `last` counted until then."""
    if isinstance(undo.fact, Void):
        return _("Undone: no. {seq} is struck ({what}); it stays in the log.", seq=first.seq, what=_what(last))
    return _("Undone: no. {seq} counts as before ({what}).", seq=first.seq, what=_what(undo))


def _what(entry: Entry) -> str:
    about = _about(entry)
    done = f"{_DONE.get(entry.kind, entry.kind)} {_cut(about)}".rstrip()
    return ", ".join(part for part in (done, "" if entry.typed == about else _cut(entry.typed)) if part)


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= BRIEF else f"{text[:BRIEF].rstrip()}…"


def _about(entry: Entry) -> str:
    match entry.fact:
        case Reading() as fact:
            return f"{fact.point} {stage_word(fact.stage)}"
        case BacksightTaken() as fact:
            return _("on {mark}", mark=fact.sight.mark)
        case SetupMade() as fact:
            return _("on {marks}", marks=", ".join(sight.mark for sight in fact.backsights))
        case Rechecked() | MarkMade() | MarkGiven() as fact:
            return fact.mark
        case PointAdded() | TargetChanged() as fact:
            return fact.point
        case ToleranceChanged() | SignedOff() as fact:
            return f"{fact.area} {stage_word(fact.stage)}"
        case Note() as fact:
            return translated(fact.text, *_NOTES)
        case Void() as fact:
            return translated(fact.why, *_REASONS)
        case _:
            return ""


def _figures(state: State, entry: Entry) -> str:
    """The rod readings of an entry as they were entered; of a setup where some were not, as they are."""
    match entry.fact:
        case SetupMade() as fact if not entry.typed or (entry.replaces and len(fact.backsights) > 1):
            units = state.plan.rods.get(fact.rod, state.plan.rod).notation.units
            return " ".join(f"{sight.mark}={show_exact(sight.rod, units)}" for sight in fact.backsights)
        case Reading() | BacksightTaken() | SetupMade() | Rechecked() | MarkMade():
            return entry.typed
        case _:
            return ""


def _then_and_now(state: State, entry: Entry, first: Entry) -> tuple[str, str, str]:
    """What an entry is about, how it was judged then, and how the same is judged now."""
    notation = state.plan.notation
    match entry.fact:
        case Reading() as fact:
            notes = "; ".join([*([_("questioned")] if fact.question else []), *reading_notes(fact, notation)])
            return (
                f"{fact.point} {stage_word(fact.stage)}{f' ({notes})' if notes else ''}",
                _then(fact, notation),
                _now(state, first, fact),
            )
        case Rechecked() as fact:
            off = show(at_a_mark(fact.off, state.plan.rechecks.allowed, notation), notation, plus=True)
            return _("{mark} off by {off}", mark=fact.mark, off=off), _("OK") if fact.good else FAILED, ""
        case InstrumentTested() as fact:
            return fact.test, {True: _("OK"), False: _("ADJUST"), None: ""}[fact.within], ""
        case MarkGiven() as fact:
            how = _("moved to") if fact.moved else _("corrected to")
            # As all elevations are shown; the zero is named, for the log is read when another may be chosen.
            zero = _(" from {datum}", datum=state.datum) if state.datum else ""
            return f"{fact.mark} {how} {show(state.shown(fact.elevation), notation)}{zero}, {fact.why}", "", ""
        case PointAdded() | TargetChanged() | ToleranceChanged() as fact:
            return amendment_line(fact, notation, state), "", ""
        case _:
            return _subject(entry, notation), "", ""


def reading_notes(fact: Reading, notation: Notation) -> list[str]:
    """What is kept of a reading beside its figure: the offset it was held at, and when a late one was taken."""
    notes = []
    if fact.above is not None:
        notes.append(_("offset {offset}", offset=offset_words(fact.above, notation.units)))
    if fact.late is not None:
        taken = taken_at(fact.late)
        when = f"{on_site(*taken):%Y-%m-%d %H:%M}" if taken is not None else fact.late.at
        notes.append(_("entered later, read {when} by {by}", when=when, by=fact.late.by))
    return notes


def _subject(entry: Entry, notation: Notation) -> str:
    match entry.fact:
        case InstrumentMoved() as fact:
            return translated(fact.why, *_REASONS)
        case BacksightTaken() as fact:
            return _("on {mark}, {rod}", mark=fact.sight.mark, rod=fact.rod)
        case SetupMade() as fact:
            why = _(" (used though its marks disagree: {why})", why=fact.why) if fact.why else ""
            return _(
                "on {marks}, {rod}{why}",
                marks=", ".join(sight.mark for sight in fact.backsights),
                rod=fact.rod,
                why=why,
            )
        case MarkMade() as fact:
            return f"{fact.mark} {fact.what}".rstrip()
        case DoubtAnswered() as fact:
            return plural(
                len(fact.readings), "{n} reading trusted: {why}", "{n} readings trusted: {why}", why=fact.why
            )
        case DatumChosen() as fact:
            return _("shown from {datum}", datum=fact.datum or _("the job zero"))
        case Taped() as fact:
            off = show(fact.length - fact.wanted, notation, plus=True)
            return _(
                "{start} to {end} off by {off}, {layout}", start=fact.start, end=fact.end, off=off, layout=fact.layout
            )  # a narrow window cuts words, no figure
        case Gauged() as fact:
            return f"{check_word(fact.kind)} {show(fact.length, notation, unit=True)} {fact.where}".rstrip()
        case SignedOff() as fact:
            return f"{fact.area} {stage_word(fact.stage)}{_with_exceptions(fact)}"
        case DayDescribed() as fact:
            return f"{fact.weather}; {fact.crew}"
        case Rehearsed() as fact:
            return _("REHEARSAL, made up from seed {seed}", seed=fact.seed)
        case Void() as fact:
            return f"{_STRIKES}{translated(fact.why, *_REASONS)}"
        case Note() as fact:
            return translated(fact.text, *_NOTES)
        case CautionsRead() as fact:
            return plural(len(fact.cautions), "{n} caution read", "{n} cautions read")
        case PlanRevised() as fact:
            return _("plan {digest} accepted", digest=fact.digest[:8])
        case _:
            return ""


def _with_exceptions(fact: SignedOff) -> str:
    parts = []
    if fact.accepted:
        parts.append(_("accepted though out: {accepted}", accepted=", ".join(fact.accepted)))
    if fact.unread:
        parts.append(_("not read: {unread}", unread=", ".join(fact.unread)))
    parts += map(translated, fact.asked)
    return f" ({'; '.join(parts)})" if parts else ""


def _then(fact: Reading, notation: Notation) -> str:
    judged = fact.judged
    tolerance = Tolerance(judged.high, judged.low)
    return headline(Verdict(judged.word, judged.found.above(judged.wanted), tolerance), notation)


def _now(state: State, first: Entry, fact: Reading) -> str:
    # A corrected reading stands in the place of the first, and is doubted or trusted there.
    surface = Surface(fact.area, fact.point, fact.stage)
    shot = shot_of(first, fact, first.by)
    verdict = state.judge(shot, surface)
    if verdict is None:
        return state.why_not_judged(shot, surface)
    doubt = IN_DOUBT if state.in_doubt(shot) else ""
    return f"{doubt}{headline(verdict, state.plan.notation)}"


# -- the log for other programs

COLUMNS = ("seq", "day", "time", "offset", "by", "kind", "subject", "typed", "then", "now", "note")


def log_csv(rows: Iterable[LogRow]) -> str:
    """The rows as CSV text with a heading line."""
    return csv_of(COLUMNS, ([getattr(row, column) for column in COLUMNS] for row in rows))


def log_lengths(fact: Fact) -> Iterator[tuple[str, Length]]:
    """Every length that an entry holds, by what it is; elevations from the job's own zero, those of then."""
    match fact:
        case Reading():
            yield "rod", fact.rod
            yield "found", fact.judged.found.height
            if fact.judged.word is not Word.EXAMPLE:  # nobody should build from the target of an example
                yield "target", fact.judged.wanted.height
                yield "off", fact.judged.found.above(fact.judged.wanted)
            yield from (("high", fact.judged.high), ("low", fact.judged.low))
            if fact.above is not None:
                yield "above", fact.above
        case SetupMade():
            yield from ((f"rod on {sight.mark}", sight.rod) for sight in fact.backsights)
        case BacksightTaken():
            yield f"rod on {fact.sight.mark}", fact.sight.rod
        case Rechecked():
            yield from (("rod", fact.rod), ("off", fact.off))
        case MarkMade():
            yield "rod", fact.rod
        case MarkGiven():
            yield "elevation", fact.elevation.height
        case PointAdded() | TargetChanged():
            yield "finish", fact.finish.height
        case ToleranceChanged():
            yield from (("high", fact.high), ("low", fact.low))
        case Taped():
            yield from (("length", fact.length), ("wanted", fact.wanted))
        case Gauged():
            yield "length", fact.length
        case Note(undercut=undercut) if undercut is not None:
            yield "depth", undercut.depth
        case Note(above=above) if above is not None:
            yield "above", above
