"""CUT, FILL or ON GRADE: the difference from the target, held exactly against its tolerance."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.measure.printed import nearest
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.measure.verdict_words import Word


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer at one point: `difference` is measured less wanted, so above is positive and means cut."""

    word: Word
    difference: Length
    tolerance: Tolerance

    def rounded(self, graduation: Length) -> Length:
        """The difference to the nearest graduation, but never on the other side of a limit than the verdict.

        1/32 over a limit of 3/8 is CUT and shows as 7/16, not as the 3/8 that would be allowed.
        """
        marks = nearest(self.difference, graduation)
        highest = graduation * (self.tolerance.high.metres // graduation.metres)
        lowest = graduation * -(self.tolerance.low.metres // graduation.metres)
        if self.word is Word.CUT:
            return max(marks, highest + graduation)
        if self.word is Word.FILL:
            return min(marks, lowest - graduation)
        if self.word in (Word.TOO_CLOSE, Word.EXAMPLE):
            return marks
        return min(max(marks, lowest), highest)


def judge(found: Elevation, wanted: Elevation, tolerance: Tolerance, guard: Length = ZERO) -> Verdict:
    """The verdict; a difference exactly at the tolerance is within it.

    With a `guard` (the expanded uncertainty) there are three zones (JCGM 106:2012, from memory; ISO 14253-1:2017):
    on grade up to the tolerance less the guard, inclusive; cut or fill from the tolerance plus the guard,
    inclusive; and between them it is too close to call.
    """
    difference = found.above(wanted)
    if guard:
        return Verdict(_guarded(difference, tolerance, guard), difference, tolerance)
    if difference > tolerance.high:
        word = Word.CUT
    elif difference < -tolerance.low:
        word = Word.FILL
    else:
        word = Word.ON_GRADE
    return Verdict(word, difference, tolerance)


def _guarded(difference: Length, tolerance: Tolerance, guard: Length) -> Word:
    if difference >= tolerance.high + guard:
        return Word.CUT
    if difference <= -tolerance.low - guard:
        return Word.FILL
    if -tolerance.low + guard <= difference <= tolerance.high - guard:
        return Word.ON_GRADE
    return Word.TOO_CLOSE
