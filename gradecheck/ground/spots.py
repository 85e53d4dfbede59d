"""A spot on the ground: where it lies in plan and how high."""

from __future__ import annotations

from dataclasses import dataclass

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
