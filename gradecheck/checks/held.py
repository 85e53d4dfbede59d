"""A number held to a limit, and how that came out; exactly at a limit passes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from gradecheck.measure.quantities import Length, Slope
from gradecheck.plan.limits import Limit

Verdict = Literal["fault", "advice", "can't tell", "reminder", "passes"]
"""“can't tell”: beyond the limit, but by less than what the readings leave open."""


@dataclass(frozen=True, slots=True)
class Held:
    """One number held to its limit: metres, a ratio or a count, as the limit is; `where` names its points."""

    what: str
    where: tuple[str, ...]
    value: Fraction
    limit: Limit
    verdict: Verdict

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
