"""The verbs as commands, for scripts and for hands that like a keyboard; the app is one of them.

Exit 0: done. Exit 1: done, and the answer is no. Exit 2: not understood, one sentence on stderr, nothing written.
"""

from __future__ import annotations

import argparse
import codecs
import gc
import importlib
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

Run = Callable[[argparse.Namespace], int]

EPILOG = "JOB is a job's folder or its job.yaml. Every command that answers takes --json."


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    if not given or (given[0] not in _COMMANDS and not given[0].startswith("-")):
        given.insert(0, "jobs")
    # The options of thirty commands take longer to set up than the one that was asked for takes to run.
    parser = _parser(given[:1] if given[0] in _COMMANDS else list(_COMMANDS))
    options = parser.parse_args(_figures_kept(given))
    if wrong_path := _impossible(options) or _missing(options):
        print(_harmless(wrong_path), file=sys.stderr)
        return 2
    run: Run = options.run
    # Imported here: `--version` and `--help` should cost no more than Python itself.
    from gradecheck.intake import Refusal
    from gradecheck.journal.file import JournalError
    from gradecheck.plan.problems import PlanProblemsError

    codecs.register_error("plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")
    try:
        code = run(options)
        sys.stdout.flush()
        return code
    except (Refusal, JournalError, PlanProblemsError) as wrong:
        from gradecheck.commands.shared import printable

        print(printable(str(wrong)), file=sys.stderr)
        return 2
    except BrokenPipeError:
        # Whoever read our output has seen enough; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


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
    for path in vars(options).values():
        for name in path.parts if isinstance(path, Path) else ():
            if (size := _size_on_disk(name)) is None:
                return f"“{path}” has a character in it that no file's name can have; type it anew."
            if size > _LONGEST_NAME:
                return f"“{name[:24]}…” is longer than the {_LONGEST_NAME} bytes of a file's name; shorten it."
    return ""


_LONGEST_NAME = 255
"""Bytes on the file systems of Linux, in characters on those of Windows and macOS."""


def _size_on_disk(name: str) -> int | None:
    """The bytes that the name takes, None where it can't be a file's."""
    try:
        return None if "\0" in name else len(os.fsencode(name))
    except UnicodeEncodeError:
        return None


def _harmless(text: str) -> str:
    """The text without anything a terminal would obey; what was given to a command may come from a list or a mail."""
    return "".join(c if c.isprintable() or c == "\n" else "\N{REPLACEMENT CHARACTER}" for c in text)


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


_ON_A_JOURNAL_ALONE = ("verify", "rescue")
"""Commands that need no plan: it may be lost, and the journal is there still."""

_PLAIN = {"\N{MINUS SIGN}": "-", "“": '"', "”": '"', "…": "...", "·": "-"}


def _plainly(wrong: UnicodeError) -> tuple[str, int]:
    """What a pipe in an older encoding can't carry, in ASCII: above all a true minus must not get lost."""
    assert isinstance(wrong, UnicodeEncodeError)
    return "".join(_PLAIN.get(c, "?") for c in wrong.object[wrong.start : wrong.end]), wrong.end


def _parser(named: Sequence[str]) -> argparse.ArgumentParser:
    parser = _Parser(
        prog="gradecheck", description="Grades checked live on site: key in the rod, read CUT, FILL or ON GRADE.",
        epilog=EPILOG,
    )  # fmt: skip
    parser.add_argument("--version", action=_Version, nargs=0, help="the versions of gradecheck, Python and SQLite")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in named:
        describe, run, options = _COMMANDS[name]
        command = commands.add_parser(name, help=describe, description=describe, epilog=EPILOG)
        command.set_defaults(run=run)
        for flags, settings in options:
            command.add_argument(*flags, **settings)
    return parser


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments without passing on what a terminal would obey in them."""

    def error(self, message: str) -> NoReturn:
        super().error(_harmless(message))


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from gradecheck.system.versions import versions

        print(versions())
        parser.exit()


def _jobs(options: argparse.Namespace) -> int:
    return _app(options.folder, None, options)


def _open(options: argparse.Namespace) -> int:
    return _app(options.job.parent, options.job, options)


def _app(folder: Path, job: Path | None, options: argparse.Namespace) -> int:
    # The screen itself is written to stderr.
    if not (sys.stdin.isatty() and sys.stderr.isatty()) or os.environ.get("TERM") == "dumb":
        print("The app needs a terminal; the commands do the same without one: gradecheck --help", file=sys.stderr)
        return 2
    # Nothing that the start makes is garbage: looking for some costs a sixth of it. The app turns it on again.
    gc.disable()
    from gradecheck.app.app import run

    return run(folder, job, ascii_only=options.ascii, theme=options.theme)


def _lazily(module: str, verb: str) -> Run:
    """The verb, its module imported only when it is run."""

    def run(options: argparse.Namespace) -> int:
        command: Run = getattr(importlib.import_module(f"gradecheck.commands.{module}"), verb)
        return command(options)

    return run


Flag = tuple[tuple[str, ...], dict[str, Any]]

_JOB: Flag = (("job",), {"metavar": "JOB", "type": Path, "help": "a job's folder or its job.yaml"})
_JSON: Flag = (("--json",), {"action": "store_true", "help": "answer in JSON"})
_BY: Flag = (("--by",), {"metavar": "XX", "help": "initials of who is checking"})
_AREA: Flag = (("--area",), {"metavar": "A", "help": "this area only"})
_STAGE: Flag = (("--stage",), {"metavar": "S", "help": "this stage only"})
_ASCII: Flag = (("--ascii",), {"action": "store_true", "help": "plain letters where fonts lack blocks"})
_THEME: Flag = (("--theme",), {"choices": ("sun", "night", "plain"), "help": "colours to start with"})

_COMMANDS: dict[str, tuple[str, Run, tuple[Flag, ...]]] = {
    "jobs": (
        "the app, on the jobs in FOLDER (also without the word jobs)",
        _jobs,
        ((("folder",), {"metavar": "FOLDER", "type": Path, "nargs": "?", "default": Path("jobs")}), _ASCII, _THEME),
    ),
    "open": ("the app, on one job", _open, (_JOB, _ASCII, _THEME)),
    "new": (
        "a guided start: a job file with remarks and examples, to be made one's own",
        _lazily("new", "new"),
        (
            (("name",), {"metavar": "NAME", "help": "the job's folder, which is made"}),
            (("--in",), {"metavar": "FOLDER", "dest": "folder", "type": Path, "default": Path("jobs")}),
            (("--title",), {"metavar": "TEXT", "help": "what the day's records are headed with"}),
            (("--units",), {"choices": ("in", "ft-in", "ft", "mm", "cm", "m")}),
            (("--zero",), {"metavar": "MARK", "help": "the mark that is the zero; MARK=TEXT says what it is"}),
            (
                ("--area",),
                {"metavar": "NAME:KIND", "action": "append", "default": [], "help": "may be given several times"},
            ),
            _JSON,
        ),
    ),
    "examine": ("what is wrong with a plan, line by line", _lazily("office", "examine"), (_JOB, _JSON)),
    "targets": (
        "every wanted elevation, with its sum if asked",
        _lazily("office", "targets"),
        (_JOB, _AREA, _STAGE, (("--working",), {"action": "store_true", "help": "show each sum"}), _JSON),
    ),
    "sheet": (
        "the grade plan sheet: a table and a drawing for each area",
        _lazily("sheet", "sheet"),
        (
            _JOB,
            _AREA,
            (("--svg",), {"metavar": "FILE", "type": Path, "help": "write the drawing to FILE as an SVG"}),
            (("--csv",), {"action": "store_true", "help": "the points as a list"}),
            (("--geojson",), {"action": "store_true", "help": "the points and outlines as GeoJSON"}),
            (("-o", "--output"), {"metavar": "FILE", "type": Path, "help": "write the answer to FILE"}),
            _ASCII,
            _JSON,
        ),
    ),
    "plan": (
        "what the job file would change now, and what was changed on site",
        _lazily("plan", "plan"),
        (
            _JOB,
            (("--take-over",), {"action": "store_true", "help": "judge by the job file as it is now"}),
            (("--as-text",), {"action": "store_true", "help": "what was changed on site, as text for the job file"}),
            _BY,
            _JSON,
        ),
    ),
    "add": (
        "add a point on site: from F4 fall 2 %% over 12 ft, at 6 ft, 7 ft, or an elevation",
        _lazily("plan", "add"),
        (
            _JOB,
            (("area",), {"metavar": "AREA"}),
            (("name",), {"metavar": "NAME"}),
            (("how",), {"metavar": "HOW", "nargs": "+"}),
            (("--what",), {"metavar": "TEXT", "default": ""}),
            _BY,
            _JSON,
        ),
    ),
    "change": (
        "give a point another finish, or with --stage an area another tolerance",
        _lazily("plan", "change"),
        (
            _JOB,
            (("what",), {"metavar": "NAME=LENGTH", "help": "POINT=ELEVATION, or AREA=TOLERANCE with --stage"}),
            _STAGE,
            (("--why",), {"metavar": "TEXT", "required": True}),
            _BY,
            _JSON,
        ),
    ),
    "setup": (
        "stand the instrument: the rod on MARK reads READING",
        _lazily("instrument", "setup"),
        (
            _JOB,
            (("sights",), {"metavar": "MARK=READING", "nargs": "+"}),
            (("--rod",), {"metavar": "R", "help": "the rod read on, the plan's first where none is named"}),
            (("--falls",), {"metavar": "X,Y", "help": "falls of a sloped beam along x and y, as 2 %%,0.5 %%"}),
            (("--at",), {"metavar": "X,Y", "help": "where the instrument stands"}),
            _BY,
            _JSON,
        ),
    ),
    "move": (
        "the instrument has left its place",
        _lazily("instrument", "move"),
        (_JOB, (("--why",), {"metavar": "TEXT", "default": "moved"}), _BY, _JSON),
    ),
    "recheck": (
        "another look at a mark from the same set-up",
        _lazily("instrument", "recheck"),
        (_JOB, (("sight",), {"metavar": "MARK=READING"}), _BY, _JSON),
    ),
    "mark": (
        "a spot becomes a mark (NAME=READING), or a point that was read (POINT)",
        _lazily("instrument", "mark"),
        (
            _JOB,
            (("sight",), {"metavar": "NAME=READING"}),
            (("--what",), {"metavar": "TEXT", "default": ""}),
            _BY,
            _JSON,
        ),
    ),
    "datum": (
        "show elevations from another zero (job is the job's own)",
        _lazily("instrument", "datum"),
        (_JOB, (("name",), {"metavar": "DATUM", "nargs": "?"}), _BY, _JSON),
    ),
    "correct": (
        "put a figure right in its own place, or a mark's elevation",
        _lazily("instrument", "correct"),
        (
            _JOB,
            (("entry",), {"metavar": "ENTRY", "nargs": "?", "help": "its number in the log"}),
            (("reading",), {"metavar": "READING", "nargs": "?", "type": str.strip, "help": "what is right"}),
            (("--mark",), {"metavar": "NAME=ELEVATION", "help": "a mark's right elevation, with --why"}),
            (("--moved",), {"action": "store_true", "help": "the mark moved: right from now on only"}),
            (("--why",), {"metavar": "TEXT"}),
            (("--dry",), {"action": "store_true", "help": "only say what would change"}),
            _BY,
            _JSON,
        ),
    ),
    "read": (
        "readings at points, answered with CUT, FILL or ON GRADE",
        _lazily("site", "read"),
        (_JOB, (("sights",), {"metavar": "POINT=READING", "nargs": "+"}), _STAGE, _BY, _JSON),
    ),
    "void": (
        "strike an entry, with the reason; it stays in the log",
        _lazily("site", "void"),
        (
            _JOB,
            (("entry",), {"metavar": "ENTRY", "help": "its number in the log"}),
            (("--why",), {"metavar": "TEXT", "required": True}),
            _BY,
            _JSON,
        ),
    ),
    "log": (
        "everything recorded, in order",
        _lazily("records", "log"),
        (
            _JOB,
            _AREA,
            (("--day",), {"metavar": "YYYY-MM-DD"}),
            (("--csv",), {"action": "store_true", "help": "for a spreadsheet"}),
            _JSON,
        ),
    ),
    "circuit": (
        "the circuits walked: misclosure, page check, corrections",
        _lazily("circuits", "circuit"),
        (
            _JOB,
            (("--rule",), {"metavar": "TEXT", "help": "what is allowed, such as 0.02 ft per root set-up"}),
            (
                ("--share",),
                {"choices": ("set-ups", "distance"), "default": "set-ups", "help": "what a misclosure is shared by"},
            ),
            (("--adjust",), {"action": "store_true", "help": "adjust all sights together by least squares"}),
            _JSON,
        ),
    ),
    "instrument": (
        "a field test of the instrument: two-peg A B A B TO-A TO-B, four-directions R R R R TO",
        _lazily("circuits", "instrument"),
        (
            _JOB,
            (("test",), {"metavar": "TEST", "choices": ("two-peg", "four-directions")}),
            (("figures",), {"metavar": "FIGURE", "nargs": "+", "type": str.strip}),
            _BY,
            _JSON,
        ),
    ),
    "checks": (
        "slopes, puddles, flatness, steps, squareness and over-dig of what was read",
        _lazily("checks", "checks"),
        (
            _JOB,
            _AREA,
            _STAGE,
            (("--line",), {"metavar": "F1,F5,F9", "help": "the falls between these points, and the straightedge"}),
            _JSON,
        ),
    ),
    "stone": (
        "what to order and to haul, and what over-digging cost",
        _lazily("checks", "stone"),
        (_JOB, _AREA, _JSON),
    ),
    "gauge": (
        "a step measured directly: lippage between units, or paving above a drain",
        _lazily("evening", "gauge"),
        (
            _JOB,
            (("kind",), {"metavar": "KIND", "choices": ("lippage", "drain")}),
            (("area",), {"metavar": "AREA"}),
            (("where",), {"metavar": "WHERE"}),
            (("reading",), {"metavar": "LENGTH"}),
            _BY,
            _JSON,
        ),
    ),
    "layout": (
        "what to tape and what the tapes say, 3-4-5, chalk lines, a line round an obstruction",
        _lazily("layout", "layout"),
        (
            _JOB,
            (("name",), {"metavar": "NAME", "nargs": "?", "help": "a layout check or a bond of the plan"}),
            (("tapes",), {"metavar": "A-B=LENGTH", "nargs": "*", "help": "what the tape shows between two corners"}),
            (("--sides",), {"metavar": "W,L", "help": "a rectangle that the plan does not name"}),
            (("--round",), {"metavar": "ALONG,OUT,ROOM", "help": "carry a line round something in the corner"}),
            (("--module",), {"metavar": "LENGTH/UNITS", "help": "what so many units measure as laid"}),
            _BY,
            _JSON,
        ),
    ),
    "review": (
        "what was checked, what is out, what is still open",
        _lazily("evening", "review"),
        (
            _JOB,
            _AREA,
            _STAGE,
            (("--day",), {"metavar": "YYYY-MM-DD"}),
            (("--person",), {"metavar": "XX", "help": "what this person recorded"}),
            (("--entries",), {"action": "store_true", "help": "the entries too, by time"}),
            _JSON,
        ),
    ),
    "sign": (
        "sign a stage of an area off; what is out is accepted by name",
        _lazily("evening", "sign"),
        (
            _JOB,
            (("area",), {"metavar": "AREA"}),
            (("stage",), {"metavar": "STAGE"}),
            (("--accept",), {"metavar": "POINT,...", "nargs": "+", "default": []}),
            (("--remark",), {"metavar": "TEXT", "default": ""}),
            _BY,
            _JSON,
        ),
    ),
    "day": (
        "what the day sheet says of the day: the weather and who was there",
        _lazily("evening", "day"),
        (_JOB, (("weather",), {"metavar": "WEATHER"}), (("crew",), {"metavar": "CREW"}), _BY, _JSON),
    ),
    "daysheet": (
        "the day sheet as a PDF, CSV of each area, JSON or ten lines of text",
        _lazily("day_sheet", "daysheet"),
        (
            _JOB,
            (("--day",), {"metavar": "YYYY-MM-DD", "help": "the last with entries where none is named"}),
            (
                ("-o", "--output"),
                {
                    "metavar": "FILE",
                    "type": Path,
                    "help": "ends in .pdf, .csv, .json or .txt; else ten lines are printed",
                },
            ),
            (("--paper",), {"choices": ("letter", "a4"), "default": "letter"}),
            _JSON,
        ),
    ),
    "rehearse": (
        "a crew's days made up from a seed, in a journal of their own",
        _lazily("rehearse", "rehearse"),
        (
            _JOB,
            (
                ("-o", "--output"),
                {"metavar": "FOLDER", "type": Path, "required": True, "help": "a new folder for the rehearsal"},
            ),
            (("--seed",), {"metavar": "N", "type": int, "default": 1, "help": "the same seed, the same days"}),
            (("--readings",), {"metavar": "N", "type": int, "default": 150, "help": "about so many in all"}),
            (("--days",), {"metavar": "D", "type": int, "default": 1, "help": "working days, one after the other"}),
            (("--day",), {"metavar": "YYYY-MM-DD", "help": "the last of them, today where none is given"}),
            _JSON,
        ),
    ),
    "verify": ("whether the journal is as it was written", _lazily("records", "verify"), (_JOB, _JSON)),
    "rescue": (
        "a new journal from what a damaged one still holds",
        _lazily("records", "rescue"),
        (
            _JOB,
            (
                ("-o", "--output"),
                {"metavar": "NEW", "type": Path, "required": True, "help": "the new journal, a name not yet taken"},
            ),
            _JSON,
        ),
    ),
}
