"""What stone an area takes: what is ordered for each layer, what is hauled away, what fills the over-dig so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gradecheck.checks.stone import Fill, Haul, Order, haul, order
from gradecheck.ground.outline import Outline
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.model import Area, BuildUp
from gradecheck.plan.stone import SAND, Stone
from gradecheck.state.as_built import OverDugArea, over_dug
from gradecheck.state.state import State


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

    @property
    def filling(self) -> Fill | None:
        """The stone that fills what was over-dug."""
        return self.over_dug.stone if self.over_dug else None


def area_orders(state: State, area: Area) -> AreaOrders:
    """The quantities of an area by the plan's outline, and by what was read at its subgrade."""
    stone = state.plan.stone or Stone()
    layers: tuple[Order, ...] = ()
    soil = None
    if area.outline is not None and area.build_up is not None:
        layers = tuple(_layers(area.build_up, area.outline, stone))
        dig = order("dig", area.outline, area.build_up.dig, stone, area.build_up.past_edge)
        soil = haul(dig.compacted, stone)
    dug = over_dug(state, area.name)
    known = dug if dug is not None and dug.stone is not None else None
    return AreaOrders(area.name, area.outline is not None, layers, soil, known)


def _layers(build_up: BuildUp, outline: Outline, stone: Stone) -> Iterator[Order]:
    """The order for each layer that comes loose; only the base is carried past the edge."""
    for layer in build_up.layers:
        if layer.name == "base":
            yield order(layer.name, outline, layer.thickness, stone, build_up.past_edge)
        elif layer.name == "bedding":
            yield order(layer.name, outline, layer.thickness, SAND, ZERO)
