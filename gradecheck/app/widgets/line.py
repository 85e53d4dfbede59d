"""Lines of plain words that change often: a new text is drawn without laying the screen out again."""

from __future__ import annotations

from rich.cells import cell_len
from textual.widgets import Static

from gradecheck.app.plain import plain

TALLEST = 3


class Line(Static):
    """One line; what does not fit is cut."""

    def say(self, text: str) -> None:
        """Shows the text."""
        self.update(plain(text), layout=False)


class Words(Static):
    """A sentence on as many lines as it needs, three at most; the screen is laid out anew only when they change."""

    def say(self, text: str) -> None:
        """Shows the text."""
        room = max(self.content_size.width, 1)
        lines = min(-(-cell_len(text) // room), TALLEST) if self.content_size.width else 1
        taller = lines != self.content_size.height
        self.update(plain(text), layout=taller)
