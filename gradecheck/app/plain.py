"""Text from files, people and errors as plain text: never markup, never anything a terminal would obey."""

from __future__ import annotations

import re

from textual.content import Content

_HIDDEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]")


def clean(text: str) -> str:
    """The text with every control and invisible character replaced by a visible one."""
    return _HIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)


def plain(text: str) -> Content:
    """The text for a widget, one line as it stands."""
    return Content(clean(text))


def plain_lines(lines: list[str]) -> Content:
    """Several lines for a widget."""
    return Content("\n".join(map(clean, lines)))
