"""Falls between spots, along the way water is to run, across an accessible route, and of the best plane."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm, sqrt
from typing import Literal

from gradecheck.checks.held import Verdict
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane, best_plane
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import distance, root
from gradecheck.measure.quantities import Length, Slope
from gradecheck.plan.limits import Limit, Limits

CONE = 4
"""A neighbour lies at most one sideways for so many along: about 14 degrees to either side."""
SLACK = Fraction(1, 10**8)
"""What a slope may be off and still be at its limit: lengths across the plan are rounded to a nanometre."""

Vector = tuple[Fraction, Fraction]
What = Literal["fall", "fall near the building", "running fall", "cross fall"]
FALL: What = "fall"
NEAR: What = "fall near the building"


# Which way water is to run ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Along:
    """The same way everywhere: a direction on the plan, of any length but none, which is a ValueError."""

    x: Fraction
    y: Fraction

    def __post_init__(self) -> None:
        if not (self.x or self.y):
            raise ValueError("a direction needs a length")

    @property
    def across(self) -> Along:
        """A quarter turn to the left of it."""
        return Along(-self.y, self.x)

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """The direction; it is the same at every place."""
        return ((self.x, self.y),)


@dataclass(frozen=True, slots=True)
class AwayFrom:
    """Square away from a wall, given by its corners in turn, or straight away from a single place.

    The wall is not closed: a house all round repeats its first corner. No corner at all is a ValueError. `others`
    are walls apart from it; the nearest of all counts.
    """

    line: tuple[Place, ...]
    others: tuple[tuple[Place, ...], ...] = ()

    def __post_init__(self) -> None:
        if not self.line:
            raise ValueError("a wall needs a place")

    def headings(self, place: Place) -> tuple[Vector, ...]:
        """From the nearest place of the wall to this one: two where a hollow corner is as near by either side.

        None on the wall itself, where either side could be meant.
        """
        x, y = place[0].metres, place[1].metres
        found = {(x - foot_x, y - foot_y) for foot_x, foot_y in self._feet(x, y)}
        least = min(_square(off) for off in found)
        return tuple(sorted(off for off in found if _square(off) == least)) if least else ()

    def is_near(self, place: Place, within: Length) -> bool:
        """Whether the place lies nearer to the wall than that."""
        x, y = place[0].metres, place[1].metres
        return any(_square((x - a, y - b)) < within.metres**2 for a, b in self._feet(x, y))

    def _feet(self, x: Fraction, y: Fraction) -> Iterator[Vector]:
        for line in (self.line, *self.others):
            yield from _feet(line, x, y)


Way = Along | AwayFrom


def _feet(line: Sequence[Place], x: Fraction, y: Fraction) -> Iterator[Vector]:
    """The nearest place on each stretch of the wall."""
    corners = [(corner[0].metres, corner[1].metres) for corner in line]
    for (ax, ay), (bx, by) in zip(corners, corners[1:] or corners, strict=False):
        along_x, along_y = bx - ax, by - ay
        long = along_x**2 + along_y**2
        share = ((x - ax) * along_x + (y - ay) * along_y) / long if long else Fraction(0)
        share = min(max(share, Fraction(0)), Fraction(1))
        yield ax + share * along_x, ay + share * along_y


def _square(vector: Vector) -> Fraction:
    return vector[0] ** 2 + vector[1] ** 2


# Falls --------------------------------------------------------------------------------------------------------


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
    return tuple(fall for _, fall in _neighbours(spots, way, outline))


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
    The building is what water is to run away from, unless another is named. Steeper than `most` is a fault.
    """
    building = way if building is None and isinstance(way, AwayFrom) else building
    near = limits["near building"].length
    judged = []
    for start, fall in _neighbours(spots, way, outline):
        must, what = [limits["fall at least"]], FALL
        if building is not None and building.is_near(start.at, near):
            must, what = [limits["fall near building at least"], *must], NEAR
        limit, verdict = _enough(fall.slope.ratio, must, limits["fall wanted"])
        if most is not None and fall.slope.ratio > most.value + SLACK:
            limit, verdict = most, "fault"
        judged.append(JudgedFall(what, fall, limit, verdict))
    return _all(spots, judged)


def judge_route(spots: Sequence[Spot], route: Along, limits: Limits, outline: Outline | None = None) -> RouteFalls:
    """The falls of an accessible route, either way up, along it and square to it, against what each may be at most.

    A run steeper than its limit is a ramp, with rules of its own; here it is a fault.
    """
    running = _at_most(spots, "running fall", route, limits["accessible run at most"], outline)
    return RouteFalls(
        running, _at_most(spots, "cross fall", route.across, limits["accessible cross fall at most"], outline)
    )


def _at_most(spots: Sequence[Spot], what: What, way: Along, limit: Limit, outline: Outline | None) -> Falls:
    falls = falls_along(spots, way, outline)
    return _all(
        spots,
        [
            JudgedFall(what, fall, limit, "fault" if abs(fall.slope.ratio) > limit.value + SLACK else "passes")
            for fall in falls
        ],
    )


def _enough(ratio: Fraction, must: Sequence[Limit], wanted: Limit) -> tuple[Limit, Verdict]:
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


# Neighbours ---------------------------------------------------------------------------------------------------


def _neighbours(spots: Sequence[Spot], way: Way, outline: Outline | None) -> Iterator[tuple[Spot, Fall]]:
    """Pairs as in `falls_along`, each with the spot it starts from, in the order of the spots."""
    # All pairs are looked at, so places are counted in whole steps of one scale: ten times faster than fractions.
    scale = lcm(*(part.metres.denominator for spot in spots for part in spot.at))
    at = [(int(spot.x.metres * scale), int(spot.y.metres * scale)) for spot in spots]
    headings = [[_whole(heading) for heading in way.headings(spot.at)] for spot in spots]
    down: list[list[tuple[int, int]]] = [[] for _ in spots]
    up: list[list[tuple[int, int]]] = [[] for _ in spots]
    runs: dict[tuple[int, int], Fraction] = {}
    for start, (from_x, from_y) in enumerate(at):
        for end, (to_x, to_y) in enumerate(at):
            x, y = to_x - from_x, to_y - from_y
            if not any(_ahead(x, y, heading) for heading in headings[end]):
                continue
            # Through the wall is no way for water: it must go on outward from where it starts as well.
            if headings[start] and not any(x * u + y * v > 0 for u, v in headings[start]):
                continue
            squares = [
                Fraction((x * u + y * v) ** 2, u * u + v * v) for u, v in headings[end] if _ahead(x, y, (u, v))
            ]
            runs[start, end] = max(squares) / scale**2
            down[start].append((x * x + y * y, end))
            up[end].append((x * x + y * y, start))
    chosen = {(index, end) for index, found in enumerate(down) for end in _nearest(spots, index, found, outline)}
    chosen |= {(start, index) for index, found in enumerate(up) for start in _nearest(spots, index, found, outline)}
    for start, end in sorted(chosen):
        one, other = spots[start], spots[end]
        run = Length(root(runs[start, end]))
        if run:
            yield one, Fall(one.name, other.name, one.z.above(other.z), run)


def _whole(heading: Vector) -> tuple[int, int]:
    scale = lcm(heading[0].denominator, heading[1].denominator)
    return int(heading[0] * scale), int(heading[1] * scale)


def _ahead(x: int, y: int, heading: tuple[int, int]) -> bool:
    along, across = x * heading[0] + y * heading[1], x * heading[1] - y * heading[0]
    return along > 0 and CONE * abs(across) <= along


def _nearest(
    spots: Sequence[Spot], index: int, found: Sequence[tuple[int, int]], outline: Outline | None
) -> Iterator[int]:
    """The nearest spots of those found, and all that are as near; with an outline, of those not across a notch."""
    nearest = None
    for square, other in sorted(found):
        if nearest is not None and square > nearest:
            return
        if outline is None or outline.contains(_middle(spots[index].at, spots[other].at)):
            nearest = square
            yield other


def _middle(one: Place, other: Place) -> Place:
    half = Fraction(1, 2)
    return (one[0] + other[0]) * half, (one[1] + other[1]) * half


# The best plane -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Residual:
    """How far a spot lies above the best plane; negative is below."""

    name: str
    above: Length


@dataclass(frozen=True, slots=True)
class JudgedPlane:
    """The best plane through spots, and its true fall against the limit that decides it.

    `fall` is the true fall, exact where it is rational; `plane.direction` tells where it runs. `along` is the part
    of it that falls the way water is to run, None where no way was asked or the middle of the spots lies on the
    wall. What a plane says of the whole says nothing of a puddle: see the low spots.
    """

    plane: Plane
    fall: Slope
    along: Slope | None
    residuals: tuple[Residual, ...]
    limit: Limit
    verdict: Verdict

    @property
    def backward(self) -> bool:
        """Whether the whole runs against the way water is to run."""
        return self.along is not None and self.along.ratio < -SLACK

    @property
    def worst(self) -> Residual:
        """The spot farthest from the plane, the first of equals."""
        return max(self.residuals, key=lambda residual: abs(residual.above))

    @property
    def rms(self) -> float:
        """Root of the mean square of what is left, in metres."""
        return sqrt(self._squares / len(self.residuals))

    @property
    def spread(self) -> float | None:
        """Standard deviation of a spot from the plane, in metres; three spots always lie on theirs, so None."""
        free = len(self.residuals) - 3
        return sqrt(self._squares / free) if free else None

    @property
    def _squares(self) -> Fraction:
        return sum((residual.above.metres**2 for residual in self.residuals), Fraction(0))


def judge_plane(spots: Sequence[Spot], limits: Limits, way: Way | None = None) -> JudgedPlane | None:
    """The best plane's true fall against "fall at least" and "fall wanted"; None where spots determine no plane.

    A plane that falls against the way water is to run is a fault however steep it is.
    """
    plane = best_plane(spots)
    if plane is None:
        return None
    fall_x, fall_y = (fall.ratio for fall in plane.falls)
    true_fall = root(fall_x**2 + fall_y**2)
    along = None
    if way is not None and (headings := way.headings(plane.at)):
        # In a hollow corner, the wall that is served worse.
        along = min(Slope((fall_x * x + fall_y * y) / root(x * x + y * y)) for x, y in headings)
    limit, verdict = _enough(true_fall, [limits["fall at least"]], limits["fall wanted"])
    if along is not None and along.ratio < -SLACK:
        limit, verdict = limits["fall at least"], "fault"
    residuals = tuple(Residual(spot.name, spot.z.above(plane.elevation(spot.at))) for spot in spots)
    return JudgedPlane(plane, Slope(true_fall), along, residuals, limit, verdict)
