"""Falls of a surface the way water is to run and people walk, and between spots, held to their limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Literal

from gradecheck.checks.held import NOTHING, Verdict, over, under
from gradecheck.checks.neighbours import CONE, neighbours
from gradecheck.checks.ways import Along, AwayFrom, Down, Travel, Vector, Way, on_one_leg, square
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import gradient_weights
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import Shape, distance, root
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Length, Slope, metres, millimetres
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
class Fall:
    """How the ground goes from one spot to another: `drop` is positive where the end lies lower, `run` is level.

    The run is exact where it is rational, else rounded down to a nanometre; it is never nothing. `doubt` is what the
    slope may be off by what its readings leave open. Of a plan's surface at one place, both names are that spot's.
    """

    start: str
    end: str
    drop: Length
    run: Length
    doubt: Slope = NO_SLOPE

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
class UnjudgedFall:
    """A fall that no rule could be asked of, and why, in words without a full stop."""

    fall: Fall
    why: str
    how: str


@dataclass(frozen=True)
class Ground:
    """Spots of an area, with the shape its plan gives them and how far each was found off that.

    Of a plan itself nothing was found: `off` is None. `doubt` is U of each height, nothing where it is left out.
    Without a shape (spots in one line) only the spots are known.
    """

    spots: tuple[Spot, ...]
    shape: Shape | None = None
    outline: Outline | None = None
    off: tuple[Length, ...] | None = None
    doubt: tuple[Length, ...] | None = None

    @cached_property
    def by_facet(self) -> dict[int, list[int]]:
        """The places in the list of the spots on each facet."""
        found: dict[int, list[int]] = {}
        for index, spot in enumerate(self.spots):
            for facet in self.shape.facets(spot.at) if self.shape else ():
                found.setdefault(facet, []).append(index)
        return found

    def doubt_of(self, index: int) -> Length:
        """What a height may be off."""
        return self.doubt[index] if self.doubt else ZERO


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
    """The falls from each spot to the next one down the way, and to each from the next one up, of spots alone.

    The next one is the nearest within `CONE` of the way, and every one that is as near. Edges of triangles are not
    taken: which diagonal joins a square is chance, and one that runs askew falls less than the ground does. The run
    is taken along the way, so that ground falling exactly as asked is found so by neighbours a little askew; away
    from a wall, the way at the spot farther out holds. With an outline, a pair whose middle lies outside is none.
    """
    return tuple(fall for _, _, fall in _falls(Ground(tuple(spots), outline=outline), way))


# The falls of a surface ---------------------------------------------------------------------------------------

_Found = tuple[int, int, Fall]
"""The place in the list of the spot a fall starts from, its facet, and the fall."""


def _falls(ground: Ground, way: Way | None, *, gentlest: bool = False) -> Iterator[_Found]:
    """The falls along a way, or down each facet where none is given.

    Of a plan's surface each spot has the fall of each facet it lies on. What was built is that fall and the change
    of what was found off it, from spot to spot down the way on one facet; over a facet whose spots do not lie so,
    by the plane through them. Of two ways that are as near the steeper one counts, or the gentlest.
    """
    if ground.shape is None:
        if way is not None:
            for start, end, run in _once(neighbours(ground.spots, way, ground.outline), way):
                one, other = ground.spots[start], ground.spots[end]
                doubt = Slope((ground.doubt_of(start) + ground.doubt_of(end)).metres / run.metres)
                yield start, 0, Fall(one.name, other.name, one.z.above(other.z), run, doubt)
        return
    for facet, inside in ground.by_facet.items():
        asked = _Asked(ground.shape, facet, way or Down(ground.shape, facet), gentlest)
        if ground.off is None:
            for index in inside:
                spot = ground.spots[index]
                if (ratio := asked.planned(spot.at)) is not None:
                    yield index, facet, Fall(spot.name, spot.name, Length(ratio), metres(1))
            continue
        # Through three spots goes one plane, and it says more than any two of them.
        found = list(_by_plane(ground, inside, asked)) if len(inside) == 3 else []
        found = found or list(_by_pairs(ground, inside, asked)) or list(_by_plane(ground, inside, asked))
        yield from ((index, facet, fall) for index, fall in found)


@dataclass(frozen=True)
class _Asked:
    """The fall of one facet of the plan along a way."""

    shape: Shape
    facet: int
    way: Way
    gentlest: bool

    def planned(self, place: Place) -> Fraction | None:
        """The fall there, None where no way leads from it; nothing where the facet is level and goes nowhere."""
        heading = self.heading(place)
        if heading is None:
            return Fraction(0) if isinstance(self.way, Down) else None
        return self.along(place, heading)

    def heading(self, place: Place, begun: Place | None = None) -> Vector | None:
        """The way that counts there; where people walk, that of the leg on which a line was `begun`."""
        found = self.way.headings(place)
        if begun is not None and isinstance(self.way, Travel):
            own, x, y = self.way.headings(begun), (place[0] - begun[0]).metres, (place[1] - begun[1]).metres
            found = tuple(
                (u, v)
                for u, v in found
                if abs(x * v - y * u) * CONE <= x * u + y * v and any(on_one_leg((u, v), other) for other in own)
            )
        if not found:
            return None
        if self.gentlest:
            return min(found, key=lambda each: abs(self.along(place, each)))
        return max(found, key=lambda each: self.along(place, each))

    def along(self, place: Place, heading: Vector) -> Fraction:
        """The fall there in that direction."""
        x, y = self.shape.fall(self.facet, place)
        return (x * heading[0] + y * heading[1]) / root(square(heading))


def _once(pairs: Iterable[tuple[int, int, Length]], way: Way) -> Iterator[tuple[int, int, Length]]:
    """Each pair once: people walk both ways."""
    seen = set[tuple[int, int]]()
    for start, end, run in pairs:
        if not isinstance(way, Travel) or (end, start) not in seen:
            seen.add((start, end))
            yield start, end, run


def _by_pairs(ground: Ground, inside: Sequence[int], asked: _Asked) -> Iterator[tuple[int, Fall]]:
    """From spot to spot down the way on one facet."""
    assert ground.off is not None
    spots = [ground.spots[index] for index in inside]
    for first, second, run in _once(neighbours(spots, asked.way, ground.outline), asked.way):
        start, end, at = inside[first], inside[second], spots[second].at
        heading = asked.heading(at, spots[first].at)
        if heading is None:
            continue
        x, y = (at[0] - spots[first].x).metres, (at[1] - spots[first].y).metres
        dot, cross = x * heading[0] + y * heading[1], x * heading[1] - y * heading[0]
        if abs(cross) * CONE > abs(dot):
            continue  # along the other of two ways that are as near
        planned = asked.along(at, heading) * (1 if dot > 0 else -1)
        ratio = planned + (ground.off[start] - ground.off[end]).metres / run.metres
        doubt = Slope((ground.doubt_of(start) + ground.doubt_of(end)).metres / run.metres)
        yield start, Fall(spots[first].name, spots[second].name, Length(ratio * run.metres), run, doubt)


def _by_plane(ground: Ground, inside: Sequence[int], asked: _Asked) -> Iterator[tuple[int, Fall]]:
    """By the plane through what was found off the facet: one fall for each way over it."""
    assert ground.off is not None
    spots = [ground.spots[index] for index in inside]
    weights = gradient_weights([spot.at for spot in spots])
    if weights is None:
        return
    off, doubt = [ground.off[index].metres for index in inside], [ground.doubt_of(index).metres for index in inside]
    told: set[Vector] = set()
    for index, spot in zip(inside, spots, strict=True):
        heading = asked.heading(spot.at)
        if heading is None and not isinstance(asked.way, Down):
            continue
        # A level facet has no way of its own: there the fall is that of what was built.
        rise = [sum((w[axis] * each for w, each in zip(weights, off, strict=True)), Fraction(0)) for axis in (0, 1)]
        heading = heading or (-rise[0], -rise[1])
        if heading in told:
            continue
        told.add(heading)
        long = root(square(heading)) or Fraction(1)
        change = -(rise[0] * heading[0] + rise[1] * heading[1]) / long
        left_open = sum(
            (
                abs(w[0] * heading[0] + w[1] * heading[1]) / long * each
                for w, each in zip(weights, doubt, strict=True)
            ),
            Fraction(0),
        )
        at = [(spot.x.metres * heading[0] + spot.y.metres * heading[1]) / long for spot in spots]
        high, low = at.index(min(at)), at.index(max(at))
        run = at[low] - at[high] or Fraction(1)
        ratio = (asked.planned(spot.at) or Fraction(0)) + change
        yield index, Fall(spots[high].name, spots[low].name, Length(ratio * run), Length(run), Slope(left_open))


# Against the limits -------------------------------------------------------------------------------------------


def judge_falls(
    spots: Sequence[Spot],
    way: Way,
    limits: Limits,
    building: AwayFrom | None = None,
    outline: Outline | None = None,
    most: Limit | None = None,
) -> Falls:
    """The falls of spots alone along the way, as `judge_ground` holds them to their limits.

    What water is to run away from need be no building, so that one is named apart.
    """
    return judge_ground(Ground(tuple(spots), outline=outline), way, limits, building, most)


def judge_ground(
    ground: Ground,
    way: Way | None,
    limits: Limits,
    building: AwayFrom | None = None,
    most: Limit | None = None,
    *,
    drained: bool = False,
) -> Falls:
    """The falls against "fall at least" (below is a fault) and "fall wanted" (below is advice).

    Without a way water runs down each facet; a way away from a single place asks the same, and that it does not run
    at it. What begins nearer to the building than "near building" must fall away from it, by "fall near building at
    least"; but where it runs into another facet or a drain first (`drained`), its own fall is asked. Steeper than
    `most` is a fault. Where the ground near a building has no limit, nothing counts as near one.
    """
    must, wanted = [limits["fall at least"]], limits["fall wanted"]
    near, least_near = limits.get("near building"), limits.get("fall near building at least")
    must_near = [least_near, *must] if least_near is not None else must
    close = set[int]()
    if building is not None and near is not None and least_near is not None:
        close = {index for index, spot in enumerate(ground.spots) if building.is_near(spot.at, near.length)}
    shunned = way.line[0] if isinstance(way, AwayFrom) and way.is_place and ground.shape is not None else None
    if shunned is not None:
        way = None
    elif ground.shape is None:
        way = way or building  # of spots in one line nothing else is known
    judged = list[tuple[int, JudgedFall]]()

    def judge(what: What, facet: int, fall: Fall, least: Sequence[Limit]) -> None:
        ratio, doubt = fall.slope.ratio, fall.doubt.ratio
        limit, verdict = enough(ratio, least, wanted, doubt)
        if most is not None and ratio > most.value + SLACK:
            limit, verdict = most, at_most(ratio, most, doubt)
        judged.append((facet, JudgedFall(what, fall, limit, verdict)))

    for start, facet, fall in _falls(ground, way):
        if start not in close:
            judge(FALL, facet, _away(ground, start, facet, fall, shunned), must)
        elif way is not None or building is None or _runs_free(ground, start, facet, building, drained=drained):
            judge(NEAR, facet, fall, must_near)
    if way is None and building is not None and ground.shape is not None:
        for start, facet, fall in _falls(ground, building):
            if start in close and not _runs_free(ground, start, facet, building, drained=drained):
                judge(NEAR, facet, fall, must_near)
    return _all(ground, judged)


def _away(ground: Ground, start: int, facet: int, fall: Fall, shunned: Place | None) -> Fall:
    """The fall, turned round where it leads to the place that water is to run away from."""
    if shunned is None or ground.shape is None:
        return fall
    at = ground.spots[start].at
    down = ground.shape.fall(facet, at)
    x, y = (shunned[0] - at[0]).metres, (shunned[1] - at[1]).metres
    ahead, aside = x * down[0] + y * down[1], x * down[1] - y * down[0]
    if ahead > 0 and aside * aside < AT_A_PLACE.metres**2 * square(down):
        return Fall(fall.start, fall.end, -abs(fall.drop), fall.run, fall.doubt)
    return fall


def _runs_free(ground: Ground, start: int, facet: int, building: AwayFrom, *, drained: bool) -> bool:
    """Whether water from there comes to no harm though it does not run away from the building.

    Running past the building it must have a drain to go to; running toward it, another facet must lie between.
    """
    assert ground.shape is not None
    at = ground.spots[start].at
    headings, down = building.headings(at), ground.shape.fall(facet, at)
    if not headings:
        return False
    x, y = min(headings, key=lambda each: down[0] * each[0] + down[1] * each[1])
    if down[0] * x + down[1] * y >= 0:
        return drained
    for step in range(1, STEPS_TO_THE_WALL + 1):
        share = Fraction(step, STEPS_TO_THE_WALL)
        facets = ground.shape.facets((at[0] - Length(x * share), at[1] - Length(y * share)))
        if facets and facet not in facets:
            return True
    return False


def judge_route(spots: Sequence[Spot], route: Along, limits: Limits, outline: Outline | None = None) -> RouteFalls:
    """The falls of spots alone along an accessible route and square to it, as `judge_travel` does."""
    ground = Ground(tuple(spots), outline=outline)
    return _route(ground, route, route.across, limits)


def judge_travel(ground: Ground, travel: Travel, limits: Limits) -> RouteFalls:
    """The falls of an accessible route, either way up, along it and square to it, against what each may be at most.

    A run steeper than its limit is a ramp, with rules of its own; here it is a fault. Without a limit, none.
    """
    return _route(ground, travel, travel.across, limits)


def _route(ground: Ground, along: Along | Travel, across: Along | Travel, limits: Limits) -> RouteFalls:
    return RouteFalls(
        _at_most(ground, "running fall", along, limits.get("accessible run at most")),
        _at_most(ground, "cross fall", across, limits.get("accessible cross fall at most")),
    )


def between_legs(ground: Ground, travel: Travel, found: RouteFalls) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The spots without a fall along the walk, and those without one across it, that have a neighbour on another leg.

    Between two legs it is not known which of both a fall is. A spot with a neighbour whose fall is told is left out.
    """
    falls = (found.running, found.cross)
    told = {frozenset((each.fall.start, each.fall.end)) for both in falls for each in both.judged}
    names = []
    for each, way in zip(falls, (travel, travel.across), strict=True):
        alone, lost, known = set(each.alone), set[str](), set[str]()
        for start, end, _ in neighbours(ground.spots, way, ground.outline, legs=False):
            pair = frozenset((ground.spots[start].name, ground.spots[end].name))
            if pair in told:
                known |= pair
            else:
                lost |= alone & pair
        names.append(tuple(spot.name for spot in ground.spots if spot.name in lost - known))
    return names[0], names[1]


def _at_most(ground: Ground, what: What, way: Along | Travel, limit: Limit | None) -> Falls:
    if limit is None:
        return Falls((), ())
    judged = []
    for _, facet, found in _falls(ground, way, gentlest=True):
        fall = found if found.drop >= ZERO else _turned(found)  # either way is told from the upper end
        verdict = at_most(abs(fall.slope.ratio), limit, fall.doubt.ratio)
        judged.append((facet, JudgedFall(what, fall, limit, verdict)))
    return _all(ground, judged)


def _turned(fall: Fall) -> Fall:
    return replace(fall, start=fall.end, end=fall.start, drop=-fall.drop)


def judge_between(
    ground: Ground, one: int, other: int, limits: Limits, most: Limit | None, travel: Travel | None
) -> Fall | JudgedFall:
    """The fall from one spot to another, held to the rule of the area that speaks of a line that way.

    Along an accessible route and across it that is what each may be at most; else, where by the plan water runs along
    the line (it falls so enough, or goes straight down a facet), "fall at least" and `most`, whichever end is named
    first. Of a line that no rule speaks of, the fall alone.
    """
    fall = _between(ground, one, other)
    if travel is not None:
        ways: tuple[tuple[What, Travel, str], ...] = (
            ("running fall", travel, "accessible run at most"),
            ("cross fall", travel.across, "accessible cross fall at most"),
        )
        for what, way, name in ways:
            limit = limits.get(name)
            if limit is not None and _goes(ground, one, other, way):
                return JudgedFall(what, fall, limit, at_most(abs(fall.slope.ratio), limit, fall.doubt.ratio))
    must, wanted = limits["fall at least"], limits["fall wanted"]
    planned = (fall.drop + ((ground.off[other] - ground.off[one]) if ground.off else ZERO)).metres / fall.run.metres
    shared = set(ground.shape.facets(ground.spots[one].at)) if ground.shape else set[int]()
    shared &= set(ground.shape.facets(ground.spots[other].at)) if ground.shape else set[int]()
    down = any(_goes(ground, one, other, Down(ground.shape, facet)) for facet in shared) if ground.shape else False
    if abs(planned) < must.value - SLACK and not down:
        return fall
    if planned < 0:
        fall = _between(ground, other, one)
    limit, verdict = enough(fall.slope.ratio, [must], wanted, fall.doubt.ratio)
    if most is not None and fall.slope.ratio > most.value + SLACK:
        limit, verdict = most, at_most(fall.slope.ratio, most, fall.doubt.ratio)
    return JudgedFall(FALL, fall, limit, verdict)


@dataclass(frozen=True)
class LineEnd:
    """Where a line from one area into another begins or ends: a spot, and what its area holds falls to.

    It was found `off` the plan by so much, and U of its height is `doubt`. `unasked` says why no rule of the area can
    be asked there; empty where one can.
    """

    area: str
    spot: Spot
    off: Length
    doubt: Length
    limits: Limits
    most: Limit | None = None
    travel: Travel | None = None
    unasked: str = ""


def judge_across(one: LineEnd, other: LineEnd) -> JudgedFall | UnjudgedFall | None:
    """The fall of a line from one area into another, held to the stricter of what both hold it to.

    Along, or across, two accessible routes that is what either may be at most; else, where by the plan water runs
    along the line, "fall at least" and the most. What the plan itself does not keep along that line was not meant for
    it, and is not asked: the fall of both areas together is nobody's. None where both are at one place.
    """
    fall = fall_between(one.spot, other.spot)
    if fall is None:
        return None
    fall = replace(fall, doubt=Slope((one.doubt + other.doubt).metres / fall.run.metres))
    if unasked := one.unasked or other.unasked:
        return UnjudgedFall(fall, unasked, "")
    planned = (fall.drop + (other.off - one.off)).metres / fall.run.metres
    if (walked := _walked(one, other, fall, planned)) is not None:
        return walked
    must = [(end.limits["fall at least"], end) for end in (one, other)]
    must = [each for each in must if abs(planned) >= each[0].value - SLACK]
    if not must:
        why = "by the plan water does not run along this line"
        return UnjudgedFall(fall, why, "name two points of one area, or points that lie down the slope")
    if planned < 0:
        fall = replace(fall, start=fall.end, end=fall.start, drop=-fall.drop)
    least, end = max(must, key=lambda each: each[0].value)
    wanted = end.limits["fall wanted"]
    limit, verdict = enough(
        fall.slope.ratio, [least], wanted if abs(planned) >= wanted.value - SLACK else least, fall.doubt.ratio
    )
    mosts = [(each.most, each) for each in (one, other) if each.most is not None]
    mosts = [each for each in mosts if abs(planned) <= each[0].value + SLACK]
    if mosts:
        most, steep = min(mosts, key=lambda each: each[0].value)
        if fall.slope.ratio > most.value + SLACK:
            return JudgedFall(FALL, fall, most, at_most(fall.slope.ratio, most, fall.doubt.ratio), steep.area)
    return JudgedFall(FALL, fall, limit, verdict, end.area)


def _walked(one: LineEnd, other: LineEnd, fall: Fall, planned: Fraction) -> JudgedFall | None:
    """The fall as that of an accessible route, where the line goes along both areas' routes or across both."""
    if one.travel is None or other.travel is None:
        return None
    ways: tuple[tuple[What, Travel, Travel, str], ...] = (
        ("running fall", one.travel, other.travel, "accessible run at most"),
        ("cross fall", one.travel.across, other.travel.across, "accessible cross fall at most"),
    )
    x, y = (other.spot.x - one.spot.x).metres, (other.spot.y - one.spot.y).metres
    for what, from_here, to_there, name in ways:
        if not (_heads(from_here, one.spot.at, x, y) and _heads(to_there, other.spot.at, x, y)):
            continue
        held = [(limit, end) for end in (one, other) if (limit := end.limits.get(name)) is not None]
        held = [each for each in held if abs(planned) <= each[0].value + SLACK]
        if held:
            limit, end = min(held, key=lambda each: each[0].value)
            return JudgedFall(what, fall, limit, at_most(abs(fall.slope.ratio), limit, fall.doubt.ratio), end.area)
    return None


def judge_step(ground: Ground, one: int, other: int, what: What, limit: Limit) -> JudgedFall:
    """The fall from one spot to another, told from the upper one, against what a run, landing or tread may be."""
    fall = _between(ground, one, other)
    fall = fall if fall.drop >= ZERO else _turned(fall)
    return JudgedFall(what, fall, limit, at_most(fall.slope.ratio, limit, fall.doubt.ratio))


def _between(ground: Ground, one: int, other: int) -> Fall:
    fall = fall_between(ground.spots[one], ground.spots[other])
    assert fall is not None
    doubt = Slope((ground.doubt_of(one) + ground.doubt_of(other)).metres / fall.run.metres)
    return replace(fall, doubt=doubt)


def _goes(ground: Ground, one: int, other: int, way: Way) -> bool:
    """Whether the line between two spots goes that way, or back, at both of them."""
    start, end = ground.spots[one].at, ground.spots[other].at
    x, y = (end[0] - start[0]).metres, (end[1] - start[1]).metres
    return all(_heads(way, place, x, y) for place in (start, end))


def _heads(way: Way, place: Place, x: Fraction, y: Fraction) -> bool:
    """Whether going by `x` and `y` from a place goes that way, or back."""
    return any(CONE * abs(x * v - y * u) <= abs(x * u + y * v) for u, v in way.headings(place))


def enough(
    ratio: Fraction, must: Sequence[Limit], wanted: Limit, doubt: Fraction = Fraction(0)
) -> tuple[Limit, Verdict]:
    """The limit that decides a fall, and the verdict; exactly at a limit passes.

    Below a limit by less than the doubt it can't be told.
    """
    strictest = max(must, key=lambda limit: limit.value)
    worse: tuple[tuple[Limit, Verdict], ...] = ((strictest, "fault"), (wanted, "advice"))
    for limit, if_less in worse:
        if (verdict := under(ratio, limit.value - SLACK, doubt, if_less)) != "passes":
            return limit, verdict
    return max(strictest, wanted, key=lambda limit: limit.value), "passes"


def at_most(ratio: Fraction, limit: Limit, doubt: Fraction = NOTHING) -> Verdict:
    """The verdict on a slope that may be so much at most."""
    return over(ratio, limit.value + SLACK, doubt)


def _all(ground: Ground, judged: Sequence[tuple[int, JudgedFall]]) -> Falls:
    named = {name for _, each in judged for name in (each.fall.start, each.fall.end)}
    alone = tuple(spot.name for spot in ground.spots if spot.name not in named)
    if ground.shape is None or ground.off is not None:
        return Falls(tuple(each for _, each in judged), alone)
    # A plane falls alike everywhere: that is told once, from its first spot to its last.
    alike: dict[tuple[object, ...], JudgedFall] = {}
    for facet, each in judged:
        key = (facet, each.what, each.limit, each.verdict, round(each.fall.slope.ratio / SLACK))
        first = alike.get(key, each)
        alike[key] = replace(first, fall=replace(first.fall, end=each.fall.end))
    return Falls(tuple(alike.values()), alone)
