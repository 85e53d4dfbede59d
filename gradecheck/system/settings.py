"""What this laptop knows about itself, outside any job."""

from __future__ import annotations

import contextlib
import os
import uuid
from pathlib import Path


def folder() -> Path:
    """Where it is kept; ``GRADECHECK_SETTINGS`` names another place."""
    if named := os.environ.get("GRADECHECK_SETTINGS"):
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("gradecheck", appauthor=False)


def laptop_id() -> str:
    """A random id that stays with this laptop, so that merged journals tell whose entry is whose."""
    path = folder() / "laptop"
    with contextlib.suppress(OSError, ValueError):
        return str(uuid.UUID(path.read_text(encoding="ascii").strip()))
    fresh = str(uuid.uuid4())
    with contextlib.suppress(OSError):  # without a home to write to, each start is a laptop of its own
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(fresh + "\n", encoding="ascii")
    return fresh
