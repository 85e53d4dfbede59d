"""What to tape and what the tapes say, in words; chalk lines and lines round an obstruction."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import feet, inches, millimetres
from gradecheck.plan.model import Bond
from gradecheck.report.layout import chalk_table, offset_line, square_line, tape_line, tape_rows
from gradecheck.session.session import Session
from tests.first_things import job_open

JOB = """\
job: Fallow Lane court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas: {court: {points: {A1: -1}}}
layout:
  court: {sides: [12 ft, 20 ft], tolerance: 1/4 in}
  ruled: {sides: [10 ft, 10 ft]}
"""
INCHES = Notation(Units.IN, inches(Fraction(1, 16)))


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job with two layout checks."""
    with job_open(tmp_path, JOB) as session:
        yield session


def test_all_sides_and_both_diagonals_are_to_be_taped(session: Session) -> None:
    rows = tape_rows(session.state, session.plan.layout["court"])
    assert [(row.start, row.end, row.kind, row.wanted) for row in rows] == [
        ("A", "B", "side", "12'"),
        ("B", "C", "side", "20'"),
        ("C", "D", "side", "12'"),
        ("D", "A", "side", "20'"),
        ("A", "C", "diagonal", "~23' 3 7/8\""),
        ("B", "D", "diagonal", "~23' 3 7/8\""),
    ]


@pytest.mark.parametrize(
    ("taped", "word"),
    [("144-1/4", "ON LENGTH"), ("144.2501", "LONG"), ("143-3/4", "ON LENGTH"), ("143.7499", "SHORT")],
)
def test_a_tape_exactly_at_the_tolerance_is_on_length(session: Session, taped: str, word: str) -> None:
    session.record(actions.tape(session.state, "court", "b", "a", taped))
    row = tape_rows(session.state, session.plan.layout["court"])[0]
    assert row.word == word
    assert word in tape_line(row)


@pytest.mark.parametrize(("taped", "word"), [("120-1/10", "ON LENGTH"), ("120.1001", "LONG")])
def test_without_a_tolerance_the_rule_for_squareness_holds_over_the_length(
    session: Session, taped: str, word: str
) -> None:
    """1:1200 over 10 ft is a tenth of an inch (worked out from the bond line's tolerance)."""
    taped = "120.1" if taped == "120-1/10" else taped
    session.record(actions.tape(session.state, "ruled", "A", "B", taped))
    assert tape_rows(session.state, session.plan.layout["ruled"])[0].word == word


def test_chalk_lines_come_from_the_measured_module() -> None:
    bond = Bond("court", "the kerb", inches(Fraction(31, 8)), inches(8), inches(Fraction(1, 8)), 20, 5, "half")
    planned, measured = chalk_table(bond, INCHES), chalk_table(bond, INCHES, inches(Fraction(63, 16)))
    assert [line.split(maxsplit=2)[1:] for line in planned[1:-1]] == [
        ["5", "1' 8\""],
        ["10", "3' 4\""],
        ["15", "5'"],
        ["20", "6' 8\""],
    ]
    assert measured[-2].split(maxsplit=2) == ["row", "20", "6' 6 3/4\""]


def test_3_4_5_is_the_largest_there_is_room_for() -> None:
    assert "9' along the first side, 12' along the second, 15' across" in square_line(feet(10), feet(14), INCHES)
    assert square_line(inches(1), inches(1), INCHES) == "3-4-5: there is no room for one"


def test_a_line_goes_on_behind_an_obstruction() -> None:
    assert offset_line(feet(3), feet(2), feet(20), INCHES).startswith("Mark the line at 3' and 20' from")
    metric = Notation(Units.MM, millimetres(1))
    assert "no room" in offset_line(millimetres(900), millimetres(500), millimetres(800), metric)


def test_a_tape_just_too_long_never_shows_what_is_allowed(
    session: Session,
) -> None:
    session.record(actions.tape(session.state, "court", "A", "B", "144.26"))  # allowed 1/4
    [row] = [each for each in tape_rows(session.state, session.plan.layout["court"]) if each.taped]
    assert (row.off, row.word) == ("+5/16", "LONG")


def test_what_is_off_by_a_foot_or_more_is_told_as_the_tape_counts_it(session: Session) -> None:
    """24 1/2 in taped on a side of 12 ft is 119 1/2 in short, which no tape shows: 9 ft 11 1/2 in."""
    for taped, off in (("24-1/2", "-9' 11 1/2\""), ("156", "+1'"), ("155-7/8", "+11 7/8"), ("144-1/2", "+1/2")):
        session.record(actions.tape(session.state, "court", "a", "b", taped))
        assert tape_rows(session.state, session.plan.layout["court"])[0].off == off
