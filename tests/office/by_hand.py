"""Rows as the server keeps them, made by hand from what its schema says of them."""

from __future__ import annotations

import hashlib
from uuid import UUID

from gradecheck.office.connection import Link

START = "0" * 64
Made = tuple[int, bytes, bytes]


def made(number: int, before: str, text: str = "x", *, says: int | None = None) -> Made:
    """Number, hash and content of an entry behind the one with that hash; its content may say another number."""
    content = f'[{number if says is None else says},"{text}","{before}"]'.encode()
    return number, hashlib.sha256(content).digest(), content


def line(first: int, count: int, before: str = START, text: str = "x") -> list[Made]:
    """So many, each behind the other."""
    rows: list[Made] = []
    for number in range(first, first + count):
        rows.append(made(number, before, text))
        before = rows[-1][1].hex()
    return rows


def named(role: str, first: Made) -> UUID:
    """What the chain of that role is called which begins with that entry."""
    return UUID(bytes=hashlib.sha256(role.encode() + first[1]).digest()[:16])


def begin(link: Link, job: UUID, role: str, first: Made, *, parent: UUID | None = None, before: str = START) -> UUID:
    """Begins a chain."""
    chain = named(role, first)
    link.rows(
        "insert into gradecheck.chain (job, chain, first, parent, start, before) values (%s, %s, %s, %s, %s, %s)",
        (job, chain, first[1], parent, first[0], bytes.fromhex(before)),
    )
    return chain


def add(link: Link, job: UUID, chain: UUID, *rows: Made, into: str = "entry") -> None:
    """Adds entries in one statement, as they come."""
    numbers, hashes, contents = ([row[at] for row in rows] for at in range(3))
    query = f"insert into gradecheck.{into} (job, chain, number, hash, content) select %s, %s, * from unnest"  # noqa: S608
    link.rows(f"{query} (%s::bigint[], %s::bytea[], %s::bytea[])", (job, chain, numbers, hashes, contents))
