"""Rows for other programs: each a point with what is known of it, and the writing of them as CSV, GeoJSON and XLSX.

A length is written as a plain decimal of one unit, named in its heading: exact as far as so many places go, else
rounded at the last. A text is never taken for a number or a formula, and has nothing in it that a terminal obeys.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.sax.saxutils import escape

from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.csv_rows import cell_text, guarded
from gradecheck.plan.geojson import (
    PLACES,
    Outlined,
    collection_text,
    feature_text,
    outline_text,
    position_text,
    quoted,
)
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import decimal, written_units

Value = str | int | Fraction | Length | None
"""A cell: a text, a number, a length, or nothing."""
LIST_PLACES = 6
"""Decimals in a list, as many as a point list may have."""


@dataclass(frozen=True, slots=True)
class PointTable:
    """Points in rows. The columns `name`, `z` and `layers` say which are a point's name, height and layer.

    The columns x and y, where both are filled, are its place; `lengths` are the columns that hold lengths.
    """

    title: str
    columns: tuple[str, ...]
    lengths: frozenset[str]
    rows: Sequence[tuple[Value, ...]]
    units: Units
    name: str
    z: str
    layers: tuple[str, ...]
    outlines: Sequence[Outlined] = ()

    @property
    def written(self) -> Units:
        """The units that lengths are written in: inches for feet and inches, meters where a number were too long."""
        sizes = [value for row in self.rows for value in row if isinstance(value, Length)]
        drawn = [ring for each in self.outlines for ring in (each.outline.ring, *each.outline.holes)]
        sizes += [size for ring in drawn for at in ring for size in at]
        return written_units(self.units, sizes, place=False)

    def headings(self) -> list[str]:
        """The columns, those of lengths with their unit, as ``found (in)``."""
        return [f"{name} ({self.written})" if name in self.lengths else name for name in self.columns]

    def at(self, row: tuple[Value, ...]) -> Place | None:
        """Where the row's point lies, None where that is not known."""
        x, y = self.cell(row, "x"), self.cell(row, "y")
        return (x, y) if isinstance(x, Length) and isinstance(y, Length) else None

    def cell(self, row: tuple[Value, ...], column: str) -> Value:
        """What stands in that column of the row."""
        return row[self.columns.index(column)]

    def layer(self, row: tuple[Value, ...]) -> tuple[str, ...]:
        """What the row is listed under, such as its area and stage."""
        return tuple(str(self.cell(row, column)) for column in self.layers)


def csv_text(table: PointTable) -> str:
    """The table as CSV (RFC 4180) under its headings; a text that a spreadsheet would run has an apostrophe first."""
    units = table.written
    lines = [[guarded(heading) for heading in table.headings()]]
    lines += [[_csv_cell(value, units) for value in row] for row in table.rows]
    return "".join(",".join(map(cell_text, line)) + "\r\n" for line in lines)


def _csv_cell(value: Value, units: Units) -> str:
    return guarded(visible(value)) if isinstance(value, str) else number(value, units, LIST_PLACES)


def number(value: int | Fraction | Length | None, units: Units, places: int = PLACES) -> str:
    """The number as plain decimals of that unit, empty where there is none."""
    if value is None:
        return ""
    if isinstance(value, Fraction):
        return decimal(Units.M.one * value, Units.M, places)
    return decimal(value, units, places) if isinstance(value, Length) else str(value)


# GeoJSON --------------------------------------------------------------------------------------------------------


def geojson_text(table: PointTable) -> str:
    """The rows as points of a FeatureCollection (RFC 7946) with planar coordinates, a feature on each line.

    The height is the third coordinate, every column a property; a row without a place has no geometry.
    """
    units = table.written
    features = [outline_text(each, units) for each in table.outlines]
    return collection_text([*features, *(_point_text(table, row, units) for row in table.rows)], units)


def _point_text(table: PointTable, row: tuple[Value, ...], units: Units) -> str:
    at, z = table.at(row), table.cell(row, table.z)
    height = number(z, units) if isinstance(z, Length) else None
    geometry = "null" if at is None else f'{{"type": "Point", "coordinates": {position_text(at, units, height)}}}'
    properties = {
        name: quoted(visible(value)) if isinstance(value, str) else number(value, units) or "null"
        for name, value in zip(table.columns, row, strict=True)
    }
    return feature_text(geometry, properties)


# XLSX -----------------------------------------------------------------------------------------------------------

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_PARTS = {
    "[Content_Types].xml": (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{_TYPES}.worksheet+xml"/></Types>'
    ),
    "_rels/.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f'<Relationship Id="rId1" Type="{_RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
    ),
    "xl/workbook.xml": (
        f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}">'
        '<sheets><sheet name="points" sheetId="1" r:id="rId1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f'<Relationship Id="rId1" Type="{_RELATIONS}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
    ),
}
"""The parts of a workbook with one sheet (ECMA-376), but for the sheet."""


def xlsx_bytes(table: PointTable) -> bytes:
    """The table as a workbook with one sheet under its headings: numbers as numbers, each text inline as a text."""
    units = table.written
    lines: list[Sequence[Value]] = [table.headings(), *table.rows]
    body = "".join(_line(line, place, units) for place, line in enumerate(lines, 1))
    frozen = '<sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" state="frozen"/></sheetView>'
    sheet = f'<worksheet xmlns="{_MAIN}"><sheetViews>{frozen}</sheetViews><sheetData>{body}</sheetData></worksheet>'
    import zipfile  # what packs files takes long to load, and most who come here write no workbook

    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in {**_PARTS, "xl/worksheets/sheet1.xml": sheet}.items():
            # One date for all, so that the same rows make the same file.
            packed.writestr(zipfile.ZipInfo(name), _HEAD + text, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _line(line: Sequence[Value], place: int, units: Units) -> str:
    cells = "".join(_cell(value, f"{_letters(at)}{place}", units) for at, value in enumerate(line))
    return f'<row r="{place}">{cells}</row>'


def _cell(value: Value, name: str, units: Units) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, str):
        return f'<c r="{name}" t="inlineStr"><is><t xml:space="preserve">{_spelled(value)}</t></is></c>'
    return f'<c r="{name}"><v>{number(value, units)}</v></c>'


def _spelled(text: str) -> str:
    """The text as XML; what looks like an escaped character of the format (``_x0041_``) is kept as it is written."""
    return _LIKE_ESCAPED.sub("_x005F_", escape(visible(text)))


_LIKE_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")


def _letters(column: int) -> str:
    """The name of a column, from 0: A to Z, then AA."""
    return (_letters(column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)
