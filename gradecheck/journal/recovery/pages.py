"""The rows still to be found in a damaged SQLite file, page by page, whatever SQLite itself thinks of it.

Nothing read here is to be believed before its hash was checked. The format is that of sqlite.org/fileformat2.html.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

USUAL_PAGE = 4096
"""Bytes; what SQLite makes, and what is taken where the file's own head can't be believed."""
LONGEST = 1 << 24
"""Bytes; no entry is as long, so a record that claims to be is none."""
_WHOLE_BYTES = (0, 1, 2, 3, 4, 6, 8)


class _NoRecordError(Exception):
    """These bytes are no record."""


def rows(path: Path, width: int) -> Iterator[tuple[Any, ...]]:
    """Every record of that many columns in the file there, the first column being its place in the table.

    The file is opened as a plain one and closed again, so this process must have no connection to it: the locks of
    that would be lost. Raises `OSError` when the file can't be opened; what can't be read within is passed over.
    """
    with path.open("rb") as file:
        pages = _Pages(file)
        yield from _rows(pages, width)
        if pages.size != USUAL_PAGE:  # its head may be what is damaged
            yield from _rows(pages.of_usual_size(), width)


def _rows(pages: _Pages, width: int) -> Iterator[tuple[Any, ...]]:
    for number in range(1, pages.count + 1):
        page = pages.page(number)
        start = 100 if number == 1 else 0
        count = int.from_bytes(page[start + 3 : start + 5], "big")
        for cell in range(min(count, pages.size // 4)):
            pointer = start + 8 + 2 * cell
            with contextlib.suppress(_NoRecordError, IndexError, UnicodeDecodeError):
                row = _row(pages, page, int.from_bytes(page[pointer : pointer + 2], "big"), width)
                if row is not None:
                    yield row


def cut_short(path: Path) -> bool:
    """Whether the file says of itself that it was longer. Raises `OSError` when it can't be opened."""
    with path.open("rb") as file:
        return _Pages(file).cut_short


class _Pages:
    """A file in pages; one that the disk does not give back is empty."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        there = self._read(0, 100)
        head = there.ljust(100, b"\0")  # even of its head a part may be all that is left
        size = int.from_bytes(head[16:18], "big")
        size = 65536 if size == 1 else size
        believed = head[:16] == b"SQLite format 3\0" and size >= 512 and size & (size - 1) == 0
        self.size = size if believed else USUAL_PAGE
        self.usable = self.size - (head[20] if believed and head[20] <= self.size - 480 else 0)
        self.count = -(-file.seek(0, 2) // self.size)
        self.cut_short = believed and (len(there) < len(head) or int.from_bytes(head[28:32], "big") > self.count)

    def of_usual_size(self) -> _Pages:
        """The same file in pages as SQLite makes them, whatever its head says."""
        self.size = self.usable = USUAL_PAGE
        self.count = -(-self._file.seek(0, 2) // self.size)
        return self

    def page(self, number: int) -> bytes:
        return self._read((number - 1) * self.size, self.size)

    def _read(self, at: int, length: int) -> bytes:
        try:
            self._file.seek(at)
            return self._file.read(length)
        except OSError:  # a bad place on the disk costs what lies there, no more
            return b""


def _row(pages: _Pages, page: bytes, at: int, width: int) -> tuple[Any, ...] | None:
    """The record in the cell that begins there; None where it is one of another width."""
    length, at = _number(page, at)
    place, at = _number(page, at)
    if not 0 < length <= LONGEST:
        raise _NoRecordError
    record = _payload(pages, page, at, length)
    head, at = _number(record, 0)
    kinds: list[int] = []
    while at < head and len(kinds) <= width:
        kind, at = _number(record, at)
        kinds.append(kind)
    if len(kinds) != width or at != head:
        return None
    values = list(_values(record, head, kinds))
    return (place, *values[1:])  # the first column is the key itself and stands outside the record


def _payload(pages: _Pages, page: bytes, at: int, length: int) -> bytes:
    """The whole record: what lies in the page, and the rest from the pages it runs over into."""
    usable = pages.usable
    most, least = usable - 35, (usable - 12) * 32 // 255 - 23
    within = length
    if length > most:
        fitting = least + (length - least) % (usable - 4)
        within = fitting if fitting <= most else least
    parts = [page[at : at + within]]
    left, following = length - within, int.from_bytes(page[at + within : at + within + 4], "big")
    while left > 0:
        over = pages.page(following) if 0 < following <= pages.count else b""
        if len(over) < 5:
            raise _NoRecordError
        parts.append(over[4 : 4 + min(left, usable - 4)])
        left -= usable - 4
        following = int.from_bytes(over[:4], "big")
    return b"".join(parts)


def _values(record: bytes, at: int, kinds: list[int]) -> Iterator[int | str | None]:
    for kind in kinds:
        if kind == 0:
            yield None
        elif kind <= 6:
            yield int.from_bytes(_taken(record, at, _WHOLE_BYTES[kind]), "big", signed=True)
            at += _WHOLE_BYTES[kind]
        elif kind in (8, 9):
            yield kind - 8
        elif kind >= 13 and kind % 2:
            yield _taken(record, at, (kind - 13) // 2).decode()
            at += (kind - 13) // 2
        else:
            raise _NoRecordError  # a journal holds no float and no blob


def _taken(record: bytes, at: int, length: int) -> bytes:
    if at + length > len(record):
        raise _NoRecordError
    return record[at : at + length]


def _number(source: bytes, at: int) -> tuple[int, int]:
    """The number of one to nine bytes that begins there, and where it ends."""
    value = 0
    for place in range(8):
        byte = source[at + place]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + place + 1
    value = value << 8 | source[at + 8]
    return value - (1 << 64) if value >= 1 << 63 else value, at + 9
