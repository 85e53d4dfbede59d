"""A plan taken over lost what a screen stands on: no screen ends the app, keeps a dead name or mixes points up."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app import app as app_module
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.session.session import Session
from tests.app.driving import (
    JOB,
    SCREENS,
    Clock,
    app_for,
    begins,
    check,
    go_to,
    point,
    press,
    readings,
    recorded,
    running,
    settle,
    shown,
    typed,
    words,
)
from tests.thorough import some
from tests.whole import has

pytestmark = pytest.mark.thorough


@pytest.fixture(autouse=True)
def looked_at_when_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The app looks at its files when a test says so, however long the machine takes."""
    for timer in ("LOOKS_EVERY", "COLLECTS_AFTER", "CATCHES_UP_EVERY"):
        monkeypatch.setattr(app_module, timer, 3600)


PLAN = (
    JOB.replace(
        "benchmarks:",
        "layout:\n  square: {sides: [10 ft, 8 ft]}\n  strip: {sides: [20 ft, 3 ft]}\nbenchmarks:",
    )
    + "  ramp:\n    points: {R1: -1, R2: -2}\n"
)
"""Three areas and two layout checks, so that of each kind some can be lost while others stay."""
LAST_POINT = "      P3: {elevation: -2, what: at the gate}\n"
LAST_STAKE = "      Y10: {elevation: -10 1/4, what: stake 10}\n"
YARD = PLAN[PLAN.index("  yard:\n    build-up") : PLAN.index("  ramp:")]
DOOR = "  DOOR: {elevation: 0, what: threshold of the hall}\n"
LAYOUTS = PLAN[PLAN.index("layout:") : PLAN.index("benchmarks:")]
LOST: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (LAST_STAKE, "", ("Y10",)),
    ("bedding:", "sand:", ("bedding",)),
    ("  square: {sides: [10 ft, 8 ft]}\n", "", ("square",)),
    (LAYOUTS.replace("  square: {sides: [10 ft, 8 ft]}\n", ""), "", ("strip",)),
    (PLAN[PLAN.index("rods:") : PLAN.index("layout:")], "", ()),
    (DOOR, "", ()),  # the setup that was made on it goes on being told
    (YARD.replace(LAST_STAKE, ""), "", ("yard", "Y1")),
)
"""One after the other: what the office takes out of the job file, and the names that may stand on no screen then."""
NOT_ON_A_JOB = ("jobs", "board", "opening", "problems", "findings", "new", "edit", "keys")
ON_A_JOB = [name for name in SCREENS if name not in NOT_ON_A_JOB]


class Office:
    """Changes the job file, and takes it over in a window of its own."""

    def __init__(self, job: Path, clock: Clock, text: str = PLAN) -> None:
        self._file, self._text = job / "job.yaml", text
        self.session = Session(job, by="ME", clock=clock)

    def changes(self, old: str, new: str = "") -> None:
        """Writes something else in the place of what stands there."""
        assert old in self._text
        self._text = self._text.replace(old, new)
        self._file.write_text(self._text, encoding="utf-8")
        self.session.catch_up()
        self.session.plan_file.refresh()
        assert self.session.plan_file.wrong is None
        self.session.record(self.session.accept_plan())


@pytest.fixture
def app(jobs: Path, clock: Clock) -> GradeApp:
    """The app on a job with that plan; it starts on Check."""
    return app_for("check", jobs, clock, PLAN)


@pytest.fixture
def office(app: GradeApp, jobs: Path, clock: Clock) -> Office:
    """The other window on the job that the app is on."""
    return Office(jobs / "court", clock)


async def seen(app: GradeApp, pilot: Pilot[int]) -> None:
    """What timers do every second or two."""
    await app._look_at_journal()
    await app._look_at_plan()
    await settle(pilot)


@pytest.mark.parametrize("screen", some(ON_A_JOB, ("check", "set up", "day")))
async def test_no_screen_ends_or_keeps_a_name_when_a_plan_loses_it(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock, PLAN)
    office = Office(jobs / "court", clock)
    async with running(app, (100, 30)) as pilot:
        if screen not in ("cautions", "doubt"):
            await press(pilot, "y10", "enter", "f3", "f3", "f3", "y10", "enter")
            assert check(app).surface == ("yard", "Y10", "bedding")
        await go_to(pilot, screen)
        for old, new, dead in LOST:
            office.changes(old, new)
            await seen(app, pilot)
            shows = shown(app).replace("build-up yard", "").split(words(app)[:20] or "──")[0].split()
            assert not set(dead) & set(shows), shown(app)
            await press(pilot, "up", "down", "f2")
        await press(pilot, "f3", "51", "enter", "ctrl+u", "Y1", "enter", "ctrl+u", "Y1 -1", "enter")
        await press(pilot, "escape", "escape", "escape")
        assert app.return_code is None
    assert app._exception is None


@pytest.mark.parametrize("how", ["here", "in another window"])
async def test_work_goes_on_where_an_area_got_another_name(
    how: str, app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "p2", "enter")
        if how == "here":
            text = PLAN.replace("  path:\n", "  footway:\n")
            (jobs / "court" / "job.yaml").write_text(text, encoding="utf-8")
            await app._look_at_plan()
            await press(pilot, "ctrl+y")
            await press(pilot, "ctrl+y")
            assert "plan · footway" in words(app, "head")
            await press(pilot, "escape")
        else:
            office.changes("  path:\n", "  footway:\n")
            await seen(app, pilot)
        assert check(app).surface == ("footway", "P2", "finish")
        assert "path is no longer in the plan." in words(app)
        assert has(words(app), "P2 (half way): the rod should read 51 1/2")
        await press(pilot, "51-1/2", "enter")
        assert readings(jobs / "court") == [("P2", "finish", "51-1/2")]


async def test_the_point_before_it_stays_the_next_one_where_the_last_is_lost(app: GradeApp, office: Office) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "p3", "enter")
        office.changes(LAST_POINT)
        await seen(app, pilot)
        assert point(app) == "P2"
        assert begins(words(app), "P3 is no longer in path. P2 (half way): the rod should read 51 1/2")
        await press(pilot, "down")
        assert point(app) == "P2"


async def test_a_stage_that_is_lost_gives_way_to_the_lowest(app: GradeApp, office: Office) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "y4", "enter", "f3", "f3", "f3", "y4", "enter")
        assert check(app).surface == ("yard", "Y4", "bedding")
        office.changes("bedding:", "sand:")
        await seen(app, pilot)
        assert check(app).surface == ("yard", "Y4", "subgrade")
        assert words(app).startswith("yard no longer has bedding. Y4 (stake 4): the rod should read")


async def test_a_lost_area_leads_to_where_the_last_reading_left_off(app: GradeApp, office: Office) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "51", "enter", "y1", "enter", "60-5/8", "enter")
        office.changes(YARD)
        await seen(app, pilot)
        assert check(app).surface == ("path", "P2", "finish")
        assert "P1  finish" in words(app, "verdict")


async def test_a_figure_for_a_lost_point_is_asked_about_first(app: GradeApp, office: Office, jobs: Path) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "p3", "enter", "52")
        office.changes(LAST_POINT)
        await seen(app, pilot)
        await press(pilot, "-1/2", "enter")
        said = "P3 is no longer in path. “52-1/2” was typed before that; Enter again uses it for what is asked now."
        assert (words(app).replace("\n", " "), typed(app)) == (said, "52-1/2")
        assert readings(jobs / "court") == []
        await press(pilot, "ctrl+u", "51-1/2", "enter")
        assert readings(jobs / "court") == [("P2", "finish", "51-1/2")]


async def test_readings_behind_a_new_plan_are_not_for_other_points(app: GradeApp, office: Office, jobs: Path) -> None:
    async with running(app, (100, 30)) as pilot:
        office.changes("      P2: {elevation: -1 1/2, what: half way}\n" + LAST_POINT)
        await press(pilot, "p2", "enter", "51-1/2", "enter", "52", "enter")
        assert [name for name, *_ in readings(jobs / "court")] == ["P2"], "entered before anybody could know"
        assert "P2 is no longer in path. “52” was typed before that" in words(app)
        assert (point(app), typed(app)) == ("P1", "52")


async def test_a_figure_keyed_on_the_map_for_a_lost_point_is_asked_about_too(
    app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "p3", "enter")
        await press(pilot, "ctrl+e")
        await press(pilot, "52")
        office.changes(LAST_POINT)
        await seen(app, pilot)
        assert "P3 finish is no longer in the plan." in words(app)
        await press(pilot, "enter")
        assert typed(app) == "52"
        assert readings(jobs / "court") == []
        await press(pilot, "enter")  # asked about: the figure is far off for P2
        await press(pilot, "enter")
        assert [name for name, *_ in readings(jobs / "court")] == ["P2"]


async def test_a_site_point_struck_in_the_log_is_not_stood_on(app: GradeApp, jobs: Path) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "N1 -3", "enter", "escape")
        await press(pilot, "n1", "enter")
        assert point(app) == "N1"
        await press(pilot, "f6")
        await press(pilot, "f8", "no such stake", "enter")
        await press(pilot, "escape")
        assert isinstance(app.screen, CheckScreen)
        assert point(app) == "P3"


async def test_a_stage_that_is_lost_while_it_is_signed_is_not_signed(
    app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "51", "enter", "f9")
        await press(pilot, "ctrl+s", "ME")
        office.changes("  path:\n", "  footway:\n")
        await seen(app, pilot)
        assert words(app).startswith("path, finish is no longer there to sign.")
        await press(pilot, "enter")
        await press(pilot, "enter")
    assert recorded(jobs / "court", "signed off") == []


async def test_an_elevation_keyed_for_a_mark_that_is_lost_is_given_to_no_other(
    app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "put right")
        await press(pilot, "1/2", "enter", "the office says so")
        office.changes(DOOR)
        await seen(app, pilot)
        assert words(app).startswith("DOOR is no longer a benchmark. PIN was wrong all along")
        await press(pilot, "enter")
        assert typed(app) == "the office says so"
    assert recorded(jobs / "court", "mark given") == []


async def test_a_tape_for_a_lost_check_is_asked_about_first(app: GradeApp, office: Office, jobs: Path) -> None:
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "layout")
        await press(pilot, "10 ft")
        office.changes("  square: {sides: [10 ft, 8 ft]}\n")
        await seen(app, pilot)
        await press(pilot, "enter")
        assert "“10 ft” was typed before that" in words(app)
    assert recorded(jobs / "court", "taped") == []


async def test_a_plan_taken_over_in_another_window_is_not_offered_back_here(app: GradeApp, office: Office) -> None:
    async with running(app, (100, 30)) as pilot:
        await app._look_at_plan()
        await press(pilot, "ctrl+y")
        office.changes(LAST_POINT)
        await app._look_at_journal()
        for _ in range(300):
            if "The job file has changed" not in shown(app):
                break
            await pilot.pause(0.01)
        await press(pilot, "ctrl+y")
        assert "there is nothing to accept" in words(app)


async def test_an_entry_struck_in_another_window_is_not_put_right_here(
    app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "51", "enter", "f6")
        await press(pilot, "ctrl+r", "51-1/16", "enter")
        office.session.catch_up()
        last = office.session.last_reading()
        assert last is not None
        office.session.record(office.session.strike(last.id, "wrong stake"))
        await seen(app, pilot)
        assert "was struck or replaced in another window." in words(app)
        await press(pilot, "enter")
    assert app._exception is None
    assert recorded(jobs / "court", "reading") == [("reading", "51")]


async def test_names_the_office_writes_in_other_capitals_are_the_same(
    app: GradeApp, office: Office, jobs: Path
) -> None:
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "y2", "enter", "f3", "y2", "enter", "61-5/8", "enter", "62-5/8", "enter")
        await press(pilot, "f3", "y4", "enter")
        assert check(app).surface == ("yard", "Y4", "base")
        office.changes("Y", "y")
        office.changes("  yard:\n    build-up", "  Yard:\n    build-up")
        office.changes("{base: 6 in}", "{Base: 6 in}")
        office.changes("base: 3/8 in", "BASE: 3/8 in")
        office.changes("DOOR", "Door")
        await seen(app, pilot)
        assert check(app).surface == ("Yard", "y4", "Base")
        assert begins(words(app), "y4 (stake 4): the rod should read 57 5/8.")
        await press(pilot, "f3", "f3", "f3")
        assert "2 of 10" in words(app, "counts")
        assert sum("= on grade" in line for line in shown(app).splitlines()) == 2


@pytest.mark.parametrize("screen", ["map", "plan", "day"])
async def test_other_capitals_take_nothing_from_under_a_screen(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock, PLAN)
    office = Office(jobs / "court", clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "p2", "enter", "51-1/2", "enter")
        await go_to(pilot, screen)
        if screen == "plan":
            await press(pilot, "P2 -2", "enter")  # a reason is asked
        if screen == "day":
            await press(pilot, "ctrl+y")
        before = words(app)
        office.changes("  path:\n", "  Path:\n")
        office.changes("P2: {", "p2: {")
        await seen(app, pilot)
        assert "any more" not in words(app)
        assert words(app).casefold() == before.casefold()
