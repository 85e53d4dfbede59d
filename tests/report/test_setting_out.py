"""Setting out: tapes from corners and benchmarks, stakes and strings, on a yard whose figures are worked by hand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from gradecheck.report.grade_plan import grade_plan_lines, plan_blocks
from gradecheck.report.setting_out import (
    ground_labels,
    marks_to_tape,
    stake_labels,
    string_spots,
    string_words,
    tie_row,
    ties,
    to_stage,
)

YARD = """\
job: Larch Row yard
units: in
rods: {rod: {graduation: 1/16 in}}
benchmarks:
  DOOR: {elevation: 0, at: [12 ft, 0]}
  LOST: {elevation: -4}
walls: {house: [[0, 0], [24 ft, 0]]}
build-ups: {yard: [{paver: 2 3/8}, {bedding: 1}, {base: 6}]}
tolerances: {finish: 1/8, bedding: 1/4, base: 3/8, subgrade: 1/2}
areas:
  yard:
    build-up: yard
    outline: [[0, 0], [24 ft, 0], [24 ft, 20 ft], [0, 20 ft]]
    points:
      A: {elevation: -1, at: [9 ft, 12 ft], what: by the tap}
      B: {elevation: -2, at: [0, 16 ft]}
      M: {elevation: -2 1/2, at: [12 ft, 16 ft]}
      C: {elevation: -2, at: [24 ft, 16 ft]}
      LOOSE: -3
    strings:
      row: {along: [B, C], above: 4 in, left: 1 ft}
  far:
    outline: [[100 ft, 0], [140 ft, 0], [140 ft, 40 ft]]
    points: {F: {elevation: 0, at: [120 ft, 1 ft]}}
"""
PLAN = read_plan(YARD, "job.yaml")
AREA = PLAN.areas["yard"]


def row(plan: Plan, area: str, point: str) -> str:
    found = {each.name: tied for each, tied in ties(plan, plan.areas[area])}
    return tie_row(plan.areas[area].point(point), found[point], plan.notation).line


def test_points_are_taped_from_benchmarks_walls_and_outline_corners() -> None:
    names = [name for name, _ in marks_to_tape(PLAN, AREA)]
    assert names == ["DOOR", "house C1", "house C2", "yard C3", "yard C4"], "one name a place, and LOST has none"
    assert "far C3" in [name for name, _ in marks_to_tape(PLAN)]


def test_the_tapes_to_a_point_are_told_to_the_mark_in_feet_and_inches() -> None:
    # Worked by hand for A at (9, 12): house C1 is 9-12-15, so 15 ft; house C2 is the root of 225 + 144, which is
    # 19.20937 ft = 19 ft 2 8.2/16 in; their angle has the cosine 9 / (15 x 19.209), so it is 88.2 degrees.
    assert row(PLAN, "yard", "A") == "15' from house C1 and ~19' 2 1/2\" from house C2, crossing at 88°"


def test_a_point_without_a_place_and_one_with_nothing_that_crosses_say_so() -> None:
    assert row(PLAN, "yard", "LOOSE") == "no place in the plan, so no tapes"
    lines = YARD.replace("house: [[0, 0], [24 ft, 0]]", "").splitlines(keepends=True)
    bare = read_plan("".join(line for line in lines if "outline:" not in line), "job.yaml")
    assert row(bare, "yard", "A") == "no two marks or corners cross here between 30° and 150°"


def test_every_length_and_crossing_is_what_shapely_and_numpy_give() -> None:
    for point, found in ties(PLAN, AREA):
        if point.at is None:
            continue
        assert found is not None
        here = np.array([float(each.metres) for each in point.at])
        for tie in found.both:
            there = np.array([float(each.metres) for each in tie.at])
            assert float(tie.length.metres) == pytest.approx(shapely.Point(here).distance(shapely.Point(there)))
        one, other = (np.array([float(each.metres) for each in tie.at]) - here for tie in found.both)
        angle = np.degrees(np.arccos(one @ other / np.linalg.norm(one) / np.linalg.norm(other)))
        assert f"crossing at {angle:.0f}°" in row(PLAN, "yard", point.name)


def test_a_round_outline_has_no_corners_to_tape_from() -> None:
    outline = "    outline: [[0, 0], [24 ft, 0], [24 ft, 20 ft], [0, 20 ft]]\n"
    plan = read_plan(YARD.replace(outline, "    outline: {center: [12 ft, 12 ft], radius: 13 ft}\n"), "job.yaml")
    assert not any(name.startswith("yard") for name, _ in marks_to_tape(plan))


def test_an_outline_with_an_arc_is_taped_from_the_arcs_ends_alone() -> None:
    arc = "[24 ft, 20 ft], {to: [0, 20 ft], through: [12 ft, 24 ft]}]"
    plan = read_plan(YARD.replace("[24 ft, 20 ft], [0, 20 ft]]", arc), "job.yaml")
    assert [name for name, _ in marks_to_tape(plan, plan.areas["yard"])][-2:] == ["yard C3", "yard C4"]


@pytest.mark.parametrize(
    ("down", "says"),
    [
        (inches(Fraction(13, 4)), "cut 3 1/4 to finish"),
        (inches(-2), "fill 2 to finish"),
        (inches(0), "at finish"),
        (inches(Fraction(1, 40)), "at finish"),
        (inches(Fraction(1, 10)), "cut ~1/8 to finish"),
    ],
)
def test_a_stake_says_cut_or_fill_and_to_what(down: Length, says: str) -> None:
    assert to_stage(down, "finish", Notation.usual(Units.IN)) == says


def test_in_millimetres_too() -> None:
    assert to_stage(millimetres(83), "base", Notation.usual(Units.MM)) == "cut 83 to base"


def test_a_stakes_label_says_how_far_below_its_top_each_stage_is() -> None:
    label = next(stake_labels(PLAN, AREA, inches(6)))
    assert (label.point, label.what, label.start) == ("A", "by the tap", "top 6 in above finish")
    assert label.at.height == inches(5)
    assert [says for _, _, says in label.stages] == [
        "cut 6 to finish", "cut 8 3/8 to bedding", "cut 9 3/8 to base", "cut 15 3/8 to subgrade",
    ]  # fmt: skip
    assert [says for _, _, says in next(stake_labels(PLAN, AREA, inches(0), "base")).stages] == ["cut 3 3/8 to base"]


def test_a_string_is_straight_and_stands_higher_over_a_low_point() -> None:
    string = AREA.strings["row"]
    assert string_words(string, Units.IN) == "4 in above finish, 1' left of its points"
    at = [(spot.point, spot.stake, spot.elevation.height, spot.down, spot.at) for spot in string_spots(AREA, string)]
    # B and C lie at -2, so the string runs level at +2; M, half way, is at -2 1/2: 4 1/2 down. Left of the way from
    # (0, 16) to (24, 16) is up, at y = 17.
    assert at == [
        ("B", True, inches(2), inches(4), (feet(0), feet(17))),
        ("M", False, inches(2), inches(Fraction(9, 2)), (feet(12), feet(17))),
        ("C", True, inches(2), inches(4), (feet(24), feet(17))),
    ]


def test_a_string_round_a_corner_stays_as_far_from_both_legs() -> None:
    text = YARD.replace(
        "row: {along: [B, C], above: 4 in, left: 1 ft}", "ell: {along: [A, B, LOW], above: 0, right: 1 ft}"
    )
    text = text.replace("      LOOSE: -3", "      LOW: {elevation: -6, at: [0, 4 ft]}\n      LOOSE: -3")
    text = text.replace("at: [9 ft, 12 ft]", "at: [9 ft, 16 ft]")
    plan = read_plan(text, "job.yaml")
    area = plan.areas["yard"]
    spots = string_spots(area, area.strings["ell"])
    assert [spot.point for spot in spots] == ["A", "B", "LOW"]
    for spot, (x, y) in zip(spots, [(9, 17), (-1, 17), (-1, 4)], strict=True):
        assert spot.at is not None
        assert [float(each.metres) / 0.3048 for each in spot.at] == pytest.approx([x, y], abs=1e-5)


def test_a_string_names_points_of_its_area_that_have_places() -> None:
    for wrong, says in (
        ("along: [B, Z]", "Area “yard” has no point “Z”."),
        ("along: [B, LOOSE]", "“LOOSE” has no place for a string beside it; give it “at: [x, y]”."),
        ("along: [B, B]", "A string leads from one point to another; name each once."),
        (
            "right: 2 ft, along: [B, C]",
            "A string runs to the left or to the right of its points, not both; remove one.",
        ),
    ):
        with pytest.raises(PlanProblemsError) as told:
            read_plan(YARD.replace("along: [B, C]", wrong), "job.yaml")
        assert [problem.says for problem in told.value.problems] == [says]


def test_names_in_a_string_are_found_whatever_their_capitals() -> None:
    plan = read_plan(YARD.replace("along: [B, C]", "along: [b, c]"), "job.yaml")
    assert plan.areas["yard"].strings["row"].points == ("B", "C")


def test_the_grade_plan_on_paper_has_tapes_and_strings() -> None:
    told = repr(list(plan_blocks(PLAN, [AREA])))
    for words in ("15' from house C1", "they cross at", "String row", "4 in above finish", "two tapes to each point"):
        assert words in told


def test_the_sheet_has_strings_and_where_asked_for_the_tapes() -> None:
    plain = list(grade_plan_lines(PLAN, [AREA], 80, 13, braille=False))
    assert "string row: 4 in above finish, 1' left of its points" in plain
    assert not any("crossing at" in line for line in plain)
    assert any(
        "15' from house C1" in line for line in grade_plan_lines(PLAN, [AREA], 80, 13, braille=False, tapes=True)
    )


def test_a_label_tells_cut_or_fill_where_the_ground_is_known() -> None:
    # The ground is level at -5: A's finish -1 is filled 4, its subgrade -1 less 9 3/8 is cut 5 3/8.
    text = YARD.replace("  yard:\n    build-up: yard\n", "  yard:\n    build-up: yard\n    existing ground: -5\n")
    plan = read_plan(text, "job.yaml")
    labels = list(ground_labels(plan, plan.areas["yard"]))
    assert [label.point for label in labels] == ["A", "B", "M", "C"]
    assert [says for _, _, says in labels[0].stages] == [
        "fill 4 to finish", "fill 1 5/8 to bedding", "fill 5/8 to base", "cut 5 3/8 to subgrade",
    ]  # fmt: skip
    assert list(ground_labels(PLAN, AREA)) == []
    assert "From existing ground" in repr(list(plan_blocks(plan, [plan.areas["yard"]])))
