"""The fall of a line between two named points, held to the rules of the area, or of the two areas, it lies in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.checks.falls import Fall, Ground, fall_between
from gradecheck.checks.neighbors import CONE
from gradecheck.checks.slope import (
    FALL,
    SLACK,
    JudgedFall,
    What,
    at_most,
    between,
    enough,
    from_the_upper_end,
    turned,
)
from gradecheck.checks.ways import Down, Travel, Way
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import ZERO, Length, Slope
from gradecheck.plan.limits import Limit, Limits


@dataclass(frozen=True, slots=True)
class UnjudgedFall:
    """A fall that no rule could be asked of, and why, in words without a full stop."""

    fall: Fall
    why: str
    how: str


def judge_between(
    ground: Ground, one: int, other: int, limits: Limits, most: Limit | None, travel: Travel | None
) -> Fall | JudgedFall:
    """The fall from one spot to another, held to the rule of the area that speaks of a line that way.

    Along an accessible route and across it that is what each may be at most; else, where by the plan water runs along
    the line (it falls so enough, or goes straight down a facet), "fall at least" and `most`, whichever end is named
    first. Of a line that no rule speaks of, the fall alone.
    """
    fall = _between(ground, one, other)
    for what, way, name in _routes(travel) if travel is not None else ():
        limit = limits.get(name)
        if limit is not None and _goes(ground, one, other, way):
            return JudgedFall(what, fall, limit, at_most(from_the_upper_end(fall), limit))
    must, wanted = limits["fall at least"], limits["fall wanted"]
    planned = (fall.drop + ((ground.off[other] - ground.off[one]) if ground.off else ZERO)).metres / fall.run.metres
    if abs(planned) < must.value - SLACK and not _runs_down_a_facet(ground, one, other):
        return fall
    if planned < 0:
        fall = _between(ground, other, one)
    return JudgedFall(FALL, fall, *between(fall, [must], wanted, most))


def judge_step(ground: Ground, one: int, other: int, what: What, limit: Limit) -> JudgedFall:
    """The fall from one spot to another, told from the upper one, against what a run, landing or tread may be."""
    fall = from_the_upper_end(_between(ground, one, other))
    return JudgedFall(what, fall, limit, at_most(fall, limit))


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
        why = _("by the plan, water does not run along this line")
        return UnjudgedFall(fall, why, _("name two points of one area, or points that lie down the slope"))
    if planned < 0:
        fall = turned(fall)
    mosts = [(end.most, end) for end in (one, other) if end.most is not None]
    mosts = [each for each in mosts if abs(planned) <= each[0].value + SLACK]
    if mosts:
        most, end = min(mosts, key=lambda each: each[0].value)
        if (verdict := at_most(fall, most)) != "passes":
            return JudgedFall(FALL, fall, most, verdict, end.area)
    least, end = max(must, key=lambda each: each[0].value)
    wanted = end.limits["fall wanted"]
    wanted = wanted if abs(planned) >= wanted.value - SLACK else least
    return JudgedFall(FALL, fall, *enough(fall.slope.ratio, [least], wanted, fall.doubt.ratio), end.area)


def _walked(one: LineEnd, other: LineEnd, fall: Fall, planned: Fraction) -> JudgedFall | None:
    """The fall as that of an accessible route, where the line goes along both areas' routes or across both."""
    if one.travel is None or other.travel is None:
        return None
    x, y = (other.spot.x - one.spot.x).metres, (other.spot.y - one.spot.y).metres
    for (what, from_here, name), (_what, to_there, _name) in zip(
        _routes(one.travel), _routes(other.travel), strict=True
    ):
        if not (_heads(from_here, one.spot.at, x, y) and _heads(to_there, other.spot.at, x, y)):
            continue
        held = [(limit, end) for end in (one, other) if (limit := end.limits.get(name)) is not None]
        held = [each for each in held if abs(planned) <= each[0].value + SLACK]
        if held:
            limit, end = min(held, key=lambda each: each[0].value)
            return JudgedFall(what, fall, limit, at_most(from_the_upper_end(fall), limit), end.area)
    return None


def _routes(travel: Travel) -> tuple[tuple[What, Travel, str], ...]:
    """What a line along a route and one across it are called, their ways, and the limit of each."""
    return (
        ("running fall", travel, "accessible run at most"),
        ("cross fall", travel.across, "accessible cross fall at most"),
    )


def _between(ground: Ground, one: int, other: int) -> Fall:
    fall = fall_between(ground.spots[one], ground.spots[other])
    assert fall is not None
    return replace(fall, doubt=ground.doubt_between(one, other, fall.run))


def _runs_down_a_facet(ground: Ground, one: int, other: int) -> bool:
    if (shape := ground.shape) is None:
        return False
    shared = {*shape.facets(ground.spots[one].at)} & {*shape.facets(ground.spots[other].at)}
    return any(_goes(ground, one, other, Down(shape, facet)) for facet in shared)


def _goes(ground: Ground, one: int, other: int, way: Way) -> bool:
    """Whether the line between two spots goes that way, or back, at both of them."""
    start, end = ground.spots[one].at, ground.spots[other].at
    x, y = (end[0] - start[0]).metres, (end[1] - start[1]).metres
    return all(_heads(way, place, x, y) for place in (start, end))


def _heads(way: Way, place: Place, x: Fraction, y: Fraction) -> bool:
    """Whether going by `x` and `y` from a place goes that way, or back."""
    return any(CONE * abs(x * v - y * u) <= abs(x * u + y * v) for u, v in way.headings(place))
