"""Marks from the screen: looked at again, made, put right; and what a disturbed setup puts in doubt."""

from __future__ import annotations

from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.doubt import DoubtScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.app.widgets.verdict_panel import VerdictPanel
from gradecheck.measure.quantities import Length
from gradecheck.session.session import Session
from tests.app.driving import (
    JOB,
    Clock,
    app_for,
    begins,
    check,
    go_to,
    point,
    press,
    readings,
    ready_job,
    recorded,
    resize,
    running,
    shown,
    typed,
    verdict,
    words,
)


async def test_a_good_recheck_leaves_the_set_up_standing(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51", "enter", "f5")
    assert words(app) == "DOOR: what does the rod read there now?"
    assert "1 reading since the last recheck." in shown(app)
    await press(pilot, "50-1/16", "enter")
    assert words(app) == "DOOR is off by −1/16 in (allowed 1/8 in): setup OK. Escape goes back."
    assert "0 readings since the last recheck." in shown(app)
    await press(pilot, "escape")
    assert words(app) == "P2 (half way): the rod should read 51 1/2"
    assert recorded(job)[-1] == ("recheck", "DOOR=50-1/16")


async def test_a_failed_recheck_doubts_the_readings_since_and_stops_reading(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter", "f5")
    await press(pilot, "50-1/2", "enter")
    assert words(app).startswith("DOOR is OFF BY −1/2 in (allowed 1/8 in): 2 readings in doubt")
    assert words(app).endswith("Escape, then F4; or F8 strikes it.")
    assert app.screen.query_one("#says").has_class("wrong")
    assert "The laser may have moved: don't use this setup. Set up again." in shown(app)
    await press(pilot, "escape")
    assert verdict(app) == "ON GRADE ?"
    assert "2 IN DOUBT" in words(app, "head")
    assert sum(line.endswith("? in doubt") for line in shown(app).splitlines()) == 2
    await press(pilot, "52", "enter")
    assert words(app) == "The laser may have moved; set up again before you read on."
    assert (typed(app), len(readings(job))) == ("52", 2)
    await press(pilot, "ctrl+u", "f4")
    await press(pilot, "49-1/2", "enter", "enter")
    # Back on Check the points in doubt are the next to be read.
    await press(pilot, "p3", "enter", "51-1/2", "enter")
    assert point(app) == "P1"
    await press(pilot, "50-1/2", "enter")
    assert (point(app), verdict(app)) == ("P2", "ON GRADE")
    assert "1 IN DOUBT" in words(app, "head")


async def test_readings_in_doubt_are_trusted_for_a_reason(jobs: Path, clock: Clock) -> None:
    app = app_for("doubt", jobs, clock)
    async with running(app) as pilot:
        assert isinstance(app.screen, SetUpScreen), "what was found disturbed asks for a new setup"
        assert "The laser may have moved since the last setup." in shown(app)
        await press(pilot, "escape")
        assert verdict(app) == "ON GRADE ?"
        await press(pilot, "ctrl+n")
        assert isinstance(app.screen, DoubtScreen)
        assert "P1       finish    read 51 1/16 in  ON GRADE" in shown(app)
        await press(pilot, "enter")
        assert words(app) == "Say in a few words why they can be trusted."
        await press(pilot, "taped from the wall, agrees", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert verdict(app) == "ON GRADE"
        assert words(app).startswith("1 reading trusted: taped from the wall, agrees.")
        assert recorded(jobs / "court")[-1] == ("doubt", "taped from the wall, agrees")
        await press(pilot, "ctrl+n")
        assert words(app) == "Nothing is in doubt."


async def test_a_turning_point_is_shot_named_and_set_up_on(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "f7")
    assert words(app) == "New mark TP1: what does the rod read there?"
    await press(pilot, "kerb 4", "enter")
    assert words(app) == "New mark kerb 4: what does the rod read there?"
    await press(pilot, "49", "enter")
    assert words(app).startswith("kerb 4 is a mark.")
    assert "kerb 4 = DOOR 0 + 50 − 49 = 1 in" in shown(app)
    await press(pilot, "escape")
    await press(pilot, "f4")
    await press(pilot, "kerb 4", "enter", "60", "enter", "enter")
    # kerb 4 lies at 1, the plane therefore at 61, and P1 wants -1.
    assert words(app) == "P1 (by the hall): the rod should read 62"
    assert recorded(job, "mark") == [("mark", "kerb 4=49")]


async def test_a_name_and_a_figure_typed_as_the_commands_have_them_shoot_a_mark(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "f7")
        await press(pilot, "lid=49 1/2 1/2", "enter")
        assert typed(app) == "lid=49 1/2 1/2"
        assert recorded(job, "mark") == []
        await press(pilot, "escape", "lid = 49 1/2", "enter")
        assert words(app).startswith("lid is a mark.")
        await press(pilot, "a=b", "enter")
        assert words(app) == "New mark a=b: what does the rod read there?"
    assert recorded(job, "mark") == [("mark", "lid=49 1/2")]


async def test_a_mark_may_be_given_its_place_in_the_same_line(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "f7")
        await press(pilot, "lid at 12 ft, nowhere", "enter")
        assert words(app).startswith("A place is x and y")
        await press(pilot, "escape", "lid at 12 ft, 20 ft", "enter")
        assert words(app) == "New mark lid: what does the rod read there?"
        await press(pilot, "49 1/2", "enter")
        await press(pilot, "bolt at gate=48", "enter")
        assert words(app).startswith("bolt at gate is a mark.")
        assert app.session is not None
        book = app.session.state.book
        assert book.place("lid") == (Length(Fraction(12 * 12 * 254, 10000)), Length(Fraction(20 * 12 * 254, 10000)))
        assert book.place("bolt at gate") is None


async def test_a_name_that_is_taken_is_refused_for_a_new_mark(app: GradeApp, job: Path) -> None:
    before = recorded(job)
    async with running(app) as pilot:
        await press(pilot, "f7")
        await press(pilot, "p1", "enter")
        assert words(app) == "“p1” is a point or benchmark of the plan already; give the mark a name of its own."
        assert (typed(app), recorded(job)) == ("p1", before)


async def test_a_mark_put_right_says_what_changes_before_it_does(app: GradeApp, job: Path) -> None:
    async with running(app, (100, 24)) as pilot:
        await press(pilot, "51", "enter", "ctrl+r")
        await press(pilot, "-1/2", "enter")
        assert begins(
            words(app), "DOOR was wrong all along; correct elevation −1/2. 1 point moves, at most by −1/2 in"
        )
        assert recorded(job, "mark given") == []
        await press(pilot, "enter")
        assert words(app).startswith("Say in a few words how you know")
        await press(pilot, "office sheet 3", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert verdict(app) == "FILL 1/2"
        assert recorded(job, "mark given") == [("mark given", "DOOR=-1/2")]


async def test_a_figure_typed_where_the_reason_is_asked_is_another_elevation(app: GradeApp, job: Path) -> None:
    async with running(app, (100, 24)) as pilot:
        for keys in ("ctrl+r", "-1/2", "enter", "-3/4", "enter"):
            await press(pilot, keys)
        assert begins(words(app), "DOOR was wrong all along; correct elevation −3/4. No reading would change. Type")
        await press(pilot, "-3/", "enter")
        assert recorded(job, "mark given") == []
        await press(pilot, "escape", "office sheet 3", "enter")
        assert recorded(job, "mark given") == [("mark given", "DOOR=-3/4")]


async def test_the_box_says_what_is_wanted_when_a_mark_is_put_right(jobs: Path, clock: Clock) -> None:
    text = JOB.replace("build-ups:", "datums: {office: {mark: DOOR, reads: 100 ft}}\nbuild-ups:")
    app = GradeApp(jobs, ready_job(jobs / "court", clock, text), clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+r")
        assert "elevation from the job's zero" in shown(app)
        await press(pilot, "-1/2", "enter")
        assert "how you know" in shown(app)
        await press(pilot, "escape", "escape")
        await press(pilot, "ctrl+d")
        await press(pilot, "ctrl+r")
        assert "elevation from office" in shown(app)


async def test_a_mark_that_moved_changes_nothing_that_was_read_before(app: GradeApp) -> None:
    async with running(app, (100, 24)) as pilot:
        await press(pilot, "51", "enter", "ctrl+r")
        await press(pilot, "ctrl+e")
        await press(pilot, "-1/2", "enter")
        assert "moved: from now on it is −1/2. No reading would change." in words(app)
        await press(pilot, "hit by the loader", "enter")
        assert verdict(app) == "ON GRADE"


async def test_escape_gives_up_a_correction_step_by_step(app: GradeApp, job: Path) -> None:
    before = recorded(job)
    async with running(app, (100, 24)) as pilot:
        await press(pilot, "ctrl+r")
        await press(pilot, "-1/2", "enter", "escape")
        assert words(app).startswith("DOOR was wrong all along; correct elevation …?")
        await press(pilot, "escape")
        assert isinstance(app.screen, CheckScreen)
        assert recorded(job) == before


async def test_a_field_test_takes_its_figures_one_by_one(jobs: Path, clock: Clock) -> None:
    app = app_for("instrument", jobs, clock)
    async with running(app, (100, 24)) as pilot:
        await go_to(pilot, "instrument")
        for figure in ("48", "50", "40", "42", "2 ft", "100 ft"):
            await press(pilot, figure, "enter")
        assert words(app).endswith("Enter records the test, Escape goes back one step.")
        assert recorded(jobs / "court", "test") == []
        await press(pilot, "enter")
        assert isinstance(app.screen, CheckScreen)
        assert len(recorded(jobs / "court", "test")) == 1
        assert check(app).surface.point == "P1"


async def test_a_figure_that_fits_another_mark_counts_and_can_be_struck(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "51", "enter", "f5")
        await press(pilot, "54-3/8", "enter")  # what PIN would read
        assert recorded(jobs / "court", "recheck") == [("recheck", "DOOR=54-3/8")]
        assert "1 reading in doubt" in words(app)
        assert words(app).endswith("Or was that PIN? F8 strikes it.")
        await press(pilot, "f8")
        assert words(app).startswith("Struck: DOOR=54-3/8.")
        await press(pilot, "escape")
        assert "IN DOUBT" not in words(app, "head")
        assert len(recorded(jobs / "court", "void")) == 1


async def test_a_name_that_a_mark_has_is_taken_again_only_when_enter_comes_again(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    assert app.session is not None
    await press(pilot, "f7")
    await press(pilot, "40", "enter", "NAIL=44", "enter")
    before = app.session.state.mark("TP1"), recorded(job)
    for typed_name in ("tp1", "Nail", "TP1", "nail"):
        known = typed_name.upper()
        await press(pilot, f"{typed_name}=41", "enter")
        assert words(app) == (
            f"{known} is a mark already; if you shoot it again, the new spot and elevation count from now on. "
            "Press Enter again to use it; Escape clears it for another name."
        )
        assert typed(app) == f"{typed_name}=41"
        assert (app.session.state.mark("TP1"), recorded(job)) == before
        await press(pilot, "ctrl+u")
    # To ask about one name is not to have asked about another, nor is Escape a yes.
    await press(pilot, "tp1", "enter")
    await press(pilot, "escape")
    await press(pilot, "nail", "enter")
    assert words(app).startswith("NAIL is a mark already")
    assert recorded(job) == before[1]
    await press(pilot, "ctrl+u", "tp1=41", "enter")
    await press(pilot, "enter")
    assert app.session.state.mark("TP1") != before[0]
    assert recorded(job)[-1] == ("mark", "TP1=41")
    assert [name for name in app.session.state.book.marks() if name.casefold() == "tp1"] == ["TP1"]


async def test_a_mark_made_in_another_window_is_asked_about_first(
    pilot: Pilot[int], app: GradeApp, job: Path, clock: Clock
) -> None:
    assert app.session is not None
    await press(pilot, "f7")
    assert words(app) == "New mark TP1: what does the rod read there?"
    with closing(Session(job, by="ME", clock=clock)) as other:
        other.record(actions.mark(other.state, "tp1", "44"))
    await app._look_at_journal()
    made = app.session.state.mark("tp1")
    await press(pilot, "40", "enter")
    assert words(app).startswith("tp1 is a mark already; if you shoot it again")
    assert app.session.state.mark("tp1") == made


@pytest.mark.parametrize(
    ("key", "held"), [("f4", "DOOR"), ("f5", "DOOR"), ("f7", "TP1")], ids=["setup", "recheck", "mark"]
)
async def test_a_large_window_shows_in_large_letters_where_the_rod_is_held(
    pilot: Pilot[int], app: GradeApp, key: str, held: str
) -> None:
    await press(pilot, key)
    panel = app.screen.query_one(VerdictPanel)
    assert not panel.display, "at 80x24 the marks need the room"
    await resize(pilot, 120, 40)
    assert panel.display
    assert panel.size.height >= 9
    assert panel.face.name[0] == held
    lines = shown(app).splitlines()
    at = next(place for place, line in enumerate(lines) if "PIN " in line)
    assert lines[at + 2].strip() == "DOOR = 0 as given", "what is known of the mark stands below the marks"
    await press(pilot, "pin" if key != "f7" else "PEG", "enter")
    assert panel.face.name[0] == ("PIN" if key != "f7" else "PEG")
    await resize(pilot, 80, 24)
    assert not panel.display


async def test_a_setup_in_a_large_window_shows_what_each_mark_makes_of_it(pilot: Pilot[int], app: GradeApp) -> None:
    await resize(pilot, 120, 40)
    await press(pilot, "f4")
    await press(pilot, "50", "enter")
    await press(pilot, "54-3/8", "enter")
    panel = app.screen.query_one(VerdictPanel)
    assert panel.face.large == "HI 50"
    await press(pilot, "55", "enter")
    assert panel.face.large == "DISAGREE 5/8"
    assert panel.display
    await press(pilot, "54-3/8", "enter")
    assert panel.face.large == "HI 50"
