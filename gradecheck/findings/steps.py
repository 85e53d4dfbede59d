"""Findings on flights of steps and ramps as they are planned."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.checks.risers import check_flight, flights_of
from gradecheck.findings.finding import Finding, Severity, of_held
from gradecheck.findings.heights import height_in
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Area, Landing, Plan, Steps


def step_findings(plan: Plan) -> Iterator[Finding]:
    """Every flight held to its rules by the heights of its points, every ramp by its runs and landings."""
    for area in plan.areas.values():
        limits = plan.limits(area)
        for steps in area.steps:
            heights = _heights(plan, area, steps)
            if steps.kind == "flight":
                for flight in flights_of(steps, heights):
                    for held in check_flight(flight, limits).held:
                        if finding := of_held(area, held, steps.line):
                            yield finding
            else:
                yield from _ramp(area, steps, heights, limits)


def _heights(plan: Plan, area: Area, steps: Steps) -> dict[str, Elevation]:
    heights = ((name, height_in(plan, area, name)) for name in steps.names)
    return {name: height for name, height in heights if height is not None}


def _ramp(area: Area, steps: Steps, heights: dict[str, Elevation], limits: Limits) -> Iterator[Finding]:
    for run in steps.rises:
        where = run.start, run.end
        start, end = heights.get(run.start), heights.get(run.end)
        if start is None or end is None or not run.run:
            continue
        rise = abs(end.above(start))
        slope = Slope(rise.metres / run.run.metres)
        steepest, highest = limits.get("ramp at most"), limits.get("ramp rise at most")
        if steepest is not None and slope > steepest.slope:
            yield Finding(Severity.FAULT, area.name, "ramp", where, slope.ratio, steepest, steps.line)
        if highest is not None and rise > highest.length:
            yield Finding(Severity.FAULT, area.name, "rise of a ramp's run", where, rise.metres, highest, steps.line)
    for landing in steps.landings:
        yield from _landing(area, landing, heights, limits, steps.line)


def _landing(
    area: Area, landing: Landing, heights: dict[str, Elevation], limits: Limits, line: int
) -> Iterator[Finding]:
    where = landing.start, landing.end
    shortest, steepest = limits.get("ramp landing at least"), limits.get("ramp landing fall at most")
    if shortest is not None and landing.length < shortest.length:
        yield Finding(Severity.FAULT, area.name, "ramp landing", where, landing.length.metres, shortest, line)
    fall = _fall(landing, heights)
    if steepest is not None and fall > steepest.slope:
        yield Finding(Severity.FAULT, area.name, "fall of a ramp's landing", where, fall.ratio, steepest, line)


def _fall(landing: Landing, heights: dict[str, Elevation]) -> Slope:
    start, end = heights.get(landing.start), heights.get(landing.end)
    drop: Length = abs(end.above(start)) if start and end else ZERO
    return Slope(drop.metres / landing.length.metres)
