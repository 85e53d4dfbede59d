"""A job copied into another folder, to go on there: where the disk is full, or the stick was pulled."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

from gradecheck.files.whole_files import write_whole
from gradecheck.intake import Refusal
from gradecheck.journal.disk import sync_folder
from gradecheck.journal.errors import JournalError
from gradecheck.journal.store import FILE_NAME as JOURNAL_NAME
from gradecheck.journal.store import Journal
from gradecheck.plan.load import FILE_NAME as PLAN_NAME
from gradecheck.session.session import Session


def copy_job(session: Session, to: Path) -> Path:
    """Puts the plan in force and the whole journal into a new folder, and returns it.

    Raises Refusal or `JournalError`, and then that folder is not there.
    """
    if os.path.lexists(to):
        raise Refusal(f"There is something at {to} already; name a folder that is not there yet.")
    try:
        to.mkdir(parents=True)
    except (OSError, ValueError) as wrong:
        reason = (getattr(wrong, "strerror", None) or str(wrong)).lower()
        raise Refusal(f"{to} can't be made ({reason}); name another folder.") from wrong
    try:
        session.journal.copy_to(to / JOURNAL_NAME)
        write_whole({to / name: text.encode() for name, text in _plan(session).items()})
        _check(to / JOURNAL_NAME)
    except BaseException:
        with contextlib.suppress(OSError):
            shutil.rmtree(to)
        raise
    sync_folder(to.parent)
    return to


def _plan(session: Session) -> dict[str, str]:
    return {PLAN_NAME: session.loaded.text, **session.loaded.files}


def _check(journal: Path) -> None:
    copy = Journal(journal)
    try:
        soundness = copy.verify()
    finally:
        copy.close()
    if soundness.fault is not None:
        raise JournalError(f"The copy is not sound ({soundness.fault}) and was taken away again.")
