"""The list of jobs: how much is doubtful about each, what it is, and never a plan older than the file."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens import findings as findings_screen
from gradecheck.app.screens import jobs as jobs_screen
from gradecheck.app.screens.findings import FindingsScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import KeysScreen
from gradecheck.app.screens.problems import ProblemsScreen
from gradecheck.plan.model import Plan
from tests.app.driving import JOB, Clock, check, press, ready_job, resize, running, settle, shown, words, write_job
from tests.app.test_names import assert_harmless
from tests.app.test_snapshots import SIZES, assert_as_kept

THIN = JOB.replace("{base: 6 in}", "{base: 3 in}")
"""A base an inch too thin, and with it one finding to act on."""
THINNER = THIN.replace("{bedding: 1 in}", "{bedding: 2 in}")
THIN_BASE = "the base is 3 in, at least 4 in for this use; make it thicker."
NOTHING = "No issues found"
PATIENCE = 3000
"""Turns of a hundredth of a second to wait for what is looked for beside the drawing."""


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Findings are counted as soon as the list is up."""
    monkeypatch.setattr(jobs_screen, "COUNTS_AFTER", 0.01)


async def wait_for(pilot: Pilot[int], seen: Callable[[], bool]) -> None:
    """Waits for something that is worked out beside the drawing."""
    for _ in range(PATIENCE):
        if seen():
            return
        await pilot.pause(0.01)
    raise AssertionError(f"it never came:\n{shown(pilot.app)}")  # type: ignore[arg-type]


async def counted(pilot: Pilot[int], app: GradeApp, *names: str) -> None:
    """Waits until the findings of those jobs have been looked for."""

    def all_there() -> bool:
        return isinstance(app.screen, JobsScreen) and {job.name for job in app.screen._found} >= set(names)

    await wait_for(pilot, all_there)
    await settle(pilot)


def row(app: GradeApp, name: str) -> str:
    """The line of the list that is about that job."""
    return next(line[2:].strip() for line in shown(app).splitlines() if line[2:].startswith(f"{name}: "))


def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The jobs whose findings are looked for from here on; nothing is found in them."""
    looked: list[str] = []

    def none(plan: Plan) -> list[object]:
        looked.append(plan.job)
        return []

    monkeypatch.setattr("gradecheck.findings.every.findings", none)
    return looked


# -- the count


async def test_findings_beyond_reminders_are_counted_behind_each_job(jobs: Path, clock: Clock) -> None:
    for name, text in (("one", THIN), ("two", THINNER), ("sound", JOB), ("broken", "job: [")):
        write_job(jobs / name, text)
    app = GradeApp(jobs, clock=clock)
    async with running(app, (100, 24)) as pilot:
        await counted(pilot, app, "one", "two", "sound")
        assert row(app, "one") == "one: Quillmere Court (2 areas, 13 points, in), 1 finding"
        assert row(app, "two") == "two: Quillmere Court (2 areas, 13 points, in), 2 findings"
        assert row(app, "sound") == "sound: Quillmere Court (2 areas, 13 points, in)", "a reminder is not counted"
        assert row(app, "broken") == "broken: 1 problem in its plan, Enter shows them"


async def test_the_list_is_up_before_anything_is_counted(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs_screen, "COUNTS_AFTER", 3600)
    looked = looked_at(monkeypatch)
    write_job(jobs / "one", THIN)
    app = GradeApp(jobs, clock=clock)
    async with running(app):
        assert row(app, "one") == "one: Quillmere Court (2 areas, 13 points, in)"
        assert looked == []


async def test_counting_goes_on_beside_the_keys_and_holds_up_no_one_who_leaves(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    from threading import Event

    began, may_end = Event(), Event()

    def slow(plan: Plan) -> list[object]:
        began.set()
        may_end.wait(30)
        return []

    monkeypatch.setattr("gradecheck.findings.every.findings", slow)
    for name in ("one", "two"):
        write_job(jobs / name, THIN)
    app = GradeApp(jobs, clock=clock)
    try:
        async with running(app) as pilot:
            await wait_for(pilot, began.is_set)
            await press(pilot, "down", "f1")
            assert isinstance(app.screen, KeysScreen)
            await press(pilot, "escape")
            await press(pilot, "f12")
        assert app.return_code == 0
    finally:
        may_end.set()


async def test_a_plan_of_very_many_points_is_looked_at_only_when_asked(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs_screen, "MOST_POINTS", 10 + 3)
    more = JOB + "      Y11: {elevation: -11 1/4}\n"
    for name, text in (("large", more.replace("Quillmere", "Large")), ("small", JOB)):
        write_job(jobs / name, text)
    looked = looked_at(monkeypatch)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await counted(pilot, app, "small")
        assert looked == ["Quillmere Court"]
        await press(pilot, "ctrl+x")
        await wait_for(pilot, lambda: NOTHING in shown(app))
        assert looked == ["Quillmere Court", "Large Court"]


async def test_looking_again_counts_again(jobs: Path, clock: Clock) -> None:
    job = write_job(jobs / "court", THIN)
    app = GradeApp(jobs, clock=clock)
    async with running(app, (100, 24)) as pilot:
        await counted(pilot, app, "court")
        assert row(app, "court").endswith(", 1 finding")
        (job / "job.yaml").write_text(THINNER, encoding="utf-8")
        await press(pilot, "ctrl+o")
        await counted(pilot, app, "court")
        assert row(app, "court").endswith(", 2 findings")


# -- F2


async def test_f2_shows_the_findings_of_the_highlighted_job_line_by_line(jobs: Path, clock: Clock) -> None:
    write_job(jobs / "a", JOB)
    write_job(jobs / "b", THINNER)
    app = GradeApp(jobs, clock=clock)
    async with running(app, (140, 24)) as pilot:
        await counted(pilot, app, "a", "b")
        await press(pilot, "down", "ctrl+x")
        assert isinstance(app.screen, FindingsScreen)
        assert words(app, "head") == " b · findings on job.yaml"
        lines = shown(app).splitlines()
        for says in (THIN_BASE, "the bedding is 2 in, the limit is 1 1/2 in"):
            assert [line[2:23] for line in lines if says in line] == ["line 10: fault: yard,"]
        assert any(
            line.startswith("  line 10: reminder: yard, yard: the dig goes 0 in past the edge") for line in lines
        )
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
        assert app.screen._chosen == jobs / "b"


async def test_f2_does_not_wait_for_the_count(jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs_screen, "COUNTS_AFTER", 3600)
    write_job(jobs / "court", THIN)
    app = GradeApp(jobs, clock=clock)
    async with running(app, (140, 24)) as pilot:
        await press(pilot, "ctrl+x")
        assert isinstance(app.screen, FindingsScreen)
        await wait_for(pilot, lambda: THIN_BASE in shown(app))


async def test_f2_shows_the_file_as_it_is_now(jobs: Path, clock: Clock) -> None:
    job = write_job(jobs / "court", JOB)
    app = GradeApp(jobs, clock=clock)
    async with running(app, (140, 24)) as pilot:
        await counted(pilot, app, "court")
        (job / "job.yaml").write_text(THIN.replace("Quillmere", "Millbrook"), encoding="utf-8")
        await press(pilot, "ctrl+x")
        await wait_for(pilot, lambda: THIN_BASE in shown(app))
        await press(pilot, "escape")
        assert row(app, "court").startswith("court: Millbrook Court ")
        (job / "job.yaml").write_text("job: [", encoding="utf-8")
        await press(pilot, "ctrl+x")
        assert isinstance(app.screen, ProblemsScreen)
        await press(pilot, "escape")
        assert row(app, "court") == "court: 1 problem in its plan, Enter shows them"


async def test_a_plan_with_nothing_doubtful_says_so(jobs: Path, clock: Clock) -> None:
    write_job(jobs / "court", JOB.replace("    build-up: yard\n", ""))
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+x")
        await wait_for(pilot, lambda: NOTHING in shown(app))


async def test_enter_on_the_findings_opens_the_job_and_escape_leads_to_the_list(jobs: Path, clock: Clock) -> None:
    ready_job(jobs / "a", clock)
    ready_job(jobs / "b", clock, THIN.replace("P1:", "Q1:"))
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await counted(pilot, app, "a", "b")
        depth = len(app.screen_stack)
        await press(pilot, "down", "ctrl+x")
        await press(pilot, "enter", "enter")
        assert check(app).session.folder == jobs / "b"
        assert len(app.screen_stack) == depth
        await press(pilot, "escape")
        assert (type(app.screen), len(app.screen_stack)) == (JobsScreen, depth)


async def test_enter_opens_the_job_the_arrows_led_to_however_fast(jobs: Path, clock: Clock) -> None:
    for name in ("a", "b", "c"):
        ready_job(jobs / name, clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "down", "down", "up", "enter")
        assert check(app).session.folder == jobs / "b"


@pytest.mark.parametrize("begun", ["", "50-1/16"])
async def test_a_figure_typed_with_no_job_open_is_named_and_opens_none(jobs: Path, clock: Clock, begun: str) -> None:
    """One escape too many on Check, and the next figure is typed on the list: it must not open the job unsaid."""
    ready_job(jobs / "court", clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        if begun:
            await press(pilot, begun, "escape")
            assert "Enter opens the job." in words(app)
        await press(pilot, "51-3/8")
        assert "“51-3/8” is not taken: no job is open." in words(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
        assert "“51-3/8” was not taken: no job was open. Enter again opens court." in words(app)
        await press(pilot, "enter")
        assert check(app).session.folder == jobs / "court"
        assert check(app).entry.value == ""


def signs(app: GradeApp) -> list[str]:
    """What stands before the name of each job."""
    return [line[0] for line in shown(app).splitlines() if re.match("[> ] [abc]: ", line)]


async def test_escape_from_a_job_leads_to_the_list_with_the_sign_at_that_job(jobs: Path, clock: Clock) -> None:
    for name in ("a", "b", "c"):
        ready_job(jobs / name, clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        assert signs(app) == [">", " ", " "]
        await press(pilot, "down")
        assert signs(app) == [" ", ">", " "]
        await press(pilot, "enter")
        await settle(pilot)
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
        assert signs(app) == [" ", ">", " "]
        await press(pilot, "ctrl+o")
        assert signs(app) == [" ", ">", " "], "looking again leaves it there"


async def test_a_job_whose_journal_is_none_is_told_of_on_the_list(jobs: Path, clock: Clock) -> None:
    job = write_job(jobs / "court", THIN)
    (job / "journal.db").write_bytes(b"no journal at all, but long enough to be looked at" * 20)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await counted(pilot, app, "court")
        await press(pilot, "ctrl+x")
        await press(pilot, "enter")
        await wait_for(pilot, lambda: isinstance(app.screen, JobsScreen))
        await settle(pilot)
        assert "journal.db" in words(app)


async def test_a_long_way_to_the_folder_is_cut_with_a_sign_that_it_goes_on(tmp_path: Path, clock: Clock) -> None:
    far = tmp_path / f"{'long ' * 20}way"
    far.mkdir()
    app = GradeApp(far, clock=clock)
    async with running(app):
        head = shown(app).splitlines()[0]
        assert head.endswith("…")
        assert len(head) == 79, "and one column left free"


async def test_keys_on_an_empty_list_do_no_harm(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+x", "enter")
        assert isinstance(app.screen, JobsScreen)
        assert "Ctrl+Y New" in shown(app)


async def test_the_findings_look_as_they_did(jobs: Path, clock: Clock) -> None:
    write_job(jobs / "court", THINNER)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await counted(pilot, app, "court")
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"jobs-counted-{size[0]}x{size[1]}")
        await press(pilot, "ctrl+x")
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"jobs-findings-{size[0]}x{size[1]}")


async def test_the_help_of_the_findings_is_titled_with_a_word(jobs: Path, clock: Clock) -> None:
    write_job(jobs / "court", THIN)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+x")
        await press(pilot, "f1")
        assert words(app, "head") == " Keys · Findings"
        await press(pilot, "escape")
        assert isinstance(app.screen, findings_screen.FindingsScreen)


@pytest.mark.parametrize("name", ["[/]", "[@click=app.quit]X[/]", "slab[b", "end\\"])
async def test_hostile_names_in_findings_are_text(jobs: Path, clock: Clock, name: str) -> None:
    write_job(
        jobs / "court", THIN.replace("  yard:", f"  '{name}':").replace("build-up: yard", f"build-up: '{name}'")
    )
    app = GradeApp(jobs, clock=clock)
    async with running(app, (140, 24)) as pilot:
        await press(pilot, "ctrl+x")
        await wait_for(pilot, lambda: THIN_BASE in shown(app))
        assert f"line 10: fault: {name}, {name}, " in shown(app)
        assert_harmless(app)
