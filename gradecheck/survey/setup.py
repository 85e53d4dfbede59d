"""One standing of the instrument: from a backsight on a known mark to the elevation of anything the rod sees."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Rod


@dataclass(frozen=True, slots=True)
class SetUp:
    """A set-up with its rod; `zero` is the elevation at which that rod would read nothing.

    For a standard rod that is the plane of the instrument (height of instrument): elevation = zero - reading.
    On a direct rod the figures run with the ground: elevation = zero + reading.
    """

    rod: Rod
    zero: Elevation

    def elevation(self, reading: Length) -> Elevation:
        """The elevation under the foot of the rod; a negative reading is a rod held upside down, or above."""
        return self.zero + reading if self.rod.kind == "direct" else self.zero.minus(reading)

    def grade_rod(self, wanted: Elevation) -> Length:
        """What the rod should read where the ground is right; negative where grade is above the plane."""
        return wanted.above(self.zero) if self.rod.kind == "direct" else self.zero.above(wanted)


def stand(rod: Rod, mark: Elevation, backsight: Length) -> SetUp:
    """The set-up that a backsight on a mark of known elevation fixes."""
    return SetUp(rod, mark.minus(backsight) if rod.kind == "direct" else mark + backsight)
