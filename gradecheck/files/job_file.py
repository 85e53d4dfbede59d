"""The job file read to be edited and written back whole, where nobody else changed it meanwhile."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.places import Folder, stage
from gradecheck.plan.edits import Draft
from gradecheck.plan.folder_names import list_fault
from gradecheck.plan.load import FILE_NAME, LARGEST, read_text
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem


class ChangedMeanwhileError(Refusal):
    """The file is not as it was read, so nothing was written."""


@dataclass(frozen=True, slots=True)
class Opened:
    """The job file's text, every line end as it is, and the hash of its bytes."""

    draft: Draft
    digest: str


def open_to_edit(folder: Path) -> Opened:
    """The job file in that folder as it is now. Raises Refusal where it can't be edited here."""
    try:
        with Folder(folder) as place, place.read(FILE_NAME) as file:
            content = file.read(LARGEST + 1)
    except OSError as wrong:
        reason = (wrong.strerror or str(wrong)).lower()
        raise Refusal(_("{file} can't be edited here ({reason}).", file=folder / FILE_NAME, reason=reason)) from wrong
    if len(content) > LARGEST:
        raise Refusal(_("{file} is too long to be edited here.", file=folder / FILE_NAME))
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as wrong:
        raise Refusal(_("{file} is not UTF-8; save it as UTF-8 text first.", file=folder / FILE_NAME)) from wrong
    return Opened(Draft(text), hashlib.sha256(content).hexdigest())


def reader(folder: Path) -> Callable[[str], Plan]:
    """Makes the plan of a job file's text, with the lists beside it; nothing is kept of it."""

    def fetch(name: str) -> str:
        if fault := list_fault(name):
            raise PlanProblemsError([Problem("", 1, 1, fault)])
        return read_text(folder / name)

    def read(text: str) -> Plan:
        from gradecheck.plan.read import read_plan  # pydantic and pint take longer to import than a screen

        return read_plan(text, FILE_NAME, fetch)

    return read


def write_edited(folder: Path, draft: Draft, opened: Opened) -> Opened:
    """Writes the text in place of the job file, whole or not at all. Raises Refusal, and then nothing was changed.

    Where the file is not as it was read, `ChangedMeanwhileError`.
    """
    content = draft.text.encode("utf-8")
    if len(content) > LARGEST:
        raise Refusal(_("The job file would be longer than {most:,} bytes; put long lists beside it.", most=LARGEST))
    try:
        with Folder(folder) as place:
            temporary = stage(place, content)
            try:
                # As late as can be: what is looked at here is what the next line replaces.
                with place.read(FILE_NAME) as file:
                    now = hashlib.sha256(file.read(LARGEST + 1)).hexdigest()
                    mode = os.fstat(file.fileno()).st_mode & 0o777
                if now != opened.digest:
                    raise ChangedMeanwhileError(_("{file} was changed meanwhile by someone else.", file=FILE_NAME))
                place.allow(temporary, mode)
                place.rename(temporary, FILE_NAME)
            finally:
                place.remove(temporary)
            place.sync()
    except OSError as wrong:
        reason = (wrong.strerror or str(wrong)).lower()
        says = _("{file} could not be written ({reason}); it is as it was.", file=folder / FILE_NAME, reason=reason)
        raise Refusal(says) from wrong
    return Opened(draft, hashlib.sha256(content).hexdigest())
