"""The verb `share`: laptops meet in a folder, a stick, a network drive; each puts its own there, and takes theirs."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.cli.options import OnJob, Reply, as_path, named, verb
from gradecheck.cli.shared import open_session
from gradecheck.measure.printed import count
from gradecheck.plan.load import FILE_NAME as PLAN_NAME
from gradecheck.report.joining import MOST, answer, is_open, joined_lines
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder
from gradecheck.sharing.bring_back import bring_back, can_be_brought_back_to
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


@verb(Share, needs_plan=False)
def share(options: Share) -> Reply:
    """Shares the job by a folder; 1 while something waits, does not hold, or could not be put there.

    Where there is no job yet, the whole job is brought back from the folder first.
    """
    folder = options.folder or read_settings().folder_to_copy_to
    if folder is None:
        raise Refusal('Say which folder: share JOB FOLDER, or name one in settings.toml: "copy to" = "FOLDER".')
    brought = ""
    if can_be_brought_back_to(options.job):
        with _given_up_when_stuck(options.job, folder):
            brought = bring_back(options.job, folder)
    elif not os.path.exists(job_folder(options.job) / PLAN_NAME):
        raise Refusal(f"There is no job.yaml in {options.job}; JOB is a folder that has one, or a new one.")
    call = _Call("share")
    with open_session(call, options) as session:
        reply = _shared(session, folder, brought)
    return dataclasses.replace(reply, saved=reply.saved or call.saved or bool(brought))


@dataclass(slots=True)
class _Call:
    verb: str
    saved: bool = False


def _shared(session: Session, folder: Path, brought: str) -> Reply:
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
    lines = [*([brought] if brought else []), *summary, *(joined_lines(laptops) if laptops is not None else ())]
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
