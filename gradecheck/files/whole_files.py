"""Files written each whole or not at all: beside their names first, on disk, and only then under them."""

from __future__ import annotations

import contextlib
import os
import uuid
from collections.abc import Mapping, Sequence
from pathlib import Path

from gradecheck.intake import Refusal
from gradecheck.journal.disk import sync_folder


def write_whole(contents: Mapping[Path, bytes]) -> None:
    """Writes all of them, over files of that name. Raises Refusal, which names those written all the same."""
    made: list[tuple[Path, Path]] = []
    written: list[Path] = []
    writing = next(iter(contents))
    try:
        for writing, text in contents.items():
            temporary = writing.with_name(f".{uuid.uuid4().hex}.part")
            made.append((temporary, writing))
            with temporary.open("xb") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
        for temporary, writing in made:
            os.replace(temporary, writing)
            written.append(writing)
    except (OSError, ValueError) as wrong:
        reason = (getattr(wrong, "strerror", None) or str(wrong)).lower()
        raise Refusal(f"{writing} could not be written ({reason}); {_left(written)}.") from wrong
    finally:
        for temporary, _ in made:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
    for folder in {target.parent for target in contents}:
        sync_folder(folder)


def _left(written: Sequence[Path]) -> str:
    """What is under the names now."""
    if not written:
        return "what was there before is as it was"
    return f"written before it: {', '.join(path.name for path in written)}; the others are as they were"
