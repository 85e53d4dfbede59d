"""The instrument's day for the daily report: setups with their marks and how they agree, rechecks, circuits."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.journal.facts import InstrumentTested, MarkGiven, MarkMade, Reading, Rechecked, SetupMade
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Slope, feet, metres
from gradecheck.plan.model import Instrument
from gradecheck.report.circuits import closing_lines
from gradecheck.report.day_book import DayBook, Noted, PrintedLength
from gradecheck.report.instrument import (
    AgreementRow,
    agreement_line,
    agreement_rows,
    chain_line,
    set_up_line,
    setup_disagrees,
    shown_off,
)
from gradecheck.report.log import FAILED, log_row
from gradecheck.report.rows import about
from gradecheck.state.state import State
from gradecheck.survey.circuit import SharedBy, closings
from gradecheck.survey.doubt import JudgedRecheck
from gradecheck.survey.instrument_tests import arc_seconds
from gradecheck.survey.level_book import Recheck, RecordedSetup


@dataclass(frozen=True, slots=True)
class SetupOfDay:
    """One setup: the marks it is on, the elevation it gives, how its marks agree, how many readings leaned on it."""

    seq: int
    when: str
    by: str
    stands: str
    marks: tuple[AgreementRow, ...]
    agreement: str
    readings: int
    disturbed: str
    why: str
    """The reason given for using it though its marks disagreed."""


@dataclass(frozen=True, slots=True)
class ShownRecheck:
    """Another look at a mark: what it was off by then and is now, and how that was and is judged."""

    seq: int
    time: str
    by: str
    setup: int
    mark: str
    rod: PrintedLength
    off: PrintedLength
    then: str
    now: str


@dataclass(frozen=True, slots=True)
class InstrumentOfDay:
    """What the instrument is good for, what it read on, where it was, and how well that closes."""

    good_for: str
    rods: tuple[str, ...]
    tests: tuple[Noted, ...]
    set_ups: tuple[SetupOfDay, ...]
    disagrees: str
    """That the setup of the day disagrees, by how much and why it is used, until another replaces it."""
    rechecks: tuple[ShownRecheck, ...]
    marks: tuple[Noted, ...]
    circuits: tuple[str, ...]


def instrument_of_day(book: DayBook) -> InstrumentOfDay:
    """The instrument's day: setups made then or read from then, and all circuits of the job so far."""
    state = book.state
    counts: dict[str, int] = {}
    for line in book.counting(Reading):
        if isinstance(line.entry.fact, Reading):
            counts[line.entry.fact.setup] = counts.get(line.entry.fact.setup, 0) + 1
    made = {(line.first or line.entry).id for line in book.counting(SetupMade)}
    used = [setup for setup in state.book.setups() if setup.id in made or counts.get(setup.id)]
    plan, newest = state.plan, state.newest_setup
    rods = dict.fromkeys(setup.rod for setup in used)
    return InstrumentOfDay(
        good_for=_good_for(plan.instrument, state) if plan.instrument else _("the plan does not say"),
        rods=tuple(_rod(state, name) for name in rods),
        tests=tuple(_test(book, each) for each in book.noted(InstrumentTested)),
        set_ups=tuple(_set_up(book, setup.id, counts.get(setup.id, 0)) for setup in used),
        disagrees=setup_disagrees(state, newest) if newest and newest.id in {each.id for each in used} else "",
        rechecks=_rechecks(book),
        marks=(*_marks(book), *book.noted(MarkGiven)),
        circuits=tuple(_circuits(state)),
    )


def _good_for(instrument: Instrument, state: State) -> str:
    units = state.plan.notation.units
    parts = [_("beam within {seconds}", seconds=_seconds(instrument.beam, units))]
    if instrument.receiver:
        parts.append(_("receiver within {length}", length=show_exact(instrument.receiver, units, unit=True)))
    far = Units.FT if units.imperial else Units.M  # as people speak of distances
    parts.append(_("longest shot {length}", length=show_exact(instrument.longest_shot, far, unit=True)))
    if instrument.adjust_beyond is not None:
        parts.append(_("adjusted beyond {seconds}", seconds=_seconds(instrument.adjust_beyond, units)))
    return ", ".join(parts)


def _seconds(slope: Slope, units: Units) -> str:
    """``10 seconds (1/16 in in 100 ft)``: an angle, and what it makes over a usual distance."""
    run, far = (feet(100), "100 ft") if units.imperial else (metres(30), "30 m")
    return _(
        "{arc_seconds:.3g} seconds ({about} in {far})",
        arc_seconds=arc_seconds(slope),
        about=about(slope.over(run), units),
        far=far,
    )


def _rod(state: State, name: str) -> str:
    rod = state.plan.rods.get(name)
    if rod is None:
        return _("{name} (not in the plan now)", name=name)
    marks = show_exact(rod.notation.graduation, rod.notation.units, unit=True)
    figures = _("readings run with the ground") if rod.kind == "direct" else _("readings grow upward")
    return _("{name} ({figures}, marks every {marks})", name=name, figures=figures, marks=marks)


def _test(book: DayBook, noted: Noted) -> Noted:
    line = book.line(noted.seq)
    fact = line.entry.fact
    if not isinstance(fact, InstrumentTested) or not book.is_of(line.entry):
        return noted
    error = _seconds(fact.slope_error, book.state.plan.notation.units)
    what = _("{what}: {figures}; slope error {error}", what=noted.what, figures=" ".join(fact.figures), error=error)
    return Noted(noted.seq, noted.when, noted.by, noted.kind, what)


def _set_up(book: DayBook, setup: str, readings: int) -> SetupOfDay:
    state = book.state
    recorded, at = state.setups[setup], state.book.recorded(setup)
    assert at is not None
    noted, failed = book.as_noted(book.line(book.current_number(setup))), state.doubt.failed(setup)
    disturbed = _("FOUND DISTURBED by the recheck no. {seq}", seq=book.current_number(failed.id)) if failed else ""
    return SetupOfDay(
        seq=noted.seq,
        when=noted.when,
        by=noted.by,
        stands=set_up_line(state, recorded),
        marks=tuple(agreement_rows(state, at)),
        agreement=agreement_line(state, at),
        readings=readings,
        disturbed="; ".join(filter(None, (disturbed, _given_otherwise(state, at)))),
        why=recorded.fact.why,
    )


def _given_otherwise(state: State, setup: RecordedSetup) -> str:
    """That a setup is in doubt for a mark that two laptops gave otherwise; empty where it is not."""
    marks = [mark for mark, _ in setup.sights if state.doubt.given_otherwise(mark, setup.seq)]
    return _("IN DOUBT: two laptops disagree on {marks}", marks=_(" and ").join(marks)) if marks else ""


def _rechecks(book: DayBook) -> tuple[ShownRecheck, ...]:
    found = []
    for line in book.counting(Rechecked):
        fact = line.entry.fact
        assert isinstance(fact, Rechecked)
        first, row = line.first or line.entry, log_row(book.state, line)
        state = book.state
        look = Recheck(first.seq, first.id, fact.setup, fact.mark, fact.rod)
        off, setup = state.doubt.misclosure(look), state.setups.get(fact.setup)
        rod = state.book.rod(setup.fact.rod) if setup else state.plan.rod
        found.append(
            ShownRecheck(
                seq=row.seq,
                time=book.when(row),
                by=row.who,
                setup=book.current_number(setup.id) if setup else 0,
                mark=fact.mark,
                rod=PrintedLength(show_exact(fact.rod, rod.notation.units, unit=True), fact.rod),
                off=PrintedLength(shown_off(off, state.plan.rechecks.allowed, state.plan.notation), off)
                if off is not None
                else PrintedLength(_("not known now")),
                then=row.then,
                now=_now(state.doubt.held(look)),
            )
        )
    return tuple(found)


def _now(held: JudgedRecheck | None) -> str:
    if held is None:
        return ""
    return (_("closes") if held.against == "circuit" else _("OK")) if held.good else FAILED


def _marks(book: DayBook) -> tuple[Noted, ...]:
    """The marks made that day, each with the sum its elevation was carried by."""
    found = []
    for line in book.counting(MarkMade):
        fact = line.entry.fact
        assert isinstance(fact, MarkMade)
        noted, then = book.as_noted(line), (line.first or line.entry).seq + 1  # it may have been taken anew since
        sums = chain_line(book.state, fact.mark, then)
        found.append(Noted(noted.seq, noted.when, noted.by, _("mark"), sums, fact.what))
    return tuple(found)


def _circuits(state: State) -> list[str]:
    lines = []
    for closing in closings(state.book):
        try:
            lines += closing_lines(state, closing, state.plan.allowance, SharedBy.SETUPS)
        except ValueError as wrong:  # a rule by distance, where the plan does not say how far marks lie apart
            lines.append(f"{' - '.join(closing.marks)}: {wrong}")
    return lines
