"""What people key in, turned into facts in the light of what is known, or refused with a sentence."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from gradecheck.checks.verdict import judge
from gradecheck.journal.facts import Backsight, CautionsRead, Entry, Fact, InstrumentSet, Judged, Note, Reading, Void
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.plan.model import Rod
from gradecheck.plan.problems import suggestion
from gradecheck.plan.targets import Target
from gradecheck.state import State, Surface

LONGEST_INITIALS = 8
LONGEST_TEXT = 200


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


def instrument_set(state: State, mark: str, typed: str, rod: str | None) -> InstrumentSet:
    """The instrument stands, and the rod (the first of the plan where none is named) reads that on the mark."""
    name = state.plan.names.get(mark.strip().casefold())
    elevation = state.mark(name) if name else None
    if name is None or elevation is None:
        known = state.plan.benchmarks
        raise Refusal(f"There is no mark “{mark}”; known are {', '.join(known)}.{suggestion(mark, known)}")
    chosen = _rod(state, rod)
    return InstrumentSet(chosen.name, (Backsight(name, _length(typed, chosen), elevation),))


def reading(state: State, surface: Surface, typed: str) -> Reading:
    """The rod at that surface reads what was typed, seen from the set-up that stands."""
    stood = state.setup
    if stood is None or stood.instrument is None:
        raise Refusal("No set-up stands; set up the instrument on a mark first.")
    length = _length(typed, stood.instrument.rod)
    found = stood.instrument.elevation(length)
    return Reading(*surface, stood.id, length, _judged(found, _target(state, surface)))


def corrected(state: State, first: Entry, last: Entry, typed: str) -> Fact:
    """The fact that should stand in the place of `first`, where `last` stands now with a rod figure keyed wrong."""
    match last.fact:
        case Reading() as old:
            stood = state.setups.get(old.setup)
            if stood is None or stood.instrument is None:
                raise Refusal(f"The set-up of entry {first.seq} was struck; read {old.point} again.")
            length = _length(typed, stood.instrument.rod)
            target = _target(state, Surface(old.area, old.point, old.stage))
            judged = _judged(stood.instrument.elevation(length), target)
            return dataclasses.replace(old, rod=length, judged=judged)
        case InstrumentSet() as old:
            (sight,) = old.backsights
            length = _length(typed, _rod(state, old.rod))
            return dataclasses.replace(old, backsights=(dataclasses.replace(sight, rod=length),))
        case _:
            raise Refusal(f"Entry {first.seq} holds no rod figure; strike it and say why.")


def void(why: str) -> Void:
    """An entry no longer counts, and why."""
    plain = " ".join(why.split())
    if not plain:
        raise Refusal("Say in a few words why it is struck; the reason stays in the log.")
    return Void(_short(plain))


def note(text: str, area: str | None) -> Note:
    """Words for the log."""
    plain = " ".join(text.split())
    if not plain:
        raise Refusal("Nothing was typed; type the note, then press Enter.")
    return Note(area, _short(plain))


def _short(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise Refusal(f"That is {len(text)} characters; say it in {LONGEST_TEXT}.")
    return text


def _target(state: State, surface: Surface) -> Target:
    target = state.target(surface)
    if target is None:
        raise Refusal(f"The plan has no {surface.point} at {surface.stage} in {surface.area}.")
    return target


def _judged(found: Elevation, target: Target) -> Judged:
    tolerance = target.tolerance
    word = judge(found, target.wanted, tolerance).word
    return Judged(found, target.wanted, tolerance.high, tolerance.low, word)


def _rod(state: State, name: str | None) -> Rod:
    if name is None:
        return state.plan.rod
    if name not in state.plan.rods:
        raise Refusal(f"There is no rod “{name}”; known are {', '.join(state.plan.rods)}.")
    return state.plan.rods[name]


def _length(typed: str, rod: Rod) -> Length:
    try:
        return read_length(typed, rod.notation.units)
    except NotUnderstoodError as wrong:
        raise Refusal(str(wrong)) from wrong
