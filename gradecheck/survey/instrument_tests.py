"""Field checks of the instrument, from first principles: the two-peg test and four directions on the spot.

They are no standard's own procedure and settle nothing about acceptance; they tell when to have it adjusted. Readings
are those of a standard rod, and a slope error is positive where the beam rises, so that it reads too much.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import atan, degrees, isqrt

from gradecheck.catalogue import _
from gradecheck.measure.judged import judged_number
from gradecheck.measure.quantities import ZERO, Length, Slope

_FINENESS = 10**12
"""A lean is rounded up to a millionth of a millimetre in a kilometre."""


@dataclass(frozen=True, slots=True)
class TwoPegs:
    """What a two-peg test found: how far B lies above A, the slope error, and the second readings corrected."""

    rise: Length
    slope_error: Slope
    reading_a: Length
    reading_b: Length


def two_pegs(midway: tuple[Length, Length], off: tuple[Length, Length], distances: tuple[Length, Length]) -> TwoPegs:
    """The two-peg test from readings on pegs A and B: midway between them, then with unequal `distances` to A and B.

    Curvature is left aside. Raises ValueError, in one sentence, where the distances tell nothing.
    """
    to_a, to_b = distances
    if to_a < ZERO or to_b < ZERO:
        raise ValueError(_("A distance to a peg can't be negative."))
    if to_a == to_b:
        raise ValueError(_("The second setup is as far from A as from B and shows nothing; set up close to one peg."))
    rise = midway[0] - midway[1]
    error = Slope(((off[0] - off[1]) - rise).metres / (to_a - to_b).metres)
    return TwoPegs(rise, error, level_reading(off[0], error, to_a), level_reading(off[1], error, to_b))


def level_reading(reading: Length, slope_error: Slope, distance: Length) -> Length:
    """What the rod would have shown at that distance with a level beam."""
    return reading - slope_error.over(distance)


@dataclass(frozen=True, slots=True)
class FourDirections:
    """How the plane leans along the instrument's own two axes, from one target seen with it turned on the spot.

    `spread` is the larger difference between opposite directions: twice what the lean does to a reading. `uneven` is
    how far the means of the two pairs lie apart, which a lean cannot do: the target or the instrument was moved, or
    it was misread. A cone error common to all directions does not show here; the two-peg test finds it.
    """

    x: Slope
    y: Slope
    spread: Length
    uneven: Length

    @property
    def lean(self) -> Slope:
        """The steepest lean of the plane, rounded up where its root is not exact."""
        square = (self.x.ratio**2 + self.y.ratio**2) * _FINENESS**2
        root = isqrt(square.numerator // square.denominator)
        return Slope(Fraction(root if root * root == square else root + 1, _FINENESS))

    def within(self, limit: Slope) -> bool:
        """Whether the steepest lean is within the limit, decided exactly; at the limit it is."""
        return self.x.ratio**2 + self.y.ratio**2 <= limit.ratio**2


def four_directions(readings: tuple[Length, Length, Length, Length], distance: Length) -> FourDirections:
    """The lean from readings on one target, with the instrument turned 0, 90, 180 and 270 degrees.

    Raises ValueError, in one sentence, where the target is no distance away.
    """
    if distance <= ZERO:
        raise ValueError(_("The target must be some distance away, the farther the better."))
    ahead, right, back, left = readings
    twice = (distance * 2).metres
    return FourDirections(
        x=Slope((ahead - back).metres / twice),
        y=Slope((right - left).metres / twice),
        spread=max(abs(ahead - back), abs(right - left)),
        uneven=abs(ahead + back - right - left) * Fraction(1, 2),
    )


def arc_seconds(slope: Slope) -> float:
    """The slope as an angle in seconds of arc, to be shown."""
    return degrees(atan(slope.ratio)) * 3600


def advice(found: Slope, limit: Slope | None) -> str:
    """What a test means for the instrument, in a sentence; at the limit it still passes."""
    size = Slope(abs(found.ratio))
    if limit is None:
        return _(
            "The beam is off by {arc_seconds:.1f} arc-seconds; the plan gives no limit for it.",
            arc_seconds=arc_seconds(size),
        )
    seconds, most = (Fraction(arc_seconds(slope)) for slope in (size, limit))
    texts = judged_number(seconds, most, passes=size <= limit, places=1)
    if size <= limit:
        return _(
            "The beam is off by {found} arc-seconds, within the {limit} the plan allows.",
            found=texts.found,
            limit=texts.limit,
        )
    return _(
        "The beam is off by {found} arc-seconds and the plan allows {limit}: have it adjusted.",
        found=texts.found,
        limit=texts.limit,
    )
