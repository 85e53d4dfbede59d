"""What this laptop knows about itself, outside any job."""

from __future__ import annotations

import contextlib
import hashlib
import os
import uuid
from pathlib import Path

from gradecheck.places import make_folders, remove, write
from gradecheck.sealed import seal, unseal

LAPTOP = "laptop"
"""The file with this laptop's id."""


def folder() -> Path:
    """Where it is kept; ``GRADECHECK_SETTINGS`` names another place."""
    if named := os.environ.get("GRADECHECK_SETTINGS"):
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("gradecheck", appauthor=False)


def made_here(job: Path) -> bool:
    """Whether this laptop made the journal in that folder, or saved into it since."""
    with contextlib.suppress(OSError, ValueError):
        return _mark(job).read_text(encoding="ascii") == _which(job)
    return False


def remember(job: Path) -> None:
    """Notes that this laptop makes the journal in that folder; where it can't, the folder stays a stranger's."""
    with contextlib.suppress(OSError, ValueError):
        mark = _mark(job)
        make_folders(mark.parent)
        write(mark, _which(job).encode(), durable=False)


def forget(job: Path) -> None:
    """Notes that a job begins anew in that folder."""
    with contextlib.suppress(OSError, ValueError):
        remove(_mark(job))


def _mark(job: Path) -> Path:
    name = hashlib.sha256(os.path.realpath(job).encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return folder() / "jobs" / name


def _which(job: Path) -> str:
    """The folder itself, whatever has its name later."""
    status = os.stat(job)
    return f"{status.st_dev} {status.st_ino}"


def laptop_id() -> str:
    """A random id that stays with this laptop, so that merged journals tell whose entry is whose.

    One that is not as it was written is given up for a new one: another laptop might have it.
    """
    path = folder() / LAPTOP
    known = ""
    with contextlib.suppress(OSError, ValueError):
        kept = path.read_bytes()
        if (sealed := unseal(kept, LAPTOP)) is not None:
            return sealed.decode("ascii")
        known = _as_written_before(kept)
    known = known or str(uuid.uuid4())
    with contextlib.suppress(OSError):  # without a home to write to, each start is a laptop of its own
        make_folders(path.parent)
        write(path, seal(known.encode("ascii"), LAPTOP))
    return known


def _as_written_before(kept: bytes) -> str:
    """The id alone on its line, as it was kept before it had a hash; empty where it is anything else."""
    written = kept.decode("ascii")
    return written.strip() if written == f"{uuid.UUID(written.strip())}\n" else ""
