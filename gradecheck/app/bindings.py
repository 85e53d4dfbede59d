"""The keys a screen and the app have, read from their bindings: for the help, the palette and the entry."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode
from textual.screen import Screen


def own(node: DOMNode) -> dict[str, list[Binding]]:
    """The node's own bindings by key."""
    return node._bindings.key_to_bindings  # Textual offers no other way to ask one node


def offered(app: App[int], screen: Screen[object]) -> Iterator[tuple[DOMNode, Binding]]:
    """What can be done here: each action once, the screen's before the app's, with the node that does it."""
    told = set()
    for node in (screen, app):
        every = [binding for bindings in own(node).values() for binding in bindings]
        for binding in sorted(every, key=lambda each: not each.show):
            # Ours carry an id; those that Textual gives every screen do not.
            action = binding.action.removeprefix("app.")
            if binding.id and binding.description and action not in told:
                told.add(action)
                yield node, binding
