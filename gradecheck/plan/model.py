"""The plan after reading: what the ground should be, in exact values, with every name resolved."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope

if TYPE_CHECKING:
    from gradecheck.plan.closure import Allowance

FINISH = "finish"
SUBGRADE = "subgrade"


@dataclass(frozen=True, slots=True)
class Benchmark:
    """A fixed mark whose elevation is given, not measured."""

    name: str
    elevation: Elevation
    what: str = ""
    at: tuple[Length, Length] | None = None


@dataclass(frozen=True, slots=True)
class Datum:
    """Another zero to count elevations from: its zero lies where the mark reads `reads`."""

    name: str
    mark: str
    reads: Elevation


@dataclass(frozen=True, slots=True)
class Instrument:
    """What the instrument is good for: limits of the beam's slope, of the receiver, of the rod's lean."""

    beam: Slope
    longest_shot: Length
    receiver: Length = ZERO
    plumb: Slope = NO_SLOPE
    adjust_beyond: Slope | None = None


@dataclass(frozen=True, slots=True)
class Rechecks:
    """When a mark is looked at again from the same set-up, and how far off it may be."""

    readings: int
    minutes: int
    allowed: Length


@dataclass(frozen=True, slots=True)
class Rod:
    """A rod: `standard` figures grow upward from its foot, `direct` figures run with the ground."""

    name: str
    kind: Literal["standard", "direct"]
    notation: Notation


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a build-up."""

    name: str
    thickness: Length


@dataclass(frozen=True, slots=True)
class BuildUp:
    """The layers from the finish down; the dig is as deep as all of them."""

    name: str
    layers: tuple[Layer, ...]

    @property
    def stages(self) -> tuple[str, ...]:
        """The surfaces worked to, in the order they are built: the subgrade first, the finish last."""
        return (SUBGRADE, *(layer.name for layer in reversed(self.layers[1:])), FINISH)

    def above(self, stage: str) -> tuple[Layer, ...]:
        """The layers that will lie on that surface."""
        if stage == SUBGRADE:
            return self.layers
        if stage == FINISH:
            return ()
        names = [layer.name for layer in self.layers]
        return self.layers[: names.index(stage)]

    @property
    def dig(self) -> Length:
        """From the finish down to the subgrade."""
        return sum((layer.thickness for layer in self.layers), ZERO)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The difference allowed above (`high`) and below (`low`) the wanted elevation; both are inclusive."""

    high: Length
    low: Length


@dataclass(frozen=True, slots=True)
class Point:
    """A named spot with its finished elevation and, in words, how the plan arrives at it."""

    name: str
    finish: Elevation
    working: str
    what: str = ""
    at: tuple[Length, Length] | None = None


@dataclass(frozen=True)
class Area:
    """A named part of the site; its points stand in the order they are walked."""

    name: str
    what: str
    build_up: BuildUp | None
    tolerances: dict[str, Tolerance]
    points: tuple[Point, ...]
    datum: str | None = None

    @property
    def stages(self) -> tuple[str, ...]:
        """The surfaces this area is worked to, lowest first."""
        return self.build_up.stages if self.build_up else (FINISH,)

    @cached_property
    def place(self) -> dict[str, int]:
        """Where along the route each point stands."""
        return {point.name: index for index, point in enumerate(self.points)}

    def point(self, name: str) -> Point:
        """The point of that name; raises KeyError."""
        return self.points[self.place[name]]


@dataclass(frozen=True)
class Plan:
    """A whole job, ready to be checked against."""

    job: str
    notation: Notation
    benchmarks: dict[str, Benchmark]
    rods: dict[str, Rod]
    areas: dict[str, Area]
    rechecks: Rechecks
    instrument: Instrument | None = None
    guarded: bool = False
    closure: str | None = None
    datums: dict[str, Datum] = field(default_factory=dict)

    @cached_property
    def area_of(self) -> dict[str, str]:
        """The area that each point lies in; point names are unique in a job."""
        return {point.name: area.name for area in self.areas.values() for point in area.points}

    @cached_property
    def names(self) -> dict[str, str]:
        """Every point's and benchmark's name by its small letters, so that nobody needs the shift key."""
        return {name.casefold(): name for name in (*self.benchmarks, *self.area_of)}

    @property
    def allowance(self) -> Allowance:
        """What a circuit may miss by when it closes: the plan's rule, else what a recheck may be off."""
        # Most days no circuit is looked at, and the first picture need not wait for the rules.
        from gradecheck.plan.closure import Fixed, allowance_from

        if self.closure is None:
            return Fixed(self.rechecks.allowed)
        return allowance_from(self.closure, self.notation.units)

    @property
    def rod(self) -> Rod:
        """The rod used when none is named: the first."""
        return next(iter(self.rods.values()))
