"""Outlines and points as GeoJSON (RFC 7946), in and out, with plain planar coordinates.

RFC 7946 means longitude and latitude in degrees. Its section 4 leaves room for other coordinates where all parties
have arranged it beforehand; that is so here: x and y are lengths from the plan's own corner, an optional third number
is the elevation above the job's zero. The member ``units`` of the whole (a foreign member, section 6.1) says what the
numbers count; where it is missing, they count the units of whoever reads. A file of degrees must not be read so:
where all its numbers could be degrees and as lengths they make a size that no site has, it is refused, and where
they make one, `GeoPlan.unsure` says that it should be asked.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.ground.outline import Outline, Ring, signed_area
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, feet
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.plan.json_tree import JsonNumber, JsonTree, JsonValue, NotJsonError
from gradecheck.plan.names import LONGEST_TEXT, folded, hidden_in, name_fault, point_name_fault
from gradecheck.plan.point_list import Listed, decimal, numbered_fault, prefixed, written_units
from gradecheck.plan.problems import PlanProblemsError

MOST_FEATURES = 50_000
"""Points and outlines in one file."""
PLANAR = "planar, x right, y up, local"
"""What the coordinates are, told in each file that is written here."""
PLACES = 12
"""Decimals written at most; a 64th of an inch in metres has nine."""
SMALLEST_SITE = feet(3)
"""Across; what lies within less is no site, but a site of a few hundred yards in degrees is."""
_LONGEST_NUMBER = 40
_LARGEST_EXPONENT = 30


@dataclass(frozen=True, slots=True)
class Outlined:
    """An outline with its name (empty where the file gives none) and the line its feature begins on."""

    name: str
    outline: Outline
    line: int = field(compare=False)


@dataclass(frozen=True, slots=True)
class GeoPlan:
    """What a file holds, in its order."""

    outlines: tuple[Outlined, ...]
    points: tuple[Listed, ...]
    unsure: bool = field(default=False, compare=False)
    """Whether nothing in it tells lengths from degrees."""


def read_geojson(text: str, file: str, units: Units, prefix: str = "") -> GeoPlan:
    """The outlines (Polygon) and points (Point, or no geometry: a point not yet placed) of a GeoJSON text, exact.

    A feature's properties ``name``, ``elevation`` and ``note`` are read, all others are passed over. The elevation is
    a number, a length written as text, or the third coordinate. Rings are closed in the file and given open, in their
    own direction; heights of an outline's corners are passed over. Raises `PlanProblemsError` with every problem.
    """
    reader = _FeatureReader(JsonTree(text, file), units, prefix)
    with suppress(NotJsonError):  # what kept it from being read is told among its problems
        reader.read()
    if reader.json.problems:
        raise PlanProblemsError(reader.json.problems)
    return GeoPlan(tuple(reader.outlines), tuple(reader.points), reader.unsure)


def write_geojson(points: Iterable[Listed], outlines: Iterable[Outlined], units: Units) -> str:
    """The text of a FeatureCollection, a feature on each line, outlines first; feet and inches written in inches.

    Outer rings run against the clock and holes with it (section 3.1.6), each from its own first corner and closed.
    Numbers that need more than twelve decimals are rounded there.
    """
    listed, drawn = list(points), list(outlines)
    sizes = [
        size for each in drawn for ring in (each.outline.ring, *each.outline.holes) for at in ring for size in at
    ]
    sizes += [size for point in listed for size in point.at or ()]
    sizes += [point.elevation.height for point in listed if point.elevation is not None]
    used = written_units(units, sizes, place=True)
    return collection_text(
        [outline_text(each, used) for each in drawn] + [_point_text(point, used) for point in listed], used
    )


def collection_text(features: Iterable[str], units: Units) -> str:
    """The whole file of features that were written in these units."""
    body = ",".join(f"\n{feature}" for feature in features)
    head = f'"units": "{units}", "system": "{PLANAR}"'
    return f'{{"type": "FeatureCollection", {head}, "features": [{body}\n]}}\n'


def outline_text(each: Outlined, units: Units) -> str:
    """The feature of an outline."""
    rings = [_directed(each.outline.ring, 1), *(_directed(hole, -1) for hole in each.outline.holes)]
    written = ", ".join("[" + ", ".join(position_text(at, units) for at in (*ring, ring[0])) + "]" for ring in rings)
    properties = {"name": quoted(each.name)} if each.name else {}
    return feature_text(f'{{"type": "Polygon", "coordinates": [{written}]}}', properties)


def _directed(ring: Ring, way: int) -> Ring:
    """The ring from its first corner on, against the clock where `way` is positive."""
    return ring if signed_area(ring) * way > 0 else (ring[0], *reversed(ring[1:]))


def _point_text(point: Listed, units: Units) -> str:
    height = None if point.elevation is None else decimal(point.elevation.height, units, PLACES)
    properties = {"name": quoted(point.name)}
    if height is not None:
        properties["elevation"] = height
    if point.note:
        properties["note"] = quoted(point.note)
    if point.at is None:
        return feature_text("null", properties)
    return feature_text(f'{{"type": "Point", "coordinates": {position_text(point.at, units, height)}}}', properties)


def feature_text(geometry: str, properties: dict[str, str]) -> str:
    """A feature on one line; geometry and properties are JSON already."""
    written = ", ".join(f'"{key}": {value}' for key, value in properties.items())
    return f'{{"type": "Feature", "geometry": {geometry}, "properties": {{{written}}}}}'


def position_text(at: Place, units: Units, height: str | None = None) -> str:
    """A position of two numbers, three with a height, which is written already."""
    numbers = [decimal(size, units, PLACES) for size in at] + ([] if height is None else [height])
    return f"[{', '.join(numbers)}]"


def quoted(text: str) -> str:
    """A text as JSON writes it."""
    return json.dumps(text, ensure_ascii=False)


_EXPORT = _("export it in feet or meters")
_DEGREES = re.compile(r"CRS84|EPSG:+(?:[0-9.]*:)?(?:4326|4269|4979)\b")
"""Systems of longitude and latitude that GeoJSON of 2008 names, as its member “crs” (common practice, no source)."""


def _is_number(node: JsonValue) -> bool:
    return isinstance(node.value, JsonNumber) and node.value.text.isdecimal()


def _written(node: JsonValue) -> str:
    """A text or number as it stands in the file."""
    return node.value.text if isinstance(node.value, JsonNumber) else str(node.value)


# Features -----------------------------------------------------------------------------------------------------------


class _FeatureReader:
    """Reads the features of a GeoJSON tree; what can't be read is reported, and reading goes on."""

    def __init__(self, tree: JsonTree, units: Units, prefix: str = "") -> None:
        self.json, self.units, self.prefix = tree, units, prefix
        self.unsure = False
        self.points: list[Listed] = []
        self.outlines: list[Outlined] = []
        self._first_line: dict[tuple[str, str], int] = {}
        self._numbered: list[JsonValue] = []
        self._places: list[tuple[Fraction, Fraction]] = []
        self._first_place: JsonValue | None = None

    def read(self) -> None:
        """Fills `points`, `outlines` and the problems."""
        root = self.json.document()
        members = self._members(root, _("A GeoJSON file is one object, {…}."))
        if members is None:
            return
        if written := members.get("units"):
            if isinstance(written.value, str) and written.value in set(Units):
                self.units = Units(written.value)
            else:
                self.json.problem(
                    written.at, _("No units known here; write one of {units}, in quotes.", units=", ".join(Units))
                )
        kind = members.get("type")
        if kind is None or not isinstance(kind.value, str):
            at = kind.at if kind else root.at
            self.json.problem(at, _('A GeoJSON object needs a “type”, such as "FeatureCollection".'))
        elif kind.value == "FeatureCollection":
            self._collection(members, root.at)
        elif kind.value == "Feature":
            self._feature(root)
        else:
            self._geometry(root, root, {})
        if self._numbered:
            first, more = self._numbered[0], len(self._numbered) - 1
            self.json.problem(first.at, numbered_fault(_written(first), more))
        self._look_for_degrees(members)

    def _look_for_degrees(self, members: dict[str, JsonValue]) -> None:
        """Refuses coordinates that are degrees, and notes that they could be."""
        if self.json.problems:
            return
        declared = members.get("crs")
        if declared is not None and _DEGREES.search(self.json.text, declared.at, declared.at + LONGEST_TEXT):
            self.json.problem(declared.at, _("This file says that it is in degrees; {export}.", export=_EXPORT))
            return
        within = all(abs(x) <= 180 and abs(y) <= 90 for x, y in self._places)
        if "units" in members or self._first_place is None or not within:
            return
        across = max(max(along) - min(along) for along in zip(*self._places, strict=True))
        self.unsure = not 0 < across < SMALLEST_SITE.metres / self.units.one.metres
        if not self.unsure:
            says = _(
                "These look like degrees: as lengths all of it lies within {across:.2g} {units}",
                across=float(across),
                units=self.units,
            )
            self.json.problem(
                self._first_place.at, _("{says}; {export}, or write “units” in it.", says=says, export=_EXPORT)
            )

    def _collection(self, members: dict[str, JsonValue], at: int) -> None:
        features = members.get("features")
        if features is None or not isinstance(features.value, list):
            says = _("A FeatureCollection needs a list of “features”.")
            self.json.problem(features.at if features else at, says)
            return
        if len(features.value) > MOST_FEATURES:
            beyond = features.value[MOST_FEATURES]
            self.json.problem(
                beyond.at,
                _("The file goes on past {most:,} features; divide it.", most=MOST_FEATURES),
            )
        for feature in features.value[:MOST_FEATURES]:
            self._feature(feature)

    def _feature(self, feature: JsonValue) -> None:
        members = self._members(feature, _("A feature is an object, {…}."))
        if members is None:
            return
        kind, geometry = members.get("type"), members.get("geometry")
        if kind is None or kind.value != "Feature":
            self.json.problem(kind.at if kind else feature.at, _('What is listed here needs the type "Feature".'))
        elif geometry is None:
            self.json.problem(feature.at, _("A feature needs a “geometry”; null where a point is not yet placed."))
        else:
            properties = members.get("properties")
            named: dict[str, JsonValue] | None = {}
            if properties is not None and properties.value is not None:
                named = self._members(properties, _("Properties are an object, {…}, or null."))
            if named is not None:
                self._geometry(feature, geometry, named)

    def _members(self, node: JsonValue, says: str) -> dict[str, JsonValue] | None:
        if isinstance(node.value, dict):
            return node.value
        self.json.problem(node.at, says)
        return None

    def _geometry(self, feature: JsonValue, geometry: JsonValue, named: dict[str, JsonValue]) -> None:
        if geometry.value is None:
            self._point(feature, None, named)
            return
        members = self._members(geometry, _("A geometry is an object, {…}, or null."))
        if members is None:
            return
        kind, coordinates = members.get("type"), members.get("coordinates")
        if kind is None or kind.value not in ("Point", "Polygon"):
            written = f"“{kind.value[:24]}”" if kind and isinstance(kind.value, str) else _("This")
            says = _(
                "{written} is not a geometry used here; a point is a Point, an outline a Polygon.", written=written
            )
            self.json.problem(kind.at if kind else geometry.at, says)
        elif coordinates is None:
            self.json.problem(geometry.at, _("A {value} needs “coordinates”.", value=kind.value))
        elif kind.value == "Point":
            self._point(feature, coordinates, named)
        else:
            self._outline(feature, coordinates, named)

    def _point(self, feature: JsonValue, coordinates: JsonValue | None, named: dict[str, JsonValue]) -> None:
        before = len(self.json.problems)
        place = None if coordinates is None else self._numbers(coordinates)
        name = self._name(feature, named, "point")
        note = self._text(named.get("note"), "note")
        third = None if place is None or len(place) < 3 else Elevation(place[2].metres)
        elevation = self._elevation(named.get("elevation"))
        if elevation is not None and third is not None and elevation != third:
            says = _("The elevation here is not the third coordinate; let both say the same, or remove one.")
            self.json.problem(named["elevation"].at, says)
        elevation = third if elevation is None else elevation
        if len(self.json.problems) > before:
            return
        if place is None and elevation is None:
            self.json.problem(feature.at, _("This point has no place and no elevation; give the one or the other."))
            return
        at = None if place is None else (place[0], place[1])
        self.points.append(Listed(name, at, elevation, note, self.json.line(feature.at)))

    def _outline(self, feature: JsonValue, coordinates: JsonValue, named: dict[str, JsonValue]) -> None:
        before = len(self.json.problems)
        name = self._name(feature, named, "outline")
        rings: list[Ring] = []
        if not isinstance(coordinates.value, list) or not coordinates.value:
            self.json.problem(coordinates.at, _("A Polygon's coordinates are a list of rings."))
        else:
            rings = [self._ring(ring) for ring in coordinates.value]
        if len(self.json.problems) == before:
            outline = Outline(rings[0], tuple(rings[1:]))
            self.outlines.append(Outlined(name, outline, self.json.line(feature.at)))

    def _ring(self, node: JsonValue) -> Ring:
        """The corners of a ring without the last, which repeats the first."""
        if not isinstance(node.value, list):
            self.json.problem(node.at, _("A ring is a list of positions."))
            return ()
        places = [self._numbers(position) for position in node.value]
        ring = tuple((place[0], place[1]) for place in places if place is not None)
        if len(ring) < len(places):
            return ()
        if len(ring) < 4:
            self.json.problem(node.at, _("A ring has four positions at least, the last of them the first again."))
        elif ring[0] != ring[-1]:
            last = node.value[-1].at
            self.json.problem(last, _("This ring is not closed; write its first position again at the end."))
        elif not signed_area(ring[:-1]):
            self.json.problem(node.at, _("This ring encloses nothing; check its corners."))
        return ring[:-1]

    def _numbers(self, position: JsonValue) -> list[Length] | None:
        """The two or three lengths of a position."""
        numbers = position.value
        if not isinstance(numbers, list) or not 2 <= len(numbers) <= 3:
            self.json.problem(position.at, _("A position is [x, y] or [x, y, elevation]."))
            return None
        lengths = [self._length(number) for number in numbers]
        if lengths[0] is not None and lengths[1] is not None:
            one = self.units.one.metres
            self._places.append((lengths[0].metres / one, lengths[1].metres / one))
            self._first_place = self._first_place or position
        return None if None in lengths else [length for length in lengths if length is not None]

    def _length(self, node: JsonValue) -> Length | None:
        """The exact length a JSON number counts; one past any site's is refused before it is worked out."""
        if not isinstance(node.value, JsonNumber):
            self.json.problem(node.at, _("A number is expected here, without quotes."))
            return None
        text = node.value.text
        exponent = re.search(r"[eE]([+-]?)0*([0-9]*)\Z", text)
        small = exponent is None or (len(exponent[2]) <= 2 and int(exponent[2] or 0) <= _LARGEST_EXPONENT)
        if len(text) <= _LONGEST_NUMBER and small and abs(Fraction(text)) < 10**10:
            return self.units.one * Fraction(text)
        self.json.problem(
            node.at, _("This number is too long or too large for a site; write it with six decimals at most.")
        )
        return None

    def _elevation(self, node: JsonValue | None) -> Elevation | None:
        if node is None or node.value is None:
            return None
        if not isinstance(node.value, str):
            length = self._length(node)
            return None if length is None else Elevation(length.metres)
        try:
            return Elevation(read_length(node.value, self.units).metres)
        except NotUnderstoodError as wrong:
            self.json.problem(node.at, _("elevation: {wrong}", wrong=wrong))
            return None

    def _name(self, feature: JsonValue, named: dict[str, JsonValue], kind: str) -> str:
        """The name, checked and alone of its kind; an outline may go without."""
        node = named.get("name")
        if node is None or node.value is None:
            if kind == "point":
                self.json.problem(node.at if node else feature.at, _("A point needs the property “name”."))
            return ""
        before = len(self.json.problems)
        numbered = kind == "point" and _is_number(node)
        name = _written(node) if numbered else self._text(node, "name")
        if len(self.json.problems) > before:
            return name
        if kind == "point":
            name = prefixed(self.prefix, name)
            if name.isdecimal() and name_fault(name) is None:
                self._numbered.append(node)  # told once for all of them
                return name
        fault = point_name_fault(name) if kind == "point" else name_fault(name)
        first = self._first_line.get((kind, folded(name)))
        if fault:
            self.json.problem(node.at, fault)
        elif first is not None:
            self.json.problem(
                node.at,
                _(
                    "“{name}” is the {kind} on line {first} already; give each its own name.",
                    name=name,
                    kind=kind,
                    first=first,
                ),
            )
        else:
            self._first_line[kind, folded(name)] = self.json.line(node.at)
        return name

    def _text(self, node: JsonValue | None, what: str) -> str:
        if node is None or node.value is None:
            return ""
        if not isinstance(node.value, str):
            self.json.problem(node.at, _("A {key} is a text, in quotes.", key=what))
            return ""
        text = node.value
        if len(text) > LONGEST_TEXT:
            self.json.problem(
                node.at,
                _(
                    "This {key} is {number:,} characters long; it has {most} at most.",
                    key=what,
                    number=len(text),
                    most=LONGEST_TEXT,
                ),
            )
            return ""
        if (hidden := hidden_in(text)) is not None:
            says = _(
                "A character in this {what} can't be seen (U+{code:04X}); remove it.",
                what=what,
                code=ord(text[hidden]),
            )
            self.json.problem(node.at, says)
        return text
