"""GeoJSON with planar coordinates is read exactly, each fault told on its line, and written to be read again."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline, Ring, signed_area
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, feet, inches, metres
from gradecheck.plan import geojson
from gradecheck.plan.geojson import GeoPlan, Outlined, read_geojson, write_geojson
from gradecheck.plan.json_tree import DEEPEST
from gradecheck.plan.point_list import Listed
from gradecheck.plan.problems import PlanProblemsError, Problem
from tests.plan.sample import harmless, marked
from tests.plan.test_point_list import NAMES, lists, places
from tests.tables import each_of

FT, M = Units.FT, Units.M


def plan_of(text: str, units: Units = FT) -> GeoPlan:
    return read_geojson(text, "walk.json", units)


def complaints(text: str, units: Units = FT) -> tuple[Problem, ...]:
    with pytest.raises(PlanProblemsError) as refused:
        plan_of(text, units)
    return refused.value.problems


def collection(*features: str) -> str:
    return '{"type": "FeatureCollection", "features": [\n' + ",\n".join(features) + "\n]}"


def feature(geometry: str, properties: str = '{"name": "F1"}') -> str:
    return f'{{"type": "Feature", "geometry": {geometry}, "properties": {properties}}}'


def point(coordinates: str, properties: str = '{"name": "F1"}') -> str:
    return feature(f'{{"type": "Point", "coordinates": {coordinates}}}', properties)


def polygon(coordinates: str, properties: str = '{"name": "walk"}') -> str:
    return feature(f'{{"type": "Polygon", "coordinates": {coordinates}}}', properties)


def at(x: str, y: str) -> Place:
    return feet(Fraction(x)), feet(Fraction(y))


def high(size: Length) -> Elevation:
    return Elevation(size.metres)


SQUARE = "[[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]"
CORNERS = (at("0", "0"), at("4", "0"), at("4", "4"), at("0", "4"))

# What is read -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (point("[12, 20.5]"), Listed("F1", at("12", "20.5"), None, "", 2)),
        (point("[12, 20.5, -0.25]"), Listed("F1", at("12", "20.5"), high(inches(-3)), "", 2)),
        (point("[12, 20.5]", '{"name": "F1", "elevation": -0.25}'),
         Listed("F1", at("12", "20.5"), high(inches(-3)), "", 2)),
        (point("[12, 20.5, -0.25]", '{"name": "F1", "elevation": "-3 in", "note": "oak"}'),
         Listed("F1", at("12", "20.5"), high(inches(-3)), "oak", 2)),
        (feature("null", '{"name": "F1", "elevation": "-3 in"}'), Listed("F1", None, high(inches(-3)), "", 2)),
        (point("[1, 2]", '{"name": "F1", "elevation": null, "note": null, "colour": {"a": [1, true]}}'),
         Listed("F1", at("1", "2"), None, "", 2)),
        (point("[1, 2]", r'{"name": "F\u00e9\/1", "note": "\ud83c\udf33 \"old\""}'),
         Listed("Fé/1", at("1", "2"), None, '🌳 "old"', 2)),
    ],
    ids=["place", "third-coordinate", "property", "both-alike", "not-yet-placed", "others-passed-over", "escapes"],
)  # fmt: skip
def test_a_point_has_its_name_place_elevation_and_note(text: str, expected: Listed) -> None:
    [read] = plan_of(collection(text)).points
    assert read == expected
    assert read.line == expected.line


@pytest.mark.parametrize(
    ("number", "exact"),
    [
        ("0.1", "1/10"),
        ("-0", "0"),
        ("0.30000000000000004", "30000000000000004/100000000000000000"),
        ("1.25e2", "125"),
        ("1.25E+2", "125"),
        ("125e-3", "1/8"),
        ("1.2246467991473532e-16", "12246467991473532/100000000000000000000000000000000"),
        ("9999999.999999", "9999999999999/1000000"),
        ("12345678.90123e-6", "1234567890123/100000000000"),
    ],
)
def test_a_number_is_the_digits_that_are_written_and_no_float(number: str, exact: str) -> None:
    [read] = plan_of(collection(point(f"[{number}, 0]")), M).points
    assert read.at == (metres(Fraction(exact)), metres(0))


def test_a_polygon_is_an_outline_with_its_holes_given_back_open() -> None:
    hole = "[[1, 1, 9], [1, 2, 9], [2, 2, 9], [1, 1, 9]]"
    [read] = plan_of(collection(polygon(f"[{SQUARE}, {hole}]"))).outlines
    assert read.name == "walk"
    assert read.line == 2
    assert read.outline == Outline(CORNERS, ((at("1", "1"), at("1", "2"), at("2", "2")),))


@pytest.mark.parametrize("properties", ["null", "{}", '{"name": null}'])
def test_an_outline_may_go_without_a_name(properties: str) -> None:
    assert plan_of(collection(polygon(f"[{SQUARE}]", properties))).outlines[0].name == ""


def test_a_feature_or_a_polygon_may_stand_alone() -> None:
    assert plan_of(point("[1, 2]")).points == (Listed("F1", at("1", "2"), None, "", 1),)
    alone = plan_of(f'{{"type": "Polygon", "coordinates": [{SQUARE}]}}')
    assert alone.outlines == (Outlined("", Outline(CORNERS), 1),)


def test_an_outline_and_a_point_may_share_a_name() -> None:
    plan = plan_of(collection(point("[1, 2]", '{"name": "Walk"}'), polygon(f"[{SQUARE}]")))
    assert (plan.points[0].name, plan.outlines[0].name) == ("Walk", "walk")


def test_the_units_in_the_file_go_before_those_of_the_job() -> None:
    text = collection(point("[1, 2]")).replace('"features"', '"units": "in", "features"')
    assert plan_of(text, M).points[0].at == (inches(1), inches(2))
    assert plan_of(collection(point("[1, 2]")), M).points[0].at == (metres(1), metres(2))


def test_a_file_without_features_is_empty() -> None:
    assert plan_of('\ufeff{"type": "FeatureCollection", "features": []}') == GeoPlan((), ())


# What is wrong ------------------------------------------------------------------------------------------------


@each_of(
    ("text", "says"),
    [
        # No JSON.
        pytest.param("§", "The file ends in the middle", id="empty"),
        pytest.param('{"type": "Point"§', "The file ends in the middle", id="cut-off"),
        pytest.param('{"type": §"Poi', "its quote is not closed", id="cut-off-in-a-text"),
        pytest.param('{"type": §"Po\nint"}', "its quote is not closed on the line", id="line-end-in-a-text"),
        pytest.param('{"type": §"\\x41"}', "a backslash in it means nothing", id="escape-that-is-none"),
        pytest.param('{"type": §"\x01"}', "This text is not JSON", id="control-character"),
        pytest.param('{"type": "Point",§}', "Nothing follows the last comma", id="comma-at-the-end"),
        pytest.param('{"a": [1,§]}', "Nothing follows the last comma", id="comma-at-the-end-of-a-list"),
        pytest.param('{"a": [1 §2]}', "A comma or “]” is expected here.", id="no-comma"),
        pytest.param('{"a" §1}', "A colon is expected here", id="no-colon"),
        pytest.param("{§a: 1}", "“a” can't go here", id="key-without-quotes"),
        pytest.param("{§'a': 1}", "“'” can't go here", id="other-quotes"),
        pytest.param("{§1: 1}", "A key in quotes is expected here.", id="number-for-a-key"),
        pytest.param('{"a": §}', "“}” can't go here; a value is expected.", id="no-value"),
        pytest.param("{}§{}", "There is something after the end", id="two-documents"),
        pytest.param("§// so\n{}", "“/” can't go here", id="comment"),
        *(
            pytest.param(f'{{"a":\n  §{word}}}', f"“{word}” can't go here", id=word)
            for word in ("NaN", "Infinity", "-Infinity", "True", "nul", "nulls", "+1", "01", "1.", ".5", "1e", "0x10")
        ),
        pytest.param("[" * DEEPEST + "[§[" + "[" * 10**5, "Nested more than 12 levels", id="deep-lists"),
        pytest.param('{"a":' * DEEPEST + '{"a":§{', "Nested more than 12 levels", id="deep-objects"),
        pytest.param('{"type": "FeatureCollection",\n "features": [],\n §"type": "Feature"}',
                     "“type” is written twice, first on line 1; keep one.", id="key-twice"),
        # No GeoJSON.
        pytest.param("§[]", "A GeoJSON file is one object", id="list"),
        pytest.param("§null", "A GeoJSON file is one object", id="null"),
        pytest.param("§{}", "A GeoJSON object needs a “type”", id="no-type"),
        pytest.param('{"type": §3}', "A GeoJSON object needs a “type”", id="number-for-a-type"),
        pytest.param('{"type": §"Topology"}', "“Topology” is not a geometry used here", id="type-of-another-format"),
        pytest.param('§{"type": "FeatureCollection"}', "needs a list of “features”", id="no-features"),
        pytest.param('{"type": "FeatureCollection", "features": §{}}',
                     "needs a list of “features”", id="one-feature"),
        pytest.param(collection("§3"), "A feature is an object", id="number-for-a-feature"),
        pytest.param(collection('§{"geometry": null}'), "needs the type \"Feature\"", id="feature-without-type"),
        pytest.param(collection('{"type": §"Point"}'), "needs the type \"Feature\"", id="geometry-for-a-feature"),
        pytest.param(collection('§{"type": "Feature"}'), "A feature needs a “geometry”", id="no-geometry"),
        pytest.param(collection(feature("§[]")), "A geometry is an object", id="list-for-a-geometry"),
        pytest.param(collection(feature("§{}")), "This is not a geometry used here", id="geometry-without-type"),
        pytest.param(collection(feature('{"type": §"LineString", "coordinates": []}')),
                     "“LineString” is not a geometry used here; a point is a Point, an outline a Polygon", id="line"),
        pytest.param(collection(feature('§{"type": "Point"}')), "A Point needs “coordinates”.", id="no-coordinates"),
        pytest.param(collection(point("[1, 2]", "§[]")), "Properties are an object", id="list-for-properties"),
        pytest.param('{"units": §"yd", "type": "FeatureCollection", "features": []}',
                     "No units known here", id="yards"),
        pytest.param('{"units": §3, "type": "FeatureCollection", "features": []}',
                     "No units known here", id="units-3"),
        # Numbers.
        *(
            pytest.param(collection(point(f"[1, §{number}]")), "too long or too large for a site", id=number[:12])
            for number in ("1e400000", "-1e400000", "1e-400000", "1e31", "10000000000", "-10000000000", "9" * 41,
                           "0." + "1" * 5000, "1e99999999999999999999")
        ),
        *(
            pytest.param(collection(point(f"[1, §{value}]")), "A number is expected here", id=f"value-{value}")
            for value in ('"2"', "null", "true", "[2]", "{}")
        ),
        pytest.param(collection(point("§[1]")), "A position is [x, y] or [x, y, elevation].", id="one-coordinate"),
        pytest.param(collection(point("§[]")), "A position is [x, y]", id="no-numbers"),
        pytest.param(collection(point("§[1, 2, 3, 4]")), "A position is [x, y]", id="four-coordinates"),
        pytest.param(collection(point('§{"x": 1}')), "A position is [x, y]", id="object-for-a-position"),
        pytest.param(collection(point("[1, 2]", '{"name": "F1", "elevation": §"high"}')),
                     "elevation: “high” is not a length; type it like 4.35.", id="elevation-that-is-none"),
        pytest.param(collection(point("[1, 2]", '{"name": "F1", "elevation": §true}')), "A number is expected",
                     id="elevation-true"),
        pytest.param(collection(point("[1, 2, 3]", '{"name": "F1", "elevation": §3.000001}')),
                     "The elevation here is not the third coordinate", id="two-elevations"),
        pytest.param(collection("§" + feature("null")), "This point has no place and no elevation", id="nowhere"),
        # Texts.
        pytest.param(collection("§" + point("[1, 2]", "{}")), "A point needs the property “name”.", id="no-name"),
        pytest.param(collection("§" + point("[1, 2]", "null")), "A point needs the property", id="no-properties"),
        pytest.param(collection(point("[1, 2]", '{"name": §null}')), "A point needs the property", id="null-name"),
        pytest.param(collection(point("[1, 2]", '{"name": §7}')),
                     "“7” could be taken for a reading; write “prefix: P”", id="number-for-a-name"),
        pytest.param(collection(point("[1, 2]", '{"name": §7.5}')),
                     "A name is a text, in quotes.", id="fraction-for-a-name"),
        pytest.param(collection(point("[1, 2]", '{"name": §"7"}')),
                     "could be taken for a reading", id="name-like-a-reading"),
        pytest.param(collection(point("[1, 2]", '{"name": §""}')), "A name is empty", id="empty-name"),
        pytest.param(collection(point("[1, 2]", f'{{"name": §"{"F" * 25}"}}')), "longer than 24", id="long-name"),
        pytest.param(collection(point("[1, 2]", f'{{"name": §"{"F" * 10**6}"}}')),
                     "1,000,000 characters", id="huge-name"),
        pytest.param(collection(point("[1, 2]", '{"name": §"F\\u0000"}')), "can't be seen (U+0000)", id="NUL"),
        pytest.param(collection(point("[1, 2]", '{"name": §"F\\ud800"}')),
                     "can't be seen (U+D800)", id="half-a-pair"),
        pytest.param(collection(point("[1, 2]", f'{{"name": "F1", "note": §"{"n" * 121}"}}')), "121", id="long-note"),
        pytest.param(collection(point("[1, 2]", '{"name": "F1", "note": §"a\\nb"}')),
                     "U+000A", id="line-end-in-a-note"),
        pytest.param(collection(point("[1, 2]", '{"name": "F1", "note": §3}')), "A note is a text", id="note-3"),
        pytest.param(collection(point("[1, 2]"), point("[1, 3]", '{"name": §"f1"}')),
                     "“f1” is the point on line 2 already; give each its own name.", id="name-twice"),
        pytest.param(collection(polygon(f"[{SQUARE}]"), polygon(f"[{SQUARE}]", '{"name": §"Walk"}')),
                     "“Walk” is the outline on line 2 already", id="outline-twice"),
        # Rings.
        pytest.param(collection(polygon("§[]")), "coordinates are a list of rings", id="no-rings"),
        pytest.param(collection(polygon("§3")), "coordinates are a list of rings", id="number-for-rings"),
        pytest.param(collection(polygon("[§3]")), "A ring is a list of positions.", id="number-for-a-ring"),
        pytest.param(collection(polygon("[[§1, §2]]")), "A position is [x, y]", id="one-list-too-few"),
        pytest.param(collection(polygon("[[[0, 0], [4, 0], [4, 4], §[0, 4]]]")),
                     "This ring is not closed", id="open-ring"),
        pytest.param(collection(polygon("[[[0, 0], [4, 0], [4, 4], §[0, 0.000001]]]")), "not closed", id="ajar"),
        pytest.param(collection(polygon("[§[[0, 0], [4, 0], [0, 0]]]")),
                     "A ring has four positions", id="two-corners"),
        pytest.param(collection(polygon("[§[]]")), "A ring has four positions", id="no-corners"),
        pytest.param(collection(polygon("[§[[0, 0], [4, 0], [8, 0], [0, 0]]]")), "encloses nothing", id="flat-ring"),
        pytest.param(collection(polygon(f"[{SQUARE},\n§[[1, 1]]]")),
                     "A ring has four positions", id="hole-too-small"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_by_line_and_column(text: str, says: str) -> None:
    clean, expected = marked(text)
    problems = complaints(clean)
    assert places(problems) == expected
    assert all(says in problem.says and len(problem.says) < 300 for problem in problems)


@each_of("units", list(Units))
@each_of(
    "places",
    [
        ["[-71.058123, 42.359011]", "[-71.057811, 42.359344]"],
        ["[-179.99, -89.9]", "[-179.9901, -89.9001]"],
        ["[0.001, 0.001]", "[0.002, 0.0005]", "[0, 0]"],
        ["[12.5, 7.5, 100]", "[12.5001, 7.5, -3]"],
    ],
)
def test_degrees_are_told_by_a_size_that_no_site_has(units: Units, places: list[str]) -> None:
    text = collection(*(point(place, f'{{"name": "F{number}"}}') for number, place in enumerate(places, 1)))
    [problem] = complaints(text, units)
    assert "look like degrees" in problem.says
    assert "export it in feet or meters" in problem.says
    assert problem.line == 2
    declared = text.replace('"features"', f'"units": "{units}", "features"', 1)
    assert not plan_of(declared, units).unsure


def test_an_outline_in_degrees_is_told_too() -> None:
    corners = "[[-71.0581, 42.3590], [-71.0578, 42.3590], [-71.0578, 42.3593], [-71.0581, 42.3590]]"
    [problem] = complaints(collection(polygon(f"[{corners}]")))
    assert "look like degrees" in problem.says


@pytest.mark.parametrize(
    ("places", "unsure"),
    [
        (["[0, 0]", "[24, 20]"], True),
        (["[-180, 90]", "[180, -90]"], True),
        (["[-71.058123, 42.359011]"], True),
        (["[0, 0]", "[180.1, 20]"], False),
        (["[0, 0]", "[24, 90.1]"], False),
        (["[2000000.25, 500000.5]", "[2000024.25, 500020.5]"], False),
    ],
)
def test_what_could_be_degrees_or_lengths_is_to_be_asked(places: list[str], unsure: bool) -> None:
    text = collection(*(point(place, f'{{"name": "F{number}"}}') for number, place in enumerate(places, 1)))
    assert plan_of(text).unsure is unsure
    assert not plan_of(text.replace('"features"', '"units": "ft", "features"', 1)).unsure


@pytest.mark.parametrize("name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4269"])
def test_a_file_that_names_degrees_is_refused_however_large_it_is(name: str) -> None:
    system = f'"crs": {{"type": "name", "properties": {{"name": "{name}"}}}}, "units": "ft", "features"'
    [problem] = complaints(
        collection(point("[0, 0]"), point("[24, 20]", '{"name": "F2"}')).replace('"features"', system, 1)
    )
    assert "says that it is in degrees" in problem.says
    plan_of(collection(point("[0, 0]")).replace('"features"', system.replace(name, "EPSG:2264"), 1))


def test_numbers_for_names_get_a_prefix_or_are_told_once() -> None:
    text = collection(
        point("[1, 2]", '{"name": 1}'), point("[3, 9]", '{"name": "2"}'), point("[3, 8]", '{"name": "K"}')
    )
    assert [each.name for each in read_geojson(text, "plan.geojson", FT, "P").points] == ["P1", "P2", "K"]
    [problem] = complaints(text)
    assert "“1” and 1 more names here" in problem.says or "“1” and 1 more" in problem.says


def test_every_bad_feature_is_told_and_nothing_is_half_imported() -> None:
    text, expected = marked(
        collection(
            point("[1, 2]"),
            point("[§true, §1e99]", '{"name": §"7"}'),
            polygon("[§[[0, 0], [4, 0], [0, 4]]]"),
            feature('{"type": §"MultiPolygon"}'),
            point("[3, 4, §null]", '{"name": §"F1", "note": §[]}'),
        )
    )
    assert places(complaints(text)) == expected


def test_a_file_may_have_as_many_features_as_the_limit_and_none_more(monkeypatch: pytest.MonkeyPatch) -> None:
    assert geojson.MOST_FEATURES == 50_000
    monkeypatch.setattr(geojson, "MOST_FEATURES", 1_500)
    features = [point("[1,2]", f'{{"name":"P{number}"}}') for number in range(1_501)]
    assert len(plan_of(collection(*features[:-1])).points) == 1_500
    [problem] = complaints(collection(*features))
    assert (problem.line, problem.says) == (1_502, "The file goes on past 1,500 features; divide it.")


PIECES = [
    *('{"type": "FeatureCollection", "features": [', '{"type": "Feature", "geometry": ', "null", '"Point"', "[1, 2]"),
    *('"properties": {"name": "F1"}', "}", "{", "[", "]", ",", ":", '"', "\\", "1e999999", "-", "0", "\n", "\x00"),
    *('{"type": "Point", "coordinates": ', '{"type": "Polygon", "coordinates": ', SQUARE, "\ufeff"),
]


@given(st.lists(st.one_of(st.sampled_from(PIECES), st.text(max_size=4)), max_size=40).map("".join))
@example('{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[1,1],[0,0],[0,0]]]}}')
@example('{"type":"Feature","properties":{"name":"P1"},\n"geometry":{"type":"Point","coordinates":[1,2]}}')
def test_any_text_is_a_plan_or_a_list_of_problems_in_the_file(text: str) -> None:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    try:
        found = plan_of(text)
    except PlanProblemsError as refused:
        for problem in refused.problems:
            assert 1 <= problem.line <= len(lines)
            assert 1 <= problem.column <= len(lines[problem.line - 1]) + 1
            assert harmless(problem.says)
    else:
        assert json.loads(text.removeprefix("\ufeff"))["type"] in ("FeatureCollection", "Feature", "Point", "Polygon")
        found_on = [point.line for point in found.points] + [outlined.line for outlined in found.outlines]
        assert all(1 <= line <= len(lines) for line in found_on)


def _lists_and_objects(inner: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)


@given(st.recursive(st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=5), _lists_and_objects))
def test_properties_of_others_are_passed_over_whatever_they_hold(value: object) -> None:
    other = json.dumps({"name": "F1", "of another program": value})
    assert plan_of(collection(point("[1, 2]", other))).points == (Listed("F1", at("1", "2"), None, "", 2),)


# Written out --------------------------------------------------------------------------------------------------


def test_a_plan_is_written_a_feature_on_each_line() -> None:
    points = [
        Listed("F1", at("12", "20.5"), high(inches(-3)), 'the "oak"', 1),
        Listed("F2", None, high(feet(1)), "", 1),
    ]
    assert write_geojson(points, [Outlined("walk", Outline(CORNERS), 1)], FT) == (
        '{"type": "FeatureCollection", "units": "ft", "system": "planar, x right, y up, local", "features": [\n'
        '{"type": "Feature", "geometry": {"type": "Polygon", "coordinates": '
        '[[[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]]}, "properties": {"name": "walk"}},\n'
        '{"type": "Feature", "geometry": {"type": "Point", "coordinates": [12, 20.5, -0.25]}, '
        '"properties": {"name": "F1", "elevation": -0.25, "note": "the \\"oak\\""}},\n'
        '{"type": "Feature", "geometry": null, "properties": {"name": "F2", "elevation": 1}}\n'
        "]}\n"
    )


def test_a_plan_of_nothing_is_written_and_read() -> None:
    assert plan_of(write_geojson([], [], FT)) == GeoPlan((), ())


def test_a_64th_of_an_inch_is_exact_in_metres() -> None:
    size = inches(Fraction(1, 64))
    written = write_geojson([Listed("F1", (size, size), None, "", 1)], [], M)
    assert "[0.000396875, 0.000396875]" in written
    assert plan_of(written, FT).points[0].at == (size, size)


@st.composite
def _rings(draw: st.DrawFn, one: Length) -> Ring:
    """A ring of at least three corners that encloses something, in either direction."""
    size = st.integers(-(10**7) + 1, 10**7 - 1).map(lambda thousandths: one * Fraction(thousandths, 1000))
    corners = st.lists(st.tuples(size, size), min_size=3, max_size=6, unique=True)
    return tuple(draw(corners.filter(lambda ring: signed_area(ring) != 0)))


@given(st.sampled_from(Units), st.sampled_from(Units), st.data())
def test_what_is_written_is_read_back_equal_but_for_the_direction_of_rings(
    units: Units, other: Units, data: st.DataObject
) -> None:
    points = data.draw(lists(units))
    names = data.draw(st.lists(NAMES, max_size=3, unique_by=str.casefold))
    rings = _rings((Units.IN if units is Units.FT_IN else units).one)
    drawn = [
        Outlined(name, Outline(data.draw(rings), tuple(data.draw(st.lists(rings, max_size=2)))), 0) for name in names
    ]
    written = write_geojson(points, drawn, units)
    again = plan_of(written, other)
    assert again.points == tuple(points)
    assert [each.name for each in again.outlines] == names
    for before, after in zip(drawn, again.outlines, strict=True):
        assert after.outline.area == before.outline.area
        rings_before, rings_after = (
            (before.outline.ring, *before.outline.holes),
            (after.outline.ring, *after.outline.holes),
        )
        for index, (ring, directed) in enumerate(zip(rings_before, rings_after, strict=True)):
            assert directed in (ring, (ring[0], *reversed(ring[1:])))
            assert (signed_area(directed) > 0) == (index == 0)
    assert write_geojson(again.points, again.outlines, units) == written
    assert plan_of(write_geojson(again.points, again.outlines, units), other) == again
