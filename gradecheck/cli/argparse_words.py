"""What argparse itself says, looked up in the catalogue like all else; in English it says it in its own words."""

from __future__ import annotations

import argparse

from gradecheck.catalogue import _, language, plural

WORDS = (
    _("usage: "),
    _("positional arguments"),
    _("options"),
    _("show this help message and exit"),
    _("%(prog)s: error: %(message)s\n"),
    _("argument %(argument_name)s: %(message)s"),
    _("the following arguments are required: %s"),
    _("one of the arguments %s is required"),
    _("unrecognized arguments: %s"),
    _("not allowed with argument %s"),
    _("ignored explicit argument %r"),
    _("expected one argument"),
    _("expected at most one argument"),
    _("expected at least one argument"),
    _("ambiguous option: %(option)s could match %(matches)s"),
    _("unexpected option string: %s"),
    _("invalid %(type)s value: %(value)r"),
    _("invalid choice: %(value)r (choose from %(choices)s)"),
    _("invalid choice: %(value)r, maybe you meant %(closest)r? (choose from %(choices)s)"),
    _("unknown parser %(parser_name)r (choices: %(choices)s)"),
    _("can't open '%(filename)s': %(error)s"),
)
"""Sentences of argparse in Python 3.11 to 3.14 that people can meet; a new one comes out in English."""


def speak() -> None:
    """From here on argparse looks its sentences up; it has gettext under these two names."""
    if language() != "en":
        vars(argparse).update(_=_, ngettext=_counted)


def _counted(one: str, many: str, number: int) -> str:
    """The one sentence of argparse that counts; what developers alone can meet stays as it is."""
    if one == "expected %s argument":
        return plural(number, "expected %s argument", "expected %s arguments")
    return one if number == 1 else many
