"""The verdict in letters that can be read from the seat of a machine."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from gradecheck.app.widgets.letters import large


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
        drawn = large(self._text, *self.size, ascii_only=self._ascii_only)
        return Content("\n".join(drawn) if drawn else self._text)
