"""Pint's own full list of units: the outside opinion, which is not the list under test."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pint


@cache
def everything() -> pint.UnitRegistry[Fraction]:
    """Every unit that pint knows, with exact numbers; made once, and only where a test asks for it."""
    return pint.UnitRegistry(non_int_type=Fraction)
