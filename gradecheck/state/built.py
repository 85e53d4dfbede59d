"""What was built, as far as it was measured and is trusted: spots with their found height, differences, orders."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from gradecheck.checks.dig import Difference
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import Shape
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area, Point
from gradecheck.state.fold import Shot
from gradecheck.state.state import State, Surface
from gradecheck.survey.level_book import SightedMark
from gradecheck.survey.uncertainty import expanded


def found_heights(state: State, area: str, stage: str) -> dict[str, Elevation]:
    """The last height found at each point of the area at that stage; what is in doubt is left out."""
    found: dict[str, Elevation] = {}
    for point in _points(state, area, stage):
        surface = Surface(area, point, stage)
        shot = state.latest(surface)
        height = state.found(shot, surface) if shot and not state.in_doubt(shot) else None
        if height is not None:
            found[point] = height
    return found


@dataclass(frozen=True)
class FoundPoint:
    """One point with a place as it was found at a stage.

    It lies `off` the plan's own surface by so much, above is positive, and U of its height is `doubt`: where the
    plan does not say what the laser is good for, half a mark of the rod.
    """

    point: Point
    at: Place
    off: Length
    doubt: Length


def found_points(state: State, area: str, stage: str, shape: Shape | None) -> list[FoundPoint]:
    """The points of an area with a place that were found at a stage, in the order of the plan."""
    heights, found = found_heights(state, area, stage), []
    for point in state.plan.areas[area].points:
        surface = Surface(area, point.name, stage)
        shot, target = state.latest(surface), state.target(surface)
        if point.at is None or shot is None or target is None or point.name not in heights:
            continue
        # What was rounded for the plan is no fault of the crew's; what was changed on site is part of the ground.
        planned = point.exact or point.finish
        there = shape.elevation(point.at) if shape is not None else None
        changed = planned.above(there) if there is not None else ZERO
        off = heights[point.name].above(target.wanted) + changed
        found.append(FoundPoint(point, point.at, off, _doubt(state, shot, surface)))
    return found


def doubts_of(state: State, area: str, stage: str, names: Sequence[str] | None = None) -> dict[str, Length]:
    """U of the height of each point of the area that was found at that stage, or of those named alone."""
    found = {}
    for name in found_heights(state, area, stage) if names is None else names:
        surface = Surface(area, name, stage)
        if (shot := state.latest(surface)) is not None:
            found[name] = _doubt(state, shot, surface)
    return found


def _doubt(state: State, shot: Shot, surface: Surface) -> Length:
    """U of what was found; half a mark of the rod where the plan does not say what the laser is good for."""
    doubt = state.uncertainty(shot.setup, shot.rod, surface)
    return _half_a_mark(state, shot) if doubt is None else doubt


def doubt_of_mark(state: State, mark: str) -> Length | None:
    """U of a mark that was shot on site; None of one whose elevation is given, and where it is not known."""
    if not isinstance(state.book.source(mark), SightedMark):
        return None
    variance = state.carried.mark_variance(mark)
    return expanded(variance**0.5) if variance is not None else state.plan.rod.notation.graduation * Fraction(1, 2)


def _half_a_mark(state: State, shot: Shot) -> Length:
    setup = state.setups.get(shot.setup)
    rod = state.plan.rods.get(setup.fact.rod) if setup is not None else None
    return (rod or state.plan.rod).notation.graduation * Fraction(1, 2)


def found_spots(state: State, area: str, stage: str) -> list[Spot]:
    """Those heights as spots; points without a place on the plan are left out."""
    heights, plan = found_heights(state, area, stage), state.plan.areas[area]
    places = {point.name: point.at for point in plan.points}
    return [Spot(name, at, z) for name, z in heights.items() if (at := places[name]) is not None]


def differences(state: State, area: str, stage: str) -> list[Difference]:
    """How far each point that was read lies from what is wanted, what is in doubt left out, or an example."""
    heights, plan = found_heights(state, area, stage), state.plan.areas[area]
    found = []
    for name, height in heights.items():
        surface = Surface(area, name, stage)
        target, verdict = state.target(surface), state.verdict(surface)
        if target is not None and verdict is not None and verdict.word is not Word.EXAMPLE:
            found.append(Difference(name, height.above(target.wanted), plan.point(name).at))
    return found


class Exceptions(NamedTuple):
    """Points of a stage that are not on grade, that nobody read, whose reading is in doubt or can't be judged."""

    out: tuple[str, ...]
    unread: tuple[str, ...]
    doubtful: tuple[str, ...]
    unjudged: tuple[str, ...]


def exceptions(state: State, area: str, stage: str) -> Exceptions:
    """What of a stage is not as it should be, each point once."""
    out, unread, doubtful, unjudged = [], [], [], []
    for point in state.plan.areas[area].points:
        surface = Surface(area, point.name, stage)
        shot, verdict = state.latest(surface), state.verdict(surface)
        if shot is None:
            unread.append(point.name)
        elif state.in_doubt(shot):
            doubtful.append(point.name)
        elif verdict is None or verdict.word is Word.EXAMPLE:
            unjudged.append(point.name)
        elif verdict.word is not Word.ON_GRADE:
            out.append(point.name)
    return Exceptions(tuple(out), tuple(unread), tuple(doubtful), tuple(unjudged))


def _points(state: State, area: str, stage: str) -> list[str]:
    plan: Area = state.plan.areas[area]
    return [point.name for point in plan.points] if stage in plan.stages else []
