"""The verb `board`: how far all jobs are that meet in a folder or at an office's server."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.options import Options, Reply, as_path, flag, named, option, output_option, verb
from gradecheck.office.address import address, is_address
from gradecheck.report.board import Board, board_csv, board_json, board_lines
from gradecheck.session.clock_watch import now

if TYPE_CHECKING:
    from gradecheck.sharing.boards import BoardSource

ENDINGS = (".html", ".csv", ".json", ".txt")


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardOptions(Options):
    place: str = named(
        "WHERE", help=_("the folder where laptops meet, a folder of those, or postgresql://NAME@HOST/DATABASE")
    )
    ascii: bool = flag("--ascii", _("plain letters where fonts lack blocks"))
    theme: str | None = option("--theme", choices=("sun", "night", "plain"), help=_("colors at the start"))
    csv: bool = flag("--csv", _("a row for each stage, as CSV"))
    text: bool = flag("--text", _("plain lines of text, even in a terminal"))
    output: Path | None = output_option("FILE", _("ends in .html (one page), .csv, .json or .txt"))


def _is_screen(options: BoardOptions) -> bool:
    """Whether the board is shown in the app: nothing else was asked for, and there is a terminal at both ends."""
    asked = options.json or options.csv or options.text or options.output is not None
    ends = (sys.stdin, sys.stdout, sys.stderr)
    return not asked and all(each.isatty() for each in ends) and os.environ.get("TERM") != "dumb"


@verb(
    BoardOptions,
    apart=(("csv", "json"), ("csv", "text"), ("text", "json"), ("output", "csv"), ("output", "text")),
    screen_if=_is_screen,
)
def board(options: BoardOptions) -> Reply:
    """The board as it is now; in a terminal it stays open and follows what comes."""
    if _is_screen(options):
        from gradecheck.app.app import run

        return Reply(
            code=run(Path.cwd(), None, ascii_only=options.ascii, theme=options.theme, board=_source(options))
        )
    looked, place = _looked(options)
    if options.output is not None:
        return _written(looked, place, options.output)
    if options.csv:
        return Reply(text=board_csv(looked))
    return Reply(board_json(looked), board_lines(looked, now(), place))


def _source(options: BoardOptions) -> BoardSource:
    """Where the board comes from."""
    if is_address(options.place):
        from gradecheck.office.board import OfficeBoard

        return OfficeBoard(address(options.place))
    from gradecheck.sharing.boards import FolderBoard

    return FolderBoard(as_path(options.place))


def _looked(options: BoardOptions) -> tuple[Board, str]:
    source = _source(options)
    place = source.name
    try:
        found = source.look()
    finally:
        source.stop()
    if found.trouble and not found.jobs and not found.passed_over:
        raise Refusal(found.trouble)
    if not found.jobs and not found.passed_over:
        raise Refusal(
            _(
                "No job has been shared to {place} yet; “gradecheck share JOB {place}” puts one there.",
                place=place,
            )
        )
    return found, place


def _written(board: Board, place: str, path: Path) -> Reply:
    from gradecheck.files.exports import ending_of
    from gradecheck.files.whole_files import write_whole

    ending = ending_of(path, ENDINGS)
    if os.path.isdir(path):
        raise Refusal(_("{target} is a folder; name a file.", target=path))
    write_whole(path.parent, {path.name: _content(ending, board, place).encode()})
    says = _("Written to {path}.", path=path)
    return Reply({"file": str(path)}, [says], saved=True)


def _content(ending: str, board: Board, place: str) -> str:
    if ending == ".html":
        from gradecheck.report.page import board_page

        return board_page(board, now(), place)
    if ending == ".json":
        import json

        return json.dumps(board_json(board), indent=1) + "\n"
    if ending == ".csv":
        return board_csv(board)
    return _lines(board_lines(board, now(), place))


def _lines(lines: Iterable[str]) -> str:
    from gradecheck.cli.shared import printable

    show: Callable[[str], str] = printable
    return "".join(f"{show(line)}\n" for line in lines)
