"""The three exact values everything is computed with: a length, an elevation, a slope."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

INCH = Fraction(254, 10_000)
"""Metres in an inch, exact by definition (25.4 mm; Federal Register 24 FR 5348, 1959)."""
FOOT = 12 * INCH
"""Metres in a foot of 0.3048 m, the only foot since 2023 (Federal Register 85 FR 62698)."""


@dataclass(frozen=True, slots=True, order=True)
class Length:
    """A distance or a difference in height, exact, in metres; it may be negative."""

    metres: Fraction

    def __post_init__(self) -> None:
        # One stray float would turn every later result into a float without a word.
        if type(self.metres) is not Fraction:
            raise TypeError("a Length holds a Fraction")

    def __add__(self, other: Length) -> Length:
        return Length(self.metres + other.metres)

    def __sub__(self, other: Length) -> Length:
        return Length(self.metres - other.metres)

    def __neg__(self) -> Length:
        return Length(-self.metres)

    def __abs__(self) -> Length:
        return Length(abs(self.metres))

    def __mul__(self, times: int | Fraction) -> Length:
        return Length(self.metres * times)

    def __bool__(self) -> bool:
        return bool(self.metres)

    @property
    def mm(self) -> float:
        """The length in millimetres, for people and other programs; never to compute with."""
        return float(self.metres * 1000)


ZERO = Length(Fraction(0))


@dataclass(frozen=True, slots=True, order=True)
class Elevation:
    """A height above or below the job's zero, exact, in metres. Two elevations differ by a length."""

    metres: Fraction

    def __post_init__(self) -> None:
        if type(self.metres) is not Fraction:
            raise TypeError("an Elevation holds a Fraction")

    def __add__(self, rise: Length) -> Elevation:
        return Elevation(self.metres + rise.metres)

    def minus(self, drop: Length) -> Elevation:
        """The elevation that lies `drop` below this one."""
        return Elevation(self.metres - drop.metres)

    def above(self, other: Elevation) -> Length:
        """How far this elevation lies above the other; negative when it lies below."""
        return Length(self.metres - other.metres)

    @property
    def height(self) -> Length:
        """The elevation as a length above the zero, to print it."""
        return Length(self.metres)


@dataclass(frozen=True, slots=True, order=True)
class Slope:
    """Rise over run as a pure ratio, exact; a fall is given as a positive slope downward."""

    ratio: Fraction

    def __post_init__(self) -> None:
        if type(self.ratio) is not Fraction:
            raise TypeError("a Slope holds a Fraction")

    def over(self, run: Length) -> Length:
        """The change in height along a level run."""
        return Length(self.ratio * run.metres)

    @property
    def percent(self) -> Fraction:
        """The slope in percent, exact."""
        return self.ratio * 100


NO_SLOPE = Slope(Fraction(0))


class FallXY(NamedTuple):
    """How much a plane or a laser's beam falls along x and along y; a minus rises. Stored as a list of the two."""

    x: Slope
    y: Slope


def inches(number: int | Fraction) -> Length:
    """A length from a number of inches."""
    return Length(INCH * number)


def feet(number: int | Fraction) -> Length:
    """A length from a number of feet."""
    return Length(FOOT * number)


def metres(number: int | Fraction) -> Length:
    """A length from a number of metres."""
    return Length(Fraction(number))


def millimetres(number: int | Fraction) -> Length:
    """A length from a number of millimetres."""
    return Length(Fraction(number) / 1000)
