"""Random keys: whatever is keyed, however fast, over every screen; nothing ends the app but who leaves it."""

from __future__ import annotations

import asyncio
import os
import random
import shutil
import string
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from textual._ansi_sequences import ANSI_SEQUENCES_KEYS
from textual.app import App
from textual.command import CommandPalette
from textual.pilot import Pilot
from textual.screen import Screen

from gradecheck.app import palette
from gradecheck.app.app import GradeApp
from gradecheck.app.flood import GatedParser
from gradecheck.app.screens import other_folder
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.session.session import Session
from tests.app.driving import SCREENS, Clock, app_for, go_to, shown
from tests.faults.at_rest import press, settle
from tests.faults.figures import Figures

NAME = "keys"
QUICK, LONG = 1_000, 1_000_000
CONTROL = 150
"""Keys after which the broken variant must have been caught."""
FROM: dict[str, tuple[str, ...]] = {
    "check": tuple(name for name in SCREENS if name not in
                   ("jobs", "board", "findings", "new", "edit", "problems", "opening", "cautions", "doubt")),
    "jobs": ("jobs", "findings", "new", "edit"),
    "board": ("board",),
    "doubt": ("doubt",),
    "problems": ("problems",),
    "cautions": ("cautions",),
    "opening": ("opening",),
}  # fmt: skip
"""What a job may be like at the start, and the screens that are gone to from there."""
REACHED = len(SCREENS) + 2
"""Every screen, the guide behind the keys, and the palette."""
BURSTS = 2
"""On a screen that was gone to; more where there are more keys than every screen needs."""
SIZES = ((80, 24), (80, 24), (120, 40), (60, 20), (40, 12), (20, 5))
ANSWERS = 30.0
"""Seconds; a burst that has not had its effect by then never will."""
IN_VAIN = 5
"""Apps begun anew one after the other that did not come to the screen they were begun for."""
TELLS_EVERY = 60.0
"""Seconds."""
WRONG = ("ended", "broke", "hung", "unsound")

_SENT = {
    names[0].value: sequence
    for sequence, names in reversed(ANSI_SEQUENCES_KEYS.items())
    if isinstance(names, tuple) and len(names) == 1
}
"""What a terminal sends for a key."""
_USUAL = ("enter", "escape", "up", "down", "pageup", "pagedown", "backspace", "left", "right", "home", "end", "tab")
_PALETTE = ("enter", "enter", "enter", "pagedown", "pageup", "down", "up", "escape", "shift+end", "ctrl+p", "f1")
_BOUND = (
    *(f"f{number}" for number in range(1, 10)),
    *(f"ctrl+{letter}" for letter in "zolnrysgtpuwabdefkxv"),
    *_USUAL,
)
_LEAVES = ("f12", "ctrl+q")
_SAID = (
    "51-1/16", "50", "60 5/8", "-3", "49", "4-3-1/2", "351 mm", "0", "DOOR", "PIN", "P1", "p3", "Y7", "TP1", "yes",
    "no", "?", "RK", "level", "at 3, 4", "falls 2%, 1%", "N1 from P1 fall 2% over 4 ft", "N2 -3 1/4", "P2 -1 1/4", 
    "path", "rain", "a note", "two-peg", "DOOR -1/4", "1.15 ft",
)  # fmt: skip
"""What makes sense somewhere."""
_ODD = "é日本\u202e\u200b\u0301\x00\x07\x7f[]{}$`'\"\\%&;|<>\uff1d🧱"
_BROKEN = ("\x1b[", "\x1b[200~", "\x1b[1;9", "\x1b[<0;3;4M", "\x1b[<64;9;9M", "\x1bO", "\x1b\x1b[A", "\x1b[I",
           "\x1b[O", "\x1b[?1;2c", "\x1b]0;x\x07", "\x1b[99;99R", "\x1b[1;1;1;1;1u", "\x1b[57399u",
           "\x1b[97;5u")  # fmt: skip


def run(folder: Path, keys: int, seed: int) -> list[Figures]:
    """So many keys in all; as a control keys that wait for no screen, and screens that leave twice."""
    folder.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        for name in ("NO_COLOR", "FORCE_COLOR", "GRADECHECK_BY"):
            patch.delenv(name, raising=False)
        patch.setenv("TERM", os.environ.get("TERM", "xterm-256color"))
        # Whatever path is keyed, the job goes on below this folder.
        patch.setattr(other_folder, "_whole", lambda typed: folder / "elsewhere" / typed.strip("~").replace("/", "-"))
        patch.setenv("HOME", str(folder))
        patch.chdir(folder)
        row = Keyed(folder / "jobs", seed).row(keys)
        # Held back until a screen of ours is drawn, no key would come to what is broken here.
        patch.setattr(GradeApp, "on_event", App.on_event)
        patch.setattr(LeftOnceScreen, "dismiss", Screen.dismiss)
        patch.setattr(palette, "Palette", CommandPalette)
        return [row, Keyed(folder / "control", seed, control=True).row(CONTROL)]


class Keyed:
    """What was keyed so far, and what came of it."""

    def __init__(self, folder: Path, seed: int, *, control: bool = False) -> None:
        self.folder, self.seed, self.control = folder, seed, control
        self.counts = Counter(dict.fromkeys(("keys", "apps", "left", *WRONG), 0))
        self.seen: set[str] = set()
        self.example = ""
        self.most = 0
        self.in_vain = 0
        self.every_screen = control
        """Whether each was gone to at least once."""

    @property
    def enough(self) -> bool:
        """Whether there were so many keys, and some at every screen."""
        return self.every_screen and self.counts["keys"] >= self.most

    def row(self, keys: int) -> Figures:
        """Keys until there were so many; each app is begun from a seed of its own."""
        begun = told = time.monotonic()
        self.most = keys
        states, left = self._states(), []
        while (
            not self.enough and self.in_vain <= IN_VAIN
        ):  # the screen it never comes to is named among those unreached
            if not left:
                state, screens = next(states)
                left = [*screens]
            left = _App(self, state, left).run()
            if time.monotonic() - told > TELLS_EVERY:
                told = time.monotonic()
                pace = self.counts["keys"] / (told - begun)
                print(f"{pace:.0f} keys a second: {dict(self.counts)} {self.example}", file=sys.stderr, flush=True)
        unreached = 0 if self.control else REACHED - len(self.seen)
        wrong = sum(self.counts[name] for name in WRONG) + unreached
        example = self.example or f"reached only {', '.join(sorted(self.seen))}"
        what = "keys that wait for no screen" if self.control else "whatever is keyed, over every screen"
        counts = {**self.counts, "screens": len(self.seen)}
        return Figures(NAME, what, counts, wrong, control=self.control, example=example)

    def _states(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        while True:
            yield from [("check", ("check",))] if self.control else FROM.items()
            self.every_screen = True


class _App:
    """One app from its start until it is left or every one of the screens was gone to and keyed at."""

    def __init__(self, keyed: Keyed, state: str, screens: list[str]) -> None:
        self.keyed, self.state = keyed, state
        number = keyed.counts["apps"]
        self.name = f"seed {keyed.seed}, app {number} ({state})"
        self.draw = random.Random(f"{keyed.seed}/{number}")
        self.left = self.draw.sample(screens, len(screens))
        self.bursts: list[str] = []
        self.clock = Clock()
        self.folder = keyed.folder
        self.leaves = False
        self.parser = GatedParser()

    def run(self) -> list[str]:
        """Keys until there were so many, and a look through what was recorded; the screens it did not come to."""
        self.keyed.counts["apps"] += 1
        shutil.rmtree(self.folder, ignore_errors=True)
        app = app_for(self.state, self.folder, self.clock)
        strays: list[str] = []
        leave = app.action_leave

        async def noted() -> None:
            self.leaves = True
            await leave()

        def told_to_end() -> None:
            self.leaves = True  # by a signal from outside, which is nobody's key
            tell()

        tell = app._asked_to_end
        app.action_leave = noted  # type: ignore[method-assign]
        app._asked_to_end = told_to_end  # type: ignore[method-assign]

        async def all_of_it() -> None:
            asyncio.get_running_loop().set_exception_handler(lambda _, told: strays.append(str(told)))
            try:
                await self._keyed(app)
            finally:
                if app.session is not None:
                    app.session.close()

        try:
            asyncio.run(all_of_it())
        except TimeoutError:
            self._wrong("hung", shown(app))
        except Exception as wrong:  # noqa: BLE001 - whatever it is, the app is gone
            self._wrong("broke", _last(app._exception or wrong))
        else:
            if app._exception is not None or strays:
                self._wrong("broke", _last(app._exception) if app._exception else strays[0])
            elif app._exit and not self.leaves:
                self._wrong("ended", "it ended")
        self.keyed.counts["left"] += self.leaves
        self._look_through()
        return self.left

    async def _keyed(self, app: GradeApp) -> None:
        async with app.run_test(size=self.draw.choice(SIZES), notifications=True) as pilot:
            while self.left and await self._gone_to(pilot, self.left[0]):
                self.left.pop(0)
                for _ in range(BURSTS if self.keyed.most <= QUICK else BURSTS * 10):
                    await self._burst(pilot)
                    if app._exit or self.keyed.enough:
                        await asyncio.wait_for(settle(pilot), ANSWERS)
                        return
                    self.clock.pass_by(seconds=self.draw.choice((1, 40, 4_000)))
            await asyncio.wait_for(settle(pilot), ANSWERS)

    async def _gone_to(self, pilot: Pilot[int], screen: str) -> bool:
        """Back to where the app began, and to that screen; False when only another app comes there."""
        for _ in range(6 if self.bursts else 0):
            if pilot.app._exit or type(pilot.app.screen).__name__ == f"{self.state.capitalize()}Screen":
                break
            await asyncio.wait_for(press(pilot, "escape", "escape"), ANSWERS)
        try:
            await asyncio.wait_for(go_to(pilot, screen, press), ANSWERS)
        except AssertionError:
            self.keyed.in_vain += not self.bursts
            return False
        self.keyed.in_vain = 0
        self._look(pilot)
        if screen == "keys":
            await asyncio.wait_for(press(pilot, "f1"), ANSWERS)
            self._look(pilot)  # the guide, in the place of the keys
        return not pilot.app._exit

    async def _burst(self, pilot: Pilot[int]) -> None:
        """Some keys without a pause, then a rest or only a moment."""
        drawn = [*self._drawn()]
        sent = "".join(drawn)
        self.keyed.counts["keys"] += len(drawn)
        self.bursts = [*self.bursts[-4:], sent]
        app: Any = pilot.app
        for event in [*self.parser.feed(sent), *self.parser.tick(), *self.parser.tick()]:
            app._driver.process_message(event)
        if self.draw.random() < 0.3:
            for _ in range(self.draw.randint(0, 12)):
                await asyncio.sleep(0)
        else:
            await asyncio.wait_for(settle(pilot), ANSWERS)
        self._look(pilot)

    def _drawn(self) -> Iterator[str]:
        draw = self.draw
        for _ in range(draw.choice((1, 1, 2, 3, 5, 8, 13))):
            kind = 0.7 if self.keyed.control else draw.random()
            if kind < 0.3:
                yield from draw.choice(_SAID)
                yield from draw.choice(("\r", "\r", "\r\r", "\x1b[B", ""))
            elif kind < 0.6:
                for _ in range(draw.choice((1, 1, 2, 3, 20))):
                    yield _SENT[draw.choice(_BOUND)]
            elif kind < 0.78:
                yield _SENT["ctrl+p"]
                for _ in range(draw.randint(1, 6)):
                    yield _SENT[draw.choice(_PALETTE)]
            elif kind < 0.84:
                yield from draw.choices(string.printable[:95] + _ODD, k=draw.randint(1, 12))
            elif kind < 0.9:
                pasted = "".join(draw.choices(string.printable + _ODD, k=draw.choice((0, 3, 40, 300))))
                yield f"\x1b[200~{pasted}\x1b[201~"
            elif kind < 0.94:
                yield draw.choice(_BROKEN)
            elif kind < 0.99:
                yield draw.choice([*ANSI_SEQUENCES_KEYS])
            else:
                yield _SENT[draw.choice(_LEAVES)]

    def _look(self, pilot: Pilot[int]) -> None:
        self.keyed.seen.update(type(screen).__name__ for screen in pilot.app.screen_stack[1:])

    def _look_through(self) -> None:
        """What was recorded can be read, by a session that begins anew."""
        for job in self.folder.glob("*/journal.db"):
            try:
                Session(job.parent, clock=self.clock).close()
            except Exception as wrong:  # noqa: BLE001 - whatever it is, the job can't be opened
                self._wrong("unsound", _last(wrong))

    def _wrong(self, what: str, told: str) -> None:
        self.keyed.counts[what] += 1
        example = f"{self.name}: {what}: {told}, behind {self.bursts}"
        self.keyed.example = self.keyed.example or example
        if not self.keyed.control:  # at once, for a long run takes an hour
            print(example, file=sys.stderr, flush=True)


def _last(wrong: BaseException) -> str:
    """What went wrong, and the last places that it came through."""
    places = traceback.extract_tb(wrong.__traceback__)[-7:]
    return f"{type(wrong).__name__}: {wrong} at {', '.join(f'{Path(p.filename).name}:{p.lineno}' for p in places)}"
