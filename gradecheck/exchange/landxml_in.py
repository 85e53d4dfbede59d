"""LandXML (open schema, 1.2 and its neighbors) to a drawing: points, surfaces and the lines of plan features.

Read by expat alone, hardened: no document type, no entity, no file from outside, bounds on size, depth and number.
Every place in the format is north before east.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from fractions import Fraction
from xml.parsers import expat

from gradecheck.catalogue import _
from gradecheck.exchange.found import (
    MOST_BYTES,
    MOST_ENTITIES,
    SURVEY_FOOT,
    Corner,
    DrawnLine,
    DrawnPoint,
    FoundDrawing,
    plain_points,
    refuse,
    shortest_decimal,
)
from gradecheck.measure.quantities import FOOT, INCH
from gradecheck.plan.names import visible

DEEPEST = 24
"""Levels of elements."""
_PIECE = 65_536
_LONGEST_TAG, _LONGEST_TEXT = 1_000_000, 1_000
_NO_HEIGHT = -9999
"""What lies at that or below is no height: programs write -99999 for none (common practice, no source)."""
_LINEAR = {
    "millimeter": Fraction(1, 1000),
    "centimeter": Fraction(1, 100),
    "meter": Fraction(1),
    "kilometer": Fraction(1000),
    "inch": INCH,
    "foot": FOOT,
    "USSurveyFoot": SURVEY_FOOT,
    "mile": 5280 * FOOT,
}
_TEXTS = ("CgPoint", "P", "F", "Start", "End", "Center")
"""The elements whose text is read."""
_TEXT_ATTRIBUTES = ("name", "desc", "code")
"""What is kept of a point's attributes."""


_PLACE = re.compile(
    r"\s*(-?[0-9]{1,10})(?:\.([0-9]{1,15}))?\s+(-?[0-9]{1,10})(?:\.([0-9]{1,15}))?"
    r"(?:\s+(-?[0-9]{1,10})(?:\.([0-9]{1,15}))?)?\s*",
    re.ASCII,
)
"""What nearly all places are."""


class _RefusedError(Exception):
    """Reading stops; the message is one sentence, about that line or where the parser is."""

    line: int | None = None


def read_landxml(content: bytes, file: str) -> FoundDrawing:
    """The drawing in a LandXML file. Raises `PlanProblemsError`."""
    if len(content) > MOST_BYTES:
        refuse(file, _("This file is larger than {most} MB; export a part of it.", most=MOST_BYTES // 10**6))
    parser = expat.ParserCreate(namespace_separator=" ")
    reader = _LandXmlReader(parser)
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.characters
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = _forbidden
    parser.UnparsedEntityDeclHandler = parser.ExternalEntityRefHandler = _forbidden  # type: ignore[assignment]
    try:
        for at in range(0, len(content), _PIECE):
            parser.Parse(content[at : at + _PIECE], False)
            if at - parser.CurrentByteIndex > _LONGEST_TAG:
                raise _RefusedError(_("A tag in this XML goes on past a million characters; export it again."))
        parser.Parse(b"", True)
        reader.finish()
    except _RefusedError as wrong:
        refuse(file, str(wrong), wrong.line or parser.CurrentLineNumber)
    except (expat.ExpatError, LookupError, ValueError) as wrong:
        says = str(wrong).partition(":")[0]
        refuse(file, _("This XML is broken ({says}); export it again.", says=says), parser.CurrentLineNumber)
    if reader.drawing.entities == 0:
        refuse(file, _("There are no points, surfaces or plan features in this file."))
    return reader.drawing


def _forbidden(*_declared: object) -> None:
    raise _RefusedError(_("This XML declares a document type or an entity, which no LandXML needs; export it again."))


class _LandXmlReader:
    """Takes elements as they come; nothing is kept of those that are not used."""

    def __init__(self, parser: expat.XMLParserType) -> None:
        self.parser = parser
        self.drawing = FoundDrawing("LandXML")
        self.path: list[str] = []
        self.names: list[str] = []
        self.text: list[str] | None = None
        self.long = 0
        self.attributes: dict[str, str] = {}
        self.points: list[tuple[str, dict[str, str], str, int]] = []
        """Layer, attributes, text and line of each."""
        self.spots: dict[str, Corner] = {}
        self.faces: list[list[str]] = []
        self.references: list[tuple[str, dict[str, str], str]] = []
        self.curve: dict[str, Corner] = {}
        self.turn = ""
        self.line: list[tuple[Corner, float]] = []
        self.last: Corner | None = None
        self.taken = 0

    # -- as elements come

    def start(self, name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(" ")[2]
        self.path.append(local)
        if not 1 < len(self.path) <= DEEPEST:
            if len(self.path) > DEEPEST:
                raise _RefusedError(_("This XML is nested more than {deepest} levels deep.", deepest=DEEPEST))
            if local != "LandXML":
                raise _RefusedError(_("This XML is a “{text}”, no LandXML.", text=visible(local[:40])))
        if local in _TEXTS:
            self.text, self.long, self.attributes = [], 0, attributes
        elif local in ("CgPoints", "Surface", "PlanFeature"):
            self.names.append(attributes.get("name") or attributes.get("desc") or "")
        elif local in ("Metric", "Imperial"):
            self._units(attributes.get("linearUnit", ""))
        elif local == "Definition":
            self.spots, self.faces = {}, []
        elif local == "CoordGeom":
            self.line, self.last = [], None
        elif local in ("Line", "Curve"):
            self.curve, self.turn = {}, attributes.get("rot", "")
        elif local in ("Spiral", "IrregularLine", "Chain"):
            self.drawing.left_out[local.lower()] += 1

    def characters(self, text: str) -> None:
        if self.text is not None:
            self.text.append(text)
            self.long += len(text)
            if self.long > _LONGEST_TEXT:
                raise _RefusedError(_("A place in this XML has more than three numbers; export it again."))

    def end(self, name: str) -> None:
        local = self.path.pop()
        if local == "CgPoint":  # what most of these files consist of
            text, self.text = "".join(self.text or ()), None
            self._count()
            self.points.append((self._layer, self.attributes, text, self.parser.CurrentLineNumber))
            return
        text, self.text = "".join(self.text or ()), None if local in _TEXTS else self.text
        match local:
            case "P" if "id" in self.attributes:
                self._count()
                self.spots[self.attributes["id"]] = self._corner(text)
            case "F" if self.attributes.get("i") != "1":
                self._count()
                self.faces.append(text.split())
            case "Start" | "End" | "Center" if text.strip():
                self.curve[local] = self._corner(text)
            case "Line" | "Curve":
                self._side(local)
            case "CoordGeom":
                self._finish_line()
            case "Definition":
                self._finish_surface()
        if local in ("CgPoints", "Surface", "PlanFeature"):
            self.names.pop()

    # -- what they mean

    def _count(self) -> None:
        self.taken += 1
        if self.taken > MOST_ENTITIES:
            raise _RefusedError(
                _(
                    "The file goes on past {most:,} points and faces; export a part of it.",
                    most=MOST_ENTITIES,
                )
            )

    def _units(self, linear: str) -> None:
        one = _LINEAR.get(linear)
        if one is None:
            raise _RefusedError(
                _("“{text}” is not a linear unit of LandXML; export in feet or meters.", text=visible(linear[:40]))
            )
        if self.drawing.one not in (None, one):
            raise _RefusedError(_("The file declares two different units; export it again."))
        self.drawing.one, self.drawing.counts = one, _("US survey feet") if linear == "USSurveyFoot" else linear
        self.drawing.trusted = linear != "USSurveyFoot"

    @property
    def _layer(self) -> str:
        return self.names[-1] if self.names else ""

    def _corner(self, text: str) -> Corner:
        if found := _PLACE.fullmatch(text):
            to_north, parted, to_east, off, to_up, above = found.groups("")
            height = Fraction(int(to_up + above), 10 ** len(above)) if to_up else None
            return (
                Fraction(int(to_east + off), 10 ** len(off)),
                Fraction(int(to_north + parted), 10 ** len(parted)),
                None if height is None or (to_up[0] == "-" and height <= _NO_HEIGHT) else height,
            )
        numbers = [number for word in text.split() if (number := shortest_decimal(word)) is not None]
        if not 2 <= len(numbers) <= 3 or len(numbers) < len(text.split()):
            raise _RefusedError(
                _(
                    "“{text}” is no place; north, east and elevation belong here.",
                    text=visible(text.strip()[:40]),
                )
            )
        north, east, *up = numbers
        # By whole numbers: fractions take ten times as long to compare.
        if any(abs(number.numerator) >= 10**10 * number.denominator for number in numbers):
            raise _RefusedError(_("“{text}” is too large for a site.", text=visible(text.strip()[:40])))
        return east, north, up[0] if up and up[0].numerator > _NO_HEIGHT * up[0].denominator else None

    def _point(self, number: int, layer: str, attributes: dict[str, str], text: str, line: int) -> None:
        texts = {key: attributes[key] for key in _TEXT_ATTRIBUTES if attributes.get(key)}
        if (other := attributes.get("pntRef")) is not None:
            self.references.append((layer, texts, other))
            return
        name = texts.get("name")
        where = _("point {text}", text=visible(name)) if name else _("point {taken}", taken=number)
        try:
            corner = self._corner(text)
        except _RefusedError as wrong:
            wrong.line = line
            raise
        self.drawing.points.append(DrawnPoint(layer, corner, texts, where))

    def _side(self, kind: str) -> None:
        start, end = self.curve.get("Start"), self.curve.get("End")
        if start is None or end is None:
            self.drawing.left_out["line by reference"] += 1
            return
        bulge = 0.0
        if kind == "Curve":
            center = self.curve.get("Center")
            if center is None or self.turn not in ("cw", "ccw"):
                raise _RefusedError(_("A Curve needs its Center, and “rot” cw or ccw."))
            bulge = _bulge(start, end, center, clockwise=self.turn == "cw")
        if self.last != start:
            self._finish_line()
        self._count()
        self.line.append((start, bulge))
        self.last = end

    def _finish_line(self) -> None:
        if self.line and self.last is not None:
            closed = self.line[0][0] == self.last
            corners = self.line if closed else [*self.line, (self.last, 0.0)]
            self.drawing.lines.append(
                DrawnLine(self._layer, tuple(corners), closed, _("plan feature {layer}", layer=self._layer))
            )
        self.line, self.last = [], None

    def _finish_surface(self) -> None:
        for ids in self.faces:
            corners = tuple(self.spots[each] for each in ids if each in self.spots)
            if len(ids) not in (3, 4) or len(corners) < len(ids):
                raise _RefusedError(
                    _(
                        "A face names {text}, which are no three or four points.",
                        text=visible(" ".join(ids)[:40]),
                    )
                )
            self.drawing.faces.append((self._layer, corners))
        if self.spots and not self.faces:
            for name, at in self.spots.items():
                self.drawing.points.append(DrawnPoint(self._layer, at, {}, f"P {visible(name[:40])}"))
        self.spots, self.faces = {}, []

    def finish(self) -> None:
        """The points, by columns where all are plain; and those that are another's place."""
        if self.points and not self.drawing.points:
            layers, attributes, places, _lines = zip(*self.points, strict=True)
            columns = {key: [each.get(key, "") for each in attributes] for key in _TEXT_ATTRIBUTES}
            columns = {key: column for key, column in columns.items() if any(column)}
            self.drawing.columns = plain_points(layers, columns, places, _NO_HEIGHT)
        if self.drawing.columns is None:
            for number, point in enumerate(self.points, 1):
                self._point(number, *point)
        lost: Counter[str] = self.drawing.left_out
        named: dict[str, Corner] = {}
        for each in self.drawing.points if self.references else ():
            if each.at is not None and (name := each.texts.get("name")):
                named.setdefault(name, each.at)
        for layer, texts, other in self.references:
            if other in named:
                at = named[other]
                self.drawing.points.append(
                    DrawnPoint(layer, at, texts, _("point {text}", text=visible(texts.get("name", other))))
                )
            else:
                lost["point by reference"] += 1


def _bulge(start: Corner, end: Corner, center: Corner, *, clockwise: bool) -> float:
    """The tangent of a quarter of the arc's angle, positive against the clock."""
    one, other = (math.atan2(float(at[1] - center[1]), float(at[0] - center[0])) for at in (start, end))
    radii = [math.hypot(float(at[0] - center[0]), float(at[1] - center[1])) for at in (start, end)]
    if abs(radii[0] - radii[1]) > max(radii) * 0.01 or not min(radii):
        raise _RefusedError(_("The ends of a Curve lie at different distances from its Center; export it again."))
    angle = (one - other if clockwise else other - one) % math.tau
    return -math.tan(angle / 4) if clockwise else math.tan(angle / 4)
