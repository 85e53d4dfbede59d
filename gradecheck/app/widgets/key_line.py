"""The lowest line: the keys of the screen that is up.

Textual's own footer makes a widget of each key, which took a sixth of the time to the first picture; this is one.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.binding import Binding
from textual.screen import Screen

from gradecheck.app.bindings import is_there, need, own, shown_key
from gradecheck.app.widgets.region import EDGE, Region, Row, ends, joined, tapped, touched, width_of

BETWEEN = "   "


class KeyLine(Region):
    """First what the state of the screen needs, then each key with a word for what it does.

    Whole pairs only; where there is room, those less often needed too.
    """

    def __init__(self) -> None:
        super().__init__()
        self._shown: list[Binding] = []

    def on_mount(self) -> None:
        """Keeps up with the keys; for a finger the line is two rows high."""
        if touched(self.app):
            self.styles.height = 2
        self.screen.bindings_updated_signal.subscribe(self, self._bindings_changed)

    def _bindings_changed(self, _: Screen[object]) -> None:
        self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The pairs that have room."""
        self._shown = self._needs()
        pairs = [*(_pair(each, needed=True) for each in self._shown), *map(_pair, self._keys())]
        return [ends(joined(pairs, width - 2 * EDGE, BETWEEN), [], width)]

    def keep_up(self) -> None:
        """Something changed on the screen: it may need another key now."""
        if self._needs() != self._shown:
            self.changed()

    async def on_click(self, event: events.Click) -> None:
        """Where the mouse is on, a pair that is tapped does what its key does."""
        at = EDGE
        for binding in (*self._needs(), *self._keys()):
            end = at + width_of(_pair(binding))
            if at <= event.x < end <= self.size.width - EDGE:
                event.stop()
                await tapped(self.screen, binding.action)
                return
            at = end + len(BETWEEN)

    def _needs(self) -> list[Binding]:
        """What the state of the screen needs first."""
        wanted: Sequence[tuple[str, str]] = getattr(self.screen, "needs", ())
        found = (need(self.screen, meaning, words) for meaning, words in wanted)
        return [each for each in found if each is not None]

    def _keys(self) -> list[Binding]:
        """Each action once, under the first of its keys: those to be shown before the others."""
        found: dict[str, Binding] = {}
        needed = {each.action for each in self._needs()}
        # The box hands the screen's keys on, also those that Textual's own would edit with.
        keys = {key: each for key, bound in own(self.screen).items() for each in bound if is_there(self.app, each)}
        others = {key: each for key, each in self.screen.active_bindings.items() if key not in keys}
        of_a_list = [each.binding for each in others.values() if each.node is not self.app and each.binding.id]
        active = [*of_a_list, *keys.values(), *(each.binding for each in others.values() if each.node is self.app)]
        for binding in sorted(active, key=lambda each: (not _is_shown(each), each.key in _LAST)):
            # Ours have an id; what moves a list along is known from every list.
            if binding.description and (_is_shown(binding) or (binding.id and binding.key not in _MOVES)):
                found.setdefault(binding.action.removeprefix("app."), binding)
        return [binding for binding in found.values() if binding.action not in needed]


def _is_shown(binding: Binding) -> bool:
    """Whether it comes before those less often needed; to share now does wherever it can be done."""
    return binding.show or binding.id == "share"


def _pair(binding: Binding, *, needed: bool = False) -> Row:
    return [(shown_key(binding.key), "strong"), (f" {binding.description}", "strong" if needed else "quiet")]


_MOVES = {"up", "down", "pageup", "pagedown"}
_LAST = {"escape"}
