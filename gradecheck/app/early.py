"""Keys that come while one screen gives way to another: nothing that is typed is dropped in silence.

The rule has no clock in it. From a key that may lead to another screen until what it did is on the screen, the app
holds back what is typed. Where the screen stayed, all of it takes effect then, in order. Where another one is up,
what was typed up to the first Enter stands in its box; what came behind that Enter is not taken and is named there.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.events import Key, Paste

from gradecheck.app.plain import clean
from gradecheck.catalogue import _

Typed = Key | Paste
_EMPTY = ("escape", "ctrl+u")
"""Keys that drop what was typed before them."""


def texts(typed: Iterable[Typed]) -> list[str]:
    """What the keys write, parted by each Enter; keys that write nothing do nothing."""
    written = [""]
    for event in typed:
        if isinstance(event, Paste):
            written[-1] += clean(next(iter(event.text.splitlines()), ""))
        elif event.key == "enter":
            written.append("")
        elif event.key == "backspace":
            written[-1] = written[-1][:-1]
        elif event.key in _EMPTY:
            written[-1] = ""
        elif event.is_printable:
            written[-1] += event.character or ""
    return written


def not_taken(behind: Iterable[str]) -> str:
    """What was typed too early to be taken, as a sentence; empty where there is nothing."""
    named = ", ".join(f"“{text}”" for text in behind if text.strip())
    return _("Ignored, typed before this screen was up: {named}.", named=named) if named else ""
