"""Ramps: the slope and rise of every run and the fall of every landing, held to their limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from gradecheck.checks.held import Held, Verdict
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import Elevation, Length, feet
from gradecheck.plan.limits import RULES, Limit, Limits
from gradecheck.plan.model import Area, Steps

GENTLEST = max(figure.value for figure in RULES["accessible run at most"].by.values())
"""Steeper than this a walk is a ramp, in the code that says when."""
STEEPEST, SHORTEST = Fraction(1, 4), feet(3)
"""Steeper ground is a bank, and what is shorter a curb or a step; common practice, no source."""


def check_ramp(
    steps: Steps, heights: Mapping[str, Elevation], limits: Limits, doubts: Mapping[str, Length] | None = None
) -> Iterator[Held]:
    """What is limited and can be told from the heights wanted or measured, by the plan's lengths.

    A run or landing of which not both ends are known is left out. Steeper than a limit is steeper whichever way, and
    exactly at it passes. Beyond it by less than the `doubts` of both heights leave open it can't be told.
    """
    for run in steps.rises if steps.kind == "ramp" else ():
        rise, left = _between(heights, run.start, run.end), _left_open(doubts, run.start, run.end)
        if rise is not None and run.run:
            where = run.start, run.end
            slope, over = rise / run.run.metres, left / run.run.metres
            yield from _at_most("ramp", where, slope, limits.get("ramp at most"), over)
            yield from _at_most("rise of a ramp's run", where, rise, limits.get("ramp rise at most"), left)
    for landing in steps.landings if steps.kind == "ramp" else ():
        drop = _between(heights, landing.start, landing.end)
        if drop is not None:
            where, fall = (landing.start, landing.end), drop / landing.length.metres
            over = _left_open(doubts, *where) / landing.length.metres
            yield from _at_most(
                "fall of a ramp's landing", where, fall, limits.get("ramp landing fall at most"), over
            )


def unmarked_ramps(area: Area) -> tuple[str, ...]:
    """Where an area that is called neither ramp nor steps falls as a ramp does, from point to point as it is written.

    Steeper than an accessible walk may run, over a yard or more. An accessible area is held to that as a walk, and
    what vehicles use is no ramp.
    """
    if area.accessible or area.use in ("ramp", "steps", "driveway", "street"):
        return ()
    told = {name for steps in area.steps for name in steps.every_name}
    found = []
    for place, point in enumerate(area.points):
        before = area.points[place - 1] if place else None
        if point.pitch is not None and point.run is not None:
            slope, run, where = point.pitch.ratio, point.run, f"to {point.name}"
        elif before is not None and before.spot is not None and point.spot is not None and before.at != point.at:
            run = distance(before.spot.at, point.spot.at)
            slope = abs(before.finish.above(point.finish)).metres / run.metres if run else Fraction(0)
            where = f"{before.name} to {point.name}"
        else:
            continue
        if point.name not in told and GENTLEST < slope <= STEEPEST and run >= SHORTEST:
            found.append(where)
    return tuple(found)


def _between(heights: Mapping[str, Elevation], start: str, end: str) -> Fraction | None:
    one, other = heights.get(start), heights.get(end)
    return None if one is None or other is None else abs(other.above(one).metres)


def _left_open(doubts: Mapping[str, Length] | None, *names: str) -> Fraction:
    return sum((doubts[name].metres for name in names if doubts and name in doubts), Fraction(0))


def _at_most(
    what: str, where: tuple[str, ...], value: Fraction, limit: Limit | None, left: Fraction
) -> Iterator[Held]:
    if limit is not None:
        verdict: Verdict = "passes"
        if value > limit.value:
            verdict = "fault" if value - left > limit.value else "can't tell"
        yield Held(what, where, value, limit, verdict)
