"""The lowest line: the keys of the screen that is up.

Textual's own footer makes a widget of each key, which took a sixth of the time to the first picture; this is one.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual.binding import Binding
from textual.screen import Screen

from gradecheck.app.widgets.region import EDGE, Region, Row, ends, joined

BETWEEN = "   "


class KeyLine(Region):
    """Each key with a word for what it does, whole pairs only; where there is room, those less often needed too."""

    def on_mount(self) -> None:
        """Keeps up with the keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._bindings_changed)

    def _bindings_changed(self, _: Screen[object]) -> None:
        self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The pairs that have room."""
        pairs: list[Row] = [
            [(shown_key(each.key), "strong"), (f" {each.description}", "quiet")] for each in self._keys()
        ]
        return [ends(joined(pairs, width - 2 * EDGE, BETWEEN), [], width)]

    def _keys(self) -> list[Binding]:
        """Each action once, under the first of its keys: those to be shown before the others."""
        found: dict[str, Binding] = {}
        active = [each.binding for each in self.screen.active_bindings.values()]
        for binding in sorted(active, key=lambda each: (not each.show, each.key in _LAST)):
            # Ours have an id; what moves a list along is known from every list.
            if binding.description and (binding.show or (binding.id and binding.key not in _MOVES)):
                found.setdefault(binding.action.removeprefix("app."), binding)
        return list(found.values())


_MOVES = {"up", "down", "pageup", "pagedown"}
_LAST = {"escape"}


def shown_key(key: str) -> str:
    """The key as it is written on a keyboard: ``F1``, ``Ctrl+Z``, ``Esc``."""
    names = {"escape": "Esc", "pageup": "PgUp", "pagedown": "PgDn"}
    return "+".join(names.get(part, part.capitalize()) for part in key.split("+"))
