"""The one table of keys: each key has one meaning over all screens, and a screen leaves alone what it does not have.

Function keys do what is done all day, Ctrl and a letter the rest: letters that terminals pass on. F1, the palette,
the guide and the tests read what the screens bind, and they bind it from here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode
from textual.screen import Screen

KEYS: dict[str, tuple[str, str]] = {
    "keys": ("f1", "Keys"),
    "area": ("f2", "Area"),
    "stage": ("f3", "Stage"),
    "set-up": ("f4", "Setup"),
    "recheck": ("f5", "Recheck"),
    "log": ("f6", "Log"),
    "mark": ("f7", "Mark"),
    "strike": ("f8", "Strike"),
    "day": ("f9", "Day"),
    "quit": ("f12", "Quit"),
    "accuracy": ("ctrl+a", "How sure"),
    "elsewhere": ("ctrl+b", "Elsewhere"),
    "datum": ("ctrl+d", "Datum"),
    "other": ("ctrl+e", "Other"),
    "find": ("ctrl+f", "Find"),
    "go-on": ("ctrl+g", "Go on"),
    "person": ("ctrl+k", "Person"),
    "left": ("ctrl+l", "Left"),
    "doubt": ("ctrl+n", "Trust"),
    "more": ("ctrl+o", "More"),
    "leave": ("ctrl+q", "Quit"),
    "correct": ("ctrl+r", "Correct"),
    "sign": ("ctrl+s", "Sign"),
    "theme": ("ctrl+t", "Light/dark"),
    "weather": ("ctrl+w", "Weather"),
    "checks": ("ctrl+x", "Checks"),
    "plan": ("ctrl+y", "Plan"),
    "undo": ("ctrl+z", "Undo"),
    "up": ("up", "Before"),
    "down": ("down", "After"),
    "page-up": ("pageup", "Page before"),
    "page-down": ("pagedown", "Page after"),
    "back": ("escape", "Back"),
    "open": ("enter", "Open"),
}
"""Each meaning, with its key and the word for it; a screen may say it in a word of its own."""


def bind(meaning: str, action: str, does: str = "", *, word: str = "", show: bool = False) -> Binding:
    """The key of that meaning does `action` here; `does` says in a sentence what."""
    key, usual = KEYS[meaning]
    return Binding(key, action, word or usual, id=meaning, show=show, tooltip=does)


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
