"""What people key in, turned into facts in the light of what is known, or refused with a sentence."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from gradecheck.checks import blunders
from gradecheck.checks.verdict import judge
from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    CautionsRead,
    DatumChosen,
    DoubtAnswered,
    Entry,
    Fact,
    InstrumentMoved,
    InstrumentSet,
    Judged,
    MarkGiven,
    MarkMade,
    Note,
    Reading,
    Rechecked,
    Void,
)
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, Slope
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.plan.model import Rod
from gradecheck.plan.problems import suggestion
from gradecheck.plan.targets import Target
from gradecheck.state import State, Stood, Surface
from gradecheck.survey.level_book import Look
from gradecheck.survey.setup import Place

LONGEST_INITIALS = 8
LONGEST_TEXT = 200
LONGEST_NAME = 24


class Refusal(Exception):
    """What was asked for makes no sense now; the message is one sentence for the person, and nothing changed."""


def initials(typed: str) -> str:
    """Who it is, in capitals."""
    plain = typed.strip().upper()
    if not plain.isalnum() or not plain[0].isalpha() or len(plain) > LONGEST_INITIALS:
        raise Refusal(f"Initials are one to {LONGEST_INITIALS} letters, for example RK.")
    return plain


def cautions_read(cautions: Sequence[str]) -> CautionsRead:
    """These cautions were read."""
    return CautionsRead(tuple(cautions))


# -- the instrument


def moved(state: State, why: str) -> InstrumentMoved:
    """The instrument no longer stands where it stood."""
    newest = state.newest_setup
    if newest is None or state.moved_since(newest.seq):
        raise Refusal("No set-up stands; there is nothing to move.")
    return InstrumentMoved(_said(why, "Say in a few words why it was moved."))


def backsight_taken(state: State, mark: str, typed: str, rod: str | None) -> BacksightTaken:
    """While setting up, the rod (the first of the plan where none is named) reads that on the mark."""
    chosen = _rod(state, rod)
    return BacksightTaken(chosen.name, _backsight(state, mark, typed, chosen))


def instrument_set(
    state: State,
    sights: Sequence[tuple[str, str]],
    rod: str | None,
    slopes: tuple[Slope, Slope] | None = None,
    place: Place | None = None,
) -> InstrumentSet:
    """The instrument stands, and the rod (the first of the plan where none is named) reads that on the marks."""
    chosen = _rod(state, rod)
    return _set(state, chosen, [_backsight(state, mark, typed, chosen) for mark, typed in sights], slopes, place)


def instrument_set_on(
    state: State,
    sights: Sequence[BacksightTaken],
    slopes: tuple[Slope, Slope] | None = None,
    place: Place | None = None,
) -> InstrumentSet:
    """The instrument stands on backsights that were taken one by one."""
    if not sights:
        raise Refusal("Read the rod on at least one mark first.")
    rods = {sight.rod for sight in sights}
    if len(rods) > 1:
        raise Refusal(f"The backsights were read on {' and '.join(sorted(rods))}; take all on one rod.")
    return _set(state, _rod(state, sights[0].rod), [sight.sight for sight in sights], slopes, place)


def _set(
    state: State,
    rod: Rod,
    backsights: Sequence[Backsight],
    slopes: tuple[Slope, Slope] | None,
    place: Place | None,
) -> InstrumentSet:
    names = [sight.mark for sight in backsights]
    if len(set(names)) < len(names):
        raise Refusal("A mark is named twice; give each one reading.")
    if slopes is not None:
        nowhere = [name for name in names if state.book.place(name) is None]
        if nowhere:
            raise Refusal(
                f"A sloped beam needs to know where {', '.join(nowhere)} lies; give it “at: [x, y]” in the plan."
            )
    return InstrumentSet(rod.name, tuple(backsights), slopes, place)


def _backsight(state: State, mark: str, typed: str, rod: Rod) -> Backsight:
    name, elevation = known_mark(state, mark)
    return Backsight(name, _length(typed, rod), elevation)


def known_mark(state: State, typed: str) -> tuple[str, Elevation]:
    """The mark meant, whatever its capitals, and its elevation."""
    marks = state.book.marks()
    name = next((mark for mark in marks if mark.casefold() == typed.strip().casefold()), None)
    if name is None:
        raise Refusal(f"There is no mark “{typed}”; known are {', '.join(marks)}.{suggestion(typed, marks)}")
    elevation = state.mark(name)
    if elevation is None:
        raise Refusal(f"The elevation of {name} is not known: the set-up it was seen from was struck.")
    return name, elevation


def rechecked(state: State, mark: str, typed: str) -> Rechecked:
    """From the set-up that was made last, the rod reads that on a mark."""
    newest = state.newest_setup
    if newest is None or newest.instrument is None or state.moved_since(newest.seq):
        raise Refusal("No set-up stands; set up the instrument on a mark first.")
    name, _ = known_mark(state, mark)
    length = _length(typed, newest.instrument.rod)
    off = state.book.misclosure(Look(1 << 61, "", newest.id, name, length))
    if off is None:
        raise Refusal(f"This set-up's beam is sloped, and the plan does not say where {name} lies.")
    return Rechecked(newest.id, name, length, off, abs(off) <= state.plan.rechecks.allowed)


def mark_made(state: State, name: str, typed: str, what: str = "", at: Place | None = None) -> MarkMade:
    """A spot becomes a mark, seen from the set-up that stands."""
    stood = _stood(state)
    assert stood.instrument is not None
    return MarkMade(new_mark_name(state, name), what, stood.id, _length(typed, stood.instrument.rod), at)


def new_mark_name(state: State, typed: str) -> str:
    """A name for a mark that does not exist yet, or for a turning point to be taken anew."""
    name = typed.strip()
    untied = {datum.mark.casefold(): datum.mark for datum in state.plan.datums.values()}
    if name.casefold() in untied and untied[name.casefold()] not in state.plan.benchmarks:
        return untied[name.casefold()]
    if not name or not name[0].isalpha() or len(name) > LONGEST_NAME or not name.isprintable():
        raise Refusal(f"“{name}” is no name for a mark; it begins with a letter and has {LONGEST_NAME} at most.")
    if name.casefold() in state.plan.names:
        raise Refusal(f"“{name}” is a point or benchmark of the plan already; give the mark a name of its own.")
    return name


def point_made_mark(state: State, surface: Surface) -> MarkMade:
    """A point that was read becomes a mark of the same name."""
    shot = state.latest(surface)
    if shot is None:
        raise Refusal(f"{surface.point} was not read at {surface.stage}; only what was read can become a mark.")
    if state.in_doubt(shot):
        raise Refusal(f"The reading at {surface.point} is in doubt; read it again before it carries the zero.")
    return MarkMade(surface.point, surface.stage, shot.setup, shot.rod, state.place(surface), shot.id)


def mark_given(state: State, mark: str, typed: str, *, has_moved: bool, why: str) -> MarkGiven:
    """A mark's elevation was wrong from the start, or it has moved and is this from now on."""
    name, _ = known_mark(state, mark)
    shown = _in_units(typed, state.plan.notation.units)
    zero = state.zero_of(state.datum)
    assert zero is not None
    reason = _said(why, "Say in a few words how you know; the reason stays in the log.")
    return MarkGiven(name, zero + shown, has_moved, reason)


def doubt_answered(state: State, why: str) -> DoubtAnswered:
    """The readings in doubt are trusted all the same, and why."""
    doubtful = [shot.id for _, shot in state.doubts()]
    if not doubtful:
        raise Refusal("No reading is in doubt.")
    return DoubtAnswered(tuple(doubtful), _said(why, "Say in a few words why they may be trusted."))


def datum_chosen(state: State, datum: str | None) -> DatumChosen:
    """Elevations are shown from another zero."""
    if datum is not None and datum not in state.plan.datums:
        known = state.plan.datums
        raise Refusal(
            f"There is no datum “{datum}”; known are {', '.join(known) or 'none'}.{suggestion(datum, known)}"
        )
    if state.zero_of(datum) is None:
        mark = state.plan.datums[datum or ""].mark
        raise Refusal(f"The datum “{datum}” is not tied yet: shoot {mark} as a mark from a set-up that stands.")
    return DatumChosen(datum)


# -- readings


def reading(state: State, surface: Surface, typed: str, question: str = "") -> Reading:
    """The rod at that surface reads what was typed, seen from the set-up that stands."""
    stood = _stood(state)
    assert stood.instrument is not None
    length = _length(typed, stood.instrument.rod)
    return Reading(*surface, stood.id, length, _judged(state, stood.id, length, surface), question)


def question(state: State, surface: Surface, typed: str) -> str | None:
    """What to ask before a figure that looks like a slip is kept, None where it looks like honest work."""
    stood, target = state.setup, state.target(surface)
    if stood is None or stood.instrument is None or target is None:
        return None
    wanted = stood.instrument.grade_rod(target.wanted, state.place(surface))
    if wanted is None:
        return None
    rod = stood.instrument.rod
    length = _length(typed, rod)
    return blunders.question(
        typed, length, wanted, rod.notation, target.tolerance, rod.kind, state.recent(surface.area, surface.stage)
    )


def corrected(state: State, first: Entry, last: Entry, typed: str) -> Fact:
    """The fact that should stand in the place of `first`, where `last` stands now with a rod figure keyed wrong."""
    match last.fact:
        case Reading() as old:
            stood = state.setups.get(old.setup)
            if stood is None or stood.instrument is None:
                raise Refusal(f"The set-up of entry {first.seq} was struck; read {old.point} again.")
            length = _length(typed, stood.instrument.rod)
            judged = _judged(state, old.setup, length, Surface(old.area, old.point, old.stage))
            return dataclasses.replace(old, rod=length, judged=judged)
        case InstrumentSet() as old:
            return dataclasses.replace(old, backsights=_corrected_sights(state, old, typed))
        case MarkMade(reading=None) as old:
            stood = state.setups.get(old.setup)
            rod = stood.instrument.rod if stood and stood.instrument else state.plan.rod
            return dataclasses.replace(old, rod=_length(typed, rod))
        case MarkMade() as old:
            raise Refusal(f"{old.mark} was made from a reading; correct that reading.")
        case _:
            raise Refusal(f"Entry {first.seq} holds no rod figure to correct; strike it and say why.")


def _corrected_sights(state: State, old: InstrumentSet, typed: str) -> tuple[Backsight, ...]:
    name, equals, figure = typed.partition("=")
    if not equals:
        if len(old.backsights) > 1:
            example = f"{old.backsights[0].mark}=48-1/4"
            raise Refusal(f"This set-up has {len(old.backsights)} backsights; say which, like {example}.")
        name, figure = old.backsights[0].mark, typed
    if name.strip().casefold() not in {sight.mark.casefold() for sight in old.backsights}:
        raise Refusal(f"This set-up has no backsight on “{name.strip()}”.")
    length = _length(figure, _rod(state, old.rod))
    return tuple(
        dataclasses.replace(sight, rod=length) if sight.mark.casefold() == name.strip().casefold() else sight
        for sight in old.backsights
    )


def void(why: str) -> Void:
    """An entry no longer counts, and why."""
    return Void(_said(why, "Say in a few words why it is struck; the reason stays in the log."))


def note(text: str, area: str | None) -> Note:
    """Words for the log."""
    return Note(area, _said(text, "Nothing was typed; type the note, then press Enter."))


# -- within


def _said(text: str, otherwise: str) -> str:
    plain = " ".join(text.split())
    if not plain:
        raise Refusal(otherwise)
    if len(plain) > LONGEST_TEXT:
        raise Refusal(f"That is {len(plain)} characters; say it in {LONGEST_TEXT}.")
    return plain


def _stood(state: State) -> Stood:
    """The set-up that may be read from, or why there is none."""
    stood = state.setup
    if stood is not None:
        return stood
    newest = state.newest_setup
    if newest is not None and state.book.failed(newest.id):
        raise Refusal("The set-up was found disturbed; set up again before reading on.")
    if newest is not None and state.moved_since(newest.seq):
        raise Refusal("The instrument was moved; finish the new set-up before reading on.")
    raise Refusal("No set-up stands; set up the instrument on a mark first.")


def _target(state: State, surface: Surface) -> Target:
    target = state.target(surface)
    if target is not None:
        return target
    area = state.plan.areas.get(surface.area)
    if area is not None and state.zero_of(area.datum) is None and area.datum is not None:
        mark = state.plan.datums[area.datum].mark
        raise Refusal(f"The datum “{area.datum}” is not tied yet: shoot {mark} as a mark from a set-up that stands.")
    raise Refusal(f"The plan has no {surface.point} at {surface.stage} in {surface.area}.")


def _judged(state: State, setup: str, length: Length, surface: Surface) -> Judged:
    target = _target(state, surface)
    instrument = state.book.set_up(setup)
    found = instrument.elevation(length, state.place(surface)) if instrument else None
    if found is None:
        raise Refusal(f"The beam is sloped: give {surface.point} its place in the plan, “at: [x, y]”.")
    tolerance = target.tolerance
    word = judge(found, target.wanted, tolerance, state.guard(setup, length, surface)).word
    return Judged(found, target.wanted, tolerance.high, tolerance.low, word)


def _rod(state: State, name: str | None) -> Rod:
    if name is None:
        return state.plan.rod
    if name not in state.plan.rods:
        raise Refusal(f"There is no rod “{name}”; known are {', '.join(state.plan.rods)}.")
    return state.plan.rods[name]


def _length(typed: str, rod: Rod) -> Length:
    return _in_units(typed, rod.notation.units)


def _in_units(typed: str, units: Units) -> Length:
    try:
        return read_length(typed, units)
    except NotUnderstoodError as wrong:
        raise Refusal(str(wrong)) from wrong
