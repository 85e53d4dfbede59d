"""Several files written each whole or not at all: first under temporary names, synced, and then renamed."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.places import Folder, stage


def write_whole(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Writes all of them into that folder, over files of those names, which must be plain.

    Raises Refusal, which names those written all the same.
    """
    written: list[str] = []
    writing = next(iter(contents))
    try:
        with Folder(folder) as place:
            made: list[tuple[str, str]] = []
            try:
                for writing, content in contents.items():
                    made.append((stage(place, content), writing))
                for temporary, writing in made:
                    place.rename(temporary, writing)
                    written.append(writing)
            finally:
                for temporary, _writing in made:
                    with contextlib.suppress(OSError):
                        place.remove(temporary)
            place.sync()
    except (OSError, ValueError) as wrong:
        if isinstance(wrong, FileNotFoundError) and not folder.exists():
            raise Refusal(_("There is no folder {folder}; make it first, or name another.", folder=folder)) from wrong
        reason = (getattr(wrong, "strerror", None) or str(wrong)).lower()
        raise Refusal(
            _(
                "{folder} could not be written ({reason}); {left}.",
                folder=folder / writing,
                reason=reason,
                left=_left(written),
            )
        ) from wrong


def _left(written: Sequence[str]) -> str:
    """The names that were written all the same."""
    if not written:
        return _("what was there before is as it was")
    return _("written before it: {written}; the others are as they were", written=", ".join(written))
