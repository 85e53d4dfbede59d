"""What the screens bind, from the one table of keys; a screen leaves alone what it does not have.

Function keys do what is done all day, Ctrl and a letter the rest: letters that terminals pass on. F1, the palette,
the guide and the tests read what the screens bind, and they bind it from here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass

from textual.app import App
from textual.binding import Binding, BindingsMap
from textual.dom import DOMNode
from textual.screen import Screen

from gradecheck.catalogue import _
from gradecheck.system import keymap
from gradecheck.system.keymap import KEYS, key_of, shown_key

__all__ = ["GROUPS", "KEYS", "bind", "does", "grouped", "is_there", "key_of", "need", "offered", "own", "shown_key"]


@dataclass(frozen=True, slots=True)
class Group:
    """Meanings that belong together on F1, and examples; of those the first is told whose keys are all there.

    In an example stand ``{rod}`` and ``{off}`` for figures in the unit of the job's rod.
    """

    name: str
    meanings: tuple[str, ...]
    examples: tuple[tuple[frozenset[str], str], ...]


def _group(name: str, meanings: str, *examples: tuple[str, str]) -> Group:
    return Group(name, tuple(meanings.split()), tuple((frozenset(keys.split()), text) for keys, text in examples))


GROUPS = (
    _group(
        _("AT A POINT"),
        "up down page-up page-down strike undo go-on find left stage area accuracy other open",
        ("recheck undo", _("{rod}, Enter: CUT {off}; scrape, and enter the new reading")),
        ("undo correct", _("F8 deletes the row marked >, Ctrl+Z brings it back")),
        ("undo strike", _("Ctrl+Z goes back to the question before, with its answer")),
        ("strike up", _("Up goes to the one before, F8 strikes it")),
        ("up down", _("Down goes to the next one")),
    ),
    _group(
        _("SETUP AND MARKS"),
        "set-up recheck mark doubt correct datum",
        ("set-up", _("F4, a mark, Enter, {rod}, Enter; Enter alone finishes it")),
        ("correct undo", _("Ctrl+R, a new name, Enter renames the row marked >")),
        ("correct strike", _("Ctrl+R, {rod}, Enter puts {rod} in its place")),
        ("correct", _("Ctrl+R shows the plan as a form beside its drawing")),
    ),
    _group(
        _("LOG AND EVENING"),
        "log day sign checks more person",
        ("day log", _("F9, then Ctrl+S, RK, Enter sign a stage off")),
        ("sign", _("Ctrl+S, RK, Enter sign the stage marked > off")),
        ("checks", _("Ctrl+X shows what to look at in the plan")),
    ),
    _group(
        _("JOB AND PLAN"),
        "plan other-folder share",
        ("plan set-up", _("the job file was changed: Ctrl+Y shows how")),
        ("plan undo", _("Ctrl+Y shows what changes in the file, Ctrl+Y again saves it")),
        ("plan checks", _("Ctrl+Y asks for a new job, and draws it as it grows")),
        ("plan", _("Ctrl+Y accepts the job file as it is now")),
    ),
    _group(
        _("LEAVE AND HELP"),
        "back keys theme quit leave",
        ("back keys", _("Esc is one step back; F1 twice is the guide")),
        ("quit", _("F12 leaves; everything entered is saved")),
    ),
)
"""How F1 groups the meanings; each is in one group."""


def group_of(meaning: str) -> Group:
    """The group that a meaning is in."""
    return next(group for group in GROUPS if meaning in group.meanings)


def grouped(app: App[int], screen: Screen[object]) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """Every key of the screen as F1 tells it: each group's name, its example, and its keys with what they do."""
    rows: dict[str, list[tuple[str, str]]] = {}
    meanings = set[str]()
    for _node, bound in offered(app, screen):
        meanings.update(each.id or "" for each in bound)
        keys = ", ".join(dict.fromkeys(shown_key(each.key) for each in bound))
        rows.setdefault(group_of(bound[0].id or "").name, []).append((keys, does(bound)))
    groups = []
    for group in GROUPS:
        if group.name in rows:
            groups.append((group.name, example_of(group, meanings), rows[group.name]))
    return groups


def example_of(group: Group, meanings: Set[str]) -> str:
    """The group's example on a screen whose keys have those meanings; nothing where none fits."""
    return next((text for needed, text in group.examples if needed <= meanings), "")


def bind(meaning: str, action: str, does: str = "", *, word: str = "", show: bool = False) -> Binding:
    """The key of that meaning does `action` here; `does` says in a sentence what."""
    key, usual = KEYS[meaning]
    return Binding(key, action, word or usual, id=meaning, show=show, tooltip=does)


def as_chosen(bound: BindingsMap) -> BindingsMap:
    """What a node binds, under the keys that the settings give instead of ours."""
    moved: dict[str, list[Binding]] = {}
    for key, each in bound.key_to_bindings.items():
        now = keymap.now(key) if any(binding.id for binding in each) else key
        moved.setdefault(now, []).extend(binding.with_key(now) if now != key else binding for binding in each)
    return BindingsMap.from_keys(moved)


def own(node: DOMNode) -> dict[str, list[Binding]]:
    """The node's own bindings by key."""
    return node._bindings.key_to_bindings  # Textual offers no other way to ask one node


def need(node: DOMNode, meaning: str, words: str) -> Binding | None:
    """The node's own key of that meaning, under the words for what this state needs; None where it has none."""
    if meaning == "open":
        return Binding("enter", "enter_alone", words, id=meaning)
    every = (binding for bindings in own(node).values() for binding in bindings)
    found = next((binding for binding in every if binding.id == meaning), None)
    return Binding(found.key, found.action, words, id=meaning) if found is not None else None


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
            if binding.id and binding.description and is_there(app, binding):
                found.setdefault(binding.action.removeprefix("app."), (node, []))[1].append(binding)
    return found.values()


def is_there(app: App[int], binding: Binding) -> bool:
    """Whether it can be done at all: to share now is, where the settings name a folder."""
    return binding.id != "share" or app.check_action("share", ()) is True


def does(bound: Sequence[Binding]) -> str:
    """What an action does, in the words of whichever of its bindings says most."""
    return next((binding.tooltip for binding in bound if binding.tooltip), bound[0].description)
