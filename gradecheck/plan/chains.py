"""Steps that the plan writes as points, each so many risers below or above the one before: found as flights."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from gradecheck.measure.quantities import NO_SLOPE, ZERO, Length, Slope, inches
from gradecheck.plan.document import JobEntry, PointEntry
from gradecheck.plan.model import Landing, PlannedTread, Point, Rise, Steps


@dataclass(frozen=True, slots=True)
class _Link:
    """From one point to the next: so many risers (0: none), down or up, behind a run, where there is one."""

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
    """What risers go on from there the same way, at once or behind a tread or a landing."""
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
    """Every way on from there to an end: more than one where it branches."""
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
    start = f"the edge above {first.end}" if first.run is not None and first.run >= LANDING else first.start
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
