"""Shares with an office cut short: the connection at any byte, backend, server, client; then tried once more."""

from __future__ import annotations

import contextlib
import ctypes
import dataclasses
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from gradecheck.actions import Action, Refusal
from gradecheck.journal.chain import Row
from gradecheck.journal.facts import Note
from gradecheck.office import chains, connection, share
from gradecheck.office.address import Address
from gradecheck.office.confirmed import Confirmed, keep
from gradecheck.office.connection import BrokenOffError, Link, Waits
from gradecheck.office.here import Here, Server, write_private
from gradecheck.office.init import init
from gradecheck.session.session import Session
from gradecheck.system.settings import remember
from tests.faults.figures import Figures
from tests.faults.relay import CLOSED, RESET, SILENT, Cut, Relay
from tests.office.servers import programs, room, running

NAME = "office"
QUICK, LONG = 21, 1_000
CONTROLS = 12
TOLD_EACH = 50
"""Shares after which it says how far it is; the long form takes half an hour."""
ENTRIES, IN_A_BATCH = 30, 10
ROLE, PASSWORD = "north", "plumb-line"
WAITS = Waits(connect=2, statement=3, lock=1, idle=1, answer=0.8)
BOUND = 30.0
"""Seconds for one share, cut and tried again as often as it is; a server that was killed takes some to come back."""
WRONG = ("lost", "doubled", "out of chain", "waited too long", "not shared in the end")
JOB = """\
job: Wickering Yard
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas: {walk: {points: {W1: -3}}}
"""


class Site:
    """A server behind a relay, and a log of so many entries that is shared with a new job each time."""

    def __init__(self, root: Path, server: Server, here: Here) -> None:
        self.root, self.server, self.here = root, server, here
        self.relay = Relay(int(here.address.port))
        passwords = here.passwords.with_name("north.passwords")
        write_private(passwords, f"*:*:*:*:{PASSWORD}\n")
        with Link(here.address) as link:
            init(link)
            link.new_role(ROLE, PASSWORD, "gradecheck_laptop")
        self.north = Address("127.0.0.1", str(self.relay.port), ROLE, "postgres", {"passfile": str(passwords)})
        self.log = root / "log"
        self.log.mkdir(parents=True)
        (self.log / "job.yaml").write_text(JOB, encoding="utf-8")
        with contextlib.closing(Session(self.log, by="RK", laptop=ROLE)) as session:
            for number in range(ENTRIES - session.seq):
                session.record(Action(Note(None, f"{number} {'x' * 300}")))
        self.seconds = 0.0
        """What a share takes that nothing goes wrong with."""

    @contextlib.contextmanager
    def share(self, number: str) -> Iterator[Share]:
        """A copy of the log, and a new job at the office for it."""
        folder = self.root / number
        shutil.copytree(self.log, folder)
        remember(folder)
        job = uuid4()
        with self.asking() as link:
            link.rows("insert into gradecheck.job (job, name) values (%s, %s)", (job, number))
            link.rows("insert into gradecheck.member (job, role) values (%s, %s)", (job, ROLE))
        keep(folder, self.north, Confirmed(job))
        try:
            yield Share(self, folder, job)
        finally:
            shutil.rmtree(folder)

    @contextlib.contextmanager
    def asking(self) -> Iterator[Link]:
        """A link past the relay, once the server is there."""
        until = time.monotonic() + BOUND
        while True:
            try:
                link = Link(self.here.address)
                break
            except BrokenOffError:
                if time.monotonic() > until:
                    raise
                time.sleep(0.1)
        with link:
            yield link

    def kill(self) -> None:
        """Kills the server as a whole, and starts it again."""
        pid = int((self.server.folder / "data" / "postmaster.pid").read_text(encoding="ascii").split()[0])
        os.kill(pid, signal.SIGKILL)
        with contextlib.suppress(ChildProcessError):
            os.waitpid(pid, 0)  # until it is gone, `pg_ctl` takes it for one that runs
        for _ in range(100):  # until its old backends are gone, and with them the memory they shared
            with contextlib.suppress(Refusal):
                self.server.start()
                return
            time.sleep(0.2)


@dataclasses.dataclass
class Share:
    """One share."""

    site: Site
    folder: Path
    job: UUID

    def once(self) -> str:
        """Shares; why not, where it could not."""
        with contextlib.closing(Session(self.folder, by="RK", laptop=ROLE)) as session:
            try:
                share.share(session, self.site.north)
            except Refusal as wrong:
                return str(wrong)
        return ""

    def look(self, counts: Counter[str]) -> None:
        """Holds what is on the server against the log, entry by entry."""
        with contextlib.closing(Session(self.folder, by="RK", laptop=ROLE)) as session:
            rows = session.journal.rows()
        with self.site.asking() as link:
            query = "select number, hash, content from gradecheck.entry where job = %s order by number, hash"
            there = [(number, digest.hex(), content) for number, digest, content in link.rows(query, (self.job,))]
        held = Counter((number, digest) for number, digest, _ in there)
        counts["entries"] += len(rows)
        counts["lost"] += sum(not held[row[0], row[-1]] for row in rows)
        counts["doubled"] += sum(often - 1 for often in held.values())
        counts["out of chain"] += len(held.keys() - {(row[0], row[-1]) for row in rows})
        counts["out of chain"] += sum(
            content[-66:-2].decode() != before for (_, _, content), before in zip(there, _before(rows), strict=False)
        )


def _before(rows: list[Row]) -> list[str]:
    return [row[-2] for row in rows]


# -- what happens


def _cut(how: str) -> Callable[[Site, Share, random.Random, dict[bool, int]], None]:
    def happen(site: Site, one: Share, draw: random.Random, total: dict[bool, int]) -> None:
        site.relay.counted = {True: 0, False: 0}
        to_server = draw.random() < 0.5
        site.relay.cut = Cut(how, to_server, draw.randrange(total[to_server]))
        one.once()
        site.relay.cut = None

    return happen


def _backend(query: str) -> Callable[[Site, Share, random.Random, dict[bool, int]], None]:
    def happen(site: Site, one: Share, draw: random.Random, _total: dict[bool, int]) -> None:
        with _later(site, draw, lambda: _end_backend(site, query)):
            one.once()

    return happen


def _end_backend(site: Site, how: str) -> None:
    with contextlib.suppress(BrokenOffError), Link(site.here.address) as link:
        query = "select pid from pg_stat_activity where usename = %s"
        for (pid,) in link.rows(query, (ROLE,)):
            if how == "killed":
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            else:
                link.rows("select pg_terminate_backend(%s)", (pid,))


def _server(site: Site, one: Share, draw: random.Random, _total: dict[bool, int]) -> None:
    with _later(site, draw, site.kill):
        one.once()


def _client(site: Site, one: Share, draw: random.Random, _total: dict[bool, int]) -> None:
    words = [
        sys.executable,
        "-m",
        "tests.faults.office",
        str(one.folder),
        *map(str, (site.relay.port, site.north.named["passfile"])),
    ]
    child = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    with child:
        assert child.stdout is not None
        assert child.stdin is not None
        child.stdout.readline()  # it is open
        child.stdin.write(b"\n")
        child.stdin.flush()
        time.sleep(draw.uniform(0, site.seconds))
        child.kill()


@contextlib.contextmanager
def _later(site: Site, draw: random.Random, act: Callable[[], None]) -> Iterator[None]:
    timer = threading.Timer(draw.uniform(0, site.seconds), act)
    timer.start()
    try:
        yield
    finally:
        timer.join()


HAPPENINGS = {
    CLOSED: _cut(CLOSED),
    RESET: _cut(RESET),
    SILENT: _cut(SILENT),
    "backend ended": _backend("ended"),
    "backend killed": _backend("killed"),
    "server killed": _server,
    "client killed": _client,
}


def run(folder: Path, runs: int, seed: int) -> list[Figures]:
    """So many shares, each cut once; and as a control one that sends without a key and asks for nothing."""
    with pytest.MonkeyPatch.context() as patch, room() as place:
        patch.setenv("GRADECHECK_SETTINGS", str(folder / "settings"))
        patch.setattr(connection, "WAITS", WAITS)
        patch.setattr(chains, "MOST_ROWS", IN_A_BATCH)
        patch.setattr(share, "BETWEEN", 0.1)
        _adopt_orphans(1)
        with running(place / "server", programs(place)) as (server, here):
            site = Site(folder, server, here)
            try:
                return [_shares(site, runs, seed), _keyless(site, CONTROLS, seed)]
            finally:
                site.relay.close()
                _adopt_orphans(0)


def _adopt_orphans(on: int) -> None:
    """A server that was started by a program that ended is this program's own child, and waited for when killed."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(36, on, 0, 0, 0)  # PR_SET_CHILD_SUBREAPER


def _shares(site: Site, runs: int, seed: int) -> Figures:
    counts = Counter(dict.fromkeys(("shares", *HAPPENINGS, "entries", *WRONG), 0))
    slowest, example = 0.0, ""
    total = _clean(site)
    for number in range(runs):
        draw = random.Random(f"{seed}/{number}")
        name = list(HAPPENINGS)[number % len(HAPPENINGS)]
        before = sum(counts[each] for each in WRONG)
        with site.share(str(number)) as one:
            began = time.monotonic()
            HAPPENINGS[name](site, one, draw, total)
            while (why := one.once()) and time.monotonic() < began + BOUND:
                time.sleep(0.2)
            if why:
                counts["not shared in the end"] += 1
                example = example or f"seed {seed}, share {number} ({name}): {why}"
            took = time.monotonic() - began
            counts["waited too long"] += took > BOUND
            slowest = max(slowest, took)
            one.look(counts)
        counts["shares"] += 1
        counts[name] += 1
        if sum(counts[each] for each in WRONG) > before:
            example = example or f"seed {seed}, share {number} ({name})"
        if not counts["shares"] % TOLD_EACH:
            so_far = ", ".join(f"{counts[each]:,} {each}" for each in ("shares", "entries", *WRONG))
            print(f"{so_far}, slowest {slowest:.1f} s{example and f'; {example}'}", file=sys.stderr, flush=True)
    counts["slowest, ms"] = round(1000 * slowest)
    return Figures(NAME, "shares cut short", dict(counts), sum(counts[each] for each in WRONG), example=example)


def _clean(site: Site) -> dict[bool, int]:
    """Bytes each way of a share that nothing goes wrong with, and how long it takes."""
    for name in ("first", "clean"):
        with site.share(name) as one:
            site.relay.counted = {True: 0, False: 0}
            began = time.monotonic()
            assert not one.once()
            site.seconds = time.monotonic() - began
    return dict(site.relay.counted)


def _keyless(site: Site, runs: int, seed: int) -> Figures:
    """Entries are put into a table without a key, once more where the answer did not come."""
    counts = Counter(shares=0, doubled=0)
    query = "insert into public.keyless select %s, * from unnest(%s::bigint[], %s::bytea[])"
    with site.asking() as link:
        link.rows("create table public.keyless (job uuid, number bigint, hash bytea)")
        link.rows(f"grant insert on public.keyless to {ROLE}")
    numbers = list(range(1, ENTRIES + 1))
    for number in range(runs):
        draw, job = random.Random(f"{seed}/{number}"), uuid4()
        values = (job, numbers, [bytes([each] * 32) for each in numbers])
        site.relay.counted = {True: 0, False: 0}
        with Link(site.north) as link:
            before = site.relay.counted[False]
            with link.together():
                link.rows(query, (uuid4(), *values[1:]))
            site.relay.cut = Cut(
                CLOSED, False, site.relay.counted[False] + draw.randrange(site.relay.counted[False] - before)
            )
            with contextlib.suppress(BrokenOffError), link.together():
                link.rows(query, values)
        with Link(site.north) as link:
            link.rows(query, values)
        with site.asking() as link:
            [(there,)] = link.rows("select count(*) from public.keyless where job = %s", (job,))
        counts["shares"] += 1
        counts["doubled"] += there > ENTRIES
    return Figures(
        NAME, "sent without a key, and again where no answer came", dict(counts), counts["doubled"], control=True
    )


def main() -> None:
    """One share in a process of its own, begun when it is told to."""
    folder, port, passwords = sys.argv[1:]
    at = Address("127.0.0.1", port, ROLE, "postgres", {"passfile": passwords})
    chains.MOST_ROWS = IN_A_BATCH
    with contextlib.closing(Session(Path(folder), by="RK", laptop=ROLE)) as session:
        print("open", flush=True)
        sys.stdin.readline()
        share.share(session, at)


if __name__ == "__main__":
    main()
