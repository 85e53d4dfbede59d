"""Check: a number is a reading at the current point, a name goes there, and what is refused stays in front of you."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.system.settings import GO_ON, STAY, UNTIL_ON_GRADE, Settings
from tests.app.driving import (
    JOB,
    YARD_DIG,
    Clock,
    app_for,
    begins,
    check,
    point,
    post,
    press,
    readings,
    recorded,
    resize,
    running,
    settle,
    shown,
    typed,
    verdict,
    words,
    write_job,
)
from tests.thorough import some
from tests.whole import has


async def test_ten_points_of_an_area_are_checked_in_ten_readings(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "y1", "enter", "f3")
    assert check(app).surface.stage == "subgrade"
    for number, rod in enumerate(YARD_DIG, 1):
        assert point(app) == f"Y{number}"
        await press(pilot, *rod, "enter")  # its characters and one key more, nothing else
    assert readings(job) == [(f"Y{n}", "subgrade", rod) for n, rod in enumerate(YARD_DIG, 1)]
    assert "All 10 checked at subgrade" in words(app)
    assert "10 of 10" in words(app, "counts")


async def test_what_the_rod_should_read_is_said_without_a_mark_of_rounding(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock, JOB.replace("elevation: -1,", "elevation: -1 1/32,"))
    async with running(app):
        assert "P1 (by the hall): the rod should read 51 1/16" in words(app)  # 51 1/32, halves away from zero
        assert "~" not in shown(app)


async def test_the_point_goes_on_to_the_next_unchecked_one_and_round(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "p2", "enter", "51-1/2", "enter")
    assert point(app) == "P3"
    await press(pilot, "52", "enter")
    assert point(app) == "P1"
    await press(pilot, "down")  # to P2, which was read
    await press(pilot, "51-9/16", "enter")
    assert point(app) == "P1", "P3 was read before, so the next unchecked one is P1"


async def test_the_last_point_of_all_stays_when_everything_is_checked(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter", "52", "enter")
    assert point(app) == "P3"
    assert "All 3 checked at finish. F3 next stage, F2 next area" in words(app)


async def test_where_all_is_checked_it_is_told_how_much_of_it_is_out(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter", "52-1/4", "enter")
    await press(pilot, "enter")
    assert "All 3 checked at finish, 1 out." in words(app)


async def test_in_a_narrow_window_a_doubted_reading_says_whole_what_to_do(jobs: Path, clock: Clock) -> None:
    text = JOB.replace("by the hall", "'by the hall, on the left of the middle door'")
    app = app_for("doubt", jobs, clock, text)
    async with running(app) as pilot:
        await press(pilot, "escape")
        await press(pilot, "p1", "enter")
        await resize(pilot, 60, 20)
        assert "IN DOUBT: read it again" in shown(app)
        assert "P1  finish  by " in shown(app)
        assert "…" in next(line for line in shown(app).splitlines() if "saved" in line)
        await resize(pilot, 140, 30)
        assert "P1  finish  by the hall, on the left of the middle door" in shown(app)


VERDICTS = [
    # What P1 wants is -1 within 1/8 both ways; the rod at grade is 51.
    ("right on it", "51", "ON GRADE", "0"),
    ("exactly at the low limit", "51-1/8", "ON GRADE", "-1/8"),
    ("exactly at the high limit", "50-7/8", "ON GRADE", "+1/8"),
    ("low by a mark more", "51-3/16", "FILL 3/16", "-3/16"),
    ("high by a mark more", "50-13/16", "CUT 3/16", "+3/16"),
    ("between two marks, never rounded onto the limit", "51-5/32", "FILL 3/16", "-3/16"),
    ("in feet and inches", "4' 3\"", "ON GRADE", "0"),
]


async def test_the_verdict_stands_in_large_letters_and_in_the_row(pilot: Pilot[int], app: GradeApp) -> None:
    for case, rod, says, off in VERDICTS:
        await press(pilot, "p1", "enter", rod, "enter")
        assert verdict(app) == says, case
        row = next(line for line in shown(app).splitlines() if re.match(r"[> ] P1 +by .* 51 ", line))
        signed = {"O": "= on grade", "F": f"− {says}", "C": f"+ {says}"}[says[0]]
        assert row.endswith(f"  {signed}"), case
        assert words(app, "bar").endswith(f"  off {off.replace('-', '−')}"), case
        assert " saved " in words(app, "verdict")


async def test_large_letters_are_blocks_or_signs_where_fonts_lack_them(job: Path, clock: Clock) -> None:
    for ascii_only, block in ((False, "█"), (True, "#")):
        app = GradeApp(job.parent, job, clock=clock, ascii_only=ascii_only)
        async with running(app) as pilot:
            await press(pilot, "51", "enter")
            assert sum(block * 2 in line for line in words(app, "verdict").splitlines()) == 5
            assert ("█" in shown(app)) is not ascii_only


REFUSED = [
    ("51-3/7", "3/7 is on no tape"),
    ("413/16", "413/16 is a whole or more"),
    ("1,500", "“1,500” can mean two things"),
    ("51 furlong", "not a unit of length here"),
    ("--3", "“--3” is not a length"),
    ("51 -3/8", "“51 -3/8” has a space beside its hyphen"),
    ("51 \N{MINUS SIGN}3/8", "“51 -3/8” has a space beside its hyphen"),
    ("Z9", "There is no point “Z9” in this job."),
]


async def test_a_refused_text_stays_in_the_entry_says_why_and_changes_nothing(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = recorded(job)
    rung: list[str] = []
    async with running(app) as pilot:
        monkeypatch.setattr(app, "bell", lambda: rung.append(typed(app)))
        for text, says in REFUSED:
            await press(pilot, text, "enter")
            assert typed(app) == text
            assert says in words(app)
            assert app.screen.query_one("#says").has_class("wrong")
            assert (recorded(job), point(app), verdict(app)) == (before, "P1", "NOT SAVED")
            await press(pilot, *["backspace"] * len(text))
        assert rung == [text for text, _ in REFUSED], "the bell rings once each time"
        await press(pilot, "51", "enter")
        assert readings(job) == [("P1", "finish", "51")]
        assert not app.screen.query_one("#says").has_class("wrong")


async def test_texts_keyed_behind_a_refused_one_go_to_no_wrong_point(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51-3/7", "enter", "51-1/2", "enter", "52", "enter")
    assert readings(job) == []
    assert point(app) == "P1"
    assert typed(app) == "51-3/7"
    assert "3/7 is on no tape" in words(app)
    assert "Not taken either: “51-1/2”." in words(app)
    assert "Not taken either: “52”." in words(app)


async def test_an_enter_that_came_twice_behind_a_refused_text_says_nothing_more(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, "51-3/7", "enter", "enter")
    assert typed(app) == "51-3/7"
    assert "Not taken" not in words(app)


async def test_a_foot_off_is_asked_about_and_enter_again_keeps_it(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter")
    await press(pilot, "63-1/2", "enter")
    assert "63-1/2 is a foot or more from its neighbors: slip?" in words(app)
    assert (typed(app), verdict(app), len(readings(job))) == ("63-1/2", "SLIP?", 1)
    await press(pilot, "enter")
    assert readings(job)[1:] == [("P2", "finish", "63-1/2")]
    assert verdict(app) == "FILL 12"


async def test_a_figure_asked_about_says_how_to_key_another_which_is_taken(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter")
    await press(pilot, "63-1/2", "enter")
    assert "Enter again keeps it; or enter another." in " ".join(words(app).split())
    await press(pilot, "51-1/2", "enter")
    assert readings(job)[1:] == [("P2", "finish", "51-1/2")]


async def test_a_figure_asked_about_is_not_kept_at_another_point(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "51", "enter")
    await press(pilot, "64", "enter")
    await press(pilot, "down", "enter")
    assert len(readings(job)) == 1, "Enter again answers for the point that was asked about, not for the next"


async def test_a_likely_slip_is_saved_and_said_with_the_key_to_strike_it(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter")
    await press(pilot, "52-1/2", "enter")
    assert readings(job)[1:] == [("P2", "finish", "52-1/2")]
    assert verdict(app) == "FILL 1"
    assert words(app).startswith("P2: 1 in more than its neighbors: slip? * strikes it.")
    assert "would be" not in words(app), "the figure that passes is never named"
    await press(pilot, "*", "enter")
    assert (len(recorded(job, "void")), point(app), verdict(app)) == (1, "P2", "")


async def test_where_nothing_was_read_yet_the_ground_may_be_anywhere(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "y1", "enter", "f3")
    await press(pilot, "30", "enter")
    assert (verdict(app), len(readings(job))) == ("CUT 30 5/8", 1)
    assert "slip" not in words(app)


async def test_an_empty_enter_behind_a_reading_in_a_burst_is_a_glove(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "50", "enter", "enter", "enter")
    assert (point(app), verdict(app)) == ("P1", "CUT 1"), "nobody had seen the verdict yet"
    assert readings(job) == [("P1", "finish", "50")]


async def test_a_name_goes_to_its_point_whatever_its_capitals(pilot: Pilot[int], app: GradeApp) -> None:
    for name, area, stands in (
        ("p3", "path", "P3"),
        ("Y10", "yard", "Y10"),
        ("y2", "yard", "Y2"),
        (" p1 ", "path", "P1"),
    ):
        await press(pilot, name, "enter")
        assert (check(app).surface.area, point(app), typed(app)) == (area, stands, "")


async def test_a_mark_says_where_it_belongs_an_unknown_name_which_is_meant(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "door", "enter")
    assert words(app) == "DOOR is a benchmark; press F4 to set up on it."
    await press(pilot, "ctrl+u", "Y100", "enter")
    assert words(app) == "There is no point “Y100” in this job. Did you mean “Y10”?"


async def test_f2_goes_through_the_areas_and_keeps_the_stage_where_there_is_one(
    pilot: Pilot[int], app: GradeApp
) -> None:
    assert (check(app).surface.area, check(app).surface.stage) == ("path", "finish")
    await press(pilot, "f2")
    assert (check(app).surface.area, check(app).surface.stage) == ("yard", "finish")
    await press(pilot, "f3")
    assert check(app).surface.stage == "subgrade"
    await press(pilot, "f2")
    assert (check(app).surface.area, check(app).surface.stage) == ("path", "finish"), "the path has no subgrade"
    await press(pilot, "51", "enter", "/", "enter")
    assert (check(app).surface.area, check(app).surface.stage) == ("yard", "subgrade"), "which is still being dug"


async def test_f3_goes_through_the_surfaces_from_the_dig_up_and_round(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f2")
    stages = []
    for _ in range(5):
        await press(pilot, "f3")
        stages.append(check(app).surface.stage)
    assert stages == ["subgrade", "base", "bedding", "finish", "subgrade"]


async def test_area_and_stage_begin_at_the_first_point_not_yet_checked(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "p3", "enter")
    await press(pilot, "f2", "f2")
    assert point(app) == "P2"
    await press(pilot, "y5", "enter", "f3")
    assert (check(app).surface.stage, point(app)) == ("subgrade", "Y1")


async def test_up_and_down_walk_the_route_and_stop_at_its_ends(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "y1", "enter")
    visited = []
    for key in ("up", "down", "down", "up", "pagedown", "down", "pageup", "pageup"):
        await press(pilot, key)
        visited.append(point(app))
    assert visited == ["Y1", "Y2", "Y3", "Y2", "Y10", "Y10", "Y1", "Y1"]
    assert begins(words(app), "Y1 (stake 1): the rod should read 51 1/4")


async def test_f8_strikes_the_last_reading_and_returns_to_its_point(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter", "51-7/16", "enter")
    await press(pilot, "y1", "enter", "f3")
    await press(pilot, "f8")
    assert (check(app).surface.area, check(app).surface.stage, point(app)) == ("path", "finish", "P2")
    assert words(app).startswith("Struck: P2 finish, rod 51-7/16. It stays in the log.")
    assert "2 left: P2 unread, P3 unread" in words(app, "head")
    assert "1 of 3" in words(app, "counts")
    await press(pilot, "f8")
    assert (point(app), verdict(app)) == ("P1", "")
    assert [kind for kind, _ in recorded(job)][-4:] == ["reading", "reading", "void", "void"]
    await press(pilot, "f8")
    assert words(app) == "There is no reading to strike."
    assert len(recorded(job, "void")) == 2


async def test_f8_leaves_the_reading_before_it_in_force(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51-3/16", "enter", "p1", "enter", "51", "enter")
    assert verdict(app) == "ON GRADE"
    await press(pilot, "f8")
    assert verdict(app) == "FILL 3/16"


async def test_escape_drops_what_is_typed_and_says_so_before_it_goes_back(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51-1/", "escape")
    assert (typed(app), words(app)) == ("", "“51-1/” was not entered. Escape again goes back.")
    await press(pilot, "escape")
    assert isinstance(app.screen, JobsScreen)
    assert readings(job) == []


@pytest.mark.parametrize(
    ("after", "read", "comes_back_to"),
    [
        (UNTIL_ON_GRADE, "51-3/8", "P1"),  # P1 at -1 reads 51: this is FILL 3/8
        (UNTIL_ON_GRADE, "50-5/8", "P1"),
        (UNTIL_ON_GRADE, "51", "P2"),
        (GO_ON, "51-3/8", "P2"),
        (STAY, "51", "P1"),
    ],
)
async def test_a_job_opened_again_is_at_the_point_that_still_needs_work(
    after: str, read: str, comes_back_to: str, job: Path, clock: Clock
) -> None:
    settings = Settings(after_a_reading=after)
    app = GradeApp(job.parent, job, clock=clock, settings=settings)
    async with running(app) as pilot:
        await press(pilot, read, "enter")
        assert point(app) == comes_back_to
        shown_before = verdict(app)
        if comes_back_to == "P1":
            await press(pilot, "enter")  # on without another reading
        await press(pilot, "f12")
    again = GradeApp(job.parent, job, clock=clock, settings=settings)
    async with running(again) as pilot:
        assert point(again) == comes_back_to
        assert verdict(again) == shown_before
        if comes_back_to == "P1":
            await press(pilot, "51", "enter")
            assert readings(job)[-1] == ("P1", "finish", "51")


async def test_no_verdict_of_the_setup_before_stands_over_the_next_point(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter")
    assert (point(app), verdict(app)) == ("P2", "ON GRADE")
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "enter")
    assert (point(app), verdict(app)) == ("P2", "")
    await press(pilot, "up")
    assert verdict(app) == "ON GRADE", "what was read from the setup before it holds on"


async def test_a_verdict_goes_with_the_setup_that_is_struck(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "up")
    assert verdict(app) == "ON GRADE"
    await press(pilot, "f6")
    await press(pilot, "up", "f8", "wrong mark", "enter", "escape")
    assert (point(app), verdict(app)) == ("P1", "")
    assert "ON GRADE" not in shown(app)


async def test_the_app_takes_up_where_the_last_reading_left_off(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "y1", "enter", "f3", YARD_DIG[0], "enter")
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        assert (check(app).surface.area, check(app).surface.stage, point(app)) == ("yard", "subgrade", "Y2")
        assert verdict(app) == "ON GRADE"


async def test_the_same_figures_are_wanted_on_every_opening(job: Path, clock: Clock) -> None:
    rods = []
    for _ in range(3):
        app = GradeApp(job.parent, job, clock=clock)
        async with running(app):
            rods.append(words(app))
    assert rods == ["P1 (by the hall): the rod should read 51"] * 3


async def test_a_set_up_from_yesterday_is_not_read_from(
    pilot: Pilot[int], app: GradeApp, job: Path, clock: Clock
) -> None:
    clock.pass_by(days=1)
    await press(pilot, "51", "enter")
    assert "from another day" in words(app)
    assert (typed(app), readings(job)) == ("51", [])


async def test_a_job_whose_set_up_is_from_yesterday_opens_on_set_up(job: Path, clock: Clock) -> None:
    clock.pass_by(days=1)
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "enter")  # signs the cautions of the new day
        assert isinstance(app.screen, SetUpScreen)
        await press(pilot, "escape")
        assert "no setup. Press F4 to set up" in words(app)
        assert "NO SETUP" in words(app, "head")


async def test_the_pasted_first_line_is_typed_and_nothing_is_entered(app: GradeApp, job: Path) -> None:
    from textual import events

    async with running(app) as pilot:
        app.screen.focused.post_message(events.Paste("51\n51-1/2\n"))
        await settle(pilot)
        assert (typed(app), readings(job)) == ("51", [])
        post(pilot, "enter")
        await settle(pilot)
        assert readings(job) == [("P1", "finish", "51")]


# -- read, cut, scrape, read again


async def test_a_point_stays_current_until_it_is_on_grade(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "50", "enter")
    assert (point(app), verdict(app)) == ("P1", "CUT 1")
    assert "Read it again, or Enter alone goes on." in words(app)
    await press(pilot, "50-3/4", "enter")
    assert (point(app), verdict(app)) == ("P1", "CUT 1/4")
    assert has(words(app, "verdict"), "was CUT 1, now CUT 1/4")
    await press(pilot, "51", "enter")
    assert (point(app), verdict(app)) == ("P2", "ON GRADE")
    assert words(app, "verdict").splitlines()[0].strip("━█▀ ").startswith("P1  finish")
    assert readings(job) == [("P1", "finish", rod) for rod in ("50", "50-3/4", "51")], "each reading is kept"


async def test_enter_alone_goes_on_without_and_comes_back_to_what_is_left(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "50", "enter")
    await press(pilot, "enter")
    assert (point(app), verdict(app)) == ("P2", "")
    await press(pilot, "51-1/2", "enter")
    await press(pilot, "52", "enter")
    assert (point(app), verdict(app)) == ("P1", "ON GRADE"), "P1 alone is left; P3 is what was read"
    await press(pilot, "enter")
    assert "P1 is the only one left." in words(app)
    assert verdict(app) == "CUT 1"
    await press(pilot, "51", "enter")
    await press(pilot, "enter")
    assert "P1 is on grade, as all here." in words(app)


async def test_what_is_left_stands_in_the_head_when_an_area_is_nearly_done(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "51", "enter")
    assert "2 left: P2 CUT 1/2, P3 unread" in words(app, "head")


async def test_on_a_survey_pass_every_reading_goes_on_and_the_head_says_so(pilot: Pilot[int], app: GradeApp) -> None:
    assert "GO ON" not in words(app, "head")
    await press(pilot, "ctrl+g")
    assert "GO ON" in words(app, "head")
    await press(pilot, "50", "enter", "50", "enter")
    assert point(app) == "P3"
    await press(pilot, "ctrl+g", "50", "enter")
    assert (point(app), "GO ON" in words(app, "head")) == ("P3", False)


@pytest.mark.parametrize(
    ("after", "where"), [("stay", ["P1", "P1"]), ("go on", ["P2", "P3"]), ("stay until on grade", ["P1", "P2"])]
)
async def test_the_settings_say_what_comes_after_a_reading(
    after: str, where: list[str], job: Path, clock: Clock
) -> None:
    app = GradeApp(job.parent, job, clock=clock, settings=Settings(after_a_reading=after))
    async with running(app) as pilot:
        stood = []
        for rod in ("50", "51"):
            await press(pilot, rod, "enter")
            stood.append(point(app))
        assert stood == where


async def test_faults_of_the_settings_are_told_when_a_job_is_opened(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock, settings=Settings(faults=("settings.toml, line 1, column 9: no.",)))
    async with running(app):
        assert "settings.toml, line 1, column 9: no." in words(app)


# -- never a stale verdict


async def test_a_verdict_stays_with_its_point_until_the_next_key(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter")
    assert (point(app), verdict(app)) == ("P2", "ON GRADE")
    await press(pilot, "5")
    assert (verdict(app), typed(app)) == ("", "5")
    assert "No reading at P2 yet" in words(app, "verdict")


async def test_what_is_refused_is_not_saved_until_it_is_dropped(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "50", "enter")
    await press(pilot, "51-3/7", "enter")
    assert verdict(app) == "NOT SAVED"
    await press(pilot, "backspace", "9")
    assert verdict(app) == "NOT SAVED"
    await press(pilot, "escape")
    assert verdict(app) == "CUT 1", "the point's own last verdict"


async def test_after_a_change_by_hand_the_panel_shows_the_new_point_or_none(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "50", "enter")
    for keys, says in ((("down",), ""), (("up",), "CUT 1"), (("f2",), ""), (("f3",), ""), (("p1", "enter"), "CUT 1")):
        await press(pilot, *keys)
        assert verdict(app) == says, keys
        if says:
            assert words(app, "verdict").splitlines()[0].strip("━█▀ ").startswith("P1  finish")


async def test_a_sign_alone_acts_and_a_signed_figure_is_a_reading(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    for sign, stands in (("+", "P2"), ("+", "P3"), ("-", "P2"), ("/", "Y1"), ("/", "P1")):
        await press(pilot, sign, "enter")
        assert point(app) == stands
    await press(pilot, "51", "enter")
    await press(pilot, "*", "enter")
    assert (point(app), len(recorded(job, "void"))) == ("P1", 1)
    assert readings(job) == [("P1", "finish", "51")]
    assert {"+ next", "- back", "* strike", "/ area"} <= set(app.screen.entry.placeholder.split(", "))  # type: ignore[attr-defined]


# -- undo, what is left, another person


async def test_undo_takes_back_the_last_reading_and_then_the_strike_before_it(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "50", "enter")
    await press(pilot, "f8")
    await press(pilot, "51-1/16", "enter")
    await press(pilot, "ctrl+z")
    assert (point(app), verdict(app)) == ("P1", "")
    assert words(app).startswith("Undone: the reading at P1 finish no longer counts. It stays in the log.")
    await press(pilot, "ctrl+z")
    assert (point(app), verdict(app)) == ("P1", "CUT 1")
    assert words(app).startswith("Undone: the reading at P1 finish counts again.")
    assert [text for *_, text in readings(job)][:2] == ["50", "51-1/16"]
    await press(pilot, "ctrl+z", "ctrl+z")
    assert words(app) == "RK has no reading or strike to undo."


async def test_what_is_left_is_one_key_nearest_along_the_route_first(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "y1", "enter")
    await press(pilot, "f3")
    for rod in YARD_DIG[:8]:
        await press(pilot, rod, "enter")
    await press(pilot, "68", "enter")
    await press(pilot, "ctrl+l")
    assert (
        words(app)
        == "2 left: Y10 unread, Y9 CUT 5/8. Press Enter alone to go through them. On F9, Ctrl+L prints them."
    )
    await press(pilot, YARD_DIG[8], "enter", YARD_DIG[9], "enter")
    await press(pilot, "ctrl+l")
    assert words(app) == "Nothing is left: all 10 are on grade at subgrade."


async def test_another_person_signs_the_cautions_and_checks_from_there_on(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "ctrl+k")
    await press(pilot, "tk", "enter")
    assert isinstance(app.screen, CheckScreen)
    assert words(app, "head").rstrip().endswith("TK")
    assert len(recorded(job, "cautions")) == 2
    await press(pilot, "51", "enter")
    assert app.session is not None
    assert app.session.all_lines()[-1].entry.by == "TK"


async def test_the_settings_name_who_signs_where_nobody_did_yet(jobs: Path, clock: Clock) -> None:
    job = write_job(jobs / "court")
    app = GradeApp(jobs, job, clock=clock, settings=Settings(initials="MO"))
    async with running(app) as pilot:
        assert "Press Enter to sign as MO" in words(app)
        await press(pilot, "enter")
        assert app.session is not None
        assert app.session.by == "MO"


@pytest.mark.parametrize(("rod", "rings"), [("51", 1), ("50", 2), ("52", 3)])
async def test_one_bell_on_grade_two_cut_three_fill_where_the_settings_wish_it(
    rod: str, rings: int, job: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    for wished in (True, False):
        app = GradeApp(job.parent, job, clock=clock, settings=Settings(bell=wished))
        rung: list[str] = []
        monkeypatch.setattr(app, "bell", lambda rung=rung: rung.append("bell"))
        async with running(app) as pilot:
            await press(pilot, "p1", "enter", rod, "enter")
            await pilot.pause(1.2)
            assert len(rung) == (rings if wished else 0)


# -- figures of another setup, and no setup at all


def row_of(app: GradeApp, name: str) -> str:
    """The line of a point in the list."""
    with_a_sign = re.compile(f"{name} .* [=+−?·] [a-zA-Z]")
    return next(line[2:] for line in shown(app).splitlines() if with_a_sign.match(line[2:]))


async def test_another_setups_reading_does_not_stand_beside_the_rod_figure(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter")
    assert row_of(app, "P1").split().count("51") == 2
    await press(pilot, "f4")
    await press(pilot, "60", "enter", "enter")
    await press(pilot, "p1", "enter")
    assert check(app).view.card.should_read == "61"
    row = row_of(app, "P1").split()
    assert "61" in row
    assert "51" not in row
    assert row[-4:] == ["earlier", "=", "on", "grade"]
    assert "last read 51 at another setup" in words(app, "card")
    await press(pilot, "61", "enter")
    assert row_of(app, "P1").split().count("61") == 2, "read from this one, it stands there again"


async def test_what_was_read_at_another_offset_does_not_stand_there_either(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "offset 3 1/4 above", "enter")
    assert row_of(app, "P1").split()[-6:] == ["47", "3/4", "earlier", "=", "on", "grade"]
    await press(pilot, "offset off", "enter")
    assert row_of(app, "P1").split().count("51") == 2


async def test_without_a_setup_nobody_is_told_to_hold_the_rod_there(pilot: Pilot[int], app: GradeApp) -> None:
    assert "hold the rod there" in words(app, "verdict")
    await press(pilot, "f5")
    await press(pilot, "50-1/2", "enter")
    await press(pilot, "escape")
    assert "NO SETUP" in words(app, "head")
    assert "hold the rod there" not in words(app, "verdict")
    assert "press F4 to set up" in words(app, "verdict")


async def test_what_is_left_begins_with_the_point_under_the_hand(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter")
    assert point(app) == "P2"
    await press(pilot, "ctrl+l")
    assert words(app).startswith("2 left: P2 unread, P3 unread.")


async def test_a_refusal_that_names_what_was_typed_does_not_name_it_twice(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51+3/8", "enter")
    assert words(app, "verdict").count("51+3/8") == 1
    await press(pilot, "escape", "51", "enter", "38", "enter")
    assert words(app, "verdict").count("38") == 1


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_what_is_left_is_said_to_its_end(size: tuple[int, int], jobs: Path, clock: Clock) -> None:
    """Where there is no room for all names fewer are named, and how many more there are."""
    app = app_for("check", jobs, clock)
    async with running(app, size) as pilot:
        await press(pilot, "f2", "ctrl+l")
        text = words(app)
        assert text.startswith("10 left: Y1 unread, Y2 unread")
        assert text.endswith("On F9, Ctrl+L prints them.")
        named = text.count("unread")
        assert (f" and {10 - named} more." in text) == (named < 10)
        assert " ".join(text.split()[-3:]) in " ".join(shown(app).split())
