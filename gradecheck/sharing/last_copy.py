"""When a job was last shared whole, kept among this laptop's settings: what lies in its folder is copied along."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from gradecheck.places import Folder, make_folders, write
from gradecheck.sealed import seal, unseal
from gradecheck.system import settings

KIND = "last copy"
LARGEST = 65_536
MOST_PLANS = 200


@dataclass(frozen=True, slots=True)
class LastCopy:
    """`at` is when all that was recorded here was in the folder too, in UTC, None where it never was.

    `says` is what came of the last try, `whole` whether that one brought all of it there.
    """

    at: datetime | None = None
    says: str = ""
    whole: bool = False
    plans: tuple[str, ...] = ()
    """Hashes of the plans that the job follows or followed, also of those it was only offered."""
    number: int = 0
    """Of the office's plan that was put in place of the job file last, or that was given out from here."""
    plan: str = ""
    """The hash of that one."""
    gives: bool = False
    """Whether it was given out from here: this is the office."""
    refused: bool = False
    """Whether the last try was refused, by an office that could be reached."""


def last_copy(job: Path) -> LastCopy:
    """What is known of that job; nothing where nobody shared it, or what was kept is not as it was written."""
    path = _path(job)
    with contextlib.suppress(OSError, ValueError, TypeError, KeyError, RecursionError):
        with Folder(path.parent) as folder, folder.read(path.name) as file:
            kept = unseal(file.read(LARGEST), KIND)
        if kept is not None:
            stored = json.loads(kept)
            at = datetime.fromisoformat(stored["at"]) if stored["at"] else None
            if at is None or at.tzinfo is not None:
                plans = tuple(map(str, stored["plans"]))
                gives, refused = stored.get("gives") is True, stored.get("refused") is True
                number, plan = int(stored["number"]), stored["plan"]
                return LastCopy(at, str(stored["says"]), stored["whole"] is True, plans, number, plan, gives, refused)
    return LastCopy()


def office_plans(job: Path) -> dict[str, int]:
    """The number of the office's plan that came last, by its hash."""
    last = last_copy(job)
    return {last.plan: last.number} if last.number else {}


def note(
    job: Path,
    says: str,
    *,
    whole: bool,
    at: datetime,
    plans: Iterable[str] = (),
    office: tuple[int, str] = (0, ""),
    gives: bool | None = None,
    refused: bool = False,
) -> None:
    """Keeps what came of a try, and when; of one that was not whole the time before stays.

    `office` are number and hash of its plan, and `gives` whether this is the office; what is not given stays.
    """
    before = last_copy(job)
    known = tuple({**dict.fromkeys(before.plans), **dict.fromkeys(plans)})[-MOST_PLANS:]
    number, plan = office if office[0] else (before.number, before.plan)
    last = LastCopy(at.astimezone(UTC) if whole else before.at, says[:2_000], whole, known, number, plan,
                    before.gives if gives is None else gives, refused)  # fmt: skip
    stored = asdict(last) | {"at": last.at.isoformat() if last.at is not None else ""}
    with contextlib.suppress(OSError):  # then nobody is told how old the copy is, and it is there all the same
        path = _path(job)
        make_folders(path.parent)
        write(path, seal(json.dumps(stored).encode(), KIND), durable=False)


def _path(job: Path) -> Path:
    name = hashlib.sha256(os.path.realpath(job).encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return settings.folder() / "shared" / name
