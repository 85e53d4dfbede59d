"""A disk that remembers every call, and what it may hold if the power goes behind any of them."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from tests.faults.disk import Disk

SECTOR = 512
"""Bytes that reach a disk together or not at all."""


@dataclass(frozen=True, slots=True)
class Call:
    """One call, the file it was for, and what it was about."""

    what: str
    path: str
    data: bytes = b""
    number: int = 0
    also: str = ""


class Recorder(Disk):
    """Does everything as asked and keeps a list of it; `say` puts into the list what a person was told."""

    def __init__(self) -> None:
        self.calls: list[Call] = []

    def say(self, what: str) -> None:
        """Notes that somebody was told this."""
        self.calls.append(Call("said", what))

    def create(self, path: str, *, journal: bool) -> None:
        self.calls.append(Call("create", path, number=journal))

    def write(self, path: str, data: bytes, offset: int, run: Callable[[bytes, int], None]) -> None:
        self.calls.append(Call("write", path, data, offset))
        run(data, offset)

    def truncate(self, path: str, size: int, run: Callable[[int], None]) -> None:
        self.calls.append(Call("truncate", path, number=size))
        run(size)

    def sync(self, path: str) -> None:
        self.calls.append(Call("sync", path))

    def delete(self, path: str, run: Callable[[], None], *, synced: bool) -> None:
        self.calls.append(Call("delete" if synced else "unlink", path))
        run()

    def link(self, path: str, also: str, run: Callable[[], None]) -> None:
        self.calls.append(Call("link", path, also=also))
        run()

    def rename(self, path: str, to: str, run: Callable[[], None]) -> None:
        self.calls += (Call("link", path, also=to), Call("unlink", path))
        run()

    def unlink(self, path: str, run: Callable[[], None]) -> None:
        self.calls.append(Call("unlink", path))
        run()

    def sync_folder(self) -> None:
        self.calls.append(Call("sync folder", ""))


@dataclass(slots=True)
class _File:
    durable: bytearray = field(default_factory=bytearray)
    unsynced: list[Call] = field(default_factory=list)
    new_journal: bool = False


class Powerless:
    """What is certain to be on the disk behind a list of calls, and what only may be.

    A file's content is certain once that file was synced. Its name is certain once the folder was: when that is asked
    for, at the first sync of a journal just made, and when a journal is deleted, because SQLite then syncs it too.
    """

    def __init__(self, before: dict[str, bytes], calls: Iterable[Call]) -> None:
        files = {path: _File(bytearray(content)) for path, content in before.items()}
        self._certain = dict(files)
        self._named: list[tuple[str, _File | None]] = []
        self._now = files
        for call in calls:
            self._do(call)

    def _do(self, call: Call) -> None:
        match call.what:
            case "create":
                self._name(call.path, _File(new_journal=bool(call.number)))
            case "write" | "truncate":
                self._now[call.path].unsynced.append(call)
            case "sync":
                self._sync(self._now[call.path])
            case "link":
                self._name(call.also, self._now[call.path])
            case "unlink":
                self._name(call.path, None)
            case "delete":
                self._name(call.path, None)
                self._sync_folder()
            case "sync folder":
                self._sync_folder()

    def _name(self, path: str, file: _File | None) -> None:
        self._named.append((path, file))
        _name(self._now, path, file)

    def _sync(self, file: _File) -> None:
        for call in file.unsynced:
            _put(file.durable, call, lambda: True)
        file.unsynced.clear()
        if file.new_journal:
            file.new_journal = False
            self._sync_folder()

    def _sync_folder(self) -> None:
        for path, file in self._named:
            _name(self._certain, path, file)
        self._named.clear()

    def after(self, draw: random.Random) -> dict[str, bytes]:
        """What may be found when the power is back: of all that was not synced each sector is there or not."""
        chance = draw.choice((0.0, 0.5, 0.5, 1.0, draw.random()))

        def kept() -> bool:
            return draw.random() < chance

        names = dict(self._certain)
        for path, file in self._named:
            if kept():
                _name(names, path, file)
        found = {}
        for path, file in names.items():
            content = bytearray(file.durable)
            for call in file.unsynced:
                _put(content, call, kept)
            found[path] = bytes(content)
        return found


def _name(names: dict[str, _File], path: str, file: _File | None) -> None:
    if file is None:
        names.pop(path, None)
    else:
        names[path] = file


def _put(content: bytearray, call: Call, kept: Callable[[], bool]) -> None:
    if call.what == "truncate":
        if kept():
            del content[call.number :]
            content.extend(bytes(call.number - len(content)))
        return
    at = 0
    while at < len(call.data):
        # The first and last piece may be parts of a sector.
        place = call.number + at
        until = min(len(call.data), at + SECTOR - place % SECTOR)
        if kept():
            content.extend(bytes(max(0, place - len(content))))
            content[place : place + until - at] = call.data[at:until]
        at = until


def files_in(folder: Path) -> dict[str, bytes]:
    """Everything in a folder."""
    return {str(each): each.read_bytes() for each in folder.iterdir()}


def put_back(folder: Path, files: dict[str, bytes]) -> None:
    """Makes the folder hold these files and nothing else; only their names count, not where they lay."""
    for each in folder.iterdir():
        each.unlink()
    for path, content in files.items():
        (folder / Path(path).name).write_bytes(content)
