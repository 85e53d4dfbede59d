"""Files on disk: a name is given whole or not at all, and is on disk itself when that is done."""

from __future__ import annotations

import contextlib
import os
import uuid
from collections.abc import Iterator
from pathlib import Path


@contextlib.contextmanager
def made_whole(path: Path) -> Iterator[Path]:
    """Another name to write under; what stands there in the end gets the name `path`, unless that is taken."""
    new = path.with_name(f"{path.name}.{uuid.uuid4().hex[:8]}.new")
    try:
        yield new
        try:
            os.link(new, path)  # unlike a rename, this fails when another window was quicker
        except FileExistsError:
            raise
        except (OSError, NotImplementedError):  # a stick may know no links
            if os.path.lexists(path):
                raise FileExistsError(path) from None
            os.rename(new, path)
    finally:
        new.unlink(missing_ok=True)
        sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Has the names in a folder on disk as well, on systems that can be asked to."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
