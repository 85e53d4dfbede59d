"""The job file and its point lists read to be edited and written back whole, where nobody changed them meanwhile."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.places import Folder, stage
from gradecheck.plan.editing import Reads
from gradecheck.plan.edits import EditRefusedError, JobFileDraft
from gradecheck.plan.folder_names import list_fault
from gradecheck.plan.load import LARGEST, MOST_FILES, PLAN_NAME, read_text
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem


class ChangedMeanwhileError(Refusal):
    """That file is not as it was read, so nothing was written."""

    def __init__(self, file: str) -> None:
        super().__init__(_("{file} was changed meanwhile by someone else.", file=file))
        self.file = file


@dataclass(frozen=True, slots=True)
class Opened:
    """The texts of the job file and its lists, every line end as it is, and the hash of the bytes of each file."""

    draft: JobFileDraft
    digests: Mapping[str, str] = field(default_factory=dict)


def open_to_edit(folder: Path) -> Opened:
    """The job file in that folder as it is now. Raises Refusal where it can't be edited here."""
    try:
        with Folder(folder) as place, place.read(PLAN_NAME) as file:
            content = file.read(LARGEST + 1)
    except OSError as wrong:
        reason = (wrong.strerror or str(wrong)).lower()
        raise Refusal(_("{file} can't be edited here ({reason}).", file=folder / PLAN_NAME, reason=reason)) from wrong
    if len(content) > LARGEST:
        raise Refusal(_("{file} is too long to be edited here.", file=folder / PLAN_NAME))
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as wrong:
        raise Refusal(_("{file} is not UTF-8; save it as UTF-8 text first.", file=folder / PLAN_NAME)) from wrong
    lists = dict(_lists(folder, JobFileDraft(text)))
    digests = {name: _digest(each) for name, each in lists.items()}
    texts = {name: each.decode("utf-8") for name, each in lists.items()}
    return Opened(JobFileDraft(text, texts), {PLAN_NAME: _digest(content), **digests})


def _lists(folder: Path, draft: JobFileDraft) -> Iterator[tuple[str, bytes]]:
    """The lists beside it that can be edited; of one that can't be read the plan itself will tell."""
    from gradecheck.plan.list_edits import files_of_lists

    names = []
    with suppress(EditRefusedError):
        names = [name for name in files_of_lists(draft) if list_fault(name) is None]
    for name in names[:MOST_FILES]:
        with suppress(OSError, UnicodeDecodeError), Folder(folder) as place, place.read(name) as file:
            content = file.read(LARGEST + 1)
            content.decode("utf-8")
            if len(content) <= LARGEST:
                yield name, content


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def reader(folder: Path) -> Reads:
    """Makes the plan of a job file's text, with the lists beside it, as they are or as edited."""

    def fetch(name: str, lists: Mapping[str, str]) -> str:
        if name in lists:
            return lists[name]
        if fault := list_fault(name):
            raise PlanProblemsError([Problem("", 1, 1, fault)])
        return read_text(folder / name)

    def read(text: str, lists: Mapping[str, str]) -> Plan:
        from gradecheck.plan.read import read_plan  # pydantic and pint take longer to import than a screen

        return read_plan(text, PLAN_NAME, lambda name: fetch(name, lists))

    return read


def write_edited(folder: Path, draft: JobFileDraft, opened: Opened) -> Opened:
    """Writes what was edited in place of its files, all or none. Raises Refusal, and then nothing was changed.

    Where a file is not as it was read, `ChangedMeanwhileError`.
    """
    changed = [name for name, text in draft.lists.items() if text != opened.draft.lists.get(name)]
    contents = {name: draft.lists[name].encode("utf-8") for name in changed}
    if draft.text != opened.draft.text or not changed:
        contents[PLAN_NAME] = draft.text.encode("utf-8")
    for name, content in contents.items():
        if len(content) > LARGEST:
            raise Refusal(_("{file} would be longer than {most:,} bytes; divide it.", file=name, most=LARGEST))
    try:
        with Folder(folder) as place:
            _put_in_place(place, contents, opened)
            place.sync()
    except OSError as wrong:
        reason = (wrong.strerror or str(wrong)).lower()
        names = [str(folder / name) for name in contents]
        raise Refusal(
            plural(
                len(names),
                "{files} could not be written ({reason}); it is as it was.",
                "{files} could not be written ({reason}); they are as they were.",
                files=_(" and ").join(names),
                reason=reason,
            )
        ) from wrong
    return Opened(draft, {**opened.digests, **{name: _digest(content) for name, content in contents.items()}})


def _put_in_place(place: Folder, contents: Mapping[str, bytes], opened: Opened) -> None:
    """The files under their names; what was put there before one that fails is put back. Raises `OSError`."""
    made: list[str] = []
    done: dict[str, bytes] = {}
    try:
        modes: dict[str, int] = {}
        for content in contents.values():
            made.append(stage(place, content))
        # As late as can be: what is looked at here is what the next lines replace.
        before = {name: _unchanged(place, name, opened, modes) for name in {**contents, PLAN_NAME: b""}}
        for temporary, name in zip(made, contents, strict=True):
            place.allow(temporary, modes[name])
            place.rename(temporary, name)
            done[name] = before[name]
    except OSError:
        for name, content in done.items():
            temporary = stage(place, content)
            made.append(temporary)
            place.allow(temporary, modes[name])
            place.rename(temporary, name)
        raise
    finally:
        for temporary in made:
            place.remove(temporary)


def _unchanged(place: Folder, name: str, opened: Opened, modes: dict[str, int]) -> bytes:
    """The bytes of that file, which is as it was read. Raises `ChangedMeanwhileError` where it is not."""
    with place.read(name) as file:
        content = file.read(LARGEST + 1)
        modes[name] = os.fstat(file.fileno()).st_mode & 0o777
    if _digest(content) != opened.digests.get(name):
        raise ChangedMeanwhileError(name)
    return content
