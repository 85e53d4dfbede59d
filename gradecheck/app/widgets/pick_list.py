"""A short list with a current line, moved from the keyboard while the entry keeps the focus."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.containers import ScrollableContainer
from textual.geometry import Region
from textual.widgets import Static

from gradecheck.app.plain import plain_lines
from gradecheck.app.widgets.region import tapped, touched


class PickList(Static):
    """Lines of text, the current one marked."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.lines: tuple[str, ...] = ()
        self.current = 0

    def on_mount(self) -> None:
        """Where lines may be tapped each keeps its place: a long one is cut, not folded."""
        if touched(self.app):
            self.styles.text_wrap = "nowrap"
            self.styles.text_overflow = "ellipsis"

    def offer(self, lines: Sequence[str]) -> None:
        """Shows these lines; the current one stays where it can."""
        self.lines = tuple(lines)
        self.go_to(self.current)

    def go_to(self, index: int) -> None:
        """Makes that line the current one; past an end it stays at the end."""
        self.current = max(0, min(index, len(self.lines) - 1))
        marked = []
        for at, line in enumerate(self.lines):
            marked += [f"{'>' if at == self.current else ' '} {line}", *[""] * (self.high - 1)]
        self.update(plain_lines(marked))
        self.call_after_refresh(self._reveal)

    async def on_click(self, event: events.Click) -> None:
        """Where the mouse is on, a line that is tapped becomes the current one, as the arrows would make it."""
        index = event.y // self.high
        if index < len(self.lines) and index != self.current:
            event.stop()
            await tapped(self.screen, f"move({index - self.current})")

    @property
    def high(self) -> int:
        """Rows of a line: two where lines may be tapped, the second of them free."""
        return 2 if touched(self.app) else 1

    def _reveal(self) -> None:
        """Brings the current line into sight, where there are more than the window has room for."""
        if isinstance(self.parent, ScrollableContainer):
            line = Region(0, self.virtual_region.y + self.current * self.high, 1, self.high)
            self.parent.scroll_to_region(line, animate=False, immediate=True)
