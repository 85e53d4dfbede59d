"""The grade plan sheet: each table holds every surface of every point, as `targets` has it."""

from __future__ import annotations

from gradecheck.measure.quantities import Elevation, inches
from gradecheck.plan.geojson import read_geojson, write_geojson
from gradecheck.plan.point_list import read_point_list, write_point_list
from gradecheck.plan.targets import target
from gradecheck.report.grade_plan import area_zero, grade_plan_json, grade_plan_lines, listed, outlined, table
from gradecheck.report.rows import shown
from tests.report.site import YARD, yard

PLAN = yard()
AREAS = list(PLAN.areas.values())


def test_a_table_has_a_row_for_each_point_and_what_each_surface_may_be_off() -> None:
    assert table(PLAN, PLAN.areas["yard"], 80) == [
        "point  what         finish     base  subgrade",
        "A      left             -1   -3 3/8    -9 3/8",
        "B      right            -1   -3 3/8    -9 3/8",
        "C      far left    ~-3 3/8  ~-5 3/4  ~-11 3/4",
        "D      far right   ~-3 3/8  ~-5 3/4  ~-11 3/4",
        "LOOSE  by the tap       -3   -5 3/8   -11 3/8",
        "may be high            1/8      3/8       1/2",
        "may be low             1/8      3/8       3/4",
    ]


def test_every_figure_of_the_table_is_the_target() -> None:
    area = PLAN.areas["yard"]
    for row, point in zip(table(PLAN, area, 80)[1:], area.points, strict=False):
        for stage in area.stages:
            assert f" {shown(target(area, point, stage).wanted.height, PLAN.notation)}" in row


def test_a_narrow_table_shortens_the_words_and_no_figure() -> None:
    long = yard(YARD.replace("what: left", "what: left of the door where the old pump stood"))
    rows = table(long, long.areas["yard"], 44)
    assert "left of t…" in rows[1]
    assert rows[1].split()[-2:] == ["-9", "3/8"]
    assert len(set(map(len, rows))) == 1, "columns stand under one another"


def test_the_sheet_has_each_area_with_its_table_drawing_and_key() -> None:
    lines = list(grade_plan_lines(PLAN, AREAS, 60, 13, braille=False))
    assert lines[0] == "Thrushfield Lane yard: grade plan"
    for heading in ("yard: yard round a tree", "steps", "deck"):
        assert heading in lines
    assert lines[lines.index("deck") + 1] == "datum pool"
    assert lines.count("o point") == 3
    assert sum("x right, y up" in line for line in lines) == 2, "the deck has no place to be drawn at"
    assert all(line.isascii() for line in lines)


def test_lists_count_from_the_jobs_zero_and_leave_out_what_is_not_tied() -> None:
    office = yard(YARD.replace("mark: COPING, reads: 0", "mark: SILL, reads: 100 in"))
    assert area_zero(office, office.areas["deck"]) == Elevation(inches(-100).metres)
    assert listed(office, [office.areas["deck"]])[0].elevation == Elevation(inches(-201).metres / 2)
    assert area_zero(PLAN, PLAN.areas["deck"]) is None
    assert listed(PLAN, [PLAN.areas["deck"]]) == [], "it has no place either"
    placed = yard(YARD.replace("P1: -1/2", "P1: {elevation: -1/2, at: [0 ft, 9 ft]}"))
    assert [point.elevation for point in listed(placed, [placed.areas["deck"]])] == [None]


def test_what_is_written_for_other_programs_can_be_read_again() -> None:
    points = listed(PLAN, AREAS)
    read = read_point_list(write_point_list(points, PLAN.notation.units), "sheet.csv", PLAN.notation.units)
    assert [(point.name, point.at, point.note) for point in read] == [
        (point.name, point.at, point.note) for point in points if point.name != "P1"
    ]
    text = write_geojson(points, outlined(AREAS), PLAN.notation.units)
    told = read_geojson(text, "sheet.geojson", PLAN.notation.units)
    assert [each.name for each in told.outlines] == ["yard"]
    assert len(told.points) == len(points)


def test_the_json_has_every_surface_in_millimetres_and_in_words() -> None:
    answer = grade_plan_json(PLAN, PLAN.areas["yard"])
    points = answer["points"]
    assert isinstance(points, list)
    assert points[0]["stages"]["subgrade"] == {"mm": -238.125, "text": "-9 3/8 in"}
    assert points[0]["at"] == [0.0, 1524.0]
    assert points[4]["at"] is None
    assert answer["tolerances"]["subgrade"]["low"] == {"mm": 19.05, "text": "3/4 in"}  # type: ignore[index]
