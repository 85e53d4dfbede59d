"""Keys that come faster than the palette fills end nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from tests.app.driving import Clock, post, ready_job, running, settle
from tests.thorough import some

pytestmark = pytest.mark.thorough

BEHIND = ("pagedown", "pageup", "ctrl+end", "shift+end", "ctrl+home", "shift+home", "down", "up", "x")
"""Keys that the palette's list takes, and one for its box."""


@pytest.mark.parametrize("key", some(BEHIND, ["pagedown", "down", "x"]))
async def test_a_key_right_behind_the_palette_s_own_ends_nothing(tmp_path: Path, key: str) -> None:
    app = GradeApp(tmp_path, ready_job(tmp_path / "court", Clock()), clock=Clock())
    async with running(app) as pilot:
        post(pilot, "ctrl+p", key, key)
        await settle(pilot)
        await pilot.pause(0.1)
        assert app._exception is None
        assert app.is_running
        post(pilot, "escape")
        await settle(pilot)
        assert app._exception is None
