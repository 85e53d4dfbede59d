"""The lowest line: the keys of the screen that is up.

Textual's own footer makes a widget of each key, which took a sixth of the time to the first picture; this is one.
"""

from __future__ import annotations

from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.visual import VisualType
from textual.widget import Widget


class KeyLine(Widget, can_focus=False):
    """Each key with a word for what it does."""

    ALLOW_SELECT = False
    COMPONENT_CLASSES = {"key", "word"}

    def on_mount(self) -> None:
        """Keeps up with the keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._bindings_changed)

    def _bindings_changed(self, _: Screen[object]) -> None:
        self.refresh()

    def render(self) -> VisualType:
        """The line; what does not fit is cut."""
        key, word = self.get_visual_style("key"), self.get_visual_style("word")
        parts = []
        for binding in self._shown():
            parts += [(f" {self.app.get_key_display(binding)} ", key), (f"{binding.description} ", word)]
        return Content.assemble(*parts, end="")

    def _shown(self) -> list[Binding]:
        """Each action once, under the first of its keys."""
        found: dict[str, Binding] = {}
        for active in self.screen.active_bindings.values():
            if active.binding.show:
                found.setdefault(active.binding.action, active.binding)
        return list(found.values())
