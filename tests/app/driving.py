"""A small invented job, a clock that stands still, and hands for the keyboard: what the tests of the app share."""

from __future__ import annotations

import asyncio
import contextlib
import re
import sqlite3
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

from textual import events
from textual.app import App
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.geometry import Size
from textual.pilot import Pilot
from textual.screen import Screen
from textual.strip import Strip
from textual.widgets import Static

import gradecheck.app.app
from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.opening import OpeningScreen
from gradecheck.app.widgets.region import Region
from gradecheck.app.widgets.verdict_panel import VerdictPanel
from gradecheck.session.session import Session
from gradecheck.sharing.boards import FolderBoard
from gradecheck.sharing.share import share
from gradecheck.state.state import Surface
from tests.first_things import CAUTIONS

JOB = """\
job: Quillmere Court
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
  grade rod: {kind: direct, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the hall}
  PIN: {elevation: -4 3/8, what: brass pin by the gate}
build-ups:
  yard: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
tolerances: {subgrade: {high: 1/2 in, low: 3/4 in}, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}
areas:
  path:
    points:
      P1: {elevation: -1, what: by the hall}
      P2: {elevation: -1 1/2, what: half way}
      P3: {elevation: -2, what: at the gate}
  yard:
    build-up: yard
    points:
""" + "".join(f"      Y{n}: {{elevation: -{n} 1/4, what: stake {n}}}\n" for n in range(1, 11))
"""The path has a finish alone, the yard is dug and built up. On DOOR the rod reads 50 in."""

RESTLESS = 100_000
"""Turns of the loop, after which an app will never come to rest."""
HELD_UP = 150
"""How often `settle` looks at what does not get on, by and by 10 ms apart; some tests hold up the disk."""

BACKSIGHT = "50"
YARD_DIG = ("60-5/8", "61-5/8", "62-5/8", "63-5/8", "64-5/8", "65-5/8", "66-5/8", "67-5/8", "68-5/8", "69-5/8")
"""The rod on each stake of the yard when the dig is right: 50 + 9 3/8 of layers + the stake's own 1 1/4, 2 1/4 ..."""

MORNING = datetime(2026, 5, 12, 7, 30, tzinfo=timezone(timedelta(hours=-5)))


@dataclass
class Clock:
    """The time of day, moved on by hand."""

    time: datetime = MORNING

    def __call__(self) -> datetime:
        return self.time

    def pass_by(self, **spans: float) -> None:
        """Lets time go by."""
        self.time += timedelta(**spans)


def write_job(folder: Path, text: str = JOB) -> Path:
    """A job's folder with that job file in it."""
    folder.mkdir(parents=True)
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    return folder


def make_ready(job: Path, clock: Clock, mark: str = "DOOR", rod: str = BACKSIGHT) -> None:
    """Signs the day's cautions and stands the instrument, so that the first reading may come."""
    session = Session(job, by="RK", clock=clock)
    try:
        session.record(actions.cautions(CAUTIONS), actions.set_up(session.state, mark, rod))
    finally:
        session.close()


def ready_job(folder: Path, clock: Clock, text: str = JOB) -> Path:
    """A job whose first reading may come."""
    job = write_job(folder, text)
    make_ready(job, clock)
    return job


_PARSED: dict[object, list[RuleSet]] = {}
_parse_rules = Stylesheet._parse_rules


def parse_once(self: Stylesheet, *css: Any, **how: Any) -> list[RuleSet]:
    """The rules of a style sheet, which each app would understand anew; in place of `Stylesheet._parse_rules`."""
    known = (css, *how.items(), *self._variables.items())
    if known not in _PARSED:
        _PARSED[known] = _parse_rules(self, *css, **how)
    return _PARSED[known]


_UNDRAWN: WeakKeyDictionary[Screen[Any], bool] = WeakKeyDictionary()
_draw = Screen._compositor_refresh


def draw_at_rest(self: Screen[Any]) -> None:
    """Leaves to `settle` what is drawn when all is at rest, once; in place of `Screen._compositor_refresh`."""
    if self is not self.app.screen:
        _draw(self)
        return
    self._dirty_widgets.clear()  # the compositor knows what of them is to be drawn
    _UNDRAWN[self] = True


@contextlib.asynccontextmanager
async def running(app: App[int], size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[int]]:
    """The app in a window of that size, opened and at rest."""
    async with app.run_test(size=size, notifications=True) as pilot:
        await settle(pilot)
        yield pilot


# -- the keyboard


def key_events(*keys: str) -> list[events.Key]:
    """Keys as the terminal sends them; a text of several characters that is no key's name is typed out."""
    pressed = []
    for key in keys:
        if key in _NAMED or key.startswith("ctrl+") or (key[:1] == "f" and key[1:].isdigit()):
            pressed.append(events.Key(key, None))
        else:
            pressed += [events.Key(character, character) for character in key]
    return pressed


_EDITING = {"enter", "escape", "backspace", "delete", "home", "end"}
_NAMED = _EDITING | {"up", "down", "left", "right", "pageup", "pagedown", "shift+end", "shift+home"}


def post(pilot: Pilot[int], *keys: str) -> None:
    """Sends the keys in one go, as they come in a burst; waits for nothing."""
    for event in key_events(*keys):
        pilot.app.post_message(event)


async def settle(pilot: Pilot[int]) -> None:
    """Waits until everything that was keyed has had its effect and is drawn.

    That is so when nothing is ready to run in the loop, every widget waits for its next message and no key stands in
    line. Not for ever: some tests hold up the disk. What only a timer or another thread will bring is not waited for.
    """
    loop, calm, held_up, turns = asyncio.get_running_loop(), 0, 0, 0
    while calm < 2 and held_up < HELD_UP and pilot.app.is_running and pilot.app.screen_stack:
        await asyncio.sleep(0)
        turns += 1
        assert turns < RESTLESS, "the screen is drawn for ever"
        if loop._ready:  # type: ignore[attr-defined]  # nothing else tells that the loop has nothing to do
            calm = 0
            continue
        if is_busy(pilot.app):
            calm, held_up = 0, held_up + 1
            await asyncio.sleep(0.001 if held_up < 50 else 0.01)
        else:
            calm += 1
        pilot.app.screen._on_timer_update()  # as the screen does sixty times a second
        if calm == 2 and _UNDRAWN.pop(pilot.app.screen, False):
            _draw(pilot.app.screen)
            calm = 0


def is_busy(app: App[int]) -> bool:
    """Whether a message is being answered, perhaps by another thread, or a key stands in line."""
    if getattr(app, "is_holding", False) or app.screen._callbacks:
        return True
    screens = (screen for screen in app.screen_stack if isinstance(screen, EntryScreen))
    if any(screen._turns._unfinished_tasks for screen in screens):  # type: ignore[attr-defined]
        return True
    queues = (pump._message_queue for pump in (app, *app._registry) if pump._running)
    return any(queue.values or not queue.ready_event._waiters for queue in queues)  # type: ignore[attr-defined]


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Sends the keys in one go and waits until they have had their effect."""
    post(pilot, *keys)
    await settle(pilot)


async def resize(pilot: Pilot[int], width: int, height: int) -> None:
    """Makes the window that size. Not the pilot's own: it waits for a quiet that a tiny window never has."""
    size = Size(width, height)
    pilot.app._driver._size = size  # type: ignore[union-attr]  # as the pilot does it
    pilot.app.post_message(events.Resize(size, size))
    while pilot.app.screen._compositor.size != size:  # the app waits a moment for the next resize
        await asyncio.sleep(0.005)
    await settle(pilot)


# -- what is to be seen


def strips(app: GradeApp) -> list[Strip]:
    """The lines of the screen, with their styles."""
    return app.screen._compositor.render_strips()  # Textual offers no other way to see what it draws


def shown(app: GradeApp) -> str:
    """The screen as text."""
    return "\n".join(strip.text.rstrip() for strip in strips(app))


def words(app: GradeApp, id: str = "says") -> str:
    """One line of the screen."""
    widget = app.screen.query_one(f"#{id}")
    return widget.text if isinstance(widget, Region) else str(app.screen.query_one(f"#{id}", Static).content)


def check(app: GradeApp) -> CheckScreen:
    """The Check screen, which must be the one that is up."""
    assert isinstance(app.screen, CheckScreen), f"{type(app.screen).__name__} is up: {shown(app)}"
    return app.screen


def begins(text: str, beginning: str) -> bool:
    """Whether a text begins so, the figure at the end of it being whole: 51 is not the beginning of 51 1/4."""
    return re.match(re.escape(beginning) + r"(?! ?[0-9/.])", text) is not None


def typed(app: GradeApp) -> str:
    """What stands in the entry."""
    assert isinstance(app.screen, EntryScreen)
    return app.screen.entry.value


def point(app: GradeApp) -> str:
    """The point that the next reading is for."""
    return check(app).surface.point


def verdict(app: GradeApp) -> str:
    """What stands in large letters."""
    return app.screen.query_one(VerdictPanel).face.large


# -- what is on the disk


def recorded(job: Path, kind: str | None = None) -> list[tuple[str, str]]:
    """Kind and text as typed of each entry, read from the file by a connection of our own."""
    if not (job / "journal.db").exists():
        return []
    with closing(sqlite3.connect(f"file:{job / 'journal.db'}?mode=ro", uri=True)) as connection:
        rows: Sequence[tuple[str, str]] = connection.execute("SELECT kind, typed FROM entry ORDER BY seq").fetchall()
    return [row for row in rows if kind in (None, row[0])]


def readings(job: Path) -> list[tuple[str, str, str]]:
    """Point, stage and text as typed of each reading on the disk, struck ones too."""
    if not (job / "journal.db").exists():
        return []
    query = "SELECT fact ->> 'point', fact ->> 'stage', typed FROM entry WHERE kind = 'reading' ORDER BY seq"
    with closing(sqlite3.connect(f"file:{job / 'journal.db'}?mode=ro", uri=True)) as connection:
        return connection.execute(query).fetchall()


# -- the screens, one by one


def disturbed_job(folder: Path, clock: Clock, text: str = JOB) -> Path:
    """A job whose setup a recheck found disturbed, with one reading since in doubt."""
    job = ready_job(folder, clock, text)
    session = Session(job, clock=clock)
    try:
        area, point = next((area, area.points[0].name) for area in session.plan.areas.values())
        surface = Surface(area.name, point, area.stages[-1])
        session.record(
            actions.reading(session.state, surface, "51-1/16"), actions.recheck(session.state, "DOOR", "51")
        )
    finally:
        session.close()
    return job


class ReadingApp(GradeApp):
    """An app whose job is being read for as long as anyone looks."""

    CSS_PATH = Path(gradecheck.app.app.__file__).with_name("gradecheck.tcss")

    def _screen_of(self, job: Path, typed: str = "") -> Screen[None]:
        return OpeningScreen(job, typed)

    def read_job(self, job: Path, told: Callable[[int], None] | None = None) -> Session:
        """Never has it; raises when nobody waits any more."""
        assert told is not None
        while True:
            told(7_000)
            time.sleep(0.05)


SCREENS: dict[str, tuple[str, ...]] = {
    "jobs": (),
    "board": (),
    "opening": (),
    "problems": ("enter",),
    "findings": ("ctrl+x",),
    "new": ("ctrl+y",),
    "edit": ("ctrl+r",),
    "cautions": (),
    "check": (),
    "set up": ("f4",),
    "recheck": ("f5",),
    "mark": ("f7",),
    "put right": ("ctrl+r",),
    "instrument": ("ctrl+x",),
    "doubt": ("escape", "ctrl+n"),  # the app asks for a new setup first
    "log": ("f6",),
    "day": ("f9",),
    "map": ("ctrl+e",),
    "layout": ("f9", "ctrl+e"),
    "plan": ("ctrl+y",),
    "import": ("ctrl+y", "ctrl+b"),
    "other folder": ("ctrl+b",),
    "join": ("f9", "ctrl+b"),
    "keys": ("f1",),
}
"""Every screen, and the keys that lead there from the screen the app starts with."""
ENTRY_SCREENS = tuple(name for name in SCREENS if name not in ("jobs", "board", "problems", "findings", "keys"))


def app_for(screen: str, jobs: Path, clock: Clock, text: str = JOB) -> GradeApp:
    """An app with a job in the state which that screen needs, in the folder of jobs."""
    folder = jobs / "court"
    match screen:
        case "jobs" | "findings" | "new" | "edit":
            write_job(folder, text)
            return GradeApp(jobs, clock=clock)
        case "board":
            return GradeApp(jobs, clock=clock, board=board_of_shared(jobs, ready_job(folder, clock, text), clock))
        case "problems":
            write_job(folder, text.replace("elevation:", "elevaton:", 1))
            return GradeApp(jobs, clock=clock)
        case "opening":
            return ReadingApp(jobs, ready_job(folder, clock, text), clock=clock)
        case "cautions":
            job = write_job(folder, text)
        case "doubt":
            job = disturbed_job(folder, clock, text)
        case _:
            job = ready_job(folder, clock, text)
    return GradeApp(jobs, job, clock=clock)


def board_of_shared(jobs: Path, job: Path, clock: Clock) -> FolderBoard:
    """The board of a meeting place beside the jobs, to which that job was shared."""
    meeting = jobs.parent / "meeting"
    meeting.mkdir(exist_ok=True)
    with closing(Session(job, by="RK", clock=clock)) as session:
        share(session, meeting)
    return FolderBoard(meeting)


async def go_to(pilot: Pilot[int], screen: str, press: Callable[..., Awaitable[None]] = press) -> None:
    """From the start of the app to that screen, by hands that wait until a key has had its effect."""
    await press(pilot)
    for key in SCREENS[screen]:
        await press(pilot, key)
    while "Looking …" in shown(pilot.app):  # type: ignore[arg-type]  # findings are looked for beside the drawing
        await pilot.pause(0.01)
    expected = "".join(word.capitalize() for word in screen.split())
    names = {"PutRight": "Given", "Instrument": "FieldTest"}
    assert type(pilot.app.screen).__name__ == f"{names.get(expected, expected)}Screen", screen
