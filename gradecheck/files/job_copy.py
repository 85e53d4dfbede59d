"""Copies a job into another folder to go on there, when the disk is full or the stick was pulled."""

from __future__ import annotations

import os
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.files.whole_files import write_whole
from gradecheck.journal.errors import JournalError
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.places import clear_folder, make_folders, sync_folder
from gradecheck.plan.folder_names import list_fault
from gradecheck.plan.load import PLAN_NAME
from gradecheck.session.session import Session


def copy_job(session: Session, to: Path) -> str:
    """Writes the current plan and the whole journal into a new folder.

    If the journal's file was replaced meanwhile, what this window knows of it is written, and a sentence returned
    that says so. Raises Refusal or `JournalError`, and then makes no folder.
    """
    if os.path.lexists(to):
        raise Refusal(_("There is something at {to} already; name a new folder.", to=to))
    try:
        make_folders(to)
    except (OSError, ValueError) as wrong:
        reason = (getattr(wrong, "strerror", None) or str(wrong)).lower()
        raise Refusal(_("{to} can't be made ({reason}); name another folder.", to=to, reason=reason)) from wrong
    try:
        says = session.journal.copy_to(to / JOURNAL_NAME)
        write_whole(to, {name: text.encode() for name, text in plan_texts(session).items()})
        _check(to / JOURNAL_NAME)
    except BaseException:
        clear_folder(to)
        raise
    sync_folder(to.parent)
    return says


def plan_texts(session: Session) -> dict[str, str]:
    """The texts by the names of their files, each one that a list may have: a journal may have kept any."""
    texts = {name: text for name, text in session.loaded.files.items() if list_fault(name) is None}
    return {**texts, PLAN_NAME: session.loaded.text}


def _check(journal: Path) -> None:
    copy = Journal(journal)
    try:
        soundness = copy.verify()
    finally:
        copy.close()
    if soundness.fault is not None:
        raise JournalError(_("The copy is not sound ({fault}), so it was removed.", fault=soundness.fault))
