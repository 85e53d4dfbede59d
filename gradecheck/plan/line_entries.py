"""Places, lines and outlines as the job file writes them: with arcs, as circles, by a station along an edge."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    Tag,
    TypeAdapter,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic_core import PydanticCustomError

from gradecheck.catalogue import _
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.lines import FINEST, Arc, Line, LineError, arc_by_radius, arc_through, circle
from gradecheck.plan.names import as_known
from gradecheck.plan.problems import suggestion
from gradecheck.plan.texts import (
    CoordinateText,
    Model,
    SizeText,
    StationText,
    TypableName,
    refused,
    refused_at,
)

PlaceText = tuple[CoordinateText, CoordinateText]


class ArcEntry(Model):
    """``{to: [20 ft, 0 ft], through: [10 ft, 4 ft]}``: an arc from the place before it, in a line or an outline.

    Or ``{to: [20 ft, 0 ft], radius: 15 ft, turn: left}``, the shorter of the two there are.
    """

    to: PlaceText
    """Where the arc ends. E.g. ``[20 ft, 0 ft]``."""
    through: PlaceText | None = None
    """A place that the arc passes through. E.g. ``[10 ft, 4 ft]``."""
    radius: SizeText | None = None
    """The radius of the arc, with “turn:”, in place of “through:”. E.g. ``15 ft``."""
    turn: Literal["left", "right"] | None = None
    """Which way the arc turns, seen from where it begins. E.g. ``left``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if (self.through is None) == (self.radius is None):
            raise refused(_("An arc passes “through:” a place or has a “radius:”; give one of the two."))
        if (self.radius is None) != (self.turn is None):
            raise refused(_("“radius:” and “turn:” belong together; add the missing one."))
        return self

    def arc(self, start: Place) -> Arc:
        """The arc from that place. Raises `LineError`."""
        if self.through is not None:
            return arc_through(start, self.through, self.to)
        assert self.radius is not None
        return arc_by_radius(start, self.to, self.radius, turns_left=self.turn == "left")


class CircleEntry(Model):
    """``{center: [10 ft, 10 ft], radius: 6 ft}``: a round outline."""

    center: PlaceText
    """The center of the circle. E.g. ``[10 ft, 10 ft]``."""
    radius: SizeText
    """Its radius. E.g. ``6 ft``."""


def _place_or_arc(value: Any) -> str:
    return "[arc]" if isinstance(value, dict) else "[entries]"


def _ring_or_circle(value: Any) -> str:
    return "[circle]" if isinstance(value, dict) else "[ring]"


def _with_arcs(items: list[Place | ArcEntry]) -> Line:
    """The line with its arcs worked out, each from the place before it."""
    parts: list[Place | Arc] = []
    here: Place | None = None
    for number, each in enumerate(items):
        if not isinstance(each, ArcEntry):
            parts.append(each)
            here = each
        elif here is None:
            raise refused_at(((number,), refused(_("A line begins at a place; write it before this arc."))))
        else:
            try:
                parts.append(each.arc(here))
            except LineError as wrong:
                raise refused_at(((number,), refused(str(wrong)))) from wrong
            here = each.to
    return Line(parts)


def _ring(line: Line) -> Line:
    if len(line) < 3:
        raise PydanticCustomError("too_short", _("three at least"), {"min_length": 3})
    return line.ring()


def _round(entry: CircleEntry) -> Line:
    return circle(entry.center, entry.radius).ring()


if TYPE_CHECKING:  # what they are once they are read
    LineText: TypeAlias = Line
    RingText: TypeAlias = Line
    OutlineText: TypeAlias = Line
else:
    _Item = Annotated[
        Annotated[PlaceText, Tag("[entries]")] | Annotated[ArcEntry, Tag("[arc]")], Discriminator(_place_or_arc)
    ]
    # Places, and arcs between: [[0 ft, 0 ft], [24 ft, 0 ft], {to: [34 ft, 10 ft], radius: 10 ft, turn: left}].
    LineText = Annotated[list[_Item], Field(min_length=2), AfterValidator(_with_arcs)]
    RingText = Annotated[list[_Item], Field(min_length=2), AfterValidator(_with_arcs), AfterValidator(_ring)]
    OutlineText = Annotated[
        Annotated[RingText, Tag("[ring]")] | Annotated[CircleEntry, AfterValidator(_round), Tag("[circle]")],
        Discriminator(_ring_or_circle),
    ]


class StationEntry(Model):
    """``{edge: E, station: 12 ft, right: 2 ft}``: a place so far along an edge, and beside it."""

    edge: TypableName
    """The edge that it is measured along, of any area. E.g. ``E``."""
    station: StationText
    """How far it is from the start of that edge's line. E.g. ``12 ft``."""
    left: SizeText | None = None
    """How far to the left of the line it lies, seen along it. E.g. ``2 ft``."""
    right: SizeText | None = None
    """How far to the right of the line it lies. E.g. ``2 ft``."""

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.left is not None and self.right is not None:
            raise refused(_("A place lies to the left or to the right of a line, not both; remove one."))
        return self

    def on(self, line: Line) -> Place:
        """The place on that line. Raises `LineError`."""
        if self.station.metres > line.length + 1 / FINEST:
            raise LineError(_("This station lies beyond the end of its edge; write a smaller one."))
        right = self.right.metres if self.right else -self.left.metres if self.left else Fraction(0)
        return line.place(self.station.metres, right)


def _of_edges(value: Place | StationEntry, info: ValidationInfo) -> Place:
    """The place of a station, whose edge may stand anywhere in the file."""
    if not isinstance(value, StationEntry):
        return value
    lines: dict[str, Any] = info.context.get("edges", {}) if info.context else {}
    name = as_known(value.edge, lines)
    if name is None:
        says = _(
            "There is no edge “{edge}” to measure along.{meant}",
            edge=value.edge,
            meant=suggestion(value.edge, lines),
        )
        raise refused_at((("edge",), refused(says)))
    try:
        return value.on(_LINE_READER.validate_python(lines[name], context=info.context))
    except LineError as wrong:
        raise refused(str(wrong)) from wrong
    except ValidationError:  # told where the edge stands; nothing is made of a plan with a problem
        return ZERO, ZERO


def _place_or_station(value: Any) -> str:
    return "[station]" if isinstance(value, dict) else "[entries]"


_LINE_READER: TypeAdapter[Line] = TypeAdapter(LineText)
if TYPE_CHECKING:
    PointPlaceText: TypeAlias = Place
else:
    PointPlaceText = Annotated[
        Annotated[PlaceText, Tag("[entries]")] | Annotated[StationEntry, Tag("[station]")],
        Discriminator(_place_or_station),
        AfterValidator(_of_edges),
    ]
