"""How sound a journal is: up to which entry, what is wrong behind it, and where the rest may still be had."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError, OtherFormatError
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.against import (
    Comparison,
    Outcome,
    ReadChain,
    chain_of_copy,
    chain_of_remains,
    hold,
    is_of_a_rescue,
)
from gradecheck.journal.recovery.backup import backups
from gradecheck.journal.recovery.remains import Lost, Remains, remains
from gradecheck.journal.recovery.side_files import BesideError
from gradecheck.journal.short_hash import Given
from gradecheck.journal.store import Journal, Soundness


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy beside the journal, and how many entries of it hold, from the first on."""

    name: str
    entries: int
    last_hash: str

    def __str__(self) -> str:
        if not self.entries:
            return _("The copy {name} can't be used.", name=self.name)
        return _(
            "The copy {name} is good up to entry {entries} (hash {last_hash}).",
            name=self.name,
            entries=self.entries,
            last_hash=self.last_hash[:16],
        )


@dataclass(frozen=True, slots=True)
class HashLookup:
    """What became of a hash that somebody kept: the number of the entry that has it, 0 where none has.

    `misread` are the groups of it that are not as in that entry, where the hash was most likely misread, and
    `rescued` is the number of the first entry that a rescue wrote, 0 where none did.
    """

    given: Given
    seq: int
    misread: tuple[int, ...] = ()
    rescued: int = 0


@dataclass(frozen=True, slots=True)
class Health:
    """What was found: the entries that hold from the first on, the fault if there is one, and what is behind it.

    `behind` is how many entries there a rescue would keep, `lost` what it could not. `held` is what came of holding
    it against each copy beside it and another journal, `asked` of looking for a hash.
    """

    entries: int
    last_hash: str
    fault: str | None
    behind: int = 0
    lost: tuple[Lost, ...] = ()
    copies: tuple[Copy, ...] = ()
    held: tuple[Comparison, ...] = ()
    asked: HashLookup | None = None
    said: str = ""
    """What there is to tell of how it was found, and of what lay beside it."""
    theirs: int = 0
    """How many entries of other laptops are kept in it, each as it was written there."""

    @property
    def sound(self) -> bool:
        """Whether it is as it was written, as far as that can be told from all that it was held against."""
        held = any(each.bad for each in self.held)
        return self.fault is None and not held and (self.asked is None or self.asked.seq > 0)


def examine(
    path: Path,
    *,
    against: Path | None = None,
    called: str = "",
    asked: Given | None = None,
    hold_also: Callable[[ReadChain], Iterable[Comparison]] | None = None,
) -> Health:
    """Reads everything, and of a damaged journal whatever can be read; holds it against its copies and `against`.

    The latter is `called` so where it is told of; `hold_also` holds it against what lies in another place. No
    connection may be open to either here. Raises `JournalError` for a file that is no journal, or of another format,
    and where there is no journal to hold it against.
    """
    found, ours = _examined(path)
    held = []
    for copy in backups(path):
        try:
            if os.path.samefile(copy, path):
                raise JournalError(_("It is the log itself under another name."))
            if not (theirs := chain_of_copy(copy)).hashes:
                raise JournalError(_("No entry can be read in it."))
            held.append(replace(hold(copy.name, ours, theirs), is_copy=True, damaged=theirs.damaged))
        except (JournalError, OSError) as wrong:
            held.append(Comparison(copy.name, Outcome.NOT_READ, why=str(wrong), is_copy=True))
    if against is not None:
        other, theirs = _examined(against)
        if not theirs.hashes:
            raise JournalError(
                _("There is nothing in the log at {called} to compare with; check the name.", called=called)
            )
        held.append(replace(hold(called, ours, theirs), damaged=theirs.damaged))
        found = replace(found, said=" ".join(filter(None, (found.said, other.said))))
    if hold_also is not None:
        held += hold_also(ours)
    if found.fault is not None or any(each.bad for each in held):
        found = replace(found, copies=copies(path))
    return replace(found, held=tuple(held), asked=_looked_for(ours, asked) if asked is not None else None)


def _examined(path: Path) -> tuple[Health, ReadChain]:
    """A journal by itself, and the entries in it that hold."""
    unreadable: JournalError | None = None
    said = ""
    hashes: dict[int, str] = {}
    taken: set[str] = set()
    try:
        soundness, said = _verified(path, hashes, taken)
    except (OtherFormatError, BesideError):
        raise
    except JournalError as wrong:
        unreadable, soundness = wrong, Soundness(0, "", str(wrong))
    if not hashes and soundness.fault is None and not os.path.lexists(path):
        if said:  # it was there
            return Health(0, "", said.rstrip("."), said=""), ReadChain({}, lambda _: iter(()))
        raise JournalError(
            _("There is no log in {parent}: nothing was recorded there yet, or it is gone.", parent=path.parent)
        )
    if soundness.fault is None:
        found = Health(soundness.entries, soundness.last_hash, None, said=said, theirs=soundness.theirs)
        return found, ReadChain(hashes, lambda seq: _entries(path, seq), taken=frozenset(taken))
    left = remains(path)
    if unreadable is not None and not left.beginning and not left.behind:
        raise unreadable  # nothing in it was ever ours
    return _damaged(left, soundness.fault, said), chain_of_remains(left)


def _damaged(left: Remains, fault: str, said: str) -> Health:
    return Health(
        entries=len(left.beginning),
        last_hash=left.last_hash,
        fault=fault,
        behind=len(left.behind),
        lost=left.lost,
        said=said,
    )


def readings_in(path: Path) -> int:
    """How many readings lie in the journal there, struck ones too. Raises `JournalError`."""
    journal = Journal(path)
    try:
        return sum(entry.kind == "reading" for entry in journal.entries())
    finally:
        journal.close()


def _verified(path: Path, hashes: dict[int, str], taken: set[str]) -> tuple[Soundness, str]:
    """How sound it is; fills `hashes` with those of the entries that hold, `taken` with those of other laptops."""
    with contextlib.closing(Journal(path)) as journal:

        def note(entry: Entry) -> None:
            hashes[entry.seq] = entry.hash

        soundness = journal.verify(note)
        if soundness.fault is None and (laptops := journal.joined) is not None:
            taken |= {*laptops.history.order, *laptops.history.waiting} - {*hashes.values()}
        return soundness, journal.said


def _entries(path: Path, after: int) -> Iterator[Entry]:
    with contextlib.closing(Journal(path)) as journal:
        yield from journal.chain(after)


def _looked_for(ours: ReadChain, asked: Given) -> HashLookup:
    """The entry that has the hash; where none has, the one whose hash it most likely was before it was misread."""
    for seq, digest in ours.hashes.items():
        if asked.is_of(digest):
            return HashLookup(asked, seq)
    for digest in ours.hashes.values():
        if misread := asked.misread_in(digest):
            return HashLookup(asked, 0, misread)
    rescued = next((entry.seq for entry in ours.behind(0) if is_of_a_rescue(entry)), 0)
    return HashLookup(asked, 0, (), rescued)


def copies(path: Path) -> tuple[Copy, ...]:
    """The copies beside the journal, the newest first, each read to its end."""
    return tuple(map(_copy, backups(path)))


def _copy(path: Path) -> Copy:
    try:
        left = remains(path)
    except JournalError:
        return Copy(path.name, 0, "")
    return Copy(path.name, len(left.beginning), left.last_hash)
