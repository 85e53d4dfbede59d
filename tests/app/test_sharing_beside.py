"""The open job is shared by the folder of the settings, in a program of its own that nobody waits for."""

from __future__ import annotations

import asyncio
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.actions.points import add_point
from gradecheck.app import sharing_beside
from gradecheck.app.app import GradeApp
from gradecheck.session.session import Session
from gradecheck.sharing import beside
from gradecheck.sharing.last_copy import last_copy, note
from gradecheck.sharing.share import share
from gradecheck.system.settings import Settings
from tests.app.driving import Clock, press, recorded, running, settle, shown, words
from tests.thorough import some


async def until(true: Callable[[], object]) -> None:
    """Waits for what another program does; it has half a minute on a busy machine."""
    end = time.monotonic() + 30
    while not true():
        assert time.monotonic() < end
        await asyncio.sleep(0.05)


def sharing(app: GradeApp) -> sharing_beside.SharingBeside:
    """What shares the open job."""
    assert app.sharing is not None
    return app.sharing


@pytest.fixture
def meeting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder; a share begins at once, and is looked at often."""
    monkeypatch.setattr(sharing_beside, "AFTER", 0.01)
    monkeypatch.setattr(sharing_beside, "LOOKS_EVERY", 0.02)
    folder = tmp_path / "meeting"
    folder.mkdir()
    return folder


@pytest.fixture
def shares(job: Path, clock: Clock, meeting: Path) -> GradeApp:
    """The app with that folder in its settings."""
    return GradeApp(job.parent, job, clock=clock, settings=Settings(copy_to=str(meeting)))


async def test_a_start_copies_the_job_off_the_laptop_and_the_title_says_when(
    shares: GradeApp, job: Path, meeting: Path
) -> None:
    async with running(shares) as pilot:
        assert "copied" not in words(shares, "head").lower()
        await until(lambda: shares.copies == 1)
        await settle(pilot)
        assert len(list(meeting.glob("*.rows"))) == 1
        at = last_copy(job).at
        assert at is not None
        assert "copied " in words(shares, "head")


async def test_a_wish_is_answered_and_what_another_laptop_put_there_is_shown(
    shares: GradeApp, job: Path, clock: Clock, meeting: Path, tmp_path: Path
) -> None:
    shutil.copytree(job, tmp_path / "theirs")
    other = Session(tmp_path / "theirs", by="MO", laptop="other", clock=clock)
    async with running(shares) as pilot:
        await until(lambda: shares.copies == 1)
        other.identify("MO")
        other.record(add_point(other.state, "path", "P9", "-1 1/2"))
        share(other, meeting)
        other.close()
        shares.action_share()
        await until(lambda: shares.copies == 2)
        await settle(pilot)
        assert "1 new entry taken in" in words(shares)
        await until(lambda: shares.session is not None and "P9" in shares.session.plan.area_of)


async def test_a_folder_that_is_not_there_is_silent_until_the_copy_is_old(
    job: Path, clock: Clock, meeting: Path, tmp_path: Path
) -> None:
    note(job, "", whole=True, at=clock() - timedelta(hours=2))
    app = GradeApp(job.parent, job, clock=clock, settings=Settings(copy_to=str(tmp_path / "nowhere")))
    async with running(app) as pilot:
        before = words(app)
        await until(lambda: app.copies == 1)
        await settle(pilot)
        assert words(app) == before
        assert "copied " in words(app, "head")
        clock.pass_by(days=2)
        sharing(app).share()
        await until(lambda: app.copies == 2)
        await settle(pilot)
        assert "COPY 2 DAYS OLD" in words(app, "head")
        app.action_share()
        await until(lambda: app.copies == 3)
        assert "Nothing was shared: " in words(app)
        assert not (tmp_path / "nowhere").exists()


async def test_one_that_hangs_holds_up_neither_a_reading_nor_leaving(
    shares: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hanging: list[subprocess.Popen[bytes]] = []
    popen = subprocess.Popen

    def hangs(command: list[str], **rest: object) -> subprocess.Popen[bytes]:
        hanging.append(popen([sys.executable, "-c", "import time; time.sleep(600)"]))
        return hanging[-1]

    monkeypatch.setattr(subprocess, "Popen", hangs)
    try:
        async with running(shares) as pilot:
            await until(lambda: hanging)
            await press(pilot, "51", "enter")
            assert recorded(job)[-1][1] == "51"
            shares.share_now()
            began = time.monotonic()
            await press(pilot, "f12")
        assert time.monotonic() - began < 5
        assert len(hanging) == 2  # one while it was worked on, one as it was left
        assert shares.return_code == 0
    finally:
        for each in hanging:
            each.kill()
            each.wait()


async def test_one_that_never_ends_is_ended_and_the_next_one_begins(
    shares: GradeApp, meeting: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    popen, hung = subprocess.Popen, list[bool]()

    def hangs_once(command: list[str], **rest: object) -> subprocess.Popen[bytes]:
        hung.append(True)
        return popen([sys.executable, "-c", "import time; time.sleep(600)"] if len(hung) == 1 else command, **rest)  # type: ignore[call-overload,no-any-return]

    monkeypatch.setattr(subprocess, "Popen", hangs_once)
    monkeypatch.setattr(sharing_beside, "AT_MOST", 0.2)
    async with running(shares):
        await until(lambda: hung)
        await until(lambda: shares.copies == 1)
        monkeypatch.setattr(sharing_beside, "AT_MOST", 60.0)
        shares.share_now()
        await until(lambda: shares.copies == 2)
        assert len(list(meeting.glob("*.rows"))) == 1


async def test_a_stage_signed_off_is_shared_at_once(shares: GradeApp, meeting: Path) -> None:
    async with running(shares) as pilot:
        await until(lambda: shares.copies == 1)
        for rod in ("51", "51 1/2", "52"):
            await press(pilot, rod, "enter")
        assert len(list(meeting.glob("*.rows"))) == 1
        await press(pilot, "f9")
        await until(lambda: "Ctrl+S signs off" in words(shares))
        await press(pilot, "ctrl+s")
        await until(lambda: "Type initials" in words(shares))
        await press(pilot, "RK", "enter")
        await until(lambda: shares.copies == 2)
        assert len(list(meeting.glob("*.rows"))) == 2


async def test_what_was_recorded_last_goes_there_as_the_job_is_left(shares: GradeApp, meeting: Path) -> None:
    async with running(shares) as pilot:
        await until(lambda: shares.copies == 1)
        await press(pilot, "51", "enter")
        await press(pilot, "f12")
    await until(lambda: len(list(meeting.glob("*.rows"))) == 2)
    for each in beside._LEFT:
        each.wait(30)


async def test_without_a_folder_nothing_of_it_is_loaded_or_offered(job: Path) -> None:
    code = (
        "import asyncio, sys\nfrom pathlib import Path\nfrom gradecheck.app.app import GradeApp\n"
        f"app = GradeApp(Path({str(job.parent)!r}), Path({str(job)!r}))\n"
        "async def look():\n    async with app.run_test() as pilot:\n        await pilot.pause()\n"
        "asyncio.run(look())\n"
        "print([name for name in sys.modules if name.startswith('gradecheck.') and 'sharing' in name])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


async def test_the_palette_offers_it_where_a_folder_is_named(shares: GradeApp, app: GradeApp) -> None:
    for each, offered in ((shares, True), (app, False)):
        async with running(each):
            names = [command.title for command in each.get_system_commands(each.screen)]
            assert names.count("Share now") == offered
            assert ("Ctrl+W Share now" in shown(each).splitlines()[-1]) is offered
            await asyncio.sleep(0.1)
            if offered:
                await until(lambda each=each: each.copies == 1)


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_a_key_shares_at_once_on_every_screen_and_says_what_came_of_it(
    size: tuple[int, int], shares: GradeApp, meeting: Path
) -> None:
    async with running(shares, size) as pilot:
        await until(lambda: shares.copies == 1)
        for number, key in enumerate(("f6", "f9", "f5"), 2):
            await press(pilot, key)
            assert "Ctrl+W Share now" in shown(shares).splitlines()[-1]
            await press(pilot, "ctrl+w")
            await until(lambda number=number: shares.copies == number)
            await settle(pilot)
            assert "taken in" in words(shares) or "othing new" in words(shares), words(shares)
            await press(pilot, "escape")


async def test_where_no_folder_is_named_the_key_does_nothing(pilot: Pilot[int], app: GradeApp) -> None:
    before = shown(app)
    await press(pilot, "ctrl+w")
    assert shown(app) == before
    await press(pilot, "f1")
    assert "Ctrl+W" not in shown(app)
