"""What stone an area takes: what is ordered for each layer, what is hauled away, what fills the over-dig so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.checks.dig import Beside, Factor, Fill, Haul, Order, haul, order
from gradecheck.ground.earthwork import cut_and_fill, pieces_of
from gradecheck.ground.outline import Outline
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.model import Area, BuildUp, Layer
from gradecheck.plan.stone import SAND, Stone
from gradecheck.state.as_built import OverDugArea, over_dug
from gradecheck.state.dig_so_far import beside_area
from gradecheck.state.state import State

SANDS = frozenset(("bedding", "sand", "screenings"))
STONES = frozenset(
    ("base", "subbase", "frost", "gravel", "stone", "aggregate", "crushed", "ballast", "drainage", "fill")
)
LOOSE_TOPS = frozenset(("base", "gravel", "crushed"))
"""Words in the names of layers by which they are ordered as sand or as the job's stone, also as the topmost layer."""
BY_EXISTING_GROUND = Factor(_("all that is cut is hauled"), Fraction(1), "", _("assumed: none is used as fill"))
AT_THE_FINISH = Factor(_("existing ground above the finish"), Fraction(0), "m", _("assumed: it lies at the finish"))


@dataclass(frozen=True, slots=True)
class NotOrdered:
    """A layer that is not ordered as stone or sand: its square metres, cubic metres in place, and why."""

    name: str
    area: Fraction
    volume: Fraction
    why: str


@dataclass(frozen=True, slots=True)
class Earthwork:
    """Cut in the ground and fill in place, cubic metres, with the dig carried past the edge; never netted.

    `fill_loose` is what that fill takes as it is delivered. The factors tell what the figures were multiplied by.
    """

    cut: Fraction
    fill: Fraction
    fill_loose: Fraction
    factors: tuple[Factor, ...]


@dataclass(frozen=True, slots=True)
class AreaOrders:
    """One area's quantities; without an outline in the plan nothing is ordered and `soil` is None.

    `over_dug` is None where nothing was read at the subgrade, or no area is known to work its volume out over.
    """

    area: str
    has_outline: bool
    layers: tuple[Order, ...]
    soil: Haul | None
    over_dug: OverDugArea | None
    not_ordered: tuple[NotOrdered, ...] = ()
    earthwork: Earthwork | None = None
    """Cut and fill from existing ground, where the plan says how it lies."""
    truck: Fraction | None = None

    @property
    def filling(self) -> Fill | None:
        """The stone that fills what was over-dug."""
        return self.over_dug.stone if self.over_dug else None


def area_orders(state: State, area: Area, truck: Fraction | None = None) -> AreaOrders:
    """The quantities of an area by the plan's outline, and by what was read at its subgrade.

    With a `truck` that holds so many cubic metres loose, the soil in loads.
    """
    stone = state.plan.stone or Stone()
    as_given, truck = truck is not None, stone.truck if truck is None else truck
    layers: tuple[Order, ...] = ()
    others: tuple[NotOrdered, ...] = ()
    soil, earthwork = None, None
    if area.outline is not None and area.build_up is not None:
        beside = beside_area(state.plan, area)
        layers = tuple(_layers(area.build_up, area.outline, stone, beside))
        ordered = {each.name for each in layers}
        others = tuple(
            NotOrdered(layer.name, area.outline.area, area.outline.area * layer.thickness.metres, _why(area, layer))
            for layer in area.build_up.layers
            if layer.name not in ordered
        )
        dig = order("dig", area.outline, area.build_up.dig, stone, area.build_up.past_edge, beside)
        earthwork = _earthwork(area, area.build_up, area.outline, stone, dig.factors[0])
        bank, lies = (dig.compacted, AT_THE_FINISH) if earthwork is None else (earthwork.cut, BY_EXISTING_GROUND)
        hauled = haul(bank, stone, truck)
        factors = hauled.factors if as_given else tuple(map(_by_the_plan, hauled.factors))
        soil = replace(hauled, factors=(dig.factors[0], *factors, lies))
    dug = over_dug(state, area.name)
    known = dug if dug is not None and dug.stone is not None else None
    return AreaOrders(area.name, area.outline is not None, layers, soil, known, others, earthwork, truck)


def _by_the_plan(factor: Factor) -> Factor:
    """What a truck holds, where the job file says it."""
    return replace(factor, source=_("the plan")) if factor.unit == "m^3" else factor


def _earthwork(area: Area, build_up: BuildUp, outline: Outline, stone: Stone, past: Factor) -> Earthwork | None:
    """Cut and fill from existing ground to the subgrade; None where the plan does not say how both lie."""
    if area.existing is None:
        return None
    spots = [spot for point in area.points if (spot := point.spot) is not None]
    ground, finish = pieces_of(area.existing, []), pieces_of(area.surface, spots)
    found = cut_and_fill(outline, ground, finish, build_up.dig)
    if not found.covered:
        return None
    wider = Factor(
        _("outline over where ground and finish are known"),
        outline.area / found.covered,
        "",
        _("the outline, and the spots of both surfaces"),
    )
    share = past.value * wider.value
    cut, fill = found.apart.above * share, found.apart.below * share
    loose = Factor(_("loose over compacted"), stone.compaction, "", stone.source("compaction"))
    return Earthwork(cut, fill, fill * stone.compaction, (past, wider, loose))


def _why(area: Area, layer: Layer) -> str:
    if area.build_up is not None and layer == area.build_up.layers[0]:
        return _("the surface is bought by the piece or the area")
    return _("what it weighs and costs is not known")


def _layers(build_up: BuildUp, outline: Outline, stone: Stone, beside: Beside) -> Iterator[Order]:
    """The order for each layer that comes loose; only what lies below the bedding is carried past the edge."""
    for layer in build_up.layers:
        words = set(layer.name.casefold().replace("-", " ").split())
        if words & SANDS:
            yield order(layer.name, outline, layer.thickness, SAND, ZERO)
        elif words & STONES and (layer != build_up.layers[0] or words & LOOSE_TOPS):
            yield order(layer.name, outline, layer.thickness, stone, build_up.past_edge, beside)
