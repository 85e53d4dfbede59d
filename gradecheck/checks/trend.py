"""Whether one person, rod or setup reads high or low against the others: mean differences at spots read again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from math import sqrt

from gradecheck.ground.spots import Number, in_steps, ratio, scale_of
from gradecheck.measure.quantities import Elevation, Length


@dataclass(frozen=True, slots=True)
class SeenHeight:
    """One height of a spot that did not change between looks, with who saw it, on which rod, from which setup."""

    spot: str
    z: Elevation
    by: str
    rod: str
    setup: str


@dataclass(frozen=True, slots=True)
class Bias:
    """How far one of them reads above the others on the mean, and at how many looks; negative is below.

    `scatter` is the standard deviation of one look in metres, None where there is only one.
    """

    kind: str
    name: str
    mean: Length
    count: int
    scatter: float | None


def biases(looks: Iterable[SeenHeight]) -> list[Bias]:
    """The bias of every person, rod and setup that shared spots with another, those that stand out first.

    A look counts by its difference from the mean of the looks of the others at the same spot.
    """
    looks = list(looks)
    scale = scale_of(look.z.metres for look in looks)
    spots: dict[str, list[tuple[SeenHeight, Number]]] = {}
    for look in looks:
        spots.setdefault(look.spot, []).append((look, in_steps(look.z.metres, scale)))
    off: dict[tuple[str, str], _Sums] = {}
    for seen in spots.values():
        total = sum(height for _, height in seen)
        for kind in ("person", "rod", "setup"):
            own: dict[str, list[Number]] = {}
            for look, height in seen:
                own.setdefault(_name(look, kind), []).append(height)
            for name, heights in own.items() if len(own) > 1 else ():
                ours = sum(heights)
                off.setdefault((kind, name), _Sums()).add(heights, ours, total - ours, len(seen) - len(heights))
    found = [Bias(*named, Length(sums.mean / scale), sums.count, sums.scatter(scale)) for named, sums in off.items()]
    return sorted(found, key=lambda bias: (-abs(bias.mean.metres), bias.kind, bias.name))


@dataclass(slots=True)
class _Sums:
    """Of all differences of one person, rod or setup: how many, and the sums of them and of their squares, exact.

    A difference is from the mean of others; the sums are kept by how many those were, so that they stay whole.
    """

    count: int = 0
    by_others: dict[int, tuple[Number, Number]] = field(default_factory=dict)

    def add(self, heights: list[Number], ours: Number, theirs: Number, others: int) -> None:
        """Takes the looks at one spot, `ours` being their sum and `theirs` that of so many others there."""
        count, squares = len(heights), sum(height * height for height in heights)
        self.count += count
        total, square = self.by_others.get(others, (0, 0))
        total += ours * others - count * theirs
        square += others * (squares * others - 2 * theirs * ours) + count * theirs * theirs
        self.by_others[others] = total, square

    @property
    def mean(self) -> Fraction:
        """The mean difference."""
        return sum((ratio(total, others) for others, (total, _) in self.by_others.items()), Fraction(0)) / self.count

    def scatter(self, scale: int) -> float | None:
        """The standard deviation of one difference in metres, None of a single one."""
        if self.count < 2:
            return None
        squares = sum((ratio(square, others**2) for others, (_, square) in self.by_others.items()), Fraction(0))
        return sqrt((squares - self.count * self.mean**2) / (self.count - 1)) / scale


def _name(look: SeenHeight, kind: str) -> str:
    return {"person": look.by, "rod": look.rod, "setup": look.setup}[kind]
