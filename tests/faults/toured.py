"""A tour of every screen of a job: what stands in each cell, what a click there would run, what was run by clicks."""

from __future__ import annotations

import unicodedata
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from textual import events
from textual.geometry import Offset
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.widgets.verdict_panel import PanelShape, VerdictPanel
from tests.app.driving import ENTRY_SCREENS, SCREENS, Clock, app_for, go_to, shown, strips, typed
from tests.faults.at_rest import press, settle
from tests.faults.named import Named, cells, job_text, keep

TOURS: dict[str, tuple[str, ...]] = {
    "jobs": ("jobs", "findings", "new", "edit"),
    "problems": ("problems",),
    "no journal": ("jobs",),
    **{name: (name,) for name, keys in SCREENS.items() if not keys and name not in ("jobs", "check")},
    "check": tuple(name for name, keys in SCREENS.items() if len(keys) > 0 and name not in
                   ("problems", "findings", "new", "edit", "doubt")),
    "changed": ("plan",),
    "doubt": ("doubt",),
}  # fmt: skip
"""The states a job can be in, and the screens that are gone to from there."""
MORE: dict[str, tuple[str, ...]] = {
    "check": ("f3", "f2", "ctrl+d"),
    "set up": ("ctrl+e",),
    "log": ("f2", "f8"),
    "map": ("ctrl+e",),
    "day": ("ctrl+x", "ctrl+s"),
    "layout": ("ctrl+e",),
    "put right": ("down", "ctrl+e"),
}
"""Keys that show more of a screen, one after the other."""


SCROLL_BAR = ("scroll_up", "scroll_down", "grab", "release")
"""What the mouse may do there."""


@dataclass
class Picture:
    """One screen as it stood."""

    where: str
    lines: list[list[str]]
    """For each line what stands in each of its cells."""
    actions: int = 0
    """Cells that a click would run something at, or that lead somewhere."""
    obeyed: int = 0
    """Characters that a terminal would not show but obey."""
    letters: range = range(0)
    """The lines in which the point's name may stand in large letters."""
    ran: tuple[str, ...] = ()
    """What was run by clicks on it; tapping a key or a row is meant to."""
    left: bool = False
    """Whether a click left the screen, though nothing was run."""
    clicked: bool = False


async def tour(state: str, folder: Path, named: Named, size: tuple[int, int], *, every: int) -> list[Picture]:
    """Every screen that is gone to from that state; with `every`, a click on each so manieth cell."""
    _, app = job_in(state, folder, named)
    pictures: list[Picture] = []
    async with app.run_test(size=size, notifications=True) as pilot:
        await settle(pilot)
        if state == "changed":
            await app._look_at_plan()
        if state == "check":
            pictures += [each async for each in _looked_at(pilot, "check", named, every=every)]
            await _back_to_check(pilot)
        for screen in TOURS[state]:
            if state == "no journal":
                await press(pilot, "enter")
            else:
                await go_to(pilot, screen, press)
            while screen == "opening" and "7,000" not in shown(app):  # how far it is comes a moment later
                await pilot.pause(0.01)
            pictures += [each async for each in _looked_at(pilot, screen, named, every=every)]
            if state == "check":
                await _back_to_check(pilot)
            elif screen != TOURS[state][-1]:
                await press(pilot, "escape", "escape")
    return pictures


def job_in(state: str, folder: Path, named: Named) -> tuple[Path, GradeApp]:
    """A job in that state, in folders with such names, and the app that begins there."""
    clock, text = Clock(), job_text(named)
    home = folder / named("home")
    app = app_for({"no journal": "jobs", "changed": "check"}.get(state, state), home, clock, text)
    job = (home / "court").rename(home / named("folder"))
    match state:
        case "no journal":
            (job / "journal.db").write_bytes(b"nothing of the kind" * 100)
        case "check" | "changed":
            keep(job, named, clock)
    if state == "changed":
        (job / "job.yaml").write_text(text.replace("'-2'", "'-2 1/8'", 1), encoding="utf-8")
    return job, type(app)(home, job if app._job else None, clock=clock, board=app.board)


async def _looked_at(pilot: Pilot[int], screen: str, named: Named, *, every: int) -> AsyncIterator[Picture]:
    yield await _still(pilot, screen)
    for number, key in enumerate(MORE.get(screen, ())):
        await press(pilot, key)
        yield await _still(pilot, f"{screen}, {key} ({number + 1})")
    if screen == "new":  # the title, and a folder that is not made of the title
        await press(pilot, named("begun"), "enter", named("begun"), "enter")
        yield await _still(pilot, "new, begun")
    elif screen in ENTRY_SCREENS and screen != "other folder":  # there Enter goes to another job
        await press(pilot, named("typed"), "enter")
        yield await _still(pilot, f"{screen}, entered")
    if every:
        yield await _clicked(pilot, screen, every)


async def _still(pilot: Pilot[int], where: str) -> Picture:
    """What stands there when nothing moves any more: what is looked for beside the drawing comes a little later."""
    app: Any = pilot.app
    before = shown(app)
    while True:
        await pilot.pause(0.03)
        text = shown(app)
        if text == before:
            return picture(app, where)
        before = text


async def _clicked(pilot: Pilot[int], screen: str, every: int) -> Picture:
    """Clicks on every so manieth cell, the same on each screen of that size.

    What that would run is written down, and nothing is run.
    """
    app, ran = pilot.app, []

    async def run_action(action: Any, *_: object, **__: object) -> bool:
        ran.append(str(action))
        return True

    made = picture(app, f"{screen}, clicked")
    made.clicked = True
    stack, app.run_action = [*app.screen_stack], run_action  # type: ignore[method-assign]
    width, height = app.size
    for cell in range(0, width * height, every):
        y, x = divmod(cell, width)
        where = {"x": x, "y": y, "screen_x": x, "screen_y": y, "delta_x": 0, "delta_y": 0}
        style = app.screen.get_style_at(x, y)
        click = events.Click(app.screen, **where, button=1, shift=False, meta=False, ctrl=False, style=style)
        app.mouse_position = Offset(x, y)
        app.screen._forward_event(click)
    await settle(pilot)
    del app.run_action
    made.ran, made.left = tuple(ran), app.screen_stack != stack or app.return_code is not None
    return made


async def _back_to_check(pilot: Pilot[int]) -> None:
    for _ in range(6):
        if isinstance(pilot.app.screen, CheckScreen) and not typed(pilot.app):  # type: ignore[arg-type]
            return
        await press(pilot, "escape")


def picture(app: Any, where: str) -> Picture:
    """What stands on the screen now."""
    made = Picture(where, [], letters=_letters(app.screen))
    for strip in strips(app):
        made.lines.append(cells(strip.text))
        for segment in strip:
            style = segment.style
            if style is not None and (style.link or not _own(style.meta)):
                made.actions += 1
            made.obeyed += sum(not (c.isprintable() or unicodedata.category(c) == "Zs") for c in segment.text)
    return made


def _letters(screen: Any) -> range:
    """The lines between the panel's first and its last, where nothing was read yet."""
    if not isinstance(screen, CheckScreen):
        return range(0)
    panel = screen.query_one(VerdictPanel)
    return range(panel.region.y + 1, panel.region.bottom - 1) if panel.face.shape is PanelShape.EMPTY else range(0)


def _own(meta: dict[str, Any]) -> bool:
    """Whether a click there does nothing, or does what a scroll bar is for."""
    return all(action in SCROLL_BAR for key, action in meta.items() if key.startswith("@"))
