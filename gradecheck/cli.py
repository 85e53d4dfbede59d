"""The verbs as commands, for scripts and for hands that like a keyboard; the app is one of them.

Exit 0: done. Exit 1: done, and the answer is no. Exit 2: not understood, one sentence on stderr, nothing written.
Exit 4: saved, but the answer could not be written.
"""

from __future__ import annotations

import argparse
import codecs
import gc
import importlib
import io
import os
import sys

from gradecheck.commands.menu import COMMANDS, Once

TYPE_CHECKING = False  # importing that of `typing`, or `pathlib`, takes a third of what the help takes
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path
    from typing import Any, NoReturn

FAILED = 3
"""The exit code where the program itself could not do what it was to do."""
SAVED_ONLY = 4
"""The exit code where all was saved and only the answer is lost: a script must not enter it a second time."""

EPILOG = "JOB is a job's folder or its job.yaml. Every command that answers takes --json."


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    if given and given[0] not in COMMANDS and not given[0].startswith("-"):
        if no_verb := _no_verb(given[0]):
            print(_in_a_line(no_verb), file=sys.stderr)
            return 2
        given.insert(0, "jobs")
    elif not given:
        given = ["jobs"]
    # The options of thirty commands take longer to set up than the one that was asked for takes to run.
    parser = _parser(given[:1] if given[0] in COMMANDS else list(COMMANDS))
    options = parser.parse_args(_figures_kept(given))
    if wrong := _contradicting(options) or _impossible(options) or _missing(options):
        print(_in_a_line(wrong), file=sys.stderr)
        return 2
    # Imported here: `--version` and `--help` should cost no more than Python itself.
    from gradecheck.actions import Refusal
    from gradecheck.journal.errors import JournalError
    from gradecheck.plan.problems import PlanProblemsError
    from gradecheck.report.decides import said_by
    from gradecheck.system.streams import Answer, AnswerLostError, Aside

    codecs.register_error("plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")
    # A command is over before it has made much garbage; looking for some is a third of a large plan's time.
    gc.disable()
    streams = sys.stdout, sys.stderr
    options.saved = False
    answer = Answer(sys.stdout, said_by(options.command), goes_on=options.command in _ANSWERS_BY_CODE)
    try:
        module, verb = options.run
        if module != "app.start":  # the app has the terminal to itself
            sys.stdout, sys.stderr = answer, Aside(sys.stderr)
        run: Callable[[argparse.Namespace], int] = getattr(importlib.import_module(f"gradecheck.{module}"), verb)
        code = run(options)
        sys.stdout.flush()
        if answer.unread and options.saved:
            raise AnswerLostError(answer.unread)
        if (decides := said_by(options.command)) and not answer.said:
            print(decides, file=sys.stderr)  # beside what other programs read
        return code
    except (Refusal, JournalError, PlanProblemsError) as wrong:
        from gradecheck.commands.shared import printable

        print(printable(str(wrong)), file=sys.stderr)
        return 2
    except AnswerLostError as lost:
        if options.saved:
            print(f"Saved; the answer could not be written ({lost}). Do not enter it again.", file=sys.stderr)
            return SAVED_ONLY
        if isinstance(lost.__context__, BrokenPipeError):
            return 0  # whoever read our output has seen enough; there is nobody to tell
        print(f"The answer could not be written ({lost}). Nothing was recorded.", file=sys.stderr)
        return FAILED
    finally:
        sys.stdout, sys.stderr = streams
        gc.enable()


def _no_verb(word: str) -> str:
    """Why a word that is no command is no folder of jobs either; empty where it is one, which opens the app."""
    from difflib import get_close_matches
    from pathlib import Path

    folder = Path(word)
    try:
        holds_jobs = (folder / _JOB_FILE).is_file() or any(folder.glob(f"*/{_JOB_FILE}"))
    except (OSError, ValueError):
        holds_jobs = False
    if holds_jobs:
        return ""
    near = get_close_matches(word.casefold(), COMMANDS, n=1, cutoff=0.6)
    meant = f" Did you mean “{near[0]}”?" if near else " “gradecheck --help” shows the commands."
    there = "the folder of that name holds no jobs" if os.path.isdir(word) else "there is no folder of that name"
    return f"There is no command “{word}”, and {there}.{meant}"


_JOB_FILE = "job.yaml"


def _contradicting(options: argparse.Namespace) -> str:
    """What was given that can't go together, or says nothing as it stands; nothing given is passed over."""
    asked = COMMANDS[options.command]
    given = {name for flags, settings in asked.options for name in _named(flags, settings, options)}
    for one, other in asked.apart:
        if one in given and other in given:
            return f"{one} and {other} exclude each other; give one of them. Nothing was done."
    for one, other in asked.belongs:
        if one in given and other not in given:
            return f"{one} belongs to {other}; give that too, or take {one} out. Nothing was done."
    return ""


def _named(flags: Sequence[str], settings: dict[str, Any], options: argparse.Namespace) -> Sequence[str]:
    """What an option is called where it was given: its flags, or the word that stands for it in the help."""
    dest = settings.get("dest", flags[-1].lstrip("-").replace("-", "_"))
    if getattr(options, dest) in (settings.get("default"), None, False):
        return ()
    return flags if flags[0].startswith("-") else (settings["metavar"].strip("[]"),)


def _figures_kept(given: Sequence[str]) -> list[str]:
    """The arguments, with a space before each figure below zero: argparse would take ``-3-1/2`` for an option."""
    end = given.index("--") if "--" in given else len(given)
    return [f" {each}" if each[:1] == "-" and _begins_a_figure(each[1:2]) else each for each in given[:end]] + [
        *given[end:]
    ]


def _begins_a_figure(character: str) -> bool:
    return character == "." or character.isnumeric()  # ⅜ is numeric too


def _impossible(options: argparse.Namespace) -> str:
    """That a path was given which no file can have, on whatever system; nothing below has to expect one."""
    from pathlib import Path

    for path in vars(options).values():
        for name in path.parts if isinstance(path, Path) else ():
            if _ends_a_line(name):
                return f"“{path}” has a line break in its name; rename it first."
            if (size := _size_on_disk(name)) is None:
                return f"“{path}” has a character in it that no file's name can have; type it anew."
            if size > _LONGEST_NAME:
                return f"“{name[:24]}…” is longer than the {_LONGEST_NAME} bytes of a file's name; shorten it."
    return ""


_LONGEST_NAME = 255
"""Bytes on the file systems of Linux, in characters on those of Windows and macOS."""


def _ends_a_line(name: str) -> bool:
    """Whether something in the name would end the line that it is told in; what else a terminal obeys is shown."""
    return len(f"{name}.".splitlines()) > 1


def _size_on_disk(name: str) -> int | None:
    """The bytes that the name takes, None where it can't be a file's."""
    try:
        return None if "\0" in name else len(os.fsencode(name))
    except UnicodeEncodeError:
        return None


def _in_a_line(text: str) -> str:
    """The same in one line, whatever is in a name in it."""
    return _harmless(text).replace("\n", "\N{REPLACEMENT CHARACTER}")


def _harmless(text: str) -> str:
    """The text without anything a terminal would obey; what was given to a command may come from a list or a mail."""
    if text.isprintable():
        return text
    from gradecheck.plan.names import visible

    return "\n".join(map(visible, text.split("\n")))


def _missing(options: argparse.Namespace) -> str:
    """What is wrong with the JOB that was named, where there is none; what it holds is for the command to say."""
    job: Path | None = getattr(options, "job", None)
    if job is None or options.command in _ON_A_JOURNAL_ALONE:
        return ""
    # A path that no system could have is no job either; os.path says so where pathlib raises.
    if not os.path.exists(job):
        return f"There is nothing at {job}; JOB is a job's folder, or the job.yaml in it. Check the name."
    if os.path.isdir(job) and not os.path.exists(job / "job.yaml"):
        return f"There is no job.yaml in {job}; JOB is a folder that has one. Check the name."
    return ""


_ANSWERS_BY_CODE = ("verify", "examine", "checks", "review", "layout", "circuit", "rescue")
"""Commands whose exit code is the answer, which it is whoever reads on."""

_ON_A_JOURNAL_ALONE = ("verify", "rescue")
"""Commands that need no plan: it may be lost, and the journal is there still."""

_PLAIN = {"\N{MINUS SIGN}": "-", "“": '"', "”": '"', "…": "...", "·": "-"}


def _plainly(wrong: UnicodeError) -> tuple[str, int]:
    """What a pipe in an older encoding can't carry, in ASCII: above all a true minus must not get lost."""
    assert isinstance(wrong, UnicodeEncodeError)
    return "".join(_PLAIN.get(c, "?") for c in wrong.object[wrong.start : wrong.end]), wrong.end


def _parser(named: Sequence[str]) -> argparse.ArgumentParser:
    described = "Grades checked live on site: enter the rod, read CUT, FILL or ON GRADE."
    parser = _Parser(prog="gradecheck", description=described)
    parser.add_argument("--version", action=_Version, nargs=0, help="the versions of gradecheck, Python and SQLite")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in named:
        asked = COMMANDS[name]
        # argparse reads a percent sign in one of the two and not in the other.
        command = commands.add_parser(name, help=asked.does.replace("%", "%%"), description=asked.does)
        command.set_defaults(run=(asked.module, asked.verb))
        for flags, settings in asked.options if len(named) == 1 else ():  # else only the commands are told of
            command.add_argument(*flags, **settings)
    return parser


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments without passing on what a terminal would obey in them."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(epilog=EPILOG, formatter_class=_help, **settings)
        for name in (None, "store"):
            self.register("action", name, Once)

    def error(self, message: str) -> NoReturn:
        super().error(_harmless(message))


def _help(prog: str) -> argparse.HelpFormatter:
    """As wide as the window. Told no width, argparse asks `shutil`, which loads what packs files to answer that."""
    told = os.environ.get("COLUMNS", "")
    try:
        columns = int(told) if told.isdecimal() else os.get_terminal_size().columns
    except (OSError, ValueError):  # no window, or a figure that is none
        columns = 0
    return argparse.HelpFormatter(prog, width=(columns or _USUAL_WIDTH) - 2)


_USUAL_WIDTH = 80
"""Columns where there is no window."""


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from gradecheck.system.versions import versions

        print(versions())
        parser.exit()
