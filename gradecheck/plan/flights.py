"""Flights of steps and ramps: every nosing and landing as a point; flights that a plan writes point by point."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from gradecheck.catalogue import _, stored
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import nearest, show_exact
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope, inches
from gradecheck.plan.model import Landing, PlannedTread, Point, Rise, Steps
from gradecheck.plan.targets import true_minus

if TYPE_CHECKING:  # the checks of steps need the sums alone, and no pydantic
    from gradecheck.plan.area_entries import FlightEntry, PointEntry, RampEntry
    from gradecheck.plan.document import JobEntry


def equal_risers(total: Length, count: int, graduation: Length) -> tuple[Length, ...]:
    """The risers from the head of the flight down to its foot; they sum to the total exactly.

    Each nosing, counted from the head, lies on the mark nearest to its equal share, so neighbors differ by no more
    than one graduation. What no mark can show stays in the last riser, at the foot, where a walk may meet it: that
    one is within half a graduation of its share, and only where there is such a rest can it differ from its
    neighbor by more than one graduation, and never by more than one and a half.
    """
    marks = [nearest(Length(total.metres * number / count), graduation) for number in range(count)]
    heights = [*marks, total]
    return tuple(below - above for above, below in zip([ZERO, *heights[1:-1]], heights[1:], strict=True))


@dataclass(frozen=True, slots=True)
class FlightStep:
    """The way from one point of a flight or ramp to the next: run, rise (positive upward), what is there."""

    name: str
    along: Length
    up: Length
    what: str
    sum: str


def flight_moves(entry: FlightEntry, units: Units, graduation: Length) -> list[FlightStep]:
    """Every nosing and landing of a flight, in the order they are walked from its start."""
    heights = _heights(entry, graduation)
    tread, sign, word = entry.tread or ZERO, (-1 if entry.down else 1), ("−" if entry.down else "+")
    moves = []
    # Going down the first nosing lies a tread behind the start, which is a nosing itself; going up right above it.
    for number, height in enumerate(heights, 1):
        last, landing = number == len(heights), entry.landings.get(number)
        after_landing = number > 1 and number - 1 in entry.landings
        if entry.down:
            along = ZERO if last or landing else tread
            what = _("foot") if last else _("landing, back") if landing else _("nosing {number}", number=number)
        else:
            along = ZERO if number == 1 or after_landing else tread
            what = _("top nosing") if last else _("nosing {number}", number=number)
        moves.append(
            FlightStep(f"{entry.name}{number}", along, height * sign, what, f"{word} {shown(height, units)}")
        )
        if landing is not None:
            fall = (landing.fall or NO_SLOPE).over(landing.length)
            what = _("landing, edge") if entry.down else _("landing, back")
            said = stored("{word} landing {fall}", word=word, fall=shown(fall, units))
            moves.append(FlightStep(f"{entry.name}{number}L", landing.length, fall * sign, what, said))
    return moves


def ramp_moves(entry: RampEntry, units: Units) -> list[FlightStep]:
    """The end of every run and of the landing behind it."""
    slope, sign, word = (entry.fall, -1, "−") if entry.fall is not None else (entry.rise, 1, "+")
    assert slope is not None
    moves = []
    for number, run in enumerate(entry.runs, 1):
        change = slope.over(run)
        end = "foot" if sign < 0 else "head"
        said = f"{word} {shown(change, units)}"
        moves.append(
            FlightStep(
                f"{entry.name}{number}", run, change * sign, _("{end} of run {number}", end=end, number=number), said
            )
        )
        if entry.landing is not None:
            fall = (entry.landing_fall or NO_SLOPE).over(entry.landing)
            said = stored("{word} landing {fall}", word=word, fall=shown(fall, units))
            moves.append(
                FlightStep(
                    f"{entry.name}{number}L",
                    entry.landing,
                    fall * sign,
                    _("end of landing {number}", number=number),
                    said,
                )
            )
    return moves


def points_along(
    moves: Sequence[FlightStep],
    start: str,
    z: Elevation,
    at: Place | None,
    toward: Place | None,
    units: Units,
    line: int,
) -> Iterator[Point]:
    """The points that the moves lead to from the start, with a place where the start has one and a direction."""
    name = start
    way = distance(at, toward) if at and toward else ZERO
    so_far = ZERO
    for move in moves:
        working = f"{name} {true_minus(show_exact(z.height, units))} {move.sum} = "
        z, so_far, name = z + move.up, so_far + move.along, move.name
        place = None
        if at and toward and way:
            share = so_far.metres / way.metres
            place = at[0] + (toward[0] - at[0]) * share, at[1] + (toward[1] - at[1]) * share
        yield Point(move.name, z, working + shown(z.height, units), move.what, place, line=line)


def flight_steps(entry: FlightEntry, moves: Sequence[FlightStep], line: int) -> Steps:
    """The flight as the plan has it, for the checks of steps."""
    rises, landings = [], []
    names = [entry.from_, *(move.name for move in moves)]
    for (start, end), move in zip(pairwise(names), moves, strict=True):
        if end.endswith("L") and move.along:
            landings.append(_landing(entry.landings[int(start.removeprefix(entry.name))].fall, start, end, move))
        else:
            rises.append(Rise(start, end, move.up))
    return Steps(
        "flight", tuple(rises), tuple(landings), entry.tread, entry.tread_fall or NO_SLOPE, line, width=entry.width
    )


def ramp_steps(entry: RampEntry, moves: Sequence[FlightStep], line: int) -> Steps:
    """The ramp as the plan has it, for the checks of ramps."""
    rises, landings = [], []
    names = [entry.from_, *(move.name for move in moves)]
    for (start, end), move in zip(pairwise(names), moves, strict=True):
        if move.what.startswith("end of landing"):
            landings.append(_landing(entry.landing_fall, start, end, move))
        else:
            rises.append(Rise(start, end, move.up, move.along))
    return Steps("ramp", tuple(rises), tuple(landings), line=line, width=entry.width)


def _landing(fall: Slope | None, start: str, end: str, move: FlightStep) -> Landing:
    return Landing(start, end, move.along, fall or NO_SLOPE)


def _heights(entry: FlightEntry, graduation: Length) -> tuple[Length, ...]:
    if entry.riser is not None:
        return (entry.riser,) * entry.count
    assert entry.total is not None
    heights = equal_risers(entry.total, entry.count, entry.round_to or graduation)
    return heights if entry.down else heights[::-1]  # they are counted from the head of the flight down


def shown(length: Length, units: Units) -> str:
    return true_minus(show_exact(length, units, unit=True))


@dataclass(frozen=True, slots=True)
class _Link:
    """The way from one point to the next: a run, if there is one, and then a number of risers (0: none)."""

    area: str
    start: str
    end: str
    risers: int
    rise: Length
    up: bool
    run: Length | None
    fall: Slope
    line: int


@dataclass(frozen=True, slots=True)
class _Step:
    """Risers on the way, and the tread or landing between them and those before, where it has points of its own."""

    link: _Link
    between: _Link | None = None


LANDING = inches(36)
"""A run between two risers as long as this is a landing, no tread: as long as IRC R311.7.6 wants one at least."""


def chained_steps(job: JobEntry, found: Mapping[str, Point]) -> dict[str, tuple[Steps, ...]]:
    """By area the flights that chains of points make; a riser alone is one of kind ``riser``.

    A run shorter than `LANDING` between two risers is a tread, one up to twice as long a landing; beyond that it is
    a walk, and what follows another flight.
    """
    links = [
        _link(name, point_name, point, found[point_name])
        for name, area in job.areas.items()
        if isinstance(area.points, dict)
        for point_name, point in area.points.items()
        if point_name in found and point.from_ is not None
    ]
    after: dict[str, list[_Link]] = defaultdict(list)
    for link in links:
        after[link.start].append(link)
    risers = [link for link in links if link.risers]
    follows = {link: tuple(_following(link, after)) for link in risers}
    later = {step.link for steps in follows.values() for step in steps}
    made: dict[str, list[Steps]] = defaultdict(list)
    for first in risers:
        if first not in later:
            for way in _ways(first, follows):
                made[way[-1].link.area].append(_steps(way))
    return {area: tuple(_kinds(each, steps=job.areas[area].use == "steps")) for area, each in made.items()}


def _link(area: str, name: str, entry: PointEntry, point: Point) -> _Link:
    assert entry.from_ is not None
    up, risers = entry.up is not None, entry.down or entry.up or 0
    rise = (entry.riser or ZERO) * (risers if up else -risers)
    fall = point.pitch or NO_SLOPE
    return _Link(area, entry.from_, name, risers, rise, up, entry.over, fall, point.line)


def _following(link: _Link, after: Mapping[str, Sequence[_Link]]) -> Iterator[_Step]:
    """The risers that go on from there in the same direction, at once or behind a tread or a landing."""
    for then in after.get(link.end, ()):
        if then.risers:
            if then.up == link.up and (then.run is None or then.run < LANDING):
                yield _Step(then)
        elif then.run is not None and then.run <= LANDING * 2:
            yield from (
                _Step(far, then)
                for far in after.get(then.end, ())
                if far.risers and far.up == link.up and far.run is None
            )


def _ways(first: _Link, follows: Mapping[_Link, Sequence[_Step]]) -> Iterator[list[_Step]]:
    """Every sequence of steps from there to an end; more than one where the flight branches."""
    todo = [[_Step(first)]]
    while todo:
        way = todo.pop()
        further = follows[way[-1].link]
        if not further:
            yield way
        todo += [[*way, step] for step in reversed(further)]


def _steps(way: Sequence[_Step]) -> Steps:
    first = way[0].link
    # A long run before the first riser is a walk, and its far edge, the nosing, is no point of the plan.
    start = (
        _("the edge above {end}", end=first.end) if first.run is not None and first.run >= LANDING else first.start
    )
    rises, treads, landings = list[Rise](), list[PlannedTread](), list[Landing]()
    for step, then in pairwise([*way, None]):
        assert step is not None
        link, end, onward = step.link, step.link.end, None
        between = then.between if then is not None else None
        if between is not None and between.run is not None:
            if between.run >= LANDING:
                landings.append(Landing(between.start, between.end, between.run, between.fall))
                onward = between.end
            elif link.up:
                treads.append(PlannedTread(between.start, between.run, between.fall, between.end))
            else:  # going down the nosing is at the far end of the tread
                end = between.end
                treads.append(PlannedTread(between.end, between.run, between.fall, between.start))
        elif then is not None and then.link.run is not None:
            treads.append(PlannedTread(link.end, then.link.run, then.link.fall))
        rises.append(Rise(start, end, link.rise, count=link.risers))
        start = onward or end
    return Steps("flight", tuple(rises), tuple(landings), line=first.line, treads=tuple(treads))


def _kinds(found: Sequence[Steps], *, steps: bool) -> Iterator[Steps]:
    """A single riser is a flight only where the area is said to be steps: elsewhere it may be a curb."""
    for each in found:
        alone = sum(rise.count for rise in each.rises) == 1
        yield replace(each, kind="riser") if alone and not steps else each
