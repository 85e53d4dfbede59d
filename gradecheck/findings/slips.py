"""Slips of a plan: figures far from any site, names alike, examples left, limits that no laser resolves."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from math import sqrt

from gradecheck.catalogue import _
from gradecheck.findings.finding import Finding, Severity, by_the_plan, height_in
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.limits import Limit, Limits
from gradecheck.plan.model import FINISH, Area, BuildUp, Plan, Point
from gradecheck.plan.names import NamesInUse
from gradecheck.survey.uncertainty import expanded, sight_budget

ENOUGH_POINTS = 3
"""From so many on the points of an area without an outline tell how large it is."""
_STEEP = Fraction(1, 3)
"""Between two neighbors on the route; less is a bank or a ramp, however high."""


def slip_findings(plan: Plan) -> Iterator[Finding]:
    """Every figure of the plan that is far from any that a site has."""
    yield from tolerance_slips(plan)
    yield from _benchmarks(plan)
    for area in plan.areas.values():
        limits = plan.limits(area)
        yield from _top_layer(area, limits)
        yield from _size(plan, area, limits)
        yield from _heights(plan, area, limits)
        yield from _neighbors(area, limits)
        yield from _pitches(area, limits)
    yield from _degrees(plan)


def tolerance_slips(plan: Plan) -> Iterator[Finding]:
    """Tolerances that would pass anything, and those that a layer would be lost in."""
    for area in plan.areas.values():
        limits = plan.limits(area)
        for stage in area.stages:
            tolerance = area.tolerances[stage]
            limit = limits["finish tolerance at most" if stage == FINISH else "tolerance at most"]
            wide = max(tolerance.high, tolerance.low)
            if wide > limit.length:
                yield _asked(area, "tolerance", (stage,), wide, limit)
            elif area.build_up is not None:
                yield from _against_layers(area, area.build_up, stage)


def _against_layers(area: Area, build_up: BuildUp, stage: str) -> Iterator[Finding]:
    """A surface so far off that the layer below it is gone, or pokes through the one above."""
    tolerance = area.tolerances[stage]
    names = (build_up.layers[0].name,) if stage == FINISH else (stage,)
    own = [layer for layer in build_up.layers if layer.name in names or layer.before in names]
    wide = max(tolerance.high, tolerance.low)
    for layer, off in (
        *((each, wide) for each in own),
        *((each, tolerance.high) for each in build_up.above(stage)[-1:]),
    ):
        if off > layer.thickness:
            limit = by_the_plan(_("thickness of {name}", name=layer.name), "length", layer.thickness.metres)
            yield _asked(area, "tolerance against the layer", (stage, layer.name), off, limit)
            return


def _benchmarks(plan: Plan) -> Iterator[Finding]:
    """A benchmark far above or below every other."""
    limit = plan.limits()["from the benchmarks at most"]
    for mark in plan.benchmarks.values():
        others = [each.elevation for each in plan.benchmarks.values() if each is not mark]
        if others and (off := _nearest(mark.elevation, others)) > limit.length:
            yield Finding(Severity.ADVICE, "benchmarks", "far in height", (mark.name,), off.metres, limit)


def _top_layer(area: Area, limits: Limits) -> Iterator[Finding]:
    if area.build_up is None:
        return
    top, line = area.build_up.layers[0], area.build_up.line or area.line
    thin, thick = limits["top layer at least"], limits["top layer at most"]
    for limit, wrong in ((thin, top.thickness < thin.length), (thick, top.thickness > thick.length)):
        if wrong:
            where = (area.build_up.name, top.name)
            yield Finding(Severity.ADVICE, area.name, "top layer", where, top.thickness.metres, limit, line)


def _size(plan: Plan, area: Area, limits: Limits) -> Iterator[Finding]:
    """An area as small as a sheet of paper, or as far away as the next town."""
    placed = [point for point in area.points if point.at is not None]
    own: list[Place] = [point.at for point in placed if point.at is not None]
    small = limits["area at least"]
    if area.outline is not None:
        own += area.outline.ring
        across = _across(area.outline.ring)
        if across < small.length:
            yield _asked(area, "small area", ("outline",), across, small)
    elif len(placed) >= ENOUGH_POINTS and not area.has_own_rules and not area.steps:
        across = _across(own)
        if across < small.length:
            yield _asked(area, "small area", (placed[0].name, placed[-1].name), across, small)
    given = [mark.at for mark in plan.benchmarks.values() if mark.at is not None]
    given += [place for wall in plan.walls.values() for place in wall]
    large = limits["site at most"]
    if own and (across := _across([*own, *given])) > large.length:
        yield _asked(area, "large site", ("site",), across, large)


def _across(places: Iterable[Place]) -> Length:
    """The longer side of the box around them."""
    sides: list[list[Length]] = [list(along) for along in zip(*places, strict=True)]
    return max(max(along) - min(along) for along in sides)


def _heights(plan: Plan, area: Area, limits: Limits) -> Iterator[Finding]:
    """Points far above or below every benchmark; a given one without a place also far from all others."""
    datum = plan.datums.get(area.datum or "")
    names = [*plan.benchmarks, *([datum.mark] if datum else [])]
    known = [height for name in names if (height := height_in(plan, area, name)) is not None]
    far = limits["from the benchmarks at most"]
    off = {point.name: _nearest(point.finish, known) for point in area.points} if known else {}
    beyond = [name for name, by in off.items() if by > far.length]
    if beyond:
        worst = max(beyond, key=lambda name: off[name])
        line = area.point(worst).line or area.line
        where = (worst, *(name for name in beyond if name != worst))
        yield Finding(Severity.ADVICE, area.name, "far in height", where, off[worst].metres, far, line)
        return
    alone = limits["alone in height at most"]
    ordered = sorted({*(point.finish for point in area.points), *known})
    next_to = {
        here: min(abs(here.above(other)) for other in ordered[max(0, at - 1) : at + 2] if other != here)
        for at, here in enumerate(ordered)
        if len(ordered) > 1
    }
    for point in area.points:
        by = next_to.get(point.finish)
        if by is not None and by > alone.length and point.at is None and _given(point):
            yield Finding(Severity.ADVICE, area.name, "alone in height", (point.name,), by.metres, alone, point.line)


def _given(point: Point) -> bool:
    """Whether its elevation is written in a file, rather than worked out from another's."""
    return point.working.endswith(" as given") or " by the list, line " in point.working


def _nearest(height: Elevation, others: Iterable[Elevation]) -> Length:
    return min(abs(height.above(other)) for other in others)


def _neighbors(area: Area, limits: Limits) -> Iterator[Finding]:
    """Two neighbors on the route with a drop between them that nobody walks: a wall, or a slip."""
    limit = limits["drop between points at most"]
    if area.has_own_rules:
        return
    for here, there in pairwise(area.points):
        drop = abs(there.finish.above(here.finish))
        if drop <= limit.length or here.at is None or there.at is None or not (_given(here) or _given(there)):
            continue
        run = _across((here.at, there.at))
        if drop.metres > run.metres * _STEEP:
            line = there.line or area.line
            where = (here.name, there.name)
            yield Finding(Severity.ADVICE, area.name, "drop between points", where, drop.metres, limit, line)


def _pitches(area: Area, limits: Limits) -> Iterator[Finding]:
    """A fall such as 20% for 2.0%, where nobody builds a ramp."""
    limit = limits["pitch at most"]
    for point in area.points if not area.has_own_rules else ():
        if point.pitch is not None and point.pitch > limit.slope:
            where, ratio = (point.name,), point.pitch.ratio
            yield Finding(Severity.ADVICE, area.name, "steep pitch", where, ratio, limit, point.line)


def _degrees(plan: Plan) -> Iterator[Finding]:
    """Coordinates that nothing tells from degrees."""
    for listing in plan.listings:
        if listing.unsure:
            limit = by_the_plan(_("units in the file"), "count")
            where = (listing.file,)
            count = Fraction(listing.count)
            yield Finding(Severity.ADVICE, listing.area, "degrees", where, count, limit, listing.line)


def _asked(area: Area, what: str, where: tuple[str, ...], value: Length, limit: Limit) -> Finding:
    return Finding(Severity.ADVICE, area.name, what, where, value.metres, limit, area.line)


EXAMPLE = "example figure"


def example_findings(plan: Plan) -> Iterator[Finding]:
    """A fault for each line that is still marked; under its area where the targets of one alone come from it."""
    limit = by_the_plan("examples", "count")
    for line in plan.examples:
        areas = [area.name for area in plan.areas.values() if line in area.examples]
        area = areas[0] if len(areas) == 1 else _("the job")
        yield Finding(Severity.FAULT, area, EXAMPLE, tuple(areas), limit.value, limit, line)


ALIKE = "names alike"


def name_findings(plan: Plan) -> Iterator[Finding]:
    """Points, benchmarks and areas whose names differ only so; those of two alphabets are a problem of the file."""
    limit = by_the_plan("names that look alike", "count")
    areas: NamesInUse[None] = NamesInUse()
    names: NamesInUse[None] = NamesInUse()
    for benchmark in plan.benchmarks:
        names.add(benchmark, None)
    for area in plan.areas.values():
        if alike := areas.nearly(area.name):
            where = (alike[0], area.name)
            yield Finding(Severity.ADVICE, area.name, ALIKE, where, Fraction(2), limit, area.line)
        areas.add(area.name, None)
        for point in area.points:
            if alike := names.nearly(point.name):
                where = (alike[0], point.name)
                yield Finding(Severity.ADVICE, area.name, ALIKE, where, Fraction(2), limit, point.line)
            names.add(point.name, None)


LIKE_A_KEY = "names like keys"
_A_KEY = re.compile("f(?:[1-9]|1[0-2])")


def key_findings(plan: Plan) -> Iterator[Finding]:
    """Points and benchmarks called F1 to F12, which whoever reads them takes for a key; one finding an area."""
    limit = by_the_plan(_("names of keys"), "count")
    named = {"benchmarks": [(name, 0) for name in plan.benchmarks]}
    named |= {area.name: [(point.name, point.line) for point in area.points] for area in plan.areas.values()}
    for area, names in named.items():
        keys = [(name, line) for name, line in names if _A_KEY.fullmatch(name.casefold())]
        if keys:
            where = tuple(name for name, _ in keys)
            yield Finding(Severity.ADVICE, area, LIKE_A_KEY, where, Fraction(len(keys)), limit, keys[0][1])


TOO_TIGHT = "tolerance against the instrument"


def unresolved(plan: Plan) -> Iterator[Finding]:
    """Stages whose tolerance is less than twice U (k = 2): one backsight and one foresight of the longest shot.

    The finding's value is the tolerance, its limit twice U.
    """
    if plan.instrument is None:
        return
    sight = sight_budget(plan.instrument, plan.rod, ZERO, None).total
    twice = expanded(sight * sqrt(2)) * 2
    limit = Limit(TOO_TIGHT, "length", twice.metres, _("common practice, no source"))
    for area in plan.areas.values():
        for stage in area.stages:
            tolerance = min(area.tolerances[stage].high, area.tolerances[stage].low)
            if twice > tolerance:
                yield Finding(Severity.FAULT, area.name, TOO_TIGHT, (stage,), tolerance.metres, limit, area.line)
