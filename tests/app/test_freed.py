"""An app that was left is gone: nothing that lives as long as the process holds it, or the log it had read."""

from __future__ import annotations

import asyncio
import gc
import weakref
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.flood import GatedParser
from tests.app.driving import Clock, app_for, press, running

ALL_ALONG = ("check", "jobs", "check", "jobs")


async def _open_and_leave(screen: str, jobs: Path, key: str) -> weakref.ref[GradeApp]:
    app = app_for(screen, jobs, Clock())
    async with running(app) as pilot:
        for event in GatedParser().feed(key):
            app._driver.process_message(event)  # type: ignore[union-attr]
        await press(pilot, "f1", "escape")
        await asyncio.sleep(0.05)  # past the first picture, after which garbage is looked for again
    if app.session is not None:
        app.session.close()
    return weakref.ref(app)


def test_of_apps_opened_and_left_no_more_than_the_last_is_still_there(
    jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gradecheck.app.app.COLLECTS_AFTER", 0.01)
    # A key of the newer kind, each time another one.
    left = [
        asyncio.run(_open_and_leave(screen, jobs / str(number), f"\x1b[{97 + number};5u"))
        for number, screen in enumerate(ALL_ALONG)
    ]
    gc.collect()
    assert gc.get_freeze_count() == 0
    assert sum(app() is not None for app in left) <= 1
