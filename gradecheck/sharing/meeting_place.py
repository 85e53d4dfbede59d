"""The folder where laptops meet: whole files are put there under new names, and nothing else in it is touched."""

from __future__ import annotations

import contextlib
import re
import time
from pathlib import Path
from types import TracebackType

from gradecheck.places import Folder, stage
from gradecheck.sharing.row_files import LARGEST, hash_of

A_DAY = 86_400.0
"""Seconds after which a file that was never finished is nobody's, whatever clock the other laptop has."""
_UNFINISHED = re.compile(r"\.[0-9a-f]{32}\.part", re.ASCII)


class TooLargeError(Exception):
    """A file is larger than any of ours."""


class MeetingPlace:
    """A folder that is there and stays where it is; it is never made. Everything raises `OSError`."""

    def __init__(self, path: Path) -> None:
        self._folder = Folder(path)

    def __enter__(self) -> MeetingPlace:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, wrong: BaseException | None, at: TracebackType | None
    ) -> None:
        self._folder.__exit__(kind, wrong, at)

    def names(self) -> list[str]:
        """All names there, in order."""
        return sorted(self._folder.names())

    def read(self, name: str, most: int = LARGEST) -> bytes:
        """The bytes of a plain file, so many at most. Raises `TooLargeError` too."""
        with self._folder.read(name) as file:
            content = file.read(most + 1)
        if len(content) > most:
            raise TooLargeError
        return content

    def put(self, name: str, content: bytes, digest: str) -> None:
        """Puts a file there, whole or not at all. One that has the name stays where its bytes have that hash."""
        new = stage(self._folder, content)
        try:
            try:
                self._folder.rename_if_free(new, name)
            except FileExistsError:
                if not self.is_whole(name, digest):  # cut short by whatever brought it; by its name it is this one
                    self._folder.rename(new, name)
        finally:
            with contextlib.suppress(OSError):
                self._folder.remove(new)
        self._folder.sync()

    def is_whole(self, name: str, digest: str) -> bool:
        """Whether a file of that name is there, and its bytes have that hash."""
        with contextlib.suppress(OSError, TooLargeError):
            return hash_of(self.read(name)) == digest
        return False

    def remove(self, name: str) -> None:
        """Takes a file away that another one holds all of."""
        self._folder.remove(name)

    def tidy(self, names: list[str]) -> None:
        """Takes away what a laptop that was killed left half written, a day ago or more."""
        for name in names:
            if _UNFINISHED.fullmatch(name):
                with contextlib.suppress(OSError):
                    found = self._folder.status(name)
                    if found is not None and time.time() - found.st_mtime > A_DAY:
                        self._folder.remove(name)
