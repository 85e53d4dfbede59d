"""What is sent is compared wherever less went in than was sent: nothing else would tell of another entry there."""

from __future__ import annotations

from typing import cast
from uuid import UUID, uuid4

import pytest

from gradecheck.journal.chain import START, Row
from gradecheck.office import chains
from gradecheck.office.address import Address
from gradecheck.office.chains import ChainPiece, ForkError, chain_id, fetch, missing_there, send
from gradecheck.office.confirmed import ChainEnd
from gradecheck.office.connection import Link, RefusedError
from tests.faults.rewritten import rows_of
from tests.journal.drafts import notes


def rows(*texts: str) -> list[Row]:
    """A chain of notes."""
    return list(rows_of(notes(*texts)))


def job_on(link: Link) -> UUID:
    """A new job there."""
    job = uuid4()
    link.rows("insert into gradecheck.job (job, name) values (%s, 'Wickering Yard')", (job,))
    return job


def piece(link: Link, made: list[Row]) -> ChainPiece:
    """All of them, from the first on."""
    return ChainPiece(chain_id(link.user, made[0][-1]), made, (made[0][-1], None, 1, START))


def hashes(link: Link, job: UUID) -> list[str]:
    """Of what is there, in order."""
    found = link.rows("select hash from gradecheck.entry where job = %s order by number", (job,))
    return [digest.hex() for (digest,) in found]


@pytest.mark.parametrize("at_once", [1, 2, 100])
def test_what_is_there_already_is_sent_again_without_harm(
    office: Address, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    monkeypatch.setattr(chains, "MOST_ROWS", at_once)
    made = rows("a", "b", "c", "d")
    with Link(office) as link:
        job = job_on(link)
        for count in (2, 2, 4, 4):
            send(link, job, piece(link, made[:count]))
            assert hashes(link, job) == [row[-1] for row in made[:count]]


@pytest.mark.parametrize("at_once", [1, 2, 100])
def test_another_entry_under_its_number_is_found_out(
    office: Address, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    monkeypatch.setattr(chains, "MOST_ROWS", at_once)
    made, other = rows("a", "b", "c", "d"), rows("a", "b", "elsewhere", "d")
    with Link(office) as link:
        job = job_on(link)
        send(link, job, piece(link, made))
        with pytest.raises(ForkError):
            send(link, job, piece(link, other))
        assert hashes(link, job) == [row[-1] for row in made]
        with pytest.raises((ForkError, RefusedError)):  # longer than what is there, and not behind it
            send(link, job, piece(link, rows("a", "b", "elsewhere", "d", "e")))
        assert hashes(link, job) == [row[-1] for row in made]


def test_what_is_missing_goes_on_ones_own_chain_and_parts_where_it_must() -> None:
    own, fork = rows("a", "b", "c"), rows("a", "b", "x", "y")
    ours = {row[-1]: row for row in (*own, *fork[2:])}
    first, second = missing_there(ours, 3, [], {}, "north")
    assert (first.rows, first.begun) == (own, (own[0][-1], None, 1, START))
    assert (second.rows, second.begun) == (fork[2:], (fork[2][-1], first.chain, 3, own[1][-1]))
    there = [chains.Chain(first.chain, "north", 1, 2, own[1][-1])]
    lies = {row[-1]: first.chain for row in own[:2]}
    on, parted = missing_there(ours, 3, there, lies, "north")
    assert (on.chain, on.rows, on.begun) == (first.chain, own[2:], None)
    assert (parted.rows, parted.begun) == (fork[2:], (fork[2][-1], first.chain, 3, own[1][-1]))
    [by_south, _] = missing_there(ours, 3, there, lies, "south")  # whose chain that is not
    assert by_south.begun == (own[2][-1], first.chain, 3, own[1][-1])


def test_what_waits_for_an_entry_is_not_sent() -> None:
    own, other = rows("a", "b"), rows("p", "q", "r")
    ours = {row[-1]: row for row in (*own, *other[1:])}
    [only] = missing_there(ours, 2, [], {}, "north")
    assert only.rows == own


class NoLink:
    """What may not be asked."""

    def rows(self, *_: object) -> list[Row]:
        raise AssertionError("nothing is fetched")


@pytest.mark.parametrize(
    ("last", "less"),
    [
        (0, ["the office held a chain up to entry 3, and nothing of it now"]),
        (2, ["the office held a chain up to entry 3, and now only up to entry 2"]),
        (3, []),
    ],
)
def test_a_chain_that_ends_before_what_was_seen_there_is_named(last: int, less: list[str]) -> None:
    made = rows("pump", "dry", "base in")
    chain = chain_id("tern", made[0][-1])
    there = [chains.Chain(chain, "tern", 1, last, made[last - 1][-1])] if last else []
    ours = {row[-1]: row for row in made}
    found = fetch(cast("Link", NoLink()), uuid4(), there, {chain: ChainEnd(3, made[2][-1])}, ours)
    assert found.less == less
