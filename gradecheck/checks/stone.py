"""What fills a hole, what is ordered and what is hauled: each factor used once, and kept with its source."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place
from gradecheck.ground.volumes import carried_area
from gradecheck.measure.quantities import ZERO, Length
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
    return Haul(bank, loose, loads(loose, truck), (swell, Factor("a truck holds", truck, "m^3", "as given")))


def loads(loose: Fraction, truck: Fraction) -> int:
    """Truck loads for a loose volume, the last one perhaps part full; a ValueError where a truck holds nothing."""
    if truck <= 0:
        raise ValueError("a truck holds something")
    return ceil(loose / truck)


def past_the_edge(ground: Outline | Fraction | None, past_edge: Length, beside: Beside = NOTHING_BESIDE) -> Factor:
    """The area with the dig carried past every edge, but not into what lies beside it, over the area without."""
    if not past_edge:
        return Factor("carried past the edge", Fraction(1), "", "the dig ends at the edge")
    if not isinstance(ground, Outline):
        return Factor("carried past the edge", Fraction(1), "", "not added: the outline is not known")
    value = carried_area(ground, past_edge, beside.walls, beside.areas) / ground.area
    how = "the outline, every edge carried outward"
    if beside != NOTHING_BESIDE:
        how = "the outline, carried outward but not past a wall or into another area"
    return Factor("carried past the edge", value, "", how)


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
