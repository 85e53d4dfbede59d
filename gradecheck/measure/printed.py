"""Prints lengths to the marks of a rod, and counts of things; to the nearest mark, halves away from zero."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import FOOT, INCH, ZERO, Length

_SUFFIX = {Units.IN: " in", Units.FT_IN: "", Units.FT: " ft", Units.MM: " mm", Units.CM: " cm", Units.M: " m"}


_HYPHEN = re.compile(r"“[^”]*”|(?<![\w\-./\\])-(?=\d)")
"""A hyphen that stands for a minus; what is quoted stays as it was typed."""


def with_true_minus(text: str) -> str:
    """The text with one minus before all figures, the true one: no hyphen or dash is taken for it."""
    return _HYPHEN.sub(lambda found: "\N{MINUS SIGN}" if found[0] == "-" else found[0], text) if "-" in text else text


def nearest(length: Length, step: Length) -> Length:
    """The whole number of steps nearest to the length; a half goes away from zero."""
    count = abs(length.metres) / step.metres
    whole = (2 * count.numerator + count.denominator) // (2 * count.denominator)
    return step * (whole if length.metres >= 0 else -whole)


def show(length: Length, notation: Notation, *, unit: bool = False, plus: bool = False) -> str:
    """The length at the nearest mark, for example ``-2 13/16``, ``4' 3 1/2"``, ``4.35`` or ``351``.

    `unit` adds the unit where the notation does not show it; `plus` puts a sign before positive lengths.
    """
    return _signed(nearest(length, notation.graduation), notation.units, notation.graduation, unit, plus)


def offset_words(above: Length, units: Units) -> str:
    """A working offset as people say it: ``3 1/4 in above``."""
    length = show_exact(abs(above), units, unit=True)
    return _("{length} below", length=length) if above < ZERO else _("{length} above", length=length)


def show_exact(length: Length, units: Units, *, unit: bool = False) -> str:
    """The length with nothing rounded where it can be written so, else to a ten-thousandth of the unit."""
    # Rounded before it is taken apart, or 3' 11.99999" would print as 3' 12.0000".
    return _signed(exactly(length, units), units, None, unit, False)


def exactly(length: Length, units: Units) -> Length:
    """The length that `show_exact` writes: a fraction of a tape as it is, else the nearest ten-thousandth."""
    if _on_a_tape(length.metres / units.one.metres) and units in (Units.IN, Units.FT_IN):
        return length
    return nearest(length, units.one * Fraction(1, 10_000))


def is_exact(length: Length, notation: Notation) -> bool:
    """Whether the length lies on a mark, so that printing it rounds nothing."""
    return (length.metres / notation.graduation.metres).denominator == 1


def _signed(length: Length, units: Units, step: Length | None, unit: bool, plus: bool) -> str:
    # The sign stays apart from the feet: -0' 0 1/4" must not lose it.
    sign = "-" if length < ZERO else "+" if plus and length > ZERO else ""
    return sign + _size(abs(length).metres, units, step) + (_SUFFIX[units] if unit else "")


def _size(metres: Fraction, units: Units, step: Length | None) -> str:
    if units is Units.FT_IN:
        feet, rest = divmod(metres, FOOT)
        inches = _number(rest / INCH, None if step is None else step.metres / INCH)
        whole = "0 " if feet and "/" in inches and " " not in inches else ""
        return f"{feet}' {whole}{inches}\"" if feet else f'{inches}"'
    one = units.one.metres
    return _number(metres / one, None if step is None else step.metres / one, units is Units.IN)


def _number(number: Fraction, step: Fraction | None, in_inches: bool = True) -> str:
    """A number of units: inches in mixed fractions where the step is a 2nd to 64th, all else in decimals."""
    grain = number if step is None else step
    if in_inches and _on_a_tape(grain):
        whole, part = divmod(number, 1)
        if not part:
            return str(whole)
        return f"{whole} {part}" if whole else str(part)
    places = _places(grain)
    scaled = nearest(Length(number), Length(Fraction(1, 10**places))).metres * 10**places
    digits = f"{int(scaled):0{places + 1}d}"
    return f"{digits[:-places]}.{digits[-places:]}" if places else digits


def _on_a_tape(grain: Fraction) -> bool:
    """Whether the grain is a matter of halves to 64ths, the fractions a tape has."""
    return 1 < grain.denominator <= 64 and grain.denominator & (grain.denominator - 1) == 0


def _places(grain: Fraction) -> int:
    """Decimal places that show the grain in full, four at most."""
    return next((places for places in range(4) if (grain * 10**places).denominator == 1), 4)


def some(names: Sequence[str], most: int = 3) -> str:
    """The first few of many names: ``P1, P1-2, P1-3 and 74 more``; all where there is only one more."""
    if len(names) <= most + 1:
        return ", ".join(names)
    return _("{names} and {more} more", names=", ".join(names[:most]), more=len(names) - most)
