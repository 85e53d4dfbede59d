"""Text from files, people and errors as plain text: never markup, never anything a terminal would obey."""

from __future__ import annotations

from textual.content import Content

from gradecheck.plan.names import visible as clean

__all__ = ["clean", "plain", "plain_lines"]


def plain(text: str) -> Content:
    """The text for a widget, one line as it stands."""
    return Content(clean(text))


def plain_lines(lines: list[str]) -> Content:
    """Several lines for a widget."""
    return Content("\n".join(map(clean, lines)))
