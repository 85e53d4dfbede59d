"""What this laptop knows about itself, outside any job."""

from __future__ import annotations

import contextlib
import os
import uuid
from pathlib import Path

from gradecheck.sealed import seal, unseal

LAPTOP = "laptop"
"""The file with this laptop's id."""


def folder() -> Path:
    """Where it is kept; ``GRADECHECK_SETTINGS`` names another place."""
    if named := os.environ.get("GRADECHECK_SETTINGS"):
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("gradecheck", appauthor=False)


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
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(seal(known.encode("ascii"), LAPTOP))
    return known


def _as_written_before(kept: bytes) -> str:
    """The id alone on its line, as it was kept before it had a hash; empty where it is anything else."""
    written = kept.decode("ascii")
    return written.strip() if written == f"{uuid.UUID(written.strip())}\n" else ""
