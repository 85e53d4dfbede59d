"""GeoJSON as others write it: points, lines and polygons with any properties, as a drawing."""

from __future__ import annotations

from fractions import Fraction
from typing import NoReturn

from gradecheck.catalogue import _
from gradecheck.exchange.found import MOST_ENTITIES, Corner, DrawnLine, DrawnPoint, FoundDrawing, refuse
from gradecheck.measure.notation import Units
from gradecheck.plan.geojson import SMALLEST_SITE
from gradecheck.plan.json_tree import JsonNumber, JsonTree, JsonValue, NotJsonError
from gradecheck.plan.problems import PlanProblemsError

_LARGEST = 10**10
_LONGEST = 40
"""Characters of a number."""
_LINES = {"LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}
"""The kinds of geometry that are lines, with how many lists lie around a line's positions."""
_LAYERS = ("layer", "area")
"""The properties that say what a feature is listed under."""


def read_geojson_drawing(text: str, file: str) -> FoundDrawing:
    """The drawing in a GeoJSON text. Raises `PlanProblemsError`.

    RFC 7946 means degrees: `planar` is false where nothing in the file says that its coordinates are lengths.
    """
    tree = JsonTree(text, file)
    try:
        root = tree.document()
    except NotJsonError:
        raise PlanProblemsError(tree.problems) from None
    if tree.problems:
        raise PlanProblemsError(tree.problems)
    reader = _GeoJsonReader(tree, file)
    reader.take(root)
    return reader.drawing


class _GeoJsonReader:
    def __init__(self, tree: JsonTree, file: str) -> None:
        self.tree, self.file, self.drawing = tree, file, FoundDrawing("GeoJSON", planar=False)

    def take(self, root: JsonValue) -> None:
        members = root.value
        if not isinstance(members, dict):
            self._wrong(root, _("A GeoJSON file is one object, {…}."))
        self._system(members)
        features = members.get("features")
        each_feature = features.value if features is not None and isinstance(features.value, list) else [root]
        for feature in each_feature:
            self._feature(feature)
        self._look_for_degrees(root)

    def _wrong(self, node: JsonValue, says: str) -> NoReturn:
        line = self.tree.line(node.at)
        refuse(self.file, says, line, node.at - self.tree.lines[line - 1] + 1)

    def _system(self, members: dict[str, JsonValue]) -> None:
        """What the file says its coordinates are."""
        units = members.get("units")
        if units is not None and isinstance(units.value, str) and units.value in set(Units):
            self.drawing.one, self.drawing.counts = Units(units.value).one.metres, units.value
            self.drawing.planar = True
        for key in ("crs", "coordRefSys"):
            if key in members and self._says_degrees(members[key]):
                self._wrong(members[key], _("This file says that it is in degrees; export it in feet or meters."))

    def _says_degrees(self, node: JsonValue) -> bool:
        end = node.at + 400
        text = self.tree.text[node.at : end]
        return any(name in text for name in ("CRS84", "4326", "4269", "4979"))

    def _feature(self, feature: JsonValue) -> None:
        members = feature.value
        if not isinstance(members, dict):
            self._wrong(feature, _("A feature is an object, {…}."))
        value = members.get("properties")
        properties = value.value if value is not None and isinstance(value.value, dict) else {}
        texts = {key: text for key, node in properties.items() if (text := _text(node)) is not None}
        layer = next((texts[key] for key in _LAYERS if key in texts), "")
        geometry = members.get("geometry") if "geometry" in members or "properties" in members else feature
        if geometry is None or geometry.value is None:
            self.drawing.points.append(
                DrawnPoint(layer, None, texts, _("line {line}", line=self.tree.line(feature.at)))
            )
            return
        self._geometry(geometry, layer, texts)
        if self.drawing.entities > MOST_ENTITIES:
            self._wrong(
                feature,
                _(
                    "The file goes on past {most:,} points and lines; divide it.",
                    most=MOST_ENTITIES,
                ),
            )

    def _geometry(self, node: JsonValue, layer: str, texts: dict[str, str]) -> None:
        members = node.value
        kind = members.get("type") if isinstance(members, dict) else None
        if not isinstance(members, dict) or kind is None or not isinstance(kind.value, str):
            self._wrong(node, _("A geometry is an object with a “type”."))
        inner = members.get("coordinates")
        if inner is None or kind.value not in (*_LINES, "Point", "MultiPoint"):
            self.drawing.left_out[kind.value[:24]] += 1
            return
        where = _("line {line}", line=self.tree.line(node.at))
        if kind.value in _LINES:
            closed = "Polygon" in kind.value
            for line in self._nested(inner, _LINES[kind.value] - 1):
                corners = [(self._corner(each), 0.0) for each in self._list(line)]
                if closed and corners:
                    corners.pop()
                if corners:
                    self.drawing.lines.append(DrawnLine(layer, tuple(corners), closed, where))
            return
        for position in [inner] if kind.value == "Point" else self._list(inner):
            self.drawing.points.append(DrawnPoint(layer, self._corner(position), texts, where))

    def _list(self, node: JsonValue) -> list[JsonValue]:
        if not isinstance(node.value, list):
            self._wrong(node, _("A list of positions is expected here."))
        return node.value

    def _nested(self, node: JsonValue, depth: int) -> list[JsonValue]:
        if depth == 0:
            return [node]
        return [line for each in self._list(node) for line in self._nested(each, depth - 1)]

    def _corner(self, node: JsonValue) -> Corner:
        numbers = [self._number(each) for each in self._list(node)]
        if not 2 <= len(numbers) <= 3:
            self._wrong(node, _("A position is [x, y] or [x, y, elevation]."))
        return numbers[0], numbers[1], numbers[2] if len(numbers) > 2 else None

    def _number(self, node: JsonValue) -> Fraction:
        if not isinstance(node.value, JsonNumber):
            self._wrong(node, _("A number is expected here, without quotes."))
        text = node.value.text
        mantissa, _e, exponent = text.lower().partition("e")
        if len(text) > _LONGEST or len(exponent) > 3 or abs(int(exponent or 0)) > 30 or not mantissa:
            self._wrong(node, _("This number is too long for a site; write it with six decimals at most."))
        number = Fraction(text)
        if abs(number) >= _LARGEST:
            self._wrong(node, _("This number is too large for a site."))
        return number

    def _look_for_degrees(self, root: JsonValue) -> None:
        """Refuses what lies within so little that it can be no site, where nothing says that it counts lengths."""
        if self.drawing.planar or not any(each.at for each in self.drawing.points):
            return
        places = [each.at for each in self.drawing.points if each.at is not None]
        xs, ys = [at[0] for at in places], [at[1] for at in places]
        within = max(map(abs, xs)) <= 180 and max(map(abs, ys)) <= 90
        across = max(max(xs) - min(xs), max(ys) - min(ys))
        if within and 0 < across < SMALLEST_SITE.metres and any(each.denominator > 10**4 for each in xs):
            self._wrong(root, _("These look like degrees; export them in feet or meters."))


def _text(node: JsonValue) -> str | None:
    """A property as a text, None where it is neither text nor number."""
    if isinstance(node.value, JsonNumber):
        return node.value.text
    return node.value if isinstance(node.value, str) else None
