"""The SVG is sound XML that holds every point, runs nothing and fetches nothing, whatever the names are."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Area, Benchmark, Plan, Point
from gradecheck.report.svg import plan_svg, round_scale
from tests.report.site import YARD, yard

SVG = "{http://www.w3.org/2000/svg}"
PLAN = yard()
SHAPES = {"svg", "title", "rect", "polygon", "line", "path", "circle", "text"}
"""All that is ever drawn with."""
HOSTILE = [
    "<script>alert(1)</script>",
    "</text><image href='http://example.org/x.png'/>",
    "]]><!-- & --> &amp; &#x41;",
    'A" onload="x',
    "\x00\x1b[31m\x07\ud800\uffff",
    "\u202eDOOR",
]


def drawn(plan: Plan, *areas: str) -> ET.Element:
    """The picture, read again; every element must be one of ours and none may refer to anything."""
    text = plan_svg(plan, [plan.areas[name] for name in areas])
    root = ET.fromstring(text.encode())  # noqa: S314 - made a moment ago
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in SHAPES
        assert not {key for key in element.attrib if "href" in key or key.startswith("on") or key == "style"}
        assert not any("url(" in value for value in element.attrib.values())
    return root


def texts(root: ET.Element) -> list[str]:
    """What is read in it; the white edge under some letters is no text of its own."""
    return [element.text or "" for element in root.iter(f"{SVG}text") if element.get("class") != "halo"]


def millimetres(root: ET.Element) -> tuple[float, float]:
    """How large the page is on paper."""
    wide, high = (re.fullmatch(r"([0-9.]+)mm", root.attrib[side]) for side in ("width", "height"))
    assert wide
    assert high
    return float(wide[1]), float(high[1])


def attributes(root: ET.Element, kind: str) -> list[dict[str, str]]:
    return [element.attrib for element in root.iter() if element.get("class") == kind]


def test_every_point_outline_hole_and_wall_is_drawn() -> None:
    root = drawn(PLAN, "yard")
    told = texts(root)
    for name in ("A", "B", "C", "D"):
        assert told.count(name) == 1
    assert told.count("−1") == 2
    assert told.count("≈\u202f−3 3/8") == 2, "two percent of 10 ft below -1 in, rounded and so marked"
    assert len(attributes(root, "point")) == 4
    assert [len(attributes(root, kind)) for kind in ("outline", "hole", "wall", "mark")] == [1, 1, 1, 1]
    assert "SILL 0" in told
    assert told[told.index("Points without a place:") + 1] == "LOOSE −3 by the tap"
    assert "2%" in told
    assert root.findtext(f"{SVG}title") == "Thrushfield Lane yard · yard"


def test_y_runs_up_and_both_directions_have_one_scale() -> None:
    root = drawn(PLAN, "yard")
    corners = attributes(root, "outline")[0]["points"].split()
    (x1, y1), (x2, _), (_, y3), _ = [tuple(map(float, corner.split(","))) for corner in corners]
    assert x2 > x1
    assert y3 < y1
    assert x2 - x1 == pytest.approx(y1 - y3), "the yard is square"


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    root = drawn(PLAN, "yard")
    corners = attributes(root, "outline")[0]["points"].split()
    twenty_feet = float(corners[1].split(",")[0]) - float(corners[0].split(",")[0])
    start, end = re.findall(r"M([\d.]+) .*H([\d.]+)V", attributes(root, "bar")[0]["d"])[0]
    words = next(text for text in texts(root) if "x to the right, y up" in text)
    feet = int(words.split(" ft")[0])
    assert float(end) - float(start) == pytest.approx(twenty_feet * feet / 20, abs=0.05)


@pytest.mark.parametrize("areas", [["yard"], list(PLAN.areas)])
def test_the_white_edge_is_an_element_under_its_letters(areas: list[str]) -> None:
    root = drawn(PLAN, *areas)
    found = list(root.iter(f"{SVG}text"))
    halos = [place for place, each in enumerate(found) if each.get("class") == "halo"]
    assert len(halos) > 4
    for place in halos:
        edge, letters = found[place], found[place + 1]
        assert edge.text == letters.text
        assert [edge.get(key) for key in ("x", "y", "font-weight", "text-anchor")] == [
            letters.get(key) for key in ("x", "y", "font-weight", "text-anchor")
        ]
        assert (edge.get("fill"), edge.get("stroke"), edge.get("aria-hidden")) == ("white", "white", "true")
        assert letters.get("stroke") is None
    assert all("paint-order" not in each.attrib for each in root.iter())


def test_the_page_is_in_millimetres_and_drawn_to_the_scale_it_states() -> None:
    root = drawn(PLAN, "yard")
    wide, high = millimetres(root)
    across, down = map(float, root.attrib["viewBox"].split()[2:])
    assert wide / across == pytest.approx(high / down, rel=1e-4)
    corners = attributes(root, "outline")[0]["points"].split()
    twenty_feet = (float(corners[1].split(",")[0]) - float(corners[0].split(",")[0])) * wide / across
    scale = next(
        re.search(r"scale 1:([0-9]+) \((.*)\), printed at 100%", text) for text in texts(root) if "100%" in text
    )
    assert scale is not None
    assert twenty_feet * int(scale[1]) == pytest.approx(20 * 304.8, rel=1e-3)
    assert (scale[1], scale[2]) == ("48", "1/4 in = 1 ft")


@pytest.mark.parametrize(
    ("times", "feet", "stated"),
    [
        (9.0, False, "1:10"), (20.0, False, "1:20"), (20.1, False, "1:25"), (51.0, False, "1:100"),
        (101.0, False, "1:200"), (3000.0, False, "1:5000"), (0.02, True, "1:12 (1 in = 1 ft)"),
        (48.0, True, "1:48 (1/4 in = 1 ft)"), (49.0, True, "1:96 (1/8 in = 1 ft)"),
        (97.0, True, "1:120 (1 in = 10 ft)"), (1000.0, True, "1:1200 (1 in = 100 ft)"),
    ],
)  # fmt: skip
def test_scales_are_those_of_a_scale_rule(times: float, feet: bool, stated: str) -> None:
    number, words = round_scale(times, feet=feet)
    assert words == stated
    assert number >= times


def test_an_arrow_points_down_the_fall() -> None:
    (arrow,) = attributes(drawn(PLAN, "yard"), "fall")
    assert float(arrow["x1"]) == pytest.approx(float(arrow["x2"]))
    assert float(arrow["y2"]) < float(arrow["y1"]), "from the wall up the page"


def test_a_wall_is_drawn_as_far_as_the_page_goes() -> None:
    root = drawn(PLAN, "yard")
    (wall,) = attributes(root, "wall")
    assert 0 <= float(wall["x1"]) < float(wall["x2"]) <= float(root.attrib["viewBox"].split()[2])


def test_several_areas_share_a_page() -> None:
    root = drawn(PLAN, *PLAN.areas)
    assert {"A", "S1", "S2", "S3"} <= set(texts(root))
    assert "deck is on datum pool" in texts(root)
    assert "P1 −1/2" in texts(root)


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_text(name: str) -> None:
    at = Length(Fraction(1)), Length(Fraction(2))
    point = Point(name, Elevation(Fraction(0)), "", what=name, at=at)
    area = Area(name, name, None, {}, (point, Point(name + "2", Elevation(Fraction(0)), "", name)), datum=name)
    plan = Plan(name, PLAN.notation, {name: Benchmark(name, Elevation(Fraction(0)), at=at)}, {}, {name: area},
                PLAN.rechecks, walls={name: (at, (at[1], at[0]))})  # fmt: skip
    root = drawn(plan, name)
    safe = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in name)
    assert safe in texts(root)
    assert f"{safe}2 0 {safe}" in texts(root)


def test_dense_points_get_a_larger_page_until_each_name_has_room() -> None:
    text = YARD.replace(
        "    points:\n      A:",
        "    grid: {every: 1 ft, name: G}\n    surface: {at: A, fall: {y: 2%}}\n    points:\n      A:",
    )
    plan = yard(text)
    placed = [point for point in plan.areas["yard"].points if point.at is not None]
    root = drawn(plan, "yard")
    assert len(attributes(root, "point")) == len(placed) > 400
    assert set(texts(root)) >= {point.name for point in placed}
    assert millimetres(root)[0] > millimetres(drawn(PLAN, "yard"))[0]
    names = [(float(each.attrib["x"]), float(each.attrib["y"]), each.get("text-anchor"), len(each.text or ""))
             for each in root.iter(f"{SVG}text")
             if (each.text or "")[:1] == "G" and each.get("class") != "halo"]  # fmt: skip
    spans = sorted((y, x - 5 * long if end else x, x if end else x + 5 * long) for x, y, end, long in names)
    for (y1, _, end1), (y2, start2, _) in pairwise(spans):
        assert y1 != y2 or end1 <= start2, "no name lies over its neighbor in the row"


def test_points_at_one_place_are_all_there() -> None:
    text = YARD.replace("B: {elevation: -1 in, at: [20 ft, 5 ft]", "B: {elevation: -1 in, at: [0 ft, 5 ft]")
    assert {"A", "B"} <= set(texts(drawn(yard(text), "yard")))


@given(
    st.lists(st.tuples(st.fractions(-(10**9), 10**9), st.fractions(-(10**9), 10**9)), max_size=5),
    st.text(max_size=30),
)
def test_any_places_and_any_name_make_sound_xml(places: list[tuple[Fraction, Fraction]], name: str) -> None:
    points = tuple(
        Point(f"{name}{number}", Elevation(x), "", at=(Length(x), Length(y))) for number, (x, y) in enumerate(places)
    )
    area = Area("a", name, None, {}, points)
    root = drawn(Plan(name, PLAN.notation, {}, {}, {"a": area}, PLAN.rechecks), "a")
    assert len(attributes(root, "point")) == len(points)
    assert all(0 <= float(dot["cx"]) <= float(root.attrib["viewBox"].split()[2]) for dot in attributes(root, "point"))


def test_points_at_one_place_are_listed_not_left_out() -> None:
    at = Length(Fraction(1)), Length(Fraction(2))
    points = tuple(Point(f"P{number}", Elevation(Fraction(0)), "", at=at) for number in range(300))
    root = drawn(Plan("crowd", PLAN.notation, {}, {}, {"a": Area("a", "", None, {}, points)}, PLAN.rechecks), "a")
    told = texts(root)
    beside = {text for text in told if text.startswith("P") and " " not in text}
    under = {text.split()[0] for text in told[told.index("Without room here:") + 1 :]}
    assert beside | under == {point.name for point in points}
    assert not beside & under


@pytest.mark.parametrize("every", ["2 ft", "1 ft"])
def test_no_label_lies_over_another_or_over_a_sign_whatever_the_page(every: str) -> None:
    text = YARD.replace(
        "    points:\n      A:",
        f"    grid: {{every: {every}, name: G}}\n    surface: {{at: A, fall: {{y: 2%}}}}\n    points:\n      A:",
    )
    root = drawn(yard(text), "yard")
    boxes = []
    for each in root.iter(f"{SVG}text"):
        if each.get("font-weight") != "bold" or each.get("font-size") or each.get("class") == "halo":
            continue
        x, y, long = float(each.attrib["x"]), float(each.attrib["y"]), 5 * len(each.text or "")
        left = {"end": x - long, "middle": x - long / 2}.get(each.get("text-anchor", ""), x)
        boxes.append((left, y - 8, left + long, y))
    dots = [(float(each["cx"]), float(each["cy"])) for each in attributes(root, "point")]
    assert len(boxes) == len(dots) > 100
    boxes += [(x - 2, y - 2, x + 2, y + 2) for x, y in dict.fromkeys(dots)]  # a grid has points where others lie
    boxes.sort()
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            if other[0] >= one[2]:
                break
            assert one[3] <= other[1] or other[3] <= one[1], (one, other)
