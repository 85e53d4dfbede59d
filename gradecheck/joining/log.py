"""The log of a job from the entries of several laptops: one order, one entry that counts in each place.

Two corrections or strikes of one entry whose authors did not know each other are both kept. The first in order
counts, and the conflict is open until someone who knew both changes the entry again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from gradecheck.joining.history import START, History, Link
from gradecheck.journal.facts import Entry, Head


@dataclass(frozen=True, slots=True)
class Row:
    """An entry as it stands in its own chain, with the hash of the one before it there."""

    entry: Entry
    previous: str

    @property
    def link(self) -> Link:
        """Where it belongs."""
        entry = self.entry
        knows = tuple(head.hash for head in entry.knows)
        return Link(entry.hash, self.previous, entry.laptop, entry.seq, entry.at, knows)


@dataclass(frozen=True, slots=True)
class InPlace:
    """The `first` entry of a place and the one that counts there; `against` are those it is in conflict with."""

    first: Entry
    last: Entry
    against: tuple[Entry, ...] = ()


class JoinedLog:
    """All entries there are. Those that count have their place in the one order as `seq`."""

    def __init__(self, rows: Iterable[Row], own: str = START) -> None:
        """`own` is the hash of the last entry of the laptop's own chain."""
        rows = list(rows)
        found = {row.entry.hash: row.entry for row in rows}
        self.own = own
        self.history = History(row.link for row in rows)
        self.entries: list[Entry] = []
        """Those that count, in order."""
        self.doubles: list[Entry] = []
        """Those whose id another entry has that comes before them: a rescue made them anew, or somebody meddled."""
        self._hashes: dict[str, list[str]] = {}
        self._of_id: dict[str, Entry] = {}
        self._replacing: dict[str, list[Entry]] = {}
        for digest in self.history.order:
            self._add(found[digest])

    def append(self, row: Row) -> bool:
        """Takes up the next entry of the own chain; False where all is to be worked out anew for it."""
        if not self.history.append(row.link):
            return False
        self.own = row.entry.hash
        self._add(row.entry)
        return True

    def _add(self, entry: Entry) -> None:
        self._hashes.setdefault(entry.id, []).append(entry.hash)
        if entry.id in self._of_id:
            self.doubles.append(entry)
            return
        entry = dataclasses.replace(entry, seq=len(self.entries) + 1)
        self.entries.append(entry)
        self._of_id[entry.id] = entry
        if entry.replaces is not None:
            self._replacing.setdefault(entry.replaces, []).append(entry)

    def find(self, entry_id: str) -> Entry | None:
        """The entry with that id, None where none counts."""
        return self._of_id.get(entry_id)

    def knew(self, entry: Entry, other: Entry) -> bool:
        """Whether the author of an entry knew the other one, in whichever chain it stands."""
        return any(self.history.knew(entry.hash, each) for each in self._hashes[other.id])

    def successors(self, entry: Entry) -> list[Entry]:
        """The entries that took its place and whose authors knew it, in order."""
        return [each for each in self._replacing.get(entry.id, ()) if self.knew(each, entry)]

    def place(self, first: Entry) -> InPlace:
        """What counts in the place of its first entry."""
        todo, ends = [first], list[Entry]()
        while todo:
            entry = todo.pop()
            later = self.successors(entry)
            todo += later
            if not later:
                ends.append(entry)
        left = [each for each in ends if not any(self.knew(other, each) for other in ends if other is not each)]
        counting, *others = sorted(left, key=lambda each: each.seq)
        against = tuple(each for each in others if each.fact != counting.fact and not _both_strike(each, counting))
        return InPlace(first, counting, against)

    def first_of(self, entry: Entry) -> Entry | None:
        """The first entry of the place that an entry stands in, None where it has none."""
        while entry.replaces is not None:
            before = self.find(entry.replaces)
            if before is None or not self.knew(entry, before):
                return None
            entry = before
        return entry

    def places(self) -> Iterator[InPlace]:
        """Every place, in the order of its first entry."""
        return (self.place(entry) for entry in self.entries if entry.replaces is None)

    @property
    def without_place(self) -> list[Entry]:
        """The entries that replace what their author did not know, or what is not there: kept, and never counted."""
        return [each for each in self.entries if each.replaces is not None and self.first_of(each) is None]

    @property
    def heads(self) -> tuple[Head, ...]:
        """What the next entry of the own chain says it knows of others."""
        links = map(self.history.link, self.history.heads(self.own))
        return tuple(Head(link.laptop, link.number, link.hash) for link in links)


def _both_strike(one: Entry, other: Entry) -> bool:
    return one.kind == other.kind == "void"
