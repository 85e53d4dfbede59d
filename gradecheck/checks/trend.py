"""Whether one person, rod or setup reads high or low against the others: mean differences at spots read again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from gradecheck.measure.quantities import Elevation, Length


@dataclass(frozen=True, slots=True)
class Seen:
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


def biases(looks: Iterable[Seen]) -> list[Bias]:
    """The bias of every person, rod and setup that shared spots with another, those that stand out first.

    A look counts by its difference from the mean of the looks of the others at the same spot.
    """
    spots: dict[str, list[Seen]] = {}
    for look in looks:
        spots.setdefault(look.spot, []).append(look)
    off: dict[tuple[str, str], list[Fraction]] = {}
    for seen in spots.values():
        for kind in ("person", "rod", "setup"):
            own: dict[str, list[Fraction]] = {}
            for look in seen:
                own.setdefault(_name(look, kind), []).append(look.z.metres)
            sums = {name: sum(heights, Fraction(0)) for name, heights in own.items()}
            total = sum(sums.values(), Fraction(0))
            for name, heights in own.items():
                if others := len(seen) - len(heights):
                    mean = (total - sums[name]) / others
                    off.setdefault((kind, name), []).extend(height - mean for height in heights)
    found = [Bias(kind, name, _mean(each), len(each), _scatter(each)) for (kind, name), each in off.items()]
    return sorted(found, key=lambda bias: (-abs(bias.mean.metres), bias.kind, bias.name))


def _name(look: Seen, kind: str) -> str:
    return {"person": look.by, "rod": look.rod, "setup": look.setup}[kind]


def _mean(off: list[Fraction]) -> Length:
    return Length(sum(off, Fraction(0)) / len(off))


def _scatter(off: list[Fraction]) -> float | None:
    if len(off) < 2:
        return None
    mean = sum(off, Fraction(0)) / len(off)
    return sqrt(sum(((each - mean) ** 2 for each in off), Fraction(0)) / (len(off) - 1))
