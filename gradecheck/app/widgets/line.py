"""Lines of plain words that change often: a new text is drawn without laying the screen out again."""

from __future__ import annotations

from rich.cells import cell_len
from textual.widgets import Static

from gradecheck.app.plain import plain

TALLEST = 3


class TextLine(Static):
    """One line; what does not fit is cut."""

    def say(self, text: str) -> None:
        """Shows the text."""
        self.update(plain(text), layout=False)


class SentenceLines(Static):
    """A sentence on as many lines as it needs, three at most; the screen is laid out anew only when they change."""

    def holds(self, text: str) -> bool:
        """Whether all of it would be seen."""
        room = self.content_size.width
        return room > 0 and plain(text).get_height({}, room) <= TALLEST

    def say(self, text: str) -> None:
        """Shows the text."""
        content, room = plain(text), self.content_size.width
        # Lines break between words, so that a sentence may take one more than its letters alone would.
        lines = min(content.get_height({}, room), TALLEST) if 0 < room < cell_len(content.plain) else 1
        self.update(content, layout=lines != self.content_size.height)
