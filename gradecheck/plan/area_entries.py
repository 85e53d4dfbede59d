"""An area as the job file writes it: points, surfaces, grids, edges, flights, ramps and lists, each a model."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    model_validator,
)

from gradecheck.catalogue import _
from gradecheck.plan.line_entries import LineText, OutlineText, PlaceText, PointPlaceText
from gradecheck.plan.lines import FINEST
from gradecheck.plan.point_list import order_fault
from gradecheck.plan.texts import (
    CodesText,
    CoordinateText,
    CountText,
    ElevationText,
    FileName,
    HoldsText,
    MarginText,
    Model,
    Name,
    PitchText,
    RulesText,
    ShortText,
    SignedSlopeText,
    SizeText,
    SlopeText,
    StationText,
    TypableName,
    WaySlopeText,
    key_for_text,
    plain_text,
    refused,
    refused_at,
    text_or_entries,
    tolerance_apart,
)

WayText = Annotated[
    list[
        Annotated[
            Annotated[TypableName, Tag("[text]")] | Annotated[PlaceText, Tag("[entries]")],
            Discriminator(text_or_entries),
        ]
    ],
    Field(min_length=2),
]
"""``[W1, W9]`` or ``[[0 ft, 0 ft], [0 ft, 40 ft]]``: a line by points, by places, or by both."""
Spots2 = tuple[TypableName, TypableName]
Spots3 = tuple[TypableName, TypableName, TypableName]
Spots4 = tuple[TypableName, TypableName, TypableName, TypableName]


class FallsEntry(Model):
    """``{x: 2%, y: -0.5%}``: falls along the plan's two directions, with a minus against them; left out, level."""

    x: SignedSlopeText | None = None
    """How much the surface falls along x; a minus rises. E.g. ``2%``."""
    y: SignedSlopeText | None = None
    """How much it falls along y; a minus rises. E.g. ``-0.5%``."""


class SurfaceEntry(Model):
    """One surface, written in one of these ways.

    ``{at: P1, fall: {x: 2%, y: 0.5%}}``, ``{through: [A, B, C]}``, ``{high edge: [A, B], fall: 2%, toward: C}``,
    ``{high edge: [A, B], low edge: [C, D]}``, ``{corners: [A, B, C, D]}``, ``{spots: [A, B, C, D, E]}``,
    ``{crown: [A, B], falls: [2%, 1.5%]}`` and the same with ``valley``: left and right of the line from A to B.
    """

    at: TypableName | None = None
    """A point or mark that a plane passes through, with “fall:”. E.g. ``P1``."""
    fall: (
        Annotated[
            Annotated[SlopeText, Tag("[text]")] | Annotated[FallsEntry, Tag("[entries]")],
            Discriminator(text_or_entries),
        ]
        | None
    ) = None
    """Its falls along x and y; with “high edge:” its one fall. E.g. ``{x: 1%, y: 2%}``."""
    through: Spots3 | None = None
    """Three points or marks that a plane passes through. E.g. ``[A, B, C]``."""
    high_edge: Spots2 | None = Field(default=None, alias="high edge")
    """The ends of its high edge, with “low edge:”, or “fall:” and “toward:”. E.g. ``[A, B]``."""
    low_edge: Spots2 | None = Field(default=None, alias="low edge")
    """The two ends of its low edge. E.g. ``[C, D]``."""
    toward: TypableName | None = None
    """A point or mark beside the high edge, on the side that it falls to. E.g. ``C``."""
    corners: Spots4 | None = None
    """Four corners in turn of a warped surface, straight along its edges. E.g. ``[A, B, C, D]``."""
    spots: Annotated[list[TypableName], Field(min_length=3)] | None = None
    """Points or marks that the surface passes through, joined by triangles. E.g. ``[A, B, C, D, E]``."""
    crown: Spots2 | None = None
    """The ends of a ridge that it falls from on both sides, with “falls:”. E.g. ``[A, B]``."""
    valley: Spots2 | None = None
    """The ends of a line that it falls to from both sides, with “falls:”. E.g. ``[A, B]``."""
    falls: tuple[SignedSlopeText, SignedSlopeText] | None = None
    """The falls left and right of that line, from its first end on. E.g. ``[2%, 1.5%]``."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        keys = frozenset(key for key in self.model_fields_set if getattr(self, key) is not None)
        if keys not in _WAYS:
            raise refused(
                _(
                    "A surface is written in one way: {at, fall}, {through}, {high edge, low edge}, "
                    "{high edge, fall, toward}, {corners}, {spots}, {crown, falls} or {valley, falls}."
                )
            )
        if isinstance(self.fall, FallsEntry) != ("at" in keys) and self.fall is not None:
            raise refused(_("Through a point the falls are {x: 2%, y: 1%}; off a high edge the fall is one slope."))
        return self

    @property
    def anchors(self) -> tuple[str, ...]:
        """The names of points and marks that carry the surface."""
        one = (self.at,) if self.at else ()
        ends = (self.through, self.high_edge, self.low_edge, self.corners, self.spots, self.crown, self.valley)
        names = [*one, *(name for names in ends if names for name in names)]
        return tuple([*names, self.toward] if self.toward else names)


_WAYS = {
    frozenset(keys)
    for keys in (
        ("at", "fall"),
        ("through",),
        ("high_edge", "low_edge"),
        ("high_edge", "fall", "toward"),
        ("corners",),
        ("spots",),
        ("crown", "falls"),
        ("valley", "falls"),
    )
}


def _order(value: Any) -> str:
    order = plain_text(value, "order").strip().upper()
    if fault := order_fault(order):
        raise refused(fault)
    return order


OrderText = Annotated[str, BeforeValidator(_order)]


def _pair(value: Any) -> Any:
    return [value, value] if isinstance(value, str) else value


class GridEntry(Model):
    """``{every: 6 ft, inside: [[0 ft, 0 ft], ...], name: G}``: points of the surface, `every` alike or ``[x, y]``."""

    every: Annotated[tuple[SizeText, SizeText], BeforeValidator(_pair)]
    """How far apart the points are, alike both ways or along x and along y. E.g. ``6 ft``."""
    inside: OutlineText | None = None
    """The corners of what it covers; the area's “outline:” where left out.

    E.g. ``[[0 ft, 0 ft], [24 ft, 0 ft], [24 ft, 20 ft]]``.
    """
    holes: list[OutlineText] = Field(default_factory=list)
    """What is left out of it, each as its corners. E.g. ``[[[4 ft, 4 ft], [6 ft, 4 ft], [6 ft, 6 ft]]]``."""
    name: TypableName | None = None
    """What its points begin with; the area's first letter where left out. E.g. ``G``."""
    start: PlaceText | None = None
    """A place that it passes through; the lowest corner where left out. E.g. ``[0 ft, 0 ft]``."""


class EdgeEntry(Model):
    """``{every: 5 ft, along: [[0 ft, 0 ft], [24 ft, 0 ft]]}``: points of the surface along a line, ends too.

    Or ``{stations: [3 ft, 7 ft 6 in], along: ..., right: 2 ft}``: at those distances from its start, beside it.
    """

    every: SizeText | None = None
    """How far apart the points are; the ends and corners have one too. E.g. ``5 ft``."""
    stations: Annotated[list[StationText], Field(min_length=1)] | None = None
    """How far from the line's start they are, in place of “every:”. E.g. ``[3 ft, 7 ft 6 in]``."""
    along: LineText
    """The places that the line leads through, and arcs. E.g. ``[[0 ft, 0 ft], [24 ft, 0 ft]]``."""
    left: SizeText | None = None
    """How far to the left of the line they are, seen along it. E.g. ``2 ft``."""
    right: SizeText | None = None
    """How far to the right of the line they are. E.g. ``2 ft``."""
    below: SizeText | None = None
    """How far below the surface they lie, as the rim of a slot drain does. E.g. ``3/16 in``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.every is None) == (self.stations is None):
            raise refused(_("Points along a line come “every:” so far or at “stations:”; give one of the two."))
        if self.left is not None and self.right is not None:
            raise refused(_("Points lie to the left or to the right of a line, not both; remove one."))
        if any(each.metres > self.along.length + 1 / FINEST for each in self.stations or ()):
            raise refused(_("A station lies beyond the end of this line; write smaller ones, or a longer line."))
        return self


class CurbEntry(Model):
    """``{edge: E, upstand: 6 in}``: the top of a curb at each point of an edge of another area."""

    edge: TypableName
    """The edge that it follows, by the name of its points. E.g. ``E``."""
    upstand: MarginText
    """How far its top stands above that edge; 0 where it is dropped. E.g. ``6 in``."""


class LandingEntry(Model):
    """``{length: 4 ft, fall: 1/4 in/ft}``: a landing within a flight."""

    length: SizeText
    """How long the landing is. E.g. ``4 ft``."""
    fall: SlopeText | None = None
    """How much it falls the way the steps go down. E.g. ``1/4 in/ft``."""


class FlightEntry(Model):
    """``{from: P2, down: 5, riser: 6 in, tread: 15 in, tread fall: 1/8 in/ft}``: steps from a point.

    Instead of `riser` a `total` rise may stand, divided equally and each nosing rounded to `round to`. `toward` is
    a place the steps head for, where points should have one; `landings` come after a riser, by its number.
    """

    from_: TypableName = Field(alias="from")
    """The point or mark that the flight starts from. E.g. ``W1``."""
    down: CountText | None = None
    """How many risers it goes down. E.g. ``5``."""
    up: CountText | None = None
    """How many risers it goes up, in place of “down:”. E.g. ``5``."""
    riser: SizeText | None = None
    """The height of each riser. E.g. ``6 in``."""
    total: SizeText | None = None
    """The height of all risers, divided equally, in place of “riser:”. E.g. ``30 1/2 in``."""
    round_to: SizeText | None = Field(default=None, alias="round to")
    """What the nosings of a total are rounded to; else to the rod. E.g. ``1/8 in``."""
    tread: SizeText | None = None
    """The depth of each tread, nosing to nosing. E.g. ``15 in``."""
    tread_fall: SlopeText | None = Field(default=None, alias="tread fall")
    """How much the treads fall forward. E.g. ``1/8 in/ft``."""
    landings: dict[CountText, LandingEntry] = Field(default_factory=dict)
    """Landings, each by the number of the riser it comes after. E.g. ``{3: {length: 4 ft, fall: 1/4 in/ft}}``."""
    toward: PlaceText | None = None
    """A place that the steps head for; with it each nosing has a place. E.g. ``[0 ft, 60 ft]``."""
    width: SizeText | None = None
    """How wide the steps are, half to each side of their line. E.g. ``4 ft``."""
    name: TypableName = "S"
    """What the names of its points begin with. E.g. ``S``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.down is None) == (self.up is None):
            raise refused(_("A flight goes “down:” or “up:” so many risers; give one of the two."))
        if (self.riser is None) == (self.total is None):
            raise refused(_("A flight has a “riser:” or a “total:” rise; give one of the two."))
        if self.round_to is not None and self.total is None:
            raise refused(_("“round to:” belongs to “total:”; a given riser is kept as it is."))
        if late := [after for after in self.landings if after >= self.count]:
            says = _("A landing comes after a riser before the last; this flight has {count}.", count=self.count)
            raise refused_at(*((("landings", str(after), "[key]"), refused(says)) for after in late))
        if self.toward is not None and self.tread is None:
            raise refused(_("“toward:” needs the “tread:”, to know where each nosing lies."))
        return self

    @property
    def count(self) -> int:
        """How many risers."""
        return self.down or self.up or 0


class RampEntry(Model):
    """``{from: R1, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft}``: each run with a landing after it."""

    from_: TypableName = Field(alias="from")
    """The point or mark that the ramp starts from. E.g. ``R0``."""
    fall: WaySlopeText | None = None
    """The slope of its runs, going down. E.g. ``1:14``."""
    rise: WaySlopeText | None = None
    """The slope of its runs, going up, in place of “fall:”. E.g. ``1:14``."""
    runs: Annotated[list[SizeText], Field(min_length=1), BeforeValidator(lambda v: [v] if isinstance(v, str) else v)]
    """The length of each run. E.g. ``[14 ft, 14 ft]``."""
    landing: SizeText | None = None
    """The length of the landing behind each run. E.g. ``5 ft``."""
    landing_fall: SlopeText | None = Field(default=None, alias="landing fall")
    """How much the landings fall the way the ramp does. E.g. ``1:50``."""
    toward: PlaceText | None = None
    """A place that the ramp heads for; with it its points have places. E.g. ``[60 ft, 20 ft]``."""
    width: SizeText | None = None
    """How wide the ramp is, half to each side of its line. E.g. ``4 ft``."""
    name: TypableName = "R"
    """What the names of its points begin with. E.g. ``R``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.fall is None) == (self.rise is None):
            raise refused(_("A ramp has a “fall:” or a “rise:”; give one of the two."))
        if self.landing is None and (self.landing_fall is not None or len(self.runs) > 1):
            raise refused(_("Runs are joined by a “landing:”; give its length."))
        return self


class DrainsEntry(Model):
    """``{away from: DOOR, at least: 1.5%}`` or ``{into: [GULLY], at least: 1.5%}``: where water goes."""

    away_from: Name | None = Field(default=None, alias="away from")
    """A wall, mark or point that the water must run away from. E.g. ``house``."""
    into: Annotated[list[TypableName], BeforeValidator(lambda v: [v] if isinstance(v, str) else v)] = Field(
        default_factory=list
    )
    """The points that the water runs into, or the edge of a slot. E.g. ``[GULLY]``."""
    at_least: SlopeText | None = Field(default=None, alias="at least")
    """The least slope it needs. E.g. ``1.5%``."""
    at_most: SlopeText | None = Field(default=None, alias="at most")
    """The most slope it may have. E.g. ``5%``."""


class ListEntry(Model):
    """``{file: walk.csv, units: m, columns: {name: Pt, elevation: Z}}`` or short ``walk.csv``: points from a file.

    A list without headings has an `order`, such as ``PNEZD``; where names are numbers, `prefix` is put before them.
    """

    file: FileName
    """The file beside the job file, CSV or GeoJSON. E.g. ``walk.csv``."""
    order: OrderText = ""
    """Columns without headings: P name, N y, E x, Z elevation, D note. E.g. ``PNEZD``."""
    prefix: TypableName | None = None
    """What stands before names that are numbers. E.g. ``P``."""
    units: Literal["in", "ft", "ft-in", "mm", "cm", "m"] | None = None
    """What its numbers count; the job's units where left out. E.g. ``m``."""
    columns: dict[Literal["name", "x", "y", "elevation", "note"], FileName] = Field(default_factory=dict)
    """Its headings where they are not name, x, y, elevation, note. E.g. ``{name: Pt, elevation: Z}``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.order and self.columns:
            raise refused(_("“columns:” goes by headings and “order:” replaces them; remove one."))
        if self.order and self.geojson:
            raise refused(_("“order:” is for a table; a GeoJSON file says what each number is. Take it out."))
        if self.order and "P" not in self.order and self.prefix is None:
            raise refused(_("This order has no P for the name; add “prefix: P” to name the rows P1, P2 and so on."))
        return self

    @property
    def geojson(self) -> bool:
        """Whether the file is no table."""
        return self.file.lower().endswith((".json", ".geojson"))


ListText = Annotated[ListEntry, key_for_text("file")]


class ToleranceEntry(Model):
    """``{high: 1/2 in, low: 3/8 in}``, or short ``+1/2 in -3/8 in``, and ``3/8 in`` for both ways."""

    high: MarginText
    """How far above its target the surface may be. E.g. ``1/2 in``."""
    low: MarginText
    """How far below. E.g. ``3/8 in``."""

    @model_validator(mode="before")
    @classmethod
    def _apart(cls, value: Any, info: ValidationInfo) -> dict[str, Any]:
        return tolerance_apart(value, info)


class StepsEntry(Model):
    """Where a point lies against another: a fall or rise over a run, risers up or down, or both."""

    from_: TypableName | None = Field(default=None, alias="from")
    """The point or mark that it is counted from. E.g. ``DOOR``."""
    fall: PitchText | None = None
    """The slope down to it, over the run “over:”; “pitch” for the job's own. E.g. ``2%``."""
    rise: PitchText | None = None
    """The slope up to it, in place of “fall:”. E.g. ``1:48``."""
    over: SizeText | None = None
    """The run that it falls or rises over. E.g. ``12 ft``."""
    up: CountText | None = None
    """How many risers up, each “riser:” high. E.g. ``3``."""
    down: CountText | None = None
    """How many risers down. E.g. ``1``."""
    riser: SizeText | None = None
    """The height of each of those risers. E.g. ``6 in``."""

    @model_validator(mode="after")
    def _belongs_together(self) -> Self:
        if self.fall is not None and self.rise is not None:
            raise refused(_("A run falls or rises, not both; remove one."))
        if (self.fall is None and self.rise is None) != (self.over is None):
            raise refused(_("“fall:” (or “rise:”) and “over:” belong together; add the missing one."))
        if self.up is not None and self.down is not None:
            raise refused(_("Risers go up or down, not both; remove one."))
        if (self.up is None and self.down is None) != (self.riser is None):
            raise refused(_("“up:” (or “down:”) and “riser:” belong together; add the missing one."))
        return self


class RouteEntry(StepsEntry):
    """``{from: CURB, rise: 2%, over: 20 ft}``: a second way to a point, to be held against the first."""

    from_: TypableName = Field(alias="from")
    """The point or mark that the second route is counted from. E.g. ``PIN``."""


class PointEntry(StepsEntry):
    """A point by its elevation, from another by fall over a run and by risers, or by its place on the surface.

    Short ``P2: -3 1/4 in``. `also` is a second route to it.
    """

    elevation: ElevationText | None = None
    """Its finished elevation from the area's zero. E.g. ``-3 1/4 in``."""
    at: PointPlaceText | None = None
    """Where it lies, as [x, y]; alone: on the area's surface. E.g. ``[12 ft, 1 ft]``."""
    also: RouteEntry | None = None
    """A second route to it, to be held against the first. E.g. ``{from: PIN, rise: 1%, over: 4 ft}``."""
    what: ShortText = ""
    """What is there, for people. E.g. ``by the door``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        steps = (self.fall, self.rise, self.over, self.up, self.down, self.riser)
        if self.elevation is not None:
            if self.from_ is not None or any(step is not None for step in steps):
                raise refused(_("A point has an elevation or comes from another point, not both; remove one."))
        elif self.from_ is None:
            if any(step is not None for step in steps):
                raise refused(_("A point needs “elevation:” or “from:”; add one."))
            if self.at is None:
                raise refused(_("A point needs “elevation:”, “from:” or “at:” on a surface; add one."))
        return self


class ExistingEntry(Model):
    """The ground before any dig: level, ``-2 in``; a plane; or through spots, here or in a list.

    ``{elevation: -2 in, at: [0 ft, 0 ft], fall: {x: 1%, y: 2%}}``, ``{spots: [[0 ft, 0 ft, -2 in], ...]}`` or
    ``{point list: {file: ground.csv, order: PNEZD}}``.
    """

    elevation: ElevationText | None = None
    """Its elevation, level; with “at:” and “fall:” that of a plane there. E.g. ``-2 in``."""
    at: PlaceText | None = None
    """Where a plane has that elevation. E.g. ``[0 ft, 0 ft]``."""
    fall: FallsEntry | None = None
    """How much a plane falls along x and y. E.g. ``{x: 1%, y: 2%}``."""
    spots: Annotated[list[tuple[CoordinateText, CoordinateText, ElevationText]], Field(min_length=3)] | None = None
    """Spots as [x, y, elevation], joined by triangles. E.g. ``[[0, 0, -2], [9 ft, 0, -3], [0, 9 ft, -3]]``."""
    point_list: ListText | None = Field(default=None, alias="point list")
    """A file of such spots beside the job file. E.g. ``{file: ground.csv, order: PNEZD}``."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        ways = (self.elevation is not None, self.spots is not None, self.point_list is not None)
        if sum(ways) != 1:
            raise refused(_("Existing ground has an “elevation:”, “spots:” or a “point list:”; give one of them."))
        if (self.at is None) != (self.fall is None) or (self.at is not None and self.elevation is None):
            raise refused(_("“elevation:”, “at:” and “fall:” make a plane together; add what is missing."))
        return self


class StringEntry(Model):
    """``{along: [P1, P4], above: 4 in, left: 1 ft}``: a string over points, straight from each to the next."""

    along: Annotated[list[TypableName], Field(min_length=2)]
    """The points of the area that it is set from. E.g. ``[P1, P4]``."""
    above: MarginText
    """How far above their finish it is set. E.g. ``4 in``."""
    left: SizeText | None = None
    """How far to the left of the points it runs, seen along it. E.g. ``1 ft``."""
    right: SizeText | None = None
    """How far to the right of the points it runs. E.g. ``1 ft``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.left is not None and self.right is not None:
            raise refused(_("A string runs to the left or to the right of its points, not both; remove one."))
        if any(one == other for one, other in pairwise(self.along)):
            raise refused(_("A string leads from one point to another; name each once."))
        return self


class AreaEntry(Model):
    """A named part of the site: its points in walking order, and what they are built up of.

    `added` are points behind all others, and `instead` gives points another finish than what makes them does; what
    was counted from them stays where it was.
    """

    what: ShortText = ""
    """What it is, for people. E.g. ``terrace behind the house``."""
    build_up: Name | None = Field(default=None, alias="build-up")
    """The layers under it, by name. E.g. ``terrace``."""
    layers: dict[Name, SizeText] = Field(default_factory=dict)
    """Other thicknesses than that build-up has. E.g. ``{base: 8 in}``."""
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    """Other tolerances than the job has. E.g. ``{finish: 1/8 in}``."""
    datum: Name | None = None
    """The datum of its elevations; the job's zero where left out. E.g. ``pool``."""
    use: Literal["walk", "patio", "driveway", "street", "steps", "ramp", "pool deck", "curb", "wall"] | None = None
    """What it is used for, which some limits ask. E.g. ``patio``."""
    accessible: Literal["yes", "no"] = "no"
    """Whether it is held to the limits of an accessible route. E.g. ``yes``."""
    along: WayText | None = None
    """The line that people walk along, by points or places. E.g. ``[W1, W9]``."""
    ground: ElevationText | None = None
    """The elevation of the ground beside it, for the drop. E.g. ``-8 in``."""
    existing_ground: Annotated[ExistingEntry, key_for_text("elevation")] | None = Field(
        default=None, alias="existing ground"
    )
    """The ground before any dig, for cut, fill and haul. E.g. ``-2 in``."""
    hold_points: HoldsText | None = Field(default=None, alias="hold points")
    """Its hold points in place of the job's; ``[]`` for none. E.g. ``[subgrade]``."""
    drains: DrainsEntry | None = None
    """Where its water goes, and at what slope. E.g. ``{away from: house, at least: 1.5%}``."""
    rules: RulesText = Field(default_factory=dict)
    """Limits of its own; gradecheck rules lists them. E.g. ``{riser at most: 7 in}``."""
    codes: CodesText | None = None
    """The codes it is held to in place of the job's. E.g. ``[us-accessible]``."""
    outline: (
        Annotated[
            Annotated[FileName, Tag("[text]")] | Annotated[OutlineText, Tag("[entries]")],
            Discriminator(text_or_entries),
        ]
        | None
    ) = None
    """Its corners in turn, or a GeoJSON file. E.g. ``[[0 ft, 0 ft], [24 ft, 0 ft], [24 ft, 20 ft]]``."""
    holes: list[OutlineText] = Field(default_factory=list)
    """What is cut out of the outline, each as its corners. E.g. ``[[[4 ft, 4 ft], [6 ft, 4 ft], [6 ft, 6 ft]]]``."""
    surface: SurfaceEntry | None = None
    """The surface between its points. E.g. ``{at: P1, fall: {x: 1%, y: 2%}}``."""
    points: Annotated[
        Annotated[FileName, Tag("[text]")]
        | Annotated[dict[TypableName, Annotated[PointEntry, key_for_text("elevation")]], Tag("[entries]")],
        Discriminator(text_or_entries),
    ] = Field(default_factory=dict)
    """Its points in walking order, or a file of them.

    E.g. ``{A1: {from: DOOR, fall: 2%, over: 2 ft}, A2: -3 1/4}``.
    """
    added: dict[TypableName, Annotated[PointEntry, key_for_text("elevation")]] = Field(default_factory=dict)
    """Points behind all others. E.g. ``{N1: {from: A1, fall: 2%, over: 3 ft}}``."""
    instead: dict[TypableName, ElevationText] = Field(default_factory=dict)
    """Another finish for a point, whatever makes it; nothing else moves. E.g. ``{T1-3: -3 1/4}``."""
    point_list: ListText | None = Field(default=None, alias="point list")
    """Points from a file beside the job file. E.g. ``{file: walk.csv, order: PNEZD}``."""
    grid: GridEntry | None = None
    """Points of the surface in a grid. E.g. ``{every: 6 ft}``."""
    edges: dict[TypableName, EdgeEntry] = Field(default_factory=dict)
    """Points of the surface along lines, by what their names begin with.

    E.g. ``{E: {every: 6 ft, along: [[0 ft, 20 ft], [24 ft, 20 ft]]}}``.
    """
    curbs: dict[TypableName, CurbEntry] = Field(default_factory=dict)
    """Tops of curbs along edges of other areas, by the names' beginning. E.g. ``{K: {edge: E, upstand: 6 in}}``."""
    flight: FlightEntry | None = None
    """A flight of steps from a point. E.g. ``{from: W1, down: 5, riser: 6 in, tread: 15 in}``."""
    ramp: RampEntry | None = None
    """A ramp from a point. E.g. ``{from: R0, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft}``."""
    strings: dict[Name, StringEntry] = Field(default_factory=dict)
    """Strings over its points, by name. E.g. ``{front: {along: [P1, P4], above: 4 in, left: 1 ft}}``."""
    route: list[TypableName] | None = None
    """Its points in another order to be walked. E.g. ``[A2, A1]``."""
