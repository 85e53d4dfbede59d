"""Undercut that was ordered beside over-dig, and cut and fill from existing ground, with figures worked by hand."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.actions import HeldError, Refusal
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import FOOT, INCH, inches
from gradecheck.report.review import still_open
from gradecheck.report.stone import order_lines, order_rows
from gradecheck.session.session import Session
from gradecheck.state.as_built import over_dug
from gradecheck.state.dig_so_far import DigSoFar
from gradecheck.state.orders import area_orders
from gradecheck.state.state import Surface
from tests.first_things import job_open

JOB = """\
job: Tern Street yard
units: in
benchmarks: {DOOR: 0}
build-ups:
  yard: {layers: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}], lifts: {base: 2}, past edge: 1 ft}
tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/4 in}
stone: {density: 140 lb/ft^3, loose: no, waste: 0%, swell: 20%, truck: 2 yd^3}
hold points: [subgrade, base]
areas:
  yard:
    build-up: yard
    existing ground: -4
    outline: [[0 ft, 0 ft], [10 ft, 0 ft], [10 ft, 10 ft], [0 ft, 10 ft]]
    points: {A: {elevation: -1, at: [0, 0]}, B: {elevation: -1, at: [10 ft, 0]}, C: {elevation: -1, at: [10 ft, 10 ft]}, D: {elevation: -1, at: [0, 10 ft]}}
"""  # noqa: E501 - a line of the job file is kept whole
INCHES = Notation.usual(Units.IN)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job whose instrument stands: the rod reads 50 in on DOOR, so 60 at the subgrade, -10."""
    with job_open(tmp_path, JOB, "50") as session:
        yield session


def read(session: Session, point: str, rod: str, stage: str = "subgrade") -> None:
    session.record(actions.reading(session.state, Surface("yard", point, stage), rod))


def sign(session: Session, stage: str) -> None:
    from gradecheck.state.signing import questions

    session.record(actions.sign_off(session.state, "yard", stage, (), asked=questions(session.state, "yard", stage)))


# -- undercut


def test_an_ordered_undercut_is_no_over_dig_and_what_lies_below_it_is(session: Session) -> None:
    session.record(actions.order_undercut(session.state, "yard", "A", "6", "M. Roe, engineer", "soft clay"))
    read(session, "A", "68")  # 8 in below the subgrade: 6 ordered, 2 over-dug
    read(session, "B", "61")  # 1 in over-dug
    found = over_dug(session.state, "yard")
    assert found is not None
    assert found.undercut is not None
    assert (found.dug.over, found.dug.worst, found.dug.where) == (2, inches(2), "A")
    assert (found.undercut.dug.over, found.undercut.dug.worst) == (1, inches(6))
    assert found.undercut.orders[0].ordered_by == "M. Roe, engineer"


def test_an_undercut_everywhere_is_filled_by_its_own_volume(session: Session) -> None:
    session.record(actions.order_undercut(session.state, "yard", "", "3", "the inspector", "peat"))
    for point in "ABCD":
        read(session, point, "64")  # 4 in below: 3 ordered, 1 over-dug
    found = over_dug(session.state, "yard")
    assert found is not None
    assert found.undercut is not None
    # 10 x 10 ft carried 1 ft past its edges: 144 square feet.
    assert found.dug.volume == 144 * FOOT**2 * INCH
    assert found.undercut.dug.volume == 144 * FOOT**2 * 3 * INCH
    rows = {row["what"]: row["m3"] for row in order_rows(area_orders(session.state, session.plan.areas["yard"]))}
    assert rows["over-dig"] == float(144 * FOOT**2 * INCH)
    assert rows["undercut, ordered"] == float(144 * FOOT**2 * 3 * INCH)
    lines = list(order_lines(area_orders(session.state, session.plan.areas["yard"]), INCHES))
    assert any("undercut ordered: 3 in everywhere by the inspector; dug at 4 points" in line for line in lines)


def test_what_was_undercut_and_filled_again_is_paid_for_all_the_same(session: Session) -> None:
    session.record(actions.order_undercut(session.state, "yard", "", "3", "the inspector", "peat"))
    for point in "ABCD":
        read(session, point, "63")
    for point in "ABCD":
        read(session, point, "60")
    found = over_dug(session.state, "yard")
    assert found is not None
    assert found.undercut is not None
    assert found.dug.volume == 0
    assert found.undercut.dug.volume == 144 * FOOT**2 * 3 * INCH


def test_an_order_that_is_struck_makes_it_over_dig_again(session: Session) -> None:
    order = session.record(actions.order_undercut(session.state, "yard", "", "3", "the inspector", "peat"))
    read(session, "A", "63")
    session.record(session.strike(order.id, "wrong area"))
    found = over_dug(session.state, "yard")
    assert found is not None
    assert found.undercut is None
    assert found.dug.worst == inches(3)


def test_reading_by_reading_the_dig_so_far_leaves_the_order_out_too(session: Session) -> None:
    session.record(actions.order_undercut(session.state, "yard", "", "3", "the inspector", "peat"))
    dig = DigSoFar(session.plan, session.plan.areas["yard"])
    dig.start(session.state)
    for point in "ABCD":
        read(session, point, "64")
        dig.read(session.state, Surface("yard", point, "subgrade"))
    assert dig.volume == 144 * FOOT**2 * INCH


@pytest.mark.parametrize(
    ("point", "depth", "who", "says"),
    [
        ("Z", "3", "M. Roe", "yard has no point “Z”."),
        ("", "-3", "M. Roe", "more than zero"),
        ("", "3", " ", "who ordered"),
    ],
)
def test_an_order_says_where_how_deep_and_who(session: Session, point: str, depth: str, who: str, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        actions.order_undercut(session.state, "yard", point, depth, who, "peat")


# -- hold points


def test_nothing_above_a_hold_point_is_read_until_it_is_signed(session: Session) -> None:
    for point in "ABCD":
        read(session, point, "60")
    with pytest.raises(HeldError) as held:
        read(session, "A", "57", "base lift 1")
    assert str(held.value) == (
        "yard: subgrade is a hold point and not signed off; base lift 1 takes no readings until it is."
    )
    assert "yard, subgrade: hold point, not signed yet." in still_open(session.state)
    sign(session, "subgrade")
    read(session, "A", "57", "base lift 1")
    assert not any("hold point, not signed" in line for line in still_open(session.state))


def test_a_hold_point_is_gone_past_with_a_reason_that_stays_to_be_seen(session: Session) -> None:
    read(session, "A", "60")
    with pytest.raises(Refusal, match="few words"):
        actions.go_past(session.state, "yard", "subgrade", " ")
    note = session.record(actions.go_past(session.state, "yard", "subgrade", "rain coming, inspector on the phone"))
    read(session, "A", "57", "base lift 1")
    assert (
        "yard, subgrade: HOLD POINT GONE PAST without a signature, RK: rain coming, inspector on the phone"
        in still_open(session.state)
    )
    with pytest.raises(HeldError, match="base is a hold point"):
        read(session, "A", "53", "bedding")
    session.record(session.strike(note.id, "not so"))
    with pytest.raises(HeldError, match="subgrade is a hold point"):
        read(session, "B", "57", "base lift 1")


def test_signed_later_it_is_not_told_of_any_more(session: Session) -> None:
    session.record(actions.go_past(session.state, "yard", "subgrade", "rain"))
    for point in "ABCD":
        read(session, point, "60")
    sign(session, "subgrade")
    assert not any("HOLD POINT" in line for line in still_open(session.state))


def test_only_an_open_hold_point_is_gone_past(session: Session) -> None:
    with pytest.raises(Refusal, match="no open hold point"):
        actions.go_past(session.state, "yard", "base lift 1", "rain")


# -- compaction


def test_compaction_is_a_note_with_its_passes(session: Session) -> None:
    fact = session.record(actions.compaction(session.state, "Yard", "Base Lift 1", "4", "plate, damp")).fact
    assert getattr(fact, "text", "") == "base lift 1 compacted, 4 passes; plate, damp"
    kept = session.state.record.on_layers("yard")
    assert [(each.by, each.fact.compacted.passes) for each in kept if each.fact.compacted] == [("RK", 4)]
    for wrong in ("0", "four", "-2", "100"):
        with pytest.raises(Refusal, match="number of passes"):
            actions.compaction(session.state, "yard", "base", wrong)


# -- existing ground


def test_cut_is_from_existing_ground_and_hauled_in_loads(session: Session) -> None:
    # Ground at -4, subgrade at -10: 6 in over 144 square feet, 72 ft^3; swollen by a fifth 86.4 ft^3 = 3.2 yd^3, two
    # loads of 2 yd^3. The base, 6 in over 144 square feet, is 72 ft^3; loose by 1.25 it is 90 ft^3 = 3.33 yd^3.
    found = area_orders(session.state, session.plan.areas["yard"])
    assert found.earthwork is not None
    assert found.soil is not None
    assert found.earthwork.cut == pytest.approx(72 * FOOT**3, abs=1e-5)
    assert found.earthwork.fill == 0
    assert found.soil.loads == 2
    lines = list(order_lines(found, INCHES))
    assert "  cut: 2.67 yd³ in the ground" in lines
    assert "  haul: 3.20 yd³ of soil, loose: 2 loads" in lines
    assert any(line.startswith("  order base:") and line.endswith(": 2 loads") for line in lines)
    assert any("a truck holds 2 yd³ (haul): the plan" in line for line in lines)
    assert any("swell 1.2 (haul): the plan" in line for line in lines)
    assert any("assumed: none is used as fill" in line for line in lines)


def test_fill_is_kept_apart_from_cut(tmp_path: Path) -> None:
    # A plane from -4 at x = 0 that falls 12 in over 10 ft: level with the subgrade, -10, half way. Each wedge is 5 ft
    # long and 10 ft wide, 6 in deep at its end: 12.5 ft^3, times 1.44 for what lies past the edge.
    sloped = "existing ground: {elevation: -4, at: [0, 0], fall: {x: 10%}}"
    (tmp_path / "job.yaml").write_text(JOB.replace("existing ground: -4", sloped), encoding="utf-8")
    session = Session(tmp_path, by="RK")
    found = area_orders(session.state, session.plan.areas["yard"]).earthwork
    session.close()
    assert found is not None
    assert float(found.cut / FOOT**3) == pytest.approx(12.5 * 1.44, rel=1e-4)
    assert float(found.fill / FOOT**3) == pytest.approx(12.5 * 1.44, rel=1e-4)
    assert found.fill_loose == found.fill * Fraction(5, 4)
