"""The verb `share`: laptops meet in a folder, a stick, a network drive; each puts its own there, and takes theirs."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.cli.options import OnJob, Reply, as_path, named, on_session
from gradecheck.measure.printed import count
from gradecheck.report.joining import MOST, answer, is_open, joined_lines
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session
from gradecheck.sharing.last_copy import note
from gradecheck.sharing.share import Shared, reason
from gradecheck.sharing.share import share as share_with
from gradecheck.system.settings import read_settings

STUCK = 300.0
"""Seconds after which a folder that does not answer is given up: a network drive may hang for ever."""
GIVEN_UP = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Share(OnJob):
    folder: Path | None = named(
        "FOLDER",
        default=None,
        nargs="?",
        type=as_path,
        help="where laptops meet; “copy to” of the settings if left out",
    )


@on_session(Share)
def share(session: Session, options: Share) -> Reply:
    """Shares the job by a folder; 1 while something waits, does not hold, or could not be put there."""
    folder = options.folder or read_settings().folder_to_copy_to
    if folder is None:
        raise Refusal('Say which folder: share JOB FOLDER, or name one in settings.toml: "copy to" = "FOLDER".')
    if session.state.record.rehearsal:
        raise Refusal("This is a rehearsal; it is not shared, so that nobody takes it for work.")
    began = now()
    with _given_up_when_stuck(session.folder, folder):
        try:
            shared = share_with(session, folder)
        except OSError as wrong:
            says = f"Nothing was shared: {folder} can't be opened ({reason(wrong)})."
            note(session.folder, says, whole=False, at=now())
            raise Refusal(says) from wrong
    laptops = session.journal.joined
    told = {
        "taken in": shared.taken,
        "put there": shared.put,
        "entries there": shared.there,
        "half there": shared.half_there,
        "not taken in": shared.not_sound,
        "trouble": shared.trouble,
        **(answer(laptops) if laptops is not None else {}),
    }
    summary = list(_lines(folder, shared))
    note(session.folder, " ".join(summary), whole=shared.is_whole, at=began)
    waits = bool(shared.half_there or shared.not_sound or shared.trouble)
    lines = [*summary, *(joined_lines(laptops) if laptops is not None else ())]
    code = 1 if waits or (laptops is not None and is_open(laptops)) else 0
    return Reply(told, lines, code=code, saved=bool(shared.taken or shared.put))


def _lines(folder: Path, shared: Shared) -> Iterator[str]:
    taken, put = (count(each, "new entry", "new entries") for each in (shared.taken, shared.put))
    yield f"{folder}: {taken} taken in, {put} put there."
    if shared.trouble:
        yield f"Not all of this laptop's entries are there ({shared.trouble}); share again when that is mended."
    yield from _some([f"Half there, so it waits: {each}" for each in shared.half_there])
    yield from _some([f"Not taken in: {each}." for each in shared.not_sound])


def _some(lines: list[str]) -> Iterator[str]:
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield f"... and {len(lines) - MOST} more."


@contextlib.contextmanager
def _given_up_when_stuck(job: Path, folder: Path) -> Iterator[None]:
    """Ends the program where a folder does not answer: whatever was recorded is on the disk of this laptop."""

    def give_up() -> None:
        says = f"{folder} does not answer; given up. Nothing here was lost."
        note(job, says, whole=False, at=now())
        print(says, file=sys.__stderr__, flush=True)
        os._exit(GIVEN_UP)

    timer = threading.Timer(STUCK, give_up)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
