"""How the ground falls from spot to spot: along a way, or down each facet of the surface that the plan gives it.

A plan's own surface falls at every spot as its facet does. What was built falls as the plan's surface does plus the
change, from one spot to the next, of what was found off it; so a spot that lies a little aside of the way does no
harm. Runs and drops are exact lengths, slopes exact ratios; only a run whose square has no rational root is rounded,
down to a nanometre.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gradecheck.checks.held import NOTHING
from gradecheck.checks.neighbors import CONE, neighbors
from gradecheck.checks.ways import Down, Travel, Vector, Way, on_one_leg, square
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import gradient_weights
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import Shape, distance, root
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Length, Slope, metres


@dataclass(frozen=True, slots=True)
class Fall:
    """How the ground goes from one spot to another: `drop` is positive where the end lies lower, `run` is level.

    The run is never nothing. `doubt` is what the slope may be off by what its readings leave open. Of a plan's
    surface at one place, both names are that spot's.
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

    def doubt_between(self, one: int, other: int, run: Length) -> Slope:
        """What a slope between two spots may be off by the doubt of both heights."""
        return Slope((self.doubt_of(one) + self.doubt_of(other)).metres / run.metres)


@dataclass(frozen=True, slots=True)
class FoundFall:
    """A fall, the place in the list of the spot it starts from, and its facet."""

    start: int
    facet: int
    fall: Fall


def fall_between(start: Spot, end: Spot) -> Fall | None:
    """The fall between any two spots, over the straight run; None where that is less than a nanometre."""
    run = distance(start.at, end.at)
    return Fall(start.name, end.name, start.z.above(end.z), run) if run else None


def falls(ground: Ground, way: Way | None, *, gentlest: bool = False) -> Iterator[FoundFall]:
    """The falls along a way, or down each facet where none is given.

    Where two ways are as near the steeper one counts, or the gentlest.
    """
    if ground.shape is None:
        if way is not None:
            yield from _between_spots_alone(ground, way)
        return
    for facet, inside in ground.by_facet.items():
        plan = _PlanFall(ground.shape, facet, way or Down(ground.shape, facet), gentlest)
        if ground.off is None:
            for index in inside:
                name = ground.spots[index].name
                if (ratio := plan.at(ground.spots[index].at)) is not None:
                    yield FoundFall(index, facet, Fall(name, name, Length(ratio), metres(1)))
            continue
        # Through three spots goes one plane, and it says more than any two of them. Over more, pairs down the way say
        # where it is wrong; where the spots do not lie so that there are any, the best plane is all that is left.
        found = list(_by_plane(ground, inside, plan)) if len(inside) == 3 else []
        found = found or list(_by_pairs(ground, inside, plan)) or list(_by_plane(ground, inside, plan))
        yield from (FoundFall(index, facet, fall) for index, fall in found)


def _between_spots_alone(ground: Ground, way: Way) -> Iterator[FoundFall]:
    for start, end, run in _once(neighbors(ground.spots, way, ground.outline), way):
        one, other = ground.spots[start], ground.spots[end]
        doubt = ground.doubt_between(start, end, run)
        yield FoundFall(start, 0, Fall(one.name, other.name, one.z.above(other.z), run, doubt))


@dataclass(frozen=True)
class _PlanFall:
    """The fall that the plan gives one facet along a way, as a ratio."""

    shape: Shape
    facet: int
    way: Way
    gentlest: bool

    def at(self, place: Place) -> Fraction | None:
        """The fall there, None where no way leads from it; nothing where the facet is level and goes nowhere."""
        heading = self.heading(place)
        if heading is None:
            return NOTHING if isinstance(self.way, Down) else None
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


def _by_pairs(ground: Ground, inside: Sequence[int], plan: _PlanFall) -> Iterator[tuple[int, Fall]]:
    """From spot to spot down the way on one facet."""
    assert ground.off is not None
    spots = [ground.spots[index] for index in inside]
    for first, second, run in _once(neighbors(spots, plan.way, ground.outline), plan.way):
        start, end, at = inside[first], inside[second], spots[second].at
        heading = plan.heading(at, spots[first].at)
        if heading is None:
            continue
        x, y = (at[0] - spots[first].x).metres, (at[1] - spots[first].y).metres
        dot, cross = x * heading[0] + y * heading[1], x * heading[1] - y * heading[0]
        if abs(cross) * CONE > abs(dot):
            continue  # along the other of two ways that are as near
        planned = plan.along(at, heading) * (1 if dot > 0 else -1)
        ratio = planned + (ground.off[start] - ground.off[end]).metres / run.metres
        doubt = ground.doubt_between(start, end, run)
        yield start, Fall(spots[first].name, spots[second].name, Length(ratio * run.metres), run, doubt)


def _by_plane(ground: Ground, inside: Sequence[int], plan: _PlanFall) -> Iterator[tuple[int, Fall]]:
    """By the best plane through what was found off the facet: one fall for each way over it."""
    assert ground.off is not None
    spots = [ground.spots[index] for index in inside]
    weights = gradient_weights([spot.at for spot in spots])
    if weights is None:
        return
    off, doubt = [ground.off[index].metres for index in inside], [ground.doubt_of(index).metres for index in inside]
    # How what was found off it rises along x and along y.
    rise = [sum((w[axis] * each for w, each in zip(weights, off, strict=True)), NOTHING) for axis in (0, 1)]
    headings: set[Vector] = set()
    for index, spot in zip(inside, spots, strict=True):
        heading = plan.heading(spot.at)
        if heading is None and not isinstance(plan.way, Down):
            continue
        # A level facet has no way of its own: there the fall is that of what was built.
        heading = heading or (-rise[0], -rise[1])
        if heading in headings:
            continue
        headings.add(heading)
        long = root(square(heading)) or Fraction(1)
        change = -(rise[0] * heading[0] + rise[1] * heading[1]) / long
        shares = (abs(w[0] * heading[0] + w[1] * heading[1]) / long for w in weights)
        left_open = sum((share * each for share, each in zip(shares, doubt, strict=True)), NOTHING)
        at = [(spot.x.metres * heading[0] + spot.y.metres * heading[1]) / long for spot in spots]
        high, low = at.index(min(at)), at.index(max(at))
        run = at[low] - at[high] or Fraction(1)
        ratio = (plan.at(spot.at) or NOTHING) + change
        yield index, Fall(spots[high].name, spots[low].name, Length(ratio * run), Length(run), Slope(left_open))
