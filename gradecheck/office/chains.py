"""What of a job lies on a server, chain by chain: what is missing here, and what is missing there."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from uuid import UUID

from gradecheck.catalogue import _
from gradecheck.joining.history import START
from gradecheck.journal.chain import Row, UnsoundEntryError, hashed_bytes
from gradecheck.journal.facts import Entry
from gradecheck.office.confirmed import ChainEnd
from gradecheck.office.connection import Link
from gradecheck.sharing.row_files import row_in

AT_ONCE = 2_000
"""Entries fetched at a time."""
MOST_BYTES, MOST_ROWS = 4 << 20, 5_000
"""Of a batch that is sent; a slow network brings so many bytes across before the server loses patience."""

_CHAINS = """
select c.chain, c.role, c.start, e.number, e.hash from gradecheck.chain c, lateral (
    select number, hash from gradecheck.entry where job = c.job and chain = c.chain order by number desc limit 1
) e where c.job = %s order by c.start, c.chain
"""
_STAGED = (
    "create temp table if not exists pg_temp.staged (number int8, hash bytea, content bytea) on commit delete rows"
)
_BEGUN = """
insert into gradecheck.chain (job, chain, first, parent, start, before) values (%s, %s, %s, %s, %s, %s)
on conflict do nothing
"""
_STAGE = "copy pg_temp.staged (number, hash, content) from stdin (format binary)"
_SENT = """
insert into gradecheck.entry (job, chain, number, hash, content)
select %s, %s, number, hash, content from pg_temp.staged on conflict do nothing
"""
_HASHES = """
select number, hash from gradecheck.entry where job = %s and chain = %s and number between %s and %s order by number
"""
_ENTRIES = """
select number, hash, content from gradecheck.entry
where job = %s and chain = %s and number >= %s order by number limit %s
"""


class ForkError(Exception):
    """Somebody else sent another entry under the same number meanwhile: look again, and go on from there."""


@dataclass(frozen=True, slots=True)
class Chain:
    """A chain as the server has it: who sent it, its first number, and its last entry."""

    id: UUID
    role: str
    start: int
    last: int
    hash: str


@dataclass(slots=True)
class Fetched:
    """What came from a server: sound entries by their hashes, what is in them, and what is wrong with the rest."""

    rows: dict[str, Row] = field(default_factory=dict)
    read: dict[str, Entry] = field(default_factory=dict)
    not_sound: list[str] = field(default_factory=list)
    less: list[str] = field(default_factory=list)
    """What the server said it held and does not hold now."""


def chains(link: Link, job: UUID) -> list[Chain]:
    """All chains of a job that have entries."""
    return [
        Chain(chain, role, start, number, digest.hex())
        for chain, role, start, number, digest in link.rows(_CHAINS, (job,))
    ]


def fetch(
    link: Link, job: UUID, there: Iterable[Chain], ends: Mapping[UUID, ChainEnd], ours: Mapping[str, Row]
) -> Fetched:
    """The entries that are there and not here. What was seen there before is held against what is there now."""
    found = Fetched()
    by_id = {chain.id: chain for chain in there}
    for chain_id, seen in ends.items():
        chain = by_id.get(chain_id)
        last = chain.last if chain is not None else 0
        if last < seen.number:
            found.less.append(_up_to(last, seen))
    for chain in by_id.values():
        before = ends.get(chain.id)
        if before == ChainEnd(chain.last, chain.hash) and chain.hash in ours:
            continue
        if chain.hash in ours and (before is None or before.number > chain.last):
            continue
        _fetch_chain(link, job, chain, before, ours, found)
    return found


def _up_to(last: int, seen: ChainEnd) -> str:
    if not last:
        return _("the office held a chain up to entry {number}, and nothing of it now", number=seen.number)
    return _(
        "the office held a chain up to entry {number}, and now only up to entry {last}", number=seen.number, last=last
    )


def _fetch_chain(
    link: Link, job: UUID, chain: Chain, before: ChainEnd | None, ours: Mapping[str, Row], found: Fetched
) -> None:
    first = chain.start
    if before is not None and before.hash in ours and before.number <= chain.last:
        [(number, digest)] = hashes_of(link, job, chain, before.number, before.number) or [(0, "")]
        if digest == before.hash:
            first = number + 1
        else:
            found.less.append(
                _(
                    "entry {number} of a chain is another one at the office than it was before",
                    number=before.number,
                )
            )
    if first == chain.start and ours:
        hashes = hashes_of(link, job, chain)
        first = next((number for number, digest in hashes if digest not in ours), chain.last + 1)
    for number, digest, line in _entries(link, job, chain, first):
        try:
            row = row_in(line, ours, found.read)
            if row[0] != number or row[-1] != digest:
                raise UnsoundEntryError(number, _("it is another one than the office says"))
        except UnsoundEntryError as wrong:
            found.not_sound.append(_("entry {number} from the office: {says}", number=number, says=wrong.says))
            return  # one that does not hold was made by someone: nothing behind it is worth more
        found.rows[digest] = row
    if chain.hash not in ours and chain.hash not in found.rows:
        found.not_sound.append(_("entry {number} from the office: it did not come", number=chain.last))


def hashes_of(link: Link, job: UUID, chain: Chain, first: int = 0, last: int = 0) -> list[tuple[int, str]]:
    """Numbers and hashes of the entries of a chain, in order: from one number to another, or all."""
    rows = link.rows(_HASHES, (job, chain.id, first or chain.start, last or chain.last))
    return [(number, digest.hex()) for number, digest in rows]


def _entries(link: Link, job: UUID, chain: Chain, first: int) -> Iterator[tuple[int, str, str]]:
    """Number, hash and text of the entries from that number on; each text is a row as files have it."""
    while first <= chain.last:
        rows = link.rows(_ENTRIES, (job, chain.id, first, AT_ONCE))
        for number, digest, content in rows:
            line = content[:-1].decode("utf-8", "replace")
            yield number, digest.hex(), f'{line},"{digest.hex()}"]'
        if not rows or rows[-1][0] < first:
            return
        first = rows[-1][0] + 1


# -- sending


@dataclass(frozen=True, slots=True)
class ChainPiece:
    """Entries that follow one another in one chain; `begun` says how that chain is begun, None where it is there."""

    chain: UUID
    rows: list[Row]
    begun: tuple[str, UUID | None, int, str] | None
    """Its first entry's hash, the chain it goes on from, its first number, and the hash before."""


def chain_id(role: str, first: str) -> UUID:
    """What a chain is called: by who sends it and its first entry. The server holds it to the same."""
    return UUID(bytes=hashlib.sha256(role.encode() + bytes.fromhex(first)).digest()[:16])


def on_server(link: Link, job: UUID, there: Iterable[Chain], ours: Mapping[str, Row]) -> dict[str, UUID]:
    """In which chain there each of the entries lies, by their hashes."""
    found: dict[str, UUID] = {}
    for chain in there:
        digest, number = chain.hash, chain.last
        while number >= chain.start and digest in ours:
            found[digest] = chain.id
            digest, number = ours[digest][-2], number - 1
        if number >= chain.start:  # of what did not come only the server knows what is before it
            found |= dict.fromkeys((digest for _number, digest in hashes_of(link, job, chain)), chain.id)
    return found


def missing_there(
    ours: Mapping[str, Row], own: int, there: Iterable[Chain], lies: Mapping[str, UUID], role: str
) -> list[ChainPiece]:
    """What is here and not there, as it is to be sent; the first `own` rows are of this laptop's own file.

    It goes on a chain of this role where one ends; elsewhere a chain is begun. What waits here waits on.
    """
    places = dict(lies)
    ends = {chain.hash: chain.id for chain in there if chain.role == role}
    pieces: dict[UUID, ChainPiece] = {}
    rows = list(ours.values())
    for row in (*rows[:own], *sorted(rows[own:], key=lambda row: row[0])):
        digest, before = row[-1], row[-2]
        if digest in places:
            continue
        if not (
            row[0] == 1 if before == START else before in places and before in ours and ours[before][0] == row[0] - 1
        ):
            continue
        if (chain := ends.pop(before, None)) is None:
            chain = chain_id(role, digest)
            pieces[chain] = ChainPiece(chain, [], (digest, places.get(before), row[0], before))
        elif chain not in pieces:
            pieces[chain] = ChainPiece(chain, [], None)
        pieces[chain].rows.append(row)
        places[digest] = chain
        ends[digest] = chain
    return list(pieces.values())


def send(link: Link, job: UUID, piece: ChainPiece) -> None:
    """Sends it, some at a time, each lot whole or not at all. Raises `ForkError`, and what a link raises."""
    link.rows(_STAGED)
    begun = piece.begun
    for batch in _batches(piece.rows):
        with link.together():
            if begun is not None:
                first, parent, start, before = begun
                values = (job, piece.chain, bytes.fromhex(first), parent, start, bytes.fromhex(before))
                link.rows(_BEGUN, values)
            packed = ((row[0], bytes.fromhex(row[-1]), content) for row, content in batch)
            link.copy_in(_STAGE, packed, ("int8", "bytea", "bytea"))
            if link.changed(_SENT, (job, piece.chain)) < len(batch):
                # Some were there: the same ones, or others under their numbers, of which nothing else would tell.
                ours = [(row[0], bytes.fromhex(row[-1])) for row, _content in batch]
                if link.rows(_HASHES, (job, piece.chain, ours[0][0], ours[-1][0])) != ours:
                    raise ForkError
        begun = None


def _batches(rows: Iterable[Row]) -> Iterator[list[tuple[Row, bytes]]]:
    batch: list[tuple[Row, bytes]] = []
    size = 0
    for row in rows:
        content = hashed_bytes(row[:-1])
        if batch and (len(batch) == MOST_ROWS or size + len(content) > MOST_BYTES):
            yield batch
            batch, size = [], 0
        batch.append((row, content))
        size += len(content)
    if batch:
        yield batch
