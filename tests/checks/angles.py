"""Angles in degrees, as books on layout print them; the program itself holds a lean as a ratio."""

from __future__ import annotations

from math import asin, degrees

from gradecheck.measure.quantities import Slope


def in_degrees(lean: Slope) -> float:
    """The angle whose sine the lean is."""
    return degrees(asin(float(lean.ratio)))
