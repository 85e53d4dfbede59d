"""Shapes as a job file writes them: surfaces, grids, points along edges, flights of steps and ramps."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from gradecheck.plan.point_list import order_fault
from gradecheck.plan.texts import (
    CoordinateText,
    CountText,
    Entry,
    FileName,
    Name,
    SignedSlopeText,
    SizeText,
    SlopeText,
    TypableName,
    key_for_text,
    plain_text,
    refused,
    refused_at,
    text_or_entries,
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


class FallsEntry(Entry):
    """``{x: 2%, y: -0.5%}``: falls along the plan's two directions, with a minus against them; left out, level."""

    x: SignedSlopeText | None = None
    y: SignedSlopeText | None = None


class SurfaceEntry(Entry):
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


class GridEntry(Entry):
    """``{every: 6 ft, inside: [[0 ft, 0 ft], ...], name: G}``: points of the surface, `every` alike or ``[x, y]``."""

    every: Annotated[tuple[SizeText, SizeText], BeforeValidator(_pair)]
    inside: RingText | None = None
    holes: list[RingText] = Field(default_factory=list)
    name: TypableName | None = None
    start: PlaceText | None = None


class EdgeEntry(Entry):
    """``{every: 5 ft, along: [[0 ft, 0 ft], [24 ft, 0 ft]]}``: points of the surface along a line, ends too."""

    every: SizeText
    along: LineText


class LandingEntry(Entry):
    """``{length: 4 ft, fall: 1/4 in/ft}``: a landing within a flight."""

    length: SizeText
    fall: SlopeText | None = None


class FlightEntry(Entry):
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


class RampEntry(Entry):
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


class DrainsEntry(Entry):
    """``{away from: DOOR, at least: 1.5%}`` or ``{into: [GULLY], at least: 1.5%}``: where the water goes."""

    away_from: Name | None = Field(default=None, alias="away from")
    into: Annotated[list[TypableName], BeforeValidator(lambda v: [v] if isinstance(v, str) else v)] = Field(
        default_factory=list
    )
    at_least: SlopeText | None = Field(default=None, alias="at least")
    at_most: SlopeText | None = Field(default=None, alias="at most")


class ListEntry(Entry):
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
