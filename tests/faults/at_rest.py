"""Waiting for an app no longer than it has anything to do."""

from __future__ import annotations

import asyncio
import contextlib
from typing import Any

from textual.pilot import Pilot

from gradecheck.app.screens.base import EntryScreen
from tests.app.driving import post

HELD_UP = 1.0
"""Seconds; longer than any commit here takes, and what a test that holds up the disk waits in vain."""
MOST = 6
"""Rounds in which every queue runs dry once; a key passes the app, the entry, the screen and one screen more."""


async def settle(pilot: Pilot[int]) -> None:
    """Waits until everything that was keyed has had its effect, what stands in line too.

    As the tests of the app wait, but when nothing in the loop is due any more, a further round would do nothing.
    """
    for _ in range(2):
        await _run_dry(pilot)
        lined_up = [screen._turns.join() for screen in pilot.app.screen_stack if isinstance(screen, EntryScreen)]
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(asyncio.gather(*lined_up), HELD_UP)
    await _run_dry(pilot)


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Sends the keys in one go and waits until they have had their effect."""
    post(pilot, *keys)
    await settle(pilot)


async def _run_dry(pilot: Pilot[int]) -> None:
    loop: Any = asyncio.get_running_loop()
    for _ in range(MOST):
        await pilot.pause(0)
        await asyncio.sleep(0)  # what the pause itself has left behind
        if not loop._ready:  # asyncio offers no other way to see that nothing is due
            return
