"""How a job or a rod writes its lengths: the unit, and the smallest graduation that can be read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from gradecheck.measure.quantities import Length, feet, inches, metres, millimetres


class Units(StrEnum):
    """The six ways a site writes lengths."""

    IN = "in"
    FT_IN = "ft-in"
    FT = "ft"
    MM = "mm"
    CM = "cm"
    M = "m"

    @property
    def graduation(self) -> Length:
        """The usual smallest mark of a rod in these units (common practice, no source)."""
        return _USUAL_GRADUATION[self]

    @property
    def imperial(self) -> bool:
        """Whether it counts in inches or feet."""
        return self in (Units.IN, Units.FT_IN, Units.FT)

    @property
    def one(self) -> Length:
        """What a bare number counts; in feet and inches a bare number is inches."""
        return _ONE[self]

    @property
    def example(self) -> str:
        """A length as people on such a job would type it."""
        return _EXAMPLE[self]


_USUAL_GRADUATION = {
    Units.IN: inches(Fraction(1, 16)),
    Units.FT_IN: inches(Fraction(1, 16)),
    Units.FT: feet(Fraction(1, 100)),
    Units.MM: millimetres(1),
    Units.CM: millimetres(1),
    Units.M: millimetres(1),
}
_ONE = {
    Units.IN: inches(1),
    Units.FT_IN: inches(1),
    Units.FT: feet(1),
    Units.MM: millimetres(1),
    Units.CM: millimetres(10),
    Units.M: metres(1),
}
_EXAMPLE = {
    Units.IN: "13 13/16",
    Units.FT_IN: "4' 3-1/2\"",
    Units.FT: "4.35",
    Units.MM: "351",
    Units.CM: "35.1",
    Units.M: "1.351",
}


@dataclass(frozen=True, slots=True)
class Notation:
    """One way of writing lengths; everything printed in it is a whole number of graduations."""

    units: Units
    graduation: Length

    @classmethod
    def usual(cls, units: Units) -> Notation:
        """The notation of a rod with the usual marks for these units."""
        return cls(units, units.graduation)
