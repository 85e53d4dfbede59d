"""What lies at a journal's name and beside it, looked at as plain files: SQLite would obey what it finds there.

A rollback journal is played back into the file, and deletes whatever it names at its end as its super-journal; a
write-ahead log is taken for newer than the file. None of that is asked of SQLite before it was looked at here. The
formats are those of sqlite.org/fileformat2.html, sections 3 and 4.
"""

from __future__ import annotations

import os
import stat
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.journal.errors import JournalError
from gradecheck.places import Folder

try:
    import fcntl
except ImportError:  # there nobody can be seen to write
    fcntl = None  # type: ignore[assignment]

ROLLBACK, LOG, INDEX = "-journal", "-wal", "-shm"
SIDES = (ROLLBACK, LOG, INDEX)
"""How the names of the files end that SQLite looks for beside its own."""

_BEGINS = bytes.fromhex("d9d505f920a163d7")
"""How a rollback journal begins, and what a super-journal's name is followed by at its end."""
_HEAD = 28
_LOCKS, _LOCK_BYTES = 0x40000000, 512
"""Where SQLite locks its file: the byte of those who wait, of the one who writes, and those of all who read."""
_NEW = ".new"

Identity = tuple[int, int]
"""A file's device and number, by which it is known whatever its name."""


class BesideError(JournalError):
    """Something at the journal's name or beside it keeps it from being opened; all was left as it is."""


@dataclass(frozen=True, slots=True)
class FoundJournal:
    """A plain file at the journal's name, what lies beside it, and what is wrong with a rollback journal there."""

    path: Path
    names: int
    """Under how many names the file is to be had."""
    page_size: int
    """Bytes, as its head says; 0 where that can't be told."""
    in_log_mode: bool
    """Whether its head says that changes are to go into a write-ahead log."""
    beside: tuple[str, ...]
    rollback: str
    """What is wrong with the rollback journal; empty where there is none, or nothing is."""
    live: bool
    """Whether somebody is writing at this moment."""
    unfinished: tuple[str, ...] = ()
    """Its other names in the folder, under which it was made by a program that was killed then."""

    @property
    def name(self) -> str:
        """The journal's own name."""
        return self.path.name

    def refuse(self) -> None:
        """Raises `BesideError` where SQLite must not see what lies beside."""
        _refuse(self.path, [end for end in self.beside if end != ROLLBACK], self.rollback)


def look(path: Path) -> FoundJournal | None:
    """What is there, None where nothing has that name. Raises `BesideError` for a link and for what is no file."""
    try:
        with Folder(path.parent) as folder:
            status = folder.status(path.name)
            if status is None:
                return None
            refuse_no_file(path, status.st_mode)
            beside = tuple(end for end in SIDES if folder.status(f"{path.name}{end}") is not None)
            if in_use((status.st_dev, status.st_ino)):
                # It was looked at when it was opened, and to close it once more would let go of all locks on it.
                size = _page_sizes[(status.st_dev, status.st_ino)]
                fault = _rollback_fault(folder, path.name, size) if ROLLBACK in beside else ""
                return FoundJournal(path, 1, size, False, beside, fault, live=True)
            head, live = _head(folder, path.name, locked=ROLLBACK in beside)
            if ROLLBACK in beside and not live:  # it may have been written to its end meanwhile
                beside = tuple(end for end in SIDES if folder.status(f"{path.name}{end}") is not None)
            size = _page_size(head)
            fault = _rollback_fault(folder, path.name, size) if ROLLBACK in beside else ""
            unfinished = _unfinished(folder, path.name, status) if status.st_nlink > 1 else ()
    except JournalError:
        raise
    except FileNotFoundError:  # the folder went with its stick
        return None
    except OSError as wrong:
        why = (wrong.strerror or str(wrong)).lower()
        raise BesideError(
            _("The journal {path} can't be opened ({why}); it was left as it is.", path=path, why=why)
        ) from wrong
    names = status.st_nlink - len(unfinished)
    return FoundJournal(path, names, size, head[19:20] == b"\2", beside, fault, live, unfinished)


def check(path: Path, page_size: int) -> None:
    """The short look, before each time that SQLite is asked: raises `BesideError` for what it must not see."""
    name = str(path)
    there = [end for end in SIDES if _lies(f"{name}{end}")]
    if not there:
        return
    try:
        with Folder(path.parent) as folder:
            fault = _rollback_fault(folder, path.name, page_size) if ROLLBACK in there else ""
    except FileNotFoundError:
        fault = ""  # another window's, which is written to its end by now
    except OSError as wrong:
        fault = _("can't be read ({reason})", reason=(wrong.strerror or str(wrong)).lower())
    _refuse(path, [end for end in there if end != ROLLBACK and _lies(f"{name}{end}")], fault)


def names_of(path: Path) -> int:
    """Under how many names the file there is to be had, but for those under which it was made; 0 where it is gone."""
    try:
        status = path.lstat()
        if status.st_nlink <= 1:
            return status.st_nlink
        with Folder(path.parent) as folder:
            unfinished = len(_unfinished(folder, path.name, status))
        return min(status.st_nlink - unfinished, path.lstat().st_nlink)  # one of them may go meanwhile
    except OSError:
        return 0


def _lies(name: str) -> bool:
    try:
        os.lstat(name)
    except OSError:
        return False
    return True


def refuse_no_file(path: Path, mode: int) -> None:
    """Raises `BesideError` where that is the mode of a link, or of anything else that is no plain file."""
    if stat.S_ISLNK(mode):
        raise BesideError(
            _(
                "{path} is no file but a link to another place; it was left as it is. Put the journal itself there.",
                path=path,
            )
        )
    if not stat.S_ISREG(mode):
        raise BesideError(_("The journal {path} can't be opened: it is no file; it was left as it is.", path=path))


def _refuse(path: Path, logs: list[str], fault: str) -> None:
    wrong = [_("{name}{end} is not gradecheck's", name=path.name, end=end) for end in logs]
    if fault:
        wrong.append(f"{path.name}{ROLLBACK} {fault}")
    if wrong:
        raise BesideError(
            plural(
                len(wrong),
                "The journal {path} was not opened, because {wrong}; all was left as it is. Move that file out of "
                "the folder, then open the job again.",
                "The journal {path} was not opened, because {wrong}; all was left as it is. Move those files out of "
                "the folder, then open the job again.",
                path=path,
                wrong=_(" and ").join(wrong),
            )
        )


def _rollback_fault(folder: Folder, name: str, page_size: int) -> str:
    """What is wrong with the rollback journal there; torn ends are not, power cuts leave them."""
    name = f"{name}{ROLLBACK}"
    status = folder.status(name)
    if status is None:
        return ""
    if not stat.S_ISREG(status.st_mode):
        return _("is not a plain file")
    try:
        with folder.read(name) as file:
            head = file.read(_HEAD)
            size = file.seek(0, os.SEEK_END)
            file.seek(max(0, size - len(_BEGINS)))
            tail = file.read(len(_BEGINS))
    except FileNotFoundError:
        return ""
    if size > _HEAD and tail == _BEGINS:
        return _("names another file that it would delete")
    if not head or head[0] == 0:
        return ""  # not begun, or taken back: SQLite passes over it
    if head[:8] != _BEGINS:
        return _("is no rollback journal")
    if page_size and len(head) == _HEAD and int.from_bytes(head[24:28], "big") != page_size:
        return _("belongs to another file")
    return ""


def _head(folder: Folder, name: str, *, locked: bool) -> tuple[bytes, bool]:
    """The first 100 bytes, and where that is asked whether somebody writes; no connection may be open to it here."""
    with folder.read(name) as file:
        live = False
        if locked and fcntl is not None:
            try:
                fcntl.lockf(file, fcntl.LOCK_SH | fcntl.LOCK_NB, _LOCK_BYTES, _LOCKS)
            except OSError:
                live = True
        return file.read(100), live


def _page_size(head: bytes) -> int:
    size = int.from_bytes(head[16:18], "big")
    size = 65536 if size == 1 else size
    return size if head[:16] == b"SQLite format 3\0" and size >= 512 and size & (size - 1) == 0 else 0


def _unfinished(folder: Folder, name: str, status: os.stat_result) -> tuple[str, ...]:
    """The file's names that are those under which it was made, left by a program that was killed then."""
    found = []
    for other in folder.names():
        if other.startswith(f"{name}.") and other.endswith(_NEW):
            there = folder.status(other)
            if there is not None and (there.st_dev, there.st_ino) == (status.st_dev, status.st_ino):
                found.append(other)
    return tuple(found)


# -- what this process has open itself

_open: Counter[Identity] = Counter()
_page_sizes: dict[Identity, int] = {}


def in_use(which: Identity) -> bool:
    """Whether this process has a connection to that file."""
    return _open[which] > 0


def taken_up(path: Path, page_size: int) -> Identity:
    """Notes that a connection to the file is open here; returns what `let_go` wants to hear."""
    status = os.stat(path)
    which = status.st_dev, status.st_ino
    _open[which] += 1
    _page_sizes[which] = page_size
    return which


def let_go(which: Identity) -> None:
    """Notes that it is closed."""
    _open[which] -= 1
    if _open[which] <= 0:
        del _open[which]
        _page_sizes.pop(which, None)
