"""Falls of spots alone, without a plan's surface, as the tests ask for them."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.checks.falls import Fall, Ground, falls
from gradecheck.checks.slope import JudgedFalls, RouteFalls, judge_ground, judge_travel
from gradecheck.checks.ways import Along, AwayFrom, Way
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.plan.limits import Limit, Limits


def falls_along(spots: Sequence[Spot], way: Way, outline: Outline | None = None) -> tuple[Fall, ...]:
    """The falls from each spot to the next one down the way, and to each from the next one up, of spots alone.

    The next one is the nearest within `CONE` of the way, and every one that is as near. Edges of triangles are not
    taken: which diagonal joins a square is chance, and one that runs askew falls less than the ground does. The run
    is taken along the way, so that ground falling exactly as asked is found so by neighbors a little askew; away
    from a wall, the way at the spot farther out holds. With an outline, a pair whose middle lies outside is none.
    """
    return tuple(found.fall for found in falls(Ground(tuple(spots), outline=outline), way))


def judge_falls(
    spots: Sequence[Spot],
    way: Way,
    limits: Limits,
    building: AwayFrom | None = None,
    outline: Outline | None = None,
    most: Limit | None = None,
) -> JudgedFalls:
    """The falls of spots alone along the way, as `judge_ground` holds them to their limits.

    What water is to run away from need be no building, so that one is named apart.
    """
    return judge_ground(Ground(tuple(spots), outline=outline), way, limits, building, most)


def judge_route(spots: Sequence[Spot], route: Along, limits: Limits, outline: Outline | None = None) -> RouteFalls:
    """The falls of spots alone along an accessible route and square to it, as `judge_travel` does."""
    return judge_travel(Ground(tuple(spots), outline=outline), route, limits)
