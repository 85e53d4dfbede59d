"""Readings in a file or through a pipe, one a line: ``POINT READING [TIME]``."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.shared import assignment, tell
from gradecheck.exchange.list_in import decoded
from gradecheck.files.imports import bytes_of
from gradecheck.measure.notation import Units

STDIN = "-"
MOST_BYTES = 2**20
_REMARK = re.compile(r"(?:^|\s)#.*")
_DAY = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}")


@dataclass(frozen=True, slots=True)
class Sighted:
    """A point and what the rod reads there, as they were typed; `time` is when, where that was given."""

    name: str
    reading: str
    time: str | None = None


def listed_lines(source: str) -> Iterator[tuple[str, str]]:
    """Each line that says something, and where it stands, as ``evening.txt, line 3``; - is standard input.

    Raises Refusal and `PlanProblemsError`.
    """
    if source == STDIN:
        file, content = _("standard input"), _from_stdin()
    else:
        file, content = Path(source).name, bytes_of(Path(source))
    if len(content) > MOST_BYTES:
        raise Refusal(_("{file} is larger than 1 MB; divide it.", file=file))
    text, remarks = decoded(content, file)
    for remark in remarks:
        tell(f"{file}: {remark}")
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), 1):
        if (said := line.strip(" \t\ufeff")) and not said.startswith("#"):
            yield _("{file}, line {number}", file=file, number=number), said


def _from_stdin() -> bytes:
    if sys.stdin is None:
        raise Refusal(_("There is no standard input to read; name a file."))
    if sys.stdin.isatty():
        tell(_("A reading a line, POINT READING; Ctrl+D ends them (Ctrl+Z and Enter on Windows)."))
    return sys.stdin.buffer.read(MOST_BYTES + 1)


def sighted(line: str, known: Callable[[str], str | None], units: Units) -> Sighted:
    """What a line says; `known` tells whether a text is a name, which may have spaces in it. Raises Refusal."""
    if "=" in (bare := _REMARK.sub("", line)):
        name, rest = assignment(bare, units)
        words = rest.split()
    else:
        words = line.split()
        lengths = range(len(words) - 1, 1, -1)
        own = next((n for n in lengths if known(" ".join(words[:n])) is not None), 1)
        name, words = " ".join(words[:own]), _REMARK.sub("", " ".join(words[own:])).split()
    time = None
    if words and ":" in words[-1]:
        given = 2 if len(words) > 1 and _DAY.fullmatch(words[-2]) else 1
        words, time = words[:-given], " ".join(words[-given:])
    if not words:
        example = _("for example P4 {mark}, or P4 {mark} 10:05", mark=units.examples.mark)
        raise Refusal(_("“{text}” is not POINT READING; write {example}.", text=line, example=example))
    return Sighted(name, " ".join(words), time)
