"""Questions a keyed reading that a common mistake explains far better than the ground does."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Literal

from gradecheck.checks.verdict import Word, judge
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact, show, show_exact
from gradecheck.measure.quantities import (
    INCH,
    ZERO,
    Elevation,
    Length,
    feet,
    inches,
    metres,
    millimetres,
)
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.plan.model import Tolerance

Kind = Literal["standard", "direct"]

# Squares of distances counted in standard deviations, so that no root is taken and every edge is exact. A
# mistake is asked about when it makes the reading exp(7.5 / 2), some forty times, likelier than the ground does.
_LIKELIER = Fraction(15, 2)
_LIKELY = 3**2
_FAR = 9**2
_MAD_TO_DEVIATION = Fraction(14826, 10000)
"""A normal scatter's standard deviation over its median absolute deviation, 1 / 0.67449."""

_FEW = 3
_NEWEST = 5
_DEEPEST_FIRST_CUT = 48
"""Tolerances; where nothing was shot yet, a cut this deep is still an honest dig: 24 in for 1/2 in."""


def question(
    typed: str,
    reading: Length,
    wanted_reading: Length,
    notation: Notation,
    tolerance: Tolerance,
    kind: Kind,
    recent: Sequence[Length],
) -> str | None:
    """One sentence that names the likeliest mistake in a keyed reading, None when there is nothing to ask.

    `reading` is what `typed` writes on a rod with this `notation`, `wanted_reading` the grade rod there, and
    `recent` the latest differences (measured less wanted, the newest last) of this area at this stage.

    The mistakes: a whole foot (on a metric rod 100 mm or a whole metre), an inch (0.1 ft on a rod in feet,
    10 mm on a metric one), ten marks of the rod, another fraction of the inch, two neighbouring digits swapped,
    the sign, which on a direct rod is also the rod upside down. A standard rod upside down shows a figure that
    depends on its length; it is found, like all else, by lying far from what the neighbours make likely.

    A reading that is on grade is never questioned, nor one between grade and what the neighbours show.
    """

    def difference(figure: Length) -> Length:
        return wanted_reading - figure if kind == "standard" else figure - wanted_reading

    off = difference(reading)
    if judge(_at(off), _at(ZERO), tolerance).word is Word.ON_GRADE:
        return None
    likely = _likely(tolerance, notation, recent)
    keyed = likely.distance(off)
    if keyed <= _LIKELIER:
        return None  # no mistake can be so much likelier; nearly every reading ends here
    first = not recent and off > ZERO
    best: tuple[Fraction, _Mistake] | None = None
    for mistake in _mistakes(typed, reading, notation, kind):
        meant = likely.distance(difference(mistake.meant))
        # Nothing was shot here yet, and untouched ground is honestly high: only a clean hit speaks.
        fits = meant <= (1 if first else _LIKELY) and keyed - meant > _LIKELIER
        if fits and (best is None or meant < best[0]):
            best = meant, mistake
    if best is not None:
        return _ask(best[1], difference(best[1].meant), reading, notation, tolerance)
    if likely.far(off):
        return _ask_far(off, reading, notation, tolerance, kind)
    return None


@dataclass(frozen=True, slots=True)
class _Likely:
    """The differences that are likely now: anything from `low` to `high`, and about it the usual scatter."""

    low: Fraction
    high: Fraction
    variance: Fraction
    highest: Fraction

    def distance(self, difference: Length) -> Fraction:
        """How far outside it lies, in standard deviations, squared."""
        beyond = max(self.low - difference.metres, difference.metres - self.high, Fraction(0))
        return beyond * beyond / self.variance

    def far(self, difference: Length) -> bool:
        """Whether it lies far outside, needing no mistake to explain it."""
        if difference > ZERO and difference.metres <= self.highest:
            return False
        return self.distance(difference) > _FAR


def _likely(tolerance: Tolerance, notation: Notation, recent: Sequence[Length]) -> _Likely:
    mark = notation.graduation.metres
    aim = (tolerance.high.metres - tolerance.low.metres) / 2
    half = max((tolerance.high.metres + tolerance.low.metres) / 2, mark)
    # A crew in control leaves a third of the tolerance; reading to a mark adds a twelfth of its square.
    third = half / 3
    variance = third**2 + mark**2 / 12
    low, high = min(aim, Fraction(0)), max(aim, Fraction(0))
    if not recent:
        return _Likely(low, high, variance, half * _DEEPEST_FIRST_CUT)
    shown = [one.metres for one in recent]
    middle = median(shown)
    # A median within the scatter says nothing; one beyond it widens what is likely, and grade stays likely too.
    low, high = min(low, middle + third), max(high, middle - third)
    # Still being dug: cuts among the newest, or at a quarter of the points.
    deep = max(*shown[-_NEWEST:], sorted(shown)[-(len(shown) // 4 + 1)])
    if deep >= tolerance.high.metres + half:
        # Ground half dug is rough: the next may be twice as high, and the scatter is twice the finished one.
        return _Likely(low, max(high, 2 * deep + 4 * half), 4 * variance, Fraction(0))
    if len(shown) < _FEW:
        return _Likely(low, high, variance, half * _DEEPEST_FIRST_CUT / 2)
    spread = _MAD_TO_DEVIATION * median(abs(one - middle) for one in shown)
    return _Likely(low, high, max(variance, spread**2), Fraction(0))


@dataclass(frozen=True, slots=True)
class _Mistake:
    """A slip, in words, and the figure that was then meant."""

    meant: Length
    words: str


def _mistakes(typed: str, reading: Length, notation: Notation, kind: Kind) -> Iterator[_Mistake]:
    """Every mistake that could have made this reading, the commonest first."""
    for size, words in _WHOLE[notation.units]:
        yield from _off_by(size, words, reading)
    if reading:
        words = "has its sign the wrong way round"
        yield _Mistake(-reading, f"{words}, or the rod is upside down" if kind == "direct" else words)
    for meant in _other_fractions(reading, notation):
        yield _Mistake(meant, "may have another fraction")
    for meant in _swapped_digits(typed, notation.units):
        yield _Mistake(meant, "may have two digits swapped")
    yield from _off_by(notation.graduation * 10, "ten marks of the rod", reading)


def _off_by(size: Length, words: str, reading: Length) -> Iterator[_Mistake]:
    yield _Mistake(reading - size, f"is {words} more than likely")
    yield _Mistake(reading + size, f"is {words} less than likely")


_INCHES = ((feet(1), "a whole foot"), (inches(1), "an inch"))
_METRIC = ((metres(1), "a whole metre"), (millimetres(100), "100 mm"), (millimetres(10), "10 mm"))
_WHOLE = {
    Units.IN: _INCHES,
    Units.FT_IN: _INCHES,
    Units.FT: ((feet(1), "a whole foot"), (feet(Fraction(1, 10)), "a tenth of a foot")),
    Units.MM: _METRIC,
    Units.CM: _METRIC,
    Units.M: _METRIC,
}


def _other_fractions(reading: Length, notation: Notation) -> Iterator[Length]:
    """The same inch with a fraction that is easily taken for this one."""
    if notation.units not in (Units.IN, Units.FT_IN):
        return
    whole, part = divmod(abs(reading).metres / INCH, 1)
    finest = (INCH / notation.graduation.metres).numerator
    for other in _taken_for(part, finest):
        size = inches(whole + other)
        yield size if reading > ZERO else -size


def _taken_for(part: Fraction, finest: int) -> Iterator[Fraction]:
    """Fractions mistaken for `part`, and the other way round: the marks counted from the wrong end of the inch
    (1/4 and 3/4), the denominator next to it (3/16 and 3/8), the one of a numerator lost (15/16 and 5/16).
    """
    over, under = part.numerator, part.denominator
    if not over or finest % under:
        return
    yield 1 - part
    for denominator in (under * 2, under // 2):
        if over < denominator <= finest:
            yield Fraction(over, denominator)
    for numerator in (over + 10, over - 10):
        if 0 < numerator < under:
            yield Fraction(numerator, under)


_DIGITS = re.compile(r"(?=(\d)([.,]?)(\d))")


def _swapped_digits(typed: str, units: Units) -> Iterator[Length]:
    """What the text would write with two neighbouring digits the other way round; a decimal point parts no digits."""
    for found in _DIGITS.finditer(typed):
        first, point, second = found.groups()
        if first != second:
            swapped = typed[: found.start()] + second + point + first + typed[found.end(3) :]
            try:
                yield read_length(swapped, units)
            except NotUnderstoodError:
                continue  # 13/16 has no twin 31/16


def _ask(mistake: _Mistake, then: Length, reading: Length, notation: Notation, tolerance: Tolerance) -> str:
    keyed, meant = _figure(reading, notation), _figure(mistake.meant, notation)
    return f"{keyed} {mistake.words}; {meant} would be {_verdict(then, notation, tolerance)}. Enter again keeps it."


def _ask_far(off: Length, reading: Length, notation: Notation, tolerance: Tolerance, kind: Kind) -> str:
    keyed, verdict = _figure(reading, notation), _verdict(off, notation, tolerance)
    return f"{keyed} is {verdict}, far from likely here: right point, right end of the rod? Enter again keeps it."


def _figure(length: Length, notation: Notation) -> str:
    return show(length, notation) if is_exact(length, notation) else show_exact(length, notation.units)


def _verdict(off: Length, notation: Notation, tolerance: Tolerance) -> str:
    verdict = judge(_at(off), _at(ZERO), tolerance)
    if verdict.word is Word.ON_GRADE:
        return verdict.word
    return f"{verdict.word} {show(abs(verdict.rounded(notation.graduation)), notation, unit=True)}"


def _at(off: Length) -> Elevation:
    return Elevation(off.metres)
