"""The job file as it is written: a frozen pydantic model for each kind of entry, texts read exactly."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from gradecheck.measure.notation import Units
from gradecheck.plan.point_list import order_fault
from gradecheck.plan.problems import suggestion
from gradecheck.plan.texts import (
    AlikeText,
    Closure,
    CodesText,
    CoordinateText,
    CountText,
    DensityText,
    ElevationText,
    FactorText,
    FileName,
    MarginText,
    Model,
    Name,
    PitchText,
    PriceText,
    RulesText,
    ShortText,
    SignedSlopeText,
    SizeText,
    SlopeText,
    TypableName,
    key_for_text,
    plain_text,
    refused,
    refused_at,
    text_or_entries,
    tolerance_apart,
)

PlaceText = tuple[CoordinateText, CoordinateText]
RingText = Annotated[list[PlaceText], Field(min_length=3)]
LineText = Annotated[list[PlaceText], Field(min_length=2)]
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
    y: SignedSlopeText | None = None


class SurfaceEntry(Model):
    """One surface, written in one of these ways.

    ``{at: F1, fall: {x: 2%, y: 0.5%}}``, ``{through: [A, B, C]}``, ``{high edge: [A, B], fall: 2%, toward: C}``,
    ``{high edge: [A, B], low edge: [C, D]}``, ``{corners: [A, B, C, D]}``, ``{spots: [A, B, C, D, E]}``,
    ``{crown: [A, B], falls: [2%, 1.5%]}`` and the same with ``valley``: left and right of the line from A to B.
    """

    at: TypableName | None = None
    fall: (
        Annotated[
            Annotated[SlopeText, Tag("[text]")] | Annotated[FallsEntry, Tag("[entries]")],
            Discriminator(text_or_entries),
        ]
        | None
    ) = None
    through: Spots3 | None = None
    high_edge: Spots2 | None = Field(default=None, alias="high edge")
    low_edge: Spots2 | None = Field(default=None, alias="low edge")
    toward: TypableName | None = None
    corners: Spots4 | None = None
    spots: Annotated[list[TypableName], Field(min_length=3)] | None = None
    crown: Spots2 | None = None
    valley: Spots2 | None = None
    falls: tuple[SignedSlopeText, SignedSlopeText] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        keys = frozenset(key for key in self.model_fields_set if getattr(self, key) is not None)
        if keys not in _WAYS:
            raise refused(
                "A surface is written in one way: {at, fall}, {through}, {high edge, low edge}, "
                "{high edge, fall, toward}, {corners}, {spots}, {crown, falls} or {valley, falls}."
            )
        if isinstance(self.fall, FallsEntry) != ("at" in keys) and self.fall is not None:
            raise refused("Through a point the falls are {x: 2%, y: 1%}; off a high edge the fall is one slope.")
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
    inside: RingText | None = None
    holes: list[RingText] = Field(default_factory=list)
    name: TypableName | None = None
    start: PlaceText | None = None


class EdgeEntry(Model):
    """``{every: 5 ft, along: [[0 ft, 0 ft], [24 ft, 0 ft]]}``: points of the surface along a line, ends too."""

    every: SizeText
    along: LineText


class LandingEntry(Model):
    """``{length: 4 ft, fall: 1/4 in/ft}``: a landing within a flight."""

    length: SizeText
    fall: SlopeText | None = None


class FlightEntry(Model):
    """``{from: F2, down: 5, riser: 6 in, tread: 15 in, tread fall: 1/8 in/ft}``: steps from a point.

    Instead of `riser` a `total` rise may stand, divided equally and each nosing rounded to `round to`. `toward` is
    a place the steps head for, where points should have one; `landings` come after a riser, by its number.
    """

    from_: TypableName = Field(alias="from")
    down: CountText | None = None
    up: CountText | None = None
    riser: SizeText | None = None
    total: SizeText | None = None
    round_to: SizeText | None = Field(default=None, alias="round to")
    tread: SizeText | None = None
    tread_fall: SlopeText | None = Field(default=None, alias="tread fall")
    landings: dict[CountText, LandingEntry] = Field(default_factory=dict)
    toward: PlaceText | None = None
    name: TypableName = "S"

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.down is None) == (self.up is None):
            raise refused("A flight goes “down:” or “up:” so many risers; give one of the two.")
        if (self.riser is None) == (self.total is None):
            raise refused("A flight has a “riser:” or a “total:” rise; give one of the two.")
        if self.round_to is not None and self.total is None:
            raise refused("“round to:” belongs to “total:”; a given riser is kept as it is.")
        if late := [after for after in self.landings if after >= self.count]:
            says = f"A landing comes after a riser before the last; this flight has {self.count}."
            raise refused_at(*((("landings", str(after), "[key]"), refused(says)) for after in late))
        if self.toward is not None and self.tread is None:
            raise refused("“toward:” needs the “tread:”, to know where each nosing lies.")
        return self

    @property
    def count(self) -> int:
        """How many risers."""
        return self.down or self.up or 0


class RampEntry(Model):
    """``{from: R1, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft}``: each run with a landing after it."""

    from_: TypableName = Field(alias="from")
    fall: SlopeText | None = None
    rise: SlopeText | None = None
    runs: Annotated[list[SizeText], Field(min_length=1), BeforeValidator(lambda v: [v] if isinstance(v, str) else v)]
    landing: SizeText | None = None
    landing_fall: SlopeText | None = Field(default=None, alias="landing fall")
    toward: PlaceText | None = None
    name: TypableName = "R"

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.fall is None) == (self.rise is None):
            raise refused("A ramp has a “fall:” or a “rise:”; give one of the two.")
        if self.landing is None and (self.landing_fall is not None or len(self.runs) > 1):
            raise refused("Runs are joined by a “landing:”; give its length.")
        return self


class DrainsEntry(Model):
    """``{away from: DOOR, at least: 1.5%}`` or ``{into: [GULLY], at least: 1.5%}``: where the water goes."""

    away_from: Name | None = Field(default=None, alias="away from")
    into: Annotated[list[TypableName], BeforeValidator(lambda v: [v] if isinstance(v, str) else v)] = Field(
        default_factory=list
    )
    at_least: SlopeText | None = Field(default=None, alias="at least")
    at_most: SlopeText | None = Field(default=None, alias="at most")


class ListEntry(Model):
    """``{file: walk.csv, units: m, columns: {name: Pt, elevation: Z}}`` or short ``walk.csv``: points from a file.

    A list without headings has an `order`, such as ``PNEZD``; where names are numbers, `prefix` is put before them.
    """

    file: FileName
    order: OrderText = ""
    prefix: TypableName | None = None
    units: Literal["in", "ft", "ft-in", "mm", "cm", "m"] | None = None
    columns: dict[Literal["name", "x", "y", "elevation", "note"], FileName] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.order and self.columns:
            raise refused("“columns:” go by headings and “order:” stands for them; take one out.")
        if self.order and self.geojson:
            raise refused("“order:” is for a table; a GeoJSON file says what each number is. Take it out.")
        if self.order and "P" not in self.order and self.prefix is None:
            raise refused("This order has no P for the name; add “prefix: P” to name the rows P1, P2 and so on.")
        return self

    @property
    def geojson(self) -> bool:
        """Whether the file is no table."""
        return self.file.lower().endswith((".json", ".geojson"))


ListText = Annotated[ListEntry, key_for_text("file")]


RESERVED_LAYERS = ("finish", "subgrade")


class BenchmarkEntry(Model):
    """``DOOR: {elevation: 0, what: threshold}`` or short ``DOOR: 0``."""

    elevation: ElevationText
    what: ShortText = ""
    at: PlaceText | None = None


class InstrumentEntry(Model):
    """``{beam: 15 arcsec, receiver: 1/16 in, longest shot: 200 ft}``: what its maker and the site allow for."""

    beam: SlopeText
    receiver: SizeText | None = None
    longest_shot: SizeText = Field(alias="longest shot")
    plumb: SlopeText | None = None
    adjust_beyond: SlopeText | None = Field(default=None, alias="adjust beyond")


class RechecksEntry(Model):
    """``{readings: 30, minutes: 60, allowed: 1/8 in}``: when a mark is looked at again, and what it may be off."""

    readings: CountText | None = None
    minutes: CountText | None = None
    allowed: AlikeText | None = None


class DatumEntry(Model):
    """``office: {mark: DOOR, reads: 100.00 ft}``: another zero, given by what one mark reads from it."""

    mark: TypableName
    reads: ElevationText


class RodEntry(Model):
    """``site rod: {kind: standard, graduation: 1/16 in}``; `units` where it reads other units than the job."""

    kind: Literal["standard", "direct"] = "standard"
    units: Units | None = None
    graduation: SizeText | None = None


class ToleranceEntry(Model):
    """``{high: 1/2 in, low: 3/8 in}``, or short ``+1/2 in -3/8 in``, and ``3/8 in`` for both ways."""

    high: MarginText
    low: MarginText

    @model_validator(mode="before")
    @classmethod
    def _apart(cls, value: Any, info: ValidationInfo) -> dict[str, Any]:
        return tolerance_apart(value, info)


class LayerEntry(Model):
    """One layer of a build-up, written as a single key: ``{bedding: 1 in}``."""

    name: Name
    thickness: SizeText

    @model_validator(mode="before")
    @classmethod
    def _one_key(cls, value: Any) -> Any:
        if not isinstance(value, dict) or len(value) != 1:
            raise refused("A layer is one name and one thickness, for example {bedding: 1 in}.")
        ((name, thickness),) = value.items()
        if name.casefold() in RESERVED_LAYERS:
            raise refused(f"A layer can't be called “{name}”: that is a surface; use paver, bedding or base.")
        return {"name": name, "thickness": thickness}


def _layers_alone(value: Any) -> Any:
    return {"layers": value} if isinstance(value, list) else value


class BuildUpEntry(Model):
    """Layers from the finish down, alone as a list or with what belongs to the whole of them.

    ``{layers: [{paver: 2 3/8 in}, {base: 8 in}], loose: {base: 10 in}, set high: 1/4 in, past edge: 8 in}``.
    """

    layers: Annotated[list[LayerEntry], Field(min_length=1)]
    loose: dict[Name, SizeText] = Field(default_factory=dict)
    set_high: SizeText | None = Field(default=None, alias="set high")
    past_edge: MarginText | None = Field(default=None, alias="past edge")

    @model_validator(mode="after")
    def _loose_layers_are_there(self) -> Self:
        layers = {layer.name.casefold(): layer for layer in self.layers}
        wrong: list[tuple[tuple[str, ...], PydanticCustomError]] = []
        for name, loose in self.loose.items():
            layer = layers.get(name.casefold())
            if layer is None:
                near = suggestion(name, [each.name for each in self.layers])
                says = f"There is no layer “{name}” to be loose.{near}"
                wrong.append((("loose", name, "[key]"), refused(says)))
            elif loose <= layer.thickness:
                says = f"Loose, {name} stands higher than rolled; write the height it is spread to."
                wrong.append((("loose", name), refused(says)))
        if wrong:
            raise refused_at(*wrong)
        return self


class StepsEntry(Model):
    """Where a point lies against another: a fall or rise over a run, risers up or down, or both."""

    from_: TypableName | None = Field(default=None, alias="from")
    fall: PitchText | None = None
    rise: PitchText | None = None
    over: SizeText | None = None
    up: CountText | None = None
    down: CountText | None = None
    riser: SizeText | None = None

    @model_validator(mode="after")
    def _belongs_together(self) -> Self:
        if self.fall is not None and self.rise is not None:
            raise refused("A run falls or rises, not both; take one out.")
        if (self.fall is None and self.rise is None) != (self.over is None):
            raise refused("“fall:” (or “rise:”) and “over:” belong together; add the missing one.")
        if self.up is not None and self.down is not None:
            raise refused("Risers go up or down, not both; take one out.")
        if (self.up is None and self.down is None) != (self.riser is None):
            raise refused("“up:” (or “down:”) and “riser:” belong together; add the missing one.")
        return self


class RouteEntry(StepsEntry):
    """``{from: CURB, rise: 2%, over: 20 ft}``: a second way to a point, to be held against the first."""

    from_: TypableName = Field(alias="from")


class PointEntry(StepsEntry):
    """A point by its elevation, from another by fall over a run and by risers, or by its place on the surface.

    Short ``F2: -3 1/4 in``. `also` is a second route to it.
    """

    elevation: ElevationText | None = None
    at: PlaceText | None = None
    also: RouteEntry | None = None
    what: ShortText = ""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        steps = (self.fall, self.rise, self.over, self.up, self.down, self.riser)
        if self.elevation is not None:
            if self.from_ is not None or any(step is not None for step in steps):
                raise refused("A point has an elevation or comes from another point, not both; take one out.")
        elif self.from_ is None:
            if any(step is not None for step in steps):
                raise refused("A point needs “elevation:” or “from:”; add one.")
            if self.at is None:
                raise refused("A point needs “elevation:”, “from:” or “at:” on a surface; add one.")
        return self


class AreaEntry(Model):
    """A named part of the site: its points in walking order, and what they are built up of.

    `added` are points behind all others, and `instead` gives points another finish than what makes them does; what
    was counted from them stays where it was.
    """

    what: ShortText = ""
    build_up: Name | None = Field(default=None, alias="build-up")
    layers: dict[Name, SizeText] = Field(default_factory=dict)
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    datum: Name | None = None
    use: Literal["walk", "patio", "driveway", "street", "steps", "ramp", "pool deck"] | None = None
    accessible: Literal["yes", "no"] = "no"
    along: WayText | None = None
    ground: ElevationText | None = None
    drains: DrainsEntry | None = None
    rules: RulesText = Field(default_factory=dict)
    codes: CodesText | None = None
    outline: (
        Annotated[
            Annotated[FileName, Tag("[text]")] | Annotated[RingText, Tag("[entries]")], Discriminator(text_or_entries)
        ]
        | None
    ) = None
    holes: list[RingText] = Field(default_factory=list)
    surface: SurfaceEntry | None = None
    points: Annotated[
        Annotated[FileName, Tag("[text]")]
        | Annotated[dict[TypableName, Annotated[PointEntry, key_for_text("elevation")]], Tag("[entries]")],
        Discriminator(text_or_entries),
    ] = Field(default_factory=dict)
    added: dict[TypableName, Annotated[PointEntry, key_for_text("elevation")]] = Field(default_factory=dict)
    instead: dict[TypableName, ElevationText] = Field(default_factory=dict)
    point_list: ListText | None = Field(default=None, alias="point list")
    grid: GridEntry | None = None
    edges: dict[TypableName, EdgeEntry] = Field(default_factory=dict)
    flight: FlightEntry | None = None
    ramp: RampEntry | None = None
    route: list[TypableName] | None = None


class StoneEntry(Model):
    """``{density: 1.5 ton/yd^3, price: $38/ton, compaction: 1.25, waste: 5%, swell: 25%}``: what fills a dig.

    A price by weight or, as in ``$57/yd^3``, by volume as delivered, loose.
    """

    density: DensityText | None = None
    loose: Literal["yes", "no"] | None = None
    price: PriceText | None = None
    compaction: FactorText | None = None
    waste: SlopeText | None = None
    swell: SlopeText | None = None


class LayoutEntry(Model):
    """``{sides: [24 ft, 30 ft], tolerance: 1/4 in}``: a rectangle to be taped, or ``{outline of: terrace}``."""

    sides: tuple[SizeText, SizeText] | None = None
    outline_of: Name | None = Field(default=None, alias="outline of")
    tolerance: AlikeText | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.sides is None) == (self.outline_of is None):
            raise refused("A layout check has “sides:” or is the “outline of:” an area; give one of the two.")
        return self


class BondEntry(Model):
    """``{from: kerb, unit: 12 in, length: 24 in, joint: 1/8 in, rows: 40, pattern: half}``: chalk lines."""

    from_: ShortText = Field(default="", alias="from")
    unit: SizeText
    length: SizeText | None = None
    joint: MarginText
    rows: CountText
    every: CountText = 5
    pattern: Literal["running", "half", "third"] = "running"


class PitchEntry(Model):
    """``{rule: 1 in per 5 ft, exact: 3/16 in/ft}`` or short ``1 in per 5 ft``: what ``fall: pitch`` means."""

    rule: SlopeText
    exact: SlopeText | None = None


class JobEntry(Model):
    """The whole job file."""

    job: ShortText
    units: Units
    rods: dict[Name, RodEntry] = Field(default_factory=dict)
    benchmarks: dict[TypableName, Annotated[BenchmarkEntry, key_for_text("elevation")]]
    build_ups: dict[Name, Annotated[BuildUpEntry, BeforeValidator(_layers_alone)]] = Field(
        default_factory=dict, alias="build-ups"
    )
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    instrument: InstrumentEntry | None = None
    rechecks: RechecksEntry = Field(default_factory=RechecksEntry)
    decide: Literal["plain", "guarded"] = "plain"
    closure: Closure | None = None
    datums: dict[Name, DatumEntry] = Field(default_factory=dict)
    walls: dict[TypableName, LineText] = Field(default_factory=dict)
    rules: RulesText = Field(default_factory=dict)
    codes: CodesText = ()
    pitch: Annotated[PitchEntry, key_for_text("rule")] | None = None
    stone: StoneEntry | None = None
    layout: dict[Name, LayoutEntry] = Field(default_factory=dict)
    bonds: dict[Name, BondEntry] = Field(default_factory=dict)
    round_targets: SizeText | None = Field(default=None, alias="round targets")
    areas: dict[Name, AreaEntry] = Field(min_length=1)
