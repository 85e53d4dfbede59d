"""What is said when a write takes long: somebody else holds the journal, or the disk is slow."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator

from gradecheck.catalogue import _

SAID_AFTER = 1.0
"""Seconds of silence; nobody wonders before that."""
WAITING = _("Not saved yet: waiting for another program, or for a slow disk …")


@contextlib.contextmanager
def said_when_long(say: Callable[[str], None] | None) -> Iterator[None]:
    """Says once, from a thread of its own, that it is still being waited; without `say` nothing is said."""
    if say is None:
        yield
        return
    timer = threading.Timer(SAID_AFTER, say, (WAITING,))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
