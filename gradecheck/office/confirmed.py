"""What a server said it holds of a job, kept among this laptop's settings: one that later holds less is named."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID

from gradecheck.office.address import Address
from gradecheck.places import Folder, make_folders, write
from gradecheck.sealed import seal, unseal
from gradecheck.system import settings

KIND = "office"
LARGEST = 16 << 20


@dataclass(frozen=True, slots=True)
class ChainEnd:
    """The end of a chain as it was once: number and hash of an entry."""

    number: int
    hash: str


@dataclass(frozen=True, slots=True)
class Confirmed:
    """Which job of the server it is, None where that is not known yet, and the last end seen of each chain."""

    job: UUID | None = None
    ends: Mapping[UUID, ChainEnd] = field(default_factory=dict)


def confirmed(folder: Path, at: Address) -> Confirmed:
    """What is known of that job; nothing where it was not shared there, or what was kept is not as it was written."""
    path = _path(folder, at)
    with contextlib.suppress(OSError, ValueError, TypeError, KeyError, RecursionError, AttributeError):
        with Folder(path.parent) as kept_in, kept_in.read(path.name) as file:
            kept = unseal(file.read(LARGEST), KIND)
        if kept is not None:
            stored = json.loads(kept)
            ends = {
                UUID(chain): ChainEnd(int(number), str(digest)) for chain, (number, digest) in stored["ends"].items()
            }
            return Confirmed(UUID(stored["job"]), ends)
    return Confirmed()


def keep(folder: Path, at: Address, now: Confirmed) -> None:
    """Keeps what the server just said."""
    ends = {str(chain): [seen.number, seen.hash] for chain, seen in now.ends.items()}
    with contextlib.suppress(OSError):  # then a server that loses entries is not noticed by this laptop alone
        path = _path(folder, at)
        make_folders(path.parent)
        write(path, seal(json.dumps({"job": str(now.job), "ends": ends}).encode(), KIND), durable=False)


def _path(folder: Path, at: Address) -> Path:
    name = f"{os.path.realpath(folder)}\n{at}"
    return settings.folder() / "office" / hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:32]
