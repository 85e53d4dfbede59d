"""Whether a plan agrees with itself: two routes to one point, places, pitches, drains."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.findings.finding import Finding, Severity, by_the_plan, height_in
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.targets import BY_SURFACE

NEARLY = Fraction(1, 8)
"""Two pitches that differ by less than this share of themselves are meant as one."""


def sense_findings(plan: Plan) -> Iterator[Finding]:
    """Everything in which a plan contradicts itself."""
    for area in plan.areas.values():
        yield from _second_routes(area)
        yield from _against_surface(area)
        yield from _places(area)
        yield from _pitches(plan, area)
        yield from _drains(plan, area)
    yield from _rounding(plan)
    yield from _pitch_costs(plan)


def _second_routes(area: Area) -> Iterator[Finding]:
    agree = by_the_plan(_("the other route"), "length")
    for point in area.points:
        exact = point.exact or point.finish
        if point.other is not None and point.other != exact:
            by = point.other.above(exact)
            yield Finding(Severity.FAULT, area.name, "two routes", (point.name,), by.metres, agree, point.line)


def _against_surface(area: Area) -> Iterator[Finding]:
    """A point with an elevation of its own that lies on a surface which says another."""
    agree = by_the_plan(_("the surface"), "length")
    apart = {name for steps in area.steps if steps.kind != "riser" for name in steps.every_name}
    if area.drains is not None:
        apart.update(area.drains.into)  # a drain lies a little below the paving, within limits of its own
    for point in area.points:
        if (
            area.surface is None
            or point.at is None
            or point.working == BY_SURFACE
            or point.instead
            or point.name in apart
        ):
            continue
        there = area.surface.elevation(point.at)
        exact = point.exact or point.finish
        if there is not None and there != exact:
            by = there.above(exact)
            yield Finding(Severity.FAULT, area.name, "off the surface", (point.name,), by.metres, agree, point.line)


def _places(area: Area) -> Iterator[Finding]:
    taken: dict[Place, Point] = {}
    for point in area.points:
        if point.at is None:
            continue
        # Steps and the walk they stand on share places; only one height at one place is drawn twice. Where a grid
        # comes out on a point that is drawn, the office has nothing to take out.
        first = point if point.made else taken.setdefault(point.at, point)
        if first is not point and first.finish == point.finish:
            where, limit = (first.name, point.name), by_the_plan("one point at one place", "count", Fraction(1))
            yield Finding(Severity.ADVICE, area.name, "drawn twice", where, Fraction(2), limit, point.line)
        if area.outline is not None and not area.outline.contains(point.at):
            limit = by_the_plan(_("the outline"), "count", Fraction(0))
            yield Finding(
                Severity.FAULT, area.name, "outside the outline", (point.name,), Fraction(1), limit, point.line
            )


def _pitches(plan: Plan, area: Area) -> Iterator[Finding]:
    """A fall so near the job's own pitch that it stands for it: the rule of thumb and the exact pitch, mixed."""
    if plan.pitch is None:
        return
    rule = plan.pitch.rule
    limit = by_the_plan("pitch", "slope", rule.ratio)
    for point in area.points:
        if point.pitch is not None and 0 < abs(point.pitch.ratio - rule.ratio) <= NEARLY * rule.ratio:
            yield Finding(
                Severity.ADVICE, area.name, "two pitches", (point.name,), point.pitch.ratio, limit, point.line
            )


def _pitch_costs(plan: Plan) -> Iterator[Finding]:
    """How far the rule of thumb leads from the exact pitch at the point that is off most, in each area."""
    pitch = plan.pitch
    if pitch is None or pitch.exact is None or pitch.exact == pitch.rule:
        return
    for area in plan.areas.values():
        ruled = [point for point in area.points if point.pitch == pitch.rule and point.run is not None]
        longest = max(ruled, key=lambda point: point.run or ZERO, default=None)
        if longest is not None and longest.run is not None:
            falls, where = pitch.rule.over(longest.run).metres, (longest.name,)
            limit = by_the_plan("exact pitch", "length", pitch.exact.over(longest.run).metres)
            yield Finding(Severity.REMINDER, area.name, "rule of thumb", where, falls, limit, longest.line)


def _rounding(plan: Plan) -> Iterator[Finding]:
    """What rounding the targets costs at most, in each area."""
    if plan.round_to is None:
        return
    for area in plan.areas.values():
        rounded = [point for point in area.points if point.exact is not None]
        worst = max(rounded, key=_rounded_by, default=None)
        if worst is not None:
            limit = by_the_plan("round targets", "length", plan.round_to.metres)
            where = (worst.name,)
            yield Finding(Severity.REMINDER, area.name, "rounding", where, _rounded_by(worst), limit, worst.line)


def _rounded_by(point: Point) -> Fraction:
    return abs(point.finish.above(point.exact).metres) if point.exact is not None else Fraction(0)


def _drains(plan: Plan, area: Area) -> Iterator[Finding]:
    """A drain that lies above what it drains, or too far below or above the surface around it."""
    if area.drains is None:
        return
    limits, into = plan.limits(area), set(area.drains.into)
    lowest = min((point.finish for point in area.points if point.name not in into), default=None)
    for name in area.drains.into:
        home, height = plan.areas.get(plan.area_of.get(name, "")), height_in(plan, area, name)
        if home is None or height is None:
            continue
        drain = home.point(name)
        # Most drains lie lowest, and then no point needs to be looked at.
        for point in area.points if lowest is not None and height > lowest else ():
            below = height.above(point.finish)
            if point.name not in into and below > ZERO:
                where, limit = (name, point.name), by_the_plan(_("the drain lies lowest"), "length")
                yield Finding(Severity.FAULT, area.name, "drain above", where, below.metres, limit, drain.line)
        if area.surface is None or drain.at is None or (there := area.surface.elevation(drain.at)) is None:
            continue
        above = there.above(height)
        least, most = limits["above drain at least"], limits["above drain at most"]
        for limit, wrong in ((least, above < least.length), (most, above > most.length)):
            if wrong:
                yield Finding(Severity.ADVICE, area.name, "above the drain", (name,), above.metres, limit, drain.line)
