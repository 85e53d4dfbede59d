"""DXF to a drawing: points, inserts that carry texts, lines with their arcs, and faces, each by its layer.

ezdxf reads it. What is drawn by blocks is walked with one budget, and what is not used is counted by name.
"""

from __future__ import annotations

import io
import logging
import os
import re
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from gradecheck.catalogue import _, plural
from gradecheck.exchange.found import (
    MOST_BYTES,
    MOST_ENTITIES,
    SURVEY_FOOT,
    Corner,
    DrawnLine,
    DrawnPoint,
    FoundDrawing,
    refuse,
    shortest_decimal,
)
from gradecheck.exchange.list_in import INSTALL
from gradecheck.measure.quantities import FOOT, INCH
from gradecheck.plan.names import visible
from gradecheck.plan.problems import PlanProblemsError

DEEPEST = 4
"""Blocks in blocks."""
_UNITS = {
    1: ("inches", INCH),
    2: ("feet", FOOT),
    4: ("millimeters", Fraction(1, 1000)),
    5: ("centimeters", Fraction(1, 100)),
    6: ("meters", Fraction(1)),
    21: (_("US survey feet"), SURVEY_FOOT),
}
"""$INSUNITS of a header (DXF reference); often wrong, so that it is told and asked."""
_BEGINS = re.compile(rb"\n[ \t]*0[ \t]*\r?\n")
"""Where an entity begins, or a corner of one."""
_NEAR = 3
"""Heights of its letters within which a text is taken for the name of the point nearest to it."""


def read_dxf(content: bytes, file: str) -> FoundDrawing:
    """The drawing in a DXF file. Raises `PlanProblemsError`."""
    if len(content) > MOST_BYTES:
        refuse(
            file,
            _("This drawing is larger than {most} MB; export a part of it.", most=MOST_BYTES // 10**6),
        )
    if len(_BEGINS.findall(content)) > 2 * MOST_ENTITIES:  # each takes ezdxf some kilobytes
        refuse(
            file,
            _(
                "This drawing has more than {most:,} entities; export a part of it.",
                most=MOST_ENTITIES,
            ),
        )
    os.environ.setdefault("EZDXF_AUTO_LOAD_FONTS", "FALSE")  # no text is drawn here
    try:
        import ezdxf  # noqa: F401
    except ImportError:
        refuse(file, _("Reading DXF needs ezdxf; {install}", install=INSTALL))
    log = logging.getLogger("ezdxf")
    before, log.disabled = log.disabled, True
    try:
        return _drawing(content, file)
    except PlanProblemsError:
        raise
    except RecursionError:
        refuse(file, _("A block of this drawing is drawn within itself; purge it and export again."))
    except Exception as wrong:  # noqa: BLE001 - whatever a library makes of a broken file is a problem of the file
        refuse(
            file, _("This drawing can't be read ({name}); export it again as ASCII DXF.", name=type(wrong).__name__)
        )
    finally:
        log.disabled = before


def _drawing(content: bytes, file: str) -> FoundDrawing:
    document, remarks = _document(content)
    drawing = FoundDrawing("DXF", trusted=False, remarks=remarks)
    drawing.counts, drawing.one = _UNITS.get(int(document.header.get("$INSUNITS", 0)), ("", None))
    walk = _Walk(drawing, file)
    walk.entities(document.modelspace(), 0)
    _name(drawing, walk.labels)
    if drawing.entities == 0:
        others = ", ".join(f"{count} {kind}" for kind, count in drawing.left_out.items()) or "nothing"
        refuse(file, _("There are no points, lines or faces in this drawing; it holds {others}.", others=others))
    return drawing


def _document(content: bytes) -> tuple[Any, list[str]]:
    """The document, repaired where it has to be, and what is to be told of that."""
    from ezdxf import recover
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.validator import dxf_info

    try:
        info = dxf_info(io.StringIO(content.decode("cp1252", "replace"), newline=None))
        text = content.decode(info.encoding, "surrogateescape")
        return read(io.StringIO(text, newline=None)), []
    except Exception:  # noqa: BLE001 - the repair says what can't be repaired
        document, auditor = recover.read(io.BytesIO(content))
        return document, [
            plural(
                len(auditor.fixes) + len(auditor.errors),
                "The drawing is damaged; {n} thing was repaired.",
                "The drawing is damaged; {n} things were repaired.",
            )
        ]


class _Walk:
    """Goes through what is drawn, that of blocks too, and keeps count."""

    def __init__(self, drawing: FoundDrawing, file: str) -> None:
        self.drawing, self.file = drawing, file
        self.labels: list[tuple[float, float, float, str, str]] = []
        """Texts: x, y, height, layer, text."""
        self.seen = 0

    def entities(self, entities: Iterable[Any], depth: int) -> None:
        for entity in entities:
            self.seen += 1
            if self.seen > MOST_ENTITIES:
                refuse(
                    self.file,
                    _(
                        "This drawing has more than {most:,} entities; export a part of it.",
                        most=MOST_ENTITIES,
                    ),
                )
            self._entity(entity, depth)

    def _entity(self, entity: Any, depth: int) -> None:
        kind, layer, drawing = entity.dxftype(), _plain(entity.dxf.layer), self.drawing
        where = f"{kind} {entity.dxf.handle}" if entity.dxf.handle else kind
        match kind:
            case "POINT":
                drawing.points.append(DrawnPoint(layer, self._corner(entity.dxf.location), {}, where))
            case "INSERT":
                self._insert(entity, layer, where, depth)
            case "LINE":
                ends = [(self._corner(each), 0.0) for each in (entity.dxf.start, entity.dxf.end)]
                drawing.lines.append(DrawnLine(layer, tuple(ends), closed=False, where=where))
            case "LWPOLYLINE":
                bulges = [float(bulge) for *_, bulge in entity.get_points("xyb")]
                self._line(entity.vertices_in_wcs(), bulges, layer, bool(entity.closed), entity, where)
            case "POLYLINE" if entity.is_2d_polyline or entity.is_3d_polyline:
                bulges = [float(vertex.dxf.get("bulge", 0)) for vertex in entity.vertices]
                self._line(entity.points_in_wcs(), bulges, layer, bool(entity.is_closed), entity, where)
            case "ARC":
                self._line((entity.start_point, entity.end_point), [_arc_bulge(entity)], layer, False, entity, where)
            case "CIRCLE":
                center, radius = entity.ocs().to_wcs(entity.dxf.center), float(entity.dxf.radius)
                sides = [(center.x - radius, center.y, center.z), (center.x + radius, center.y, center.z)]
                self._line(sides, [1.0, 1.0], layer, True, entity, where)
            case "3DFACE":
                corners = [self._corner(entity.dxf.get(name)) for name in ("vtx0", "vtx1", "vtx2", "vtx3")]
                drawing.faces.append((layer, tuple(dict.fromkeys(corners))))
            case "TEXT" | "MTEXT":
                self._label(entity, kind, layer)
            case "ATTDEF" | "SEQEND" | "VIEWPORT":
                pass
            case _:
                drawing.left_out[visible(kind)] += 1

    def _insert(self, entity: Any, layer: str, where: str, depth: int) -> None:
        if texts := {_plain(each.dxf.tag): _plain(each.plain_text()) for each in entity.attribs}:
            at = self._corner(entity.ocs().to_wcs(entity.dxf.insert))
            self.drawing.points.append(DrawnPoint(layer, at, texts, where))
        elif depth >= DEEPEST or entity.mcount != 1:
            self.drawing.left_out["block in too many blocks" if depth >= DEEPEST else "block in rows"] += 1
        else:
            self.entities(entity.virtual_entities(), depth + 1)

    def _line(
        self, corners: Iterable[Any], bulges: list[float], layer: str, closed: bool, entity: Any, where: str
    ) -> None:
        places = [self._corner(each) for each in corners]
        turned = -1.0 if entity.dxf.hasattr("extrusion") and entity.dxf.extrusion.z < 0 else 1.0
        bulges = [bulge * turned for bulge in bulges] + [0.0] * len(places)
        if len(places) > 2 and places[0] == places[-1]:
            places.pop()
            closed = True
        if len(places) > 1:
            sides = tuple(zip(places, bulges, strict=False))
            self.drawing.lines.append(DrawnLine(layer, sides, closed, where))

    def _label(self, entity: Any, kind: str, layer: str) -> None:
        text = " ".join(_plain(entity.plain_text()).split())
        at = entity.dxf.insert if kind == "MTEXT" else entity.ocs().to_wcs(entity.get_placement()[1])
        height = float(entity.dxf.char_height if kind == "MTEXT" else entity.dxf.height)
        x, y, _ = self._corner(at)
        if text and height > 0:
            self.labels.append((float(x), float(y), height, layer, text))

    def _corner(self, at: Any) -> Corner:
        numbers = float(at[0]), float(at[1]), float(at[2]) if len(at) > 2 else 0.0
        x, y, z = map(shortest_decimal, numbers)
        if x is None or y is None or z is None or max(map(abs, numbers)) >= 10**10:
            refuse(self.file, _("A place in this drawing is no number, or too large for a site; audit the drawing."))
        return x, y, z


def _plain(text: str) -> str:
    return visible(str(text).encode("utf-8", "replace").decode("utf-8"))


def _arc_bulge(arc: Any) -> float:
    from math import radians, tan

    return tan(radians((float(arc.dxf.end_angle) - float(arc.dxf.start_angle)) % 360) / 4)


def _name(drawing: FoundDrawing, labels: list[tuple[float, float, float, str, str]]) -> None:
    """Gives points without texts the label beside them, where each is nearest to the other and no second is near."""
    bare = [(at, point.at) for at, point in enumerate(drawing.points) if not point.texts and point.at is not None]
    if not bare or not labels:
        drawing.left_out["TEXT"] += len(labels)
        return
    import shapely

    places = [(float(at[0]), float(at[1])) for _, at in bare]
    dots = shapely.STRtree(shapely.points(places))
    texts = shapely.STRtree(shapely.points([label[:2] for label in labels]))
    to_text = _nearest(texts, places)
    to_dot = _nearest(dots, [label[:2] for label in labels])
    named = 0
    for at, place in enumerate(places):
        x, y, height, _layer, text = labels[to_text[at]]
        way = ((x - place[0]) ** 2 + (y - place[1]) ** 2) ** 0.5
        if to_dot[to_text[at]] != at or way > _NEAR * height:
            continue
        around = texts.query(shapely.Point(place).buffer(max(way * 1.5, height * 0.01)), predicate="intersects")
        if len(around) > 1:
            continue
        point = drawing.points[bare[at][0]]
        drawing.points[bare[at][0]] = DrawnPoint(point.layer, point.at, {"name": text}, point.where)
        named += 1
    drawing.left_out["TEXT"] += len(labels) - named
    if named:
        drawing.remarks.append(
            plural(
                named,
                "{n} point takes its name from the text next to it.",
                "{n} points take their names from the text next to them.",
            )
        )


def _nearest(tree: Any, places: list[tuple[float, float]]) -> dict[int, int]:
    """For each place the nearest thing in the tree."""
    import shapely

    found = tree.query_nearest(shapely.points(places), all_matches=False)
    return dict(zip(found[0].tolist(), found[1].tolist(), strict=True))
