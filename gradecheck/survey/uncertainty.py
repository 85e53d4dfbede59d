"""How sure an elevation is: what the rod, the receiver, the beam and the marks carried leave open.

Each part is a limit taken as evenly likely (u = limit / sqrt 3; JCGM 100:2008, 4.3.7, from memory); parts are
independent and combine as the root of the sum of squares; U = 2 u is what is shown (JCGM 100:2008, 6.2, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import hypot, sqrt

from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Instrument, Rod

COVERAGE = 2
"""k: about 95 of 100."""
_FINENESS = 10**7
"""U is rounded up to a ten-thousandth of a millimetre, so that it can stand in an exact comparison."""


@dataclass(frozen=True, slots=True)
class Budget:
    """The standard uncertainties, in metres, that one sight has; `total` is their root sum of squares."""

    graduation: float
    receiver: float
    beam: float
    plumb: float

    @property
    def total(self) -> float:
        """The sight's standard uncertainty in metres."""
        return hypot(self.graduation, self.receiver, self.beam, self.plumb)


def sight_budget(
    instrument: Instrument, rod: Rod, reading: Length, distance: Length | None, found_slope: Fraction | None = None
) -> Budget:
    """What one sight leaves open. Where the distance is not known the plan's longest shot is taken.

    `found_slope` is the slope error an instrument test found; it takes the place of the maker's limit.
    """
    run = float((instrument.longest_shot if distance is None else distance).metres)
    beam = abs(found_slope) if found_slope is not None else instrument.beam.ratio
    # Half a mark either way; a rod out of plumb by the angle e reads r (1/cos e - 1) too much, about r e^2 / 2.
    return Budget(
        graduation=float(rod.notation.graduation.metres) / 2 / sqrt(3),
        receiver=float(instrument.receiver.metres) / sqrt(3),
        beam=float(beam) * run / sqrt(3),
        plumb=float(abs(reading.metres)) * float(instrument.plumb.ratio) ** 2 / 2 / sqrt(3),
    )


def expanded(standard: float) -> Length:
    """U = 2 u as a length, rounded up."""
    return Length(Fraction(-int(-COVERAGE * standard * _FINENESS // 1), _FINENESS))
