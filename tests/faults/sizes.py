"""Terminal sizes: each screen in windows from one cell up, resized in the middle of typing; no character is lost."""

from __future__ import annotations

import asyncio
import os
import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual import events
from textual.geometry import Size
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.base import EntryScreen
from tests.app.driving import (
    ENTRY_SCREENS,
    SCREENS,
    Clock,
    app_for,
    go_to,
    post,
    readings,
    shown,
    strips,
    typed,
)
from tests.faults.at_rest import press, settle
from tests.faults.figures import Figures
from tests.pty.site import AREA, ready_border

NAME = "sizes"
QUICK, LONG = 12, 4_000
WIDEST, HIGHEST = 200, 60
ROOMY = (40, 12)
"""From here on what is typed is to be seen too."""
EDGES = ((1, 1), ROOMY, (WIDEST, HIGHEST), (1, HIGHEST), (WIDEST, 1), (2, 2))
USUAL = (80, 24)
FIGURE = "51-1/16"
POINTS = 200
BURST = 100
"""Sizes that one app is shown at before another is started."""
WRONG = ("lost", "too wide", "unseen", "changed", "broke")


def run(folder: Path, sizes: int, seed: int) -> list[Figures]:
    """So many windows in all, half of them while readings are keyed; as a control an entry that forgets then."""
    each = max(2, sizes // 2 // len(SCREENS))
    control = folder / "control"
    with pytest.MonkeyPatch.context() as patch:
        for name in ("NO_COLOR", "FORCE_COLOR", "GRADECHECK_BY"):
            patch.delenv(name, raising=False)
        patch.setenv("TERM", os.environ.get("TERM", "xterm-256color"))
        rows = [_screens(folder / "screens", each, seed), _readings(folder / "readings", sizes // 2, seed)]
        patch.setattr(EntryScreen, "on_resize", _forgetful, raising=False)
        return [*rows, _readings(control, 6, seed, control=True)]


def _screens(folder: Path, each: int, seed: int) -> Figures:
    """Every screen at so many sizes, a figure in its entry where it has one; at its usual size it is as before."""
    counts = Counter(dict.fromkeys(("screens", "sizes", *WRONG), 0))
    example = ""
    for screen in SCREENS:
        for begun in range(0, each, BURST):
            draw = random.Random(f"{seed}/{screen}/{begun}")
            # The smallest window last: what comes back then comes back from nothing.
            sizes = [*_sizes(draw, min(BURST, each - begun), begun == 0)][::-1]
            counts["screens"] += begun == 0
            try:
                where = folder / f"{screen}-{begun}".replace(" ", "-")
                asyncio.run(_at_sizes(app_for(screen, where, Clock()), screen, sizes, counts))
            except Exception as wrong:  # noqa: BLE001 - whatever it is, the screen is gone
                counts["broke"] += not isinstance(wrong, _WrongError)
                example = example or f"seed {seed}, {screen} from {begun}: {type(wrong).__name__}: {wrong}"
    return Figures(NAME, "every screen", dict(counts), sum(counts[name] for name in WRONG), example=example)


async def _at_sizes(app: GradeApp, screen: str, sizes: list[tuple[int, int]], counts: Counter[str]) -> None:
    async with app.run_test(size=USUAL, notifications=True) as pilot:
        await go_to(pilot, screen, press)
        if screen in ENTRY_SCREENS:  # the first key takes away what was said
            await press(pilot, FIGURE[0], "backspace")
        before = shown(app)
        for size in sizes:
            counts["sizes"] += 1
            if screen in ENTRY_SCREENS:
                await _typed_across(pilot, size, FIGURE)
                _expect(typed(app) == FIGURE, "lost", counts, f"{typed(app)!r} at {size}")
            else:
                await _typed_across(pilot, size, "")
            _fits(app, size, counts)
            if screen in ENTRY_SCREENS:
                if size >= ROOMY and size[1] >= ROOMY[1]:
                    _expect(FIGURE in shown(app), "unseen", counts, f"{FIGURE} at {size}")
                post(pilot, *["backspace"] * len(FIGURE))  # has its effect before anything that comes behind it
        await _typed_across(pilot, USUAL, "")
        _expect(shown(app) == before, "changed", counts, shown(app))


def _readings(folder: Path, sizes: int, seed: int, *, control: bool = False) -> Figures:
    """So many readings, in each a resize; all of them are on the disk as they were keyed."""
    counts = Counter(dict.fromkeys(("readings", *WRONG), 0))
    example = ""
    for begun in range(0, sizes, POINTS - 1):
        draw = random.Random(f"{seed}/readings/{begun}")
        site = ready_border(folder / str(begun), POINTS)
        chosen = [*_sizes(draw, min(POINTS - 1, sizes - begun), True)]
        app = GradeApp(site.folder.parent, site.folder)
        try:
            asyncio.run(_read(app, chosen, site.rods, counts, draw))
            kept = [(point, rod) for point, _, rod in readings(site.folder)]
            _expect(kept == site.expected(len(chosen)), "lost", counts, f"{kept}")
        except Exception as wrong:  # noqa: BLE001 - as above
            counts["broke"] += not isinstance(wrong, _WrongError)
            example = example or f"seed {seed}, readings from {begun}: {type(wrong).__name__}: {wrong}"
    what = "an entry that forgets at a resize" if control else f"readings in the {AREA}"
    bad = sum(counts[name] for name in WRONG)
    return Figures(NAME, what, dict(counts), bad, control=control, example=example)


async def _read(
    app: GradeApp, sizes: list[tuple[int, int]], rods: tuple[str, ...], counts: Counter[str], draw: random.Random
) -> None:
    async with app.run_test(size=USUAL, notifications=True) as pilot:
        await settle(pilot)
        for size, rod in zip(sizes, rods, strict=False):
            counts["readings"] += 1
            await _typed_across(pilot, size, rod, draw.randint(0, len(rod)))
            _expect(typed(app) == rod, "lost", counts, f"{typed(app)!r} for {rod!r} at {size}")
            _fits(app, size, counts)
            await press(pilot, "enter")


async def _typed_across(pilot: Pilot[int], size: tuple[int, int], figure: str, at: int = 3) -> None:
    """Types the figure in one go, and between two of its characters the window becomes that size."""
    new = Size(*size)
    post(pilot, *figure[:at])
    pilot.app._driver._size = new  # type: ignore[union-attr]  # as the pilot does it
    pilot.app.post_message(events.Resize(new, new))
    post(pilot, *figure[at:])
    while pilot.app.screen._compositor.size != new:  # the app waits a moment for the next resize
        await asyncio.sleep(0.005)
    await settle(pilot)


def _fits(app: GradeApp, size: tuple[int, int], counts: Counter[str]) -> None:
    lines = strips(app)
    wide = max((line.cell_length for line in lines), default=0)
    _expect(len(lines) <= size[1] and wide <= size[0], "too wide", counts, f"{wide} by {len(lines)} at {size}")


def _sizes(draw: random.Random, count: int, edges: bool) -> Iterator[tuple[int, int]]:
    first = EDGES[:count] if edges else ()
    yield from first
    for _ in range(count - len(first)):
        # As often narrow and low as wide and high: where there is little room is where it gets hard.
        yield draw.randint(1, draw.choice((12, 80, WIDEST))), draw.randint(1, draw.choice((6, 24, HIGHEST)))


class _WrongError(Exception):
    """What came out is not as it should be; it is counted already."""


def _expect(right: bool, what: str, counts: Counter[str], told: str) -> None:
    if not right:
        counts[what] += 1
        raise _WrongError(f"{what}: {told}")


def _forgetful(screen: EntryScreen) -> None:
    screen.entry.value = ""
