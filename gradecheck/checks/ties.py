"""Tape ties: how far a point lies from two marks or corners, so that two tapes find it on the ground."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import acos, degrees, hypot, sqrt

from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import Length

LEAST, MOST = 30, 150
"""Degrees between which two tapes cross well enough to tell a place (common practice, no source)."""
_SHARPEST = Fraction(3, 4)
"""The square of the cosine of both."""
_HAIR = 1e-9
NEAREST = 40
"""Marks nearest to a point that are looked at; an outline of a hundred corners is taped from those at hand."""


@dataclass(frozen=True, slots=True)
class Tie:
    """One tape to pull: from that mark, and how long."""

    mark: str
    at: Place
    length: Length


@dataclass(frozen=True, slots=True)
class Ties:
    """Two tapes that cross at a point; `cosine` is that of the angle between them."""

    one: Tie
    other: Tie
    cosine: float

    @property
    def both(self) -> tuple[Tie, Tie]:
        """The two of them."""
        return self.one, self.other


def crossing(ties: Ties) -> float:
    """The angle at which the tapes cross, in degrees."""
    return degrees(acos(ties.cosine))


def ties_to(at: Place, marks: Sequence[tuple[str, Place]]) -> Ties | None:
    """The two tapes to that place that cross best: nearest to square, of equals the shorter, then as they are listed.

    Only the `NEAREST` are looked at; None where no two of them cross between `LEAST` and `MOST` degrees. Lengths are
    exact wherever they have an exact value, else to a nanometre.
    """
    away = [(name, place, (place[0] - at[0]).metres, (place[1] - at[1]).metres) for name, place in marks]
    away = [each for each in away if each[2] or each[3]]
    if len(away) > NEAREST:
        kept = sorted(range(len(away)), key=lambda place: away[place][2] ** 2 + away[place][3] ** 2)[:NEAREST]
        away = [away[place] for place in sorted(kept)]
    best: tuple[Fraction, float, int, int] | None = None
    for one, other in _squarest([(float(x), float(y)) for _, _, x, y in away]):
        (_, _, x, y), (_, _, u, v) = away[one], away[other]
        square = (x * u + y * v) ** 2 / ((x * x + y * y) * (u * u + v * v))
        both = square, hypot(x, y) + hypot(u, v), one, other
        if best is None or both < best:
            best = both
    if best is None or best[0] > _SHARPEST:
        return None
    (name, place, x, y), (other_name, other_place, u, v) = away[best[2]], away[best[3]]
    cosine = sqrt(best[0]) * (1 if x * u + y * v >= 0 else -1)
    return Ties(
        Tie(name, place, distance(at, place)), Tie(other_name, other_place, distance(at, other_place)), cosine
    )


def _squarest(ways: Sequence[tuple[float, float]]) -> Iterator[tuple[int, int]]:
    """The pairs that cross within a hair of the best, as floats tell; fractions decide between them."""
    pairs = list(combinations(range(len(ways)), 2))
    long = [hypot(*way) for way in ways]
    if not all(long):  # nearer than a float can tell
        yield from pairs
        return
    cosines = [
        abs(ways[one][0] * ways[other][0] + ways[one][1] * ways[other][1]) / (long[one] * long[other])
        for one, other in pairs
    ]
    least = min(cosines, default=0.0) + _HAIR
    yield from (pair for pair, cosine in zip(pairs, cosines, strict=True) if cosine <= least)
