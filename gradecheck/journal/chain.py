"""The hash that ties every entry to all before it, and the row form an entry is stored in."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from functools import lru_cache
from json.encoder import encode_basestring as _text
from typing import Any

from gradecheck.codec import CodecError, decode, encode
from gradecheck.journal.facts import KINDS, Draft, Entry
from gradecheck.journal.stamps import stamp_fault, with_words, words_apart

START = "0" * 64
"""What stands in place of a hash before the first entry."""

COLUMNS = (
    "seq", "id", "laptop", "window", "by", "kind", "area", "typed", "at", "utc_offset", "version", "plan",
    "replaces", "fact", "previous", "hash",
)  # fmt: skip

_number = int.__repr__  # refuses whatever is no whole number, as `_text` does what is no text

Row = tuple[Any, ...]


class UnsoundEntryError(Exception):
    """A stored entry is not what was written; `seq` says which."""

    def __init__(self, seq: object, says: str) -> None:
        self.seq = seq
        self.says = says
        super().__init__(f"entry {seq}: {says}")


def to_row(draft: Draft, seq: int, previous: str) -> Row:
    """The row for a draft that takes that place after the entry with that hash."""
    content = (
        seq,
        draft.id,
        draft.laptop,
        draft.window,
        draft.by,
        draft.kind,
        draft.area,
        draft.typed,
        draft.at.astimezone(UTC).isoformat(timespec="milliseconds"),
        draft.offset,
        draft.version,
        draft.plan,
        draft.replaces,
        with_words(encode(draft.fact), draft.clock),
        previous,
    )
    return (*content, _hash(content))


def from_row(row: Row, previous: str | None = None) -> Entry:
    """The entry in a row, checked against its own hash and, where given, the hash before it.

    Raises `UnsoundEntryError` when the row was changed, a row before it is missing, or it can't be read.
    """
    try:
        digest = _hash(row[:-1])
    except TypeError as wrong:  # bytes, which only damage or a stranger can have put there
        raise UnsoundEntryError(row[0], "its content was changed after it was written") from wrong
    if digest != row[-1]:
        raise UnsoundEntryError(row[0], "its content was changed after it was written")
    if previous is not None and row[-2] != previous:
        raise UnsoundEntryError(row[0], "the entry before it is missing or was changed")
    seq, id_, laptop, window, by, kind, _area, typed, at, offset, version, plan, replaces, fact, _, digest = row
    try:
        moment = datetime.fromisoformat(at)
        if (fault := stamp_fault(moment, offset)) is not None:
            raise UnsoundEntryError(seq, fault)
        fact, clock = words_apart(fact)
        return Entry(
            seq=seq,
            id=id_,
            laptop=laptop,
            window=window,
            by=by,
            typed=typed,
            at=moment,
            offset=offset,
            version=version,
            plan=plan,
            replaces=replaces,
            fact=decode(KINDS[kind], fact),
            clock=clock,
            hash=digest,
        )
    except (KeyError, TypeError, ValueError, CodecError) as wrong:
        raise UnsoundEntryError(seq, f"its {kind} can't be read") from wrong


def _hash(content: Row) -> str:
    """Of the content as a JSON list without spaces; written out, because every start does this for every entry."""
    seq, id_, laptop, window, by, kind, area, typed, at, offset, version, plan, replaces, fact, previous = content
    written = (
        f"[{_number(seq)},{_text(id_)},{_texts(laptop, window, by)},{_text(kind)},"
        f"{'null' if area is None else _text(area)},{_text(typed)},{_text(at)},{_number(offset)},"
        f"{_texts(version, plan)},{'null' if replaces is None else _text(replaces)},{_text(fact)},{_text(previous)}]"
    )
    return hashlib.sha256(written.encode()).hexdigest()


@lru_cache(maxsize=64)
def _texts(*texts: str) -> str:
    """Texts as JSON with commas between; those that stay the same from entry to entry are written once."""
    return ",".join(map(_text, texts))
