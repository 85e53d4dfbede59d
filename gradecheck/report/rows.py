"""One point and one reading as the texts people see; screens and paper only place them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _, plural
from gradecheck.checks.verdict import Verdict
from gradecheck.measure.judged import TENTH
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact, nearest, offset_words, show, show_exact, some
from gradecheck.measure.quantities import Length
from gradecheck.measure.verdict_words import Word
from gradecheck.state.state import Shot, State, Surface


@dataclass(frozen=True, slots=True)
class PointRow:
    """A point in the table: `off` is signed, plus is high; `word` says the same without a sign."""

    point: str
    what: str
    wanted: str
    rod: str
    found: str
    off: str
    word: Word | None
    doubt: bool = False


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
    sure: str = ""
    doubt: bool = False
    offset: str = ""
    """What the rod was held at, where it was not the ground."""


def point_row(state: State, surface: Surface) -> PointRow:
    """The row of one point at one stage; raises KeyError for a surface that the plan does not have."""
    area = state.plan.areas[surface.area]
    point = area.point(surface.point)
    shot, verdict = state.latest(surface), state.verdict(surface)
    found = state.found(shot, surface) if shot else None
    notation = state.plan.notation
    return PointRow(
        point=point.name,
        what=point.what,
        wanted=_wanted(state, surface),
        rod=grade_rod(state, surface),
        found=show(state.shown(found), notation) if found else _("no setup") if shot else "",
        off=off_text(state, surface),
        word=verdict.word if verdict else None,
        doubt=shot is not None and state.in_doubt(shot),
    )


def _wanted(state: State, surface: Surface) -> str:
    """The target as it is shown; an example figure is none, though it looks like one."""
    target = state.target(surface)
    if target is None:
        return _("not tied")
    return _("example") if state.is_example(surface) else shown(state.shown(target.wanted), state.plan.notation)


def off_text(state: State, surface: Surface) -> str:
    """How far the last reading there is off, plus is high; empty where that can't be said."""
    return _off(state.verdict(surface), state.plan.notation)


def _off(verdict: Verdict | None, notation: Notation) -> str:
    if verdict is None or verdict.word is Word.EXAMPLE:
        return ""
    return show(verdict.rounded(notation.graduation), notation, plus=True)


def answer(state: State, surface: Surface, shot: Shot | None = None) -> Answer | None:
    """What a reading there means, the last one where none is given; None where there is none that can be judged."""
    shot = shot or state.latest(surface)
    verdict = state.judge(shot, surface) if shot else None
    found = state.found(shot, surface) if shot else None
    if shot is None or verdict is None or found is None:
        return None
    notation = state.plan.notation
    instrument = state.book.setup(shot.setup)
    rod = instrument.rod.notation if instrument else notation
    sure = state.uncertainty(shot.setup, shot.rod, surface)
    return Answer(
        point=surface.point,
        what=state.what(surface),
        headline=headline(verdict, notation),
        word=verdict.word,
        found=show(state.shown(found), notation, unit=True),
        rod=show(shot.rod, rod, unit=True),
        allowed_low=show_exact(verdict.tolerance.low, notation.units),
        allowed_high=show_exact(verdict.tolerance.high, notation.units),
        off=_off(verdict, notation),
        place=_place(verdict),
        sure=show_sure(sure, notation.units) if sure is not None else "",
        doubt=state.in_doubt(shot),
        offset=at_offset(shot.above, notation.units),
    )


def show_sure(sure: Length, units: Units) -> str:
    """An uncertainty as a tape has it, or as a decimal of the job's unit: ``±1/16 in``."""
    return f"±{about(sure, units)}"


def about(length: Length, units: Units) -> str:
    """A length worked out: in inches the coarsest of 1/16, 1/32 and 1/64 within a tenth of it, else three figures."""
    if units not in (Units.IN, Units.FT_IN):
        return f"{float(length.metres / units.one.metres):.3g} {units.value}"
    for part in (16, 32, 64):
        marks = nearest(length, Units.IN.one * Fraction(1, part))
        if marks and abs(marks - length) * 10 <= abs(length):
            return show_exact(marks, Units.IN, unit=True)
    return f"{float(length.metres / Units.IN.one.metres):.3g} in"


def headline(verdict: Verdict, notation: Notation) -> str:
    """``CUT 3/8``, ``FILL 1/2`` or ``ON GRADE``."""
    if verdict.word in (Word.ON_GRADE, Word.TOO_CLOSE, Word.EXAMPLE):
        return verdict.word.shown
    return f"{verdict.word.shown} {show(abs(verdict.rounded(notation.graduation)), notation)}"


def grade_rod(state: State, surface: Surface) -> str:
    """What the rod should read where the ground is right, at the working offset; empty where that can't be said."""
    setup, target = state.setup, state.target(surface)
    if setup is None or setup.instrument is None or target is None or state.is_example(surface, setup.id):
        return ""
    aim = target.wanted if state.offset is None else target.wanted + state.offset
    reading = setup.instrument.grade_rod(aim, state.place(surface))
    return shown(reading, setup.instrument.rod.notation) if reading is not None else ""


def at_offset(above: Length | None, units: Units) -> str:
    """``offset 3 1/4 in above``, empty where there is none."""
    return _("offset {offset}", offset=offset_words(above, units)) if above is not None else ""


def example_figures(lines: Sequence[int]) -> str:
    """That something comes from figures left as examples, and where they stand; empty where none do."""
    if not lines:
        return ""
    return plural(
        len(lines),
        "{word} (job file, line {lines})",
        "{word} (job file, lines {lines})",
        word=Word.EXAMPLE.shown,
        lines=some([str(line) for line in lines]),
    )


def shown(length: Length, notation: Notation) -> str:
    """The length at the nearest mark; a tilde before it says that it was rounded."""
    return ("" if is_exact(length, notation) else "~") + show(length, notation)


def show_exact_to(length: Length, notation: Notation) -> str:
    """A length that nobody reads off a rod, such as a mean: to 1/64 in, else in decimals of the job's unit."""
    if notation.units in (Units.IN, Units.FT_IN):
        finest = Units.IN.one * Fraction(1, 64)
        marks = nearest(length, finest)
        return show_exact(marks, Units.IN, unit=True) if marks or not length else _("less than 1/64 in")
    if not notation.units.imperial:
        return show_exact(nearest(length, TENTH), notation.units, unit=True)
    return f"{float(length.metres / notation.units.one.metres):.4g} {notation.units.value}"


def _place(verdict: Verdict) -> Fraction:
    tolerance = verdict.tolerance
    limit = tolerance.high if verdict.difference.metres >= 0 else tolerance.low
    if not limit.metres:
        # With no tolerance at all every difference lies beyond the limit.
        return Fraction(0) if not verdict.difference.metres else Fraction(2 if verdict.difference.metres > 0 else -2)
    return verdict.difference.metres / limit.metres


# -- on paper

_MINUS = re.compile(r"(?<![\w\-.])-(?=\d)")


def minus(text: str) -> str:
    """The text with a true minus before its figures."""
    return _MINUS.sub("\N{MINUS SIGN}", text)


def rounding(text: str) -> str:
    """A figure whose rounding mark can't be taken for a minus."""
    return text.replace("~", "\N{ALMOST EQUAL TO}\N{NARROW NO-BREAK SPACE}")
