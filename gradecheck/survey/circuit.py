"""Levelling circuits: legs carried from mark to mark, what they miss by on closing, and how that is shared out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from gradecheck.measure.quantities import ZERO, Elevation, Length


class SharedBy(StrEnum):
    """What a leg's part in a misclosure grows with: its setups, or its distance."""

    SETUPS = "setups"
    DISTANCE = "distance"


@dataclass(frozen=True, slots=True)
class Leg:
    """A difference in height carried from one mark to the next: how far `end` lies above `start`.

    Raises ValueError, in one sentence, for a leg that no crew can have walked.
    """

    start: str
    end: str
    rise: Length
    setups: int = 1
    distance: Length | None = None

    def __post_init__(self) -> None:
        if self.start == self.end:
            raise ValueError(f"A leg from {self.start} back to itself carries nothing; split it at a turning point.")
        if self.setups < 1:
            raise ValueError(f"The leg {self.name} needs at least one setup.")
        if self.distance is not None and self.distance <= ZERO:
            raise ValueError(f"The distance of the leg {self.name} must be more than nothing.")

    @property
    def name(self) -> str:
        """The leg in words."""
        return f"{self.start} to {self.end}"

    def size(self, by: SharedBy) -> Fraction:
        """What the leg counts: its setups, or its kilometres. Raises ValueError where the distance is not known."""
        if by is SharedBy.SETUPS:
            return Fraction(self.setups)
        if self.distance is None:
            raise ValueError(f"The leg {self.name} has no distance; give it, or share by setups.")
        return self.distance.metres / 1000


@dataclass(frozen=True, slots=True)
class Corrected:
    """A mark of a circuit: its elevation as carried, and the correction it gets."""

    mark: str
    found: Elevation
    correction: Length

    @property
    def elevation(self) -> Elevation:
        """The elevation with its correction."""
        return self.found + self.correction


@dataclass(frozen=True, slots=True)
class Circuit:
    """Legs in the order they were walked, from a mark known to stand at `start` to one known to stand at `end`.

    A loop ends on its first mark. Raises ValueError, in one sentence, for legs that do not follow one another.
    """

    legs: tuple[Leg, ...]
    start: Elevation
    end: Elevation

    def __post_init__(self) -> None:
        if not self.legs:
            raise ValueError("A circuit needs at least one leg.")
        for leg, following in pairwise(self.legs):
            if leg.end != following.start:
                raise ValueError(f"The leg {leg.name} is followed by {following.name}; the legs must meet.")
        if self.is_loop and self.start != self.end:
            raise ValueError(f"{self.legs[0].start} begins and ends the loop and can't have two elevations.")

    @property
    def is_loop(self) -> bool:
        """Whether it comes back to its first mark."""
        return self.legs[0].start == self.legs[-1].end

    @property
    def misclosure(self) -> Length:
        """The closing elevation as carried less the one known: positive where the circuit came in too high."""
        return (self.start + sum((leg.rise for leg in self.legs), ZERO)).above(self.end)

    @property
    def setups(self) -> int:
        """The setups of all legs."""
        return sum(leg.setups for leg in self.legs)

    @property
    def distance(self) -> Length | None:
        """The way walked, None where a leg's distance is not known."""
        total = ZERO
        for leg in self.legs:
            if leg.distance is None:
                return None
            total += leg.distance
        return total

    def shares(self, by: SharedBy) -> tuple[Length, ...]:
        """The correction of each leg; together they are exactly minus the misclosure.

        Raises ValueError where they are to be shared by distance and a leg has none.
        """
        sizes = [leg.size(by) for leg in self.legs]
        whole, off = sum(sizes), -self.misclosure
        return tuple(off * (size / whole) for size in sizes)

    def distributed(self, by: SharedBy) -> tuple[Corrected, ...]:
        """Every mark behind the first with its correction, which grows along the way to minus the misclosure."""
        return carried(self.start, self.legs, self.shares(by))


def carried(start: Elevation, legs: Sequence[Leg], shares: Sequence[Length]) -> tuple[Corrected, ...]:
    """The marks at the ends of the legs, each with the corrections of all legs up to it."""
    marks = []
    here, correction = start, ZERO
    for leg, share in zip(legs, shares, strict=True):
        here, correction = here + leg.rise, correction + share
        marks.append(Corrected(leg.end, here, correction))
    return tuple(marks)
