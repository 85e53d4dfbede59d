"""The answers of a new job that nobody finished yet, kept beside the settings until they are taken up again."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

from gradecheck.places import Folder, make_folders, remove, write
from gradecheck.system import settings

LARGEST = 200_000
LONGEST = 400


def answers_begun(folder: Path) -> dict[str, str]:
    """The answers for a new job in that folder of jobs; none where nobody began one, or what was kept is spoilt."""
    path = _path(folder)
    with contextlib.suppress(OSError, ValueError, RecursionError):
        with Folder(path.parent) as place, place.read(path.name) as file:
            kept = json.loads(file.read(LARGEST))
        if isinstance(kept, dict):
            texts = {key: each for key, each in kept.items() if isinstance(each, str)}
            if all(max(len(key), len(each)) <= LONGEST for key, each in texts.items()):
                return texts
    return {}


def keep_begun(folder: Path, typed: Mapping[str, str]) -> None:
    """Keeps the answers; where they can't be kept, the next start asks anew."""
    path = _path(folder)
    with contextlib.suppress(OSError):
        make_folders(path.parent)
        write(path, json.dumps(dict(typed)).encode(), durable=False)


def forget_begun(folder: Path) -> None:
    """Nothing is taken up again."""
    with contextlib.suppress(OSError):
        remove(_path(folder))


def _path(folder: Path) -> Path:
    name = hashlib.sha256(os.path.realpath(folder).encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return settings.folder() / "begun" / name
