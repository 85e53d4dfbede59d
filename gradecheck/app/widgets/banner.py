"""The verdict in letters that can be read from the seat of a machine."""

from __future__ import annotations

import re
from functools import cache

from rich.cells import cell_len
from textual.content import Content
from textual.widget import Widget


class Banner(Widget):
    """One short text, as large as the width allows; its class gives the colour."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id)
        self._text = ""
        self._ascii_only = ascii_only

    @property
    def text(self) -> str:
        """What it says."""
        return self._text

    def say(self, text: str, tone: str) -> None:
        """Shows the text in the colour of that class."""
        self._text = text
        self.set_classes(tone)
        self.refresh()

    def render(self) -> Content:
        """The text in the largest letters that fit, plain where none do."""
        if not self._text:
            return Content("")
        for lines in large(self._text):
            if max(map(cell_len, lines)) <= self.size.width and len(lines) <= self.size.height:
                drawn = "\n".join(lines)
                return Content(drawn.replace("█", "#") if self._ascii_only else drawn)
        return Content(self._text)


@cache
def large(text: str) -> tuple[tuple[str, ...], ...]:
    """The text in solid letters, the largest first: five rows high, then three.

    A fraction stands two spaces off where there is room: from a distance 1 1/2 must not look like 11/2.
    """
    from pyfiglet import Figlet

    faces = []
    wide = re.sub(r"(?<=[0-9]) (?=[0-9])", "  ", text)
    for face, words in (("ansi_regular", wide), ("ansi_regular", text), ("pagga", wide), ("pagga", text)):
        drawn = Figlet(font=face, width=1000).renderText(words).replace("░", " ")
        lines = [line.rstrip() for line in drawn.splitlines()]
        faces.append(tuple(line for line in lines if line))
    return tuple(faces)
