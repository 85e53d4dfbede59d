"""Plans already read, cached under the hash of their text; deleting the cache changes nothing.

What a plan says itself is in the language it was read in, so each has its own. Each file carries a hash of its
content; where that does not fit, the job file is read again.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from gradecheck import __version__
from gradecheck.catalogue import language
from gradecheck.codec import CodecError, decode, encode
from gradecheck.places import make_folders, remove, sweep, write
from gradecheck.plan.model import Plan
from gradecheck.sealed import seal, unseal

_SHAPE = 12
"""Goes up when the plan's own shape changes, or what a text may say, between versions."""
_KEPT = 64
"""Files; more jobs than one crew has open, and no more disk than a photograph."""


def folder() -> Path:
    """Where the cache lies; ``GRADECHECK_CACHE`` names another place."""
    if named := os.environ.get("GRADECHECK_CACHE"):
        return Path(named)
    from platformdirs import user_cache_path

    return user_cache_path("gradecheck", appauthor=False)


def recall(digest: str) -> Plan | None:
    """The plan whose text has that hash, if this version of the program read it before."""
    try:
        kept = unseal(_path(digest).read_bytes(), _name(digest))
        return decode(Plan, kept.decode()) if kept is not None else None
    except (OSError, UnicodeDecodeError, CodecError):
        return None


def remember(digest: str, plan: Plan) -> None:
    """Keeps the plan for the next start; where it can't be kept, the next start reads the job file again."""
    with contextlib.suppress(OSError):
        make_folders(folder())
        sweep(folder())
        write(_path(digest), seal(encode(plan).encode(), _name(digest)), durable=False)
        oldest_first = sorted(folder().glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in oldest_first[:-_KEPT]:
            remove(path)


def _path(digest: str) -> Path:
    return folder() / f"{_name(digest)}.json"


def _name(digest: str) -> str:
    return f"{__version__}-{_SHAPE}-{language()}-{digest}"
