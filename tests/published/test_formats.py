"""Point lists and outlines against the published texts of the formats they are written in: RFC 4180 and RFC 7946."""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from gradecheck.ground.outline import Outline, signed_area
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, metres
from gradecheck.plan.geojson import Outlined, read_geojson, write_geojson
from gradecheck.plan.point_list import Listed, read_point_list, write_point_list
from gradecheck.plan.problems import PlanProblemsError
from tests.published.sources import VERIFIED_2, Source, of

M = Units.M

# CSV ----------------------------------------------------------------------------------------------------------

CSV = Source("RFC 4180, Common Format and MIME Type for CSV Files (2005), section 2", VERIFIED_2)
"""Read in copies of its text."""


def _read(text: str) -> list[tuple[str, str, int]]:
    points = read_point_list(text, "list.csv", M, order="" if "z" in text[:9] else "PENZD")
    return [(point.name, point.note, int(point.elevation.metres if point.elevation else 0)) for point in points]


BOTH = [("aaa", "ccc", 1), ("zzz", "xxx", 2)]
# The examples of the section have cells such as aaa; ours carry a name, an elevation and a note in their place.
ROWS = [
    ("1: each record on a line, ended by CRLF", "name,z,note\r\naaa,1,ccc\r\nzzz,2,xxx\r\n", BOTH),
    ("2: the last line may have no end", "name,z,note\r\naaa,1,ccc\r\nzzz,2,xxx", BOTH),
    ("3: the header line may be missing", "aaa,,,1,ccc\r\nzzz,,,2,xxx\r\n", BOTH),
    ("5: cells in quotes or not", '"name","z","note"\r\n"aaa","1","ccc"\r\nzzz,2,xxx', BOTH),
    ("6: commas inside of quotes", 'name,z,note\r\n"aaa",1,"c,cc"\r\n', [("aaa", "c,cc", 1)]),
    ("7: a quote is doubled inside of quotes", 'name,z,note\r\n"aaa","1","c""cc"', [("aaa", 'c"cc', 1)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "points"), [pytest.param(t, p, id=of(row, CSV)) for row, t, p in ROWS])
def test_a_list_written_by_the_rules_of_csv_is_read(text: str, points: list[tuple[str, str, int]]) -> None:
    assert _read(text) == points


def test_a_line_break_in_quotes_is_refused_in_its_cell() -> None:
    """The rule allows it; a note is one line here, so it is one problem on the cell and none on the line behind."""
    # 6: line breaks in quotes: RFC 4180, Common Format and MIME Type for CSV Files (2005), section 2
    # [VERIFIED-2].
    text = 'name,z,note\r\n"aaa",1,"c\r\ncc"\r\n'
    with pytest.raises(PlanProblemsError) as refused:
        _read(text)
    assert [(problem.line, problem.column) for problem in refused.value.problems] == [(2, 9)]


@pytest.mark.parametrize("note", ["c,cc", 'c"cc', "c;cc", " ccc ", '"', "ccc"], ids=lambda note: of(repr(note), CSV))
def test_what_is_written_keeps_the_rules_of_csv(note: str) -> None:
    point = Listed("aaa", (metres(1), metres(Fraction(5, 2))), Elevation(Fraction(-3)), note, 1)
    written = write_point_list([point, Listed("zzz", None, Elevation(Fraction(0)), "", 2)], M)
    assert written.count("\r\n") == written.count("\n") == written.count("\r") == 3
    assert written.endswith("\r\n")
    # The reader of the standard library, strict, is the second opinion.
    header, *rows = csv.reader(written.splitlines(keepends=True), strict=True)
    assert header == ["name", "x (m)", "y (m)", "elevation (m)", "note"]
    assert rows == [["aaa", "1", "2.5", "-3", note], ["zzz", "", "", "0", ""]]


# GeoJSON ------------------------------------------------------------------------------------------------------

GEOJSON = Source("RFC 7946, The GeoJSON Format (2016)", VERIFIED_2)
"""Section 3.1.6 as its publisher quotes it (erratum 5069); the examples and section 3.2 as in its authors' drafts."""

POINT = '{"type": "Point", "coordinates": [100.0, 0.0]}'
NO_HOLES = """{
    "type": "Polygon",
    "coordinates": [
        [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]
    ]
}"""
WITH_HOLES = """{
    "type": "Polygon",
    "coordinates": [
        [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],
        [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]]
    ]
}"""


def _ring(*corners: str) -> tuple[Place, ...]:
    pairs = [corner.split() for corner in corners]
    return tuple((metres(Fraction(x)), metres(Fraction(y))) for x, y in pairs)


OUTER = _ring("100 0", "101 0", "101 1", "100 1")
INNER = _ring("100.8 0.8", "100.8 0.2", "100.2 0.2", "100.2 0.8")


@pytest.mark.parametrize(
    ("text", "outline"),
    [
        pytest.param(NO_HOLES, Outline(OUTER), id=of("A.3 without holes", GEOJSON)),
        pytest.param(WITH_HOLES, Outline(OUTER, (INNER,)), id=of("A.3 with holes", GEOJSON)),
    ],
)
def test_the_polygons_of_the_appendix_are_read(text: str, outline: Outline) -> None:
    assert read_geojson(text, "a3.json", M).outlines == (Outlined("", outline, 1),)
    assert outline.area == 1 - sum(abs(signed_area(hole)) for hole in outline.holes)


def test_the_point_of_the_appendix_is_read_once_it_has_a_name() -> None:
    # A.1: RFC 7946, The GeoJSON Format (2016) [VERIFIED-2].
    text = POINT
    feature = f'{{"type": "Feature", "geometry": {text}, "properties": {{"name": "P"}}}}'
    assert read_geojson(feature, "a1.json", M).points == (Listed("P", (metres(100), metres(0)), None, "", 1),)


@pytest.mark.parametrize("text", [NO_HOLES, WITH_HOLES], ids=[of("A.3 without", GEOJSON), of("A.3 with", GEOJSON)])
def test_the_polygons_of_the_appendix_are_written_as_they_are_printed(text: str) -> None:
    written = _geometry(read_geojson(text, "a3.json", M).outlines[0].outline)
    assert written == json.loads(text)


def _geometry(outline: Outline) -> dict[str, Any]:
    written = json.loads(write_geojson([], [Outlined("", outline, 1)], M))
    geometry: dict[str, Any] = written["features"][0]["geometry"]
    return geometry


def _backwards(ring: tuple[Place, ...]) -> tuple[Place, ...]:
    return (ring[0], *reversed(ring[1:]))


@pytest.mark.parametrize(
    "ring", [OUTER, _backwards(OUTER)], ids=[of("3.1.6 right", GEOJSON), of("3.1.6 left", GEOJSON)]
)
@pytest.mark.parametrize("hole", [INNER, _backwards(INNER)], ids=["clockwise", "counterclockwise"])
def test_outer_rings_run_counterclockwise_holes_clockwise_and_all_close(
    ring: tuple[Place, ...], hole: tuple[Place, ...]
) -> None:
    geometry = _geometry(Outline(ring, (hole,)))
    assert geometry == json.loads(WITH_HOLES)
    for index, written in enumerate(geometry["coordinates"]):
        assert len(written) >= 4
        assert written[0] == written[-1]
        twice = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise(written))
        assert (twice > 0) == (index == 0)


@pytest.mark.parametrize("order", [1, -1], ids=[of("3.1.6 right", GEOJSON), of("3.1.6 left", GEOJSON)])
def test_a_polygon_in_the_other_direction_is_not_rejected(order: int) -> None:
    geometry = json.loads(NO_HOLES)
    geometry["coordinates"][0] = geometry["coordinates"][0][::order]
    [read] = read_geojson(json.dumps(geometry), "a.json", M).outlines
    assert read.outline.ring == (OUTER if order == 1 else _backwards(OUTER))
    assert signed_area(read.outline.ring) == order


@pytest.mark.parametrize(
    ("ring", "says"),
    [
        pytest.param([[0, 0], [1, 0], [0, 0]], "four positions", id=of("3.1.6: four or more positions", GEOJSON)),
        pytest.param([[0, 0], [1, 0], [1, 1], [0, 1]], "not closed", id=of("3.1.6: first and last are one", GEOJSON)),
    ],
)
def test_what_is_no_linear_ring_is_refused(ring: list[list[int]], says: str) -> None:
    with pytest.raises(PlanProblemsError, match=says):
        read_geojson(json.dumps({"type": "Polygon", "coordinates": [ring]}), "a.json", M)


def test_a_point_that_is_not_placed_is_a_feature_without_geometry() -> None:
    # 3.2: geometry may be null, properties are there: RFC 7946, The GeoJSON Format (2016) [VERIFIED-2].
    written = json.loads(write_geojson([Listed("P", None, Elevation(Fraction(2)), "", 1)], [], M))
    assert written["type"] == "FeatureCollection"
    assert written["features"] == [{"type": "Feature", "geometry": None, "properties": {"name": "P", "elevation": 2}}]
