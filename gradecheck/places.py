"""Every file is written through here: plain names in a folder held open, and no link is ever followed.

Names may come from a job that was mailed, from a list or from a typing slip, so none of them is trusted. SQLite alone
opens by path; it is given names that were looked at here, or made here.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import stat
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from gradecheck.catalogue import _

_NEEDED = (os.open, os.stat, os.link, os.rename, os.unlink, os.mkdir, os.rmdir, os.chmod)
_BY_FOLDER = os.supports_dir_fd.issuperset(_NEEDED) and hasattr(os, "O_DIRECTORY")
"""Whether this system opens names relative to a folder that is held; else they are looked at first."""
_PLAIN = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0)
_BYTES = getattr(os, "O_BINARY", 0)

_NOT_IN_A_NAME = "/\\:\0" if os.name == "nt" else "/\0"

_HELD_WHILE_OPEN = os.name == "nt"
"""Whether a file that some program has open can't be replaced; a virus scan has each new one open for a moment."""
_WAITS = (0.01, 0.05, 0.2, 0.5)
"""Seconds between the tries to replace such a file."""

LEFT_OVER = 3600.0
"""Seconds after which a file that was never finished is nobody's."""
_UNFINISHED = re.compile(r".*\.[0-9a-f]{8}\.new|\.[0-9a-f]{32}\.part", re.DOTALL)
"""Names that `unfinished` and `stage` give, and nobody else."""


def is_plain(name: str) -> bool:
    """Whether the name is that of a file in its folder on every system, with no way out of the folder."""
    return name not in ("", ".", "..") and not any(character in name for character in "/\\:\0")


class Folder:
    """A folder held open from here on, whatever its path leads to later; names in it are plain.

    Everything raises `OSError`, also for a name that is not plain.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY) if _BY_FOLDER else None

    def __enter__(self) -> Folder:
        return self

    def __exit__(self, *_: object) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def _name(self, name: str) -> str:
        """The name as the system is asked for it."""
        if name in ("", ".", "..") or any(each in name for each in _NOT_IN_A_NAME):
            raise OSError(errno.EINVAL, _("not the plain name of a file in its folder"), name)
        return name if self._handle is not None else str(self.path / name)

    def status(self, name: str) -> os.stat_result | None:
        """The status of the file of that name (of a link itself, not of its target), None if there is none."""
        try:
            return os.stat(self._name(name), dir_fd=self._handle, follow_symlinks=False)
        except FileNotFoundError:
            return None

    def names(self) -> list[str]:
        """The names of everything in the folder."""
        return os.listdir(self.path if self._handle is None else self._handle)

    def read(self, name: str) -> BinaryIO:
        """Opens the file of that name to be read; raises for a link, a pipe or a device."""
        handle = os.open(self._name(name), os.O_RDONLY | _PLAIN | _BYTES, dir_fd=self._handle)
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            os.close(handle)
            raise OSError(errno.EINVAL, _("it is not a plain file"), name)
        return os.fdopen(handle, "rb")

    def create(self, name: str, mode: int = 0o666) -> BinaryIO:
        """Creates a file of that name and opens it to be written; raises if the name is taken.

        `mode` is who may do what with it, less what the system takes away from every new file.
        """
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _PLAIN | _BYTES
        return os.fdopen(os.open(self._name(name), flags, mode, dir_fd=self._handle), "wb")

    def append(self, name: str) -> BinaryIO:
        """Opens the file of that name to be written at its end; raises where there is none, and for a link."""
        flags = os.O_WRONLY | os.O_APPEND | _PLAIN | _BYTES
        return os.fdopen(os.open(self._name(name), flags, dir_fd=self._handle), "ab")

    def allow(self, name: str, mode: int) -> None:
        """Sets who may do what with a file that was made here."""
        os.chmod(self._name(name), mode, dir_fd=self._handle)

    def rename(self, name: str, to: str) -> None:
        """Renames a file, replacing what has the new name; on Windows after a while where a program has that open."""
        source, target = self._name(name), self._name(to)
        for wait in _WAITS:
            try:
                os.replace(source, target, src_dir_fd=self._handle, dst_dir_fd=self._handle)
            except PermissionError:
                if not _HELD_WHILE_OPEN:
                    raise
                time.sleep(wait)
            else:
                return
        os.replace(source, target, src_dir_fd=self._handle, dst_dir_fd=self._handle)

    def move(self, name: str, into: str) -> None:
        """Moves a file (a link itself) into a folder within this one."""
        with Folder(self.path / into) as inner:
            os.rename(self._name(name), inner._name(name), src_dir_fd=self._handle, dst_dir_fd=inner._handle)

    def rename_if_free(self, name: str, to: str) -> None:
        """Renames a file unless the new name is taken; raises `FileExistsError` then."""
        source, target = self._name(name), self._name(to)
        try:
            # Unlike a rename, this fails when another window was quicker.
            if self._handle is None:
                os.link(source, target)
            else:
                os.link(source, target, src_dir_fd=self._handle, dst_dir_fd=self._handle, follow_symlinks=False)
        except FileExistsError:
            raise
        except (OSError, NotImplementedError):  # a stick may know no links
            if self.status(to) is not None:
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(self.path / to)) from None
            os.rename(source, target, src_dir_fd=self._handle, dst_dir_fd=self._handle)

    def remove(self, name: str) -> None:
        """Removes the file of that name, if there is one."""
        with contextlib.suppress(FileNotFoundError):
            os.unlink(self._name(name), dir_fd=self._handle)

    def make_folder(self, name: str) -> None:
        """Makes a folder within this one; raises if the name is taken."""
        os.mkdir(self._name(name), dir_fd=self._handle)

    def remove_folder(self, name: str) -> None:
        """Removes an empty folder."""
        os.rmdir(self._name(name), dir_fd=self._handle)

    def sync(self) -> None:
        """Syncs the names in the folder to disk, on systems that can."""
        if self._handle is not None:
            with contextlib.suppress(OSError):
                os.fsync(self._handle)


def write(path: Path, content: bytes, *, durable: bool = True, mode: int = 0o666) -> None:
    """Writes the file whole or not at all, replacing what has that name, also a link. Raises `OSError`."""
    with Folder(path.parent) as folder:
        temporary = stage(folder, content, durable=durable, mode=mode)
        try:
            folder.rename(temporary, path.name)
        except BaseException:
            folder.remove(temporary)
            raise
        if durable:
            folder.sync()


def stage(folder: Folder, content: bytes, *, durable: bool = True, mode: int = 0o666) -> str:
    """Writes the content to a new file with a random name, which it returns. Raises `OSError`, leaving nothing."""
    name = f".{uuid.uuid4().hex}.part"
    try:
        with folder.create(name, mode) as file:
            file.write(content)
            file.flush()
            if durable:
                os.fsync(file.fileno())
    except BaseException:
        folder.remove(name)
        raise
    return name


@contextlib.contextmanager
def made_whole(path: Path) -> Iterator[Path]:
    """Gives a temporary path to write to; at the end the file is renamed to `path`, unless that is taken."""
    new = unfinished(path)
    with Folder(path.parent) as folder:
        try:
            yield new
            folder.rename_if_free(new.name, path.name)
        finally:
            folder.remove(new.name)
            folder.sync()


def unfinished(path: Path) -> Path:
    """A temporary path beside that one, with a random part, for a file that is not finished."""
    return path.with_name(f"{path.name}.{uuid.uuid4().hex[:8]}.new")


def put(new: Path, to: Path) -> None:
    """Renames a finished file within its folder, replacing what has the name. Raises `OSError`."""
    with Folder(to.parent) as folder:
        try:
            folder.rename(new.name, to.name)
        except BaseException:
            folder.remove(new.name)
            raise
        folder.sync()


def remove(path: Path) -> None:
    """Removes the file, if there is one. Raises `OSError`."""
    with contextlib.suppress(FileNotFoundError), Folder(path.parent) as folder:
        folder.remove(path.name)


def sync_folder(path: Path) -> None:
    """Has the names in a folder on disk as well, on systems that can be asked to."""
    with contextlib.suppress(OSError), Folder(path) as folder:
        folder.sync()


def make_folders(path: Path) -> list[Path]:
    """Makes the folder and the missing ones above it, and returns those it made, the uppermost first.

    Raises `OSError`, and then makes none of them.
    """
    made: list[Path] = []
    try:
        for each in reversed((path, *path.parents)):
            if not os.path.isdir(each):
                with Folder(each.parent) as above:
                    above.make_folder(each.name)
                made.append(each)
    except BaseException:
        remove_folders(made)
        raise
    return made


def remove_folders(made: list[Path]) -> None:
    """Removes those folders again if they are empty, the lowest first."""
    for each in reversed(made):
        with contextlib.suppress(OSError), Folder(each.parent) as above:
            above.remove_folder(each.name)


def clear_folder(path: Path) -> None:
    """Removes the plain files of a folder that was made here, and the folder; what can't be removed stays."""
    with contextlib.suppress(OSError):
        with Folder(path) as folder:
            for name in folder.names():
                folder.remove(name)
        with Folder(path.parent) as above:
            above.remove_folder(path.name)


def clear_tree(path: Path) -> None:
    """Removes a folder that was made here, with all that is in it; what can't be removed stays."""
    from shutil import rmtree  # hardly ever needed

    rmtree(path, ignore_errors=True)


def sweep(path: Path, beginning: str = "") -> None:
    """Removes half-written files that a killed program left in that folder under names that begin so.

    Without a beginning, those whose names `unfinished` or `stage` gave.
    """
    with contextlib.suppress(OSError), Folder(path) as folder:
        for name in folder.names():
            ours = name.startswith(beginning) and name.endswith(".new") if beginning else _UNFINISHED.fullmatch(name)
            if ours:
                with contextlib.suppress(OSError):
                    found = folder.status(name)
                    if found is not None and time.time() - found.st_mtime > LEFT_OVER:
                        folder.remove(name)


def write_private(path: Path, content: bytes) -> None:
    """Writes a new file that nobody else may read. Raises `OSError`, also where the name is taken."""
    with Folder(path.parent) as folder, folder.create(path.name, 0o600) as file:
        file.write(content)


def append(path: Path, content: bytes) -> None:
    """Writes behind the end of a file that is there. Raises `OSError`."""
    with Folder(path.parent) as folder, folder.append(path.name) as file:
        file.write(content)


def give_to(path: Path, user: str) -> None:
    """Makes what is there another user's of this system, which only root may. Raises `OSError` and `LookupError`."""
    from shutil import chown  # hardly ever needed

    chown(path, user)


def nameless() -> BinaryIO:
    """A file without a name, to be written and read; it is gone once it is closed. Raises `OSError`."""
    from tempfile import TemporaryFile

    return TemporaryFile()


def private_folder() -> Path:
    """A new folder that nobody else may look into, for copies; `clear_folder` takes it away. Raises `OSError`."""
    from tempfile import mkdtemp  # hardly ever needed

    return Path(mkdtemp(prefix="gradecheck-"))
