"""What was built is held to its limits by what is trusted, and over-digging is kept up while it happens."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.journal.facts import Gauged
from gradecheck.measure.quantities import FOOT, inches
from gradecheck.report.checks import area_results, over_dig_result
from gradecheck.report.stone import over_dug_text
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_gauged, check_layout, next_risers, over_dug, topmost_stage
from gradecheck.state.built import differences, exceptions, found_spots
from gradecheck.state.dig_so_far import DigSoFar
from gradecheck.state.state import Surface
from tests.first_things import job_open

JOB = """\
job: Fallow Lane court
codes: [us-residential]
units: in
benchmarks: {DOOR: {elevation: 0, at: [0 ft, 0 ft]}, PIN: -4}
build-ups:
  court: {layers: [{paver: 2 in}, {base: 6 in}], past edge: 8 in}
tolerances: {subgrade: 1/2 in, base: 3/8 in, finish: 1/4 in}
stone: {density: 140 lb/ft^3, loose: no, price: 38 $/ton}
areas:
  court:
    build-up: court
    outline: [[0 ft, 0 ft], [20 ft, 0 ft], [20 ft, 10 ft], [0 ft, 10 ft]]
    drains: {away from: wall, at least: 2%}
    points:
      A: {elevation: -1, at: [0 ft, 0 ft]}
      B: {elevation: -1, at: [10 ft, 0 ft]}
      C: {elevation: -1, at: [20 ft, 0 ft]}
      D: {elevation: -3.4, at: [0 ft, 10 ft]}
      E: {elevation: -3.4, at: [10 ft, 10 ft]}
      F: {elevation: -3.4, at: [20 ft, 10 ft]}
  stair:
    flight: {from: F, down: 3, riser: 6 in, tread: 14 in}
walls:
  wall: [[0 ft, -1 ft], [20 ft, -1 ft]]
layout:
  court: {sides: [20 ft, 10 ft]}
"""
ROD = 50


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job whose instrument stands: the rod reads 50 in on DOOR."""
    with job_open(tmp_path, JOB, str(ROD)) as session:
        yield session


def _read(session: Session, stage: str, **heights: float) -> None:
    """The rod at each point where the ground lies that many inches above the zero."""
    for point, height in heights.items():
        area = session.plan.area_of[point]
        reading = f"{ROD - height:.4f}".rstrip("0").rstrip(".")
        session.record(actions.reading(session.state, Surface(area, point, stage), reading))


COURT = {"A": -1, "B": -1, "C": -1, "D": -3.4, "E": -3.4, "F": -3.4}


def test_an_area_built_as_planned_drains_and_is_flat(session: Session) -> None:
    _read(session, "finish", **COURT)
    checks = check_area(session.state, "court")
    assert (checks.stage, checks.read, checks.points) == ("finish", 6, 6)
    assert checks.falls is not None
    assert {judged.verdict for judged in checks.falls.judged} == {"passes"}
    assert checks.plane is not None
    assert checks.plane.fall.ratio == Fraction(2, 100)
    assert checks.ponds == ()
    assert {flat.verdict for flat in checks.flatness} == {"passes"}


def test_a_fall_toward_the_building_is_a_fault(session: Session) -> None:
    _read(session, "finish", **{**COURT, "B": -4})
    checks = check_area(session.state, "court")
    assert checks.falls is not None
    backward = [(judged.fall.start, judged.fall.end) for judged in checks.falls.judged if judged.backward]
    assert backward == [("B", "E")]


def test_what_is_in_doubt_is_not_held_to_anything(session: Session) -> None:
    _read(session, "finish", **COURT)
    session.record(actions.recheck(session.state, "DOOR", "51"))
    assert found_spots(session.state, "court", "finish") == []
    checks = check_area(session.state, "court", "finish")
    assert checks.falls is None
    assert exceptions(session.state, "court", "finish") == ((), (), tuple(COURT), ())


def test_risers_are_counted_from_where_the_flight_starts_in_another_area(session: Session) -> None:
    _read(session, "finish", F=-3.4, S1=-9.4, S2=-15.9, S3=-21.4)
    [flight] = check_area(session.state, "stair").flights
    assert [riser.height for riser in flight.risers] == [inches(6), inches(Fraction(13, 2)), inches(Fraction(11, 2))]
    assert {held.what for held in flight.faults} == {"largest less smallest riser"}


@pytest.mark.parametrize("stage", ["subgrade", "base"])
def test_below_the_finish_no_rule_for_paved_surfaces_fails_a_stage(session: Session, stage: str) -> None:
    """The dig falls less than 2% near the wall, and the stair's dig is in steps no one walks on."""
    _read(session, stage, **{**COURT, "D": -3, "E": -1, "F": -3})
    checks = check_area(session.state, "court", stage)
    assert (checks.falls, checks.route, checks.plane, checks.ponds, checks.flights) == (None, None, None, (), ())
    results = area_results(checks, session.plan.notation)
    assert not any("R401" in each.source or "PAV-TEC" in each.source for each in results)
    assert [each.says for each in results if each.section == "falls"] == [
        "drainage and step rules apply at finish; below it each point has its own tolerance"
    ]
    # A straightedge is laid on the base, and on the dig none.
    assert bool(checks.flatness) == (stage == "base")
    _read(session, "finish", **{**COURT, "D": -3, "E": -1, "F": -3})
    assert any(
        "R401" in each.source for each in area_results(check_area(session.state, "court"), session.plan.notation)
    )


def test_the_topmost_stage_that_was_read_is_checked(session: Session) -> None:
    area = session.plan.areas["court"]
    assert topmost_stage(session.state, area) == "finish"
    _read(session, "base", A=-3)
    assert topmost_stage(session.state, area) == "base"


def test_over_dig_costs_what_the_stone_to_fill_it_costs(session: Session) -> None:
    _read(session, "subgrade", **{name: height - 8 - 0.75 for name, height in COURT.items()})
    found = over_dug(session.state, "court")
    assert found is not None
    assert found.stone is not None
    # 20 x 10 ft, carried 8 in past every edge, 3/4 in too deep, at 140 lb/ft³ and 38 a ton.
    volume = (20 + Fraction(4, 3)) * (10 + Fraction(4, 3)) * Fraction(3, 4) / 12
    assert found.dug.volume == volume * FOOT**3
    assert found.stone.money is not None
    assert float(found.stone.money) == pytest.approx(float(volume * 140 / 2000 * 38))


def test_over_dig_kept_up_reading_by_reading_ends_where_the_whole_ends(session: Session) -> None:
    live = DigSoFar(session.plan, session.plan.areas["court"])
    assert live.can_tell
    for name, height in COURT.items():
        _read(session, "subgrade", **{name: height - 8 - (1 if name in "AE" else 0.25)})
        live.read(session.state, Surface("court", name, "subgrade"))
    found = over_dug(session.state, "court")
    assert found is not None
    assert live.volume == found.dug.volume
    again = DigSoFar(session.plan, session.plan.areas["court"])
    again.start(session.state)
    assert again.volume == live.volume
    _read(session, "subgrade", A=-9)
    live.read(session.state, Surface("court", "A", "subgrade"))
    again.start(session.state)
    assert live.volume == again.volume


@pytest.mark.parametrize("plan", [JOB, re.sub(r", at: [^}]*ft\]}", "}", JOB)], ids=["placed", "not placed"])
@pytest.mark.parametrize("seed", range(3))
def test_over_dig_on_screen_is_the_evenings_from_the_first_reading(tmp_path: Path, plan: str, seed: int) -> None:
    (tmp_path / "job.yaml").write_text(plan, encoding="utf-8")
    session = Session(tmp_path, by="RK")
    session.record(actions.set_up(session.state, "DOOR", str(ROD)))
    live, draw = DigSoFar(session.plan, session.plan.areas["court"]), random.Random(seed)
    assert live.can_tell
    for name in draw.choices(list(COURT), k=9):
        _read(session, "subgrade", **{name: COURT[name] - 8 + draw.randint(-12, 4) / 16})
        live.read(session.state, Surface("court", name, "subgrade"))
        found = over_dug(session.state, "court")
        assert found is not None
        assert found.dug.volume == live.volume
        on_screen = over_dug_text(live.volume, session.plan, wide=True).removeprefix("over-dug ")
        told = over_dig_result(found, session.plan.notation).says
        assert all(part in told for part in on_screen.split(", ")) or not found.dug.over
        assert ("to fill so far:" in told) == (found.dug.read < 6 and found.dug.over > 0)
    session.close()


def test_differences_are_those_of_the_verdicts(session: Session) -> None:
    _read(session, "base", A=-2.5, F=-5.5)
    found = {each.name: each.difference for each in differences(session.state, "court", "base")}
    assert found == {"A": inches(Fraction(1, 2)), "F": inches(Fraction(-1, 10))}


def test_tapes_tell_a_corner_that_is_out(session: Session) -> None:
    [layout] = session.plan.layout.values()
    for pair, length in {
        "A-B": "240",
        "B-C": "120",
        "C-D": "240",
        "D-A": "120",
        "A-C": "269",
        "B-D": "267-5/8",
    }.items():
        start, _, end = pair.partition("-")
        session.record(actions.tape(session.state, "court", start, end, length))
    square = check_layout(session.state, layout)
    assert square.proved
    assert square.verdict == "fault"


def test_over_dig_of_an_undrawn_area_says_that_its_stone_is_not_known(tmp_path: Path) -> None:
    plan = re.sub(r", at: [^}]*ft\]}", "}", JOB)
    plan = re.sub(r"    outline: .*\n", "", plan)
    (tmp_path / "job.yaml").write_text(plan, encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", str(ROD)))
        _read(session, "subgrade", **{name: height - 8 - 0.75 for name, height in COURT.items()})
        found = over_dug(session.state, "court")
        assert found is not None
        assert found.stone is None
        says = over_dig_result(found, session.plan.notation).says
        assert says.endswith("; no stone quantity: the plan has neither an outline nor places")


@pytest.mark.parametrize(
    ("sixteenths", "lippage", "drain"), [(1, "passes", "fault"), (2, "passes", "passes"), (3, "fault", "passes")]
)
def test_a_gauged_step_is_held_to_the_limit_of_its_kind(
    session: Session, sixteenths: int, lippage: str, drain: str
) -> None:
    """Pavers 1/8 in apart at most; above a drain 1/8 to 1/4 in."""
    step = inches(Fraction(sixteenths, 16))
    assert check_gauged(session.state, Gauged("lippage", "court", "B", step)).verdict == lippage
    assert check_gauged(session.state, Gauged("above drain", "court", "B", step)).verdict == drain


def test_nothing_is_said_of_the_next_risers_before_one_is_built(session: Session) -> None:
    _read(session, "finish", F=-3.4)
    assert next_risers(session.state, "stair") == ()
    _read(session, "finish", S1=-9.4)
    (ahead,) = next_risers(session.state, "stair")
    assert ahead.risers == (inches(6), inches(6))


def test_risers_are_not_counted_from_a_start_in_doubt(session: Session) -> None:
    _read(session, "finish", F=-3.4)
    session.record(actions.recheck(session.state, "DOOR", "51"))
    session.record(actions.set_up(session.state, "DOOR", str(ROD)))
    _read(session, "finish", S1=-9.4)
    assert next_risers(session.state, "stair") == ()
