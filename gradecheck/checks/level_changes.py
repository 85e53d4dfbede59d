"""Steps in an accessible route: what changes level there at once, planned or built, is held to one limit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from gradecheck.checks.held import Held, Verdict
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.limits import Limit, Limits
from gradecheck.plan.model import Area, Rise

LEVEL_CHANGE = "level change"
"""What a step in an accessible route is called."""


def check_level_changes(
    area: Area, heights: Mapping[str, Elevation], limits: Limits, doubt: Mapping[str, Length] | None = None
) -> Iterator[Held]:
    """Every riser of an accessible area against "level change at most", either way up; exactly at it passes.

    One of which not both ends are known is left out. Beyond the limit by less than the `doubt` of both its heights
    it can't be told.
    """
    limit = level_limit(area, limits)
    for rise in _risers(area) if limit is not None else ():
        if limit is None or not {rise.start, rise.end} <= heights.keys():
            continue
        step = abs(heights[rise.end].above(heights[rise.start])) * Fraction(1, rise.count)
        known = {} if doubt is None else doubt
        left_open = known.get(rise.start, ZERO) + known.get(rise.end, ZERO)
        verdict: Verdict = "passes"
        if step > limit.length:
            verdict = "fault" if step - left_open > limit.length else "can't tell"
        yield Held(LEVEL_CHANGE, (rise.start, rise.end), step.metres, limit, verdict)


def unread_level_changes(area: Area, heights: Mapping[str, Elevation], limits: Limits) -> tuple[Rise, ...]:
    """The risers of an accessible area of which not both ends are known."""
    if level_limit(area, limits) is None:
        return ()
    return tuple(rise for rise in _risers(area) if not {rise.start, rise.end} <= heights.keys())


def level_limit(area: Area, limits: Limits) -> Limit | None:
    """What a change in level may be in that area; None where it is no accessible route, or nobody limits it."""
    return limits.get("level change at most") if area.accessible else None


def _risers(area: Area) -> Iterator[Rise]:
    yield from (rise for steps in area.steps if steps.kind != "ramp" for rise in steps.rises)
