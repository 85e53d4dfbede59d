"""Tells an entered reading that a common mistake explains far better than the ground does."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from gradecheck.catalogue import stored
from gradecheck.checks.verdict import judge
from gradecheck.measure.notation import Notation, Units
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
from gradecheck.measure.typed import NotUnderstoodError, Tolerance, read_length
from gradecheck.measure.verdict_words import Word

Kind = Literal["standard", "direct"]

# Distances are counted in standard deviations and kept squared, so that no root is taken and every edge is exact.
_LIKELIER = Fraction(15, 2)
"""A mistake is told when it makes a reading exp(7.5 / 2), some forty times, likelier than the ground does."""
_LIKELY = Fraction(3**2)
_FAR = Fraction(9**2)
_MAD_TO_DEVIATION = Fraction(14826, 10000)
"""A normal scatter's standard deviation over its median absolute deviation, 1 / 0.67449."""
_FEW = 3
_NEWEST = 5
_DEEPEST_CUT = 48
"""In tolerances: where nothing was shot yet, a cut this deep is an honest dig (24 in where 1/2 in is allowed)."""
_FOOT = feet(1)
_ROUGH = inches(3)
"""By how much ground that is being dug or filled may differ from point to point; common practice, no source."""
KEEPS = stored("Enter again keeps it; or enter another.")
"""What can be done about a question, behind each of them."""
STRIKES = stored("* strikes it")
"""What can be done about a hint, behind each of them."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A reading that looks like a slip: in a few words why, never what it should have been.

    Where it `stops` the hand it is saved only when Enter comes again; else it is saved and this is said beside it.
    """

    says: str
    stops: bool = False


def slip(
    typed: str,
    reading: Length,
    wanted_reading: Length,
    notation: Notation,
    tolerance: Tolerance,
    kind: Kind,
    recent: Sequence[Length],
    near: Sequence[Length] = (),
) -> Slip | None:
    """Whether an entered reading looks like a slip, held against what was read around it at this stage.

    `reading` is what `typed` writes on a rod of this `notation` and `kind`, `wanted_reading` the grade rod there.
    `recent` are the latest differences (measured less wanted, the newest last) of this area at this stage, `near`
    those of the points nearest by and of this point itself. Where nothing was read yet, existing ground may be
    anywhere: nothing is said.

    It stops the hand for a foot or more against what is near. Likely slips that are only said: a whole foot (on a
    metric rod a whole metre or 100 mm), an inch (on a rod in feet 0.1 ft, on a metric one 10 mm), ten marks of the
    rod, another fraction of the inch, two neighboring digits swapped, and the sign, which on a direct rod is also
    the rod upside down; and whatever else lies far from what is likely.
    """

    def difference(figure: Length) -> Length:
        return wanted_reading - figure if kind == "standard" else figure - wanted_reading

    off = difference(reading)
    if near and _a_foot_off(off, near, tolerance):
        return Slip(stored("{a_foot} or more from its neighbors: slip?", a_foot=_A_FOOT[notation.units]), stops=True)
    if not recent:
        return None
    likely = _likely(tolerance, notation, recent)
    keyed = likely.distance(off)
    if keyed <= _LIKELIER:
        return None  # nothing can be so much likelier; nearly every reading ends here
    if judge(_at(off), _at(ZERO), tolerance).word is Word.ON_GRADE:
        return None  # it is as it should be; whatever else it may have been changes nothing on site
    best: tuple[Fraction, _Mistake] | None = None
    for mistake in _mistakes(typed, reading, notation, kind):
        meant = likely.distance(difference(mistake.meant))
        if meant <= _LIKELY and keyed - meant > _LIKELIER and (best is None or meant < best[0]):
            best = meant, mistake
    if best is not None:
        return Slip(stored("{slip}: slip?", slip=best[1].words))
    if keyed > _FAR and not ZERO < off <= likely.deepest_cut:
        return Slip(stored("far from its neighbors: slip?"))
    return None


_A_FOOT = {
    Units.IN: stored("a foot"),
    Units.FT_IN: stored("a foot"),
    Units.FT: stored("a foot"),
    Units.MM: "305 mm",
    Units.CM: "30.5 cm",
    Units.M: "0.305 m",
}


def _a_foot_off(off: Length, near: Sequence[Length], tolerance: Tolerance) -> bool:
    """Whether it lies a foot or more from its neighbors, and on the far side of them or of grade.

    Honest neighbors differ by what the work allows, on ground that is still far off by more.
    """
    low, high = min(*near, ZERO), max(*near, ZERO)
    both = tolerance.high + tolerance.low
    apart = max(both, _ROUGH) if high > both or -low > both else both
    return not low - apart <= off <= high + apart and abs(off - _median(near)) >= _FOOT - apart


@dataclass(frozen=True, slots=True)
class _Likely:
    """The differences that are likely now: all from `low` to `high`, and about them the usual scatter.

    A cut no deeper than `deepest_cut` needs no neighbor to be believed.
    """

    low: Length
    high: Length
    variance: Fraction
    deepest_cut: Length = ZERO

    def distance(self, difference: Length) -> Fraction:
        """How far outside it lies, in standard deviations, squared."""
        beyond = max(self.low - difference, difference - self.high, ZERO).metres
        return beyond**2 / self.variance


def _likely(tolerance: Tolerance, notation: Notation, recent: Sequence[Length]) -> _Likely:
    mark = notation.graduation
    aim = (tolerance.high - tolerance.low) * Fraction(1, 2)
    half = max((tolerance.high + tolerance.low) * Fraction(1, 2), mark)
    low, high = min(aim, ZERO), max(aim, ZERO)
    # A crew in control leaves a third of the tolerance; reading to a mark adds a twelfth of its square.
    third = half * Fraction(1, 3)
    variance = third.metres**2 + mark.metres**2 / 12
    if not recent:
        return _Likely(low, high, variance, half * _DEEPEST_CUT)
    middle = _median(recent)
    if abs(middle - aim) > third:
        # Likely is then all from grade to where the neighbors lie: they may be reworked at any time.
        low, high = min(low, middle), max(high, middle)
    cut, fill = _reached(recent), _reached([-difference for difference in recent])
    if cut >= tolerance.high + half or fill >= tolerance.low + half:
        # Ground being dug or filled is rough. The next cut may be twice as deep; a hole should not get deeper.
        if cut >= tolerance.high + half:
            high = max(high, cut * 2 + half * 4)
        return _Likely(min(low, -fill), high, 4 * variance)
    if len(recent) < _FEW:
        return _Likely(low, high, variance, half * (_DEEPEST_CUT // 2))
    # Neighbors read to a mark scatter by half of one for that alone; a crew not in control scatters more.
    scatter = max(_median([abs(difference - middle) for difference in recent]) - mark * Fraction(1, 2), ZERO)
    return _Likely(low, high, max(variance, (scatter.metres * _MAD_TO_DEVIATION) ** 2))


def _reached(differences: Sequence[Length]) -> Length:
    """The highest of the newest, or what a quarter of all have reached if that is higher."""
    return max(*differences[-_NEWEST:], sorted(differences)[-(len(differences) // 4 + 1)])


def _median(several: Sequence[Length]) -> Length:
    # Not the statistics module's: it takes longer to import than all lengths of a day take to sort.
    ordered = sorted(one.metres for one in several)
    middle = len(ordered) // 2
    return Length(ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2)


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
        words = stored("its minus missing") if reading > ZERO else stored("an extra minus sign")
        yield _Mistake(
            -reading, stored("{words}, or the rod upside down", words=words) if kind == "direct" else words
        )
    for meant in _other_fractions(reading, notation):
        yield _Mistake(meant, stored("another fraction of the inch"))
    for meant in _swapped_digits(typed, notation.units):
        yield _Mistake(meant, stored("two digits swapped"))
    yield from _off_by(notation.graduation * 10, stored("10 marks of the rod"), reading)


def _off_by(size: Length, words: str, reading: Length) -> Iterator[_Mistake]:
    yield _Mistake(reading - size, stored("{words} more than its neighbors", words=words))
    yield _Mistake(reading + size, stored("{words} less than its neighbors", words=words))


_INCHES = ((feet(1), "1 ft"), (inches(1), "1 in"))
_METRIC = ((metres(1), "1 m"), (millimetres(100), "100 mm"), (millimetres(10), "10 mm"))
_WHOLE = {
    Units.IN: _INCHES,
    Units.FT_IN: _INCHES,
    Units.FT: ((feet(1), "1 ft"), (feet(Fraction(1, 10)), "0.1 ft")),
    Units.MM: _METRIC,
    Units.CM: _METRIC,
    Units.M: _METRIC,
}


def _other_fractions(reading: Length, notation: Notation) -> Iterator[Length]:
    """The same inch with a fraction that is easily taken for this one."""
    if notation.units not in (Units.IN, Units.FT_IN):
        return
    whole, part = divmod(abs(reading).metres / INCH, 1)
    for other in _taken_for(part, INCH / notation.graduation.metres):
        size = inches(whole + other)
        yield size if reading > ZERO else -size


def _taken_for(part: Fraction, marks: Fraction) -> Iterator[Fraction]:
    """Fractions mistaken for one another on a rod with so many marks to the inch.

    The marks counted from the wrong end of the inch (1/4 and 3/4), the denominator next to it (3/16 and 3/8),
    the one of a numerator lost or added (15/16 and 5/16).
    """
    over, under = part.numerator, part.denominator
    if not over or (marks / under).denominator != 1 or under & (under - 1):
        return  # whole inches, or no fraction of this rod
    yield 1 - part
    for denominator in (under * 2, under // 2):
        if over < denominator <= marks:
            yield Fraction(over, denominator)
    for numerator in (over + 10, over - 10):
        if 0 < numerator < under:
            yield Fraction(numerator, under)


_DIGITS = re.compile(r"(?=(\d)([.,]?)(\d))")


def _swapped_digits(typed: str, units: Units) -> Iterator[Length]:
    """What the text would write with two neighboring digits the other way round; a decimal point parts no digits."""
    for found in _DIGITS.finditer(typed):
        first, point, second = found.groups()
        if first != second:
            swapped = typed[: found.start()] + second + point + first + typed[found.end(3) :]
            try:
                yield read_length(swapped, units)
            except NotUnderstoodError:
                continue  # 13/16 has no twin 31/16


def _at(off: Length) -> Elevation:
    return Elevation(off.metres)
