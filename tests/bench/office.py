"""Measured at a server: sending with all checks beside a bare COPY of the same rows, and many laptops at once.

`python -m tests.bench.office` prints the curve of laptops too.
"""

from __future__ import annotations

import contextlib
import dataclasses
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from uuid import UUID, uuid4

from gradecheck.journal.chain import START, Row, hashed_bytes, to_row
from gradecheck.journal.facts import Note
from gradecheck.office.address import Address
from gradecheck.office.chains import ChainPiece, chain_id, send
from gradecheck.office.connection import Link
from gradecheck.office.here import Here, write_private
from gradecheck.office.init import init
from tests.bench.measure import Measure, milliseconds, paired
from tests.journal.drafts import draft
from tests.office.servers import programs, room, running

ROWS = 10_000
LONG = 360
"""Letters with which a note takes as many bytes as a reading, 630."""
LAPTOPS, EACH = (1, 2, 5, 10, 25, 50), 4_000


def measure(rounds: int, rows: int = ROWS) -> list[Measure]:
    """So many entries sent both ways in every round."""
    with _server() as here, Link(here.address) as link:
        bare = "create table public.bare (job uuid, chain uuid, number int8, hash bytea, content bytea, primary key"
        link.rows(f"{bare} (job, chain, number))")
        made = rows_of(rows)
        sent, copied = [], []
        for turn in range(rounds + 1):
            one = _seconds(lambda: _sent(link, made))
            other = _seconds(lambda: _copied(link, made))
            if turn:
                sent.append(one)
                copied.append(other)
    what = f"{rows:,} entries sent to an office, checked / a bare COPY as text"
    return [Measure(23, what, paired(sent, copied), 2, 2, f"{milliseconds(sent)} / {milliseconds(copied)}")]


def rows_of(count: int) -> list[Row]:
    """So many rows as long as a reading's."""
    rows: list[Row] = []
    previous = START
    for number in range(1, count + 1):
        fact = Note("walk", f"{number:>{LONG}}")
        rows.append(to_row(draft(fact, f"r{number}", minutes=number), number, previous))
        previous = rows[-1][-1]
    return rows


@contextlib.contextmanager
def _server() -> Iterator[Here]:
    with room() as place, running(place / "server", programs(place)) as (_, here):
        with Link(here.address) as link:
            init(link)
        yield here


def _new_job(link: Link) -> UUID:
    job = uuid4()
    link.rows("insert into gradecheck.job (job, name) values (%s, 'measured')", (job,))
    return job


def _sent(link: Link, rows: Sequence[Row]) -> None:
    send(link, _new_job(link), piece_of(link.user, rows))


def piece_of(role: str, rows: Sequence[Row]) -> ChainPiece:
    """All of them as one chain of that role."""
    return ChainPiece(chain_id(role, rows[0][-1]), list(rows), (rows[0][-1], None, 1, START))


def _copied(link: Link, rows: Sequence[Row]) -> None:
    job, chain = uuid4(), uuid4()
    with link.step(), link.connection.cursor() as cursor, cursor.copy("copy public.bare from stdin") as copy:
        for row in rows:
            copy.write_row((job, chain, row[0], bytes.fromhex(row[-1]), hashed_bytes(row[:-1])))


def _seconds(what: Callable[[], object]) -> float:
    began = time.perf_counter()
    what()
    return time.perf_counter() - began


def curve(laptops: Sequence[int] = LAPTOPS, each: int = EACH) -> Iterator[str]:
    """So many laptops at once, each with so many entries of its own: entries a second, and how long one waits."""
    with _server() as here:
        passwords = here.passwords.with_name("laptops.passwords")
        write_private(passwords, "*:*:*:*:plumb-line\n")
        made = rows_of(each)
        with Link(here.address) as link:
            for number in range(max(laptops)):
                link.new_role(f"laptop{number}", "plumb-line", "gradecheck_laptop")
            for many in laptops:
                job = _new_job(link)
                for number in range(many):
                    link.rows("insert into gradecheck.member (job, role) values (%s, %s)", (job, f"laptop{number}"))
                waits: list[float] = []
                ats = [
                    dataclasses.replace(here.address, user=f"laptop{number}", named={"passfile": str(passwords)})
                    for number in range(many)
                ]
                threads = [threading.Thread(target=_laptop, args=(at, job, made, waits)) for at in ats]
                took = _seconds(partial(_run, threads))
                [(there,)] = link.rows("select count(*) from gradecheck.entry where job = %s", (job,))
                assert there == many * each
                yield (
                    f"{many:>3} laptops at once: {many * each:>8,} entries in {took:5.1f} s, "
                    f"{many * each / took:>7,.0f} a second, a laptop waits {max(waits):.2f} s at most"
                )


def _laptop(at: Address, job: UUID, rows: Sequence[Row], waits: list[float]) -> None:
    began = time.perf_counter()
    with Link(at) as own:
        send(own, job, piece_of(at.user, rows))
    waits.append(time.perf_counter() - began)


def _run(threads: Sequence[threading.Thread]) -> None:
    for each in threads:
        each.start()
    for each in threads:
        each.join()


def main() -> None:
    """Measures and prints."""
    for each in measure(9):
        print(f"{each.what}: {each.ratio:.2f} ({each.note})")
    for line in curve():
        print(line, flush=True)


if __name__ == "__main__":
    main()
