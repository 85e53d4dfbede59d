"""A spot on a string: the target straight between those of two points, exact; its readings leave all else alone."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import Between, Reading
from gradecheck.measure.quantities import Elevation, Length, feet, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.report.log import log_row
from gradecheck.report.review import Chosen, stage_rows, still_open
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area
from gradecheck.state.state import State, Surface

JOB = """\
job: Larkspur Steps
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0, at: [0 ft, 0 ft]}
build-ups:
  walk: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}
areas:
  terrace:
    build-up: walk
    points:
      F4: {elevation: -1, at: [0 ft, 0 ft]}
      F8: {elevation: -4, at: [6 ft, 8 ft]}
      F9: {elevation: -4, at: [6 ft, 0 ft]}
      North corner: {elevation: -2, at: [0 ft, 12 ft]}
  path:
    points: {P1: -2, P2: -3, Path to gate: -5}
"""
"""F4 to F8 is 10 ft long (6, 8, 10) and falls 3 in: 3/10 in a foot."""


@pytest.fixture
def stood(tmp_path: Path) -> Iterator[Session]:
    """The laser 50 in above the door."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", "50"))
        yield session


def spot(state: State, typed: str, stage: str | None = None) -> Surface:
    """The surface meant, which must be one on a string."""
    found = actions.spot_on_string(state, stage, typed)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("typed", "name", "wanted"),
    [
        ("F4 to F8 at 3 ft", "F4 to F8 at 3 ft", Fraction(-19, 10)),
        ("from f4 TO f8 AT 3'", "F4 to F8 at 3 ft", Fraction(-19, 10)),
        ("F4 to F8, at 40", "F4 to F8 at 3' 4\"", Fraction(-2)),
        ("F8 to F4 at 3 ft", "F8 to F4 at 3 ft", Fraction(-31, 10)),
        ("F4 to F8 at 0", "F4 to F8 at 0 ft", Fraction(-1)),
        ("F4 to F8 at 10 ft", "F4 to F8 at 10 ft", Fraction(-4)),
        ("F4 to F8 at 1.524 m", "F4 to F8 at 5 ft", Fraction(-5, 2)),
        ("F4 to F8 at 1 m", "F4 to F8 at 1 m", -1 - 3 * Fraction(1000, 3048)),
        ("F4 to F8 half way", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 halfway", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 midway", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 at half", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 1/2", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 2/4 of the way", "F4 to F8 half way", Fraction(-5, 2)),
        ("F4 to F8 1/3 way", "F4 to F8 1/3 way", Fraction(-2)),
        ("F4 to F8 at 3 ft of 12 ft", "F4 to F8 at 3 ft of 12 ft", Fraction(-7, 4)),
        ("north corner to F4 half way", "North corner to F4 half way", Fraction(-3, 2)),
        ("F4 to North corner at 6 ft", "F4 to North corner at 6 ft", Fraction(-3, 2)),
        ("P1 to P2 half way", "P1 to P2 half way", Fraction(-5, 2)),
        ("P1 to P2 at 1 ft of 4 ft", "P1 to P2 at 1 ft of 4 ft", Fraction(-9, 4)),
        ("Path to gate to P1 half way", "Path to gate to P1 half way", Fraction(-7, 2)),
        ("P1 to path to gate half way", "P1 to Path to gate half way", Fraction(-7, 2)),
    ],
)
def test_the_target_lies_straight_between_the_two(stood: Session, typed: str, name: str, wanted: Fraction) -> None:
    found = spot(stood.state, typed)
    assert found.point == name
    aim = stood.state.target(found)
    assert aim is not None
    assert aim.wanted == Elevation(inches(wanted).metres)
    assert spot(stood.state, name) == found, "its name reads back as the same spot"


def test_it_is_told_at_every_stage_with_what_is_allowed_there(stood: Session) -> None:
    # The bedding lies 2 3/8 below the finish, within 1/4.
    aim = stood.state.target(spot(stood.state, "F4 to F8 half way", "Bedding"))
    assert aim is not None
    assert aim.wanted == Elevation(inches(Fraction(-39, 8)).metres)
    assert aim.tolerance.high == inches(Fraction(1, 4))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("P1 to P2 at 1 ft", "no places for P1 and P2.*P1 to P2 at 1 ft of 10 ft.*half way"),
        ("F4 to F8 at 11 ft", "F4 to F8 is 10 ft long; 11 ft does not lie on it"),
        ("F4 to F8 at -1 ft", "does not lie on it"),
        ("F4 to F8 at 3 ft of 0", "has no length"),
        ("F4 to F8 at 3 ft of 2 ft", "is 2 ft long"),
        ("F4 to F8", "Say where on the string: F4 to F8 at 3 ft"),
        ("F4 to F8 at", "Say where on the string"),
        ("F4 to F8 somewhere", "Say where on the string"),
        ("F4 to F8 at 1/2", "could be a length or a part of the way; write F4 to F8 1/2 way"),
        ("F4 to F8 4/3", "4/3 is not a part of the way"),
        ("F4 to F8 1/0", "1/0 is not a part of the way"),
        ("F4 to F8 at 3 furlongs", "is not a unit of length"),
        ("F4 to F88 half way", "There is no point “F88 half way”"),
        ("F4 to F4 half way", "from one point to another"),
        ("F4 to P1 half way", "F4 is in terrace, P1 in path; a string runs in one area"),
    ],
)
def test_what_is_no_spot_is_refused_in_a_sentence(stood: Session, typed: str, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        actions.spot_on_string(stood.state, None, typed)


@pytest.mark.parametrize("typed", ["F4", "51-3/8", "", "to", "X1 to F4 half way", "path to gate", "F4 F8 half way"])
def test_other_texts_are_none(stood: Session, typed: str) -> None:
    assert actions.spot_on_string(stood.state, None, typed) is None


@given(st.integers(-600, 600), st.integers(-600, 600), st.integers(0, 1920))
def test_the_height_goes_with_the_way_exactly(first: int, last: int, along: int) -> None:
    """All counted in sixteenths of an inch; the string is 10 ft long, 1920 of them."""
    text = JOB.replace("-1, at: [0 ft, 0 ft]", f"{first / 16:.4f}, at: [0 ft, 0 ft]").replace(
        "-4, at: [6 ft, 8 ft]", f"{last / 16:.4f}, at: [6 ft, 8 ft]"
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.yaml").write_text(text, encoding="utf-8")
        with closing(Session(Path(folder), by="RK")) as session:
            aim = session.state.target(spot(session.state, f"F4 to F8 at {along // 16}.{along % 16 * 625:04} in"))
            assert aim is not None
            weighed = (first * (1920 - along) + last * along) * inches(1).metres
            assert aim.wanted.metres * 16 * 1920 == weighed


def test_a_reading_keeps_its_points_and_distance_and_is_judged_anew(stood: Session) -> None:
    here = spot(stood.state, "F4 to F8 at 40")  # -2, so the rod should read 52
    entry = stood.record(actions.reading(stood.state, here, "52-1/4"))
    fact = entry.fact
    assert isinstance(fact, Reading)
    assert fact.between == Between("F4", "F8", along=inches(40))
    assert (fact.point, fact.judged.word) == ("F4 to F8 at 3' 4\"", Word.FILL)
    verdict = stood.state.verdict(here)
    assert verdict is not None
    assert (verdict.word, verdict.difference) == (Word.FILL, -inches(Fraction(1, 4)))
    row = log_row(stood.state, stood.all_lines()[-1])
    assert (row.subject, row.then, row.now) == ("F4 to F8 at 3' 4\" finish", "FILL 1/4", "FILL 1/4")
    stood.record(stood.correct(entry.id, "52"))
    assert [shot.rod for shot in stood.state.readings(here)] == [inches(52)]
    stood.record(stood.undo())
    stood.record(actions.change_target(stood.state, "F8", "-4 3/4", "the drain lies lower"))
    verdict = stood.state.verdict(here)  # a third of the way, so a quarter lower
    assert verdict is not None
    assert verdict.word is Word.ON_GRADE


def test_with_a_taped_length_a_share_or_an_offset_the_fact_says_so(stood: Session) -> None:
    half = stood.record(actions.reading(stood.state, spot(stood.state, "P1 to P2 1/2"), "52-1/2")).fact
    taped = stood.record(actions.reading(stood.state, spot(stood.state, "P1 to P2 at 1 ft of 4 ft"), "52-1/4")).fact
    string = actions.reading(stood.state, spot(stood.state, "F4 to F8 at 40"), "51", above=inches(1)).fact
    assert isinstance(half, Reading)
    assert isinstance(taped, Reading)
    assert isinstance(string, Reading)
    assert half.between == Between("P1", "P2", share=Fraction(1, 2))
    assert taped.between == Between("P1", "P2", along=feet(1), run=feet(4))
    assert [fact.judged.word for fact in (half, taped, string)] == [Word.ON_GRADE] * 3


def test_spots_change_no_count_no_check_and_nothing_that_is_left(stood: Session) -> None:
    for point, rod in (("F4", "51"), ("F8", "54"), ("F9", "54")):
        stood.record(actions.reading(stood.state, Surface("terrace", point, "finish"), rod))

    def told() -> object:
        state = stood.state
        return (
            check_area(state, "terrace", "finish"), still_open(state)[1:], state.checked("terrace", "finish"),
            state.next_unchecked("terrace", "finish", 0), stage_rows(state, stood.all_lines(), Chosen()),
            state.beside(Surface("terrace", "F9", "finish")), state.problems(),
        )  # fmt: skip

    before = told()
    for typed, rod in (("F4 to F8 half way", "70"), ("F4 to F9 at 3 ft", "30"), ("F8 to North corner 1/3", "53")):
        stood.record(actions.reading(stood.state, spot(stood.state, typed), rod))
    assert told() == before
    with closing(Session(stood.folder)) as again:
        assert len(again.state.spots) == 3


def test_a_slip_at_a_spot_is_seen_against_the_points_read_beside_it(stood: Session) -> None:
    for point, rod in (("F4", "51"), ("F8", "54"), ("F9", "54")):
        stood.record(actions.reading(stood.state, Surface("terrace", point, "finish"), rod))
    here = spot(stood.state, "F4 to F8 half way")
    assert stood.question(here, "52-1/2") is None
    asked = stood.question(here, "64-1/2")
    assert asked is not None
    assert asked.stops


def test_one_in_doubt_is_told_and_trusted_and_struck_like_any_other(stood: Session) -> None:
    here = spot(stood.state, "F4 to F8 half way")
    stood.record(actions.reading(stood.state, here, "52-1/2"))
    stood.record(actions.recheck(stood.state, "DOOR", "51"))
    assert [surface for surface, _ in stood.state.doubts()] == [here]
    last = stood.last_reading()
    assert last is not None
    stood.record(stood.strike(last.id, "wrong string"))
    assert stood.state.spots == {}
    assert stood.state.doubts() == []


def test_a_spot_whose_end_the_plan_lost_is_told_as_not_in_the_plan(stood: Session) -> None:
    here = spot(stood.state, "F4 to F8 half way")
    stood.record(actions.reading(stood.state, here, "52-1/2"))
    file = stood.folder / "job.yaml"
    file.write_text(JOB.replace("      F8: {elevation: -4, at: [6 ft, 8 ft]}\n", ""), encoding="utf-8")
    with closing(Session(stood.folder, by="RK")) as again:
        again.record(again.accept_plan())
        assert again.state.target(here) is None
        row = next(row for line in again.all_lines() if (row := log_row(again.state, line)).kind == "reading")
        assert (row.then, row.now) == ("ON GRADE", "not in the plan now")


def test_a_point_that_has_such_a_name_is_that_point(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB.replace("P2: -3,", "P2: -3, P1 to P2 half way: -9,"), encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        assert actions.spot_on_string(session.state, None, "P1 to P2 half way") is None
        aim = session.state.target(Surface("path", "P1 to P2 half way", "finish"))
        assert aim is not None
        assert aim.wanted == Elevation(inches(-9).metres)


def test_a_length_reads_back_whatever_the_job_counts_in(tmp_path: Path) -> None:
    for units in ("in", "ft-in", "ft", "mm", "cm", "m"):
        folder = tmp_path / units
        folder.mkdir()
        (folder / "job.yaml").write_text(JOB.replace("units: in", f"units: {units}"), encoding="utf-8")
        with closing(Session(folder)) as session:
            for typed in ("7 in", "3 1/64 in", "2.5 ft", "750 mm", "1.2345 m", "0.333 ft"):
                found = session.state.spot(spot(session.state, f"F4 to F8 at {typed}"))
                assert found is not None
                assert isinstance(found.between.along, Length)
                assert spot(session.state, found.name).point == found.name
