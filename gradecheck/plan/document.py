"""The job file as it is written: a frozen pydantic model for each kind of entry, texts read exactly."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator
from pydantic_core import PydanticCustomError

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.plan.area_entries import AreaEntry, ToleranceEntry
from gradecheck.plan.line_entries import LineText, PlaceText
from gradecheck.plan.problems import suggestion
from gradecheck.plan.texts import (
    AlikeText,
    Closure,
    CodesText,
    CountText,
    DensityText,
    ElevationText,
    FactorText,
    HoldsText,
    MarginText,
    Model,
    Name,
    PriceText,
    RulesText,
    ShortText,
    SizeText,
    SlopeText,
    TypableName,
    VolumeText,
    key_for_text,
    refused,
    refused_at,
    text_or_entries,
)

RESERVED_LAYERS = ("finish", "subgrade")


class BenchmarkEntry(Model):
    """``DOOR: {elevation: 0, what: threshold}`` or short ``DOOR: 0``."""

    elevation: ElevationText
    """Its elevation from the job's zero. E.g. ``-4 3/8``."""
    what: ShortText = ""
    """What it is, for people. E.g. ``brass pin by the gate``."""
    at: PlaceText | None = None
    """Where it lies, as [x, y]. E.g. ``[12 ft, 0 ft]``."""


class InstrumentEntry(Model):
    """``{beam: 15 arcsec, receiver: 1/16 in, longest shot: 200 ft}``: what its maker and the site allow for."""

    beam: SlopeText
    """How far off level the beam may be, as its maker states it. E.g. ``10 arcsec``."""
    receiver: SizeText | None = None
    """How far off the receiver may be. E.g. ``1/32 in``."""
    longest_shot: SizeText = Field(alias="longest shot")
    """The longest distance that is read over. E.g. ``60 ft``."""
    plumb: SlopeText | None = None
    """How far the rod may lean. E.g. ``1 deg``."""
    adjust_beyond: SlopeText | None = Field(default=None, alias="adjust beyond")
    """From what error on the beam has to be adjusted. E.g. ``20 arcsec``."""


class RechecksEntry(Model):
    """``{readings: 30, minutes: 60, allowed: 1/8 in}``: when a mark is rechecked, and what it may be off."""

    readings: CountText | None = None
    """After how many readings a mark is rechecked. E.g. ``30``."""
    minutes: CountText | None = None
    """After how many minutes. E.g. ``60``."""
    allowed: AlikeText | None = None
    """How far off a recheck may be. E.g. ``1/8 in``."""


class DatumEntry(Model):
    """``office: {mark: DOOR, reads: 100.00 ft}``: another zero, given by what one mark reads from it."""

    mark: TypableName
    """The mark that both datums know. E.g. ``DOOR``."""
    reads: ElevationText
    """The elevation of that mark from this datum. E.g. ``100.00 ft``."""


class RodEntry(Model):
    """``site rod: {kind: standard, graduation: 1/16 in}``; `units` where it reads other units than the job."""

    kind: Literal["standard", "direct"] = "standard"
    """standard: readings grow from its foot; direct: with the ground. E.g. ``standard``."""
    units: Units | None = None
    """What the rod reads; the job's units where left out. E.g. ``in``."""
    graduation: SizeText | None = None
    """Its smallest division. E.g. ``1/16 in``."""
    length: SizeText | None = None
    """How long it is drawn out; no reading beyond it is taken. E.g. ``13 ft``."""


class LayerEntry(Model):
    """One layer of a build-up, written as a single key: ``{bedding: 1 in}``."""

    name: Name
    """The name of the layer; it is the key. E.g. ``base``."""
    thickness: SizeText
    """How thick the layer is. E.g. ``6 in``."""

    @model_validator(mode="before")
    @classmethod
    def _one_key(cls, value: Any) -> Any:
        if not isinstance(value, dict) or len(value) != 1:
            raise refused(_("A layer is one name and one thickness, for example {bedding: 1 in}."))
        ((name, thickness),) = value.items()
        if name.casefold() in RESERVED_LAYERS:
            raise refused(
                _("A layer can't be called “{name}”: that is a surface; use paver, bedding or base.", name=name)
            )
        return {"name": name, "thickness": thickness}


def _layers_alone(value: Any) -> Any:
    return {"layers": value} if isinstance(value, list) else value


class BuildUpEntry(Model):
    """Layers from the finish down, alone as a list or with what belongs to the whole of them.

    ``{layers: [{paver: 2 3/8 in}, {base: 8 in}], loose: {base: 10 in}, set high: 1/4 in, past edge: 8 in}``.
    """

    layers: Annotated[list[LayerEntry], Field(min_length=1)]
    """The layers from the finish down; a list alone stands for this key.

    E.g. ``[{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]``.
    """
    loose: dict[Name, SizeText] = Field(default_factory=dict)
    """How high a layer is spread before it is rolled: a stage of its own. E.g. ``{base: 7 1/2 in}``."""
    set_high: SizeText | None = Field(default=None, alias="set high")
    """How much higher the top layer is set before it is seated: a stage. E.g. ``1/4 in``."""
    past_edge: MarginText | None = Field(default=None, alias="past edge")
    """How far base and dig go past the edge. E.g. ``6 in``."""
    lifts: dict[
        Name,
        Annotated[
            Annotated[CountText, Tag("[text]")]
            | Annotated[Annotated[list[SizeText], Field(min_length=2)], Tag("[entries]")],
            Discriminator(text_or_entries),
        ],
    ] = Field(default_factory=dict)
    """A layer's lifts, each a stage: how many, or how thick from below. E.g. ``{base: 2}``."""

    @model_validator(mode="after")
    def _loose_layers_are_there(self) -> Self:
        layers = {layer.name.casefold(): layer for layer in self.layers}
        wrong: list[tuple[tuple[str, ...], PydanticCustomError]] = []
        for name, lifts in self.lifts.items():
            if (layer := layers.get(name.casefold())) is None:
                near = suggestion(name, [each.name for each in self.layers])
                says = _("There is no layer “{name}” to be rolled in lifts.{meant}", name=name, meant=near)
                wrong.append((("lifts", name, "[key]"), refused(says)))
            elif name.casefold() in {each.casefold() for each in self.loose}:
                says = _(
                    "{name} is spread in lifts, each loose for itself; take “loose:” or “lifts:” out.", name=name
                )
                wrong.append((("lifts", name), refused(says)))
            elif (
                isinstance(lifts, list)
                and sum((each.metres for each in lifts), Fraction(0)) != layer.thickness.metres
            ):
                says = _("These lifts are not as thick together as {name}; write thicknesses that are.", name=name)
                wrong.append((("lifts", name), refused(says)))
        for name, loose in self.loose.items():
            layer = layers.get(name.casefold())
            if layer is None:
                near = suggestion(name, [each.name for each in self.layers])
                says = _("There is no layer “{name}” to be loose.{meant}", name=name, meant=near)
                wrong.append((("loose", name, "[key]"), refused(says)))
            elif loose <= layer.thickness:
                says = _("Loose, {name} is higher than rolled; write the height it is spread to.", name=name)
                wrong.append((("loose", name), refused(says)))
        if wrong:
            raise refused_at(*wrong)
        return self


class StoneEntry(Model):
    """``{density: 1.5 ton/yd^3, price: $38/ton, compaction: 1.25, waste: 5%, swell: 25%}``: what fills a dig.

    `truck` is what a truck holds loose, of stone and of soil.

    A price by weight or, as in ``$57/yd^3``, by volume as delivered, loose.
    """

    density: DensityText | None = None
    """What the stone weighs. E.g. ``1.5 ton/yd^3``."""
    loose: Literal["yes", "no"] | None = None
    """Whether that is as delivered, not compacted. E.g. ``yes``."""
    price: PriceText | None = None
    """What it costs by weight or by volume. E.g. ``$38/ton``."""
    compaction: FactorText | None = None
    """How much loose makes one of compacted. E.g. ``1.25``."""
    waste: SlopeText | None = None
    """What is ordered on top. E.g. ``5%``."""
    swell: SlopeText | None = None
    """What dug soil grows by. E.g. ``25%``."""
    truck: VolumeText | None = None
    """What a truck holds, loose; then loads are told. E.g. ``10 yd^3``."""


class LayoutEntry(Model):
    """``{sides: [24 ft, 30 ft], tolerance: 1/4 in}``: a rectangle to be taped, or ``{outline of: terrace}``."""

    sides: tuple[SizeText, SizeText] | None = None
    """The two sides of a rectangle. E.g. ``[24 ft, 30 ft]``."""
    outline_of: Name | None = Field(default=None, alias="outline of")
    """The area whose outline is taped, in place of “sides:”. E.g. ``terrace``."""
    tolerance: AlikeText | None = None
    """What a taped length may be off. E.g. ``1/4 in``."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.sides is None) == (self.outline_of is None):
            raise refused(_("A layout check has “sides:” or is the “outline of:” an area; give one of the two."))
        return self


class BondEntry(Model):
    """``{from: curb, unit: 12 in, length: 24 in, joint: 1/8 in, rows: 40, pattern: half}``: chalk lines."""

    from_: ShortText = Field(default="", alias="from")
    """What the rows are counted from, for people. E.g. ``the curb``."""
    unit: SizeText
    """The width of a unit. E.g. ``6 in``."""
    length: SizeText | None = None
    """The length of a unit; twice its width where left out. E.g. ``9 in``."""
    joint: MarginText
    """The width of a joint. E.g. ``1/8 in``."""
    rows: CountText
    """How many rows. E.g. ``40``."""
    every: CountText = 5
    """A chalk line every so many rows. E.g. ``5``."""
    pattern: Literal["running", "half", "third"] = "running"
    """running, half or third. E.g. ``half``."""


class PitchEntry(Model):
    """``{rule: 1 in per 5 ft, exact: 3/16 in/ft}`` or short ``1 in per 5 ft``: what ``fall: pitch`` means."""

    rule: SlopeText
    """The rule of thumb that “fall: pitch” means. E.g. ``1 in per 5 ft``."""
    exact: SlopeText | None = None
    """The exact pitch it stands for. E.g. ``3/16 in/ft``."""


class JobEntry(Model):
    """The whole job file."""

    job: ShortText
    """The job's name, as reports are headed. E.g. ``Alder Yard tea terrace``."""
    units: Units
    """What bare numbers count: in, ft-in, ft, mm, cm or m. E.g. ``in``."""
    rods: dict[Name, RodEntry] = Field(default_factory=dict)
    """The rods by name; the first is used where none is named.

    E.g. ``{site rod: {kind: standard, graduation: 1/16 in}}``.
    """
    benchmarks: dict[TypableName, Annotated[BenchmarkEntry, key_for_text("elevation")]]
    """Marks whose elevation is given; usually one is the zero. E.g. ``{DOOR: 0, PIN: {elevation: -4 3/8}}``."""
    build_ups: dict[Name, Annotated[BuildUpEntry, BeforeValidator(_layers_alone)]] = Field(
        default_factory=dict, alias="build-ups"
    )
    """The layers under each kind of area, from the finish down.

    E.g. ``{terrace: [{paver: 2 3/8 in}, {base: 6 in}]}``.
    """
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    """How far off each stage may be, by its name. E.g. ``{base: 3/8 in, finish: 1/8 in}``."""
    instrument: InstrumentEntry | None = None
    """What the laser is good for. E.g. ``{beam: 10 arcsec, longest shot: 60 ft}``."""
    rechecks: RechecksEntry = Field(default_factory=RechecksEntry)
    """When a mark is rechecked, and what it may be off. E.g. ``{readings: 30, minutes: 60}``."""
    decide: Literal["plain", "guarded"] = "plain"
    """guarded: within U of a limit say TOO CLOSE TO CALL; plain is usual. E.g. ``guarded``."""
    closure: Closure | None = None
    """What a circuit may miss by when it closes. E.g. ``0.02 ft per root setup``."""
    datums: dict[Name, DatumEntry] = Field(default_factory=dict)
    """Other zeros, each given by what one mark reads from it. E.g. ``{office: {mark: DOOR, reads: 100.00 ft}}``."""
    walls: dict[TypableName, LineText] = Field(default_factory=dict)
    """Walls of buildings by name; water runs away from them. E.g. ``{house: [[0 ft, 0 ft], [24 ft, 0 ft]]}``."""
    rules: RulesText = Field(default_factory=dict)
    """Limits of the job's own; gradecheck rules lists them. E.g. ``{riser at most: 7 in}``."""
    codes: CodesText = ()
    """The codes that the drawings name. E.g. ``[us-residential]``."""
    pitch: Annotated[PitchEntry, key_for_text("rule")] | None = None
    """What “fall: pitch” means. E.g. ``1 in per 5 ft``."""
    stone: StoneEntry | None = None
    """What fills a dig: weight, price, compaction. E.g. ``{density: 1.5 ton/yd^3, price: $38/ton}``."""
    hold_points: HoldsText = Field(default_factory=list, alias="hold points")
    """Stages that are signed off before any above them takes readings. E.g. ``[subgrade, base]``."""
    layout: dict[Name, LayoutEntry] = Field(default_factory=dict)
    """Corners that are taped for square, by name. E.g. ``{terrace corner: {sides: [24 ft, 20 ft]}}``."""
    bonds: dict[Name, BondEntry] = Field(default_factory=dict)
    """Rows of units and their chalk lines, by name. E.g. ``{run: {unit: 6 in, joint: 1/8 in, rows: 40}}``."""
    round_targets: SizeText | None = Field(default=None, alias="round targets")
    """What every finish is rounded to. E.g. ``1/16 in``."""
    areas: dict[Name, AreaEntry] = Field(min_length=1)
    """The parts of the site by name. E.g. ``{walk: {points: {W1: -1 1/4}}}``."""
