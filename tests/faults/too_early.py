"""The program with its promise broken: an entry is called saved at once, and goes to the disk a while later."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Sequence

from gradecheck.__main__ import main
from gradecheck.journal.chain import START, from_row, to_row
from gradecheck.journal.facts import Draft, Entry
from gradecheck.journal.store import Journal

DELAY = 0.3
"""Seconds; as long as a slow stick takes."""

_append = Journal.append
_last: dict[int, tuple[int, str]] = {}
_in_order = threading.Lock()


def _append_later(journal: Journal, drafts: Sequence[Draft]) -> list[Entry]:
    seq, digest = _last.get(id(journal)) or _place(journal)
    entries = []
    for draft in drafts:
        row = to_row(draft, seq + 1, digest)
        seq, digest = row[0], row[-1]
        entries.append(from_row(row))
    _last[id(journal)] = seq, digest

    def write() -> None:
        with _in_order:
            time.sleep(DELAY)
            _append(journal, drafts)

    threading.Thread(target=write, daemon=True).start()
    return entries


def _place(journal: Journal) -> tuple[int, str]:
    last = journal.at(journal.last_seq)
    return (last.seq, last.hash) if last else (0, START)


if __name__ == "__main__":
    Journal.append = _append_later  # type: ignore[assignment, method-assign]
    sys.exit(main())
