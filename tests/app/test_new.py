"""A job begun on the list of jobs: a question at a time, each can be taken back, nothing written before the end."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.new import NewScreen
from gradecheck.plan.load import load_plan
from gradecheck.plan.starter import Answers, starter_text
from tests.app.driving import Clock, is_busy, press, resize, running, shown, typed, words, write_job
from tests.app.test_names import assert_harmless
from tests.app.test_snapshots import SIZES, assert_as_kept

QUESTIONS = 15
"""As many as there are for one area."""


def answers(app: GradeApp) -> list[str]:
    """The answers so far as they stand on the screen."""
    assert isinstance(app.screen, NewScreen)
    return [said for _, said in app.screen.interview.so_far]


def nothing_written(jobs: Path) -> bool:
    """Whether there is nothing in the folder of jobs, nor the folder itself."""
    return not jobs.exists()


async def test_enter_alone_begins_a_job_and_shows_it_in_the_list(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        for number in range(QUESTIONS):
            assert isinstance(app.screen, NewScreen)
            assert len(answers(app)) == number
            await press(pilot, "enter")
        assert words(app) == f"Enter writes {jobs / 'new-job' / 'job.yaml'}. Escape goes back one question."
        assert nothing_written(jobs)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
        assert "new-job: New job (1 area, 25 points, in)" in shown(app)
        assert words(app).startswith(f"{jobs / 'new-job' / 'job.yaml'} is written;")
    assert (jobs / "new-job" / "job.yaml").read_text(encoding="utf-8") == starter_text(Answers())


async def test_the_new_job_is_highlighted_among_the_others_and_opens(jobs: Path, clock: Clock) -> None:
    for name in ("alder", "zinnia"):
        write_job(jobs / name)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", *["enter"] * (QUESTIONS - 1))
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
        assert app.screen._chosen == jobs / "mill-lane"
        await press(pilot, "enter")
        assert app.session is not None
        assert app.session.plan.job == "Mill Lane"


async def test_what_is_answered_is_in_the_plan(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        for text in ("Mill Lane", "lane", "mm", "KERB", "cross on it", "way", "walk", "back", "steps", "", "deep"):
            await press(pilot, text, "enter") if text else await press(pilot, "enter")
        await press(pilot, *["enter"] * 7)
        assert words(app).startswith("Enter writes ")
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
    plan = load_plan(jobs / "lane" / "job.yaml").plan
    assert (plan.job, plan.notation.units, plan.benchmarks["KERB"].what) == ("Mill Lane", "mm", "cross on it")
    assert {name: area.use for name, area in plan.areas.items()} == {"way": "walk", "back": "steps"}


async def test_the_answers_so_far_stand_above_the_question(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", "enter", "ft", "enter")
        lines = [" ".join(line.split()) for line in shown(app).splitlines()]
        assert lines[1:4] == ["job Mill Lane", "folder mill-lane", "units ft"]
        assert words(app) == "Which benchmark is elevation zero? Enter: DOOR."


async def test_a_wrong_answer_stays_in_the_box_with_a_sentence(jobs: Path, clock: Clock) -> None:
    write_job(jobs / "court")
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Court", "enter")
        assert words(app) == "Name of its folder? Enter: court-2."
        for name, says in (
            ("court", f"There is a job.yaml in {jobs / 'court'} already; nothing is written over it"),
            ("con.x", "“con.x” is a name that Windows keeps for itself; take another."),
            ("a/b", "“a/b” is not a plain folder name, it has a / in it; write it without."),
        ):
            await press(pilot, name, "enter")
            assert words(app).startswith(says)
            assert (typed(app), answers(app)) == (name, ["Court"])
            await press(pilot, "escape")
        await press(pilot, "enter")
        assert answers(app) == ["Court", "court-2"]


async def test_escape_goes_one_question_back_and_from_the_first_to_the_list(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * QUESTIONS)
        for number in reversed(range(QUESTIONS)):
            await press(pilot, "escape")
            assert len(answers(app)) == number
        assert words(app).startswith("Job name, as printed")
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
    assert nothing_written(jobs)


async def test_escape_first_drops_what_is_typed(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", "lan", "escape")
        assert words(app) == "“lan” was not entered. Escape again goes back."
        assert answers(app) == ["Mill Lane"]
        await press(pilot, "escape")
        assert answers(app) == []


async def test_leaving_half_way_asks_about_what_is_typed_and_writes_nothing(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", "lane", "f12")
        assert words(app).startswith("“lane” is typed but not entered.")
        await press(pilot, "f12")
    assert app.return_code == 0
    assert nothing_written(jobs)


async def test_a_text_behind_the_last_question_writes_nothing(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * QUESTIONS)
        await press(pilot, "no", "enter")
        assert words(app).startswith("All answered; press Enter alone to write it")
        assert nothing_written(jobs)


async def test_a_second_enter_writes_no_second_job(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * QUESTIONS)
        await press(pilot, "enter", "enter")
        assert isinstance(app.screen, JobsScreen)
    assert [each.name for each in jobs.iterdir()] == ["new-job"]


async def test_what_can_not_be_written_is_said_and_can_be_tried_again(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * QUESTIONS)
        with monkeypatch.context() as broken:
            broken.setattr(os, "fsync", full)
            await press(pilot, "enter")
        assert "could not be written (no space left on device); nothing was changed." in " ".join(words(app).split())
        assert nothing_written(jobs)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
    assert load_plan(jobs / "new-job" / "job.yaml").plan.job == "New job"


@pytest.mark.parametrize("name", ["[/]", "[@click=app.quit]X[/]", "slab[b", "it's: #1", "庭"])
async def test_hostile_answers_are_text(jobs: Path, clock: Clock, name: str) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "ctrl+y")
        for text in (name, "site", "in", f"M{name}", name, name):
            await press(pilot, *text, "enter")
            assert_harmless(app)
        assert words(app).startswith(f"What kind of area is “{name}”?")
        await press(pilot, *["enter"] * (QUESTIONS - 6))
        await press(pilot, "enter")
        assert f"site: {name} (1 area, 25 points, in)" in shown(app)
        assert_harmless(app)


async def test_a_window_made_small_and_large_again_shows_what_it_showed(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * 6)
        await press(pilot, "wal")
        before = shown(app)
        for size in ((40, 12), (20, 5), (1, 1), (200, 60)):
            await resize(pilot, *size)
            assert typed(app) == "wal"
            assert not is_busy(app), f"in {size} it is drawn for ever"
        await resize(pilot, 80, 24)
        assert shown(app) == before
        await press(pilot, "k", "enter")
        assert answers(app)[-1] == "walk"


async def test_the_help_is_titled_with_words(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "f1")
        assert words(app, "head") == " Keys · New job"


async def test_the_questions_look_as_they_did(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, *["enter"] * 6)
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"new-kind-{size[0]}x{size[1]}")
        await press(pilot, *["enter"] * (QUESTIONS - 6))
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"new-end-{size[0]}x{size[1]}")
