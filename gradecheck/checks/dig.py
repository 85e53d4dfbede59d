"""How far an area was dug too deep, and the stone: what fills it, what is ordered and what is hauled."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import ceil
from typing import Literal

from gradecheck.catalogue import _
from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.triangles import Triangles, covered, triangulate
from gradecheck.ground.volumes import Face, carried_area, faces, hull
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.stone import Stone


@dataclass(frozen=True, slots=True)
class Factor:
    """A number that a quantity was worked out with, and where it came from; `unit` is empty for a ratio."""

    name: str
    value: Fraction
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Fill:
    """Stone that fills what was dug too deep: cubic metres compacted, kilograms, money where the price is known."""

    volume: Fraction
    mass: Fraction
    money: Fraction | None
    factors: tuple[Factor, ...]


def fill(volume: Fraction, stone: Stone) -> Fill:
    """The stone for so many cubic metres compacted; nothing is added for waste, it is what went into the ground."""
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


@dataclass(frozen=True, slots=True)
class Beside:
    """What lies beside an area, so that nothing of it is carried there: walls, and the outlines of other areas."""

    walls: tuple[tuple[Place, ...], ...] = ()
    areas: tuple[Outline, ...] = ()


NOTHING_BESIDE = Beside()


def order(
    name: str,
    ground: Outline | Fraction,
    thickness: Length,
    stone: Stone,
    past_edge: Length = ZERO,
    beside: Beside = NOTHING_BESIDE,
) -> Order:
    """The order for a layer that thick when compacted, over an outline or an area in square metres.

    Only an outline can be carried past its edge; the first factor tells whether it was.
    """
    past = past_the_edge(ground, past_edge, beside)
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
    return Haul(bank, loose, loads(loose, truck), (swell, Factor(_("a truck holds"), truck, "m^3", _("as given"))))


def loads(loose: Fraction, truck: Fraction) -> int:
    """Truck loads for so many loose cubic metres, the last one perhaps part full; `truck` is what one holds.

    Raises ValueError where a truck holds nothing.
    """
    if truck <= 0:
        raise ValueError(_("a truck holds something"))
    return ceil(loose / truck)


def past_the_edge(ground: Outline | Fraction | None, past_edge: Length, beside: Beside = NOTHING_BESIDE) -> Factor:
    """What the area grows by, as a factor, when the dig is carried past every edge but not into what lies beside it.

    `ground` is the outline or its square metres alone; from an area alone the factor is 1.
    """
    if not past_edge:
        return Factor(_("carried past the edge"), Fraction(1), "", _("the dig ends at the edge"))
    if not isinstance(ground, Outline):
        return Factor(_("carried past the edge"), Fraction(1), "", _("not added: the outline is not known"))
    value = carried_area(ground, past_edge, beside.walls, beside.areas) / ground.area
    how = _("the outline, every edge carried outward")
    if beside != NOTHING_BESIDE:
        how = _("the outline, carried outward but not past a wall or into another area")
    return Factor(_("carried past the edge"), value, "", how)


def _weighed(stone: Stone) -> tuple[Factor, ...]:
    """The factors from a compacted volume to its weight and price."""
    kind = _("density, loose") if stone.loose else _("density, compacted")
    density = Factor(kind, stone.density, "kg/m^3", stone.source("density"))
    weight = (_compaction(stone), density) if stone.loose else (density,)
    if stone.price is None:
        return weight
    return (*weight, Factor("price", stone.price, "$/kg", stone.source("price")))


def _compaction(stone: Stone) -> Factor:
    return Factor(_("loose over compacted"), stone.compaction, "", stone.source("compaction"))


def _money(mass: Fraction, stone: Stone) -> Fraction | None:
    return None if stone.price is None else mass * stone.price


@dataclass(frozen=True, slots=True)
class Dug:
    """What was found below the subgrade, parted: `beyond` what was ordered, which is over-dig, and `ordered`."""

    beyond: tuple[Difference, ...]
    ordered: tuple[Difference, ...]


def parted_by_orders(found: Sequence[Difference], deepest: Mapping[str, Length], orders: Mapping[str, Length]) -> Dug:
    """Parts what was found by how deep an undercut was ordered at each spot.

    Over-dig is what lies below the order now. What was ordered counts as deep as it was ever found, `deepest`: it
    was paid for, though it is filled since.
    """
    beyond, ordered = [], []
    for spot in found:
        order = orders.get(spot.name, ZERO)
        # Filled ground is not over-dug, and what stands high stays high.
        over = spot.difference if spot.difference >= ZERO else min(ZERO, spot.difference + order)
        beyond.append(replace(spot, difference=over))
        if order:
            down = min(order, max(ZERO, -min(deepest.get(spot.name, spot.difference), spot.difference)))
            ordered.append(replace(spot, difference=-down))
    return Dug(tuple(beyond), tuple(ordered))


How = Literal["over the cells and triangles between the spots", "an equal share of the area each", "no area known"]
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
    above: Fraction | None = None
    """Cubic metres that still stand above what is wanted, never made up for by what lies below it."""


@dataclass(frozen=True)
class OverDig:
    """The over-dug volume of an area: its spots are joined once, from the plan.

    Four spots that make a rectangle count together, all other ground by its triangles, cut both ways where they could
    be: which way was chance. A cell or triangle that is not yet read at all its corners counts an equal share of its
    area for each that was read and is too deep; the rest of it, and how it is cut by high corners, is left out until
    then. Spots without a place and ground outside the triangles are left out too. Where no spots can be joined each
    counts for an equal share of the area, if that is known.
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
        beside: Beside = NOTHING_BESIDE,
    ) -> OverDig:
        """For spots of those names, each named once; of two at one place the first counts.

        The `area`, in square metres, is asked for only where there is neither a triangle nor an outline. The dig is
        carried past the edge, but not past a wall `beside` it or into another area.
        """
        triangles = triangulate([Spot(name, at, _GROUND) for name, at in places if at is not None], outline)
        if triangles.corners:
            area = covered(triangles)
        elif outline is not None:
            area = outline.area
        scale = past_the_edge(outline or _round(triangles), past_edge, beside)
        return cls(tuple(name for name, _ in places), triangles, area, scale)

    @property
    def how(self) -> How:
        """What the volume is worked out over."""
        if self.triangles.corners:
            return "over the cells and triangles between the spots"
        return "no area known" if self.area is None else "an equal share of the area each"

    def over_dig_of(self, read: Sequence[Difference]) -> OverDug:
        """How far the ground was dug too deep, by the spots read so far."""
        depths = [max(ZERO, -spot.difference) for spot in read]
        worst = max(depths, default=ZERO)
        deepest = (spot.name for spot, depth in zip(read, depths, strict=True) if depth and depth == worst)
        differences = {spot.name: spot.difference for spot in read}
        return OverDug(
            read=len(read),
            spots=len(self.spots),
            over=sum(1 for depth in depths if depth),
            mean=sum(depths, ZERO) * Fraction(1, len(read)) if read else ZERO,
            worst=worst,
            where=next(deepest, None),
            area=self.area,
            volume=None if self.area is None else self.over_dug(differences),
            how=self.how,
            unjoined=sum(1 for spot in read if spot.at is None) if self.triangles.corners else 0,
            factors=(self.scale,),
            above=None if self.area is None else self.above(differences),
        )

    def over_dug(self, differences: Mapping[str, Length]) -> Fraction:
        """Cubic metres over-dug, compacted, from the differences read so far; names of no spot are passed over.

        Nothing where no area is known.
        """
        if self.triangles.corners:
            return self._below(self._faces, differences)
        return sum((self._shared(name, differences) for name in self.spots), _NOTHING)

    def above(self, differences: Mapping[str, Length]) -> Fraction:
        """Cubic metres that still stand above what is wanted, in the ground, by the same cells and triangles."""
        return self.over_dug({name: -difference for name, difference in differences.items()})

    def change(self, differences: Mapping[str, Length], name: str, difference: Length) -> Fraction:
        """Cubic metres added to `over_dug` when that spot is read, or read again, beside those read so far.

        Only the cells and triangles at the spot are looked at.
        """
        if not self.triangles.corners:
            if name not in self._named:
                return _NOTHING
            return self._shared(name, {name: difference}) - self._shared(name, differences)
        about = self._at.get(name, [])
        beside = {each for face in about for each in self._names(face.corners) if each in differences}
        before = {each: differences[each] for each in beside}
        return self._below(about, {**before, name: difference}) - self._below(about, before)

    def _shared(self, name: str, differences: Mapping[str, Length]) -> Fraction:
        if self.area is None or name not in differences:
            return _NOTHING
        return max(ZERO, -differences[name]).metres * self.area / len(self.spots) * self.scale.value

    def _below(self, among: Iterable[Face], differences: Mapping[str, Length]) -> Fraction:
        total = _NOTHING
        for face in among:
            names = self._names(face.corners)
            read = {corner: differences[name].metres for corner, name in zip(face.corners, names, strict=True)
                    if name in differences}  # fmt: skip
            if len(read) == len(face.corners):
                total += face.apart(list(read.values())).below
            elif read:
                total += _in_part(face, read)
        return total * self.scale.value

    @cached_property
    def _named(self) -> frozenset[str]:
        return frozenset(self.spots)

    @cached_property
    def _faces(self) -> tuple[Face, ...]:
        return faces(self.triangles)

    @cached_property
    def _at(self) -> dict[str, list[Face]]:
        at: dict[str, list[Face]] = defaultdict(list)
        for face in self._faces:
            for name in self._names(face.corners):
                at[name].append(face)
        return dict(at)

    def _names(self, corners: tuple[int, ...]) -> tuple[str, ...]:
        return tuple(self.triangles.spots[corner].name for corner in corners)


def _in_part(face: Face, read: Mapping[int, Fraction]) -> Fraction:
    """Cubic metres below where not all corners were read: an equal share of the area for each that is too deep."""
    total = _NOTHING
    for corners, area in face.triangles or ((face.corners, face.area),):
        known = [read[corner] for corner in corners if corner in read]
        total += area / len(corners) * sum((-depth for depth in known if depth < 0), _NOTHING)
    return total


def _round(triangles: Triangles) -> Outline | None:
    """The line round all spots that triangles join, None where there are none."""
    return Outline(hull([spot.at for spot in triangles.spots])) if triangles.corners else None
