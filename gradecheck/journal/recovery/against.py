"""A journal held against another one of the same job: one that was rewritten whole is sound by itself."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from enum import Enum
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.chain import COLUMNS, START, UnsoundEntryError, from_row
from gradecheck.journal.errors import JournalError, OtherFormatError
from gradecheck.journal.facts import Draft, Entry, Note
from gradecheck.journal.file import connect
from gradecheck.journal.recovery.remains import Remains, remains
from gradecheck.journal.recovery.rescue import WINDOW

_BEHIND = f"SELECT {', '.join(COLUMNS)} FROM entry WHERE seq > ? ORDER BY seq"  # noqa: S608 - our own names


@dataclass(frozen=True, slots=True)
class ReadChain:
    """The hash of each entry by its number, and the entries behind a number that are sound in themselves.

    `damaged` is the number of the first entry that does not hold, 0 where all do.
    """

    hashes: Mapping[int, str]
    behind: Callable[[int], Iterator[Entry]]
    damaged: int = 0
    taken: frozenset[str] = frozenset()
    """The hashes of the entries of other laptops that are kept beside the chain."""

    @property
    def last(self) -> int:
        """The number of the last entry, 0 where there is none."""
        return max(self.hashes, default=0)

    def at(self, seq: int) -> Entry | None:
        """The entry with that number, None where there is none that is sound in itself."""
        entry = next(self.behind(seq - 1), None)
        return entry if entry is not None and entry.seq == seq else None


class Outcome(Enum):
    """What came of holding a journal against another one."""

    AGREES = "agrees"
    """It holds all that the other one holds."""
    ENDS_EARLIER = "ends earlier"
    """It is the beginning of the other one: it was cut, put back, or is not up to date."""
    DIFFERS = "differs"
    """From some entry on the two are not the same."""
    RESCUED = "rescued"
    """From some entry on a rescue chained it anew, and what it kept is what the other one holds."""
    NOT_READ = "not read"
    """The other one can't be read here."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """What came of it: `name` is what the other one is called, `last` the number of its last entry.

    `first` is the number of the first entry that is not the same in both, 0 where all are; `here` and `there` are
    that entry in the two. `missing` are those of the other one that a rescue could not keep. It `is_copy` where it is
    kept beside the journal.
    """

    name: str
    outcome: Outcome
    last: int = 0
    first: int = 0
    here: Entry | None = None
    there: Entry | None = None
    missing: tuple[Entry, ...] = ()
    why: str = ""
    is_copy: bool = False
    damaged: int = 0
    """The number of the first entry of the other one that does not hold, 0 where all do."""

    @property
    def bad(self) -> bool:
        """Whether it keeps the journal from being called sound."""
        return self.outcome in (Outcome.DIFFERS, Outcome.ENDS_EARLIER) or bool(self.missing)


def hold(name: str, ours: ReadChain, theirs: ReadChain) -> Comparison:
    """Holds a journal against another one, entry by entry.

    An entry of the other one that is not sound in itself says nothing about ours; one that was taken in agrees.
    """
    other = (
        seq for seq in sorted(theirs.hashes)
        if ours.hashes.get(seq) != theirs.hashes[seq] and theirs.hashes[seq] not in ours.taken
    )  # fmt: skip
    if (first := next(other, None)) is None:
        return Comparison(name, Outcome.AGREES, theirs.last)
    for there in theirs.behind(first - 1):
        if there.hash in ours.taken:
            continue
        if there.seq > ours.last:
            return Comparison(name, Outcome.ENDS_EARLIER, theirs.last, there.seq, None, there)
        if ours.hashes.get(there.seq, there.hash) != there.hash:
            here = ours.at(there.seq)
            if here is not None and is_of_a_rescue(here):
                return _behind_a_rescue(name, ours, theirs, there.seq)
            return Comparison(name, Outcome.DIFFERS, theirs.last, there.seq, here, there)
    return Comparison(name, Outcome.AGREES, theirs.last)


def is_of_a_rescue(entry: Entry) -> bool:
    """Whether a rescue wrote it, to say what is lost before the entries behind it, which it chained anew."""
    return entry.window == WINDOW and isinstance(entry.fact, Note)


def _behind_a_rescue(name: str, ours: ReadChain, theirs: ReadChain, first: int) -> Comparison:
    """A rescue leaves out what it can't keep and puts in notes of its own; all else stays as it was, and in order."""
    known = {entry.id for entry in theirs.behind(first - 1)}
    here = [entry for entry in ours.behind(first - 1) if entry.id in known or not is_of_a_rescue(entry)]
    kept = {entry.id for entry in here}
    missing: list[Entry] = []
    instead: Entry | None = None
    own = iter(here)
    for there in theirs.behind(first - 1):
        if there.id not in kept:
            missing.append(there)
            instead = instead or there
            continue
        entry = next(own, None)
        if entry is None or differing_parts(entry, there):
            if instead is not None and (entry is None or entry.id != there.id):
                there = instead  # what stands here stands in its place
            return Comparison(name, Outcome.DIFFERS, theirs.last, there.seq, entry, there)
        instead = None
    return Comparison(name, Outcome.RESCUED, theirs.last, first, ours.at(first), theirs.at(first), tuple(missing))


def differing_parts(one: Entry, other: Entry) -> tuple[str, ...]:
    """In which of what was recorded the two entries differ; a rescue may have taken `replaces` out."""
    names = (each.name for each in fields(Draft) if each.name != "replaces")
    return tuple(name for name in names if getattr(one, name) != getattr(other, name))


def chain_of_copy(path: Path) -> ReadChain:
    """The entries of a copy as they lie in the file, or what is left of them. Raises `JournalError`."""
    hashes: dict[int, str] = {}
    previous = START
    try:
        with contextlib.closing(connect(path, "still")) as connection:
            for place, row in enumerate(connection.execute(_BEHIND, (0,)), 1):
                entry = from_row(row, previous)
                if entry.seq != place:
                    raise UnsoundEntryError(place, _("it is missing"))
                hashes[place] = previous = entry.hash
    except OtherFormatError:
        raise
    except (JournalError, sqlite3.Error, UnicodeDecodeError, MemoryError, UnsoundEntryError):
        return chain_of_remains(remains(path))
    return ReadChain(hashes, lambda seq: _entries_of_copy(path, seq))


def _entries_of_copy(path: Path, after: int) -> Iterator[Entry]:
    with (
        contextlib.suppress(JournalError, sqlite3.Error, UnicodeDecodeError, MemoryError),
        contextlib.closing(connect(path, "still")) as connection,
    ):
        for row in connection.execute(_BEHIND, (after,)):
            with contextlib.suppress(UnsoundEntryError):
                yield from_row(row)


def chain_of_remains(left: Remains) -> ReadChain:
    """The entries of a damaged journal that are sound in themselves."""
    entries = {entry.seq: entry for entry in (*map(from_row, left.beginning), *(entry for entry, _ in left.behind))}
    return ReadChain(
        {seq: entry.hash for seq, entry in entries.items()},
        lambda after: (entries[seq] for seq in sorted(entries) if seq > after),
        damaged=len(left.beginning) + 1,
    )
