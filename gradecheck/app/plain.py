"""Text from files, people and errors as plain text: never markup, never anything a terminal would obey."""

from __future__ import annotations

import unicodedata

from textual.content import Content


def clean(text: str) -> str:
    """The text with every control and invisible character replaced by a visible one."""
    if text.isprintable():
        return text
    # Of spaces only those that stand on one line are seen; the others end it.
    return "".join(
        c if c.isprintable() or unicodedata.category(c) == "Zs" else "\N{REPLACEMENT CHARACTER}" for c in text
    )


def plain(text: str) -> Content:
    """The text for a widget, one line as it stands."""
    return Content(clean(text))


def plain_lines(lines: list[str]) -> Content:
    """Several lines for a widget."""
    return Content("\n".join(map(clean, lines)))
