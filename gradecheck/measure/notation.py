"""How a job or a rod writes its lengths: the unit, and the smallest graduation that can be read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from gradecheck.catalogue import _
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
        return self.examples.reading

    @property
    def examples(self) -> Examples:
        """How other things are typed on such a job."""
        return _EXAMPLES[self]


@dataclass(frozen=True, slots=True)
class Examples:
    """Figures as people type them on jobs of one kind: a rod without sixteenths is not spoken to in sixteenths."""

    reading: str
    """As a rod shows it; `mark` is one on a mark, in one word."""
    mark: str
    elevation: str
    tolerance: str
    high: str
    low: str
    """A tolerance both ways, and one apart."""
    unit: str
    """What stands behind a tolerance that names its unit."""
    tape: str
    module: str
    """What ten units measure as laid."""
    run: str
    riser: str
    place: str
    lengths: str
    """How lengths are written in a job file."""
    slopes: str

    @property
    def apart(self) -> str:
        """High and low apart in a job file."""
        return f"{{high: {self.high}{self.unit}, low: {self.tolerance}{self.unit}}}"


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
_INCH_RUNS = ("12 ft", "6 in", _("6 ft, 7 ft"))
_METRIC_RUNS = ("4 m", "150 mm", "2 m, 3 m")
_EXAMPLES = {
    Units.IN: Examples("13 13/16", "48-1/4", "-3 1/4", "3/8", "1/2", "1/4", " in", "24' 3-1/2\"", "82-1/2",
                       *_INCH_RUNS, _("12 ft, 3 1/2 in, 4' 3-1/2\", 351 mm"), _("3/16 in/ft, 2% or 1:48")),
    Units.FT_IN: Examples("4' 3-1/2\"", "48-1/4", "-3 1/4", "3/8", "1/2", "1/4", " in", "24' 3-1/2\"", "82-1/2",
                          *_INCH_RUNS, _("12 ft, 3 1/2 in, 4' 3-1/2\", 351 mm"), _("3/16 in/ft, 2% or 1:48")),
    Units.FT: Examples("4.35", "4.02", "-0.27", "0.03", "0.04", "0.02", " ft", "24.29", "6.88", "12 ft", "0.5 ft",
                       _("6 ft, 7 ft"), _("12 ft, 4.35 ft, 351 mm"), _("2%, 1:48 or 0.02 ft/ft")),
    Units.MM: Examples("351", "1225", "-80", "10", "12", "8", " mm", "7400", "2100", *_METRIC_RUNS,
                       _("4 m, 35.1 cm, 351 mm"), _("2%, 1:48 or 20 mm/m")),
    Units.CM: Examples("35.1", "122.5", "-8.0", "1.0", "1.2", "0.8", " cm", "740", "210", *_METRIC_RUNS,
                       _("4 m, 35.1 cm, 351 mm"), _("2%, 1:48 or 20 mm/m")),
    Units.M: Examples("1.351", "1.225", "-0.080", "0.010", "0.012", "0.008", " m", "7.400", "2.100", *_METRIC_RUNS,
                      _("4 m, 35.1 cm, 351 mm"), _("2%, 1:48 or 20 mm/m")),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Notation:
    """One way of writing lengths; everything printed in it is a whole number of graduations."""

    units: Units
    graduation: Length

    @classmethod
    def usual(cls, units: Units) -> Notation:
        """The notation of a rod with the usual marks for these units."""
        return cls(units, units.graduation)
