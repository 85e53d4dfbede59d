"""Where nothing more can be saved, the job is copied into another folder and work goes on there."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList

from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.other_folder import OtherFolderScreen
from gradecheck.cli import main
from tests.app.driving import (
    Clock,
    app_for,
    go_to,
    press,
    readings,
    ready_job,
    running,
    settle,
    shown,
    typed,
    words,
    write_job,
)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder of the test's own."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    return home


class Terminal(io.StringIO):
    """A stream that says it is one."""

    def isatty(self) -> bool:
        return True


async def copied(pilot: Pilot[int]) -> None:
    """Waits until the copy is made, or refused."""
    while "Copying to" in words(pilot.app):  # type: ignore[arg-type]
        await pilot.pause(0.01)
    await settle(pilot)


async def test_work_goes_on_in_the_other_folder_with_the_box_as_it_was(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        await press(pilot, *"51", "enter", *"51-1/16")
        await press(pilot, "ctrl+b")
        assert isinstance(app.screen, OtherFolderScreen)
        await press(pilot, *str(tmp_path / "copy"), "enter")
        await copied(pilot)
        assert isinstance(app.screen, CheckScreen)
        assert typed(app) == "51-1/16"
        assert f"Now working in {tmp_path / 'copy'}." in words(app)
        await press(pilot, "enter")
    assert [text for *_, text in readings(tmp_path / "copy")] == ["51", "51-1/16"]
    assert [text for *_, text in readings(jobs / "court")] == ["51"]


async def test_a_job_whose_folder_is_out_of_sight_is_copied_from_the_open_file(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        await press(pilot, *"51", "enter")
        (jobs / "court").rename(tmp_path / "taken away")
        await press(pilot, *"51-1/16", "enter")
        while "NOT SAVED" not in words(app):
            await pilot.pause(0.01)
        assert "Ctrl+B goes on in another folder." in words(app)
        await app._look_at_plan()
        await settle(pilot)
        assert "Ctrl+B goes on in another folder." in words(app), "that the job file is gone too says less"
        await press(pilot, "ctrl+b")
        await press(pilot, *str(tmp_path / "copy"), "enter")
        await copied(pilot)
        await settle(pilot)
        assert typed(app) == "51-1/16"
        await press(pilot, "enter")
    assert [text for *_, text in readings(tmp_path / "copy")] == ["51", "51-1/16"]


async def test_enter_alone_takes_the_proposed_folder_in_the_home_folder(jobs: Path, clock: Clock, home: Path) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "other folder")
        assert "~/court-copy" in words(app)
        await press(pilot, "enter")
        await copied(pilot)
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder == home / "court-copy"


async def test_a_folder_that_is_there_already_is_not_written_into(jobs: Path, clock: Clock, tmp_path: Path) -> None:
    ready_job(tmp_path / "other", clock)
    before = {path: path.read_bytes() for path in (tmp_path / "other").iterdir()}
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "other folder")
        await press(pilot, *str(tmp_path / "other"), "enter")
        assert isinstance(app.screen, OtherFolderScreen)
        assert "name a new folder" in " ".join(words(app).split())
        await press(pilot, "escape", "escape")
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder == jobs / "court"
    assert {path: path.read_bytes() for path in (tmp_path / "other").iterdir()} == before


async def test_a_folder_that_is_gone_does_not_stop_work_elsewhere(
    tmp_path: Path, clock: Clock, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = app_for("check", tmp_path / "stick", clock)

    def gone() -> str:
        raise FileNotFoundError(2, "No such file or directory")

    async with running(app) as pilot:
        await go_to(pilot, "check")
        monkeypatch.setattr(os, "getcwd", gone)
        await press(pilot, "ctrl+b")
        assert isinstance(app.screen, OtherFolderScreen)
        await press(pilot, "copy", "enter")
        assert "give the full path" in words(app)
        await press(pilot, "escape")
        await press(pilot, "~nobody-of-that-name/copy", "enter")
        assert "give the full path" in words(app)
        await press(pilot, "escape", "enter")
        await copied(pilot)
        assert isinstance(app.screen, CheckScreen)
        await press(pilot, "51", "enter")
    assert [text for *_, text in readings(home / "court-copy")] == ["51"]


@pytest.mark.parametrize("named", [".", "court", "court/job.yaml"])
def test_paths_are_made_whole_when_the_program_starts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str
) -> None:
    job = write_job(tmp_path / "court")
    monkeypatch.chdir(job if named == "." else tmp_path)
    started: list[tuple[Path, Path | None]] = []
    monkeypatch.setattr("gradecheck.app.app.run", lambda folder, of, **_: started.append((folder, of)) or 0)
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("sys.stderr", Terminal())
    assert main(["open", named]) == 0
    assert started == [(tmp_path, tmp_path / named if named != "." else job)]
    if named != "court/job.yaml":
        assert main(["jobs", named]) == 0
        assert started[1] == (tmp_path, job)


async def test_escape_from_the_copy_leads_to_the_jobs_of_its_own_folder(tmp_path: Path, clock: Clock) -> None:
    app = app_for("check", tmp_path, clock)
    async with running(app) as pilot:
        await go_to(pilot, "other folder")
        await press(pilot, *str(tmp_path / "farther" / "court"), "enter")
        await copied(pilot)
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
        assert app.screen.folder == tmp_path / "farther"
        assert "> court: Quillmere Court" in shown(app)
        await press(pilot, "enter")
        await settle(pilot)
        assert app.session is not None
        assert app.session.folder == tmp_path / "farther" / "court"


async def test_a_job_left_behind_asks_once_before_it_is_opened(tmp_path: Path, clock: Clock) -> None:
    app = app_for("check", tmp_path, clock)
    async with running(app) as pilot:
        await go_to(pilot, "other folder")
        await press(pilot, *str(tmp_path / "yard"), "enter")
        await copied(pilot)
        await press(pilot, "escape")
        assert "> yard: Quillmere Court" in shown(app), "the list opens on the copy"
        app.screen.query_one(OptionList).highlighted = 0
        await settle(pilot)
        assert "> court: Quillmere Court" in shown(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, JobsScreen)
        assert f"Work moved to {tmp_path / 'yard'}; press Enter again to open this older copy." in words(app)
        await press(pilot, "enter")
        await settle(pilot)
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder == tmp_path / "court"
