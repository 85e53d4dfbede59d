"""What can be wrong with a journal as a whole, and why a file could not be opened, read or written, in site words."""

from __future__ import annotations

import errno
import os
import sqlite3
from pathlib import Path

from gradecheck.catalogue import _

VIEW_ONLY = _("view only, cannot record here")
LITTLE = 64 * 1024
"""Bytes free, below which a file that can't be made is put down to the disk being full."""

_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}
_FORBIDDEN = {errno.EROFS, errno.EACCES, errno.EPERM}


class JournalError(Exception):
    """The journal can't be used; the message is one sentence that says why and what to do."""


class OtherFormatError(JournalError):
    """The journal is of another format than this program can use, and for all it knows a good one."""


def reason(wrong: Exception, path: Path) -> str:
    """What happened to the file there, as the end of a sentence."""
    if isinstance(wrong, MemoryError):
        # A damaged length may ask for more than there is.
        return _("a part of it would not fit into memory; “gradecheck verify” says what is sound.")
    if is_no_text(wrong):
        return _("text in it is damaged; “gradecheck verify” says in which entry.")
    if isinstance(wrong, OSError):
        return _of_the_system(wrong, path)
    return _of_sqlite(wrong, path)


def view_only(path: Path) -> str:
    """Why nothing can be recorded in the journal there; empty where the system says that it can."""
    only = only_readable(path)
    return f"{VIEW_ONLY}: {only}." if only else ""


def only_readable(path: Path) -> str:
    """What the system does not let be written there, the folder or the file; empty where it lets both."""
    effective = os.access in os.supports_effective_ids
    for place, what in ((path.parent, _("the folder {parent}", parent=path.parent)), (path, str(path))):
        if place.exists() and not os.access(place, os.W_OK, effective_ids=effective):
            return _("{what} may only be read", what=what)
    return ""


def not_opened(path: Path) -> str:
    """Why a journal can't even be opened."""
    if not os.path.lexists(path):
        return _("it is not there any more; put the folder or the stick back, then try again.")
    if not path.is_file():
        return _("it is no file; it was left as it is.")
    return _("it may not be read here; it was left as it is.")


def is_busy(wrong: sqlite3.Error) -> bool:
    """Whether another connection was in the way; then nothing was written."""
    return _name(wrong).startswith(("SQLITE_BUSY", "SQLITE_LOCKED"))


def is_no_text(wrong: Exception) -> bool:
    """Whether bytes that should be text are none: SQLite says so in words alone."""
    return isinstance(wrong, UnicodeDecodeError) or str(wrong).startswith("Could not decode")


def _name(wrong: Exception) -> str:
    return getattr(wrong, "sqlite_errorname", "") or ""


def _of_sqlite(wrong: Exception, path: Path) -> str:
    name = _name(wrong)
    if name.startswith("SQLITE_FULL"):
        return _full(path)
    if isinstance(wrong, sqlite3.Error) and is_busy(wrong):
        return _("another program holds the journal.")
    if name.startswith("SQLITE_CONSTRAINT"):
        return _("another window struck or replaced that entry first.")
    if name.startswith("SQLITE_READONLY_DBMOVED"):
        return _("the journal is no longer where it was.")
    if name.startswith("SQLITE_READONLY"):
        return view_only(path) or _("{view_only}: the journal may only be read.", view_only=VIEW_ONLY)
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return _("the journal is damaged ({wrong}); “gradecheck verify” says what is sound.", wrong=wrong)
    if name.startswith("SQLITE_CANTOPEN"):  # the file beside it, by which a write can be taken back
        return _no_new_file(path)
    return _("the disk reports {wrong}.", wrong=wrong)


def _of_the_system(wrong: OSError, path: Path) -> str:
    if wrong.errno in _FULL:
        return _full(path)
    if wrong.errno in _FORBIDDEN:
        return view_only(path) or _(
            "{view_only}: nothing may be written into {parent}.", view_only=VIEW_ONLY, parent=path.parent
        )
    return _("the disk reports {reason}.", reason=(wrong.strerror or str(wrong)).lower())


def _no_new_file(path: Path) -> str:
    free = _free(path)
    if forbidden := view_only(path):
        return forbidden
    if free is not None and free < LITTLE:
        return _full(path)
    return _("no file can be made in {parent}.", parent=path.parent)


def _full(path: Path) -> str:
    free = _free(path)
    return _("the disk is full.") if free is None else _("the disk is full, {size} free.", size=_size(free))


def _free(path: Path) -> int | None:
    from shutil import disk_usage  # only ever needed when something went wrong

    try:
        return disk_usage(path.parent).free
    except OSError:
        return None


def _size(free: int) -> str:
    for size, unit in ((10**9, "GB"), (10**6, "MB"), (10**3, "kB")):
        if free >= size:
            return f"{free / size:.1f} {unit}"
    return _("{free} bytes", free=free)
