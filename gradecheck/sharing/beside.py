"""A share in a program of its own: nobody waits for it, however long the folder takes to answer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import gradecheck
from gradecheck.session.session import Session
from gradecheck.system.settings import made_here, read_settings

_LEFT: list[subprocess.Popen[bytes]] = []
"""Shares that were begun as a job was left; nobody looks at them again."""


# -P: nothing is loaded from the folder that the program happened to be started in.
_PROGRAM = (sys.executable, "-P", "-m", "gradecheck")


def _beside() -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(Path(gradecheck.__file__).parents[1])}


def begin(job: Path, folder: Path | str) -> subprocess.Popen[bytes] | None:
    """Begins to share the job by that folder; None where this machine has no room for another program."""
    command = [*_PROGRAM, "share", str(job), str(folder), "--json"]
    nothing = subprocess.DEVNULL
    try:
        return subprocess.Popen(  # noqa: S603 - this program itself
            command, stdin=nothing, stdout=nothing, stderr=nothing, env=_beside(), start_new_session=True
        )
    except OSError:
        return None


def bring(job: Path, place: Path | str) -> str:
    """Brings a job that is not here yet into a new folder, however long it takes; why it did not come, else empty."""
    command = [*_PROGRAM, "share", str(job), str(place), "--json"]
    try:
        ran = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, env=_beside())  # noqa: S603
    except OSError as wrong:
        return (wrong.strerror or str(wrong)).lower()
    # 1: it is here, and something in it waits or asks for an answer.
    return "" if ran.returncode in (0, 1) else ran.stderr.decode("utf-8", "replace").strip()


def begin_and_leave(job: Path, folder: Path | str) -> None:
    """The same where nobody looks at it again."""
    if (last := begin(job, folder)) is not None:
        _LEFT.append(last)


def share_what_is_finished(session: Session) -> None:
    """Something was finished: the job goes to the folder that the settings name, if they do, as it does in the app.

    A rehearsal, and a job that came from elsewhere and in which nothing was saved here, stay where they are.
    """
    folder = read_settings().meets_at
    if folder is not None and not session.state.record.rehearsal and made_here(session.folder):
        begin_and_leave(session.folder.absolute(), folder)
