"""Textual's palette of actions, which takes no harm from keys that come before it is filled."""

from __future__ import annotations

import contextlib

from textual.command import CommandPalette
from textual.css.query import NoMatches


class Palette(CommandPalette):
    """The palette; what its list can't do yet is not done."""

    def _action_command_list(self, action: str) -> None:
        # Until the list is laid out it knows no line of its own, and a page down ended the app.
        with contextlib.suppress(KeyError, NoMatches):
            super()._action_command_list(action)

    def _action_cursor_down(self) -> None:
        with contextlib.suppress(KeyError, NoMatches):
            super()._action_cursor_down()
