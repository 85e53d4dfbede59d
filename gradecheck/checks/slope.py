"""Falls between spots, along the way water is to run and across an accessible route, held to their limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from gradecheck.checks.held import Verdict
from gradecheck.checks.neighbours import neighbours
from gradecheck.checks.ways import Along, AwayFrom, Way
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import Length, Slope
from gradecheck.plan.limits import Limit, Limits

SLACK = Fraction(1, 10**8)
"""What a slope may be off and still be at its limit: lengths across the plan are rounded to a nanometre."""

What = Literal["fall", "fall near the building", "running fall", "cross fall"]
FALL: What = "fall"
NEAR: What = "fall near the building"


@dataclass(frozen=True, slots=True)
class Fall:
    """How the ground goes from one spot to another: `drop` is positive where the end lies lower, `run` is level.

    The run is exact where it is rational, else rounded down to a nanometre; it is never nothing.
    """

    start: str
    end: str
    drop: Length
    run: Length

    @property
    def slope(self) -> Slope:
        """The drop over the run; negative where the ground rises."""
        return Slope(self.drop.metres / self.run.metres)


@dataclass(frozen=True, slots=True)
class JudgedFall:
    """One fall against the limit that decides it; a verdict that passes carries the strictest of those asked."""

    what: What
    fall: Fall
    limit: Limit
    verdict: Verdict

    @property
    def backward(self) -> bool:
        """Whether water runs against the way it is to run: toward the building, where it is to run away from it."""
        return self.fall.drop.metres < 0


@dataclass(frozen=True, slots=True)
class Falls:
    """Every fall between neighbours; `alone` names the spots that have no neighbour up or down the way."""

    judged: tuple[JudgedFall, ...]
    alone: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RouteFalls:
    """The falls along an accessible route and across it."""

    running: Falls
    cross: Falls


def fall_between(start: Spot, end: Spot) -> Fall | None:
    """The fall between any two spots, over the straight run; None where that is less than a nanometre."""
    run = distance(start.at, end.at)
    return Fall(start.name, end.name, start.z.above(end.z), run) if run else None


def falls_along(spots: Sequence[Spot], way: Way, outline: Outline | None = None) -> tuple[Fall, ...]:
    """The falls from each spot to the next one down the way, and to each from the next one up.

    The next one is the nearest within `CONE` of the way, and every one that is as near. Edges of triangles are not
    taken: which diagonal joins a square is chance, and one that runs askew falls less than the ground does. The run
    is taken along the way, so that ground falling exactly as asked is found so by neighbours a little askew; away
    from a wall, the way at the spot farther out holds. With an outline, a pair whose middle lies outside is none.
    """
    return tuple(fall for _, fall in _falls(spots, way, outline))


def _falls(spots: Sequence[Spot], way: Way, outline: Outline | None) -> Iterator[tuple[int, Fall]]:
    """The falls in the order of the spots, each with the place in the list of the spot it starts from."""
    for start, end, run in neighbours(spots, way, outline):
        one, other = spots[start], spots[end]
        yield start, Fall(one.name, other.name, one.z.above(other.z), run)


def judge_falls(
    spots: Sequence[Spot],
    way: Way,
    limits: Limits,
    building: AwayFrom | None = None,
    outline: Outline | None = None,
    most: Limit | None = None,
) -> Falls:
    """The falls along the way against "fall at least" (below is a fault) and "fall wanted" (below is advice).

    A pair that begins nearer to the building than "near building" must keep "fall near building at least" too.
    What water is to run away from need be no building, so that one is named apart. Steeper than `most` is a fault.
    Where no building is named, or the ground near one has no limit, no pair counts as near it.
    """
    near, least_near = limits.get("near building"), limits.get("fall near building at least")
    close: set[int] = set()
    if building is not None and near is not None and least_near is not None:
        close = {index for index, spot in enumerate(spots) if building.is_near(spot.at, near.length)}
    must, wanted = [limits["fall at least"]], limits["fall wanted"]
    must_near = [least_near, *must] if least_near is not None else must
    judged = []
    for start, fall in _falls(spots, way, outline):
        ratio = fall.slope.ratio
        limit, verdict = enough(ratio, must_near if start in close else must, wanted)
        if most is not None and ratio > most.value + SLACK:
            limit, verdict = most, "fault"
        judged.append(JudgedFall(NEAR if start in close else FALL, fall, limit, verdict))
    return _all(spots, judged)


def judge_route(spots: Sequence[Spot], route: Along, limits: Limits, outline: Outline | None = None) -> RouteFalls:
    """The falls of an accessible route, either way up, along it and square to it, against what each may be at most.

    A run steeper than its limit is a ramp, with rules of its own; here it is a fault. Without a limit, none.
    """
    running = _at_most(spots, "running fall", route, limits.get("accessible run at most"), outline)
    return RouteFalls(
        running, _at_most(spots, "cross fall", route.across, limits.get("accessible cross fall at most"), outline)
    )


def _at_most(spots: Sequence[Spot], what: What, way: Along, limit: Limit | None, outline: Outline | None) -> Falls:
    if limit is None:
        return Falls((), ())
    falls = falls_along(spots, way, outline)
    return _all(
        spots,
        [
            JudgedFall(what, fall, limit, "fault" if abs(fall.slope.ratio) > limit.value + SLACK else "passes")
            for fall in falls
        ],
    )


def enough(ratio: Fraction, must: Sequence[Limit], wanted: Limit) -> tuple[Limit, Verdict]:
    """The limit that decides a fall, and the verdict; exactly at a limit passes."""
    strictest = max(must, key=lambda limit: limit.value)
    if ratio < strictest.value - SLACK:
        return strictest, "fault"
    if ratio < wanted.value - SLACK:
        return wanted, "advice"
    return max(strictest, wanted, key=lambda limit: limit.value), "passes"


def _all(spots: Sequence[Spot], judged: Sequence[JudgedFall]) -> Falls:
    named = {name for each in judged for name in (each.fall.start, each.fall.end)}
    return Falls(tuple(judged), tuple(spot.name for spot in spots if spot.name not in named))
