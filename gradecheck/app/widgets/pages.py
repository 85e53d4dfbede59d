"""Text that may be longer than there is room for: pages are turned by keys while the entry keeps the focus."""

from __future__ import annotations

from textual.containers import VerticalScroll
from textual.css.query import NoMatches
from textual.dom import NoScreen
from textual.widget import Widget

from gradecheck.catalogue import _


class Pages(VerticalScroll, can_focus=False):
    """Shows a page; the line above the entry says by which keys there is more to see."""

    # Where its bar leaves no column for the text, the bar comes and goes with each drawing, for ever.
    DEFAULT_CSS = "Pages { min-width: 8; }"

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
