"""A disk that is told of every call before it happens, and may do it otherwise or not at all."""

from __future__ import annotations

import contextlib
import itertools
import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import apsw
import pytest

from tests.faults.door import led_through

_number = itertools.count()


class Disk:
    """Does everything as asked, but for syncs: nothing here outlives a real power cut. Others go without."""

    def create(self, path: str, *, journal: bool) -> None:
        """A file that was not there is about to be made; `journal` when it is SQLite's own."""

    def write(self, path: str, data: bytes, offset: int, run: Callable[[bytes, int], None]) -> None:
        """Some bytes are to be written."""
        run(data, offset)

    def truncate(self, path: str, size: int, run: Callable[[int], None]) -> None:
        """The file is to have that size."""
        run(size)

    def sync(self, path: str) -> None:
        """All that was written to the file is to be made durable."""

    def delete(self, path: str, run: Callable[[], None], *, synced: bool) -> None:
        """The file is to be deleted, and where `synced` the folder made durable then."""
        run()

    def link(self, path: str, also: str, run: Callable[[], None]) -> None:
        """The file is to have another name as well, not yet durable."""
        run()

    def rename(self, path: str, to: str, run: Callable[[], None]) -> None:
        """The file is to have another name, not yet durable."""
        run()

    def unlink(self, path: str, run: Callable[[], None]) -> None:
        """The file is to lose that name, not yet durably."""
        run()

    def sync_folder(self) -> None:
        """All names in the folder are to be made durable; there is but one folder."""


@contextlib.contextmanager
def in_use(disk: Disk) -> Iterator[None]:
    """While it lasts, all that the journal does to files goes by that disk."""
    vfs = _Vfs(f"disk {next(_number)}", disk)
    link, rename, unlink, fsync = os.link, os.rename, os.unlink, os.fsync

    def linked(source: str, target: str, **where: Any) -> None:
        place = where.get("src_dir_fd")
        disk.link(_whole(source, place), _whole(target, place), lambda: link(source, target, **where))

    def renamed(source: str, target: str, **where: Any) -> None:
        place = where.get("src_dir_fd")
        disk.rename(_whole(source, place), _whole(target, place), lambda: rename(source, target, **where))

    def unlinked(path: str, *, dir_fd: int | None = None) -> None:
        disk.unlink(_whole(path, dir_fd), lambda: unlink(path, dir_fd=dir_fd))

    def synced(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            disk.sync_folder()
        else:
            fsync(handle)

    try:
        with led_through(vfs.name), pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "link", linked)
            patch.setattr(os, "rename", renamed)
            patch.setattr(os, "unlink", unlinked)
            patch.setattr(os, "fsync", synced)
            yield
    finally:
        vfs.unregister()


def _whole(name: str | Path, folder: int | None) -> str:
    """The whole path of a name in a folder that is held open."""
    return str(name) if folder is None else os.path.join(os.readlink(f"/proc/self/fd/{folder}"), name)


class _Vfs(apsw.VFS):
    def __init__(self, name: str, disk: Disk) -> None:
        self.name = name
        self._disk = disk
        super().__init__(name, "unix")

    def xOpen(self, name: str | apsw.URIFilename | None, flags: list[int]) -> apsw.VFSFile:  # noqa: N802
        path = "" if name is None else str(name) if isinstance(name, str) else name.filename()
        if path and flags[0] & apsw.SQLITE_OPEN_CREATE and not os.path.exists(path):
            self._disk.create(path, journal=bool(flags[0] & apsw.SQLITE_OPEN_MAIN_JOURNAL))
        return _File(name, flags, path, self._disk)

    def xDelete(self, filename: str, syncdir: bool) -> None:  # noqa: N802
        self._disk.delete(filename, lambda: super(_Vfs, self).xDelete(filename, False), synced=bool(syncdir))


class _File(apsw.VFSFile):
    def __init__(self, name: str | apsw.URIFilename | None, flags: list[int], path: str, disk: Disk) -> None:
        self._path = path
        self._disk = disk
        super().__init__("unix", name, flags)

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802
        self._disk.write(self._path, bytes(data), offset, super().xWrite)

    def xTruncate(self, newsize: int) -> None:  # noqa: N802
        self._disk.truncate(self._path, newsize, super().xTruncate)

    def xSync(self, flags: int) -> None:  # noqa: N802
        self._disk.sync(self._path)
