"""The job file as it is written: a frozen pydantic model for each kind of entry, texts read exactly."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from gradecheck.measure.notation import Units
from gradecheck.plan.problems import suggestion
from gradecheck.plan.shapes import (
    DrainsEntry,
    EdgeEntry,
    FlightEntry,
    GridEntry,
    LineText,
    ListText,
    PlaceText,
    RampEntry,
    RingText,
    SurfaceEntry,
    WayText,
)
from gradecheck.plan.texts import (
    AlikeText,
    Closure,
    CodesText,
    CountText,
    DensityText,
    ElevationText,
    Entry,
    FactorText,
    FileName,
    MarginText,
    Name,
    PitchText,
    PriceText,
    RulesText,
    SizeText,
    SlopeText,
    TypableName,
    Words,
    key_for_text,
    refused,
    refused_at,
    text_or_entries,
    tolerance_apart,
)

RESERVED_LAYERS = ("finish", "subgrade")


class BenchmarkEntry(Entry):
    """``DOOR: {elevation: 0, what: threshold}`` or short ``DOOR: 0``."""

    elevation: ElevationText
    what: Words = ""
    at: PlaceText | None = None


class InstrumentEntry(Entry):
    """``{beam: 15 arcsec, receiver: 1/16 in, longest shot: 200 ft}``: what its maker and the site allow for."""

    beam: SlopeText
    receiver: SizeText | None = None
    longest_shot: SizeText = Field(alias="longest shot")
    plumb: SlopeText | None = None
    adjust_beyond: SlopeText | None = Field(default=None, alias="adjust beyond")


class RechecksEntry(Entry):
    """``{readings: 30, minutes: 60, allowed: 1/8 in}``: when a mark is looked at again, and what it may be off."""

    readings: CountText | None = None
    minutes: CountText | None = None
    allowed: AlikeText | None = None


class DatumEntry(Entry):
    """``office: {mark: DOOR, reads: 100.00 ft}``: another zero, given by what one mark reads from it."""

    mark: TypableName
    reads: ElevationText


class RodEntry(Entry):
    """``site rod: {kind: standard, graduation: 1/16 in}``; `units` where it reads other units than the job."""

    kind: Literal["standard", "direct"] = "standard"
    units: Units | None = None
    graduation: SizeText | None = None


class ToleranceEntry(Entry):
    """``{high: 1/2 in, low: 3/8 in}``, or short ``+1/2 in -3/8 in``, and ``3/8 in`` for both ways."""

    high: MarginText
    low: MarginText

    @model_validator(mode="before")
    @classmethod
    def _apart(cls, value: Any, info: ValidationInfo) -> dict[str, Any]:
        return tolerance_apart(value, info)


class LayerEntry(Entry):
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


class BuildUpEntry(Entry):
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


class StepsEntry(Entry):
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
    what: Words = ""

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


class AreaEntry(Entry):
    """A named part of the site: its points in walking order, and what they are built up of.

    `added` are points behind all others, and `instead` gives points another finish than what makes them does; what
    was counted from them stays where it was.
    """

    what: Words = ""
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


class StoneEntry(Entry):
    """``{density: 1.5 ton/yd^3, price: $38/ton, compaction: 1.25, waste: 5%, swell: 25%}``: what fills a dig.

    A price by weight or, as in ``$57/yd^3``, by volume as delivered, loose.
    """

    density: DensityText | None = None
    loose: Literal["yes", "no"] | None = None
    price: PriceText | None = None
    compaction: FactorText | None = None
    waste: SlopeText | None = None
    swell: SlopeText | None = None


class LayoutEntry(Entry):
    """``{sides: [24 ft, 30 ft], tolerance: 1/4 in}``: a rectangle to be taped, or ``{outline of: terrace}``."""

    sides: tuple[SizeText, SizeText] | None = None
    outline_of: Name | None = Field(default=None, alias="outline of")
    tolerance: AlikeText | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.sides is None) == (self.outline_of is None):
            raise refused("A layout check has “sides:” or is the “outline of:” an area; give one of the two.")
        return self


class BondEntry(Entry):
    """``{from: kerb, unit: 12 in, length: 24 in, joint: 1/8 in, rows: 40, pattern: half}``: chalk lines."""

    from_: Words = Field(default="", alias="from")
    unit: SizeText
    length: SizeText | None = None
    joint: MarginText
    rows: CountText
    every: CountText = 5
    pattern: Literal["running", "half", "third"] = "running"


class PitchEntry(Entry):
    """``{rule: 1 in per 5 ft, exact: 3/16 in/ft}`` or short ``1 in per 5 ft``: what ``fall: pitch`` means."""

    rule: SlopeText
    exact: SlopeText | None = None


class JobEntry(Entry):
    """The whole job file."""

    job: Words
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
