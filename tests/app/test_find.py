"""Finding by part of a name, digits alone or a word of a description; areas and stages with their progress."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.find import listed, matches
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, check, point, press, readings, ready_job, typed, words

HERE = Surface("path", "P1", "finish")


@pytest.fixture
def session(jobs: Path, clock: Clock) -> Iterator[Session]:
    """The job of the app's tests: P1 by the hall, P2 half way, P3 at the gate; Y1 to Y10, stakes."""
    opened = Session(ready_job(jobs / "find", clock), clock=clock)
    yield opened
    opened.close()


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("p", ["path", "P1", "P2", "P3"]),
        ("y1", ["Y1", "Y10"]),
        ("10", ["Y10"]),
        ("2", ["P2", "Y2"]),
        ("gate", ["P3"]),
        ("the gate", ["P3"]),
        ("half", ["P2"]),
        ("stake 7", ["Y7"]),
        ("yard", ["yard"]),
        ("fin", ["finish"]),
        ("nowhere", []),
        (" ", []),
    ],
)
def test_the_likeliest_is_first(session: Session, text: str, first: list[str]) -> None:
    found = [match.name for match in matches(session.state, HERE, text)]
    assert sorted(found[: len(first)]) == sorted(first)
    if len(first) == 1:
        assert found[0] == first[0]
    assert bool(found) == bool(first)


def test_areas_and_stages_are_told_with_their_progress(session: Session) -> None:
    session.record(actions.reading(session.state, HERE, "51"))
    assert listed(matches(session.state, HERE, "path")) == "path (finish, 1 of 3 read)"
    assert listed(matches(session.state, HERE, "finish")) == "finish (1 of 3 read)"
    assert listed(matches(session.state, HERE, "stake")).endswith("Y6 stake 6, and 4 more")


async def test_matches_are_shown_as_they_are_typed_and_enter_goes_there(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "gat")
    assert words(app) == "Enter goes to P3 at the gate."
    await press(pilot, "e", "enter")
    assert (point(app), typed(app), readings(job)) == ("P3", "", [])
    await press(pilot, "yard", "enter")
    assert (check(app).surface.area, point(app)) == ("yard", "Y1")
    await press(pilot, "sub", "enter")
    assert check(app).surface.stage == "subgrade"


async def test_digits_alone_are_looked_for_behind_the_key_and_only_there(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "ctrl+f")
    assert words(app) == "Find: path (finish, 0 of 3 read), yard (finish, 0 of 10 read)."
    await press(pilot, "7")
    assert words(app) == "Enter goes to Y7 stake 7."
    await press(pilot, "enter")
    assert (point(app), readings(job)) == ("Y7", [])
    await press(pilot, "57-1/4", "enter")
    assert readings(job) == [("Y7", "finish", "57-1/4")]


async def test_escape_ends_the_finding(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "ctrl+f", "7", "escape")
    await press(pilot, "51", "enter")
    assert readings(job) == [("P1", "finish", "51")]


async def test_escape_gives_up_finding_before_it_goes_back(pilot: Pilot[int], app: GradeApp) -> None:
    asked = words(app)
    await press(pilot, "ctrl+f")
    await press(pilot, "escape")
    assert (check(app).is_current, words(app)) == (True, asked)
    await press(pilot, "51", "enter")  # a figure is a reading again
    assert point(app) == "P2"


async def test_what_was_found_is_not_said_once_the_text_is_taken_back(pilot: Pilot[int], app: GradeApp) -> None:
    asked = words(app)
    for key in ("backspace", "ctrl+u"):
        await press(pilot, "y")
        assert words(app).startswith("Enter goes to yard")
        await press(pilot, key)
        assert words(app) == asked
    await press(pilot, "ctrl+f")
    listed_there = words(app)
    await press(pilot, "7")
    await press(pilot, "backspace")
    assert words(app) == listed_there


async def test_while_something_is_looked_for_the_box_is_no_point_s(pilot: Pilot[int], app: GradeApp) -> None:
    assert words(app, "asked").strip() == "P1 reads"
    await press(pilot, "ctrl+f")
    assert words(app, "asked").strip() == "find"
    await press(pilot, "y7", "enter")
    assert words(app, "asked").strip() == "Y7 reads"
    await press(pilot, "ctrl+f", "escape")
    assert words(app, "asked").strip() == "Y7 reads"
