"""An area as it was built, held to its limits: does it drain, is it flat, are the steps equal, what was over-dug."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from gradecheck.catalogue import _
from gradecheck.checks.dig import Difference, Fill, OverDig, OverDug, fill
from gradecheck.checks.drains import no_way_out
from gradecheck.checks.falls import Fall
from gradecheck.checks.flatness import (
    Flatness,
    judge_above_drain,
    judge_lippage,
)
from gradecheck.checks.held import Held
from gradecheck.checks.layout import Squareness, allowed_off, check_outline
from gradecheck.checks.line_falls import UnjudgedFall, judge_across
from gradecheck.checks.not_checked import NotChecked
from gradecheck.checks.ponding import Pond, Ponding
from gradecheck.checks.slope import JudgedFall, JudgedFalls, JudgedPlane, RouteFalls
from gradecheck.checks.squaring import CornerMove, squaring
from gradecheck.checks.steps import (
    Ahead,
    FlightCheck,
    check_flight,
    check_level_changes,
    check_ramp,
    flights_of,
    level_limit,
    to_end_right,
)
from gradecheck.journal.facts import Gauged, Undercut
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import SUBGRADE, Area, Layout
from gradecheck.plan.stone import Stone
from gradecheck.state.built import differences, doubt_of_mark, doubts_of, found_heights, found_spots
from gradecheck.state.built_area import BuiltArea
from gradecheck.state.dig_so_far import joined_points, parted_dig
from gradecheck.state.not_made import not_made
from gradecheck.state.state import State, Surface


@dataclass(frozen=True)
class AreaChecks:
    """Everything that can be told of an area at one stage from the readings that are trusted.

    `read` of `points` were read there. What can't be told is None or empty. What rules say of water and of steps is
    said of the surface people walk on, so below the finish (not `finished`) there are no falls, plane, ponds and
    flights; a straightedge is laid from the base up. `not_checked` tells which checks could
    apply and were not made.
    """

    area: str
    stage: str
    read: int
    points: int
    falls: JudgedFalls | None
    route: RouteFalls | None
    plane: JudgedPlane | None
    ponds: tuple[Pond, ...]
    flatness: tuple[Flatness, ...]
    flights: tuple[FlightCheck, ...]
    gauged: tuple[Held, ...]
    finished: bool = True
    flooded: bool = False
    """Whether low spots that hold water were looked for."""
    no_way_out: tuple[str, ...] = ()
    """The spots from which water can't leave: walls on every side, and no drain."""
    not_checked: tuple[NotChecked, ...] = ()
    ramps: tuple[Held, ...] = ()
    level_changes: tuple[Held, ...] = ()
    """Steps in an accessible route."""


@dataclass(frozen=True)
class UndercutArea:
    """What was ordered dug below an area's subgrade, as far as it was dug, and the stone that fills that.

    `orders` are what was ordered, each with who ordered it.
    """

    dug: OverDug
    stone: Fill | None
    orders: tuple[Undercut, ...]


@dataclass(frozen=True)
class OverDugArea:
    """What an area's dig was too deep by, and the stone that fills it."""

    area: str
    dug: OverDug
    stone: Fill | None
    undercut: UndercutArea | None = None


def topmost_stage(state: State, area: Area) -> str:
    """The highest stage at which anything was read; the finish where nothing was."""
    read = (stage for stage in reversed(area.stages) if state.checked(area.name, stage))
    return next(read, area.stages[-1])


def check_area(state: State, name: str, stage: str | None = None) -> AreaChecks:
    """The area held to its limits at a stage, the topmost that was read where none is named."""
    area = state.plan.areas[name]
    stage = stage or topmost_stage(state, area)
    if lines := _examples(state, area, stage):
        return _of_examples(state, area, stage, lines)
    finished, paved = stage == area.stages[-1], not area.has_own_rules
    built = BuiltArea(state, area, stage) if paved and stage != SUBGRADE else None
    surface = built if built is not None and finished and built.found else None
    drains, flatness = surface is not None and len(surface.found) > 1, built.flatness() if built is not None else ()
    flooding = surface.flooding if surface is not None else None
    ponding = surface.ponding() if surface is not None and drains else Ponding((), ())
    starts = _starts(state, area) if finished else {}
    return AreaChecks(
        area=name,
        stage=stage,
        read=state.checked(name, stage),
        points=len(area.points),
        falls=surface.falls() if surface is not None and drains else None,
        route=surface.route() if surface is not None and drains and area.accessible else None,
        plane=surface.plane() if surface is not None and drains else None,
        ponds=ponding.ponds,
        no_way_out=no_way_out(state.plan, flooding, ponding) if flooding is not None else (),
        flatness=flatness,
        flights=_flights(state, area, stage, starts) if finished else (),
        gauged=_gauged(state, area),
        finished=finished,
        flooded=flooding is not None and bool(flooding.corners),
        not_checked=(
            *not_made(state, area, stage, found_spots(state, name, stage), flooding, starts),
            *(built.not_checked(finished=finished) if built is not None else ()),
        ),
        ramps=_ramps(state, area, stage, starts) if finished else (),
        level_changes=_level_changes(state, area, stage, starts) if finished else (),
    )


def _examples(state: State, area: Area, stage: str) -> list[int]:
    """The lines with example figures that anything read of the area at that stage leans on."""
    if not state.plan.examples:
        return []
    surfaces = [Surface(area.name, point.name, stage) for point in area.points]
    read = [(surface, shot) for surface in surfaces if (shot := state.latest(surface)) is not None]
    return sorted({line for surface, shot in read for line in state.examples(surface, shot.setup)})


def _of_examples(state: State, area: Area, stage: str, lines: Sequence[int]) -> AreaChecks:
    """Nothing is held to figures that are examples still."""
    why = _("{value}, job file, line {lines}", value=Word.EXAMPLE.shown, lines=some([str(line) for line in lines]))
    return AreaChecks(
        area=area.name,
        stage=stage,
        read=state.checked(area.name, stage),
        points=len(area.points),
        falls=None,
        route=None,
        plane=None,
        ponds=(),
        flatness=(),
        flights=(),
        gauged=_gauged(state, area),
        finished=stage == area.stages[-1],
        not_checked=(NotChecked(_("all checks"), why, _("write your own figures there")),),
    )


def _flights(state: State, area: Area, stage: str, starts: Mapping[str, Elevation]) -> tuple[FlightCheck, ...]:
    heights, limits = {**starts, **found_heights(state, area.name, stage)}, state.plan.limits(area)
    doubts = _doubts(state, area, stage)
    return tuple(
        check_flight(flight, limits) for steps in area.steps for flight in flights_of(steps, heights, (), doubts)
    )


def _ramps(state: State, area: Area, stage: str, starts: Mapping[str, Elevation]) -> tuple[Held, ...]:
    heights, limits = {**starts, **found_heights(state, area.name, stage)}, state.plan.limits(area)
    doubts = _doubts(state, area, stage)
    return tuple(held for steps in area.steps for held in check_ramp(steps, heights, limits, doubts))


def _level_changes(state: State, area: Area, stage: str, starts: Mapping[str, Elevation]) -> tuple[Held, ...]:
    heights = {**starts, **found_heights(state, area.name, stage)}
    return tuple(check_level_changes(area, heights, state.plan.limits(area), _doubts(state, area, stage)))


def next_risers(state: State, name: str, stage: str | None = None) -> tuple[Ahead, ...]:
    """For each flight that is built in part: what the risers still to build must be to end as planned."""
    area = state.plan.areas[name]
    stage = stage or topmost_stage(state, area)
    if area.examples or _examples(state, area, stage):
        return ()
    heights = {**_starts(state, area), **found_heights(state, name, stage)}
    planned = {point.name: point.finish for point in area.points}
    found = []
    for steps in area.steps:
        for flight in flights_of(steps, heights, ()):
            built = list(takewhile(lambda nosing: nosing.z is not None, flight.nosings))
            left, last = len(flight.nosings) - len(built), flight.nosings[-1].name
            # With its end read it is not going to be built to that any more.
            if len(built) < 2 or not left or last not in planned or flight.nosings[-1].z is not None:
                continue
            zero = state.zero_of(area.datum)
            end = planned[last] + zero.height if zero else planned[last]
            graduation = state.plan.rod.notation.graduation
            doubts = _doubts(state, area, stage)
            if ahead := to_end_right(built, end, left, graduation, state.plan.limits(area), doubts):
                found.append(ahead)
    return tuple(found)


def _starts(state: State, area: Area) -> dict[str, Elevation]:
    """Where flights start in another area, as it was found there; at a mark, as it is known."""
    found: dict[str, Elevation] = {}
    for name in {name for steps in area.steps for name in steps.names} - area.index.keys():
        home = state.plan.area_of.get(name)
        if home is None:
            height = state.mark(name)
        else:
            surface = Surface(home, name, state.plan.areas[home].stages[-1])
            shot = state.latest(surface)
            height = state.found(shot, surface) if shot and not state.in_doubt(shot) else None
        if height is not None:
            found[name] = height
    return found


def _doubts(state: State, area: Area, stage: str) -> dict[str, Length]:
    """U of the heights of an area's points, and of what its steps start at elsewhere; a given mark has none."""
    doubts = doubts_of(state, area.name, stage) if area.steps else {}
    for name in {name for steps in area.steps for name in steps.names} - area.index.keys():
        home = state.plan.area_of.get(name)
        doubt = doubt_of_mark(state, name) if home is None else _doubt_at(state, home, name)
        if doubt is not None:
            doubts[name] = doubt
    return doubts


def _doubt_at(state: State, home: str, name: str) -> Length | None:
    return doubts_of(state, home, state.plan.areas[home].stages[-1], (name,)).get(name)


def _gauged(state: State, area: Area) -> tuple[Held, ...]:
    return tuple(check_gauged(state, kept.fact) for kept in state.record.gauged(area.name))


def check_gauged(state: State, fact: Gauged) -> Held:
    """A step that was measured, held to its limit in that area."""
    area = state.plan.areas[fact.area]
    limits = state.plan.limits(area)
    if fact.kind == "lippage":
        return judge_lippage(fact.where, fact.length, limits, level_limit(area, limits))
    return judge_above_drain(fact.where, fact.length, limits)


def over_dug(state: State, name: str) -> OverDugArea | None:
    """What the area's dig was too deep by, None where nothing was read at the subgrade."""
    area = state.plan.areas[name]
    found = differences(state, name, SUBGRADE) if SUBGRADE in area.stages else []
    if not found:
        return None
    joined = joined_points(state.plan, area)
    apart = parted_dig(state, area, found)
    dug = joined.over_dig_of(apart.beyond)
    return OverDugArea(name, dug, _filling(state, dug), _undercut(state, name, joined, apart.ordered))


def _filling(state: State, dug: OverDug) -> Fill | None:
    return fill(dug.volume, state.plan.stone or Stone()) if dug.volume is not None else None


def _undercut(state: State, name: str, joined: OverDig, ordered: Sequence[Difference]) -> UndercutArea | None:
    orders = tuple(kept.fact.undercut for kept in state.record.on_layers(name) if kept.fact.undercut is not None)
    if not orders:
        return None
    dug = joined.over_dig_of(ordered)
    return UndercutArea(dug, _filling(state, dug), orders)


def check_layout(state: State, layout: Layout) -> Squareness:
    """The tapes of a layout check held to its rule."""
    taped = {pair: kept.fact.length for pair, kept in state.record.taped(layout.name).items()}
    return check_outline(layout.corners, taped, state.plan.limits(), state.plan.notation.graduation)


def corners_to_move(state: State, layout: Layout) -> tuple[CornerMove, ...] | None:
    """What to move so that the layout check passes; None where the tapes do not tell."""
    taped = {pair: kept.fact.length for pair, kept in state.record.taped(layout.name).items()}
    limits, mark = state.plan.limits(), state.plan.notation.graduation
    return squaring(layout.corners, taped, limits, lambda target: allowed_off(target, layout.tolerance, limits), mark)


LineFall = Fall | JudgedFall | UnjudgedFall | NotChecked
"""What can be told of a piece of a line."""


def check_line(
    state: State, names: Sequence[str], stage: str | None = None
) -> tuple[list[LineFall], Flatness | None]:
    """The falls from each of these points to the next, and the straightedge along them; unread ones are told.

    Within an area a fall is held to the area's rule where one speaks of that line, from one area into another to the
    stricter rule of the two; at the finish alone. The worst of the pieces between folds is the straightedge's, which
    is laid within one area. Raises KeyError for a point there is not.
    """
    homes = list(dict.fromkeys(state.plan.area_of[name] for name in names))
    built = {}
    for home in homes:
        area = state.plan.areas[home]
        built[home] = BuiltArea(state, area, stage if stage in area.stages else topmost_stage(state, area))
    found = {home: {each.point.name for each in area.found} for home, area in built.items()}
    known = [name for name in names if name in found[state.plan.area_of[name]]]
    left_out = [_left_out(state, name) for name in dict.fromkeys(names) if name not in known]
    if len(homes) == 1:
        falls, flat = built[homes[0]].line(names)
        return [*falls, *left_out], flat
    pieces: list[LineFall] = []
    for one, other in pairwise(known):
        pieces += _piece(state, built, one, other)
    if pieces and len(known) > 2:
        why = _(
            "the line goes from {one} into {other}, and a straightedge is laid within one area",
            one=homes[0],
            other=homes[1],
        )
        pieces.append(NotChecked("flatness", why, _("name points of one area")))
    return [*pieces, *left_out], None


def _piece(state: State, built: Mapping[str, BuiltArea], one: str, other: str) -> Iterator[LineFall]:
    """From one point to the next, in one area or into another."""
    here, there = (state.plan.area_of[name] for name in (one, other))
    if here == there:
        yield from built[here].line([one, other])[0]
        return
    datums = [state.plan.areas[home].datum for home in (here, there)]
    zeros = [state.zero_of(datum) for datum in datums]
    if datums[0] != datums[1] and None in zeros:
        untied = here if zeros[0] is None else there
        why = _("{one} to {other}: the zero of {untied} is not tied in yet", one=one, other=other, untied=untied)
        yield NotChecked("fall", why, _("shoot the mark that ties it"))
        return
    ends = [built[home].end(name, zero) for home, name, zero in zip((here, there), (one, other), zeros, strict=True)]
    if ends[0] is not None and ends[1] is not None and (fall := judge_across(ends[0], ends[1])) is not None:
        yield fall


def _left_out(state: State, name: str) -> NotChecked:
    """Why a point that was named is not on the line."""
    area = state.plan.areas[state.plan.area_of[name]]
    if area.point(name).at is None:
        return NotChecked("fall", _("the plan does not say where {name} lies", name=name), _("give it “at: [x, y]”"))
    if state.zero_of(area.datum) is None:
        return NotChecked(
            "fall",
            _("{point}: the zero of {area} is not tied in yet", point=name, area=area.name),
            _("shoot the mark that ties it"),
        )
    return NotChecked("fall", _("{name} was not read, or its reading is in doubt", name=name), _("read it"))
