"""A short list with a current line, moved from the keyboard while the entry keeps the focus."""

from __future__ import annotations

from collections.abc import Sequence

from textual.containers import ScrollableContainer
from textual.geometry import Region
from textual.widgets import Static

from gradecheck.app.plain import plain_lines


class PickList(Static):
    """Lines of text, the current one marked."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.lines: tuple[str, ...] = ()
        self.current = 0

    def offer(self, lines: Sequence[str]) -> None:
        """Shows these lines; the current one stays where it can."""
        self.lines = tuple(lines)
        self.go_to(self.current)

    def go_to(self, index: int) -> None:
        """Makes that line the current one; past an end it stays at the end."""
        self.current = max(0, min(index, len(self.lines) - 1))
        marked = [f"{'>' if at == self.current else ' '} {line}" for at, line in enumerate(self.lines)]
        self.update(plain_lines(marked))
        self.call_after_refresh(self._reveal)

    def _reveal(self) -> None:
        """Brings the current line into sight, where there are more than the window has room for."""
        if isinstance(self.parent, ScrollableContainer):
            line = Region(0, self.virtual_region.y + self.current, 1, 1)
            self.parent.scroll_to_region(line, animate=False, immediate=True)
