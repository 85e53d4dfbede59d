"""A new journal from what a damaged one still holds; the damaged one is only read."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from gradecheck import __version__
from gradecheck.catalogue import _
from gradecheck.journal.chain import START, Row, from_row, to_row
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Entry, Note
from gradecheck.journal.file import create
from gradecheck.journal.ids import Ids
from gradecheck.journal.recovery.backup import backups
from gradecheck.journal.recovery.missing import refuse_to_begin
from gradecheck.journal.recovery.private_copies import copy_plain
from gradecheck.journal.recovery.remains import CHAIN, MISSING, Lost, Remains, remains
from gradecheck.journal.recovery.side_files import SIDES
from gradecheck.journal.seen import KnownRows
from gradecheck.journal.stamps import behind, by_clock
from gradecheck.places import Folder, clear_folder

WINDOW = "rescue"
"""What the notes of a rescue name as the window they were written in."""


@dataclass(frozen=True, slots=True)
class Rescued:
    """What went into the new journal: entries that kept their hashes, entries chained anew, notes about gaps.

    `last` is the number that the last of them had in the damaged journal, `last_hash` the new journal's last hash.
    """

    kept: int
    chained_anew: int
    notes: int
    last: int
    last_hash: str
    lost: tuple[Lost, ...]


def rescue(damaged: Path, new: Path, *, laptop: str, at: datetime, ids: Callable[[], str]) -> Rescued:
    """Writes a new journal from all that can be kept of the damaged one. Raises `JournalError`.

    The unbroken beginning is taken over row by row, hashes and all. An entry behind a gap keeps its id, time, author,
    typed text and fact, and gets a new number and hash; one that replaced a lost entry stands on its own. A note
    before each gap says what is lost there and under what hash the entries behind it were known.
    """
    if os.path.lexists(new):
        raise JournalError(_("{new} is there already; give the new journal a name of its own.", new=new))
    if not os.path.lexists(damaged):
        refuse_to_begin(damaged)  # says what is there instead
    found = remains(damaged)
    if not found.beginning and not found.behind:
        raise JournalError(
            _("No entry can be read in {damaged}; it was left as it is and nothing was written.", damaged=damaged)
        )
    return write_rescued(found, new, laptop=laptop, at=at, ids=ids)


def write_rescued(found: Remains, new: Path, *, laptop: str, at: datetime, ids: Callable[[], str]) -> Rescued:
    """Writes that to a new journal, as `rescue` does. Raises `JournalError`."""
    at, offset, words = by_clock(at)
    about = Draft(
        id="",
        laptop=laptop,
        window=WINDOW,
        by="",
        typed="",
        at=at,
        offset=offset,
        clock=words,
        version=__version__,
        plan="",
        fact=Note(None, ""),
    )
    anew = list(_chained_anew(found, about, ids))
    try:
        create(new, [*found.beginning, *anew], _apart(found))
    except FileExistsError as wrong:
        raise JournalError(_("{new} is there already; give the new journal a name of its own.", new=new)) from wrong
    last_hash = str(anew[-1][-1]) if anew else found.last_hash
    return Rescued(
        kept=len(found.beginning),
        chained_anew=len(found.behind),
        notes=len(anew) - len(found.behind),
        last=found.last,
        last_hash=last_hash,
        lost=found.lost,
    )


def _apart(found: Remains) -> list[Row]:
    """The rows of other laptops but those that are, hash and all, among the own ones that are taken over."""
    own = {row[-1] for row in found.beginning}
    return [row for row in found.theirs if row[-1] not in own]


def _chained_anew(found: Remains, about: Draft, ids: Callable[[], str]) -> Iterator[Row]:
    """The rows behind the beginning: each entry that can be kept, and before it a note where something is lost."""
    seq, digest = len(found.beginning), found.last_hash
    before: Draft | None = from_row(found.beginning[-1]) if found.beginning else None
    for draft in _drafts(found, about, ids):
        if draft.window == WINDOW and draft.clock:  # a note made now; all others keep the time that they had
            draft = behind(before, draft, draft.clock)
        row = to_row(draft, seq + 1, digest)
        before, seq, digest = draft, row[0], row[-1]
        yield row


def _drafts(found: Remains, about: Draft, ids: Callable[[], str]) -> Iterator[Draft]:
    def note(says: str) -> Draft:
        return replace(about, id=ids(), fact=Note(None, _("Rescued: {says}.", says=says)))

    lost = list(found.lost)
    known = {row[1] for row in (*found.beginning, *found.theirs)}
    last, digest = len(found.beginning), found.last_hash
    for entry, row in found.behind:
        gone = [each for each in lost if each.last < entry.seq]
        lost = [each for each in lost if each.last >= entry.seq]
        wrong = [*map(str, gone)]
        if not gone and (entry.seq, row[-2]) != (last + 1, digest):
            wrong.append(_("entry {seq}: {chain}", seq=entry.seq, chain=CHAIN))
        if wrong:
            yield note(
                _(
                    "{wrong}. From entry {seq} on (hash {hash}) all is chained anew",
                    wrong="; ".join(wrong),
                    seq=entry.seq,
                    hash=entry.hash,
                )
            )
        if entry.replaces is not None and entry.replaces not in known:
            yield note(
                _(
                    "entry {seq} replaced {replaces}, which is lost, and stands on its own",
                    seq=entry.seq,
                    replaces=entry.replaces,
                )
            )
            entry = replace(entry, replaces=None)
        yield _draft(entry)
        known.add(entry.id)
        last, digest = entry.seq, row[-1]
    if lost:
        yield note("; ".join(map(str, lost)))


def _draft(entry: Entry) -> Draft:
    return Draft(**{each.name: getattr(entry, each.name) for each in fields(Draft)})


def take_its_place(damaged: Path, new: Path) -> Path:
    """Gives a rescued journal the name of the damaged one, all files of which go into a folder of their own together.

    Returns that folder. They are there whole before anything is taken away here. Raises `JournalError`.
    """
    try:
        with Folder(damaged.parent) as folder:
            aside = next(
                name for number in count(1) if folder.status(name := f"{damaged.stem}.damaged-{number}") is None
            )
            there = {
                name: found.st_mode
                for end in ("", *SIDES)
                if (found := folder.status(name := f"{damaged.name}{end}")) is not None
            }
            folder.make_folder(aside)
            try:
                for name in filter(lambda name: stat.S_ISREG(there[name]), there):
                    copy_plain(damaged.parent, name, damaged.parent / aside, durable=True)
                folder.sync()
            except BaseException:
                clear_folder(damaged.parent / aside)
                raise
            for name, mode in there.items():
                if not stat.S_ISREG(mode):  # nobody knows how to copy it, and nothing of ours is in it
                    folder.move(name, aside)
                elif name != damaged.name:
                    folder.remove(name)
            folder.rename(new.name, damaged.name)
            folder.sync()
    except OSError as wrong:
        why = (wrong.strerror or str(wrong)).lower()
        raise JournalError(
            _(
                "{damaged} can't be moved aside ({why}); what was rescued is in {new}.",
                damaged=damaged,
                why=why,
                new=new,
            )
        ) from wrong
    return damaged.parent / aside


def put_together(journal: Path, known: KnownRows, to: Path) -> str:
    """Writes a journal from the copies beside that one and from what is known; says what it holds.

    A copy counts only where its chain is the one that is known here. Raises `JournalError`.
    """
    latest = known.latest()
    before: list[Row] = []
    theirs = {row[-1]: row for row in known.theirs}
    first = latest[0][0] if latest else 0
    if first != 1:
        for copy in backups(journal):
            try:
                left = remains(copy)
            except JournalError:
                continue
            rows = list(left.beginning)
            theirs |= {row[-1]: row for row in left.theirs}
            if rows and rows[0][-1] == known.first_hash and len(rows) > len(before):
                before = rows
    if latest and len(before) >= first - 1:
        last = before[first - 2][-1] if first > 1 else START
        if last != latest[0][-2]:
            before = []
    if not latest and not before:
        raise JournalError(_("The journal that was open here is gone, and nothing of it is known any more."))
    if not latest or len(before) >= first - 1 or first == 1:
        rows = [*before[: first - 1], *latest] if latest else before
        own = {row[-1] for row in rows}
        create(to, rows, [row for digest, row in theirs.items() if digest not in own])
        return _(
            "The file at {journal} is another one now; this copy was put together from what this window knows, "
            "up to entry {rows}.",
            journal=journal,
            rows=rows[-1][0],
        )
    return _with_a_gap(journal, before, latest, tuple(theirs.values()), to)


def _with_a_gap(journal: Path, before: list[Row], latest: list[Row], theirs: tuple[Row, ...], to: Path) -> str:
    lost = Lost(len(before) + 1, latest[0][0] - 1, MISSING)
    found = Remains(tuple(before), tuple((from_row(row), row) for row in latest), (lost,), theirs)
    write_rescued(found, to, laptop="", at=datetime.now(UTC).astimezone(), ids=Ids())
    return _(
        "The file at {journal} is another one now; this copy was put together from what this window knows, up "
        "to entry {latest} without {lost}.",
        journal=journal,
        latest=latest[-1][0],
        lost=lost,
    )
