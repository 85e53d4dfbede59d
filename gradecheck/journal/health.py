"""How sound a journal is: up to which entry, what is wrong behind it, and where the rest may still be had."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.journal.backup import backups, goes_on_to
from gradecheck.journal.beside import BesideError
from gradecheck.journal.errors import JournalError, OtherFormatError
from gradecheck.journal.remains import Lost, remains
from gradecheck.journal.store import Journal, Soundness


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy beside the journal, and how many entries of it hold, from the first on."""

    name: str
    entries: int
    last_hash: str

    def __str__(self) -> str:
        return f"The copy {self.name} beside it holds up to entry {self.entries} (hash {self.last_hash[:16]})."


@dataclass(frozen=True, slots=True)
class Health:
    """What was found: the entries that hold from the first on, the fault if there is one, and what is behind it.

    `behind` is how many entries there a rescue would keep, `lost` what it could not.
    """

    entries: int
    last_hash: str
    fault: str | None
    behind: int = 0
    lost: tuple[Lost, ...] = ()
    copies: tuple[Copy, ...] = ()
    said: str = ""
    """What there is to tell of how it was found, and of what lay beside it."""


def examine(path: Path) -> Health:
    """Reads everything, and of a damaged journal whatever can be read. No connection may be open to it here.

    Raises `JournalError` for a file that is no journal, or of another format.
    """
    unreadable: JournalError | None = None
    said = ""
    try:
        soundness, said = _verified(path)
    except (OtherFormatError, BesideError):
        raise
    except JournalError as wrong:
        unreadable, soundness = wrong, Soundness(0, "", str(wrong))
    if soundness.fault is None:
        return replace(_held_against_copies(path, soundness), said=said)
    left = remains(path)
    if unreadable is not None and not left.beginning and not left.behind:
        raise unreadable  # nothing in it was ever ours
    return Health(
        entries=len(left.beginning),
        last_hash=left.last_hash,
        fault=soundness.fault,
        behind=len(left.behind),
        lost=left.lost,
        copies=copies(path),
        said=said,
    )


def advice(health: Health, job: Path) -> Iterator[str]:
    """What to know and do about a journal with a fault, a sentence each."""
    yield f"Sound up to entry {health.entries}; behind that {health.behind} more can be kept."
    for each in health.lost:
        yield f"Lost: {each}"
    if health.entries or health.behind:
        yield f"What holds is written to a new journal by: gradecheck rescue {job} -o NEW"
    yield from map(str, health.copies)
    if not health.copies:
        yield "There is no copy beside it."


def readings_in(path: Path) -> int:
    """How many readings lie in the journal there, struck ones too. Raises `JournalError`."""
    journal = Journal(path)
    try:
        return sum(entry.kind == "reading" for entry in journal.entries())
    finally:
        journal.close()


def _verified(path: Path) -> tuple[Soundness, str]:
    journal = Journal(path)
    try:
        return journal.verify(), journal.said
    finally:
        journal.close()


def _held_against_copies(path: Path, soundness: Soundness) -> Health:
    """A sound journal, unless a copy of it goes on further: a chain alone can't tell that its end is missing."""
    entries, digest = soundness.entries, soundness.last_hash
    for copy in backups(path) if entries else ():
        further = goes_on_to(copy, (entries, digest))
        if further is not None and further[0] > entries:
            fault = f"it ends at entry {entries}, but its copy {copy.name} goes on to entry {further[0]}"
            return Health(entries, digest, fault, copies=(Copy(copy.name, *further),))
    return Health(entries, digest, None)


def copies(path: Path) -> tuple[Copy, ...]:
    """The copies beside the journal, the newest first, each read to its end."""
    return tuple(map(_copy, backups(path)))


def _copy(path: Path) -> Copy:
    try:
        left = remains(path)
    except JournalError:
        return Copy(path.name, 0, "")
    return Copy(path.name, len(left.beginning), left.last_hash)
