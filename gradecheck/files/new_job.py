"""A new job on disk: its folder with the job file in it, whole or not at all, never over anything that is there."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.journal.recovery.missing import refuse_to_begin
from gradecheck.journal.recovery.side_files import BesideError
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.places import Folder, make_folders, remove_folders, stage, sync_folder
from gradecheck.plan.folder_names import folder_fault
from gradecheck.plan.load import PLAN_NAME
from gradecheck.system import settings


def cannot_begin(folder: Path, name: str) -> str | None:
    """Why no job of that name can be begun in the folder, None where nothing is in the way."""
    if fault := folder_fault(name):
        return fault
    job = folder / name
    if os.path.lexists(job / PLAN_NAME):
        return _(
            "There is a {plan_name} in {job} already; nothing is written over it, so take another name.",
            plan_name=PLAN_NAME,
            job=job,
        )
    if os.path.lexists(job / JOURNAL_NAME):
        return _("There is a journal in {job} already, of another plan; take another name.", job=job)
    try:
        refuse_to_begin(job / JOURNAL_NAME)
    except BesideError as wrong:
        return str(wrong)
    for each in (job, folder, *folder.parents):
        if os.path.lexists(each) and not os.path.isdir(each):
            return _("{each} is a file, not a folder; take another name.", each=each)
    return None


def begin_job(folder: Path, name: str, text: str) -> Path:
    """Writes the job file into a folder of that name, made where it is not there, and returns the folder.

    Raises Refusal, and then nothing was changed.
    """
    if fault := cannot_begin(folder, name):
        raise Refusal(fault)
    job = folder / name
    made: list[Path] = []
    written = False
    try:
        made = make_folders(job)
        with Folder(job) as place:
            temporary = stage(place, text.encode())
            try:
                place.rename_if_free(temporary, PLAN_NAME)
                _put_schema(place)
            finally:
                place.remove(temporary)
                place.sync()
        written = True
    except (OSError, ValueError) as wrong:  # a ValueError for a name that this system's files can't have
        reason = (getattr(wrong, "strerror", None) or str(wrong)).lower()
        raise Refusal(
            _("{job} could not be written ({reason}); nothing was changed.", job=job / PLAN_NAME, reason=reason)
        ) from wrong
    finally:
        # Also where the program was interrupted: what is left behind would be in the way of the next attempt.
        remove_folders(made if not written else [])
    settings.forget(job)
    for each in made:
        sync_folder(each.parent)
    return job


def _put_schema(job: Folder) -> None:
    """Puts the schema beside the job file, whose first line names it; without it an editor only helps less."""
    from gradecheck.plan.schema import FILE_NAME, schema_text  # what it is made of takes pydantic

    with contextlib.suppress(OSError):
        temporary = stage(job, schema_text().encode())
        try:
            job.rename_if_free(temporary, FILE_NAME)
        finally:
            job.remove(temporary)
