"""A job begun on the list of jobs: a plan asked for and drawn, any answer given again, written at the end alone."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.new import NewScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.files.guided import answers_begun, keep_begun
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.load import load_plan
from tests.app.driving import Clock, press, resize, running, shown, strips, typed, words, write_job
from tests.app.test_names import assert_harmless
from tests.app.test_snapshots import SIZES, assert_as_kept
from tests.plan.three_jobs import JOBS
from tests.thorough import every, some

PATIO = {"title": "Mill Lane", "patio: width": "20 ft", "patio: length": "12 ft", "patio: drop at the house": "1 1/4"}
"""What is typed for one patio; all else is taken as it is offered."""


def answers(app: GradeApp) -> list[str]:
    """The answers so far as they stand on the screen."""
    assert isinstance(app.screen, NewScreen)
    return [said for _, _, said in app.screen.asked.so_far]


def nothing_written(jobs: Path) -> bool:
    """Whether there is nothing in the folder of jobs, nor the folder itself."""
    return not jobs.exists()


def assert_only_bars(app: GradeApp) -> None:
    """Nothing can be clicked but what scrolls."""
    metas = [segment.style.meta for strip in strips(app) for segment in strip if segment.style]
    clicked = {str(value) for meta in metas for key, value in meta.items() if key.startswith("@")}
    assert clicked <= {"scroll_up", "scroll_down", "grab", "release"}


async def answer_all(pilot, texts: dict[str, str], until: str = "") -> int:  # type: ignore[no-untyped-def]
    """Answers every question, up to one; gives how many."""
    app, count = pilot.app, 0
    while (screen := app.screen).asked.question is not None and screen.asked.key != until:
        await press(pilot, *([texts[screen.asked.key]] if screen.asked.key in texts else []), "enter")
        count += 1
        assert count < 100
    return count


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]))
async def test_a_patio_is_asked_for_drawn_written_and_opened(jobs: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, size) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO)
        assert words(app).startswith(f"Enter writes {jobs / 'mill-lane' / 'job.yaml'}.")
        assert nothing_written(jobs)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
        assert app.screen._chosen == jobs / "mill-lane"
        assert words(app).startswith(f"{jobs / 'mill-lane' / 'job.yaml'} is written.")
        await press(pilot, "enter")
        assert app.session is not None
        assert app.session.plan.job == "Mill Lane"
    plan = load_plan(jobs / "mill-lane" / "job.yaml").plan
    assert plan.examples == ()
    assert "<--" not in (jobs / "mill-lane" / "job.yaml").read_text(encoding="utf-8")
    assert plan.areas["patio"].point("P1").finish.height.metres * 10_000 == -1.25 * 254


@pytest.mark.thorough
@pytest.mark.parametrize("job", JOBS)
async def test_three_jobs_are_made_from_nothing_by_keys_alone_and_none_is_refused(
    jobs: Path, clock: Clock, job: str
) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        screen = app.screen
        assert isinstance(screen, NewScreen)
        count = await answer_all(pilot, JOBS[job])
        assert len(screen.asked.so_far) == count, "each answer was taken the first time"
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
    asking = GuidedAnswers(lambda _name: None)
    while asking.question is not None:
        asking.answer(JOBS[job].get(asking.key, ""))
    (written,) = jobs.glob("*/job.yaml")
    assert written.read_text(encoding="utf-8") == asking.build.text()
    assert load_plan(written).plan.job == JOBS[job]["title"]


async def test_each_answer_draws_the_plan_with_its_elevations(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (120, 40)) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO, "patio: drop at the house")
        assert not app.screen.query_one(DrawingView).display
        await press(pilot, "1 1/4", "enter")
        assert app.screen.query_one(DrawingView).display
        assert "P1 −1 1/4" in shown(app)
        await press(pilot, "1/4 in/ft", "enter")
        assert "−3 3/4" in shown(app)  # 10 ft out on a quarter inch a foot


async def test_findings_arise_with_the_answers(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    more = {
        "codes": "us-residential",
        "2: area": "steps",
        "steps: width": "4 ft",
        "steps: risers": "3",
        "steps: riser height": "9",
        "steps: tread depth": "12",
    }
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO | more, "steps: treads fall")
        assert "the riser is 9 in, the limit is 7 3/4 in" in " ".join(words(app, "found").split())


async def test_any_answer_is_gone_back_to_and_the_others_stay(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        count = await answer_all(pilot, PATIO)
        screen = app.screen
        assert isinstance(screen, NewScreen)
        keys = [key for key, _, _ in screen.asked.so_far]
        await press(pilot, *["up"] * (count - keys.index("patio: length")))
        assert words(app) == "How long, the way it goes? Enter: 12 ft."
        await press(pilot, "15 ft", "enter")
        assert screen.asked.is_whole
        assert "15 ft" in answers(app)
        await press(pilot, "ctrl+z", "ctrl+z")
        assert screen.asked.key == keys[-2]
        await press(pilot, "down", "down")
        assert words(app).startswith("Enter writes ")


async def test_leaving_half_way_asks_and_is_taken_up_again(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO, "patio: length")
        before = answers(app)
        await press(pilot, "escape")
        assert words(app) == "Leave? The answers are kept, and Ctrl+Y takes them up again. Esc again leaves."
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
        await press(pilot, "ctrl+y")
        assert words(app).startswith(f"Taken up again with {len(before)} answers; F8 starts over. How long")
        assert answers(app) == before
        await press(pilot, "abc", "up")
        assert typed(app) == "", "what was typed behind one question is none of another"
        await press(pilot, "down")
        assert typed(app) == "abc"
        await press(pilot, "ctrl+u", "f8")
        assert words(app).startswith("Forget all answers and start over?")
        assert answers(app) == before
        await press(pilot, "f8")
        assert answers(app) == []
        assert answers_begun(jobs) == {}
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen), "nothing was answered, so nothing is asked"
    assert nothing_written(jobs)


async def test_what_is_kept_of_a_half_answered_job_may_be_spoilt(jobs: Path, clock: Clock) -> None:
    keep_begun(jobs, {"title": "Mill Lane", "units": "cubits", "patio: width": "-3", "x": "y" * 300})
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        assert answers(app) == ["Mill Lane"]


async def test_an_answer_that_can_not_be_built_is_refused_and_stays(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO | {"2: area": "steps"}, "steps: from its left end")
        await press(pilot, "30 ft", "enter")
        assert words(app) == "That edge is 20 ft long; begin on it."
        assert typed(app) == "30 ft"


async def test_the_answers_so_far_stand_above_the_question(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", "enter", "ft", "enter")
        lines = [" ".join(line.split()) for line in shown(app).splitlines()]
        assert lines[1:5] == ["question answer", "job Mill Lane", "folder mill-lane", "units ft"]
        assert words(app) == "Which benchmark is elevation zero? Enter: DOOR."
        assert app.screen.query_one(RowsView).current == 3


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


async def test_escape_first_drops_what_is_typed(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await press(pilot, "Mill Lane", "enter", "lan", "escape")
        assert words(app) == "“lan” was not entered. Escape again goes back."
        assert answers(app) == ["Mill Lane"]
        await press(pilot, "escape")
        assert words(app).startswith("Leave?")


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
        await answer_all(pilot, PATIO)
        await press(pilot, "no", "enter")
        assert words(app).startswith("All answered; press Enter alone to write it")
        assert nothing_written(jobs)


async def test_a_second_enter_writes_no_second_job(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO)
        await press(pilot, "enter", "enter")
        assert isinstance(app.screen, JobsScreen)
        assert answers_begun(jobs) == {}
    assert [each.name for each in jobs.iterdir()] == ["mill-lane"]


async def test_what_can_not_be_written_is_said_and_can_be_tried_again(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO)
        with monkeypatch.context() as broken:
            broken.setattr(os, "fsync", full)
            await press(pilot, "enter")
        assert "could not be written (no space left on device); nothing was changed." in " ".join(words(app).split())
        assert nothing_written(jobs)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
    assert load_plan(jobs / "mill-lane" / "job.yaml").plan.job == "Mill Lane"


@pytest.mark.parametrize("name", every(5, ["[@click=app.quit]X[/]", "[/]", "slab[b", "it's: #1", "庭"]))
async def test_hostile_answers_are_text(jobs: Path, clock: Clock, name: str) -> None:
    app = GradeApp(jobs, clock=clock)
    texts = {"title": name, "folder": "site", "zero": f"M{name}", "zero-what": name, "1: area": name,
             f"{name}: width": "4 ft", f"{name}: length": "4 ft", f"{name}: drop at the house": "0"}  # fmt: skip
    async with running(app, (100, 60)) as pilot:  # no bar to scroll by
        await press(pilot, "ctrl+y")
        await answer_all(pilot, texts, f"{name}: kind")
        assert_only_bars(app)
        assert words(app).startswith(f"What kind of area is “{name}”?")
        await answer_all(pilot, texts)
        assert_only_bars(app)
        await press(pilot, "enter")
        assert f"site: {name} (1 area, " in shown(app)
        assert_harmless(app)


async def test_a_window_made_small_and_large_again_shows_what_it_showed(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+y")
        await answer_all(pilot, PATIO, "patio: kind")
        await press(pilot, "wal")
        before = shown(app)
        for size in ((40, 12), (20, 5), (1, 1), (200, 60)):
            await resize(pilot, *size)
            assert typed(app) == "wal"
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
        await answer_all(pilot, PATIO, "patio: kind")
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"new-kind-{size[0]}x{size[1]}")
        await answer_all(pilot, PATIO)
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"new-end-{size[0]}x{size[1]}")
