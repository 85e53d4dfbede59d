"""How far an area is over-dug while it is being dug: kept up reading by reading, not worked out anew for each."""

from __future__ import annotations

from fractions import Fraction

from gradecheck.checks.stone import OverDig
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import SUBGRADE, Area
from gradecheck.state.built import differences
from gradecheck.state.state import State, Surface


class DigSoFar:
    """The over-dug volume of one area at its subgrade, in cubic metres.

    `start` joins the area's points and may take a second; `read` costs the same however many points there are.
    """

    def __init__(self, state: State, area: Area) -> None:
        self.area = area.name
        places = [(point.name, point.at) for point in area.points if point.at is not None]
        past_edge = area.build_up.past_edge if area.build_up else None
        self._dig = OverDig.of(places, area.outline, past_edge) if past_edge else OverDig.of(places, area.outline)
        self._read: dict[str, Length] = {}
        self.volume = Fraction(0)
        self.start(state)

    def start(self, state: State) -> None:
        """Takes up all that was read: after anything but one more reading."""
        self._read = {each.name: each.difference for each in differences(state, self.area, SUBGRADE)}
        self.volume = self._dig.over_dug(self._read)

    def read(self, state: State, surface: Surface) -> None:
        """Takes up one reading more at a point."""
        verdict = state.verdict(surface)
        if surface.area != self.area or surface.stage != SUBGRADE or verdict is None:
            return
        self.volume += self._dig.change(self._read, surface.point, verdict.difference)
        self._read[surface.point] = verdict.difference

    @property
    def can_tell(self) -> bool:
        """Whether the plan says where enough points lie."""
        return bool(self._dig.triangles.corners)
