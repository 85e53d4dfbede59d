"""A day of several crews worked out from what they keyed, in fractions of an inch; nothing of the program is used."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


def inches(text: str) -> Fraction:
    """``51-1/2``, ``51 1/2 in``, ``-3/4 in`` or ``−7 3/4 in``."""
    text = text.removesuffix(" in").replace("−", "-").strip()
    sign = -1 if text.startswith("-") else 1
    return sign * sum((Fraction(part) for part in text.lstrip("+-").replace("-", " ").split()), Fraction(0))


@dataclass
class Work:
    """Benchmarks and wanted elevations of a job, and what its crews keyed; a setup is called as they please."""

    marks: dict[str, str]
    wanted: dict[str, str]
    allowed: str
    setups: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    """By its name, what the rod read on each mark."""
    made: dict[str, tuple[str, str]] = field(default_factory=dict)
    """By its name, the setup a turning point was seen from, and the rod there."""
    readings: list[tuple[str, str, str, str]] = field(default_factory=list)
    """The crew, the setup, the point and the rod, in the order in which they were taken."""

    def mark(self, name: str) -> Fraction:
        """Where a mark lies."""
        if name in self.marks:
            return inches(self.marks[name])
        setup, rod = self.made[name]
        return self.beam(setup) - inches(rod)

    def beam(self, setup: str) -> Fraction:
        """Where the laser stands: on the mean of its backsights."""
        seen = [self.mark(mark) + inches(rod) for mark, rod in self.setups[setup]]
        return sum(seen, Fraction(0)) / len(seen)

    def found(self, setup: str, rod: str) -> Fraction:
        """What a rod found."""
        return self.beam(setup) - inches(rod)

    def off(self, setup: str, point: str, rod: str) -> Fraction:
        """By how much that is too high."""
        return self.found(setup, rod) - inches(self.wanted[point])

    def verdict(self, off: Fraction) -> str:
        """What to do about it."""
        if abs(off) <= inches(self.allowed):
            return "ON GRADE"
        whole, part = divmod(abs(off), 1)
        size = " ".join(str(each) for each in (whole, part) if each)
        return f"{'CUT' if off > 0 else 'FILL'} {size}"

    def last(self) -> dict[str, str]:
        """By point the verdict of its last reading."""
        return {point: self.verdict(self.off(setup, point, rod)) for _, setup, point, rod in self.readings}

    def apart(self, one: str, other: str) -> list[Fraction]:
        """How much higher the other crew found each point that both read."""
        by = {crew: {point: self.found(setup, rod) for who, setup, point, rod in self.readings if who == crew}
              for crew in (one, other)}  # fmt: skip
        return [by[other][point] - at for point, at in by[one].items() if point in by[other]]
