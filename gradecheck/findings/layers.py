"""Findings on build-ups, tolerances of stages and the depth of the dig."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from gradecheck.catalogue import _
from gradecheck.findings.finding import Finding, Severity, by_the_plan
from gradecheck.measure.quantities import Length
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import SUBGRADE, Area, BuildUp, Layer, Plan
from gradecheck.plan.targets import target

BASE_RULE = {"driveway": "base at least on a driveway", "street": "base at least on a street"}
"""By use of the area; everything else is walked on."""
FROM_FINISH = " from the finish"
"""Behind what is said of a depth where the plan does not say how the ground lies."""
_DEEP = {"protect dig deeper than": "depth of the dig", "way out of dig deeper than": "way out of the dig"}
"""What is said past each depth, the greater first: who protects a trench thinks of the way out too."""


def layer_findings(plan: Plan) -> Iterator[Finding]:
    """Base and bedding against their published thickness, the dig carried past the edge, tolerances, depth."""
    for area in plan.areas.values():
        limits = plan.limits(area)
        if area.build_up is not None:
            yield from _layers(area, area.build_up, limits)
            yield from _past_edge(area, area.build_up, limits)
        yield from _tolerances(area)
    yield from dig_findings(plan)


def dig_findings(plan: Plan) -> Iterator[Finding]:
    """Digs so deep that rules for trenches hold."""
    for area in plan.areas.values():
        if area.build_up is not None:
            yield from _dig(area, area.build_up, plan.limits(area))


def _layers(area: Area, build_up: BuildUp, limits: Limits) -> Iterator[Finding]:
    line = build_up.line or area.line
    for layer in build_up.layers:
        where = (build_up.name, layer.name)
        if layer.name == "base":
            rule = limits[BASE_RULE.get(area.use, "base at least on a walk")]
            if layer.thickness < rule.length:
                yield Finding(Severity.FAULT, area.name, "base thickness", where, layer.thickness.metres, rule, line)
        if layer.name == "bedding":
            yield from _bedding(area, layer, where, limits, line)


def _bedding(area: Area, layer: Layer, where: tuple[str, str], limits: Limits, line: int) -> Iterator[Finding]:
    thick, thin = limits["bedding at most"], limits["bedding at least"]
    if layer.thickness > thick.length:
        yield Finding(Severity.FAULT, area.name, "bedding thickness", where, layer.thickness.metres, thick, line)
    if layer.thickness < thin.length:
        yield Finding(Severity.ADVICE, area.name, "bedding thickness", where, layer.thickness.metres, thin, line)


def _past_edge(area: Area, build_up: BuildUp, limits: Limits) -> Iterator[Finding]:
    """Base and dig are carried past the paved edge by the larger of a published width and the base's thickness."""
    base = next((layer for layer in build_up.layers if layer.name == "base"), None)
    rule = limits["dig past edge at least"]
    if base is None or area.use in ("steps", "ramp"):
        return
    wanted = (
        rule
        if rule.length >= base.thickness
        else by_the_plan(_("as thick as the base"), "length", base.thickness.metres)
    )
    if build_up.past_edge < wanted.length:
        severity = Severity.ADVICE if build_up.past_edge else Severity.REMINDER
        where, line = (build_up.name,), build_up.line or area.line
        yield Finding(severity, area.name, "dig past the edge", where, build_up.past_edge.metres, wanted, line)


def _dig(area: Area, build_up: BuildUp, limits: Limits) -> Iterator[Finding]:
    """The deepest dig: below the ground as it lies, where the plan says how, else below the finish."""
    deepest, where, counted_from = build_up.dig, (build_up.name,), FROM_FINISH
    if area.ground is not None and area.points:
        lowest = min(area.points, key=lambda point: point.finish)
        deepest = area.ground.above(target(area, lowest, SUBGRADE).wanted)
        where, counted_from = (lowest.name,), ""
    for name, what in _DEEP.items():
        limit = limits[name]
        # The rules speak of five and four feet and deeper: at the limit it is needed already.
        if deepest >= limit.length:
            yield Finding(Severity.FAULT, area.name, what + counted_from, where, deepest.metres, limit, area.line)
            return


def _tolerances(area: Area) -> Iterator[Finding]:
    """A lower surface held tighter than the one above it costs work that the next layer hides."""
    for lower, upper in pairwise(area.stages):
        for side in ("high", "low"):
            below: Length = getattr(area.tolerances[lower], side)
            above: Length = getattr(area.tolerances[upper], side)
            if below < above:
                limit = by_the_plan(_("tolerance of {upper}", upper=upper), "length", above.metres)
                where = (lower, upper)
                yield Finding(Severity.ADVICE, area.name, "tighter than above", where, below.metres, limit, area.line)
                break
