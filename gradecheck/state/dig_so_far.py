"""How far an area is over-dug while it is being dug: kept up reading by reading, not worked out anew for each."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.checks.dig import Beside, Difference, Dug, OverDig, parted_by_orders
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import SUBGRADE, Area, Plan
from gradecheck.state.built import differences
from gradecheck.state.state import State, Surface


class DigSoFar:
    """The over-dug volume of one area at its subgrade, in cubic metres.

    Made, it has joined the area's points, which may take a second and asks no state, so that a thread may do it.
    `start` then takes up what was read; `read` costs the same however many points there are.
    """

    def __init__(self, plan: Plan, area: Area) -> None:
        self.area = area.name
        self._dig = joined_points(plan, area)
        self._read: dict[str, Length] = {}
        self._orders: dict[str, Length] = {}
        self.volume = self._dig.over_dug({})  # nothing yet, but it works out what each triangle covers

    def start(self, state: State) -> None:
        """Takes up all that was read: after anything but one more reading."""
        found = differences(state, self.area, SUBGRADE)
        beyond = parted_dig(state, state.plan.areas[self.area], found).beyond
        self._orders = undercut_orders(state, state.plan.areas[self.area])
        self._read = {each.name: each.difference for each in beyond}
        self.volume = self._dig.over_dug(self._read)

    def read(self, state: State, surface: Surface) -> None:
        """Takes up one reading more at a point."""
        verdict = state.verdict(surface)
        if surface.area != self.area or surface.stage != SUBGRADE or verdict is None:
            return
        if verdict.word is Word.EXAMPLE:
            return
        off = verdict.difference
        if off < ZERO:
            off = min(ZERO, off + self._orders.get(surface.point, ZERO))
        self.volume += self._dig.change(self._read, surface.point, off)
        self._read[surface.point] = off

    @property
    def can_tell(self) -> bool:
        """Whether the plan says where enough points lie, or what the area is."""
        return self._dig.area is not None


def beside_area(plan: Plan, area: Area) -> Beside:
    """The walls, and the outlines of the other areas: nothing is carried past the edge there."""
    others = (other.outline for other in plan.areas.values() if other.name != area.name and other.outline is not None)
    return Beside(tuple(plan.walls.values()), tuple(others))


def undercut_orders(state: State, area: Area) -> dict[str, Length]:
    """By point how deep an undercut was ordered there, the deepest of several; none elsewhere."""
    orders: dict[str, Length] = {}
    for kept in state.record.on_layers(area.name):
        if (order := kept.fact.undercut) is not None:
            for name in [order.point] if order.point else [point.name for point in area.points]:
                orders[name] = max(order.depth, orders.get(name, ZERO))
    return orders


def parted_dig(state: State, area: Area, found: Sequence[Difference]) -> Dug:
    """What was found at the subgrade, parted into over-dig and what was ordered."""
    orders = undercut_orders(state, area)
    return parted_by_orders(found, {name: _deepest(state, area, name) for name in orders}, orders)


def _deepest(state: State, area: Area, name: str) -> Length:
    """The lowest that the subgrade was ever found there, off its target; nothing in doubt counts."""
    surface = Surface(area.name, name, SUBGRADE)
    verdicts = (state.judge(shot, surface) for shot in state.shots.get(surface, ()) if not state.in_doubt(shot))
    return min((each.difference for each in verdicts if each and each.word is not Word.EXAMPLE), default=ZERO)


def joined_points(plan: Plan, area: Area) -> OverDig:
    """The points of an area joined, for all that is said of its over-dig, on screen and on paper."""
    past_edge = area.build_up.past_edge if area.build_up else ZERO
    places = [(point.name, point.at) for point in area.points]
    return OverDig.of(places, area.outline, past_edge=past_edge, beside=beside_area(plan, area))
