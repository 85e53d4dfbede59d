"""What an area takes: every loose layer ordered over its outline, the dig hauled, the over-dig filled."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import FOOT, INCH
from gradecheck.report.stone import order_lines, order_rows
from gradecheck.session.session import Session
from gradecheck.state.as_built import over_dug
from gradecheck.state.dig_so_far import DigSoFar
from gradecheck.state.orders import AreaOrders, area_orders
from gradecheck.state.state import Surface
from tests.first_things import job_open

JOB = """\
job: Tern Street yard
units: in
benchmarks: {DOOR: 0}
build-ups:
  yard: {layers: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}], past edge: 1 ft}
tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/4 in}
stone: {density: 140 lb/ft^3, loose: no, waste: 0%}
areas:
  yard:
    build-up: yard
    outline: [[0 ft, 0 ft], [10 ft, 0 ft], [10 ft, 10 ft], [0 ft, 10 ft]]
    points: {A: -1, B: -1}
  lawn:
    build-up: yard
    points: {L: -1}
"""
INCHES = Notation.usual(Units.IN)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job whose instrument stands: the rod reads 50 in on DOOR."""
    with job_open(tmp_path, JOB, "50") as session:
        yield session


def _dig_an_inch_too_deep(session: Session) -> None:
    for point in ("A", "B"):  # wanted at -10 in, found at -11 in
        session.record(actions.reading(session.state, Surface("yard", point, "subgrade"), "61"))


def test_each_loose_layer_is_ordered_and_only_the_base_goes_past_the_edge(session: Session) -> None:
    found = area_orders(session.state, session.plan.areas["yard"])
    # By hand: 12 ft x 12 ft under the base, 10 ft x 10 ft under the sand.
    assert [(each.name, each.area) for each in found.layers] == [
        ("bedding", 100 * FOOT**2),
        ("base", 144 * FOOT**2),
    ]
    sand, base = found.layers
    assert base.compacted == 144 * FOOT**2 * 6 * INCH
    assert sand.loose == 100 * FOOT**2 * INCH * Fraction(108, 100)
    assert found.soil is not None
    assert found.soil.bank == 144 * FOOT**2 * 9 * INCH


def test_an_area_without_an_outline_says_so_and_orders_nothing(session: Session) -> None:
    found = area_orders(session.state, session.plan.areas["lawn"])
    assert (found.layers, found.soil) == ((), None)
    assert list(order_rows(found)) == []
    assert "no outline in the plan" in list(order_lines(found, INCHES))[1]


def test_what_was_over_dug_is_filled_by_the_mean_over_the_outline(session: Session) -> None:
    assert area_orders(session.state, session.plan.areas["yard"]).filling is None
    _dig_an_inch_too_deep(session)
    found = area_orders(session.state, session.plan.areas["yard"])
    assert found.filling is not None
    assert found.filling.volume == 144 * FOOT**2 * INCH
    *_, row = order_rows(found)
    assert (row["what"], row["m3"]) == ("over-dig", float(144 * FOOT**2 * INCH))


def test_lines_and_rows_tell_of_the_same_things_in_the_same_order(session: Session) -> None:
    _dig_an_inch_too_deep(session)
    found = area_orders(session.state, session.plan.areas["yard"])
    assert [row["what"] for row in order_rows(found)] == ["bedding", "base", "paver", "soil to haul", "over-dig"]
    told = [line.strip().partition(":")[0] for line in order_lines(found, INCHES)]
    assert told[:7] == ["yard", "order bedding", "order base", "not ordered", "haul", "over-dug", "worked out with"]
    assert all(isinstance(row["m3"], float) and Fraction(row["m3"]) > 0 for row in order_rows(found))


FROST = JOB.replace(
    "[{paver: 2 in}, {bedding: 1 in}, {base: 6 in}]",
    "[{paver: 2 in}, {bedding: 1 in}, {concrete: 4 in}, {base: 6 in}, {frost layer: 12 in}]",
).replace("{subgrade: 1/2 in", "{concrete: 1/4, frost layer: 1/2, subgrade: 1/2 in")


def _orders(tmp_path: Path, text: str) -> AreaOrders:
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    session = Session(tmp_path, by="RK")
    try:
        return area_orders(session.state, session.plan.areas["yard"])
    finally:
        session.close()


def test_every_layer_has_its_line_whatever_it_is_called(tmp_path: Path) -> None:
    found = _orders(tmp_path, FROST)
    lines = list(order_lines(found, INCHES))
    layers = [line.split(",")[0].strip() for line in lines if line.startswith(("  order", "  not ordered"))]
    assert [line.split(":")[0] for line in layers] == ["order bedding", "order base", "order frost layer",
                                                       "not ordered", "not ordered"]  # fmt: skip
    assert [each.name for each in found.not_ordered] == ["paver", "concrete"]
    frost = found.layers[-1]
    assert frost.compacted == 144 * FOOT**2 * 12 * INCH, "12 ft x 12 ft, past the edge as the base is"
    assert found.not_ordered[1].volume == 100 * FOOT**2 * 4 * INCH


def test_factors_and_assumptions_are_printed_each_with_its_source(session: Session) -> None:
    lines = list(order_lines(area_orders(session.state, session.plan.areas["yard"]), INCHES))
    told = lines[lines.index("  worked out with:") + 1 :]
    assert "    carried past the edge 1.44 (base, haul): the outline, every edge carried outward" in told
    assert "    density, compacted 1.89 ton/yd³ (base): the plan" in told
    assert "    existing ground above the finish 0 ft (haul): assumed: it lies at the finish" in told
    assert all(": " in line for line in told)


BESIDE = {
    # What lies beside 10 ft x 10 ft carried 1 ft: square feet by hand.
    "a wall longer than the edge": ("walls: {house: [[-10 ft, 0 ft], [20 ft, 0 ft]]}\n", "", 12 * 11),
    "a wall drawn the other way": ("walls: {house: [[20 ft, 0 ft], [-10 ft, 0 ft]]}\n", "", 12 * 11),
    "a wall along half of it": ("walls: {house: [[-2 ft, 0 ft], [5 ft, 0 ft]]}\n", "", 144 - 6),
    "a wall half a foot off": ("walls: {house: [[-10 ft, -0.5 ft], [20 ft, -0.5 ft]]}\n", "", 12 * Fraction(23, 2)),
    "a wall far off": ("walls: {house: [[-10 ft, -3 ft], [20 ft, -3 ft]]}\n", "", 144),
    "walls on two sides": ("walls: {house: [[-5 ft, 0 ft], [10 ft, 0 ft], [10 ft, 20 ft]]}\n", "", 121),
    "another area": ("", "[[10 ft, -5 ft], [20 ft, -5 ft], [20 ft, 15 ft], [10 ft, 15 ft]]", 12 * 11),
    "another area as long": ("", "[[10 ft, 0 ft], [20 ft, 0 ft], [20 ft, 10 ft], [10 ft, 10 ft]]", 144 - 10),
}


@pytest.mark.parametrize("what", BESIDE)
def test_nothing_is_carried_past_a_wall_or_into_another_area(tmp_path: Path, what: str) -> None:
    walls, lawn, area = BESIDE[what]
    text = JOB.replace("stone:", f"{walls}stone:")
    if lawn:
        text = text.replace("  lawn:\n", f"  lawn:\n    outline: {lawn}\n")
    found = _orders(tmp_path, text)
    base = found.layers[-1]
    assert base.area == area * FOOT**2
    assert found.soil is not None
    assert found.soil.bank == area * FOOT**2 * 9 * INCH


PLACED = "{A: {elevation: -1, at: [0 ft, 0 ft]}, B: {elevation: -1, at: [10 ft, 0 ft]}, " \
         "C: {elevation: -1, at: [10 ft, 10 ft]}, D: {elevation: -1, at: [0 ft, 10 ft]}}"  # fmt: skip
OUTLINE = "    outline: [[0 ft, 0 ft], [10 ft, 0 ft], [10 ft, 10 ft], [0 ft, 10 ft]]\n"


@pytest.mark.parametrize("how", ["by its outline", "by its outline and places", "by the line round its points"])
@pytest.mark.parametrize("what", BESIDE)
def test_over_dig_is_not_carried_past_a_wall_or_into_another_area_either(tmp_path: Path, what: str, how: str) -> None:
    walls, lawn, area = BESIDE[what]
    text = JOB.replace("stone:", f"{walls}stone:")
    if "outline" not in how:
        text = text.replace(OUTLINE, "")
    if how != "by its outline":
        text = text.replace("{A: -1, B: -1}", PLACED)
    if lawn:
        text = text.replace("  lawn:\n", f"  lawn:\n    outline: {lawn}\n")
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", "50"))
        yard = session.plan.areas["yard"]
        live = DigSoFar(session.plan, yard)
        for point in yard.points:  # an inch too deep everywhere
            session.record(actions.reading(session.state, Surface("yard", point.name, "subgrade"), "61"))
            live.read(session.state, Surface("yard", point.name, "subgrade"))
        found = over_dug(session.state, "yard")
        assert found is not None
        assert found.dug.volume == live.volume == area * FOOT**2 * INCH
