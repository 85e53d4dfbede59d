"""The one table of keys: each key has one meaning over all screens; and the keys that the settings give instead.

A key that is typed in a reading, or gets a person about and away, stays what it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from gradecheck import catalogue
from gradecheck.catalogue import _

KEYS: dict[str, tuple[str, str]] = {
    "keys": ("f1", _("Keys")),
    "area": ("f2", _("Area")),
    "stage": ("f3", _("Stage")),
    "set-up": ("f4", _("Setup")),
    "recheck": ("f5", _("Recheck")),
    "log": ("f6", _("Log")),
    "mark": ("f7", _("Mark")),
    "strike": ("f8", _("Strike")),
    "day": ("f9", _("Day")),
    "quit": ("f12", _("Quit")),
    "accuracy": ("ctrl+a", _("How sure")),
    "other-folder": ("ctrl+b", _("Other folder")),
    "datum": ("ctrl+d", _("Datum")),
    "other": ("ctrl+e", _("Other")),
    "find": ("ctrl+f", _("Find")),
    "go-on": ("ctrl+g", _("Go on")),
    "person": ("ctrl+k", _("Person")),
    "left": ("ctrl+l", _("Left")),
    "doubt": ("ctrl+n", _("Trust")),
    "more": ("ctrl+o", _("More")),
    "leave": ("ctrl+q", _("Quit")),
    "correct": ("ctrl+r", _("Correct")),
    "sign": ("ctrl+s", _("Sign")),
    "theme": ("ctrl+t", _("Light/dark")),
    "share": ("ctrl+w", _("Share now")),
    "checks": ("ctrl+x", _("Checks")),
    "plan": ("ctrl+y", _("Plan")),
    "undo": ("ctrl+z", _("Undo")),
    "up": ("up", _("Before")),
    "down": ("down", _("After")),
    "page-up": ("pageup", _("Page before")),
    "page-down": ("pagedown", _("Page after")),
    "back": ("escape", _("Back")),
    "open": ("enter", _("Open")),
}
"""Each meaning, with its key and the word for it; a screen may say it in a word of its own."""

STAY = frozenset({"up", "down", "page-up", "page-down", "back", "open", "leave"})
"""Meanings whose key stays what it is."""
_TAKEN = frozenset("chijmpquv")
"""Letters that Ctrl makes Enter, Tab, Backspace, paste, the box emptied, the palette or the way out of."""
_USABLE = re.compile(rf"f(?:[1-9]|1[0-9]|2[0-4])|ctrl\+(?![{''.join(sorted(_TAKEN))}])[a-z]")

_moved: dict[str, str] = {}


def shown_key(key: str) -> str:
    """The key as it is written on a keyboard: ``F1``, ``Ctrl+Z``, ``Esc``."""
    names = {"escape": _("Esc"), "pageup": "PgUp", "pagedown": "PgDn"}
    return "+".join(names.get(part, part.capitalize()) for part in key.split("+"))


def use(keys: Mapping[str, str]) -> None:
    """From here on those meanings have those keys, as `understood` gives them; sentences name them so too."""
    global _moved
    _moved = {KEYS[meaning][0]: key for meaning, key in keys.items()}
    catalogue.name_keys({shown_key(usual): shown_key(key) for usual, key in _moved.items()})


def now(key: str) -> str:
    """The key that stands in the place of that one of the table."""
    return _moved.get(key, key)


def key_of(meaning: str) -> str:
    """The key that has that meaning now."""
    return now(KEYS[meaning][0])


def understood(given: object, at: Callable[[str, bool], str]) -> tuple[dict[str, str], list[str]]:
    """The keys that the settings' table gives, by their meanings, and what is wrong with it: then none is given.

    `at` tells where a meaning, or what is given to it, stands in the file.
    """
    if not isinstance(given, dict):
        return {}, [_('{at}: keys is a table, as [keys] with set-up = "f10" below it.', at=at("", True))]
    faults: list[str] = []
    keys: dict[str, str] = {}
    for meaning, key in given.items():
        wanted = key.strip().casefold() if isinstance(key, str) else ""
        if meaning not in KEYS:
            near = _near(meaning)
            faults.append(
                _("{at}: there is no action “{meaning}”.{meant}", at=at(meaning, True), meaning=meaning, meant=near)
            )
        elif meaning in STAY:
            usual = shown_key(KEYS[meaning][0])
            faults.append(_("{at}: {meaning} stays on {key}.", at=at(meaning, True), meaning=meaning, key=usual))
        elif not _USABLE.fullmatch(wanted):
            faults.append(
                _(
                    "{at}: “{key}” can't be given to {meaning}: it is typed in readings, or has a use of its own; "
                    'take F1 to F12, or Ctrl and another letter, as "ctrl+g".',
                    at=at(meaning, False),
                    key=key,
                    meaning=meaning,
                )
            )
        else:
            keys[meaning] = wanted
    if not faults:
        faults = _conflicts(keys, at)
    return ({}, faults) if faults else (keys, [])


def _conflicts(keys: Mapping[str, str], at: Callable[[str, bool], str]) -> list[str]:
    """That two meanings would have one key."""
    has: dict[str, str] = {key: meaning for meaning, (key, _) in KEYS.items() if meaning not in keys}
    faults = []
    for meaning, key in keys.items():
        if key in has:
            faults.append(
                _(
                    "{at}: {key} is that of {other} already; give {meaning} or {other} another key.",
                    at=at(meaning, False),
                    key=shown_key(key),
                    other=has[key],
                    meaning=meaning,
                )
            )
        has.setdefault(key, meaning)
    return faults


def _near(meaning: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(meaning.casefold(), KEYS, n=1, cutoff=0.6)
    return _(" Did you mean “{name}”?", name=near[0]) if near else ""
