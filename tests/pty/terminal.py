"""A terminal of our own: it starts a program, types into it, and knows what stands on its screen and since when."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import TracebackType

import pyte

import gradecheck

ROOT = Path(gradecheck.__file__).parents[1]
PATIENCE = 30.0
"""Seconds to wait for something that should have come long ago; a busy machine is slow, not wrong."""

Seen = Callable[[pyte.Screen], bool]

_KINDS: dict[str, str | None] = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
# What the person who runs the tests has set for their own terminal must not reach the program.
_DROPPED = ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES", "TERM_PROGRAM", "GRADECHECK_BY")


def gradecheck_command(*arguments: str) -> list[str]:
    """The program as a command."""
    return [sys.executable, "-m", "gradecheck", *arguments]


def environment(changes: Mapping[str, str | None] | None = None) -> dict[str, str]:
    """The variables a program is started with; a change to None takes the variable away."""
    kept = {
        name: value for name, value in os.environ.items() if name not in _DROPPED and not name.startswith("TEXTUAL")
    }
    kept["PYTHONPATH"] = str(ROOT)
    for name, value in (_KINDS | dict(changes or {})).items():
        if value is None:
            kept.pop(name, None)
        else:
            kept[name] = value
    return kept


class Terminal:
    """A program in a terminal. What it writes is taken at once by a thread, and put on the screen when looked at."""

    def __init__(
        self,
        command: Sequence[str],
        *,
        columns: int = 80,
        lines: int = 24,
        changes: Mapping[str, str | None] | None = None,
    ) -> None:
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.ByteStream(self.screen)
        self._chunks: list[tuple[float, bytes]] = []
        self._fed = 0
        self._news = threading.Condition()
        self._ended = False
        self._status: int | None = None
        self.master, slave = pty.openpty()
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        # In a session of its own the program opens the terminal anew, and with that it is its own: closing the
        # window reaches it as it would from a shell.
        everything = [(os.POSIX_SPAWN_OPEN, 0, os.ttyname(slave), os.O_RDWR, 0)]
        everything += [(os.POSIX_SPAWN_DUP2, 0, to) for to in (1, 2)]
        self.started = time.perf_counter()
        # Ctrl+C reaches it even where the tests run in the background, for which shells have it ignored.
        self.pid = os.posix_spawn(
            command[0], list(command), environment(changes), file_actions=everything, setsid=True,
            setsigdef=[signal.SIGINT],
        )  # fmt: skip
        os.close(slave)
        self._no_more, self._hung_up = os.pipe()
        self._drain = threading.Thread(target=self._take, name="terminal", daemon=True)
        self._drain.start()

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, wrong: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # -- typing

    def send(self, keys: bytes) -> float:
        """Types all of it in one write; returns when that was."""
        when = time.perf_counter()
        written = os.write(self.master, keys)
        assert written == len(keys), "the terminal took only a part"
        return when

    # -- looking

    def text(self) -> str:
        """The screen as it stands, a line a line."""
        self._show(lambda screen: False)
        return "\n".join(line.rstrip() for line in self.screen.display)

    def wait_for(self, wanted: str | Seen, timeout: float = PATIENCE, *, quiet: float = 0.0) -> float:
        """Waits until the text (or what the function looks for) is on the screen; returns when it came there.

        With `quiet`, nothing is looked at before the program has been silent for that long: then the moment is
        exact, because nothing else was going on here while the program wrote.
        """
        seen: Seen = (lambda screen: _shows(screen, wanted)) if isinstance(wanted, str) else wanted
        if seen(self.screen):
            return time.perf_counter()
        deadline = time.monotonic() + timeout
        while True:
            if quiet:
                self._settle(quiet, deadline)
            when = self._show(seen)
            if when is not None:
                return when
            with self._news:
                if self._fed < len(self._chunks):
                    continue
                if self._ended or not self._news.wait(max(deadline - time.monotonic(), 0)):
                    what = "the program ended" if self._ended else "time is up"
                    screen = "\n".join(self.screen.display)
                    named = wanted if isinstance(wanted, str) else wanted.__qualname__
                    raise AssertionError(f"{what}, and “{named}” is not on the screen:\n{screen}")

    def settle(self, quiet: float = 0.3, timeout: float = PATIENCE) -> None:
        """Waits until the program has written nothing for that long, and shows everything."""
        self._settle(quiet, time.monotonic() + timeout)
        self._show(lambda screen: False)

    def output(self) -> bytes:
        """Everything the program has written so far."""
        with self._news:
            return b"".join(chunk for _, chunk in self._chunks)

    @property
    def pieces(self) -> int:
        """In how many pieces that came."""
        return len(self._chunks)

    def next_output(self, after: int, timeout: float) -> list[tuple[float, bytes]]:
        """What was written behind the first `after` pieces, each with its moment; empty when nothing comes."""
        with self._news:
            if len(self._chunks) <= after and not self._ended:
                self._news.wait(timeout)
            return self._chunks[after:]

    # -- ending

    def signal(self, number: int) -> None:
        """Sends the program a signal."""
        os.kill(self.pid, number)

    def hang_up(self) -> None:
        """Closes the window under the program."""
        os.close(self._hung_up)
        self._drain.join()
        os.close(self._no_more)
        os.close(self.master)
        self.master = -1

    def kill(self) -> None:
        """Ends the program at once, as a dead battery would; what it wrote before that can still be looked at."""
        if self._status is None:
            self.signal(signal.SIGKILL)
            self.wait()
        # With nobody left to write, the thread reads what there is and ends.
        self._drain.join()

    def wait(self, timeout: float = PATIENCE) -> int:
        """Waits for the end of the program; returns its exit status, or minus the signal that ended it."""
        deadline = time.monotonic() + timeout
        while self._status is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self._status = os.waitstatus_to_exitcode(status)
            elif time.monotonic() > deadline:
                raise AssertionError(f"the program has not ended:\n{self.text()}")
            else:
                time.sleep(0.005)
        return self._status

    def close(self) -> None:
        """Ends what is left of the program and lets the terminal go."""
        self.kill()
        if self.master >= 0:
            self.hang_up()

    # -- within

    def _take(self) -> None:
        """Runs in the thread: takes what the program writes until nobody can write any more."""
        while True:
            ready, _, _ = select.select([self.master, self._no_more], [], [])
            try:
                chunk = os.read(self.master, 1 << 16) if self.master in ready else b""
            except OSError:  # so the terminal says that nobody writes to it any more
                chunk = b""
            with self._news:
                if chunk:
                    self._chunks.append((time.perf_counter(), chunk))
                else:
                    self._ended = True
                self._news.notify_all()
            if not chunk:
                return

    def _show(self, seen: Seen) -> float | None:
        """Puts what has come on the screen, piece by piece, until `seen`; returns when that piece came."""
        while self._fed < len(self._chunks):
            when, chunk = self._chunks[self._fed]
            self._stream.feed(chunk)
            self._fed += 1
            if seen(self.screen):
                return when
        return None

    def _settle(self, quiet: float, deadline: float) -> None:
        with self._news:
            while not self._ended and self._news.wait(quiet):
                if time.monotonic() > deadline:
                    raise AssertionError("the program never stops writing")


def _shows(screen: pyte.Screen, text: str) -> bool:
    return any(text in line for line in screen.display)
