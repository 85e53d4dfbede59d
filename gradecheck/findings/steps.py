"""Findings on flights of steps and ramps as they are planned."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.checks.steps import check_flight, check_level_changes, check_ramp, drops, flights_of
from gradecheck.findings.finding import Finding, Severity, height_in, of_held
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Area, Plan, Steps

EDGE = "drop beside an edge"
"""What is found where a guard may be required beside paving; a flight's own drop is found with its risers."""


def step_findings(plan: Plan) -> Iterator[Finding]:
    """Every flight held to its rules by the heights of its points, every ramp by its runs and landings."""
    for area in plan.areas.values():
        limits = plan.limits(area)
        for steps in area.steps:
            heights = _heights(plan, area, steps)
            yield from _width(area, steps, limits)
            if steps.kind == "flight":
                for flight in flights_of(steps, heights):
                    for held in check_flight(flight, limits).held:
                        if finding := of_held(area, held, steps.line):
                            yield finding
            elif steps.kind == "ramp":
                yield from _ramp(area, steps, heights, limits)
        yield from _level_changes(plan, area, limits)


def guard_findings(plan: Plan) -> Iterator[Finding]:
    """Drops beside edges of paving, landings and walls that a guard may be required at; the deepest of each area."""
    for area in plan.areas.values():
        limits = plan.limits(area)
        deep, within = limits.get("guard above drop"), limits.get("guard within")
        if deep is None or within is None:
            continue
        for drop in drops(plan, area, within.length):
            if drop.height > deep.length:
                where = (drop.point, drop.beside)
                yield Finding(Severity.REMINDER, area.name, EDGE, where, drop.height.metres, deep, area.line)


def _level_changes(plan: Plan, area: Area, limits: Limits) -> Iterator[Finding]:
    """Steps in an accessible route."""
    heights = {name: z for steps in area.steps for name, z in _heights(plan, area, steps).items()}
    for held in check_level_changes(area, heights, limits):
        point = held.where[-1]
        line = area.point(point).line if point in area.index else area.line
        if finding := of_held(area, held, line or area.line):
            yield finding


def _heights(plan: Plan, area: Area, steps: Steps) -> dict[str, Elevation]:
    heights = ((name, height_in(plan, area, name)) for name in steps.names)
    return {name: height for name, height in heights if height is not None}


def _width(area: Area, steps: Steps, limits: Limits) -> Iterator[Finding]:
    """A flight or ramp narrower than its code asks, where the plan says how wide it is."""
    what = "ramp width" if steps.kind == "ramp" else "steps width"
    least = limits.get(f"{what} at least")
    if least is not None and steps.width is not None and steps.width < least.length:
        where, width = (steps.rises[0].start, steps.rises[-1].end), steps.width.metres
        yield Finding(Severity.FAULT, area.name, what, where, width, least, steps.line)


def _ramp(area: Area, steps: Steps, heights: dict[str, Elevation], limits: Limits) -> Iterator[Finding]:
    for held in check_ramp(steps, heights, limits):
        if finding := of_held(area, held, steps.line):
            yield finding
    shortest = limits.get("ramp landing at least")
    for landing in steps.landings:
        if shortest is not None and landing.length < shortest.length:
            where, length = (landing.start, landing.end), landing.length.metres
            yield Finding(Severity.FAULT, area.name, "ramp landing", where, length, shortest, steps.line)
