"""Spots: named places on the plan with a height, exact; and whole numbers in the place of many fractions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from gradecheck.measure.quantities import Elevation, Length

Place = tuple[Length, Length]
"""x and y on the plan, level, from the plan's own corner."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A named place with a height there, exact."""

    name: str
    at: Place
    z: Elevation

    @property
    def x(self) -> Length:
        """How far along the plan's first direction."""
        return self.at[0]

    @property
    def y(self) -> Length:
        """How far along the plan's second direction."""
        return self.at[1]


Number = int | Fraction
MOST_BITS = 256
"""A scale larger than this makes whole numbers slower than the fractions they stand for."""


def scale_of(numbers: Iterable[Fraction]) -> int:
    """What makes all of these whole, 1 where that would be a number out of all proportion."""
    scale = 1
    for denominator in {number.denominator for number in numbers}:
        scale = lcm(scale, denominator)
        if scale.bit_length() > MOST_BITS:
            return 1
    return scale


def in_steps(number: Fraction, scale: int) -> Number:
    """The number in steps of one over the scale: whole where the scale makes it so."""
    steps, rest = divmod(scale, number.denominator)
    return number.numerator * steps if not rest else number * scale


def ratio(over: Number, under: Number) -> Fraction:
    """The exact quotient of two numbers, whole or not."""
    return (
        Fraction(over) / under if isinstance(over, Fraction) or isinstance(under, Fraction) else Fraction(over, under)
    )
