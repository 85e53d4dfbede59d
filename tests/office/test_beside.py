"""The app shares with an office beside the work: offline is silent, a refusal is told once, the title says which."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from gradecheck.app import sharing_beside
from gradecheck.app.app import GradeApp
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.sharing.last_copy import last_copy, note
from gradecheck.system.settings import Settings
from tests.app.driving import Clock, press, running, settle, words
from tests.app.test_sharing_beside import sharing, until
from tests.cli.test_join import Out, laptop, said, yards
from tests.office.conftest import Crews
from tests.office.test_share import entries

__all__ = ["yards"]
SOUTH = Path("south")


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A share begins at once, and is looked at often."""
    monkeypatch.setattr(sharing_beside, "AFTER", 0.01)
    monkeypatch.setattr(sharing_beside, "LOOKS_EVERY", 0.02)


def app_at(office: str, now: Clock | None = None) -> GradeApp:
    """The app on south's job, with that office in its settings."""
    clock = now or Clock(datetime.now().astimezone())
    return GradeApp(Path.cwd(), SOUTH.absolute(), clock=clock, settings=Settings(copy_to=office))


async def test_a_start_sends_what_is_new_and_the_title_says_when(crews: Crews, at_once: None) -> None:
    app = app_at(crews.south)
    async with running(app) as pilot:
        await until(lambda: app.copies == 1)
        await press(pilot, "RK", "enter")  # the day's cautions
        assert "office " in words(app, "head")
        assert len(entries(crews.address)) == 5


async def test_what_was_recorded_since_is_counted_until_it_is_sent(crews: Crews, at_once: None) -> None:
    app = app_at(crews.south)
    async with running(app) as pilot:
        await until(lambda: app.copies == 1)
        at = last_copy(SOUTH).at
        assert at is not None
        app._clock.time = at.astimezone() + timedelta(milliseconds=2)  # type: ignore[attr-defined]
        while not app.screen.query("#box"):
            await press(pilot, "RK", "enter")
        await press(pilot, "46", "enter")
        await until(lambda: "to send" in words(app, "head"))
        sharing(app).share()
        await until(lambda: app.copies == 2 and "to send" not in words(app, "head"))


async def test_offline_is_silent(crews: Crews, at_once: None) -> None:
    note(SOUTH, "", whole=True, at=datetime.now().astimezone())
    app = app_at("postgresql://south@127.0.0.1:1/none")
    async with running(app) as pilot:
        before = words(app)
        await until(lambda: app.copies == 1)
        await settle(pilot)
        assert words(app) == before
        assert not last_copy(SOUTH).refused
        app.action_share()
        await until(lambda: app.copies == 2)
        assert "nothing answers there" in words(app)


async def test_a_refusal_is_told_once(crews: Crews, at_once: None) -> None:
    Path("south.pgpass").write_text("*:*:*:*:wrong\n")
    Path("south.pgpass").chmod(0o600)
    app = app_at(f"{crews.south.partition('?')[0]}?passfile={Path('south.pgpass').absolute()}")
    async with running(app) as pilot:
        await until(lambda: app.copies == 1)
        await settle(pilot)
        assert "its name or password is wrong" in words(app)
        assert "wrong\n" not in words(app)
        app.tell_shared("something else")
        sharing(app).share()
        await until(lambda: app.copies == 2)
        await settle(pilot)
        assert words(app) == "something else"


async def test_a_laptop_that_may_not_work_on_the_job_is_told_so(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out, at_once: None
) -> None:
    laptop("other", yards)
    (SOUTH / JOURNAL_NAME).unlink()
    text = (SOUTH / "job.yaml").read_text()
    (SOUTH / "job.yaml").write_text(text.replace("Wickering", "Larkmoor"))
    for copy in SOUTH.glob("journal.*"):
        copy.unlink()
    said(capsys, "setup", "south", "DOOR=50")
    app = app_at(crews.south)
    async with running(app) as pilot:
        await until(lambda: app.copies == 1)
        await settle(pilot)
        assert "The office has no job with this plan" in words(app)
