"""Entries as whole files: each named by the job, the chain, which entries it holds, and the hash of its bytes.

The name alone tells whether a file is of this job. Its content counts only if it has the hash that the name says:
one that is half copied has another, and is waited for.
"""

from __future__ import annotations

import hashlib
import json
import re
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.journal.chain import COLUMNS, MOST, Row, UnsoundEntryError, from_row
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.others import MOST_TEXT

LARGEST = 64 << 20
"""Bytes of a file, and of what is in it when it is unpacked; ours are far smaller."""
MOST_ROWS = 5_000
"""Entries in one file; more go into further ones."""
_FULL = 8 << 20
"""Bytes of text behind which another file is begun."""
_KEY = 16

_NAME = re.compile(
    r"gc1-(?P<job>[0-9a-f]{16})-(?P<chain>[0-9a-f]{16})-(?P<first>[0-9]{8,16})-(?P<last>[0-9]{8,16})"
    r"-(?P<digest>[0-9a-f]{32})\.rows",
    re.ASCII,
)
_MAY_BE_NONE = frozenset(("area", "replaces"))
_NUMBERS = frozenset(("seq", "utc_offset"))


class NotWholeError(Exception):
    """The file is not, or not yet, what its name says."""


@dataclass(frozen=True, slots=True)
class Name:
    """What the name of a file says is in it. `job` and `chain` are the beginnings of hashes."""

    job: str
    chain: str
    first: int
    last: int
    digest: str


def key(digest: str) -> str:
    """The beginning of a hash, as it stands in names: of a plan for a job, of its first entry for a chain."""
    return digest[:_KEY]


def named(name: str) -> Name | None:
    """What a name says; None of any other file, which is left alone."""
    found = _NAME.fullmatch(name)
    if found is None:
        return None
    return Name(found["job"], found["chain"], int(found["first"]), int(found["last"]), found["digest"])


def hash_of(content: bytes) -> str:
    """The hash of a file's bytes as its name has it."""
    return hashlib.sha256(content).hexdigest()[:32]


def packed(rows: list[Row], job: str, chain: str) -> tuple[str, bytes]:
    """The name and the bytes of a file of those entries, which follow one another in one chain."""
    lines = (json.dumps(row, ensure_ascii=False, separators=(",", ":")) for row in rows)
    content = zlib.compress("\n".join(lines).encode())
    return (f"gc1-{key(job)}-{key(chain)}-{rows[0][0]:08}-{rows[-1][0]:08}-{hash_of(content)}.rows"), content


def unpacked(content: bytes, digest: str) -> list[str]:
    """The lines of a file, one an entry. Raises `NotWholeError` where its bytes don't have the hash of its name."""
    if hash_of(content) != digest:
        raise NotWholeError("half there")
    try:
        return decompressed(content, LARGEST).decode().split("\n")
    except (zlib.error, ValueError) as wrong:
        raise UnsoundEntryError("", _("it can't be unpacked ({wrong})", wrong=wrong)) from wrong


def decompressed(content: bytes, most: int) -> bytes:
    """What was compressed, of so many bytes at most. Raises `zlib.error` and ValueError."""
    # A few bytes may unpack to more than there is memory.
    packed = zlib.decompressobj()
    text = packed.decompress(content, most)
    if packed.unconsumed_tail or not packed.eof:
        raise ValueError(_("it unpacks to too much"))
    return text


def row_in(line: str, known: Mapping[str, Row], read: dict[str, Entry] | None = None) -> Row:
    """The entry in a line, sound by itself; one that is known is only compared. Raises `UnsoundEntryError`.

    What had to be read is put into `read`, by its hash.
    """
    if len(line) > MOST_TEXT:
        raise UnsoundEntryError("", _("an entry is too long"))
    try:
        found = json.loads(line)
    except (ValueError, RecursionError) as wrong:
        raise UnsoundEntryError("", _("an entry can't be read")) from wrong
    if not isinstance(found, list) or len(found) != len(COLUMNS) or not all(map(_fits, COLUMNS, found)):
        raise UnsoundEntryError("", _("an entry has other parts than one has"))
    row = tuple(found)
    if known.get(row[-1]) == row:
        return row
    try:
        entry = from_row(row)
        if read is not None:
            read[entry.hash] = entry
    except UnicodeEncodeError as wrong:
        raise UnsoundEntryError(row[0], _("there is half a character in it")) from wrong
    return row


def _fits(column: str, value: object) -> bool:
    if column in _NUMBERS:
        return type(value) is int and (-MOST if column == "utc_offset" else 0) < value < MOST
    return isinstance(value, str) or (value is None and column in _MAY_BE_NONE)


def pieces(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """The entries as they follow one another: a piece ends where a chain parts, or where a file is full."""
    followers: dict[str, list[Row]] = {}
    there = {}
    for row in rows:
        followers.setdefault(row[-2], []).append(row)
        there[row[-1]] = row
    for row in there.values():
        if row[-2] in there and len(followers[row[-2]]) == 1:
            continue
        piece, size = [row], _size(row)
        while len(after := followers.get(piece[-1][-1], [])) == 1:
            size += _size(after[0])
            if len(piece) == MOST_ROWS or size > _FULL:
                yield piece
                piece, size = [], _size(after[0])
            piece.append(after[0])
        yield piece


def _size(row: Row) -> int:
    return sum(len(each) for each in row if isinstance(each, str))
