"""Curvature of the earth and refraction along a sight: a reading comes out too high by their net.

They cancel between sights of equal length; on a garden site they are below any rod's marks, and only an error budget
asks for them. A mean radius of 6371 km and a refraction of 14 % of the curvature give the usual textbook figures,
0.0785 K² and 0.0675 K² metres over K kilometres and 0.0206 F² feet over F thousand feet; some take 1/7 (0.0673).
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

from gradecheck.measure.quantities import Length, metres

EARTH = metres(6_371_000)
"""The mean radius of the earth."""
REFRACTION = Fraction(14, 100)
"""The share of the curvature that refraction takes back on an ordinary day."""


def curvature(distance: Length, radius: Length = EARTH) -> Length:
    """How far a level line rises above the level surface over that distance."""
    return Length(distance.metres**2 / (2 * radius.metres))


def refraction(distance: Length, share: Fraction = REFRACTION, radius: Length = EARTH) -> Length:
    """How far the air bends the sight back down."""
    return curvature(distance, radius) * share


def too_high(distance: Length, share: Fraction = REFRACTION, radius: Length = EARTH) -> Length:
    """How much a reading at that distance comes out too high: curvature less refraction."""
    return curvature(distance, radius) - refraction(distance, share, radius)


def reaches(amount: Length, share: Fraction = REFRACTION, radius: Length = EARTH) -> Length:
    """The distance at which a reading comes out too high by that much, to the nearest millimetre."""
    return metres(Fraction(round(sqrt(2 * radius.metres * amount.metres / (1 - share)) * 1000), 1000))
