"""Ramps: the slope and rise of every run and the fall of every landing, held to their limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from gradecheck.checks.held import Held
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.limits import Limit, Limits
from gradecheck.plan.model import Steps


def check_ramp(steps: Steps, heights: Mapping[str, Elevation], limits: Limits) -> Iterator[Held]:
    """What is limited and can be told from the heights wanted or measured, by the plan's lengths.

    A run or landing of which not both ends are known is left out. Steeper than a limit is steeper whichever way, and
    exactly at it passes.
    """
    for run in steps.rises if steps.kind == "ramp" else ():
        rise = _between(heights, run.start, run.end)
        if rise is not None and run.run:
            where = run.start, run.end
            yield from _at_most("ramp", where, rise / run.run.metres, limits.get("ramp at most"))
            yield from _at_most("rise of a ramp's run", where, rise, limits.get("ramp rise at most"))
    for landing in steps.landings if steps.kind == "ramp" else ():
        drop = _between(heights, landing.start, landing.end)
        if drop is not None:
            where, fall = (landing.start, landing.end), drop / landing.length.metres
            yield from _at_most("fall of a ramp's landing", where, fall, limits.get("ramp landing fall at most"))


def _between(heights: Mapping[str, Elevation], start: str, end: str) -> Fraction | None:
    one, other = heights.get(start), heights.get(end)
    return None if one is None or other is None else abs(other.above(one).metres)


def _at_most(what: str, where: tuple[str, ...], value: Fraction, limit: Limit | None) -> Iterator[Held]:
    if limit is not None:
        yield Held(what, where, value, limit, "fault" if value > limit.value else "passes")
