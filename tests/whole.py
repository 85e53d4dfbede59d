"""Figures looked for in a text as a reader takes them: whole."""

from __future__ import annotations

import re


def has(text: str, words: str) -> bool:
    """Whether the words stand there, their last figure whole: 51 is not in 51 1/4, nor entry 4 in entry 45."""
    return re.search(re.escape(words) + r"(?![0-9]| ?[0-9]+/|[./][0-9])", text) is not None
