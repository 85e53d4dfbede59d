"""That a command is still at work, told on standard error of a terminal where it takes longer than a second."""

from __future__ import annotations

import contextlib
import sys
import threading
import time
from types import TracebackType

from gradecheck.catalogue import _

FIRST, NEXT = 1.0, 10.0
"""Seconds before it is told, and between the times that it is told again: lines, for a screen reader too."""


def _at_a_terminal() -> bool:
    with contextlib.suppress(AttributeError, OSError, ValueError):  # closed, or none at all
        return sys.stderr.isatty()
    return False


class AtWork:
    """Tells from a thread of its own until it is left; nothing where nobody sits before a terminal."""

    def __init__(self, *, wanted: bool) -> None:
        self._done = threading.Event()
        self._thread: threading.Thread | None = None
        if wanted and _at_a_terminal():
            self._thread = threading.Thread(target=self._tell, daemon=True)

    def __enter__(self) -> AtWork:
        if self._thread is not None:
            self._thread.start()
        return self

    def __exit__(self, _kind: type[BaseException] | None, _wrong: object, _at: TracebackType | None) -> None:
        self.stop()

    def stop(self) -> None:
        """Tells no more, also not while this is called."""
        self._done.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _tell(self) -> None:
        began, wait = time.monotonic(), FIRST
        while not self._done.wait(wait):
            seconds = round(time.monotonic() - began)
            print(_("Still working, {seconds} s. Ctrl+C stops it.", seconds=seconds), file=sys.stderr, flush=True)
            wait = NEXT
