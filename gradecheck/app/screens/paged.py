"""What screens share on which text above the entry may be longer than there is room for."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.pages import Pages


class PagedScreen(EntryScreen):
    """A screen with `Pages` on it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "turn(-1)", "Page before", id="page-up", show=False),
        Binding("pagedown", "turn(1)", "Page after", id="page-down", show=False),
    ]

    def action_turn(self, by: int) -> None:
        """Turns a page of what does not fit."""
        self.query_one(Pages).turn(by)
