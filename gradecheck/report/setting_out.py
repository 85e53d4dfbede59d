"""Setting out in words: the tapes that find each point, what is written on its stake, and where strings run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.checks.ties import LEAST, MOST, Ties, crossing, ties_to
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, offset_words
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.lines import Line, LineError
from gradecheck.plan.model import Area, Plan, Point, StringLine
from gradecheck.plan.targets import target
from gradecheck.report.layout import shown_with_unit
from gradecheck.report.rows import shown

# -- tapes


@dataclass(frozen=True, slots=True)
class TieRow:
    """The two tapes to a point, each as ``16' 7 3/8" from house C1``; without them `why` there are none."""

    point: str
    tapes: tuple[str, ...]
    crossing: str
    why: str = ""

    @property
    def line(self) -> str:
        """The same as one text."""
        return self.why or _("{tapes}, crossing at {angle}", tapes=_(" and ").join(self.tapes), angle=self.crossing)


def marks_to_tape(plan: Plan, area: Area | None = None) -> list[tuple[str, Place]]:
    """What points are taped from: benchmarks and turning points that have a place, corners; each place once.

    Of an area with an outline, only its own corners and what stands before it is begun.
    """
    named = [(mark.name, mark.at) for mark in plan.benchmarks.values() if mark.at is not None]
    found: dict[Place, str] = {}
    for name, place in named:
        found.setdefault(place, name)
    for owner, name, place in plan.corners:
        if area is None or area.outline is None or owner in ("", area.name):
            found.setdefault(place, name)
    return [(name, place) for place, name in found.items()]


def ties(plan: Plan, area: Area) -> list[tuple[Point, Ties | None]]:
    """For each point of the area the two tapes that find it, None where there are none.

    The corners of other areas are used where nothing nearer to hand crosses well.
    """
    marks, others = marks_to_tape(plan, area), marks_to_tape(plan)
    return [
        (point, (ties_to(point.at, marks) or ties_to(point.at, others)) if point.at is not None else None)
        for point in area.points
    ]


def tie_row(point: Point, found: Ties | None, notation: Notation) -> TieRow:
    """The tapes to that point in words."""
    if found is None:
        why = (
            _("no place in the plan, so no tapes")
            if point.at is None
            else _("no two marks or corners cross here between {least}° and {most}°", least=LEAST, most=MOST)
        )
        return TieRow(point.name, (), "", why)
    tapes = (
        _("{length} from {mark}", length=shown_with_unit(tie.length, notation), mark=tie.mark) for tie in found.both
    )
    return TieRow(point.name, tuple(tapes), f"{crossing(found):.0f}°")


# -- stakes


def to_stage(down: Length, stage: str, notation: Notation) -> str:
    """What a stake says: ``cut 3 1/4 to finish``, ``fill 2 to base`` or ``at finish``; `down` is negative upward."""
    if not nearest(down, notation.graduation):
        return _("at {stage}", stage=stage)
    if down > ZERO:
        return _("cut {length} to {stage}", length=shown(down, notation), stage=stage)
    return _("fill {length} to {stage}", length=shown(-down, notation), stage=stage)


@dataclass(frozen=True, slots=True)
class StakeLabel:
    """What is written on the stake of a point: where its cuts count from, and how far it is to each stage."""

    area: str
    point: str
    what: str
    start: str
    at: Elevation
    stages: tuple[tuple[str, Elevation, str], ...]
    """Stage, wanted elevation and the words, from the finish down."""


def stake_labels(plan: Plan, area: Area, above: Length, stage: str | None = None) -> Iterator[StakeLabel]:
    """The labels of an area's stakes, whose tops stand so far above the finish; of one stage, or of all."""
    start = _("top {offset} finish", offset=offset_words(above, plan.notation.units)) if above else _("top at finish")
    for point in area.points:
        yield _label(plan, area, point, point.finish + above, start, stage)


def ground_labels(plan: Plan, area: Area, stage: str | None = None) -> Iterator[StakeLabel]:
    """The same counted from existing ground, for the points where the plan says how it lies."""
    for point in area.points:
        ground = area.existing.elevation(point.at) if area.existing is not None and point.at is not None else None
        if ground is not None:
            yield _label(plan, area, point, ground, _("existing ground"), stage)


def _label(plan: Plan, area: Area, point: Point, top: Elevation, start: str, only: str | None) -> StakeLabel:
    stages = []
    for stage in reversed(area.stages):
        if only in (None, stage):
            wanted = target(area, point, stage).wanted
            stages.append((stage, wanted, to_stage(top.above(wanted), stage, plan.notation)))
    return StakeLabel(area.name, point.name, point.what, start, top, tuple(stages))


# -- strings


@dataclass(frozen=True, slots=True)
class StringSpot:
    """Where a string passes a point: its elevation there, how far down the finish is, and its place where known.

    A `stake` holds it; at the other points it is straight between stakes, so that it may stand higher or lower.
    """

    point: str
    stake: bool
    elevation: Elevation
    down: Length
    at: Place | None


def string_spots(area: Area, string: StringLine) -> list[StringSpot]:
    """The string at its stakes, and at the points of the area that lie straight between two of them."""
    ends = [area.point(name) for name in string.points]
    line = _run(ends) if string.right else None
    found, station = list[StringSpot](), Fraction(0)
    for end, after in zip(ends, [*ends[1:], None], strict=True):
        high = end.finish + string.above
        found.append(StringSpot(end.name, True, high, string.above, _beside(line, station, string.right, end.at)))
        if after is None or end.at is None or after.at is None:
            continue
        long = distance(end.at, after.at).metres
        for share, point in _between(area, end.at, after.at, {each.name for each in ends}):
            height = high + (after.finish + string.above).above(high) * share
            at = _beside(line, station + long * share, string.right, point.at)
            found.append(StringSpot(point.name, False, height, height.above(point.finish), at))
        station += long
    return found


def _run(ends: Sequence[Point]) -> Line | None:
    places = [point.at for point in ends if point.at is not None]
    return Line(places) if len(places) == len(ends) else None


def _beside(line: Line | None, station: Fraction, right: Length, at: Place | None) -> Place | None:
    if not right:
        return at
    try:
        return line.place(station, right.metres) if line is not None else None
    except LineError:
        return None


def _between(area: Area, start: Place, end: Place, stakes: set[str]) -> list[tuple[Fraction, Point]]:
    """The other points that lie straight between two places, each with its share of the way."""
    x, y = ((end[axis] - start[axis]).metres for axis in (0, 1))
    found = []
    for point in area.points:
        if point.at is None or point.name in stakes:
            continue
        u, v = ((point.at[axis] - start[axis]).metres for axis in (0, 1))
        if x * v == y * u and 0 < (share := Fraction(x * u + y * v, x * x + y * y)) < 1:
            found.append((share, point))
    return sorted(found, key=lambda each: each[0])


def string_words(string: StringLine, units: Units) -> str:
    """What the string is: ``4 in above finish, 1 ft left of its points``."""
    high = _("{offset} finish", offset=offset_words(string.above, units)) if string.above else _("at finish")
    if not string.right:
        return _("{high}, over its points", high=high)
    side = _("right") if string.right > ZERO else _("left")
    far = shown_with_unit(abs(string.right), Notation.usual(units))
    return _("{high}, {far} {side} of its points", high=high, far=far, side=side)


def place_words(at: Place | None, notation: Notation) -> str:
    """A place as it is taped: ``24', 13' 6"``; empty where it is not known."""
    return ", ".join(shown_with_unit(each, notation) for each in at) if at is not None else ""
