"""Drawings from outside, written by other libraries or by hand: what is on each layer, and what must be answered."""

from __future__ import annotations

import contextlib
import io
import json
import math
import time
from fractions import Fraction

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.exchange.answers import ImportAnswers, ImportResult
from gradecheck.exchange.found import FoundDrawing
from gradecheck.exchange.kinds import read, take
from gradecheck.plan.problems import PlanProblemsError
from tests.strategies import examples
from tests.whole import has

IN_METERS = ImportAnswers(units="m", prefix="P")


def found(content: bytes) -> FoundDrawing:
    of = read(content, "drawing")
    assert isinstance(of, FoundDrawing)
    return of


def taken(content: bytes, answers: ImportAnswers = IN_METERS) -> ImportResult:
    return take(found(content), answers, "drawing")


def figures(of: ImportResult) -> list[tuple[object, ...]]:
    """Name, x, y and elevation in meters."""
    assert of.questions == []
    return [
        (each.name, *(size.metres for size in each.at or ()), each.elevation.metres if each.elevation else None)
        for each in of.points
    ]


def refused(content: bytes, answers: ImportAnswers = IN_METERS) -> str:
    with pytest.raises(PlanProblemsError) as wrong:
        taken(content, answers)
    return "\n".join(str(each) for each in wrong.value.problems)


# -- DXF, written by ezdxf


def written(document: Document) -> bytes:
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode(document.output_encoding, "replace")


@pytest.mark.parametrize("release", ["R12", "R2000", "R2010", "R2018"])
def test_points_of_every_release_are_read_alike(release: str) -> None:
    document = ezdxf.new(release, units=6)
    space = document.modelspace()
    space.add_point((1.5, 2.25, -0.125), dxfattribs={"layer": "SPOTS"})
    space.add_point((0.1, 0.2, 3), dxfattribs={"layer": "SPOTS"})
    of = found(written(document))
    assert of.layers() == {"SPOTS": {"point": 2}}
    assert figures(taken(written(document))) == [
        ("P1", Fraction(3, 2), Fraction(9, 4), Fraction(-1, 8)),
        ("P2", Fraction(1, 10), Fraction(1, 5), Fraction(3)),
    ]


def test_units_are_told_and_asked_whatever_the_header_says() -> None:
    document = ezdxf.new("R2010", units=2)
    document.modelspace().add_point((24, 12, 1))
    document.modelspace().add_point((0, 0, 1))
    [asked] = taken(written(document), ImportAnswers(prefix="P")).questions
    assert "It is 24 by 12 of them. The file says feet." in asked


def test_layers_are_asked_for_where_points_are_on_several() -> None:
    document = ezdxf.new("R2010")
    for layer in ("A", "B"):
        document.modelspace().add_point((1, 2, 3), dxfattribs={"layer": layer})
    content = written(document)
    assert "“A”, “B”" in taken(content).questions[0]
    assert len(taken(content, ImportAnswers(units="m", prefix="P", layers=("B",))).points) == 1
    assert len(taken(content, ImportAnswers(units="m", prefix="P", layers=("*",))).points) == 2
    assert "There is no layer “C”" in refused(content, ImportAnswers(units="m", layers=("C",)))


def test_a_block_names_a_point_and_two_heights_are_asked_about() -> None:
    document = ezdxf.new("R2010")
    block = document.blocks.new("SPOT")
    for tag in ("PT", "ELEV", "DESC"):
        block.add_attdef(tag, (0, 0))
    for name, z, said in (("A1", 0, "12.25"), ("A2", 0, "12.5")):
        insert = document.modelspace().add_blockref("SPOT", (1, 2, z))
        insert.add_auto_attribs({"PT": name, "ELEV": said, "DESC": "kerb"})
    content = written(document)
    [asked] = taken(content, ImportAnswers(units="m")).questions
    assert "“ELEV” differ" in asked
    of = taken(content, ImportAnswers(units="m", columns={"elevation": "ELEV"}))
    assert [(each.name, each.note) for each in of.points] == [("A1", "kerb"), ("A2", "kerb")]
    assert [figure[3] for figure in figures(of)] == [Fraction(49, 4), Fraction(25, 2)]
    of = taken(content, ImportAnswers(units="m", columns={"elevation": "none"}))
    assert [figure[3] for figure in figures(of)] == [None, None]


def test_the_text_beside_a_point_is_its_name_only_if_no_other_could_be() -> None:
    document = ezdxf.new("R2010")
    space = document.modelspace()
    for x, text in ((0, "A1"), (100, "A2")):
        space.add_point((x, 0, 5))
        space.add_text(text, height=1).set_placement((x + 1, 1))
    space.add_point((200, 0, 5))
    for y in (1, -1):
        space.add_text("B", height=1).set_placement((201, y))
    of = found(written(document))
    assert [point.texts.get("name") for point in of.points] == ["A1", "A2", None]


def test_all_points_at_zero_ask_whether_that_is_their_elevation() -> None:
    document = ezdxf.new("R2010")
    document.modelspace().add_point((1, 2, 0))
    assert has(taken(written(document)).questions[0], "All points lie at z 0")


def test_what_is_mirrored_and_what_lies_in_blocks_is_read_where_it_is_seen() -> None:
    document = ezdxf.new("R2010")
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 3)], close=True, dxfattribs={"extrusion": (0, 0, -1), "layer": "EDGE"})
    block = document.blocks.new("PAIR")
    block.add_point((1, 2, 3))
    space.add_blockref("PAIR", (10, 20, 30))
    of = found(written(document))
    assert [point.at for point in of.points] == [(11, 22, 33)]
    [line] = of.lines
    assert [corner[:2] for corner, _ in line.corners] == [(0, 0), (-4, 0), (-4, 3)]


def test_an_arc_in_an_outline_becomes_chords_that_keep_its_area() -> None:
    # A square of side 10 with a half circle of radius 5 on its right side, counter-clockwise: 100 + 25 pi / 2.
    document = ezdxf.new("R2010")
    corners = [(0, 0, 0), (10, 0, 1), (10, 10, 0), (0, 10, 0)]
    document.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "EDGE"})
    for extra in ((2, 2), (4, 4)):
        document.modelspace().add_point((*extra, 1))
    of = taken(written(document), ImportAnswers(units="m", prefix="P", outline="EDGE"))
    assert of.outline is not None
    ring = [(float(x.metres), float(y.metres)) for x, y in of.outline.outline.ring]
    area = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2
    assert area == pytest.approx(100 + 25 * math.pi / 2, abs=0.05)
    assert area < 100 + 25 * math.pi / 2
    assert max(x for x, _ in ring) == pytest.approx(15, abs=0.003)


def test_faces_give_their_corners_once() -> None:
    document = ezdxf.new("R2010")
    for face in ([(0, 0, 1), (4, 0, 2), (4, 3, 3)], [(0, 0, 1), (4, 3, 3), (0, 3, 4)]):
        document.modelspace().add_3dface(face, dxfattribs={"layer": "TIN"})
    assert [figure[1:] for figure in figures(taken(written(document)))] == [
        (0, 0, 1),
        (4, 0, 2),
        (4, 3, 3),
        (0, 3, 4),
    ]


def test_blocks_in_blocks_and_a_block_in_itself_end_soon_in_words() -> None:
    document = ezdxf.new("R2010")
    document.blocks.new("B0").add_point((0, 0, 1))
    for level in range(1, 12):
        block = document.blocks.new(f"B{level}")
        for x in range(10):
            block.add_blockref(f"B{level - 1}", (x, 0))
    document.modelspace().add_blockref("B11", (0, 0))
    began = time.process_time()
    text = refused(written(document))
    assert "There are no points" in text or "200,000 entities" in text
    assert time.process_time() - began < 30
    document = ezdxf.new("R2010")
    block = document.blocks.new("LOOP")
    block.add_blockref("LOOP", (1, 1))
    document.modelspace().add_blockref("LOOP", (0, 0))
    document.modelspace().add_point((1, 2, 3))
    assert len(found(written(document)).points) == 1


def test_what_is_not_used_is_counted_by_name() -> None:
    document = ezdxf.new("R2010")
    document.modelspace().add_spline([(0, 0), (1, 1), (2, 0), (3, 1)])
    document.modelspace().add_point((1, 2, 3))
    assert any("1 SPLINE" in remark for remark in taken(written(document)).remarks)
    document = ezdxf.new("R2010")
    document.modelspace().add_hatch()
    assert "it holds 1 HATCH" in refused(written(document))


def test_binary_and_broken_drawings_are_refused_in_words() -> None:
    assert "binary DXF" in refused(b"AutoCAD Binary DXF\r\n\x1a\x00")
    assert "drawing" in refused(b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n")
    document = ezdxf.new("R12")
    document.modelspace().add_point((1, 2, 3))
    content = written(document)
    assert "no number" in refused(content.replace(b" 10\n1.0\n", b" 10\nnan\n"))


# -- LandXML, written by hand

LANDXML = """<?xml version="1.0"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="2026-05-01" time="07:30:00">
 <Units><Imperial linearUnit="foot" areaUnit="squareFoot" volumeUnit="cubicYard" temperatureUnit="fahrenheit"
  pressureUnit="inHG"/></Units>
 <CgPoints name="patio">
  <CgPoint name="A1" desc="at the door" state="proposed">20 10 100.00</CgPoint>
  <CgPoint name="A2">22 10</CgPoint><CgPoint name="A3" pntRef="A1"/><CgPoint name="A4">1 2 -99999</CgPoint>
 </CgPoints>
 <PlanFeatures><PlanFeature name="walk edge"><CoordGeom><Line><Start>0 0</Start><End>0 10</End></Line>
  <Curve rot="ccw" radius="8"><Center>8 10</Center><Start>0 10</Start><End>8 18</End></Curve>
  </CoordGeom></PlanFeature>
 </PlanFeatures>
 <Surfaces><Surface name="finish">
<Definition surfType="TIN"><Faces><F>1 2 3</F><F i="1">9 9 9</F></Faces><Pnts>
  <P id="1">0 0 100.00</P><P id="2">0 10 99.90</P><P id="3">10 0 99.95</P></Pnts></Definition></Surface></Surfaces>
</LandXML>
"""
FOOT = Fraction(3048, 10_000)


def test_landxml_has_north_before_east_and_says_its_units() -> None:
    of = found(LANDXML.encode())
    assert of.layers() == {"patio": {"point": 4}, "walk edge": {"line": 1}, "finish": {"face": 1}}
    points = taken(LANDXML.encode(), ImportAnswers(layers=("patio",))).points
    assert [(each.name, each.note) for each in points] == [("A1", "at the door"), ("A2", ""), ("A4", ""), ("A3", "")]
    assert [each.elevation.metres if each.elevation else None for each in points] == [
        100 * FOOT,
        None,
        None,
        100 * FOOT,
    ]
    assert points[0].at is not None
    assert [size.metres for size in points[0].at] == [10 * FOOT, 20 * FOOT]


def test_a_curve_turns_the_way_that_it_says() -> None:
    [line] = found(LANDXML.encode()).lines
    assert [corner for corner, _ in line.corners] == [(0, 0, None), (10, 0, None), (18, 8, None)]
    # From (10, 0) about (10, 8) to (18, 8) against the clock: a quarter, so the bulge is tan(90 / 4 degrees).
    assert [bulge for _, bulge in line.corners] == [0, pytest.approx(math.tan(math.pi / 8)), 0]


def test_a_surface_gives_its_corners_and_faces_may_stand_before_them() -> None:
    points = taken(LANDXML.encode(), ImportAnswers(layers=("finish",), prefix="S")).points
    assert [each.name for each in points] == ["S1", "S2", "S3"]
    assert [each.elevation.metres / FOOT for each in points if each.elevation] == [
        100,
        Fraction(999, 10),
        Fraction(1999, 20),
    ]


@pytest.mark.parametrize("space", ["", ' xmlns="http://www.landxml.org/schema/LandXML-1.0"', ' xmlns="urn:other"'])
def test_the_namespace_may_be_that_of_a_neighbor_or_none(space: str) -> None:
    text = LANDXML.replace(' xmlns="http://www.landxml.org/schema/LandXML-1.2"', space)
    assert found(text.encode()).layers()["patio"] == {"point": 4}


def test_survey_feet_are_asked_for() -> None:
    [asked] = taken(LANDXML.replace('"foot"', '"USSurveyFoot"').encode(), ImportAnswers(layers=("patio",))).questions
    assert "The file says US survey feet." in asked
    of = taken(LANDXML.replace('"foot"', '"USSurveyFoot"').encode(), ImportAnswers(layers=("patio",), units="usft"))
    [height, *_] = [each.elevation.metres for each in of.points if each.elevation]
    assert abs(height - 100 * Fraction(1200, 3937)) < Fraction(1, 10**6)


ENTITIES = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ((' version="1.2"', "", ENTITIES), "declares a document type"),
        (("", "", '<!DOCTYPE x SYSTEM "file:///etc/passwd">'), "declares a document type"),
        (("LandXML", "Other", ""), "no LandXML"),
        (("</CgPoints>", "", ""), "XML is broken"),
        (("20 10 100.00", "20 nan", ""), "is no place"),
        (("20 10 100.00", "20", ""), "is no place"),
        (("20 10 100.00", "1e12 1", ""), "too large"),
        (("20 10 100.00", "1e999999999 1", ""), "is no place"),
        (("foot", "rod", ""), "not a linear unit"),
        (("<F>1 2 3</F>", "<F>1 2 7</F>", ""), "which are no three or four points"),
    ],
)
def test_landxml_that_can_not_be_taken_is_told(change: tuple[str, str, str], says: str) -> None:
    old, new, before = change
    text = LANDXML.replace(old, new) if old else LANDXML
    if before:
        text = text.replace("<LandXML", f"{before}<LandXML", 1)
    assert says in refused(text.encode())


def test_xml_nested_without_end_is_refused_soon() -> None:
    assert "nested more than 24" in refused(b"<LandXML>" + b"<a>" * 100_000)


# -- GeoJSON, written by json


def collection(*features: object, **members: object) -> bytes:
    return json.dumps({"type": "FeatureCollection", **members, "features": features}).encode()


def spot(x: float, y: float, **properties: object) -> object:
    return {"type": "Feature", "geometry": {"type": "Point", "coordinates": [x, y]}, "properties": properties}


def test_geojson_without_a_word_on_its_system_asks_whether_it_is_planar() -> None:
    content = collection(spot(10, 20, id="A1", z=1.5), spot(30, 40, id="A2", z=2))
    asked = taken(content, ImportAnswers(units="m")).questions
    assert any("--planar" in question for question in asked)
    assert figures(taken(content, ImportAnswers(units="m", planar=True))) == [
        ("A1", 10, 20, Fraction(3, 2)),
        ("A2", 30, 40, 2),
    ]
    assert figures(taken(collection(spot(10, 20, name="A1", z=1), units="m"), ImportAnswers())) == [("A1", 10, 20, 1)]


@pytest.mark.parametrize(
    "content",
    [
        collection(spot(-71.0561234, 42.3611234, name="A1"), spot(-71.0562345, 42.3612345, name="A2")),
        collection(
            spot(1, 2, name="A1"), crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
        ),
        collection(spot(1, 2, name="A1"), coordRefSys="http://www.opengis.net/def/crs/EPSG/0/4326"),
    ],
)
def test_degrees_are_refused(content: bytes) -> None:
    assert "degrees" in refused(content, ImportAnswers(units="m", planar=True))


def test_lines_and_polygons_are_lines_and_the_outline_keeps_its_hole() -> None:
    rings = [[[0, 0], [9, 0], [9, 9], [0, 9], [0, 0]], [[3, 3], [3, 6], [6, 6], [3, 3]]]
    polygon = {
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": rings},
        "properties": {"layer": "edge"},
    }
    of = taken(collection(spot(1, 2, name="A1"), polygon, units="m"), ImportAnswers(outline="edge"))
    assert of.outline is not None
    assert len(of.outline.outline.ring) == 4
    assert [len(hole) for hole in of.outline.outline.holes] == [3]


# -- whatever comes


@given(st.data())
@examples(300)
def test_drawings_spoiled_anywhere_are_read_or_refused(data: st.DataObject) -> None:
    document = data.draw(st.sampled_from(GOOD))
    content = bytearray(document)
    for _ in range(data.draw(st.integers(1, 3))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(len(content) // 2, len(content)))
    with contextlib.suppress(PlanProblemsError):
        of = take(read(bytes(content[:cut]), "drawing"), IN_METERS, "drawing")
        assert not (of.points and of.questions)


def _good() -> list[bytes]:
    document = ezdxf.new("R12")
    document.modelspace().add_point((1, 2, 3))
    document.modelspace().add_line((0, 0), (1, 1))
    json_text = collection(spot(10, 20, name="A1", z=1.5), units="m")
    return [LANDXML.encode(), json_text, written(document)]


GOOD = _good()
