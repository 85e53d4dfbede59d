"""What a verb is made of: a small class of options whose fields tell argparse what to ask, its reply, its JSON."""

from __future__ import annotations

import argparse
import dataclasses
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from gradecheck.catalogue import _

if TYPE_CHECKING:
    from gradecheck.session.session import Session

AGAIN = _("can be repeated; give a name with a comma in it by itself")
DAY = "YYYY-MM-DD"


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer of a verb: for other programs `json` (or a function that gives it), for people lines or text."""

    json: object = None
    lines: Iterable[str] = ()
    text: str = ""
    """What is printed as it stands, behind the lines."""
    table: Sequence[Mapping[str, object]] | None = None
    """What --csv prints where that is not the rows of the answer in JSON."""
    code: int = 0
    saved: bool = False
    """Whether a file was written; what a session recorded is known without that."""


# -- options


def option(*flags: str, default: object = None, **settings: Any) -> Any:
    """An option that is asked for by those flags."""
    return field(default=default, metadata={"flags": flags, "settings": settings})


def flag(name: str, help: str) -> Any:
    """An option that is given or not."""
    return option(name, default=False, action="store_true", help=help)


def named(metavar: str, default: object = dataclasses.MISSING, **settings: Any) -> Any:
    """What is named in its place, without a flag; it may be left out where it has a default."""
    if default is not dataclasses.MISSING and settings.get("nargs") != "?":
        settings["action"] = _MayBeLeftOut
    metadata = {"flags": (), "settings": {"metavar": metavar, **settings}}
    return field(metadata=metadata) if default is dataclasses.MISSING else field(default=default, metadata=metadata)


def as_path(typed: str) -> Path:
    """The path named; argparse tells what is wrong with it."""
    if not typed.strip():
        raise argparse.ArgumentTypeError(_("nothing is named"))  # else it would be the folder one happens to be in
    return Path(typed)


def as_meeting_place(typed: str) -> Path | str:
    """The folder named, or the address of a server as it was typed; what is wrong with that is never repeated."""
    from gradecheck.office.address import is_address

    return typed if is_address(typed) else as_path(typed)


class _MayBeLeftOut(argparse.Action):
    """A word that may be left out. One with nargs “?” argparse takes for left out once an option stands before it."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**{**settings, "required": False})

    def __call__(self, _parser: object, given: argparse.Namespace, values: object, _option: object = None) -> None:
        setattr(given, self.dest, values)


@dataclass(frozen=True, kw_only=True, slots=True)
class Options:
    """What every verb that answers takes."""

    json: bool = flag("--json", _("answer in JSON"))


@dataclass(frozen=True, kw_only=True, slots=True)
class OnJob(Options):
    """What a verb on a job takes."""

    job: Path = named("JOB", type=as_path, help=_("a job's folder or its job.yaml"))


@dataclass(frozen=True, kw_only=True, slots=True)
class Recording(OnJob):
    """What a verb that records takes."""

    by: str | None = option("--by", metavar="XX", help=_("initials of who is checking"))


def csv_option() -> Any:
    """The table as CSV."""
    return flag("--csv", _("the table as CSV, for a spreadsheet"))


def area_option() -> Any:
    """An area to keep to."""
    return option("--area", metavar="A", help=_("this area only"))


def stage_option() -> Any:
    """A stage to keep to."""
    return option("--stage", metavar="S", help=_("this stage only"))


def output_option(metavar: str, help: str) -> Any:
    """Where the answer is written to."""
    return option("-o", "--output", metavar=metavar, type=as_path, help=help)


# -- verbs

Given = TypeVar("Given")
Pairs = tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Call:
    """One run of a verb: its name, and whether anything was saved in it."""

    verb: str
    saved: bool = False


@dataclass(frozen=True, slots=True)
class Verb:
    """What one command does, and with which options.

    `apart` are pairs of options of which one alone may be given; of a pair in `belongs` the first says something only
    beside the second. One that answers `by_code` is run to its end though nobody reads its answer; one that
    `needs_plan` is not run where there is none. A `screen` has the terminal to itself, as has one that with these
    options is a `screen_if` so.
    """

    options: type[Any]
    run: Callable[..., Reply]
    on_session: bool = False
    apart: Pairs = ()
    belongs: Pairs = ()
    by_code: bool = False
    needs_plan: bool = True
    screen: bool = False
    screen_if: Callable[[Any], bool] = lambda _options: False

    @property
    def asked(self) -> list[tuple[str, tuple[str, ...], dict[str, Any]]]:
        """Of each option its name, its flags, and what argparse is told of it; those of all verbs last."""
        last = {"by": 1, "json": 2}
        given = sorted(dataclasses.fields(self.options), key=lambda each: last.get(each.name, 0))
        return [(each.name, each.metadata["flags"], each.metadata["settings"]) for each in given]


def verb(options: type[Given], **about: Any) -> Callable[[Callable[[Given], Reply]], Verb]:
    """A verb that is given its options."""
    return lambda run: Verb(options, run, **about)


def on_session(options: type[Given], **about: Any) -> Callable[[Callable[[Session, Given], Reply]], Verb]:
    """A verb that is given the job's session too, which is opened and closed around it."""
    return lambda run: Verb(options, run, on_session=True, **about)


# -- answers for other programs


JSON_VERSION = 1
"""Counted on when a key goes or changes its meaning; new keys do not count."""


def answer_json(command: str, value: object, **beside: object) -> str:
    """The answer of that command: a table stands under `rows`."""
    own = value if isinstance(value, dict) else {"rows": value}
    return json.dumps({"schema version": JSON_VERSION, "command": command, **own, **beside}, indent=1)


def error_json(command: str, says: str, code: int) -> str:
    """What went wrong, with the exit code; the command is empty where none was understood."""
    return answer_json(command, {"error": {"exit": code, "says": says}})
