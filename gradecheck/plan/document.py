"""The job file as it is written: a frozen pydantic model for each kind of entry, texts read exactly."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gradecheck.measure.notation import Units
from gradecheck.plan.texts import (
    Closure,
    CountText,
    ElevationText,
    LengthText,
    MarginText,
    Name,
    SizeText,
    SlopeText,
    TypableName,
    Words,
    key_for_text,
    refused,
)

RESERVED_LAYERS = ("finish", "subgrade")


class Entry(BaseModel):
    """What all parts of a job file share: nothing unknown is passed over, nothing changes after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class BenchmarkEntry(Entry):
    """``DOOR: {elevation: 0, what: threshold}`` or short ``DOOR: 0``."""

    elevation: ElevationText
    what: Words = ""
    at: tuple[LengthText, LengthText] | None = None


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
    allowed: MarginText | None = None


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
    """``{high: 1/2 in, low: 3/8 in}`` or short ``3/8 in`` for both ways."""

    high: MarginText
    low: MarginText

    @model_validator(mode="before")
    @classmethod
    def _both_ways(cls, value: Any) -> Any:
        return {"high": value, "low": value} if isinstance(value, str) else value


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
        if name in RESERVED_LAYERS:
            raise refused(f"A layer can't be called “{name}”: that is a surface; use paver, bedding or base.")
        return {"name": name, "thickness": thickness}


class PointEntry(Entry):
    """A point by its elevation, or from another by fall over a run and by risers; short ``F2: -3 1/4 in``."""

    elevation: ElevationText | None = None
    from_: TypableName | None = Field(default=None, alias="from")
    fall: SlopeText | None = None
    rise: SlopeText | None = None
    over: SizeText | None = None
    up: CountText | None = None
    down: CountText | None = None
    riser: SizeText | None = None
    at: tuple[LengthText, LengthText] | None = None
    what: Words = ""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        steps = (self.fall, self.rise, self.over, self.up, self.down, self.riser)
        if self.elevation is not None:
            if self.from_ is not None or any(step is not None for step in steps):
                raise refused("A point has an elevation or comes from another point, not both; take one out.")
        elif self.from_ is None:
            raise refused("A point needs “elevation:” or “from:”; add one.")
        if self.fall is not None and self.rise is not None:
            raise refused("A run falls or rises, not both; take one out.")
        if (self.fall is None and self.rise is None) != (self.over is None):
            raise refused("“fall:” (or “rise:”) and “over:” belong together; add the missing one.")
        if self.up is not None and self.down is not None:
            raise refused("Risers go up or down, not both; take one out.")
        if (self.up is None and self.down is None) != (self.riser is None):
            raise refused("“up:” (or “down:”) and “riser:” belong together; add the missing one.")
        return self


class AreaEntry(Entry):
    """A named part of the site: its points in walking order, and what they are built up of."""

    what: Words = ""
    build_up: Name | None = Field(default=None, alias="build-up")
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    datum: Name | None = None
    points: dict[TypableName, Annotated[PointEntry, key_for_text("elevation")]] = Field(min_length=1)
    route: list[TypableName] | None = None


class JobEntry(Entry):
    """The whole job file."""

    job: Words
    units: Units
    rods: dict[Name, RodEntry] = Field(default_factory=dict)
    benchmarks: dict[TypableName, Annotated[BenchmarkEntry, key_for_text("elevation")]]
    build_ups: dict[Name, Annotated[list[LayerEntry], Field(min_length=1)]] = Field(
        default_factory=dict, alias="build-ups"
    )
    tolerances: dict[Name, ToleranceEntry] = Field(default_factory=dict)
    instrument: InstrumentEntry | None = None
    rechecks: RechecksEntry = Field(default_factory=RechecksEntry)
    decide: Literal["plain", "guarded"] = "plain"
    closure: Closure | None = None
    datums: dict[Name, DatumEntry] = Field(default_factory=dict)
    areas: dict[Name, AreaEntry] = Field(min_length=1)
