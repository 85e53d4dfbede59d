"""The plan after reading: what the ground should be, in exact values, with every name resolved."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Literal, NamedTuple

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.limits import Limits
from gradecheck.plan.names import folded
from gradecheck.plan.stone import Stone

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
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class Datum:
    """A second datum: elevations counted from it give the mark the elevation `reads`."""

    name: str
    mark: str
    reads: Elevation


@dataclass(frozen=True, slots=True)
class Instrument:
    """The accuracy of the laser: limits of the beam's slope, of the receiver and of the rod's lean."""

    beam: Slope
    longest_shot: Length
    receiver: Length = ZERO
    plumb: Slope = NO_SLOPE
    adjust_beyond: Slope | None = None


@dataclass(frozen=True, slots=True)
class Rechecks:
    """After how many readings or minutes a mark is rechecked, and how far off it may be."""

    readings: int
    minutes: int
    allowed: Length


@dataclass(frozen=True, slots=True)
class Rod:
    """A rod: `standard` readings grow upward from its foot, `direct` readings run with the ground."""

    name: str
    kind: Literal["standard", "direct"]
    notation: Notation
    length: Length | None = None
    """How long it is when it is drawn out; None where the plan does not say."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a build-up; `loose` is how high it stands before it is rolled or seated.

    `before` names that surface, such as ``base loose`` or ``paver set``.
    """

    name: str
    thickness: Length
    loose: Length | None = None
    before: str = ""
    lifts: tuple[Length, ...] = ()
    """How thick each lift is that it is rolled in, from the bottom up; none where it is rolled at once."""

    @property
    def tops(self) -> dict[str, Length]:
        """By the stages of its lower lifts, lowest first, how far they stand above its bottom."""
        found, height = dict[str, Length](), ZERO
        for number, lift in enumerate(self.lifts[:-1], 1):
            height = height + lift
            found[lift_name(self.name, number)] = height
        return found


def lift_name(layer: str, number: int) -> str:
    """The stage that is the top of a lower lift, ``base lift 1``; that of the last is the top of its layer."""
    return f"{layer} lift {number}"


@dataclass(frozen=True)
class BuildUp:
    """The layers from the finish down; the dig is as deep as all of them, and wider by `past_edge`."""

    name: str
    layers: tuple[Layer, ...]
    past_edge: Length = ZERO
    line: int = field(default=0, compare=False)

    @property
    def stages(self) -> tuple[str, ...]:
        """The surfaces worked to, in the order they are built: the subgrade first, the finish last."""
        return tuple(reversed(self._depths))

    def depth(self, stage: str) -> Length:
        """How far that surface lies below the finish; negative where it stands higher before it is rolled."""
        return self._depths[stage]

    def above(self, stage: str) -> tuple[Layer, ...]:
        """The layers that will lie on that surface; on a loose one, those that will lie on its layer."""
        if stage == SUBGRADE:
            return self.layers
        names = [layer.name for layer in self.layers]
        if (lifted := self.lifted(stage)) is not None:
            rest = replace(lifted, thickness=lifted.thickness - lifted.tops[stage], lifts=())
            return (*self.layers[: names.index(lifted.name)], rest)
        return () if stage == FINISH else self.layers[: names.index(self.rolled(stage))]

    def lifted(self, stage: str) -> Layer | None:
        """The layer of which that stage is a lower lift, None where it is none."""
        return next((layer for layer in self.layers if stage in layer.tops), None)

    def rolled(self, stage: str) -> str:
        """The name of the layer whose top that stage is, loose, a lift of it or not; the top layer at the finish."""
        found = (layer.name for layer in self.layers if stage in (layer.name, layer.before, *layer.tops))
        return next(found, self.layers[0].name)

    def loose(self, stage: str) -> Layer | None:
        """The layer that is still loose at that stage."""
        return next((layer for layer in self.layers if layer.loose and stage == layer.before), None)

    @cached_property
    def _depths(self) -> dict[str, Length]:
        """The depth of every surface from the finish down; cached, since every target asks for it."""
        found, depth = [], ZERO
        for place, layer in enumerate(self.layers):
            found.append((layer.name if place else FINISH, depth))
            depth = depth + layer.thickness
            found += [(lift, depth - height) for lift, height in reversed(layer.tops.items())]
            if layer.loose is not None:
                found.append((layer.before, depth - layer.loose))
        return dict([*found, (SUBGRADE, depth)])

    @property
    def dig(self) -> Length:
        """From the finish down to the subgrade."""
        return sum((layer.thickness for layer in self.layers), ZERO)


@dataclass(frozen=True, slots=True)
class Point:
    """A named spot with its finished elevation and, in words, how the plan arrives at it.

    `exact` is the elevation before it was rounded for the job's targets, and `other` what a second route to the
    point gives, where the plan has one. `pitch` and `run` are those of the fall (or rise) that leads to it.
    `line` is where the job file speaks of it.
    """

    name: str
    finish: Elevation
    working: str
    what: str = ""
    at: Place | None = None
    exact: Elevation | None = None
    other: Elevation | None = None
    pitch: Slope | None = None
    run: Length | None = None
    line: int = field(default=0, compare=False)
    on_site: bool = False
    instead: bool = False
    """Whether the plan gives it another finish than what makes it does."""
    made: bool = field(default=False, compare=False)
    """Whether it is one of a grid or an edge, which nobody wrote out."""

    @property
    def spot(self) -> Spot | None:
        """The point as a spot on the finish, None where the plan does not say where it lies."""
        return Spot(self.name, self.at, self.finish) if self.at else None


@dataclass(frozen=True, slots=True)
class Drains:
    """Where the water of an area must go: away from a wall, mark or point, or into points that swallow it."""

    away_from: str | None = None
    into: tuple[str, ...] = ()
    at_least: Slope | None = None
    at_most: Slope | None = None


@dataclass(frozen=True, slots=True)
class Rise:
    """One riser of a flight, nosing to nosing, or one run of a ramp; `height` is positive upward.

    `count` risers lie between the two where the plan makes no points of the nosings between.
    """

    start: str
    end: str
    height: Length
    run: Length | None = None
    count: int = 1


@dataclass(frozen=True, slots=True)
class PlannedTread:
    """The tread at a nosing, as deep as the plan says, and the point at its back, where the plan makes one."""

    nosing: str
    depth: Length
    fall: Slope
    back: str = ""


@dataclass(frozen=True, slots=True)
class Landing:
    """A level stretch between rises, as long as `length`, that falls by `fall` to shed water."""

    start: str
    end: str
    length: Length
    fall: Slope


@dataclass(frozen=True, slots=True)
class Steps:
    """A flight or a ramp as the plan has it, in walking order, for the checks of its rules.

    A ``riser`` stands alone in an area that is not called steps, so it may be a curb. `treads` are those that the
    plan writes one by one; else all are `tread` deep, if it says so.
    """

    kind: Literal["flight", "ramp", "riser"]
    rises: tuple[Rise, ...]
    landings: tuple[Landing, ...] = ()
    tread: Length | None = None
    tread_fall: Slope = NO_SLOPE
    line: int = field(default=0, compare=False)
    treads: tuple[PlannedTread, ...] = ()
    width: Length | None = None

    @property
    def names(self) -> set[str]:
        """Every point that the flight or ramp makes or starts from."""
        ends = [(rise.start, rise.end) for rise in self.rises]
        ends += [(landing.start, landing.end) for landing in self.landings]
        return {name for both in ends for name in both}

    @property
    def every_name(self) -> set[str]:
        """The same with the points at the backs of treads."""
        return self.names | {tread.back for tread in self.treads if tread.back}


@dataclass(frozen=True, slots=True)
class StringLine:
    """A string along points of an area, so far above their finish, and beside their line, right of it where positive.

    It is straight from each of its points to the next.
    """

    name: str
    points: tuple[str, ...]
    above: Length
    right: Length = ZERO
    line: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Area:
    """A named part of the site; its points stand in the order they are walked."""

    name: str
    what: str
    build_up: BuildUp | None
    tolerances: dict[str, Tolerance]
    points: tuple[Point, ...]
    datum: str | None = None
    use: str = ""
    accessible: bool = False
    travel: tuple[tuple[Place, ...], ...] = ()
    """The lines along which people walk; none where the plan does not say."""
    ground: Elevation | None = None
    """The ground beside it, for the drop there."""
    outline: Outline | None = None
    surface: AreaSurface | None = None
    drains: Drains | None = None
    steps: tuple[Steps, ...] = ()
    rules: dict[str, Fraction] = field(default_factory=dict)
    codes: tuple[str, ...] | None = None
    """The codes it is held to in place of the job's; None: the job's."""
    line: int = field(default=0, compare=False)
    examples: tuple[int, ...] = ()
    """Lines of the job file that are marked as examples still, and that its targets come from."""
    strings: dict[str, StringLine] = field(default_factory=dict)
    existing: AreaSurface | None = None
    """The ground before any dig."""
    holds: tuple[str, ...] = ()
    """Stages that are signed off before any above them takes readings, lowest first."""

    @property
    def stages(self) -> tuple[str, ...]:
        """The surfaces this area is worked to, lowest first."""
        return self.build_up.stages if self.build_up else (FINISH,)

    @property
    def has_own_rules(self) -> bool:
        """Whether its slopes have rules of their own, or none: treads, ramps, tops of curbs and walls."""
        return self.use in ("steps", "ramp", "curb", "wall")

    @cached_property
    def index(self) -> dict[str, int]:
        """The index of each point along the route, by its name."""
        return {point.name: index for index, point in enumerate(self.points)}

    def point(self, name: str) -> Point:
        """The point of that name; raises KeyError."""
        return self.points[self.index[name]]


@dataclass(frozen=True, slots=True)
class Pitch:
    """The job's own rule of thumb for a fall, and the exact pitch it stands for, where the plan says."""

    rule: Slope
    exact: Slope | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """Corners whose sides and diagonals are taped; `tolerance` is what a length may be off, None: by the rule.

    `area` is the one whose outline it is, where it is one.
    """

    name: str
    corners: tuple[tuple[str, Place], ...]
    tolerance: Length | None = None
    area: str = ""


@dataclass(frozen=True, slots=True)
class Bond:
    """Rows of units to be chalked out from an edge, a line every so many rows."""

    name: str
    start: str
    unit: Length
    length: Length
    joint: Length
    rows: int
    every: int
    pattern: Literal["running", "half", "third"]


class Extent(NamedTuple):
    """The least and the greatest x and y of some places."""

    least: Place
    most: Place


class HeightRange(NamedTuple):
    """The lowest and the highest of some elevations."""

    lowest: Elevation
    highest: Elevation


@dataclass(frozen=True, slots=True)
class Listing:
    """What an area takes from a file beside the job file: how many points or corners, and how far they reach.

    `places` are the least and the greatest x and y, `heights` the lowest and the highest elevation, each None where
    the file has none. `unsure` where nothing tells its lengths from degrees.
    """

    area: str
    file: str
    kind: Literal["points", "outline"]
    count: int
    places: Extent | None
    heights: HeightRange | None
    unsure: bool = False
    line: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Plan:
    """A whole job, ready to be checked against. `files` are the lists it was read from, each with its hash."""

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
    walls: dict[str, tuple[Place, ...]] = field(default_factory=dict)
    rules: dict[str, Fraction] = field(default_factory=dict)
    codes: tuple[str, ...] = ()
    stone: Stone | None = None
    layout: dict[str, Layout] = field(default_factory=dict)
    bonds: dict[str, Bond] = field(default_factory=dict)
    pitch: Pitch | None = None
    round_to: Length | None = None
    files: dict[str, str] = field(default_factory=dict)
    listings: tuple[Listing, ...] = ()
    examples: tuple[int, ...] = ()
    """Every line of the job file that is marked as an example still."""
    example_marks: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """Benchmarks, and rods as “rod NAME”, that hold examples still, with their lines: nothing is seen from them."""
    corners: tuple[tuple[str, str, Place], ...] = ()
    """Corners of walls and outlines to tape from: the area, none for a wall, the name, as “house C1”, and where."""

    @cached_property
    def area_of(self) -> dict[str, str]:
        """The area that each point lies in; point names are unique in a job."""
        return {point.name: area.name for area in self.areas.values() for point in area.points}

    @cached_property
    def names(self) -> dict[str, str]:
        """Every point's and benchmark's name by its folded form, so that capitals need not be typed."""
        return {folded(name): name for name in (*self.benchmarks, *self.area_of)}

    def limits(self, area: Area | None = None) -> Limits:
        """The limits of the job, with the area's own rules over them, and its own codes in place of the job's."""
        codes = self.codes if area is None or area.codes is None else area.codes
        limits = Limits(not self.notation.units.imperial, self.rules, codes=codes)
        return limits.with_rules(area.rules) if area else limits

    @property
    def allowance(self) -> Allowance:
        """The misclosure a circuit may have: by the plan's rule, else what a recheck may be off."""
        # Most days no circuit is looked at, and the first picture need not wait for the rules.
        from gradecheck.plan.closure import Allowance, allowance_from

        if self.closure is None:
            return Allowance(self.rechecks.allowed)
        return allowance_from(self.closure, self.notation.units)

    @property
    def rod(self) -> Rod:
        """The rod used when none is named: the first."""
        return next(iter(self.rods.values()))
