"""The program in the soak's terminal: started under its clock, typed at, and read wherever its lines are broken."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path

import pyte

from tests.faults.soak_clock import CLOCK
from tests.pty.terminal import Terminal

ESCAPE, QUIT = b"\x1b", b"\x1b[24~"
BREATH = 0.1
"""Seconds without a new picture, after which a screen that was gone to is all there."""
CAUTIONS, SETTING_UP = "Read and understood", "SETTING UP"
AT_THE_POINTS = re.compile(r"(?:NO SETUP|setup on \w+ \d|SETUP DISAGREES).* reads ", re.DOTALL)
STANDS = re.compile(r"(?:setup on \w+ \d|SETUP DISAGREES).* reads ", re.DOTALL)
"""The title says so on other screens too; the box says on Check alone which point reads what is typed."""


class Screen:
    """One program, which is started anew whenever it has ended."""

    def __init__(self, folder: Path, clock: Path) -> None:
        self.folder, self.clock = folder, clock
        self.starts = 0
        self._terminal: Terminal | None = None

    # -- the screen

    @property
    def terminal(self) -> Terminal:
        """The program's."""
        assert self._terminal is not None
        return self._terminal

    @property
    def runs(self) -> bool:
        """Whether the program runs."""
        return self._terminal is not None

    def see(self, *wanted: str | re.Pattern[str]) -> float:
        """Waits until one of these is on the screen, wherever its lines are broken; returns when it came."""

        def seen(screen: pyte.Screen) -> bool:
            return shows(screen, *wanted)

        seen.__qualname__ = " or ".join(str(each) for each in wanted)
        return self.terminal.wait_for(seen)

    def on(self, *wanted: str | re.Pattern[str]) -> bool:
        """Whether one of these is there now."""
        self.terminal.text()
        return shows(self.terminal.screen, *wanted)

    def gone(self, what: str | re.Pattern[str]) -> None:
        """Waits until that is not on the screen any more."""
        self.terminal.wait_for(lambda screen: not shows(screen, what))

    def key(self, keys: bytes | str, *wanted: str | re.Pattern[str]) -> float:
        """Types, and waits; returns how many seconds it took."""
        sent = self.terminal.send(keys if isinstance(keys, bytes) else keys.encode())
        return self.see(*wanted) - sent

    def to(self, key: bytes, *wanted: str | re.Pattern[str]) -> None:
        """Goes to another screen by a key, and waits until that one is all there, and takes an Enter."""
        self.key(key, *wanted)
        self.terminal.settle(3 * BREATH)

    def change(self, key: bytes, what: Callable[[pyte.Screen], object]) -> None:
        """Presses a key, and waits until that is something else than before, and not nothing."""
        self.terminal.text()
        before = what(self.terminal.screen)
        self.terminal.send(key)
        self.terminal.wait_for(lambda screen: what(screen) not in (None, before))
        self.terminal.settle(BREATH)

    @property
    def head(self) -> str:
        """The first line."""
        return first_line(self.terminal.screen)

    # -- starts and ends

    def start(self) -> None:
        """Starts the program and waits until it says where it is."""
        command = [sys.executable, "-m", "tests.faults.soak_clock", "open", str(self.folder)]
        self._terminal = Terminal(command, changes={CLOCK: str(self.clock), "TZ": None})
        self.starts += 1
        self.see(CAUTIONS, SETTING_UP, AT_THE_POINTS)
        self.terminal.settle(0.1)  # the cautions may come over the points

    def end(self, *, by_kill: bool = False) -> None:
        """Ends it by its key, or as a dead battery does."""
        if by_kill:
            self.terminal.kill()
        else:
            self.terminal.settle(BREATH)
            self.terminal.send(QUIT)
            assert self.terminal.wait() == 0
        self.terminal.close()
        self._terminal = None

    def back(self) -> None:
        """Back to the points."""
        self.to(ESCAPE, AT_THE_POINTS)

    def at_point(self) -> str:
        """The point whose row is chosen, once the picture is whole: the panel is drawn before the table."""
        self.terminal.text()
        self.terminal.settle(BREATH)
        found = (re.match(r"> (\w+)", line) for line in self.terminal.screen.display)
        return next((each[1] for each in found if each), "")


def first_line(screen: pyte.Screen) -> str:
    """The first line with single spaces."""
    return " ".join(screen.display[0].split())


def flat(screen: pyte.Screen) -> str:
    """The screen as one line with single spaces; read off its cells, which takes a third of the time of `display`."""
    columns, cells = range(screen.columns), screen.buffer
    lines = ("".join([cells[row][column].data for column in columns]) for row in range(screen.lines))
    return f" {' '.join(' '.join(lines).split())} "


def shows(screen: pyte.Screen, *wanted: str | re.Pattern[str]) -> bool:
    """Whether one of these is on the screen."""
    text = flat(screen)
    return any(each in text if isinstance(each, str) else each.search(text) for each in wanted)


def chosen_entry(screen: pyte.Screen) -> int | None:
    """The number of the entry chosen in the log."""
    found = (re.match(r">\s*(\d+)", line) for line in screen.display)
    return next((int(each[1]) for each in found if each), None)


def at(point: str) -> re.Pattern[str]:
    """The row of that point is the chosen one."""
    return re.compile(rf"> {point} ")
