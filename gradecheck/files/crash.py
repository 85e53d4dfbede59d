"""What is said when the program itself fails: one sentence, how much is saved, and a file for a developer."""

from __future__ import annotations

import contextlib
import os
import traceback
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.journal.errors import JournalError
from gradecheck.journal.recovery.health import readings_in
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.places import make_folders, remove, write
from gradecheck.system import settings, trail
from gradecheck.system.trail import without_password
from gradecheck.system.versions import versions

CODE = 3
"""The exit code of a program that failed."""
REPORTS = "crashes"
"""The folder of reports, in that of the settings."""
KEPT = 20
"""Reports; the older ones are taken away."""
LONGEST = 200
"""Characters of what an exception says; it may have words of the job in it."""


def tell(wrong: BaseException, places: Iterable[Path]) -> str:
    """One sentence for the person; the details go to a file. `places` are where the journal may lie."""
    trail.note("failed", kind=type(wrong).__name__)
    return _("gradecheck failed and had to end. {saved} {kept}", saved=_saved(places), kept=_kept(wrong))


def _saved(places: Iterable[Path]) -> str:
    for place in places:
        path = (place if place.is_dir() else place.parent) / JOURNAL_NAME
        with contextlib.suppress(JournalError, OSError, ValueError):
            if path.is_file():
                return plural(
                    readings_in(path), "{n} reading on this job is saved.", "{n} readings on this job are saved."
                )
    return _("Everything marked saved is saved.")


def _kept(wrong: BaseException) -> str:
    at = datetime.now().astimezone()
    path = folder() / f"{at:%Y-%m-%d %H.%M.%S}.{os.getpid()}.txt"
    content = [f"{at.isoformat(timespec='seconds')}", versions(), *_lines(wrong), "", *_liked()]
    try:
        make_folders(path.parent)
        write(path, ("\n".join(content) + "\n").encode("utf-8", "backslashreplace"))
        for old in reports()[KEPT:]:
            remove(old)
    except OSError:
        return _("No details could be kept ({name}).", name=type(wrong).__name__)
    return _("The details are in {path}.", path=path)


def folder() -> Path:
    """Where the reports lie."""
    return settings.folder() / REPORTS


def reports() -> list[Path]:
    """All reports that are kept, the newest first."""
    try:
        return sorted(folder().glob("*.txt"), reverse=True)
    except OSError:
        return []


def _liked() -> Iterator[str]:
    """What counts here, and where it came from; nothing that was typed, and no password."""
    try:
        liked = settings.read_settings()
    except Exception as wrong:  # noqa: BLE001 - it may be what failed
        yield f"settings: {type(wrong).__name__}"
        return
    for key, known in settings.KEYS.items():
        yield f"{key} = {without_password(str(getattr(liked, known.field)))} ({liked.came.get(key, 'default')})"
    yield f"keys = {dict(liked.keys)}"
    yield from map(without_password, liked.faults)


def _lines(wrong: BaseException) -> Iterator[str]:
    """Which exceptions came out of which lines; no values of variables, and of what they say only the beginning."""
    seen: BaseException | None = wrong
    while seen is not None:
        said = without_password(str(seen))[:LONGEST].encode("unicode_escape").decode("ascii")
        yield f"{type(seen).__name__}: {said}"
        for frame in reversed(traceback.extract_tb(seen.__traceback__)):
            yield f"  {frame.filename}:{frame.lineno} {frame.name}"
        within = getattr(seen, "error", None)  # so a worker tells what ended it
        seen = within if isinstance(within, BaseException) else seen.__cause__ or seen.__context__
