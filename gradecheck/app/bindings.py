"""The keys a screen and the app have, read from their bindings: for the help, the palette and the entry."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode
from textual.screen import Screen


def own(node: DOMNode) -> dict[str, list[Binding]]:
    """The node's own bindings by key."""
    return node._bindings.key_to_bindings  # Textual offers no other way to ask one node


def named(node: DOMNode, action: object) -> str:
    """What an action of the node is called, where it has a key for it."""
    every = (binding for bindings in own(node).values() for binding in bindings)
    return next((binding.description for binding in every if binding.action == action), str(action))


def offered(app: App[int], screen: Screen[object]) -> Iterable[tuple[DOMNode, list[Binding]]]:
    """What can be done here: each action once, the screen's before the app's, with the node that does it."""
    found: dict[str, tuple[DOMNode, list[Binding]]] = {}
    for node in (screen, app):
        every = [binding for bindings in own(node).values() for binding in bindings]
        for binding in sorted(every, key=lambda each: (not each.show, not each.tooltip)):
            # Ours carry an id; those that Textual gives every screen do not.
            if binding.id and binding.description:
                found.setdefault(binding.action.removeprefix("app."), (node, []))[1].append(binding)
    return found.values()


def does(keyed: Sequence[Binding]) -> str:
    """What an action does, in the words of whichever of its bindings says most."""
    return next((binding.tooltip for binding in keyed if binding.tooltip), keyed[0].description)
