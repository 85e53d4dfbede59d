"""Textual's palette of actions, which takes no harm from keys that come before it is filled."""

from __future__ import annotations

import contextlib
from typing import Any

from textual import on
from textual.command import CommandPalette
from textual.css.query import NoMatches
from textual.message import Message
from textual.widgets import Input, OptionList
from textual.worker import ResultType, Worker, WorkType

from gradecheck.app.screens.left_once import LeftOnceScreen


class Palette(CommandPalette, LeftOnceScreen[None]):
    """The palette; what its list can't do yet is not done."""

    def run_worker(self, work: WorkType[ResultType], *args: Any, **options: Any) -> Worker[ResultType]:
        """Looks for actions; a search that goes on when the palette is gone finds no list, and that is all."""
        return super().run_worker(work, *args, **{**options, "exit_on_error": False})

    @on(Input.Submitted)
    @on(OptionList.OptionSelected)
    def _choose_once(self, event: Message) -> None:
        """An action is done once, however many Enters came behind the one that chose it."""
        if self.is_left:
            event.stop()
            event.prevent_default()

    def _action_command_list(self, action: str) -> None:
        # Until the list is laid out it knows no line of its own, and a page down ended the app.
        with contextlib.suppress(KeyError, NoMatches):
            super()._action_command_list(action)

    def _action_cursor_down(self) -> None:
        with contextlib.suppress(KeyError, NoMatches):
            super()._action_cursor_down()
