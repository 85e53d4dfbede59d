"""Text above the entry that may be longer than its room: pages are turned by keys, the entry keeps the focus."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.css.query import NoMatches
from textual.dom import NoScreen
from textual.widget import Widget

from gradecheck.app.bindings import bind
from gradecheck.app.screens.base import EntryScreen
from gradecheck.catalogue import _


class Pages(VerticalScroll, can_focus=False):
    """Shows a page; the line above the entry says by which keys there is more to see."""

    def on_mount(self) -> None:
        """Keeps up with what there is to see."""
        for what in ("scroll_y", "virtual_size", "size"):
            self.watch(self, what, self._tell_later, init=False)

    def turn(self, by: int) -> None:
        """To the next page, or the one before; a line of the last one stays in sight."""
        self.scroll_relative(y=by * max(self.size.height - 1, 1), animate=False, immediate=True)

    def to_top(self) -> None:
        """To the first page."""
        self.scroll_home(animate=False, immediate=True)

    @property
    def more(self) -> str:
        """The keys by which there is more to see."""
        ways = (("PgUp", self.scroll_y > 0), ("PgDn", self.scroll_y < self.max_scroll_y))
        return " ".join(key for key, there in ways if there)

    def _tell_later(self) -> None:
        self.call_after_refresh(self._tell)  # until all is laid out, there seems to be more or less than there is

    def _tell(self) -> None:
        try:
            line = self.screen.query_one("#asking", Widget)
        except (NoMatches, NoScreen):  # this widget or its screen is gone by now
            return
        more = _("more: {more}", more=self.more) if self.more else ""
        line.border_title = " · ".join(filter(None, (more, getattr(self.screen, "judges", ""))))


class PagedScreen(EntryScreen):
    """A screen with `Pages` on it."""

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]
    """From how many columns on a screen sets its parts side by side."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("page-up", "turn(-1)"),
        bind("page-down", "turn(1)"),
    ]

    def action_turn(self, by: int) -> None:
        """Turns a page of what does not fit."""
        self.query_one(Pages).turn(by)
