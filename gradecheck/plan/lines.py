"""Lines in plan with arcs in them: stations along them and offsets beside them.

Along x or y, places are exact; any other place on an arc or beside a line is worked out in floats and rounded once,
to 0.001 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import atan2, ceil, cos, hypot, pi, sin, sqrt
from typing import Literal

from gradecheck.catalogue import _
from gradecheck.ground.outline import signed_area
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import Length

FINEST = 10**6
"""Parts of a metre that a place on an arc is rounded to."""
_CHORD = pi / 120
"""What a chord turns by at most, 1.5 degrees, so that two edges of one walk have as many."""
_OFF = 0.001
"""Metres that a chord may lie off its arc."""
_HAIR = 2e-6
"""Metres: more than two places are rounded by."""
_MOST = 1_000
"""Chords of one arc; past that, with a radius of kilometers, they lie farther off it."""
Number = float | Fraction
"""Metres, exact where they are a fraction."""


class LineError(ValueError):
    """The places make no such line; the message is one sentence."""


def _rounded(x: float, y: float) -> Place:
    return Length(Fraction(round(x * FINEST), FINEST)), Length(Fraction(round(y * FINEST), FINEST))


def _metres(place: Place) -> tuple[float, float]:
    return float(place[0].metres), float(place[1].metres)


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight part of a line."""

    start: Place
    end: Place

    @property
    def length(self) -> Number:
        """How long it is, in metres; exact along x or y."""
        x, y = (to.metres - here.metres for here, to in zip(self.start, self.end, strict=True))
        return abs(x + y) if not x or not y else hypot(float(x), float(y))

    def heading(self, _station: Number = 0) -> float:
        """Which way it leads, in radians against the clock from x."""
        (x, y), (to_x, to_y) = _metres(self.start), _metres(self.end)
        return atan2(to_y - y, to_x - x)

    def place(self, station: Number, right: Number = 0) -> Place:
        """The place so many metres along it and to the right of it."""
        long = self.length
        if not right and station in (0, long):
            return self.end if station else self.start
        if not any(isinstance(each, float) for each in (long, station, right)):
            over, up = (to.metres - here.metres for here, to in zip(self.start, self.end, strict=True))
            on, beside = Fraction(station) / Fraction(long), Fraction(right) / Fraction(long)
            return self.start[0] + Length(over * on + up * beside), self.start[1] + Length(up * on - over * beside)
        (x, y), way = _metres(self.start), self.heading()
        station, right = float(station), float(right)
        return _rounded(x + station * cos(way) + right * sin(way), y + station * sin(way) - right * cos(way))


@dataclass(frozen=True, slots=True)
class Arc:
    """A part of a circle about (x, y), in metres; ends are kept as they are written."""

    start: Place
    end: Place
    x: float
    y: float
    radius: float
    turns_left: bool

    @property
    def sweep(self) -> float:
        """What it turns by, in radians, above nothing."""
        turned = self._angle(self.end) - self._angle(self.start)
        return (turned if self.turns_left else -turned) % (2 * pi) or 2 * pi

    @property
    def length(self) -> float:
        """How long it is, in metres."""
        return self.radius * self.sweep

    def _angle(self, place: Place) -> float:
        x, y = _metres(place)
        return atan2(y - self.y, x - self.x)

    def heading(self, station: Number = 0) -> float:
        """Which way it leads there, in radians against the clock from x."""
        side = 1 if self.turns_left else -1
        return self._angle(self.start) + side * (float(station) / self.radius + pi / 2)

    def place(self, station: Number, right: Number = 0) -> Place:
        """The place so many metres along it and to the right of it. Raises `LineError` past its center."""
        from_center = self.radius + float(right if self.turns_left else -right)
        if from_center <= 0:
            raise LineError(_("The line turns tighter than this offset; write a smaller one."))
        if not right and station in (0, self.length):
            return self.end if station else self.start
        return self._at(float(station) / self.radius, from_center)

    def _at(self, turned: float, from_center: float) -> Place:
        angle = self._angle(self.start) + (turned if self.turns_left else -turned)
        return _rounded(self.x + from_center * cos(angle), self.y + from_center * sin(angle))

    def chords(self, side: Literal["on", "outside", "inside"] = "on") -> list[Place]:
        """Places that a line through them lies within a millimetre of the arc; its end is the last.

        They lie on the arc; or its own places lie within them or without them, as those of an area must lie within
        its outline.
        """
        step = _CHORD
        while self.radius * (1 / cos(step / 2) - 1) > _OFF:
            step /= 2
        count = min(max(ceil(self.sweep / step - 1e-9), 2), _MOST)
        if side == "outside":  # where the tangents meet
            beyond = self.radius / cos(self.sweep / count / 2) + _HAIR
            return [*(self._at(self.sweep * (number + 0.5) / count, beyond) for number in range(count)), self.end]
        from_center = self.radius - (_HAIR if side == "inside" else 0)
        return [*(self._at(self.sweep * number / count, from_center) for number in range(1, count)), self.end]


def arc_through(start: Place, middle: Place, end: Place) -> Arc:
    """The arc from the start through a place on it to the end. Raises `LineError`."""
    if start == end:
        raise LineError(_("An arc ends at another place than it begins."))
    (x, y), (mid_x, mid_y), (end_x, end_y) = ((each[0].metres, each[1].metres) for each in (start, middle, end))
    mid_x, mid_y, end_x, end_y = mid_x - x, mid_y - y, end_x - x, end_y - y
    twice = 2 * (mid_x * end_y - mid_y * end_x)
    if not twice:
        raise LineError(_("These three lie in one line; write the end alone."))
    # Where the bisectors of the two chords meet, from the start.
    mid, far = mid_x**2 + mid_y**2, end_x**2 + end_y**2
    center_x, center_y = (mid * end_y - far * mid_y) / twice, (far * mid_x - mid * end_x) / twice
    radius = sqrt(center_x**2 + center_y**2)
    return Arc(start, end, float(x + center_x), float(y + center_y), radius, turns_left=twice > 0)


def arc_by_radius(start: Place, end: Place, radius: Length, *, turns_left: bool) -> Arc:
    """The shorter arc of that radius from the start to the end, to the left or the right. Raises `LineError`."""
    if start == end:
        raise LineError(_("An arc ends at another place than it begins."))
    (x, y), (end_x, end_y), long = _metres(start), _metres(end), float(radius.metres)
    half = hypot(end_x - x, end_y - y) / 2
    if long < half * (1 - 1e-9):
        raise LineError(_("This radius is too small to reach the end; it is half the way there at least."))
    off = sqrt(max(long**2 - half**2, 0)) * (1 if turns_left else -1)
    across = -(end_y - y) / (2 * half), (end_x - x) / (2 * half)  # to the left of the way there, one long
    return Arc(start, end, (x + end_x) / 2 + off * across[0], (y + end_y) / 2 + off * across[1], long, turns_left)


def circle(center: Place, radius: Length) -> Line:
    """A whole circle against the clock, from the right of its center, with four corners."""
    x, y = center
    ends = [(x + radius, y), (x, y + radius), (x - radius, y), (x, y - radius)]
    (at_x, at_y), long = _metres(center), float(radius.metres)
    arcs = [Arc(one, other, at_x, at_y, long, turns_left=True) for one, other in pairwise([*ends, ends[0]])]
    return Line([ends[0], *arcs])


class Line(list[Place]):
    """The places of a line, with chords in place of its arcs; what it is made of is `parts`.

    A ring that ends where it begins leaves its last place out, as one without arcs does.
    """

    def __init__(self, items: Sequence[Place | Arc]) -> None:
        self.parts: list[Straight | Arc] = []
        first, *others = items
        assert not isinstance(first, Arc)
        here = first
        for each in others:
            part = each if isinstance(each, Arc) else Straight(here, each)
            self.parts.append(part)
            here = part.end
        self.corners = [first, *(part.end for part in self.parts)]
        places = [
            first,
            *(place for part in self.parts for place in (part.chords() if isinstance(part, Arc) else [part.end])),
        ]
        if self.curved and places[0] == places[-1]:
            places.pop()
            self.corners.pop()
        super().__init__(places)

    def ring(self) -> Line:
        """The same closed, as the outline of an area that holds every place on its arcs."""
        if not self.curved:
            return self
        left_is_within = signed_area(self) > 0
        ring = [self[0]]
        for part in self.parts:
            if isinstance(part, Arc):
                ring += part.chords("outside" if part.turns_left is left_is_within else "inside")
            else:
                ring.append(part.end)
        self[:] = ring[:-1] if ring[0] == ring[-1] else ring
        return self

    @property
    def curved(self) -> bool:
        """Whether there is an arc in it."""
        return any(isinstance(part, Arc) for part in self.parts)

    @property
    def closed_circle(self) -> bool:
        """Whether it is one circle all round, whose corners are no corners on the ground."""
        centers = {(part.x, part.y, part.radius) if isinstance(part, Arc) else None for part in self.parts}
        return len(centers) == 1 and None not in centers and self.parts[0].start == self.parts[-1].end

    @property
    def length(self) -> Number:
        """How long it is, in metres; exact where it leads along x and y alone."""
        return sum((part.length for part in self.parts), Fraction(0))

    def every(self, spacing: Length) -> list[Number]:
        """The stations so far apart, in metres; they begin anew at each corner, and the end is one."""
        found = list[Number]()
        begins: Number = Fraction(0)
        for part in self.parts:
            count = ceil(float(part.length / spacing.metres) - 1e-9)
            found += [begins + number * spacing.metres for number in range(max(count, 1))]
            begins += part.length
        return [*found, begins]

    def place(self, station: Number, right: Number = 0) -> Place:
        """The place so many metres from its start and to the right of it (left with a minus). Raises `LineError`.

        At a corner the offset is that of both ways from there.
        """
        begins: Number = Fraction(0)
        for number, part in enumerate(self.parts):
            last = number == len(self.parts) - 1
            if station < begins + part.length - 1 / FINEST or last:
                along = min(max(station - begins, Fraction(0)), part.length)
                along = part.length if abs(float(part.length - along)) < 1 / FINEST else along
                before = self.parts[number - 1] if number and float(along) < 1 / FINEST else None
                return _mitred(before, part, right) if before and right else part.place(along, right)
            begins += part.length
        raise AssertionError("a line has a part")


def _mitred(before: Straight | Arc, part: Straight | Arc, right: Number) -> Place:
    """The place beside a corner that is as far from the way that leads to it as from the way on."""
    (x, y), one, other = _metres(part.start), before.heading(before.length), part.heading(0)
    before.place(before.length, right), part.place(0, right)  # raises where an arc turns tighter
    half = (other - one) / 2
    if abs(cos(half)) < 0.1:
        raise LineError(_("The line turns back on itself here and has no offset."))
    way, right = one + half, float(right)
    return _rounded(x + right * sin(way) / cos(half), y - right * cos(way) / cos(half))
