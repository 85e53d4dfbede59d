"""Which checks of an area could apply and can't be made, and what it would take to make them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from gradecheck.catalogue import _, plural
from gradecheck.checks.drains import at_walls, building
from gradecheck.checks.layout import to_tape
from gradecheck.checks.not_checked import NotChecked, not_limited
from gradecheck.checks.ponding import can_pond
from gradecheck.checks.steps import LEVEL_CHANGE, unchecked_risers, unmarked_ramps, unread_level_changes
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import Triangles
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.model import SUBGRADE, Area, Layout, Plan, Rise, Steps
from gradecheck.state.built import found_heights
from gradecheck.state.state import State, Surface

PONDING = "ponding"
SQUARENESS = "squareness"
TAPE_IT = _("tape all sides and both diagonals")
UNITS = frozenset(("paver", "pavers", "slab", "slabs", "bedding"))
"""Layers by which an area is known to be laid of units, so that there are joints between them to gauge."""


def not_made(
    state: State,
    area: Area,
    stage: str,
    spots: Sequence[Spot],
    joined: Triangles | None,
    starts: Mapping[str, Elevation],
) -> Iterator[NotChecked]:
    """What can't be checked of the area at that stage; nothing where nobody read there yet.

    `spots` are its points that were read and have a place, `joined` the triangles between them where their falls are
    asked, and `starts` the heights of what its steps begin at elsewhere.
    """
    if not state.checked(area.name, stage):
        return
    datum = state.plan.datums.get(area.datum or "")
    if datum is not None and state.zero_of(datum.name) is None:
        yield NotChecked(
            "heights",
            _("the datum {name} is not tied now", name=datum.name),
            _("shoot {mark} again", mark=datum.mark),
        )
    heights = found_heights(state, area.name, stage)
    finished = stage == area.stages[-1]
    if finished:
        known = {**starts, **heights}
        for steps in area.steps:
            yield from _steps(steps, known)
        yield from _level_changes(state.plan, area, known)
        yield from _ramp(area, known)
    if stage != SUBGRADE and not area.has_own_rules:
        yield from _places(area, heights, finished=finished)
    if finished and not area.has_own_rules:
        yield from _near_building(state.plan, area)
        yield from _ponding(state, spots, joined)
    if finished:
        yield from _gauged(state, area)
    yield from _squareness(state, area)
    yield from _left_out(state, area, stage, heights)
    for below in area.stages[: area.stages.index(stage)]:
        if not state.checked(area.name, below):
            yield NotChecked(
                "layers", _("{below} was not read", below=below), _("read it before {stage} covers it", stage=stage)
            )
    if finished:
        yield from not_limited(state.plan, area)


def _steps(steps: Steps, known: Mapping[str, Elevation]) -> Iterator[NotChecked]:
    if steps.kind == "riser":
        [rise] = steps.rises
        why = _("one riser alone, {start} to {end}, may be a step or a curb", start=rise.start, end=rise.end)
        yield NotChecked("steps", why, _("“use: steps” in its area holds it to the rules of steps"))
        return
    if steps.kind != "flight":
        return
    several = [rise for rise in steps.rises if rise.count > 1]
    for rise in several:
        why = _(
            "{count} risers between {start} and {end}, without points between",
            count=rise.count,
            start=rise.start,
            end=rise.end,
        )
        yield NotChecked("steps", why, _("make every nosing a point, or write “flight:”"))
    unread = [rise for rise in unchecked_risers(steps, known) if rise not in several]
    if unread:
        missing = dict.fromkeys(name for rise in unread for name in (rise.start, rise.end) if name not in known)
        risers = some([_named(rise) for rise in unread])
        these = plural(len(unread), "riser {risers}", "risers {risers}", risers=risers)
        why = plural(
            len(missing),
            "{these}: {missing} is not known",
            "{these}: {missing} are not known",
            these=these,
            missing=some(list(missing)),
        )
        yield NotChecked("steps", why, _("read both ends"))
    lost = [
        _("{start} to {end}", start=each.start, end=each.end)
        for each in steps.landings
        if not {each.start, each.end} <= known.keys()
    ]
    if lost:
        why = plural(
            len(lost),
            "landing {landings}: not both ends are known",
            "landings {landings}: not both ends are known",
            landings=some(lost),
        )
        yield NotChecked("steps", why, _("read both ends"))
    treads = _("the depth and the fall of the treads are not measured here")
    yield NotChecked("treads", treads, _("tape each tread, and lay a level on it"))


def _level_changes(plan: Plan, area: Area, known: Mapping[str, Elevation]) -> Iterator[NotChecked]:
    if unread := unread_level_changes(area, known, plan.limits(area)):
        why = _("{unread}: not both ends are known", unread=some([_named(rise) for rise in unread]))
        yield NotChecked(LEVEL_CHANGE, why, _("read both ends"))


def _named(rise: Rise) -> str:
    return _("{start} to {end}", start=rise.start, end=rise.end)


def _ramp(area: Area, known: Mapping[str, Elevation]) -> Iterator[NotChecked]:
    ramps = [steps for steps in area.steps if steps.kind == "ramp"]
    if not ramps and area.use == "ramp":
        yield NotChecked(
            "ramp", _("its runs and landings are written as points"), _("write it as “ramp:”, with its runs")
        )
    for steps in ramps:
        spans = [(run.start, run.end) for run in steps.rises]
        spans += [(landing.start, landing.end) for landing in steps.landings]
        lost = [
            _("{start} to {end}", start=start, end=end) for start, end in spans if not {start, end} <= known.keys()
        ]
        if lost:
            yield NotChecked("ramp", _("{lost}: not both ends are known", lost=some(lost)), _("read both ends"))
    if ramps or area.use == "ramp":
        why = _("flatness and ponding of a ramp's runs and landings are not worked out")
        yield NotChecked("flatness", why, _("lay a straightedge on them, and pour water on the landings"))
    unmarked = unmarked_ramps(area)
    if unmarked:
        why = _(
            "{unmarked} falls as a ramp does, and {name} is not said to be one",
            unmarked=some(unmarked),
            name=area.name,
        )
        yield NotChecked("ramp", why, _("say “use: ramp”, or write it as “ramp:”, with its runs"))
    if area.use == "ramp" or ramps or unmarked:
        why = _("no points on both edges of the ramp tell its cross slope")
        if area.travel:
            why = _("the cross slope of a ramp is not worked out from its edges")
        yield NotChecked(
            "cross fall", why, _("read both edges; checks --line LEFT,RIGHT tells the fall between them")
        )


def _places(area: Area, heights: Mapping[str, Elevation], *, finished: bool) -> Iterator[NotChecked]:
    """Points that were read and that no check of the surface can use."""
    lost = [point.name for point in area.points if point.at is None and point.name in heights]
    if lost:
        if finished:
            why = plural(
                len(lost),
                "{points} has no place, so slopes, flatness and ponding leave it out",
                "{points} have no place, so slopes, flatness and ponding leave them out",
                points=some(lost),
            )
        else:
            why = plural(
                len(lost),
                "{points} has no place, so flatness leaves it out",
                "{points} have no place, so flatness leaves them out",
                points=some(lost),
            )
        yield NotChecked("places", why, plural(len(lost), "give it “at: [x, y]”", "give them “at: [x, y]”"))


def _near_building(plan: Plan, area: Area) -> Iterator[NotChecked]:
    """Water that is to run away from a mark may have a building there, which only a wall of the plan tells."""
    away = area.drains.away_from if area.drains and area.use != "pool deck" else None
    if away and away not in plan.walls and building(plan) is None and plan.limits(area).get("near building"):
        why = _("{away} is a mark, and the plan names no wall, so no ground counts as near a building", away=away)
        yield NotChecked("falls", why, _("draw the building under “walls:”"))


def _ponding(state: State, spots: Sequence[Spot], joined: Triangles | None) -> Iterator[NotChecked]:
    if joined is None or not joined.corners:
        why = (
            plural(
                len(spots),
                "only {n} point with a place was read",
                "only {n} points with a place were read",
            )
            if spots
            else _("no point with a place was read")
        )
        yield NotChecked(PONDING, why, _("three or more that are not in one line make a surface"))
    elif not can_pond(joined, at_walls(state.plan, spots)):
        why = _("every point read lies on the edge, where water is taken to run off")
        yield NotChecked(PONDING, why, _("read points inside it too"))


def _gauged(state: State, area: Area) -> Iterator[NotChecked]:
    kinds = {kept.fact.kind for kept in state.record.gauged(area.name)}
    layers = {layer.name.casefold() for layer in area.build_up.layers} if area.build_up else set()
    if "lippage" not in kinds and layers & UNITS:
        yield NotChecked(
            "gauged",
            _("no joint was gauged for lippage"),
            _("gauge JOB lippage “{name}” WHERE LENGTH", name=area.name),
        )
    if "above drain" not in kinds and area.drains and area.drains.into:
        why = _("nobody gauged how far the paving is above {into}", into=some(area.drains.into))
        yield NotChecked("gauged", why, _("gauge JOB drain “{name}” WHERE LENGTH", name=area.name))


def _squareness(state: State, area: Area) -> Iterator[NotChecked]:
    """The layout checks of its outline that nobody taped, or not whole."""
    for layout in state.plan.layout.values():
        if layout.area == area.name and (why := not_taped(state, layout)):
            yield NotChecked(SQUARENESS, why, TAPE_IT)


def not_taped(state: State, layout: Layout) -> str:
    """Why a layout check proves nothing yet; empty where all is taped that shows the shape."""
    taped = state.record.taped(layout.name).keys()
    wanted = {each.pair for each in to_tape(layout.corners)}
    if wanted <= taped:
        return ""
    return (
        _("not all of {name} is taped", name=layout.name)
        if wanted & taped
        else _("nobody taped {name}", name=layout.name)
    )


def _left_out(state: State, area: Area, stage: str, heights: Mapping[str, Elevation]) -> Iterator[NotChecked]:
    """Points that were read and that no check counts, since nobody may trust or work out what was found."""
    lost = [
        point.name
        for point in area.points
        if point.name not in heights and state.latest(Surface(area.name, point.name, stage)) is not None
    ]
    if lost:
        why = _("{lost}: in doubt or without a setup that counts, so every check leaves them out", lost=some(lost))
        yield NotChecked("points", why, _("read them again"))
