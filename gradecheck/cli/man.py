"""The manual page of all commands, made from the table of verbs: `gradecheck guide --man`."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from gradecheck import __version__
from gradecheck.catalogue import _
from gradecheck.cli.examples import EXAMPLES
from gradecheck.cli.run import whole_parser
from gradecheck.cli.verbs import GROUPS

EXITS = (
    _("done"),
    _("done, and the answer is no"),
    _("not understood; one sentence says why, and nothing was written"),
    _("the program itself failed; what was saved is saved"),
    _("saved, but the answer could not be written; do not enter it again"),
)
"""What each exit code says, from 0 on."""


def manual() -> str:
    """The page as troff's “man” macros write it."""
    return "".join(f"{line}\n" for line in _lines())


def _lines() -> Iterator[str]:
    parser = whole_parser()
    [commands] = (each for each in parser._actions if each.choices)
    parsers: dict[str, argparse.ArgumentParser] = dict(commands.choices or {})
    yield f'.TH GRADECHECK 1 "" "gradecheck {__version__}"'
    yield from (".SH NAME", _plain(_("gradecheck - {does}", does=_name_line(parser))))
    yield from (".SH SYNOPSIS", r"\fBgradecheck\fR \fICOMMAND\fR ...")
    yield from (".SH DESCRIPTION", _plain(f"{parser.description} {parser.epilog}"))
    yield ".SH COMMANDS"
    for heading, verbs in GROUPS.items():
        yield f'.SS "{_plain(heading)}"'
        for name, (_where, does) in verbs.items():
            yield from (".TP", rf"\fBgradecheck {_plain(name)}\fR {_usage(parsers[name])}", _plain(does))
            for option in parsers[name]._actions:
                if option.dest != "help" and (option.option_strings or option.help):
                    yield from _option(option)
            yield from (".IP", ".nf", rf"\fB{_plain(f'gradecheck {EXAMPLES[name]}')}\fR", ".fi")
    yield '.SH "EXIT STATUS"'
    for code, says in enumerate(EXITS):
        yield from (".TP", rf"\fB{code}\fR", _plain(says))
    yield from (".SH ENVIRONMENT", ".TP", r"\fBGRADECHECK_BY\fR", _plain(_("initials of who is checking")))


def _name_line(parser: argparse.ArgumentParser) -> str:
    return (parser.description or "").rstrip(".")


def _usage(parser: argparse.ArgumentParser) -> str:
    """What stands behind the command, without its options."""
    shown = []
    for each in parser._actions:
        if not each.option_strings:
            word = each.metavar if isinstance(each.metavar, str) else each.dest
            more = " ..." if each.nargs == "+" else ""
            shown.append(rf"\fI{_plain(word)}\fR{more}")
    return " ".join(shown)


def _option(option: argparse.Action) -> Iterator[str]:
    """An option with what it does, or what stands in a place."""
    flags = ", ".join(rf"\fB{_plain(each)}\fR" for each in option.option_strings)
    values = "|".join(map(str, option.choices or ())) or option.metavar
    value = rf"{' ' if flags else ''}\fI{_plain(str(values))}\fR" if option.nargs != 0 and values else ""
    yield ".RS"
    yield from (".TP", f"{flags}{value}", _plain((option.help or "").replace("%%", "%")) or r"\&")
    yield ".RE"


def _plain(text: str) -> str:
    """The text as troff prints it as it stands: a hyphen can be copied, and no line is taken for an order."""
    safe = text.replace("\\", r"\e").replace("-", r"\-").replace('"', r"\(dq").replace("\n", " ")
    safe = "".join(each if each.isascii() else rf"\[u{ord(each):04X}]" for each in safe)
    return rf"\&{safe}" if safe[:1] in (".", "'") else safe
