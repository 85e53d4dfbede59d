"""What screens share on which text above the entry may be longer than there is room for."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from gradecheck.app.bindings import bind
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.pages import Pages


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
