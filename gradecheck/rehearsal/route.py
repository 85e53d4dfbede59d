"""What a made-up crew has before it: which surfaces it walks in which order, and what it will do badly there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.measure.quantities import ZERO, Length, inches, millimetres
from gradecheck.plan.model import SUBGRADE, Area, Plan
from gradecheck.state.state import Surface

LOWEST_RISER, HIGHEST_RISER = millimetres(90), inches(9)
"""Between neighbors along a route without a pitch: a step, where the plan does not call it one."""


@dataclass(frozen=True, slots=True)
class StageWalk:
    """One stage of one area, walked along its route as far as the day allows."""

    area: str
    stage: str
    points: tuple[str, ...]
    whole: bool

    @property
    def surfaces(self) -> tuple[Surface, ...]:
        """Every surface on the way."""
        return tuple(Surface(self.area, point, self.stage) for point in self.points)


def legs(plan: Plan, readings: int) -> list[StageWalk]:
    """The legs that so many readings allow, in the order they are built: all that is dug, then layer by layer.

    The dig and the topmost stage of every area come before the layers between them, for there most is asked; where
    even they are too many each is walked in part.
    """
    areas = [area for area in plan.areas.values() if area.points]
    chosen = [(area, stage) for area in areas for stage in dict.fromkeys((area.stages[0], area.stages[-1]))]
    needed = sum(len(area.points) for area, _ in chosen)
    if needed > readings:
        parts = [(area, stage, max(1, len(area.points) * readings // needed)) for area, stage in chosen]
        return _in_order(plan, [_leg(area, stage, count) for area, stage, count in parts])
    found = [_leg(area, stage, len(area.points)) for area, stage in chosen]
    left = readings - needed
    between = [(layer, area) for area in areas for layer in range(1, len(area.stages) - 1)]
    for layer, area in sorted(between, key=lambda each: each[0]):
        if len(area.points) <= left:
            found.append(_leg(area, area.stages[layer], len(area.points)))
            left -= len(area.points)
    return _in_order(plan, found)


def _leg(area: Area, stage: str, count: int) -> StageWalk:
    names = tuple(point.name for point in area.points[:count])
    return StageWalk(area.name, stage, names, len(names) == len(area.points))


def _in_order(plan: Plan, chosen: Sequence[StageWalk]) -> list[StageWalk]:
    order = list(plan.areas)

    def built(leg: StageWalk) -> tuple[Fraction, int]:
        stages = plan.areas[leg.area].stages
        share = Fraction(stages.index(leg.stage), len(stages) - 1) if len(stages) > 1 else Fraction(1)
        return share, order.index(leg.area)

    return sorted(chosen, key=built)


def topmost(plan: Plan, walked: Sequence[StageWalk]) -> list[StageWalk]:
    """The legs behind which nothing of their area is walked any more."""
    last = {leg.area: leg for leg in walked}
    return [last[name] for name in plan.areas if name in last]


def soft_spot(walked: Sequence[StageWalk], others: Collection[Surface]) -> Surface | None:
    """Where the dig must go far too deep: late in a leg, so that it is known what is likely there.

    None where no spot is left that is not one of the others.
    """
    digs = [leg for leg in walked if leg.stage == SUBGRADE] or list(walked)
    longest = max(digs, key=lambda leg: len(leg.points), default=None)
    left = [surface for surface in longest.surfaces if surface not in others] if longest else []
    return left[len(left) * 3 // 4] if left else None


@dataclass(frozen=True, slots=True)
class LowSpot:
    """A spot to be so low by `dip` that water stands on it, with the spots around it."""

    surface: Surface
    dip: Length
    around: tuple[Surface, ...]


def low_spot(plan: Plan, walked: Sequence[StageWalk]) -> LowSpot | None:
    """The spot that needs the least to hold water; None where every spot drains over an edge."""
    found: list[LowSpot] = []
    for leg in topmost(plan, walked):
        area = plan.areas[leg.area]
        if not leg.whole or area.use in ("steps", "ramp"):
            continue
        joined = triangulate([spot for point in area.points if (spot := point.spot)], area.outline)
        deep = area.tolerances[leg.stage].low + plan.limits(area)["ponding at most"].length * 3
        for index, around in _inside(joined).items():
            here = joined.spots[index]
            if area.drains and here.name in area.drains.into:
                continue
            dip = here.z.above(min(joined.spots[each].z for each in around)) + deep
            beside = tuple(Surface(leg.area, joined.spots[each].name, leg.stage) for each in sorted(around))
            found.append(LowSpot(Surface(leg.area, here.name, leg.stage), dip, beside))
    return min(found, key=lambda each: each.dip, default=None)


def _inside(joined: Triangles) -> dict[int, set[int]]:
    """The spots that do not lie on an edge of the surface, each with those it is joined to."""
    sides = Counter(frozenset(side) for a, b, c in joined.corners for side in ((a, b), (b, c), (c, a)))
    edge = {index for side, count in sides.items() if count == 1 for index in side}
    around: dict[int, set[int]] = {}
    for side in sides:
        one, other = sorted(side)
        around.setdefault(one, set()).add(other)
        around.setdefault(other, set()).add(one)
    return {index: around[index] for index in sorted(around) if index not in edge}


def bad_riser(plan: Plan, walked: Sequence[StageWalk]) -> tuple[Surface, Length] | None:
    """A nosing between two risers, and how far too high it will be, for any laser to tell; None without steps."""
    for leg in topmost(plan, walked):
        area = plan.areas[leg.area]
        nosings = [name for name in _between_risers(area) if name in leg.points]
        if nosings:
            rule = plan.limits(area).get("riser varies at most")
            high = max(rule.length * 2 if rule else ZERO, area.tolerances[leg.stage].high * Fraction(7, 5))
            return Surface(leg.area, nosings[len(nosings) // 2], leg.stage), high
    return None


def _between_risers(area: Area) -> list[str]:
    flights = [steps for steps in area.steps if steps.kind == "flight"]
    risers = {(rise.start, rise.end) for steps in flights for rise in steps.rises}
    if not flights:
        for one, other in pairwise(area.points):
            if other.pitch is None and LOWEST_RISER <= abs(other.finish.above(one.finish)) <= HIGHEST_RISER:
                risers.add((one.name, other.name))
    starts, ends = {start for start, _ in risers}, {end for _, end in risers}
    return [point.name for point in area.points if point.name in starts & ends]
