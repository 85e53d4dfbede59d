"""Which spots follow on one another down the way that water is to run: of many, each is joined to the next ones."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import asin, atan, atan2, hypot, inf, pi, sqrt

from gradecheck.checks.ways import OFF, Travel, Vector, Way, on_one_leg
from gradecheck.ground.boxes import HAIR, Boxes, Part
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Number, Place, Spot, in_steps, ratio, scale_of
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import Length

CONE = 4
"""A neighbor lies at most one sideways for so many along: about 14 degrees to either side."""
_CONE_ANGLE = atan(1 / CONE)
_LITTLE = 1e-6
"""An angle that floats never are off by: what lies so near to an edge is looked at exactly."""

Heading = tuple[float, float]
"""A direction one long, in floats."""


def neighbors(
    spots: Sequence[Spot], way: Way, outline: Outline | None, *, legs: bool = True
) -> Iterator[tuple[int, int, Length]]:
    """The places in the list of those joined, start and end, in order, and the run between them along the way.

    An end lies within `CONE` of the way as it is there, seen from the start; and away from a wall it must lie
    outward from where it starts as well, for through the wall is no way for water. Each spot is joined to the nearest
    such end and from the nearest such start, and to every one that is as near. With an outline, a pair whose middle
    lies outside is none. Where people walk, either way, a spot is joined to the nearest on each side; both lie on one
    leg, and the pair is no other leg's way across as well; without `legs` that is not asked.
    """
    field = _Field(spots, way, outline, legs=legs and isinstance(way, Travel))
    pairs = set[tuple[int, int]]()
    for index in range(len(spots)):
        for side in field.sides(index) if isinstance(way, Travel) else (None,):
            pairs |= {(index, end) for end in field.nearest(index, down=True, side=side)}
            pairs |= {(start, index) for start in field.nearest(index, down=False, side=side)}
    for start, end in sorted(pairs):
        if run := field.run(start, end):
            yield start, end, run


@dataclass(frozen=True, slots=True)
class _Fan:
    """The headings in a part of the field: about `middle`, none farther from it than `spread`; None where none is.

    `bare` says that a spot in it has none, as on the wall itself.
    """

    middle: Heading | None
    spread: float
    bare: bool


class _Field:
    """The spots with their headings. Whole numbers decide; floats only leave out what lies far off."""

    def __init__(self, spots: Sequence[Spot], way: Way, outline: Outline | None, *, legs: bool = False) -> None:
        self._spots, self._outline, self._legs = spots, outline, legs
        self._scale = scale_of(part.metres for spot in spots for part in spot.at)
        self._at = [(in_steps(spot.x.metres, self._scale), in_steps(spot.y.metres, self._scale)) for spot in spots]
        headings = [way.headings(spot.at) for spot in spots]
        self._headings = [[_whole(heading) for heading in each] for each in headings]
        self._units = [[_unit(float(x), float(y)) for x, y in each] for each in headings]
        self._floats = [(float(spot.x.metres), float(spot.y.metres)) for spot in spots]
        self._slack = OFF * max((abs(part) for at in self._floats for part in at), default=0.0)
        self._boxes = Boxes([(*at, *at) for at in self._floats])
        self._fans: dict[Part, _Fan] = {}
        self._round: dict[Part, tuple[Number, Number, Number, Number]] = {}
        if self._boxes.whole:
            self._fan(self._boxes.whole)
        self._kept: dict[tuple[int, int], bool] = {}

    # -- the nearest

    def sides(self, index: int) -> list[tuple[Number, Number]]:
        """The ways that lead from there."""
        return self._headings[index]

    def nearest(self, index: int, *, down: bool, side: tuple[Number, Number] | None = None) -> list[int]:
        """The nearest ends of those that start there, or the nearest starts of those that end there.

        With a `side` only those that lie on that side of it, and on the leg that leads there.
        """
        if not down and not self._headings[index]:
            return []
        found, least, reach = list[int](), None, inf
        x, y = self._at[index]
        for far, other in self._boxes.nearest(*self._floats[index], self._holds(index, down=down)):
            if sqrt(far) > reach:
                break
            start, end = (index, other) if down else (other, index)
            if side is not None and not self._lies(other, (x, y), side):
                continue
            if not self._joined(start, end):
                continue
            square = (self._at[other][0] - x) ** 2 + (self._at[other][1] - y) ** 2
            if (least is not None and square > least) or not self._inside(start, end):
                continue
            if least is None or square < least:
                found, least, reach = [], square, sqrt(far) * (1 + HAIR) + self._slack
            found.append(other)
        return found

    def _lies(self, other: int, place: tuple[Number, Number], side: tuple[Number, Number]) -> bool:
        """Whether the spot lies on that side of a place, and where legs are asked for on the one that leads there."""
        x, y = self._at[other][0] - place[0], self._at[other][1] - place[1]
        ahead = x * side[0] + y * side[1] > 0
        return ahead and (not self._legs or any(on_one_leg(each, side) for each in self._headings[other]))

    def _joined(self, start: int, end: int) -> bool:
        """Whether water that starts at one comes past the other."""
        (from_x, from_y), (to_x, to_y) = self._at[start], self._at[end]
        x, y = to_x - from_x, to_y - from_y
        if not self._ways(start, end, x, y):
            return False
        if self._legs:  # from where two legs are as near, what goes along one may go across the other
            return not self._ways(start, end, -y, x)
        outward = self._headings[start]
        return not outward or any(x * u + y * v > 0 for u, v in outward)

    def _ways(self, start: int, end: int, x: Number, y: Number) -> list[tuple[Number, Number]]:
        """The headings at the end that a line from the start goes along; where people walk, of a leg of both."""
        found = [heading for heading in self._headings[end] if _ahead(x, y, heading)]
        if not self._legs:
            return found
        return [each for each in found if any(on_one_leg(each, other) for other in self._headings[start])]

    def _inside(self, start: int, end: int) -> bool:
        if self._outline is None:
            return True
        if (start, end) not in self._kept:
            middle = _middle(self._spots[start].at, self._spots[end].at)
            self._kept[start, end] = self._outline.contains(middle)
        return self._kept[start, end]

    def run(self, start: int, end: int) -> Length:
        """How far the end lies from the start along the way, the one it is less askew to; exact where rational."""
        (from_x, from_y), (to_x, to_y) = self._at[start], self._at[end]
        x, y = to_x - from_x, to_y - from_y
        squares = [ratio((x * u + y * v) ** 2, u * u + v * v) for u, v in self._ways(start, end, x, y)]
        return Length(root(max(squares) / self._scale**2))

    # -- what need not be looked at

    def _holds(self, index: int, *, down: bool) -> Callable[[Part], bool]:
        """Whether a part can hold an end of what starts there, or a start of what ends there."""
        (x, y), own, sign = self._floats[index], self._units[index], 1 if down else -1
        most = _CONE_ANGLE if down else pi / 2

        def holds(part: Part) -> bool:
            fan = self._fans[part]
            if down and (fan.middle is None or not self._outward(index, part)):
                return False
            left, bottom, right, top = part.box
            way = ((left + right) / 2 - x) * sign, ((bottom + top) / 2 - y) * sign
            round_it, far = hypot(right - left, top - bottom) / 2 + self._slack, hypot(*way)
            if far <= round_it:
                return True
            wide = asin(round_it / far) + _LITTLE
            if not down and not any(_angle(way, each) <= _CONE_ANGLE + wide for each in own):
                return False
            if fan.middle is None or (fan.bare and not down):
                return True
            return _angle(way, fan.middle) <= most + fan.spread + wide

        return holds

    def _outward(self, index: int, part: Part) -> bool:
        """Whether a corner of the box round a part lies outward from there, exactly: a row beside a wall does not."""
        x, y = self._at[index]
        left, bottom, right, top = self._round[part]
        return not self._headings[index] or any(
            ((right if u > 0 else left) - x) * u + ((top if v > 0 else bottom) - y) * v > 0
            for u, v in self._headings[index]
        )

    def _fan(self, part: Part) -> _Fan:
        """Works out the fan of a part and of all within it, and the exact box round it."""
        fans = [self._fan(each) for each in part.parts]
        dots = [self._at[index] for index in part.inside]
        boxes = [*(self._round[each] for each in part.parts), *((x, y, x, y) for x, y in dots)]
        lefts, bottoms, rights, tops = zip(*boxes, strict=True)
        self._round[part] = min(lefts), min(bottoms), max(rights), max(tops)
        heads = [(fan.middle, fan.spread) for fan in fans if fan.middle is not None]
        heads += [(each, 0.0) for index in part.inside for each in self._units[index]]
        bare = any(fan.bare for fan in fans) or any(not self._units[index] for index in part.inside)
        middle = _unit(sum(each[0] for each, _ in heads), sum(each[1] for each, _ in heads)) if heads else None
        spread = max(_angle(each, middle) + wide for each, wide in heads) if middle else 0.0
        self._fans[part] = _Fan(middle, spread, bare)
        return self._fans[part]


def _angle(one: Heading, other: Heading) -> float:
    return abs(atan2(one[0] * other[1] - one[1] * other[0], one[0] * other[0] + one[1] * other[1]))


def _unit(x: float, y: float) -> Heading:
    """One long; any direction will do where there is none, for what is measured from it."""
    long = hypot(x, y)
    return (x / long, y / long) if long else (1.0, 0.0)


def _whole(heading: Vector) -> tuple[Number, Number]:
    scale = scale_of(heading)
    return in_steps(heading[0], scale), in_steps(heading[1], scale)


def _ahead(x: Number, y: Number, heading: tuple[Number, Number]) -> bool:
    along, across = x * heading[0] + y * heading[1], x * heading[1] - y * heading[0]
    return along > 0 and -along <= CONE * across <= along


def _middle(one: Place, other: Place) -> Place:
    half = Fraction(1, 2)
    return (one[0] + other[0]) * half, (one[1] + other[1]) * half
