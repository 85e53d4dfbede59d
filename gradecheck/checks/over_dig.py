"""How far an area was dug too deep, by what was read of it so far: one sum, while it is dug and afterwards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from gradecheck.checks.stone import Factor, past_the_edge
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Corners, Triangles, triangulate
from gradecheck.ground.volumes import covered, hull, plan_area, split
from gradecheck.measure.quantities import ZERO, Elevation, Length

How = Literal["over the triangles between the spots", "an equal share of the area each", "no area known"]
_NOTHING = Fraction(0)
_GROUND = Elevation(_NOTHING)


@dataclass(frozen=True, slots=True)
class Difference:
    """How far a spot was found above what was wanted there; negative is over-dug."""

    name: str
    difference: Length
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class OverDug:
    """How far an area was dug too deep, as far as `read` of its `spots` tell.

    `mean` is over all spots read, one that stands high counting as nothing; `worst` lies at the spot `where`, the
    first of equals. `volume` is cubic metres compacted, with the dig carried past the edge (a factor tells by how
    much), None where no area is known; what was not read adds nothing to it. `area` is the square metres of all spots
    together, before that factor; `unjoined` of those read are not in the volume because the plan does not say where
    they lie.
    """

    read: int
    spots: int
    over: int
    mean: Length
    worst: Length
    where: str | None
    area: Fraction | None
    volume: Fraction | None
    how: How
    unjoined: int
    factors: tuple[Factor, ...]


@dataclass(frozen=True)
class OverDig:
    """The over-dug volume of an area: its spots are joined once, from the plan.

    A triangle that is not yet read at all three corners counts a third of its area for each corner that was read and
    is too deep; the rest of it, and how it is cut by high corners, is left out until then. Spots without a place and
    ground outside the triangles are left out too. Where no spots can be joined each counts for an equal share of the
    area, if that is known.
    """

    spots: tuple[str, ...]
    triangles: Triangles
    area: Fraction | None
    scale: Factor

    @classmethod
    def of(
        cls,
        places: Sequence[tuple[str, Place | None]],
        outline: Outline | None = None,
        area: Fraction | None = None,
        past_edge: Length = ZERO,
    ) -> OverDig:
        """For spots of those names, each named once; of two at one place the first counts.

        The `area`, in square metres, is asked for only where there is neither a triangle nor an outline.
        """
        triangles = triangulate([Spot(name, at, _GROUND) for name, at in places if at is not None], outline)
        if triangles.corners:
            area = covered(triangles)
        elif outline is not None:
            area = outline.area
        scale = past_the_edge(outline or _round(triangles), past_edge)
        return cls(tuple(name for name, _ in places), triangles, area, scale)

    @property
    def how(self) -> How:
        """What the volume is worked out over."""
        if self.triangles.corners:
            return "over the triangles between the spots"
        return "no area known" if self.area is None else "an equal share of the area each"

    def told(self, read: Sequence[Difference]) -> OverDug:
        """How far the ground was dug too deep, by the spots read so far."""
        depths = [max(ZERO, -spot.difference) for spot in read]
        worst = max(depths, default=ZERO)
        deepest = (spot.name for spot, depth in zip(read, depths, strict=True) if depth and depth == worst)
        volume = self.over_dug({spot.name: spot.difference for spot in read})
        return OverDug(
            read=len(read),
            spots=len(self.spots),
            over=sum(1 for depth in depths if depth),
            mean=sum(depths, ZERO) * Fraction(1, len(read)) if read else ZERO,
            worst=worst,
            where=next(deepest, None),
            area=self.area,
            volume=None if self.area is None else volume,
            how=self.how,
            unjoined=sum(1 for spot in read if spot.at is None) if self.triangles.corners else 0,
            factors=(self.scale,),
        )

    def over_dug(self, differences: Mapping[str, Length]) -> Fraction:
        """Cubic metres over-dug, compacted, from the differences read so far; names of no spot are passed over.

        Nothing where no area is known.
        """
        if self.triangles.corners:
            return self._below(self._areas, differences)
        return sum((self._shared(name, differences) for name in self.spots), _NOTHING)

    def change(self, differences: Mapping[str, Length], name: str, difference: Length) -> Fraction:
        """What is added to `over_dug` when that spot is read, or read again, beside those read so far.

        Only the triangles at the spot are looked at.
        """
        if not self.triangles.corners:
            if name not in self._named:
                return _NOTHING
            return self._shared(name, {name: difference}) - self._shared(name, differences)
        about = {corners: self._areas[corners] for corners in self._at.get(name, ())}
        beside = {each for corners in about for each in self._names(corners) if each in differences}
        before = {each: differences[each] for each in beside}
        return self._below(about, {**before, name: difference}) - self._below(about, before)

    def _shared(self, name: str, differences: Mapping[str, Length]) -> Fraction:
        if self.area is None or name not in differences:
            return _NOTHING
        return max(ZERO, -differences[name]).metres * self.area / len(self.spots) * self.scale.value

    def _below(self, areas: Mapping[Corners, Fraction], differences: Mapping[str, Length]) -> Fraction:
        total = _NOTHING
        for corners, area in areas.items():
            read = [differences[name].metres for name in self._names(corners) if name in differences]
            if len(read) == 3:
                total += split((read[0], read[1], read[2]), area).below
            else:
                total += area / 3 * sum(-depth for depth in read if depth < 0)
        return total * self.scale.value

    @cached_property
    def _named(self) -> frozenset[str]:
        return frozenset(self.spots)

    @cached_property
    def _areas(self) -> dict[Corners, Fraction]:
        return {corners: plan_area(self.triangles, corners) for corners in self.triangles.corners}

    @cached_property
    def _at(self) -> dict[str, list[Corners]]:
        at: dict[str, list[Corners]] = defaultdict(list)
        for corners in self.triangles.corners:
            for name in self._names(corners):
                at[name].append(corners)
        return dict(at)

    def _names(self, corners: Corners) -> tuple[str, ...]:
        return tuple(self.triangles.spots[corner].name for corner in corners)


def _round(triangles: Triangles) -> Outline | None:
    """The line round all spots that triangles join, None where there are none."""
    return Outline(hull([spot.at for spot in triangles.spots])) if triangles.corners else None
