"""One standing of the instrument: from backsights on known marks to the elevation of anything the rod sees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO, Elevation, FallXY, Length, Slope
from gradecheck.plan.model import Rod


@dataclass(frozen=True, slots=True)
class Beam:
    """A beam set to fall along the plan's x and y axes; `origin` is where the plane has the setup's elevation."""

    x: Slope
    y: Slope
    origin: Place

    def drop(self, at: Place) -> Length:
        """How far the plane lies lower there than at the origin."""
        return self.x.over(at[0] - self.origin[0]) + self.y.over(at[1] - self.origin[1])


@dataclass(frozen=True, slots=True)
class Setup:
    """A setup with its rod; `zero` is the elevation at which that rod would read nothing.

    For a standard rod that is the plane of the instrument (height of instrument): elevation = zero - reading.
    On a direct rod the readings run with the ground: elevation = zero + reading. With a sloped `beam` the zero
    is that at the beam's origin, and nothing can be said of a spot whose place on the plan is not known.
    """

    rod: Rod
    zero: Elevation
    beam: Beam | None = None

    def zero_at(self, at: Place | None) -> Elevation | None:
        """The elevation at which the rod would read nothing there, None where a sloped beam needs the place."""
        if self.beam is None:
            return self.zero
        return None if at is None else self.zero.minus(self.beam.drop(at))

    def elevation(self, reading: Length, at: Place | None = None) -> Elevation | None:
        """The elevation under the foot of the rod; a negative reading is a rod held upside down, or above."""
        zero = self.zero_at(at)
        if zero is None:
            return None
        return zero + reading if self.rod.kind == "direct" else zero.minus(reading)

    def grade_rod(self, wanted: Elevation, at: Place | None = None) -> Length | None:
        """What the rod should read where the ground is right; negative where grade is above the plane."""
        zero = self.zero_at(at)
        if zero is None:
            return None
        return wanted.above(zero) if self.rod.kind == "direct" else zero.above(wanted)


@dataclass(frozen=True, slots=True)
class Sight:
    """A backsight: the rod's figure on a mark of known elevation, and the mark's place if it is known."""

    mark: str
    elevation: Elevation
    reading: Length
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class Agreement:
    """How well several backsights agree: the zero from each, their mean, and the one that is the odd one."""

    zeros: tuple[tuple[str, Elevation], ...]
    mean: Elevation
    spread: Length
    stands_out: str | None

    def within(self, allowed: Length) -> bool:
        """Whether the zeros lie no farther apart than is allowed; a single one always does."""
        return self.spread <= allowed


def zero_from(rod: Rod, sight: Sight, slopes: FallXY | None = None, origin: Place | None = None) -> Elevation:
    """The elevation of the rod's zero that one backsight gives, at `origin` where the beam is sloped."""
    zero = sight.elevation.minus(sight.reading) if rod.kind == "direct" else sight.elevation + sight.reading
    if slopes is None or origin is None or sight.at is None:
        return zero
    return zero + Beam(*slopes, origin).drop(sight.at)


def agreement(zeros: Sequence[tuple[str, Elevation]]) -> Agreement:
    """How well the zeros agree. With three or more, the one farthest from the mean is the odd one, if it is one."""
    metres = [zero.metres for _, zero in zeros]
    mean = Elevation(sum(metres, start=ZERO.metres) / len(metres))
    spread = Length(max(metres) - min(metres))
    out = None
    if len(zeros) > 2 and spread:
        *_, (nearer, _), (far, odd) = sorted((abs(zero.metres - mean.metres), name) for name, zero in zeros)
        out = odd if far > nearer else None
    return Agreement(tuple(zeros), mean, spread, out)


def setup_on(rod: Rod, sights: Sequence[Sight], slopes: FallXY | None = None) -> Setup:
    """The setup that backsights on marks of known elevation fix; several count alike, their mean is taken.

    Raises ValueError where a sloped beam is given and a mark's place on the plan is not known.
    """
    origin = sights[0].at
    if slopes is not None and (origin is None or any(sight.at is None for sight in sights)):
        raise ValueError(_("a sloped beam needs the place of every mark on the plan"))
    mean = agreement([(sight.mark, zero_from(rod, sight, slopes, origin)) for sight in sights]).mean
    return Setup(rod, mean, Beam(*slopes, origin) if slopes is not None and origin is not None else None)
