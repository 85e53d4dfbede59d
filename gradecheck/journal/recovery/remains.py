"""What a damaged journal still holds: the unbroken beginning, sound entries behind a gap, and what is lost."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.chain import COLUMNS, START, Row, UnsoundEntryError, from_row
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.pages import cut_short, rows
from gradecheck.journal.recovery.private_copies import copy_plain, play_back
from gradecheck.journal.recovery.side_files import ROLLBACK, look, refuse_no_file
from gradecheck.places import clear_folder, private_folder

MISSING = "missing"
CUT = _("missing; the file was cut short, and how many entries followed can't be told")
CHAIN = _("it does not follow the entry before it; one of the two was changed")
TAKEN = _("an earlier entry has its id, or took the same place")
_NUMBERS = ("seq", "utc_offset")
_PERHAPS_EMPTY = ("area", "replaces")


@dataclass(frozen=True, slots=True)
class Lost:
    """Entries, from the first number to the last, that can't be kept, and why."""

    first: int
    last: int
    why: str

    def __str__(self) -> str:
        if self.first == self.last:
            return _("entry {first}: {why}", first=self.first, why=self.why)
        return _("entries {first} to {last}: {why}", first=self.first, last=self.last, why=self.why)


@dataclass(frozen=True, slots=True)
class Remains:
    """`beginning` is the chain from the first entry as far as it holds; `behind` are entries sound in themselves.

    `theirs` are entries of other laptops' chains that are kept in the file, each sound in itself.

    Of `behind` each fits its own hash, but between it and the beginning something is lost or was changed.
    """

    beginning: tuple[Row, ...]
    behind: tuple[tuple[Entry, Row], ...]
    lost: tuple[Lost, ...]
    theirs: tuple[Row, ...] = ()

    @property
    def last(self) -> int:
        """The number of the last entry that can be kept."""
        return self.behind[-1][0].seq if self.behind else len(self.beginning)

    @property
    def last_hash(self) -> str:
        """The hash of the beginning's last entry."""
        return str(self.beginning[-1][-1]) if self.beginning else START


def remains(path: Path) -> Remains:
    """All that can be read of the journal there, which is only read, whatever state it is in.

    No connection of this process may be open to it. Raises `JournalError` when it can't be opened at all, or when
    somebody writes into it meanwhile.
    """
    try:
        before = path.lstat()
        refuse_no_file(path, before.st_mode)
        with _at_rest(path) as states:
            found = _better([*map(_read, states)])
        after = path.lstat()
    except OSError as wrong:
        raise JournalError(
            _("{path} can't be opened ({reason}).", path=path, reason=wrong.strerror or wrong)
        ) from wrong
    if (before.st_mtime_ns, before.st_size) != (after.st_mtime_ns, after.st_size):
        raise JournalError(
            _("Somebody is writing into {path}; close every other window of this job first.", path=path)
        )
    return found


def _better(states: list[Remains]) -> Remains:
    """Of a journal with its last write taken back, and as it lies there, the one that holds more of it.

    What was written half is none of it: taken back it is whole, and the beginning of what lies there.
    """
    first, *others = states
    if others and not (first.lost or first.behind) and first.beginning:
        last, there = len(first.beginning), others[0].beginning
        same = there[last - 1 : last] or there[:1]
        if not same or same[0][-1] == first.beginning[same[0][0] - 1][-1]:
            return first
    return max(states, key=lambda each: (len(each.beginning), len(each.behind)))


def _read(path: Path) -> Remains:
    sound, unsound = _sorted_out(path)
    found = _in_order(sound, unsound, _theirs_in(path))
    if cut_short(path):
        found = replace(found, lost=(*found.lost, Lost(found.last + 1, found.last + 1, CUT)))
    return found


@contextlib.contextmanager
def _at_rest(path: Path) -> Iterator[list[Path]]:
    """The file; before it, where a write was cut off in it, a copy in which SQLite has taken that write back.

    Of what lies beside it only a rollback journal counts, and that only where it can be one of ours.
    """
    seen = look(path)
    if seen is None or ROLLBACK not in seen.beside or seen.rollback:
        yield [path]
        return
    folder = private_folder()
    try:
        copy = folder / path.name
        for name in (
            f"{path.name}{ROLLBACK}",
            path.name,
        ):  # the journal first: a write that ends only takes back less
            copy_plain(path.parent, name, folder)
        play_back(copy)
        yield [copy, path]
    finally:
        clear_folder(folder)


Sound = dict[int, list[tuple[Entry, Row]]]
Unsound = dict[int, str]


def _sorted_out(path: Path) -> tuple[Sound, Unsound]:
    """The rows that fit their own hash and can be read, by number; and of the others, what is wrong."""
    sound: Sound = {}
    unsound: Unsound = {}
    for row in rows(path, len(COLUMNS)):
        try:
            entry = from_row(row)
        except UnsoundEntryError as wrong:
            unsound[row[0]] = wrong.says
            continue
        if entry.seq < 1 or not all(map(_is_right, COLUMNS, row)):
            unsound[row[0]] = _("it has not the form of an entry")
        else:
            same = sound.setdefault(entry.seq, [])
            if all(entry.hash != other.hash for other, _ in same):
                same.append((entry, row))
    return sound, {seq: says for seq, says in unsound.items() if seq not in sound}


def _theirs_in(path: Path) -> tuple[Row, ...]:
    """The rows of other laptops that fit their own hash, in the order in which they were taken in."""
    found: dict[str, tuple[int, Row]] = {}
    for place, *row in rows(path, len(COLUMNS) + 1):
        with contextlib.suppress(UnsoundEntryError):
            from_row(tuple(row))
            if all(map(_is_right, COLUMNS, row)):
                found.setdefault(row[-1], (place, tuple(row)))
    return tuple(row for _, row in sorted(found.values()))


def _is_right(column: str, value: object) -> bool:
    """Whether the journal's table would take that value."""
    return isinstance(value, int if column in _NUMBERS else str) or (value is None and column in _PERHAPS_EMPTY)


def _in_order(sound: Sound, unsound: Unsound, theirs: tuple[Row, ...]) -> Remains:
    beginning: list[Row] = []
    behind: list[tuple[Entry, Row]] = []
    lost: list[Lost] = []
    ids: set[str] = set()
    known = {row[1] for row in theirs}
    replaced: set[str] = set()
    place, digest = 0, START
    for seq in sorted(sound):
        lost += _between(place + 1, seq - 1, unsound)
        entry, row = next((each for each in sound[seq] if each[1][-2] == digest), sound[seq][0])
        place, digest = seq, row[-1]
        if entry.id in ids or entry.replaces in replaced:
            lost.append(Lost(seq, seq, TAKEN))
            continue
        ids.add(entry.id)
        known.add(entry.id)
        if entry.replaces is not None:
            replaced.add(entry.replaces)
        follows = seq == len(beginning) + 1 and row[-2] == (beginning[-1][-1] if beginning else START)
        if follows and not behind and (entry.replaces is None or entry.replaces in known):
            beginning.append(row)
        else:
            behind.append((entry, row))
    lost += [Lost(seq, seq, unsound[seq]) for seq in sorted(unsound) if seq > place or seq < 1]
    return Remains(tuple(beginning), tuple(behind), tuple(lost), theirs)


def _between(first: int, last: int, unsound: Unsound) -> Iterator[Lost]:
    """What is lost from the first number to the last, what is merely missing in one piece."""
    for seq in sorted(seq for seq in unsound if first <= seq <= last):
        if seq > first:
            yield Lost(first, seq - 1, MISSING)
        yield Lost(seq, seq, unsound[seq])
        first = seq + 1
    if first <= last:
        yield Lost(first, last, MISSING)
