"""One reading, one point, one log entry as the texts people see; screens and paper only place them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, timedelta, timezone
from fractions import Fraction

from gradecheck.checks.verdict import Verdict, Word, judge
from gradecheck.journal.facts import CautionsRead, Entry, InstrumentSet, Note, PlanRevised, Reading, Void
from gradecheck.journal.store import Line
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import is_exact, show
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Plan, Tolerance
from gradecheck.state import State, Stood, Surface


@dataclass(frozen=True, slots=True)
class PointRow:
    """A point in the table: `off` is signed, plus is high; `word` says the same without a sign."""

    point: str
    what: str
    wanted: str
    rod: str
    found: str
    off: str
    word: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The last reading at a point, for the machine's seat and for the person typing."""

    point: str
    what: str
    headline: str
    word: Word
    found: str
    rod: str
    allowed_low: str
    allowed_high: str
    off: str
    place: Fraction
    """Where the difference lies: -1 at the low limit, 0 on the wanted elevation, 1 at the high limit."""


@dataclass(frozen=True, slots=True)
class LogRow:
    """An entry in the log; `note` says what became of it."""

    id: str
    seq: int
    day: str
    time: str
    by: str
    kind: str
    subject: str
    typed: str
    then: str
    now: str
    note: str
    struck: bool


def point_row(state: State, surface: Surface) -> PointRow:
    """The row of one point at one stage; raises KeyError for a surface that the plan does not have."""
    target = state.target(surface)
    if target is None:
        raise KeyError(surface)
    point = state.plan.areas[surface.area].point(surface.point)
    shot, verdict = state.latest(surface), state.verdict(surface)
    found = state.found(shot) if shot else None
    notation = state.plan.notation
    return PointRow(
        point=point.name,
        what=point.what,
        wanted=shown(target.wanted.height, notation),
        rod=grade_rod(state.setup, target.wanted),
        found=show(found.height, notation) if found else "no set-up" if shot else "",
        off=show(verdict.rounded(notation.graduation), notation, plus=True) if verdict else "",
        word=verdict.word.value if verdict else "",
    )


def answer(state: State, surface: Surface) -> Answer | None:
    """What the last reading there means, or None where there is none that can be judged."""
    shot, verdict = state.latest(surface), state.verdict(surface)
    found = state.found(shot) if shot else None
    if shot is None or verdict is None or found is None:
        return None
    notation = state.plan.notation
    stood = state.setups[shot.setup]
    rod = stood.instrument.rod.notation if stood.instrument else notation
    return Answer(
        point=surface.point,
        what=state.plan.areas[surface.area].point(surface.point).what,
        headline=headline(verdict, notation),
        word=verdict.word,
        found=show(found.height, notation, unit=True),
        rod=show(shot.rod, rod, unit=True),
        allowed_low=shown(verdict.tolerance.low, notation),
        allowed_high=shown(verdict.tolerance.high, notation),
        off=show(verdict.rounded(notation.graduation), notation, plus=True),
        place=_place(verdict),
    )


def headline(verdict: Verdict, notation: Notation) -> str:
    """``CUT 3/8``, ``FILL 1/2`` or ``ON GRADE``."""
    if verdict.word is Word.ON_GRADE:
        return verdict.word.value
    return f"{verdict.word.value} {show(abs(verdict.rounded(notation.graduation)), notation)}"


def grade_rod(stood: Stood | None, wanted: Elevation) -> str:
    """What the rod should read where the ground is right, empty while no set-up stands."""
    if stood is None or stood.instrument is None:
        return ""
    return shown(stood.instrument.grade_rod(wanted), stood.instrument.rod.notation)


def shown(length: Length, notation: Notation) -> str:
    """The length at the nearest mark; a tilde before it says that it was rounded."""
    return ("" if is_exact(length, notation) else "~") + show(length, notation)


def set_up_line(stood: Stood, plan: Plan) -> str:
    """A set-up in one line: the mark, what the rod read, and the plane of the instrument."""
    (sight,) = stood.fact.backsights
    rod = plan.rods.get(stood.fact.rod, plan.rod)
    read = show(sight.rod, rod.notation, unit=True)
    if stood.instrument is None:
        return f"{sight.mark} read {read}, but the plan has no such mark or rod now"
    zero = show(stood.instrument.zero.height, plan.notation, unit=True)
    name = "rod zero at" if rod.kind == "direct" else "plane of the instrument at"
    return f"{sight.mark} read {read} on the {rod.name}; {name} {zero}"


def mark_line(plan: Plan, name: str) -> str:
    """A mark to choose: its name, its elevation and where it is."""
    mark = plan.benchmarks[name]
    return f"{name:<10} {show(mark.elevation.height, plan.notation, unit=True):>14}   {mark.what}".rstrip()


def log_row(state: State, line: Line) -> LogRow:
    """One entry for the log: what was typed, how it was judged then, and how it is judged now."""
    entry = line.entry
    local = entry.at.astimezone(timezone(timedelta(minutes=entry.offset)))
    subject, then, now = _told(state, entry)
    struck = line.replaced_by is not None
    return LogRow(
        id=entry.id,
        seq=entry.seq,
        day=local.strftime("%Y-%m-%d"),
        time=local.strftime("%H:%M"),
        by=entry.by,
        kind=entry.kind,
        subject=subject,
        typed=entry.typed if isinstance(entry.fact, Reading | InstrumentSet) else "",
        then=then,
        now="" if struck else now,
        note="struck or replaced" if struck else "",
        struck=struck,
    )


def _told(state: State, entry: Entry) -> tuple[str, str, str]:
    """What an entry is about, how it was judged then, and how the same reading is judged now."""
    notation = state.plan.notation
    match entry.fact:
        case Reading() as fact:
            then = _then(fact, notation)
            return f"{fact.point} {fact.stage}", then, _now(state, fact)
        case InstrumentSet() as fact:
            return f"on {fact.backsights[0].mark}, {fact.rod}", "", ""
        case Void() as fact:
            return f"strikes: {fact.why}", "", ""
        case Note() as fact:
            return fact.text, "", ""
        case CautionsRead() as fact:
            return f"{len(fact.cautions)} cautions read", "", ""
        case PlanRevised() as fact:
            return f"plan {fact.digest[:8]} taken over", "", ""


def _then(fact: Reading, notation: Notation) -> str:
    judged = fact.judged
    tolerance = Tolerance(judged.high, judged.low)
    return headline(Verdict(judged.word, judged.found.above(judged.wanted), tolerance), notation)


def _now(state: State, fact: Reading) -> str:
    surface = Surface(fact.area, fact.point, fact.stage)
    stood, target = state.setups.get(fact.setup), state.target(surface)
    if target is None:
        return "not in the plan now"
    if stood is None or stood.instrument is None:
        return "set-up was struck"
    return headline(judge(stood.instrument.elevation(fact.rod), target.wanted, target.tolerance), state.plan.notation)


def _place(verdict: Verdict) -> Fraction:
    tolerance = verdict.tolerance
    limit = tolerance.high if verdict.difference.metres >= 0 else tolerance.low
    if not limit.metres:
        # With no tolerance at all every difference lies beyond the limit.
        return Fraction(0) if not verdict.difference.metres else Fraction(2 if verdict.difference.metres > 0 else -2)
    return verdict.difference.metres / limit.metres


def utc(entry: Entry) -> str:
    """The entry's instant in UTC, for other programs."""
    return entry.at.astimezone(UTC).isoformat(timespec="milliseconds")
