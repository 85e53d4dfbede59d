"""Where a journal should be and is none: nothing new is begun beside what is left of one that was there."""

from __future__ import annotations

import contextlib
import os
import re
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.journal.recovery.side_files import SIDES, BesideError
from gradecheck.places import Folder
from gradecheck.system.settings import made_here

_OF_A_COPY = r"\.backup-[0-9a-z-]+"
"""What stands in a copy's name between that of its log and the ending."""


def refuse_to_begin(path: Path) -> str:
    """Raises `BesideError` where copies of a journal, or files that belong to one, lie in the folder without it.

    Else returns what is to be told: that this laptop had one there, which is gone with all its copies.
    """
    names: list[str] = []
    with contextlib.suppress(OSError), Folder(path.parent) as folder:
        names = folder.names()
    if os.path.lexists(path):
        return ""  # another window made it just now
    copy = re.compile(rf"{re.escape(path.stem)}{_OF_A_COPY}{re.escape(path.suffix)}")
    copies = sorted(filter(copy.fullmatch, names))
    sides = [name for end in SIDES if (name := f"{path.name}{end}") in names]
    if copies:
        entries, best = max((_entries(path.with_name(name)), name) for name in copies)
        held = (
            _("{best}, a copy up to entry {entries},", best=best, entries=entries)
            if entries
            else _(" and ").join(copies)
        )
        raise BesideError(
            _(
                "There is no {name} in {parent}, but {held} is there; nothing new was begun. Put {name} back, or "
                "give a copy of {best} that name.",
                name=path.name,
                parent=path.parent,
                held=held,
                best=best,
            )
        )
    if sides:
        raise BesideError(
            plural(
                len(sides),
                "There is no {name} in {parent}, but {sides} is there; nothing new was begun. Put {name} back, or "
                "move that file out of the folder.",
                "There is no {name} in {parent}, but {sides} are there; nothing new was begun. Put {name} back, or "
                "move those files out of the folder.",
                name=path.name,
                parent=path.parent,
                sides=_(" and ").join(sides),
            )
        )
    if made_here(path.parent):
        return _(
            "The log that was kept in {parent} is gone: put {name} back, or a new one begins.",
            parent=path.parent,
            name=path.name,
        )
    return ""


def is_of_a_log(name: str) -> bool:
    """Whether a file of that name would be taken for a copy of a log, or for what SQLite keeps beside one."""
    return name.endswith(SIDES) or re.fullmatch(rf".+{_OF_A_COPY}\.db", name, re.IGNORECASE) is not None


def _entries(copy: Path) -> int:
    """How many entries of a copy hold, from the first on."""
    from gradecheck.journal.errors import JournalError
    from gradecheck.journal.recovery.remains import remains  # hardly ever needed

    try:
        return len(remains(copy).beginning)
    except JournalError:
        return 0
