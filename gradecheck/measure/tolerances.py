"""Reads how far off something may be, alike both ways or high and low apart; nothing else is a tolerance."""

from __future__ import annotations

import re
from dataclasses import dataclass

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.measure.typed import LONGEST, NotUnderstoodError, plain_signs, read_length, unit_named


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The difference allowed above (`high`) and below (`low`) the wanted elevation; both are inclusive."""

    high: Length
    low: Length


_HIGH_AND_LOW = re.compile(r"\+(?P<high>[^ +-][^+]*?)(?: ?/ ?| )-(?P<low>[^ +-][^+]*)")
_ALIKE = re.compile(r"(?:± ?)?(?P<size>[^ +-].*)")


def read_tolerance(text: str, units: Units, apart: str = "") -> Tolerance:
    """How far above and below that text allows: ``+1/2 -1/4``, ``+1/2/-1/4``, ``±1/2``, or ``1/2`` for both ways.

    A bare number counts `units`. Raises `NotUnderstoodError` with one sentence that names `apart`, the way that
    leaves nothing open; where none is given, as a job file writes it.
    """
    plain, words = plain_signs(text), units.examples
    apart = apart or words.apart
    try:
        if len(plain) <= 2 * LONGEST:
            if found := _HIGH_AND_LOW.fullmatch(plain):
                return _apart(found["high"], found["low"], units)
            if found := _ALIKE.fullmatch(plain):
                size = read_length(found["size"], units)
                return Tolerance(size, size)
    except NotUnderstoodError as wrong:
        raise NotUnderstoodError(f"{str(wrong).removesuffix('.')}; or write {apart}.") from wrong
    if plain.startswith("-"):
        raise NotUnderstoodError(f"A tolerance is written without a minus: {words.tolerance}, or {apart}.")
    shown = f"“{plain[:LONGEST]}”" if plain.isprintable() else "This"
    raise NotUnderstoodError(
        f"{shown} is not a tolerance; write {words.tolerance}, +{words.high} -{words.tolerance}, or write {apart}."
    )


def _apart(high: str, low: str, units: Units) -> Tolerance:
    found = Tolerance(read_length(high, units), read_length(low, units))
    # “+1/2 -1/4 in” in a job in feet: nobody writes half a foot so, and a unit behind both is not read for both.
    for bare, named in (high, low), (low, high):
        unit = unit_named(named)
        if unit_named(bare) is None and unit is not None:
            size = read_length(bare, units)
            if size and unit != units.one:
                raise NotUnderstoodError(f"“+{high} -{low}” has a unit at one of its two numbers; write it at both.")
    return found
