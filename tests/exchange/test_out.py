"""What goes out is read back by another library: every number to half its last place, every text as it is shown."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ET
import zipfile
from datetime import UTC, datetime
from fractions import Fraction

import ezdxf
import openpyxl
import pytest
import shapely
from ezdxf.document import Drawing
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.exchange.dxf_out import dxf_bytes
from gradecheck.exchange.landxml_out import landxml_text
from gradecheck.exchange.table import PointTable, Value, csv_text, geojson_text, xlsx_bytes
from gradecheck.ground.outline import Outline
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length, metres
from gradecheck.plan.geojson import Outlined
from tests.strategies import examples
from tests.tables import each_of

ONE = {"in": Fraction(254, 10_000), "ft": Fraction(3048, 10_000), "mm": Fraction(1, 1000), "cm": Fraction(1, 100),
       "m": Fraction(1)}  # fmt: skip
"""Meters in one of each unit, by definition (25.4 mm)."""
MADE = datetime(2026, 5, 12, 7, 30, tzinfo=UTC)
CENTURY = 100_000
HOSTILE = [
    "=1+1", "+1", "-2", "@SUM(A1)", "=cmd|' /C calc'!A0", "\t=1", "＝1+1", "'=1", "007", "1/2", "1E5", "#N/A", "TRUE",
    "_x0041_", "a,b;c", 'say "hi"', "<b>&amp;]]>", "%%d 5%", "50%", "\\U+0041", "^J", "{\\H3;x}", "Hof Süd", "東",
    "a\u202eb", " both ends ", "two\nlines", "bell\x07", "\ud800", "\U0001f6a7", "\ufffe", "x" * 200,
]  # fmt: skip

names = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=30))
lengths = st.one_of(
    st.integers(-CENTURY * 64, CENTURY * 64).map(lambda n: Length(Fraction(n, 64) * ONE["in"])),
    st.fractions(-CENTURY, CENTURY, max_denominator=10_000).map(metres),
)
rows = st.tuples(
    st.sampled_from(["court", "north walk"]),
    names,
    st.none() | lengths,
    st.none() | lengths,
    st.none() | lengths,
    st.none() | st.integers(0, 10**6),
    names,
)
tables = st.builds(
    lambda rows, units: made(rows, units), st.lists(rows, min_size=1, max_size=6), st.sampled_from(list(Units))
)


def made(rows: list[tuple[Value, ...]], units: Units = Units.IN) -> PointTable:
    """A table with all kinds of cells."""
    columns = ("area", "point", "x", "y", "found", "entry", "remark")
    lengths = frozenset(("x", "y", "found"))
    return PointTable("Court", columns, lengths, rows, units, "point", "found", ("area",))


def shown(text: str) -> str:
    """What is left of a text for other programs: what can't be seen is spelled out, or is a sign for it."""
    from gradecheck.plan.names import visible

    return visible(text)


def within(text: object, length: Value, unit: str, places: int) -> bool:
    """Whether a number that was read says that length to half the last place that was written.

    What was read as a double is that of the nearest decimal, and off by a few of its own steps at most.
    """
    assert isinstance(length, Length)
    said, want = Fraction(str(text)), length.metres / ONE[unit]
    return abs(said - want) <= Fraction(1, 2 * 10**places) + (abs(want) / 2**51 if isinstance(text, float) else 0)


def drawn(table: PointTable) -> Drawing:
    """The drawing as ezdxf reads it."""
    return ezdxf.read(io.StringIO(dxf_bytes(table).decode("cp1252"), newline=None))


def unit_in(heading: str) -> str:
    """The unit that a heading names."""
    return heading.rpartition("(")[2].rstrip(")")


@given(tables)
def test_csv_is_read_back_by_the_csv_module(table: PointTable) -> None:
    heading, *read = csv.reader(io.StringIO(csv_text(table), newline=""), strict=True)
    assert [each.partition(" (")[0] for each in heading] == list(table.columns)
    assert len(read) == len(table.rows)
    for cells, row in zip(read, table.rows, strict=True):
        for name, text, value in zip(heading, cells, row, strict=True):
            if isinstance(value, Length):
                assert within(text, value, unit_in(name), 6)
            elif isinstance(value, str):
                assert text in (shown(value), f"'{shown(value)}")
                assert not text.lstrip().startswith(("=", "+", "-", "@", "＝"))
            else:
                assert text == ("" if value is None else str(value))


@given(tables)
def test_geojson_is_read_back_by_json_and_by_shapely(table: PointTable) -> None:
    read = json.loads(geojson_text(table))
    assert read["system"] == "planar, x right, y up, local"
    for feature, row in zip(read["features"], table.rows, strict=True):
        told = feature["properties"]
        for name, value in zip(table.columns, row, strict=True):
            if isinstance(value, Length):
                assert within(told[name], value, read["units"], 12)
            else:
                assert told[name] == (shown(value) if isinstance(value, str) else value)
        if (at := table.at(row)) is None:
            assert feature["geometry"] is None
            continue
        point = shapely.from_geojson(json.dumps(feature["geometry"]))
        assert within(point.x, at[0], read["units"], 12)
        assert within(point.y, at[1], read["units"], 12)
        assert point.has_z == (row[4] is not None)


@given(tables)
def test_xlsx_is_read_back_by_openpyxl_with_texts_and_numbers_apart(table: PointTable) -> None:
    content = xlsx_bytes(table)
    sheet = openpyxl.load_workbook(io.BytesIO(content)).worksheets[0]
    heading = [sheet.cell(1, at).value for at in range(1, len(table.columns) + 1)]
    for place, row in enumerate(table.rows, 2):
        for at, (name, value) in enumerate(zip(heading, row, strict=True), 1):
            cell = sheet.cell(place, at)
            if isinstance(value, Length):
                assert cell.data_type == "n"
                assert within(float(cell.value), value, unit_in(str(name)), 12)
            elif isinstance(value, str) and shown(value):
                assert cell.data_type == "s"
                assert cell.value.replace("_x005F_", "_") == shown(value).replace("_x005F_", "_")
            else:
                assert cell.value == (None if value == "" else value)
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        part = ET.fromstring(packed.read("xl/worksheets/sheet1.xml"))  # noqa: S314 - written a moment ago
    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    assert not list(part.iter(f"{main}f"))
    assert {cell.get("t", "n") for cell in part.iter(f"{main}c")} <= {"n", "inlineStr"}


@given(tables)
@examples(50)
def test_dxf_is_read_back_by_ezdxf_without_a_fault(table: PointTable) -> None:
    drawing = drawn(table)
    audit = drawing.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert drawing.dxfversion == "AC1009"
    unit = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}[drawing.units]
    placed = [row for row in table.rows if table.at(row) is not None]
    inserts = list(drawing.modelspace().query("INSERT"))
    points = list(drawing.modelspace().query("POINT"))
    assert len(inserts) == len(placed)
    assert [p.dxf.location.z for p in points] == [
        i.dxf.insert.z for i, row in zip(inserts, placed, strict=True) if row[4] is not None
    ]
    for insert, row in zip(inserts, placed, strict=True):
        assert insert.dxf.layer == {"court": "COURT", "north walk": "NORTH-WALK"}[str(row[0])]
        for size, value in zip(insert.dxf.insert, (row[2], row[3], row[4] or metres(0)), strict=True):
            assert within(size, value, unit, 12)
        told = {attrib.dxf.tag: attrib for attrib in insert.attribs}
        for name, value in zip(table.columns, row, strict=True):
            text = told[name.upper()].dxf.text
            if isinstance(value, Length):
                assert within(text, value, unit, 12)
            elif isinstance(value, str):
                assert as_drawn(text) == "".join("?" if c > "\uffff" else c for c in shown(value))
            else:
                assert text == ("" if value is None else str(value))


def as_drawn(text: str) -> str:
    """What a program for drawings shows of an attribute: %%% is a percent sign, ^ and a space a caret."""
    from ezdxf.lldxf.encoding import decode_dxf_unicode

    return decode_dxf_unicode(text.replace("%%%", "%").replace("^ ", "^"))


@given(tables)
def test_landxml_is_read_back_by_elementtree_with_north_first(table: PointTable) -> None:
    text = landxml_text(table, MADE, "existing")
    root = ET.fromstring(text.encode())  # noqa: S314 - written a moment ago
    space = "{http://www.landxml.org/schema/LandXML-1.2}"
    units = root.find(f"{space}Units")
    assert units is not None
    linear = units[0].attrib["linearUnit"]
    unit = {"inch": "in", "foot": "ft", "millimeter": "mm", "centimeter": "cm", "meter": "m"}[linear]
    assert (units[0].tag == f"{space}Imperial") == (unit in ("in", "ft"))
    read = {}
    for group in root.iter(f"{space}CgPoints"):
        points = [(group.attrib["name"], each) for each in group]
        assert len({each.attrib["name"] for _, each in points}) == len(points)
        for row, (area, each) in zip(
            [row for row in table.rows if row[0] == group.attrib["name"] and table.at(row)], points, strict=True
        ):
            read[area, each.attrib["name"]] = row
            north, east, *up = (each.text or "").split(" ")
            assert within(north, row[3], unit, 12)
            assert within(east, row[2], unit, 12)
            assert len(up) == (row[4] is not None)
            assert all(within(z, row[4], unit, 12) for z in up)
            assert each.attrib["name"].startswith(shown(str(row[1])))
            if row[6]:
                assert f"remark {shown(str(row[6]))}" in each.attrib["desc"]
    assert len(read) == sum(table.at(row) is not None for row in table.rows)


def test_what_looks_alike_has_names_of_its_own_in_landxml() -> None:
    areas_and_points = [
        ("court", "\ud800"), ("court", "\ud7fc"), ("court", "\ufffd (2)"), 
        ("court", "bell\x07"), ("court", "bell\x08"), ("w\x01", "A1"), ("w\x02", "A1"),
    ]  # fmt: skip
    table = made([(area, name, metres(1), metres(2), None, None, "") for area, name in areas_and_points])
    root = ET.fromstring(landxml_text(table, MADE, "existing").encode())  # noqa: S314 - written a moment ago
    groups = root.iter("{http://www.landxml.org/schema/LandXML-1.2}CgPoints")
    assert [(group.attrib["name"], [each.attrib["name"] for each in group]) for group in groups] == [
        ("court", ["\ufffd", "\ufffd (2)", "\ufffd (2) (2)", "bell\ufffd", "bell\ufffd (2)"]),
        ("w\ufffd", ["A1", "A1 (2)"]),
    ]


@each_of("name", HOSTILE)
def test_no_name_becomes_a_formula_an_error_or_a_number(name: str) -> None:
    table = made([("court", name, metres(1), metres(2), metres(3), 7, name)])
    cell = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(table))).worksheets[0]["B2"]
    assert (cell.data_type, type(cell.value)) == ("s", str)
    [_, row] = csv.reader(io.StringIO(csv_text(table), newline=""), strict=True)
    assert row[1][:1] not in ("=", "+", "-", "@", "\t", "\r", "\n", "＝")


def test_an_outline_is_a_closed_line_in_every_drawing() -> None:
    corners = tuple((metres(x), metres(y)) for x, y in ((0, 0), (4, 0), (4, 3), (0, 3)))
    hole = tuple((metres(x), metres(y)) for x, y in ((1, 1), (2, 1), (2, 2)))
    table = PointTable(
        "Court",
        ("area", "name", "x", "y", "elevation"),
        frozenset(("x", "y", "elevation")),
        [],
        Units.M,
        "name",
        "elevation",
        ("area",),
        [Outlined("court", Outline(corners, (hole,)), 1)],
    )
    [polygon] = json.loads(geojson_text(table))["features"]
    assert shapely.from_geojson(json.dumps(polygon["geometry"])).area == pytest.approx(11.5)
    lines = list(drawn(table).modelspace())
    assert [(line.dxftype(), line.is_closed, len(line.vertices)) for line in lines] == [
        ("POLYLINE", True, 4),
        ("POLYLINE", True, 3),
    ]
    root = ET.fromstring(landxml_text(table, MADE, "proposed").encode())  # noqa: S314 - written a moment ago
    starts = [each.text for each in root.iter("{http://www.landxml.org/schema/LandXML-1.2}Start")]
    assert starts == ["0 0", "0 4", "3 4", "3 0", "1 1", "1 2", "2 2"]


def test_the_same_rows_make_the_same_file() -> None:
    table = made([("court", "A1", metres(1), metres(2), metres(3), 7, "")])
    assert xlsx_bytes(table) == xlsx_bytes(table)
    assert dxf_bytes(table) == dxf_bytes(table)
