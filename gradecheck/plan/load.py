"""Reads a job file from disk; a plan once understood is remembered by the hash of its text."""

from __future__ import annotations

import codecs
import contextlib
import hashlib
import os
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.plan import cache
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem

PLAN_NAME = "job.yaml"
LARGEST = 1_000_000
"""Bytes; ten thousand points written out by hand take 600 kB."""


MOST_FILES = 40
"""Lists and outlines beside one job file."""


@dataclass(frozen=True)
class Loaded:
    """A plan as it was read: the text of its job file, and of each file beside it that it names."""

    plan: Plan
    text: str
    files: dict[str, str]

    @property
    def digest(self) -> str:
        """The hash of all its texts, by which the journal names the plan."""
        return plan_hash(self.text, self.files)


def plan_hash(text: str, files: Mapping[str, str]) -> str:
    """The hash of a job file's text, and of the lists it names where it names some."""
    if not files:
        return text_hash(text)
    parts = [text_hash(text), *(f"{name}:{text_hash(files[name])}" for name in sorted(files))]
    return text_hash("\n".join(parts))


def text_hash(text: str) -> str:
    """The hash of one text."""
    return hashlib.sha256(text.encode()).hexdigest()


def load_plan(path: Path) -> Loaded:
    """The plan in that job file, with its texts. Raises `PlanProblemsError` with every problem found."""
    return PlanFile(path).read()


def understand(text: str, file: str, fetch: Callable[[str], str]) -> Loaded:
    """The plan that a text means, from the cache where its lists are unchanged too.

    Raises `PlanProblemsError`.
    """
    _refuse_odd(file, text)
    plan = cache.recall(text_hash(text))
    if plan is not None:
        with contextlib.suppress(PlanProblemsError):  # a list that is gone is told by reading the plan
            files = {name: _fetched(name, fetch) for name in plan.files}
            if all(text_hash(content) == plan.files[name] for name, content in files.items()):
                return Loaded(plan, text, files)
    # Only a text never seen before needs YAML, pydantic and pint; they take longer to import than Textual.
    from gradecheck.plan.read import read_plan

    files = {}

    def keep(name: str) -> str:
        if name not in files:
            if len(files) >= MOST_FILES:
                says = _("This plan names more than {most} files; put their points together.", most=MOST_FILES)
                raise PlanProblemsError([Problem("", 1, 1, says)])
            files[name] = _fetched(name, fetch)
        return files[name]

    plan = read_plan(text, file, keep)
    plan = replace(plan, files={name: text_hash(content) for name, content in files.items()})
    cache.remember(text_hash(text), plan)
    return Loaded(plan, text, files)


def _fetched(name: str, fetch: Callable[[str], str]) -> str:
    """The text of a file beside the job file, wherever that is kept; its name is plain and its size bounded."""
    from gradecheck.plan.folder_names import list_fault  # a job that names no list needs none of it

    if fault := list_fault(name):
        raise PlanProblemsError([Problem("", 1, 1, fault)])
    text = fetch(name)
    _refuse_odd(name, text)
    return text


def _refuse_odd(name: str, text: str) -> None:
    """Refuses a text from a journal that no job file on disk could have."""
    try:
        size = len(text.encode())
    except UnicodeEncodeError as wrong:
        says = _("This text was kept with half a character in it; no file has that.")
        raise PlanProblemsError([Problem(name, 1, 1, says)]) from wrong
    if size > LARGEST:
        says = _(
            "This text has {size:,} bytes, more than {most:,}; put long lists into files of their own.",
            size=size,
            most=LARGEST,
        )
        raise PlanProblemsError([Problem(name, 1, 1, says)])


class PlanFile:
    """A job file that may change while the job is open; a look only asks for the files' dates."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._seen: dict[str, tuple[int, int, int]] = {}
        self.latest: Loaded | None = None
        self.wrong: PlanProblemsError | None = None

    def read(self) -> Loaded:
        """The plan as the files have it now. Raises `PlanProblemsError`."""
        self._seen = {}
        self.latest = understand(self._text(self._path.name), self._path.name, self._text)
        return self.latest

    def refresh(self) -> bool:
        """Reads the files again if they changed, and returns whether they did. Their problems are kept in `wrong`."""
        if self._seen and all(self._dates(name) == dates for name, dates in self._seen.items()):
            return False
        try:
            self.read()
            self.wrong = None
        except PlanProblemsError as wrong:
            self.wrong = wrong
        return True

    def _text(self, name: str) -> str:
        """The text of the job file or of one beside it; its dates are kept even where it is missing or faulty."""
        path = self._path.parent / name
        dates = self._dates(name)  # first, so that a change while reading is seen at the next look
        self._seen.setdefault(name, dates)
        return read_text(path)

    def _dates(self, name: str) -> tuple[int, int, int]:
        try:
            status = os.stat(self._path.parent / name)
        except OSError:
            return 0, 0, 0
        return status.st_mtime_ns, status.st_size, status.st_ino


def read_text(path: Path) -> str:
    """The file's text with plain line ends. Raises `PlanProblemsError` when it is no readable UTF-8 text."""
    name = path.name
    try:
        # Not to hang on a pipe or a device: open without waiting, then look at what it is.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as wrong:
        says = _("This file can't be read ({reason}); check the name and the folder.", reason=wrong.strerror)
        raise PlanProblemsError([Problem(name, 1, 1, says)]) from wrong
    status = os.fstat(descriptor)
    if not stat.S_ISREG(status.st_mode):
        os.close(descriptor)  # a folder among them, which can't be opened as a file at all
        says = _("This is not a plain file; put a text file in its place.")
        raise PlanProblemsError([Problem(name, 1, 1, says)])
    with os.fdopen(descriptor, "rb") as file:
        if status.st_size > LARGEST:
            size = status.st_size
            says = _(
                "This file has {size:,} bytes, more than {most:,}; put long lists into files of their own.",
                size=size,
                most=LARGEST,
            )
            raise PlanProblemsError([Problem(name, 1, 1, says)])
        content = file.read(LARGEST + 1).removeprefix(codecs.BOM_UTF8)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as wrong:
        line = content.count(b"\n", 0, wrong.start) + 1
        says = _(
            "Byte {content:#04x} on this line is not UTF-8; save the file as UTF-8 text.",
            content=content[wrong.start],
        )
        raise PlanProblemsError([Problem(name, line, 1, says)]) from wrong
    return text.replace("\r\n", "\n").replace("\r", "\n")
