"""Where nothing more can be saved, the job is copied into another folder and work goes on there."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.elsewhere import ElsewhereScreen
from gradecheck.app.widgets import entry
from tests.app.driving import Clock, app_for, go_to, press, readings, ready_job, settle, typed, words


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder of the test's own."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr(entry, "PAUSE", 0.0)  # whoever types here has looked up before
    return home


async def copied(pilot: Pilot[int]) -> None:
    """Waits until the copy is made, or refused."""
    while "Copying to" in words(pilot.app):  # type: ignore[arg-type]
        await pilot.pause(0.01)
    await settle(pilot)


async def test_work_goes_on_in_the_other_folder_with_what_was_typed_still_in_the_box(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, *"51", "enter", *"51-1/16")
        await press(pilot, "ctrl+s")
        assert isinstance(app.screen, ElsewhereScreen)
        await press(pilot, *str(tmp_path / "copy"), "enter")
        await copied(pilot)
        assert isinstance(app.screen, CheckScreen)
        assert typed(app) == "51-1/16"
        assert f"Work goes on in {tmp_path / 'copy'} now." in words(app)
        await press(pilot, "enter")
    assert [text for *_, text in readings(tmp_path / "copy")] == ["51", "51-1/16"]
    assert [text for *_, text in readings(jobs / "court")] == ["51"]


async def test_a_job_whose_folder_went_out_of_sight_is_copied_from_what_is_still_open(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, *"51", "enter")
        (jobs / "court").rename(tmp_path / "taken away")
        await press(pilot, *"51-1/16", "enter")
        while "NOT SAVED" not in words(app):
            await pilot.pause(0.01)
        assert "Ctrl+S goes on elsewhere." in words(app)
        await press(pilot, "ctrl+s")
        await press(pilot, *str(tmp_path / "copy"), "enter")
        await copied(pilot)
        await settle(pilot)
        assert typed(app) == "51-1/16"
        await press(pilot, "enter")
    assert [text for *_, text in readings(tmp_path / "copy")] == ["51", "51-1/16"]


async def test_enter_alone_takes_the_proposed_folder_in_the_home_folder(jobs: Path, clock: Clock, home: Path) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await go_to(pilot, "elsewhere")
        assert "~/court-elsewhere" in words(app)
        await press(pilot, "enter")
        await copied(pilot)
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder == home / "court-elsewhere"


async def test_a_folder_that_is_there_already_is_not_written_into(jobs: Path, clock: Clock, tmp_path: Path) -> None:
    ready_job(tmp_path / "other", clock)
    before = {path: path.read_bytes() for path in (tmp_path / "other").iterdir()}
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await go_to(pilot, "elsewhere")
        await press(pilot, *str(tmp_path / "other"), "enter")
        assert isinstance(app.screen, ElsewhereScreen)
        assert "name a folder that is not there yet" in " ".join(words(app).split())
        await press(pilot, "escape", "escape")
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder == jobs / "court"
    assert {path: path.read_bytes() for path in (tmp_path / "other").iterdir()} == before
