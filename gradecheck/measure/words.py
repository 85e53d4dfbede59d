"""Numbers of things in words."""

from __future__ import annotations

from collections.abc import Sequence


def count(number: int, thing: str, things: str = "") -> str:
    """``1 point``, ``2 points``; `things` is the plural where an s does not make it."""
    return f"{number} {thing if number == 1 else things or thing + 's'}"


def some(names: Sequence[str], most: int = 3) -> str:
    """The first few of many names: ``P1, P1-2, P1-3 and 74 more``; all where there is only one more."""
    if len(names) <= most + 1:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"
