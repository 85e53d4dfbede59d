"""What digging too deep costs, and what is ordered and hauled: each factor used once, and kept with its source."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil
from typing import Literal

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Corners, Triangles, triangulate
from gradecheck.ground.volumes import carried_area, covered, hull, plan_area, split, volume_between
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.stone import Stone

How = Literal["over the triangles between the spots", "mean over-dig times the area", "no area known"]
_NOTHING = Fraction(0)
_GROUND = Elevation(_NOTHING)


@dataclass(frozen=True, slots=True)
class Difference:
    """How far a spot was found above what was wanted there; negative is over-dug."""

    name: str
    difference: Length
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class Factor:
    """A number that a quantity was worked out with, and where it came from; `unit` is empty for a ratio."""

    name: str
    value: Fraction
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class OverDug:
    """How far an area was dug too deep.

    `mean` is over all spots read, one that stands high counting as nothing; `worst` lies at the spot `where`, the
    first of equals. `volume` is cubic metres compacted, with the dig carried past the edge (a factor tells by how
    much), None where no area is known. `area` is the square metres it was worked out over, before that factor,
    `without_place` how many of the spots read could not be joined because the plan does not say where they lie.
    """

    read: int
    over: int
    mean: Length
    worst: Length
    where: str | None
    area: Fraction | None
    volume: Fraction | None
    how: How
    without_place: int
    factors: tuple[Factor, ...]


def over_dig(
    spots: Sequence[Difference],
    outline: Outline | None = None,
    area: Fraction | None = None,
    past_edge: Length = ZERO,
) -> OverDug:
    """How far the ground at these spots was dug too deep.

    The volume is taken over the triangles between spots whose place is known, inside the outline if there is one,
    else it is the mean times the outline's area or the `area` given. Ground that no triangle covers is left out.
    """
    depths = [max(ZERO, -spot.difference) for spot in spots]
    worst = max(depths, default=ZERO)
    placed = [Spot(each.name, each.at, Elevation(each.difference.metres)) for each in spots if each.at is not None]
    joined = triangulate(placed, outline)
    mean = sum(depths, ZERO) * Fraction(1, len(spots)) if spots else ZERO
    own: Fraction | None
    volume: Fraction | None
    how: How
    if joined.corners:
        found = [spot.z for spot in joined.spots]
        own, how = covered(joined), "over the triangles between the spots"
        volume = volume_between(found, [_GROUND] * len(found), joined).below
    else:
        own = outline.area if outline else area
        how = "no area known" if own is None else "mean over-dig times the area"
        volume = None if own is None else mean.metres * own
    scale = _past_the_edge(outline or _round(joined), past_edge)
    return OverDug(
        read=len(spots),
        over=sum(1 for depth in depths if depth),
        mean=mean,
        worst=worst,
        where=next((spot.name for spot, depth in zip(spots, depths, strict=True) if depth and depth == worst), None),
        area=own,
        volume=None if volume is None else volume * scale.value,
        how=how,
        without_place=len(spots) - len(placed),
        factors=(scale,),
    )


@dataclass(frozen=True)
class OverDig:
    """The over-dug volume of an area while it is dug: its spots are joined once, from the plan.

    A triangle read at all three corners counts exactly as in `over_dig`. One that is not yet read at all of them
    counts a third of its area for each corner that was read and is too deep; the rest of it, and how it is cut by
    high corners, is left out until then. Spots without a place and ground outside the triangles are left out too.
    """

    triangles: Triangles
    scale: Factor

    @classmethod
    def of(
        cls, places: Sequence[tuple[str, Place]], outline: Outline | None = None, past_edge: Length = ZERO
    ) -> OverDig:
        """For spots of those names, each named once; of two at one place the first counts."""
        triangles = triangulate([Spot(name, at, _GROUND) for name, at in places], outline)
        return cls(triangles, _past_the_edge(outline or _round(triangles), past_edge))

    def over_dug(self, differences: Mapping[str, Length]) -> Fraction:
        """Cubic metres over-dug, compacted, from the differences read so far; names not joined are passed over."""
        return self._below(self._areas, differences)

    def change(self, differences: Mapping[str, Length], name: str, difference: Length) -> Fraction:
        """What is added to `over_dug` when that spot is read, or read again, beside those read so far.

        Only the triangles at the spot are looked at.
        """
        about = {corners: self._areas[corners] for corners in self._at.get(name, ())}
        beside = {each for corners in about for each in self._names(corners) if each in differences}
        before = {each: differences[each] for each in beside}
        return self._below(about, {**before, name: difference}) - self._below(about, before)

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


@dataclass(frozen=True, slots=True)
class Fill:
    """Stone that fills what was dug too deep: cubic metres compacted, kilograms, money where the price is known."""

    volume: Fraction
    mass: Fraction
    money: Fraction | None
    factors: tuple[Factor, ...]


def fill(volume: Fraction, stone: Stone) -> Fill:
    """The stone for a compacted volume; nothing is added for waste, it is what went into the ground."""
    mass = volume * stone.in_place
    return Fill(volume, mass, _money(mass, stone), _weighed(stone))


@dataclass(frozen=True, slots=True)
class Order:
    """What to order for one layer.

    `area` is square metres with the layer carried past the edge, `compacted` cubic metres in place; `loose` cubic
    metres as delivered and `mass` kilograms, both with waste; money where the price is known.
    """

    name: str
    area: Fraction
    compacted: Fraction
    loose: Fraction
    mass: Fraction
    money: Fraction | None
    factors: tuple[Factor, ...]


def order(name: str, ground: Outline | Fraction, thickness: Length, stone: Stone, past_edge: Length = ZERO) -> Order:
    """The order for a layer that thick when compacted, over an outline or an area in square metres.

    Only an outline can be carried past its edge; the first factor tells whether it was.
    """
    past = _past_the_edge(ground, past_edge)
    area = (ground.area if isinstance(ground, Outline) else ground) * past.value
    compacted = area * thickness.metres
    more = 1 + stone.waste
    mass = compacted * stone.in_place * more
    waste = Factor("waste", more, "", stone.source("waste"))
    # The bulk of a load always needs the ratio; the weight needs it only where the density is a loose one.
    factors = (past, *_weighed(stone), waste) if stone.loose else (past, *_weighed(stone), _compaction(stone), waste)
    return Order(name, area, compacted, compacted * stone.compaction * more, mass, _money(mass, stone), factors)


@dataclass(frozen=True, slots=True)
class Haul:
    """Soil to take away: cubic metres in the ground (bank) and swollen (loose), and truck loads rounded up."""

    bank: Fraction
    loose: Fraction
    loads: int | None
    factors: tuple[Factor, ...]


def haul(bank: Fraction, stone: Stone, truck: Fraction | None = None) -> Haul:
    """What a bank volume makes once dug, in trucks that hold that many cubic metres loose."""
    swell = Factor("swell", 1 + stone.swell, "", stone.source("swell"))
    loose = bank * swell.value
    if truck is None:
        return Haul(bank, loose, None, (swell,))
    return Haul(bank, loose, loads(loose, truck), (swell, Factor("a truck holds", truck, "m^3", "as given")))


def loads(loose: Fraction, truck: Fraction) -> int:
    """Truck loads for a loose volume, the last one perhaps part full; a ValueError where a truck holds nothing."""
    if truck <= 0:
        raise ValueError("a truck holds something")
    return ceil(loose / truck)


def _past_the_edge(ground: Outline | Fraction | None, past_edge: Length) -> Factor:
    """The area with the dig carried past every edge over the area without."""
    if not past_edge:
        return Factor("carried past the edge", Fraction(1), "", "the dig ends at the edge")
    if not isinstance(ground, Outline):
        return Factor("carried past the edge", Fraction(1), "", "not added: the outline is not known")
    value = carried_area(ground, past_edge) / ground.area
    return Factor("carried past the edge", value, "", "the outline, every edge carried outward")


def _round(triangles: Triangles) -> Outline | None:
    """The line round all spots that triangles join, None where there are none."""
    return Outline(hull([spot.at for spot in triangles.spots])) if triangles.corners else None


def _weighed(stone: Stone) -> tuple[Factor, ...]:
    """The factors from a compacted volume to its weight and price."""
    kind = "density, loose" if stone.loose else "density, compacted"
    density = Factor(kind, stone.density, "kg/m^3", stone.source("density"))
    weight = (_compaction(stone), density) if stone.loose else (density,)
    if stone.price is None:
        return weight
    return (*weight, Factor("price", stone.price, "$/kg", stone.source("price")))


def _compaction(stone: Stone) -> Factor:
    return Factor("loose over compacted", stone.compaction, "", stone.source("compaction"))


def _money(mass: Fraction, stone: Stone) -> Fraction | None:
    return None if stone.price is None else mass * stone.price
