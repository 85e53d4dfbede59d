"""A number held to a limit, and how that came out: the one place where “can't tell” is decided."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from gradecheck.measure.quantities import Length, Slope
from gradecheck.plan.limits import Limit

NOTHING = Fraction(0)
Judgment = Literal["fault", "advice", "can't tell", "reminder", "passes"]
"""“can't tell”: beyond the limit, but by less than what the readings leave open."""


@dataclass(frozen=True, slots=True)
class Held:
    """One number held to its limit: metres, a ratio or a count, as the limit is; `where` names its points."""

    what: str
    where: tuple[str, ...]
    value: Fraction
    limit: Limit
    verdict: Judgment

    @property
    def length(self) -> Length:
        """The number as a length."""
        return Length(self.value)

    @property
    def slope(self) -> Slope:
        """The number as a slope."""
        return Slope(self.value)

    @property
    def beyond(self) -> Fraction:
        """How far the number lies from its limit, in its own unit, never negative."""
        return abs(self.value - self.limit.value)


def over(value: Fraction, most: Fraction, doubt: Fraction = NOTHING, worse: Judgment = "fault") -> Judgment:
    """The verdict on a value that may be so much at most: exactly that passes.

    Beyond it by less than the `doubt` of the readings it can't be told. All three are in one unit.
    """
    if value <= most:
        return "passes"
    return worse if value - doubt > most else "can't tell"


def under(value: Fraction, least: Fraction, doubt: Fraction = NOTHING, worse: Judgment = "fault") -> Judgment:
    """The same for a value that must be so much at least; all three are in one unit."""
    return over(-value, -least, doubt, worse)
