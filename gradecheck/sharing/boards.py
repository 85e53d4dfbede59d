"""The board of the jobs that meet in folders: progress rows alone are read, each file of them once."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Protocol

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.report.board import Board, KeptRow, board_of
from gradecheck.sharing.bring_back import lay_out
from gradecheck.sharing.meeting_place import MeetingPlace
from gradecheck.sharing.progress import (
    NO_CHAIN,
    Progress,
    WrongProgressError,
    jobs_by_name,
    plan_and_chain,
    progress_named,
    read_progress,
)
from gradecheck.sharing.row_files import named
from gradecheck.sharing.share import is_of_the_file, system_reason

LOOKS_EVERY = 5.0
"""Seconds between looks at a folder."""
MOST_PLACES = 2_000
"""Folders within one that are looked at."""


class BoardSource(Protocol):
    """Where a board comes from. All of it is called in threads that nobody waits for."""

    @property
    def name(self) -> str:
        """What it is called."""

    def look(self, *, first: bool = False) -> Board:
        """The board as it is now; it never raises. `first` what can be shown soonest, the rest at the next look."""

    def wait(self) -> None:
        """Comes back when there may be something new, at the latest when it is time to look again, or at `stop`."""

    def lay_out(self, key: str, job: Path) -> str:
        """Lays a job of the board into an empty folder, to be looked at; returns what is missing in it.

        Raises Refusal and `OSError`.
        """

    def stop(self) -> None:
        """Nobody looks any more."""


class FolderBoard:
    """Looks at a meeting place, or at a folder of such; what was read once is not read again."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._stopped = threading.Event()
        self._read: dict[tuple[Path, str], Progress | str] = {}
        self._last = Board(())
        self._files: dict[str, tuple[Path, tuple[str, ...]]] = {}
        """Where the files of each job lie, by its key on the board."""

    @property
    def name(self) -> str:
        """The folder."""
        return str(self._folder)

    def wait(self) -> None:
        """A folder says nothing by itself: it is looked at every so many seconds."""
        self._stopped.wait(LOOKS_EVERY)

    def stop(self) -> None:
        """Nobody looks any more."""
        self._stopped.set()

    def lay_out(self, key: str, job: Path) -> str:
        """Lays a job into an empty folder; returns what is missing in it. Raises Refusal and `OSError`."""
        if key not in self._files:
            raise Refusal(_("The job is no longer in {folder}.", folder=self._folder))
        folder, names = self._files[key]
        return lay_out(job, folder, names)

    def look(self, *, first: bool = False) -> Board:
        """All of the board as it is now; where the folder can't be looked at, as it was, and why. It never raises."""
        try:
            places = self._places()
        except OSError as wrong:
            trouble = _("{folder} can't be opened ({reason}).", folder=self._folder, reason=system_reason(wrong))
            return Board(self._last.jobs, self._last.passed_over, trouble)
        jobs: list[tuple[str, Sequence[KeptRow], int]] = []
        wrong_files: list[str] = []
        uncounted, troubles = 0, []
        found: dict[str, tuple[Path, tuple[str, ...]]] = {}
        for path, names in places:
            try:
                with MeetingPlace(path) as place:
                    for files in _apart(names):
                        kept, wrong_here = self._kept(place, path, files)
                        wrong_files += wrong_here
                        uncounted += not kept
                        key = f"{path}/{_key(files)}"
                        found[key] = path, tuple(files)
                        jobs.append((key, kept, _highest(files)))
            except OSError as wrong:
                troubles.append(_("{folder} can't be opened ({reason}).", folder=path, reason=system_reason(wrong)))
        if uncounted:
            troubles.append(
                plural(
                    uncounted,
                    "{n} job is there without counts; the next time it is shared brings them.",
                    "{n} jobs are there without counts; the next time they are shared brings them.",
                )
            )
        self._files = found
        self._last = board_of(jobs, wrong_files, " ".join(troubles))
        return self._last

    def _places(self) -> list[tuple[Path, list[str]]]:
        """The folder and those within it in which files of ours lie, with the names of those. Raises `OSError`."""
        found = []
        with os.scandir(self._folder) as entries:
            within = sorted(each.name for each in entries if each.is_dir(follow_symlinks=False))
        for path in (self._folder, *(self._folder / name for name in within[:MOST_PLACES])):
            try:
                with MeetingPlace(path) as place:
                    names = [name for name in place.names() if plan_and_chain(name) is not None]
            except OSError:
                if path == self._folder:
                    raise
                continue
            if names:
                found.append((path, names))
        return found

    def _kept(self, place: MeetingPlace, path: Path, names: Sequence[str]) -> tuple[list[KeptRow], list[str]]:
        """The rows among those files, and what is wrong with others."""
        rows, wrong_files = [], []
        for name in names:
            if (said := progress_named(name)) is None:
                continue
            read = self._read.get((path, name))
            if read is None:
                try:
                    read = read_progress(place, name, said)
                    if read is None:
                        continue
                    self._read[path, name] = read
                except WrongProgressError as wrong:
                    read = f"{name}: {wrong}"  # and is looked at again: it may be half there
                except OSError as wrong:
                    if not is_of_the_file(wrong):
                        raise
                    read = f"{name}: {system_reason(wrong)}"
            if isinstance(read, str):
                wrong_files.append(read)
            else:
                rows.append(KeptRow(read))
        return rows, wrong_files


def _apart(names: Sequence[str]) -> Iterator[list[str]]:
    """The files of each job."""
    jobs = jobs_by_name(names)
    seen: set[int] = set()
    for files in jobs.values():
        if id(files) not in seen:
            seen.add(id(files))
            yield files


def _key(names: Sequence[str]) -> str:
    """By what a job stays known while it goes on: a chain of it, or its plan while there is none."""
    said = [pair for name in names if (pair := plan_and_chain(name)) is not None]
    chains = sorted(chain for _plan, chain in said if chain not in ("", NO_CHAIN))
    return chains[0] if chains else min(plan for plan, _chain in said)


def _highest(names: Sequence[str]) -> int:
    """The highest number of an entry that the names speak of."""
    return max((said.last for name in names if (said := named(name)) is not None), default=0)
