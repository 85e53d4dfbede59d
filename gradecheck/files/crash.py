"""What is said when the program itself fails: one sentence, how much is saved, and a file for a developer."""

from __future__ import annotations

import contextlib
import traceback
from collections.abc import Iterable, Iterator
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.journal.errors import JournalError
from gradecheck.journal.recovery.health import readings_in
from gradecheck.journal.store import FILE_NAME
from gradecheck.places import make_folders, write
from gradecheck.system import settings
from gradecheck.system.versions import versions

CODE = 3
"""The exit code of a program that failed."""
DETAILS = "failed.txt"
LONGEST = 200
"""Characters of what an exception says; it may have words of the job in it."""


def tell(wrong: BaseException, places: Iterable[Path]) -> str:
    """One sentence for the person; the details go to a file. `places` are where the journal may lie."""
    return _("gradecheck failed and had to end. {saved} {kept}", saved=_saved(places), kept=_kept(wrong))


def _saved(places: Iterable[Path]) -> str:
    for place in places:
        path = (place if place.is_dir() else place.parent) / FILE_NAME
        with contextlib.suppress(JournalError, OSError, ValueError):
            if path.is_file():
                return plural(
                    readings_in(path), "{n} reading on this job is saved.", "{n} readings on this job are saved."
                )
    return _("Everything marked saved is saved.")


def _kept(wrong: BaseException) -> str:
    path = settings.folder() / DETAILS
    try:
        make_folders(path.parent)
        write(path, ("\n".join([versions(), *_lines(wrong)]) + "\n").encode())
    except OSError:
        return _("No details could be kept ({name}).", name=type(wrong).__name__)
    return _("The details are in {path}.", path=path)


def _lines(wrong: BaseException) -> Iterator[str]:
    """Which exceptions came out of which lines; no values of variables, and of what they say only the beginning."""
    seen: BaseException | None = wrong
    while seen is not None:
        said = str(seen)[:LONGEST].encode("unicode_escape").decode("ascii")
        yield f"{type(seen).__name__}: {said}"
        for frame in reversed(traceback.extract_tb(seen.__traceback__)):
            yield f"  {frame.filename}:{frame.lineno} {frame.name}"
        within = getattr(seen, "error", None)  # so a worker tells what ended it
        seen = within if isinstance(within, BaseException) else seen.__cause__ or seen.__context__
