"""The hash that ties every entry to all before it, and the row form an entry is stored in."""

from __future__ import annotations

import hashlib
import json
import re
from datetime import UTC, datetime
from functools import lru_cache
from json.encoder import encode_basestring as _text
from typing import Any

from gradecheck.catalogue import _
from gradecheck.codec import CodecError, decode, encode
from gradecheck.journal.facts import KINDS, Draft, Entry, Head
from gradecheck.journal.stamps import stamp_fault, with_words, words_apart

START = "0" * 64
"""What stands in place of a hash before the first entry."""

COLUMNS = (
    "seq", "id", "laptop", "window", "by", "kind", "area", "typed", "at", "utc_offset", "version", "plan",
    "replaces", "fact", "previous", "hash",
)  # fmt: skip

MOST = 1 << 53
"""No entry has a number as high: a program that reads JSON could not tell it from the next."""

_number = int.__repr__  # refuses whatever is no whole number, as `_text` does what is no text

Row = tuple[Any, ...]


class UnsoundEntryError(Exception):
    """A stored entry is not what was written; `seq` says which."""

    def __init__(self, seq: object, says: str) -> None:
        self.seq = seq
        self.says = says
        super().__init__(_("entry {seq}: {says}", seq=seq, says=says))


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
        _with_heads(with_words(encode(draft.fact), draft.clock), draft.knows),
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
        raise UnsoundEntryError(row[0], _("its content was changed after it was written")) from wrong
    if digest != row[-1]:
        raise UnsoundEntryError(row[0], _("its content was changed after it was written"))
    if previous is not None and row[-2] != previous:
        raise UnsoundEntryError(row[0], _("the entry before it is missing or was changed"))
    seq, id_, laptop, window, by, kind, _area, typed, at, offset, version, plan, replaces, fact, _before, digest = row
    try:
        moment = datetime.fromisoformat(at)
        if (fault := stamp_fault(moment, offset)) is not None:
            raise UnsoundEntryError(seq, fault)
        knows: tuple[Head, ...] = ()
        if fact.startswith(_HEADS):
            fact, knows = _heads_apart(fact)
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
            knows=knows,
            hash=digest,
        )
    except (KeyError, TypeError, ValueError, RecursionError, CodecError) as wrong:
        raise UnsoundEntryError(seq, _("its {kind} can't be read", kind=kind)) from wrong


_HEADS = '{"knows":'
_READ = json.JSONDecoder()
_HASH = re.compile("[0-9a-f]{64}")


def _with_heads(fact: str, heads: tuple[Head, ...]) -> str:
    """The text of a fact, before all else with what was known of other chains; as it is where that is nothing new."""
    return f"{_HEADS}{json.dumps(heads, ensure_ascii=False, separators=(',', ':'))},{fact[1:]}" if heads else fact


def _heads_apart(text: str) -> tuple[str, tuple[Head, ...]]:
    """The text of a fact as it is without what was known, and that. Raises ValueError where that can't be read."""
    written, end = _READ.raw_decode(text, len(_HEADS))
    heads = tuple(Head(*each) for each in written)
    for each in heads:
        if not (isinstance(each.laptop, str) and type(each.number) is int and 0 < each.number < MOST):
            raise ValueError(_("no address of an entry"))
        if _HASH.fullmatch(each.hash) is None:
            raise ValueError(_("no hash of an entry"))
    if not heads or text[end : end + 1] != ",":
        raise ValueError(_("no heads of chains"))
    return "{" + text[end + 1 :], heads


def _hash(content: Row) -> str:
    return hashlib.sha256(hashed_bytes(content)).hexdigest()


def hashed_bytes(content: Row) -> bytes:
    """The bytes that the hash of an entry is of: all of its row but the hash, as a JSON list without spaces.

    Written out, because every start does this for every entry.
    """
    seq, id_, laptop, window, by, kind, area, typed, at, offset, version, plan, replaces, fact, previous = content
    text = (
        f"[{_number(seq)},{_text(id_)},{_texts(laptop, window, by)},{_text(kind)},"
        f"{'null' if area is None else _text(area)},{_text(typed)},{_text(at)},{_number(offset)},"
        f"{_texts(version, plan)},{'null' if replaces is None else _text(replaces)},{_text(fact)},{_text(previous)}]"
    )
    return text.encode()


@lru_cache(maxsize=64)
def _texts(*texts: str) -> str:
    """Texts as JSON with commas between; those that stay the same from entry to entry are written once."""
    return ",".join(map(_text, texts))
