"""Drops beside paving: from its edge to the ground or to other work, as far out as a guard's rule looks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.ground.boxes import Boxes
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Area, Plan

_DIAGONAL = Fraction(707_106_781, 1_000_000_000)
"""Half the root of two, rounded down, so that no look reaches farther than it may."""

_FLOATS = 1e-6
"""Metres more than floats can be off."""


@dataclass(frozen=True, slots=True)
class Drop:
    """How far it goes down beside a point, and beside what: another area's name, or the ground."""

    point: str
    beside: str
    height: Length


def drops(plan: Plan, area: Area, within: Length) -> Iterator[Drop]:
    """The deepest drop beside each point of the area: to its own existing ground, or to another area's finish no
    farther away in plan than `within`. Areas counted from another zero are left out."""
    others = [_Beside(each) for each in plan.areas.values() if each is not area and each.datum == area.datum]
    for point in area.points:
        found: list[tuple[Length, str]] = []
        if area.ground is not None:
            found.append((point.finish.above(area.ground), "ground"))
        if (spot := point.spot) is not None:
            for other in others:
                if (low := other.lowest(spot, within)) is not None:
                    found.append((spot.z.above(low), other.area.name))
        if found:
            height, beside = max(found, key=lambda each: each[0])
            yield Drop(point.name, beside, height)


class _Beside:
    """An area that may lie below another's edge; only its points near a spot are looked at."""

    def __init__(self, area: Area) -> None:
        self.area = area
        self._spots = [spot for point in area.points if (spot := point.spot) is not None]
        at = [(float(spot.x.metres), float(spot.y.metres)) for spot in self._spots]
        self._boxes = Boxes([(x, y, x, y) for x, y in at])

    def lowest(self, spot: Spot, within: Length) -> Elevation | None:
        """The lowest that is known of it so near the spot: its points, and its surface where it is one."""
        x, y, far = float(spot.x.metres), float(spot.y.metres), float(within.metres) + _FLOATS
        close = (self._spots[index] for index in self._boxes.meeting((x - far, y - far, x + far, y + far)))
        heights = [near.z for near in close if _near(near, spot, within)]
        if self.area.surface is not None and self.area.outline is not None:
            for place in _around(spot.at, within):
                if self.area.outline.contains(place) and (height := self.area.surface.elevation(place)) is not None:
                    heights.append(height)
        return min(heights, default=None)


def _near(one: Spot, other: Spot, within: Length) -> bool:
    x, y = (one.x - other.x).metres, (one.y - other.y).metres
    return x * x + y * y <= within.metres**2


def _around(at: Place, within: Length) -> Iterator[Place]:
    """The place itself, and places around it half as far and as far as that."""
    yield at
    for part in (Fraction(1, 2), Fraction(1)):
        far, askew = within * part, within * (part * _DIAGONAL)
        nothing = within * 0
        for x, y in ((far, nothing), (nothing, far), (askew, askew), (askew, -askew)):
            yield at[0] + x, at[1] + y
            yield at[0] - x, at[1] - y
