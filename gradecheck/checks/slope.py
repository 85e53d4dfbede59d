"""Falls of an area the way water is to run and the way people walk, and of its best plane, held to their limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from gradecheck.checks.falls import Fall, FoundFall, Ground, falls
from gradecheck.checks.held import NOTHING, Judgment, over, under
from gradecheck.checks.neighbors import neighbors
from gradecheck.checks.ways import Along, AwayFrom, Travel, Way, square
from gradecheck.ground.planes import Plane, best_plane, gradient_weights
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import ZERO, Length, Slope, millimetres
from gradecheck.plan.limits import Limit, Limits

SLACK = Fraction(1, 10**8)
"""What a slope may be off and still be at its limit: lengths across the plan are rounded to a nanometre."""
AT_A_PLACE = millimetres(600)
"""Water that passes nearer than this to a single place runs at it."""
STEPS_TO_THE_WALL = 16
"""At so many places between a spot and the wall it is asked which facet lies there."""

What = Literal["fall", "fall near the building", "running fall", "cross fall", "ramp", "landing fall", "tread fall"]
FALL: What = "fall"
NEAR: What = "fall near the building"


@dataclass(frozen=True, slots=True)
class JudgedFall:
    """One fall against the limit that decides it; a verdict that passes carries the strictest of those asked."""

    what: What
    fall: Fall
    limit: Limit
    verdict: Judgment
    by: str = ""
    """The area whose rule it is, where that is not plain: of a line from one area into another."""

    @property
    def backward(self) -> bool:
        """Whether water runs against the way it is to run: toward the building, where it is to run away from it."""
        return self.fall.drop.metres < 0

    @property
    def apart(self) -> Length | None:
        """How far apart its points would have to lie for the limit to be told, None where it can be or is kept."""
        beyond = abs(abs(self.fall.slope.ratio) - self.limit.value)
        if self.verdict != "can't tell" or not beyond:
            return None
        return self.fall.run * (self.fall.doubt.ratio / beyond)


@dataclass(frozen=True, slots=True)
class JudgedFalls:
    """Every fall between neighbors; `alone` names the spots that have no neighbor up or down the way."""

    judged: tuple[JudgedFall, ...]
    alone: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RouteFalls:
    """The falls along an accessible route and across it."""

    running: JudgedFalls
    cross: JudgedFalls


# Water --------------------------------------------------------------------------------------------------------


def judge_ground(
    ground: Ground,
    way: Way | None,
    limits: Limits,
    building: AwayFrom | None = None,
    most: Limit | None = None,
    *,
    drained: bool = False,
) -> JudgedFalls:
    """The falls against "fall at least" (below is a fault) and "fall wanted" (below is advice).

    Without a way water runs down each facet; a way away from a single place asks the same, and that it does not run
    at it. What begins nearer to the building than "near building" must fall away from it, by "fall near building at
    least"; but where it runs into another facet or a drain first (`drained`), its own fall is asked. Steeper than
    `most` is a fault. Where the ground near a building has no limit, nothing counts as near one.
    """
    must, wanted = [limits["fall at least"]], limits["fall wanted"]
    near, least_near = limits.get("near building"), limits.get("fall near building at least")
    close = set[int]()
    if building is not None and near is not None and least_near is not None:
        close = {index for index, spot in enumerate(ground.spots) if building.is_near(spot.at, near.length)}
    must_near = [least_near, *must] if least_near is not None else must
    shunned = way.line[0] if isinstance(way, AwayFrom) and way.is_place and ground.shape is not None else None
    if shunned is not None:
        way = None
    elif ground.shape is None:
        way = way or building  # of spots in one line nothing else is known

    def runs_free(found: FoundFall) -> bool:
        return building is not None and _runs_free(ground, found, building, drained=drained)

    def judged() -> Iterator[tuple[int, JudgedFall]]:
        for found in falls(ground, way):
            if found.start not in close:
                fall = _turned_back(ground, found, shunned)
                yield found.facet, JudgedFall(FALL, fall, *between(fall, must, wanted, most))
            elif way is not None or building is None or runs_free(found):
                yield found.facet, JudgedFall(NEAR, found.fall, *between(found.fall, must_near, wanted, most))
        if way is None and building is not None and ground.shape is not None:
            for found in falls(ground, building):
                if found.start in close and not runs_free(found):
                    yield found.facet, JudgedFall(NEAR, found.fall, *between(found.fall, must_near, wanted, most))

    return _all(ground, list(judged()))


def _turned_back(ground: Ground, found: FoundFall, shunned: Place | None) -> Fall:
    """The fall, made a rise where it leads to the place that water is to run away from."""
    fall = found.fall
    if shunned is None or ground.shape is None:
        return fall
    at = ground.spots[found.start].at
    down = ground.shape.fall(found.facet, at)
    x, y = (shunned[0] - at[0]).metres, (shunned[1] - at[1]).metres
    ahead, aside = x * down[0] + y * down[1], x * down[1] - y * down[0]
    if ahead > 0 and aside * aside < AT_A_PLACE.metres**2 * square(down):
        return replace(fall, drop=-abs(fall.drop))
    return fall


def _runs_free(ground: Ground, found: FoundFall, building: AwayFrom, *, drained: bool) -> bool:
    """Whether water from there comes to no harm though it does not run away from the building.

    Running past the building it must have a drain to go to; running toward it, another facet must lie between.
    """
    assert ground.shape is not None
    at = ground.spots[found.start].at
    headings, down = building.headings(at), ground.shape.fall(found.facet, at)
    if not headings:
        return False
    x, y = min(headings, key=lambda each: down[0] * each[0] + down[1] * each[1])
    if down[0] * x + down[1] * y >= 0:
        return drained
    for step in range(1, STEPS_TO_THE_WALL + 1):
        share = Fraction(step, STEPS_TO_THE_WALL)
        facets = ground.shape.facets((at[0] - Length(x * share), at[1] - Length(y * share)))
        if facets and found.facet not in facets:
            return True
    return False


# Travel -------------------------------------------------------------------------------------------------------


def judge_travel(ground: Ground, travel: Along | Travel, limits: Limits) -> RouteFalls:
    """The falls of an accessible route, either way up, along it and square to it, against what each may be at most.

    A run steeper than its limit is a ramp, with rules of its own; here it is a fault. Without a limit, none.
    """
    return RouteFalls(
        _either_way_up(ground, "running fall", travel, limits.get("accessible run at most")),
        _either_way_up(ground, "cross fall", travel.across, limits.get("accessible cross fall at most")),
    )


def _either_way_up(ground: Ground, what: What, way: Along | Travel, limit: Limit | None) -> JudgedFalls:
    if limit is None:
        return JudgedFalls((), ())
    judged = []
    for found in falls(ground, way, gentlest=True):
        fall = from_the_upper_end(found.fall)
        judged.append((found.facet, JudgedFall(what, fall, limit, at_most(fall, limit))))
    return _all(ground, judged)


def from_the_upper_end(fall: Fall) -> Fall:
    """The same fall, told from its upper end to its lower one."""
    return fall if fall.drop >= ZERO else turned(fall)


def turned(fall: Fall) -> Fall:
    """The same fall, told from its other end."""
    return replace(fall, start=fall.end, end=fall.start, drop=-fall.drop)


def between_legs(ground: Ground, travel: Travel, found: RouteFalls) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The spots without a fall along the walk, and those without one across it, that have a neighbor on another leg.

    Between two legs it is not known which of both a fall is. A spot with a neighbor whose fall is told is left out.
    """
    both = (found.running, found.cross)
    judged_pairs = {frozenset((fall.fall.start, fall.fall.end)) for each in both for fall in each.judged}
    names = []
    for each, way in zip(both, (travel, travel.across), strict=True):
        alone, lost, known = set(each.alone), set[str](), set[str]()
        for start, end, _ in neighbors(ground.spots, way, ground.outline, legs=False):
            pair = frozenset((ground.spots[start].name, ground.spots[end].name))
            if pair in judged_pairs:
                known |= pair
            else:
                lost |= alone & pair
        names.append(tuple(spot.name for spot in ground.spots if spot.name in lost - known))
    return names[0], names[1]


# Against the limits -------------------------------------------------------------------------------------------


def between(fall: Fall, must: Sequence[Limit], wanted: Limit, most: Limit | None) -> tuple[Limit, Judgment]:
    """The limit that decides a fall which must be so much at least, and may be so much at most, and the verdict."""
    if most is not None and (verdict := at_most(fall, most)) != "passes":
        return most, verdict
    return enough(fall.slope.ratio, must, wanted, fall.doubt.ratio)


def enough(
    ratio: Fraction, must: Sequence[Limit], wanted: Limit, doubt: Fraction = NOTHING
) -> tuple[Limit, Judgment]:
    """The limit that decides a slope, and the verdict; exactly at a limit passes.

    `ratio` and `doubt` are ratios. Below a limit by less than the doubt it can't be told.
    """
    strictest = max(must, key=lambda limit: limit.value)
    worse: tuple[tuple[Limit, Judgment], ...] = ((strictest, "fault"), (wanted, "advice"))
    for limit, if_less in worse:
        if (verdict := under(ratio, limit.value - SLACK, doubt, if_less)) != "passes":
            return limit, verdict
    return max(strictest, wanted, key=lambda limit: limit.value), "passes"


def at_most(fall: Fall, limit: Limit) -> Judgment:
    """The verdict on a fall that may be so steep at most, told from its upper end."""
    return over(fall.slope.ratio, limit.value + SLACK, fall.doubt.ratio)


def _all(ground: Ground, judged: Sequence[tuple[int, JudgedFall]]) -> JudgedFalls:
    named = {name for _, each in judged for name in (each.fall.start, each.fall.end)}
    alone = tuple(spot.name for spot in ground.spots if spot.name not in named)
    if ground.shape is None or ground.off is not None:
        return JudgedFalls(tuple(each for _, each in judged), alone)
    # A plane falls alike everywhere: that is told once, from its first spot to its last.
    alike: dict[tuple[object, ...], JudgedFall] = {}
    for facet, each in judged:
        key = (facet, each.what, each.limit, each.verdict, round(each.fall.slope.ratio / SLACK))
        first = alike.get(key, each)
        alike[key] = replace(first, fall=replace(first.fall, end=each.fall.end))
    return JudgedFalls(tuple(alike.values()), alone)


# The best plane -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Residual:
    """How far a spot lies above the best plane; negative is below."""

    name: str
    above: Length


@dataclass(frozen=True, slots=True)
class JudgedPlane:
    """The best plane through spots, and its true fall against the limit that decides it.

    `fall` is the true fall, exact where it is rational. `along` is the part of it that falls the way water is to
    run, None where no way was asked or the middle of the spots lies on the wall. What a plane says of the whole says
    nothing of a puddle: see the low spots.
    """

    plane: Plane
    fall: Slope
    along: Slope | None
    residuals: tuple[Residual, ...]
    limit: Limit
    verdict: Judgment

    @property
    def backward(self) -> bool:
        """Whether the whole runs against the way water is to run."""
        return self.along is not None and self.along.ratio < -SLACK

    @property
    def worst(self) -> Residual:
        """The spot farthest from the plane, the first of equals."""
        return max(self.residuals, key=lambda residual: abs(residual.above))


def judge_plane(
    spots: Sequence[Spot], limits: Limits, way: Way | None = None, doubt: Length = ZERO
) -> JudgedPlane | None:
    """The best plane's true fall against "fall at least" and "fall wanted"; None where spots determine no plane.

    A plane that falls against the way water is to run is a fault however steep it is. What the fall may be off where
    each height may be off by `doubt` is left open.
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
    left_open = _left_open(spots, (fall_x, fall_y), true_fall) * doubt.metres if doubt else NOTHING
    limit, verdict = enough(true_fall, [limits["fall at least"]], limits["fall wanted"], left_open)
    if along is not None and along.ratio < -SLACK:
        limit, verdict = limits["fall at least"], "fault" if along.ratio + left_open < -SLACK else "can't tell"
    residuals = tuple(Residual(spot.name, spot.z.above(plane.elevation(spot.at))) for spot in spots)
    return JudgedPlane(plane, Slope(true_fall), along, residuals, limit, verdict)


def _left_open(spots: Sequence[Spot], falls: tuple[Fraction, Fraction], true_fall: Fraction) -> Fraction:
    """What the fall may be off for each metre that every height may be off, to a hundred-thousandth."""
    weights = gradient_weights([spot.at for spot in spots]) or []
    x, y = (falls[0] / true_fall, falls[1] / true_fall) if true_fall else (Fraction(1), Fraction(1))
    return Fraction(sum(abs(float(u) * float(x) + float(v) * float(y)) for u, v in weights)).limit_denominator(10**5)
