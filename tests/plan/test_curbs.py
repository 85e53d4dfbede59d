"""A curb along an edge: its top stands at the edge's points, so much above them, in an area of its own."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import Elevation, feet, inches
from gradecheck.plan.read import read_plan
from tests.plan.sample import complaint, complaints

YARD = """\
job: Curb Court
units: in
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
build-ups: {curb: {layers: [{curb: 12 in}, {base: 4 in}], past edge: 6 in}}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
areas:
  drive:
    surface: {at: DOOR, fall: {y: 2%}}
    edges:
      E: {every: 10 ft, along: [[0, 0], [0, 20 ft]]}
  curb top:
    build-up: curb
    curbs:
      K: {edge: e, upstand: 6 in}
"""


def test_the_top_stands_above_each_point_of_the_edge() -> None:
    """2% over 10 and 20 ft is 2.4 and 4.8 in down; 6 in above that 6, 3.6 and 1.2 in."""
    area = read_plan(YARD, "job.yaml").areas["curb top"]
    assert [point.name for point in area.points] == ["K1", "K2", "K3"]
    assert [point.at for point in area.points] == [(feet(0), feet(y)) for y in (0, 10, 20)]
    tops = (Fraction(6), Fraction(36, 10), Fraction(12, 10))
    assert [point.finish for point in area.points] == [Elevation(inches(top).metres) for top in tops]
    assert area.points[1].working == "E2 −2.4 + upstand 6 in = 3.6 in"


def test_nothing_is_found_in_it() -> None:
    assert findings(read_plan(YARD, "job.yaml")) == []


def test_a_dropped_curb_may_be_flush() -> None:
    area = read_plan(YARD.replace("upstand: 6 in", "upstand: 0"), "job.yaml").areas["curb top"]
    assert area.points[0].finish == Elevation(Fraction(0))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("edge: e,", "edge: F,"), "There is no edge “F”."),
        (("edge: e,", "edge: EE,"), "There is no edge “EE”. Did you mean “E”?"),
        (("upstand: 6 in", "upstand: -6 in"), "Write this without a minus; the key gives the direction."),
        (("upstand: 6 in", "height: 6 in"), "“height” is not a key that belongs here."),
    ],
)
def test_a_curb_along_no_edge_is_refused(change: tuple[str, str], says: str) -> None:
    assert any(says in each.says for each in complaints(YARD.replace(*change)))


def test_a_curb_in_the_area_of_its_edge_is_refused() -> None:
    text = YARD.replace("    edges:\n", "    curbs: {J: {edge: E, upstand: 6 in}}\n    edges:\n")
    assert complaint(text).says == "A curb's top is an area of its own; write it in another than that of “E”."


def test_an_edge_that_is_itself_at_fault_is_told_alone() -> None:
    assert complaint(YARD.replace("every: 10 ft", "every: much")).says.startswith("“much” is not a length")
