"""Runs one command: finds its verb, reads its options, and answers as text or JSON.

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

from gradecheck.catalogue import _
from gradecheck.cli import argparse_words
from gradecheck.cli.examples import EXAMPLES
from gradecheck.cli.verbs import GROUPS, VERBS
from gradecheck.language import LANGUAGES, taken_out

TYPE_CHECKING = False  # importing that of `typing`, or `pathlib`, takes a third of what the help takes
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from typing import Any, NoReturn

    from gradecheck.cli.options import Call, Reply, Verb

FAILED = 3
"""The exit code where the program itself could not do what it was to do."""
SAVED_ONLY = 4
"""The exit code where all was saved and only the answer is lost: a script must not enter it a second time."""

EPILOG = _(
    "JOB is a job's folder or its job.yaml. Every command that answers takes --json. "
    "With --log FILE any command adds to FILE what the program did; with --language en or es it speaks that. "
    "“gradecheck COMMAND --help” shows its options and an example."
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    codecs.register_error("plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")  # before the help, which has quotes and dashes too
    given = list(sys.argv[1:] if arguments is None else arguments)
    if wrong := _begin_trail(given):
        return _refused(given or ["jobs"], _in_a_line(wrong))
    if wrong := _other_language(given):
        return _refused(given or ["jobs"], _in_a_line(wrong))
    given = given or ["jobs"]
    if given[0] not in VERBS:
        if given[0].startswith("-"):
            # The help, the version, or what is wrong with it: each ends the program.
            _parser(dict.fromkeys(VERBS)).parse_args(given)
        if no_verb := _no_verb(given[0]):
            return _refused(given, _in_a_line(no_verb))
        given.insert(0, "jobs")
    name = given[0]
    verb = verb_named(name)
    try:
        parsed = vars(_parser({name: verb}).parse_args(_figures_kept(given)))
    except _WrongArguments as not_understood:
        answer_error(given, not_understood.says, 2)
        raise
    values = {each: parsed[each] for each, _, _ in verb.asked if parsed[each] is not None}
    if wrong := _contradicting(verb, values) or _impossible(values) or _missing(verb, values):
        return _refused(given, _in_a_line(wrong))
    return _answered(name, verb, verb.options(**values))


def _other_language(given: list[str]) -> str:
    """Takes ``--language es``, which is spoken already, out of the arguments; says what is wrong with it."""
    named = taken_out(given)
    return "" if named is None or named in LANGUAGES else _("--language is en or es, not “{named}”.", named=named)


def _begin_trail(given: list[str]) -> str:
    """Takes ``--log FILE`` out of the arguments and begins that file; says what is wrong with it, if anything is."""
    end = given.index("--") if "--" in given else len(given)
    at = next((at for at, each in enumerate(given[:end]) if each == "--log" or each.startswith("--log=")), None)
    if at is None:
        return ""
    _flag, equals, path = given.pop(at).partition("=")
    if not equals:
        path = given.pop(at) if at < len(given) else ""
    if not path.strip():
        return _("--log needs the name of a file, which is added to: --log gradecheck.log.")
    from pathlib import Path

    from gradecheck.system import trail
    from gradecheck.system.versions import versions

    try:
        trail.begin(Path(path))
    except (OSError, ValueError) as wrong:
        return _("{path} can't be written: {reason}.", path=path, reason=getattr(wrong, "strerror", None) or wrong)
    trail.note("start", verb=next((each for each in given if each in VERBS), "jobs"), versions=versions())
    return ""


def _refused(given: Sequence[str], says: str) -> int:
    print(says, file=sys.stderr)
    answer_error(given, says, 2)
    return 2


def answer_error(given: Sequence[str], says: str, code: int) -> None:
    """With --json what went wrong is an answer too, on standard output; the sentence stays on standard error."""
    # argparse takes the beginning of an option for the whole; one of three letters could be no other.
    if any(each in ("--j", "--js", "--jso", "--json") for each in given) and sys.stdout is not None:
        from gradecheck.cli.options import error_json

        try:
            print(error_json(given[0] if given[0] in VERBS else "", says, code), flush=True)
        except (OSError, ValueError):
            sys.stdout = None  # the exit code says it as well; Python would try once more as it ends


def verb_named(name: str) -> Verb:
    """The verb of that name, from its family's file."""
    file, _, function = VERBS[name][0].partition(".")
    found: Verb = getattr(importlib.import_module(f"gradecheck.cli.{file}"), function)
    return found


def _answered(name: str, verb: Verb, options: Any) -> int:
    from gradecheck.actions import Refusal
    from gradecheck.cli.options import Call
    from gradecheck.journal.errors import JournalError
    from gradecheck.plan.problems import PlanProblemsError
    from gradecheck.report.decides import said_by
    from gradecheck.system import trail
    from gradecheck.system.streams import AnswerLostError, AnswerStream, Aside

    # A command is over before it has made much garbage; looking for some is a third of a large plan's time.
    gc.disable()
    streams = sys.stdout, sys.stderr
    call, screen = Call(name), verb.screen or verb.screen_if(options)
    answer = AnswerStream(sys.stdout, said_by(name), goes_on=verb.by_code)
    try:
        if not screen:  # the app has the terminal to itself
            sys.stdout, sys.stderr = answer, Aside(sys.stderr)
            if name not in _TELLS_FAULTS:
                _tell_faults(verb)
        code = _run(call, verb, options)
        trail.note("end", code=code)
        sys.stdout.flush()
        if answer.unread and call.saved:
            raise AnswerLostError(answer.unread)
        if (decides := said_by(name)) and not answer.said and not screen:
            print(decides, file=sys.stderr)  # beside what other programs read
        return code
    except (Refusal, JournalError, PlanProblemsError) as wrong:
        from gradecheck.cli.shared import printable
        from gradecheck.measure.printed import with_true_minus

        trail.note("refused", kind=type(wrong).__name__)
        print(with_true_minus(says := printable(str(wrong))), file=sys.stderr)
        sys.stdout = streams[0]
        answer_error([name, *(["--json"] if getattr(options, "json", False) else [])], says, 2)
        return 2
    except AnswerLostError as lost:
        if call.saved:
            print(
                _("Saved; the answer could not be written ({lost}). Do not enter it again.", lost=lost),
                file=sys.stderr,
            )
            return SAVED_ONLY
        if isinstance(lost.__context__, BrokenPipeError):
            return 0  # whoever read our output has seen enough; there is nobody to tell
        print(_("The answer could not be written ({lost}). Nothing was recorded.", lost=lost), file=sys.stderr)
        return FAILED
    finally:
        sys.stdout, sys.stderr = streams
        gc.enable()


_TELLS_FAULTS = ("settings", "line")
"""Commands that tell by themselves what is wrong in the settings."""
_FAULTS_SHOWN = 3


def _tell_faults(verb: Verb) -> None:
    """What of the settings can't be taken, before the answer: somebody else may have written them.

    What records says by itself whose initials it misses.
    """
    from gradecheck.cli.options import Recording
    from gradecheck.cli.shared import tell
    from gradecheck.system.settings import read_settings

    records = issubclass(verb.options, Recording)
    faults = [each for each in read_settings().faults if not (records and each.startswith("GRADECHECK_BY"))]
    for fault in faults[:_FAULTS_SHOWN]:
        tell(fault)
    if len(faults) > _FAULTS_SHOWN:
        tell(_("And {more} more; “gradecheck settings” shows them.", more=len(faults) - _FAULTS_SHOWN))


def _run(call: Call, verb: Verb, options: Any) -> int:
    from gradecheck.cli.at_work import AtWork

    screen = verb.screen or verb.screen_if(options)
    waits = call.verb in _ASKS or getattr(options, "source", None) == "-"  # for a person, not at work
    with AtWork(wanted=not (screen or waits or getattr(options, "json", False))) as at_work:
        if not verb.on_session:
            reply = verb.run(options)
            at_work.stop()
            return _show(call, reply, options)
        from gradecheck.cli.shared import open_session

        with open_session(call, options) as session:
            reply = verb.run(session, options)
            at_work.stop()
            return _show(call, reply, options)


_ASKS = ("new", "line")
"""Commands that ask, and wait for whoever answers."""


def _show(call: Call, reply: Reply, options: Any) -> int:
    """Answers as JSON or as text, and gives the exit code."""
    call.saved = call.saved or reply.saved
    if getattr(options, "json", False):
        from gradecheck.cli.shared import print_json

        print_json(call.verb, reply.json() if callable(reply.json) else reply.json)
    elif getattr(options, "csv", False) and (rows := _table(reply)) is not None:
        from gradecheck.report.spreadsheet import rows_csv

        sys.stdout.write(rows_csv(rows))
        if not rows:
            print(_("The table has no rows."), file=sys.stderr)
    elif reply.lines or reply.text:
        from gradecheck.cli.shared import printable
        from gradecheck.measure.printed import with_true_minus

        for line in reply.lines:
            print(with_true_minus(printable(line)))
        sys.stdout.write(printable(reply.text))
    return reply.code


def _table(reply: Reply) -> Sequence[Mapping[str, object]] | None:
    """The rows that --csv prints, None where the verb writes them itself."""
    if reply.table is not None:
        return reply.table
    answer = reply.json() if callable(reply.json) else reply.json
    return answer if isinstance(answer, list) else None


# -- what is wrong with what was given


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
    near = get_close_matches(word.casefold(), VERBS, n=1, cutoff=0.6)
    meant = _(" Did you mean “{name}”?", name=near[0]) if near else _(" “gradecheck --help” shows the commands.")
    there = (
        _("the folder of that name holds no jobs") if os.path.isdir(word) else _("there is no folder of that name")
    )
    return _("There is no command “{word}”, and {there}.{meant}", word=word, there=there, meant=meant)


_JOB_FILE = "job.yaml"


def _contradicting(verb: Verb, values: dict[str, Any]) -> str:
    """What was given that can't go together, or says nothing as it stands; nothing given is passed over."""
    given = {name for name, value in values.items() if value is not False}
    shown = {name: flags[-1] if flags else settings["metavar"].strip("[]") for name, flags, settings in verb.asked}
    for one, other in verb.apart:
        if one in given and other in given:
            return _(
                "{one} and {other} can't go together; give one of them. Nothing was done.",
                one=shown[one],
                other=shown[other],
            )
    for one, other in verb.belongs:
        if one in given and other not in given:
            return _(
                "{one} belongs to {other}; give that too, or take {one} out. Nothing was done.",
                one=shown[one],
                other=shown[other],
            )
    return ""


def _figures_kept(given: Sequence[str]) -> list[str]:
    """The arguments, with a space before each figure below zero: argparse would take ``-3-1/2`` for an option."""
    end = given.index("--") if "--" in given else len(given)
    return [f" {each}" if each[:1] == "-" and _begins_a_figure(each[1:2]) else each for each in given[:end]] + [
        *given[end:]
    ]


def _begins_a_figure(character: str) -> bool:
    return character == "." or character.isnumeric()  # ⅜ is numeric too


def _impossible(values: dict[str, Any]) -> str:
    """That a path was given which no file can have, on whatever system; nothing below has to expect one."""
    from pathlib import Path

    for path in values.values():
        for name in path.parts if isinstance(path, Path) else ():
            if len(f"{name}.".splitlines()) > 1:  # what else a terminal obeys is shown
                return _("“{path}” has a line break in its name; rename it first.", path=path)
            if (size := _size_on_disk(name)) is None:
                return _("“{path}” has a character in it that no file's name can have; type it again.", path=path)
            if size > _LONGEST_NAME:
                return _(
                    "“{name}…” is longer than the {most} bytes of a file's name; shorten it.",
                    name=name[:24],
                    most=_LONGEST_NAME,
                )
    return ""


_LONGEST_NAME = 255
"""Bytes on the file systems of Linux, in characters on those of Windows and macOS."""


def _size_on_disk(name: str) -> int | None:
    """The bytes that the name takes, None where it can't be a file's."""
    try:
        return None if "\0" in name else len(os.fsencode(name))
    except UnicodeEncodeError:
        return None


def _missing(verb: Verb, values: dict[str, Any]) -> str:
    """What is wrong with the JOB that was named, where there is none; what it holds is for the command to say."""
    job: Path | None = values.get("job")
    if job is None or not verb.needs_plan:
        return ""
    # A path that no system could have is no job either; os.path says so where pathlib raises.
    if not os.path.exists(job):
        return _("There is nothing at {job}; JOB is a job's folder, or the job.yaml in it. Check the name.", job=job)
    if os.path.isdir(job) and not os.path.exists(job / _JOB_FILE):
        return _("There is no job.yaml in {job}; JOB is a folder that has one. Check the name.", job=job)
    return ""


# -- what is printed


def _in_a_line(text: str) -> str:
    """The same in one line, whatever is in a name in it."""
    return _harmless(text).replace("\n", "\N{REPLACEMENT CHARACTER}")


def _harmless(text: str) -> str:
    """The text without anything a terminal would obey; what was given to a command may come from a list or a mail."""
    if text.isprintable():
        return text
    from gradecheck.plan.names import visible

    return "\n".join(map(visible, text.split("\n")))


_PLAIN = {
    "\N{MINUS SIGN}": "-",
    "“": '"',
    "”": '"',
    "…": "...",
    "·": "-",
    "≈": "~",
    "±": "+/-",
    "×": "x",
    "→": "->",
    "–": "-",
    "≤": "<=",
    "≥": ">=",
}


def _plainly(wrong: UnicodeError) -> tuple[str, int]:
    """What a console or pipe in an older encoding can't carry, in ASCII: no sign or fraction gets lost."""
    assert isinstance(wrong, UnicodeEncodeError)
    text = ""
    for at in range(wrong.start, wrong.end):
        before = wrong.object[at - 1 : at]
        text += _in_ascii(wrong.object[at], before)
    return text, wrong.end


def _in_ascii(character: str, before: str) -> str:
    """One character: a fraction as ``3/8``, apart from a figure before it, a letter without its accent."""
    if character in _PLAIN:
        return _PLAIN[character]
    from unicodedata import normalize

    parts = normalize("NFKD", character).replace("\N{FRACTION SLASH}", "/")
    plain = "".join(each for each in parts if each.isascii())
    return f" {plain}" if "/" in plain and before.isdecimal() else plain or "?"


# -- argparse


def whole_parser() -> argparse.ArgumentParser:
    """The commands with all their options, for what is made from them."""
    return _parser({name: verb_named(name) for name in VERBS})


def _parser(verbs: Mapping[str, Verb | None]) -> argparse.ArgumentParser:
    """Told of one verb it reads that one's options, else the names alone: setting up all options takes too long."""
    described = _("Grades checked live on site: enter the rod, read CUT, FILL or ON GRADE.")
    argparse_words.speak()
    parser = _Parser(prog="gradecheck", description=described, epilog=EPILOG)
    parser.add_argument(
        "--version", action=_Version, nargs=0, help=_("the versions of gradecheck, Python and SQLite")
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, verb in verbs.items():
        _where, does = VERBS[name]
        # argparse reads a percent sign in one of the two and not in the other.
        command = commands.add_parser(name, help=does.replace("%", "%%"), description=does, epilog=_shown(name))
        for field, flags, settings in verb.asked if verb is not None else ():
            asked = {"default": None, **settings, **({"dest": field} if flags else {})}
            command.add_argument(*(flags or (field,)), **asked)
    return parser


def _shown(name: str) -> str:
    return _("Example:\n  gradecheck {example}", example=EXAMPLES[name])


def _grouped(formatter: argparse.HelpFormatter) -> None:
    """The commands by who uses them, the first of each group with an example."""
    formatter.start_section(_("commands"))
    for heading, verbs in GROUPS.items():
        formatter.start_section(heading)
        formatter.add_arguments(
            argparse.Action([], name, help=does.replace("%", "%%")) for name, (_where, does) in verbs.items()
        )
        formatter.add_text(_shown(next(iter(verbs))))
        formatter.end_section()
    formatter.end_section()


class _WrongArguments(SystemExit):
    """The arguments were not understood, which was told; `says` is the sentence."""

    def __init__(self, says: str) -> None:
        super().__init__(2)
        self.says = says


class _Once(argparse.Action):
    """Keeps what an option is given. Given twice, one of the two would be dropped; empty, it would seem left out."""

    def __call__(
        self, parser: argparse.ArgumentParser, given: argparse.Namespace, values: object, option: str | None = None
    ) -> None:
        empty_is_meant = self.dest in ("why", "what", "remark")  # there the command says what is wanted, or takes it
        if option is not None and isinstance(values, str) and not values.strip() and not empty_is_meant:
            parser.error(_("argument {option}: nothing follows it", option=option))
        if option is not None and getattr(given, self.dest, None) is not None:
            parser.error(_("argument {option}: given twice; give it once", option=option))
        setattr(given, self.dest, values)


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments without passing on what a terminal would obey in them."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(formatter_class=_help, **settings)
        for name in (None, "store"):
            self.register("action", name, _Once)

    def error(self, message: str) -> NoReturn:
        says = _harmless(message)
        try:
            super().error(says)
        except SystemExit:
            raise _WrongArguments(says) from None

    def format_help(self) -> str:
        """As argparse has it, but with the commands by who uses them."""
        formatter = self._get_formatter()
        formatter.add_usage(self.usage, self._actions, self._mutually_exclusive_groups)
        formatter.add_text(self.description)
        for group in self._action_groups:
            shown = [each for each in group._group_actions if not isinstance(each, argparse._SubParsersAction)]
            if len(shown) < len(group._group_actions):
                _grouped(formatter)
            formatter.start_section(group.title)
            formatter.add_arguments(shown)
            formatter.end_section()
        formatter.add_text(self.epilog)
        return formatter.format_help()


class _Help(argparse.HelpFormatter):
    """Lines that begin with a space, as an example does, stay whole, to be copied."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        return "\n".join(
            indent + line if line.startswith(" ") else super(_Help, self)._fill_text(line, width, indent)
            for line in text.splitlines()
        )


def _help(prog: str) -> argparse.HelpFormatter:
    """As wide as the window. Told no width, argparse asks `shutil`, which loads what packs files to answer that."""
    set_width = os.environ.get("COLUMNS", "")
    try:
        columns = int(set_width) if set_width.isdecimal() else os.get_terminal_size().columns
    except (OSError, ValueError):  # no window, or a figure that is none
        columns = 0
    return _Help(prog, width=(columns or _USUAL_WIDTH) - 2)


_USUAL_WIDTH = 80
"""Columns where there is no window."""


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from gradecheck.system.versions import versions

        print(versions())
        parser.exit()
