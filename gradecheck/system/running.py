"""Which windows are open on a job, by a file each that its window holds; one that nobody holds was left by a kill."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path
from typing import BinaryIO

from gradecheck.places import Folder, make_folders, remove
from gradecheck.system import settings

try:
    import fcntl
except ImportError:  # Windows, where a file that is open can't be removed: that holds it as well
    fcntl = None  # type: ignore[assignment]


class Window:
    """One window on a job, from now until `close`; the system lets go of its file however the program ends."""

    def __init__(self, job: Path) -> None:
        """Opens it; where no file can be kept, nothing is told at the next start. Never raises."""
        self._file: BinaryIO | None = None
        self.last_was_killed = False
        """Whether a window on this job was left without being closed."""
        name = hashlib.sha256(str(job.absolute()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
        self._path = settings.folder() / "open" / f"{name}.{os.getpid()}"
        with contextlib.suppress(OSError):
            make_folders(self._path.parent)
            with Folder(self._path.parent) as folder:
                for left in folder.names():
                    if left.startswith(f"{name}."):
                        self.last_was_killed |= _clear_away(folder, left)
                if fcntl is None:
                    self._file = folder.create(self._path.name)
                    return
                coming = f"coming.{os.getpid()}"
                folder.remove(coming)
                self._file = folder.create(coming)
                fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                folder.rename(coming, self._path.name)  # held from the moment it has its name

    def close(self) -> None:
        """Says that this window was closed as it should be."""
        if self._file is not None:
            if fcntl is None:  # else it could not be removed
                self._file.close()
            with contextlib.suppress(OSError):
                remove(self._path)
            self._file.close()
            self._file = None


def _clear_away(folder: Folder, left: str) -> bool:
    """Takes the file away where nobody holds it; whether it did."""
    with contextlib.suppress(OSError), contextlib.ExitStack() as reading:
        if fcntl is not None:
            file = reading.enter_context(folder.read(left))
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)  # raises while a window holds it
        folder.remove(left)  # on Windows this raises
        return True
    return False
