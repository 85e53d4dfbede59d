"""Two crews, an office and its board, live: an hour offline, the server killed twice, by evening one right report."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from gradecheck.actions import Refusal
from gradecheck.office.address import Address
from gradecheck.office.connection import Link
from gradecheck.office.here import Server
from gradecheck.office.init import init
from tests.cli.asides import answered
from tests.office.servers import programs, room, running
from tests.pty.terminal import Terminal, environment
from tests.pty.test_two_crews import TEN, Crew, is_right, keyed, report_of, worked_day

POLLS = 400
"""Looks at a terminal, each a quarter of a second apart where nothing comes."""
OF_SEVEN = (
    ("2 of 7", "5 unread"),  # north read C1 and C2
    ("2 of 7", "5 unread"),  # south took that in
    ("4 of 7", "3 unread"),  # north read C3 and C7 too
    ("5 of 7", "1 out", "1 unread"),  # south C3, C4 and C5, which is 5/16 low
)
"""Of the seven points what the board says after each share of the day, worked out by hand."""
EVENING = ("1 of 7", "5 out", "1 unread")
"""The door put right moves the points by 1/4; C4 alone stays on grade."""


def says(board: Terminal, *counts: str) -> None:
    """The board comes to say that by itself; no key is pressed."""
    for _ in range(POLLS):
        if any(all(each in row for each in counts) for row in board.text().splitlines()):
            return
        board.next_output(board.pieces, 0.25)
    raise AssertionError(f"the board never said {counts}:\n{board.text()}")


class Office:
    """A server, and how each of the three gets at it."""

    def __init__(self, server: Server, at: Address, root: Path) -> None:
        self.server, self.root = server, root
        self.url = f"{at}?passfile={at.named['passfile']}"
        self.urls: dict[str, str] = {}
        self.offline: list[str] = []

    def add(self, desk: Crew, *names: str) -> None:
        """Gives the job to the office, with its laptops."""
        command = [sys.executable, "-m", "tests.faults.soak_clock", "office", "add", self.url, str(desk.job)]
        words = [word for name in names for word in ("--laptop", name)]
        subprocess.run([*command, *words, "--json"], check=True, env=environment(desk.own), capture_output=True)
        root = Path.cwd()
        for name in names:
            file = self.root / f"{name}.pgpass"
            (root / file.name).rename(file)
            self.urls[name] = f"{self.url.partition('?')[0].replace('office@', f'{name}@')}?passfile={file}"
        self.urls[desk.name] = self.url

    def share(self, crew: Crew) -> dict[str, Any]:
        """What came of a share."""
        return crew.share(self.urls[crew.name])

    def killed(self) -> None:
        """Ends the server as a power cut does, and starts it again."""
        pid = int((self.server.folder / "data" / "postmaster.pid").read_text(encoding="ascii").split()[0])
        os.kill(pid, signal.SIGKILL)
        with contextlib.suppress(ChildProcessError):
            os.waitpid(pid, 0)
        for _ in range(100):
            with contextlib.suppress(Refusal):
                self.server.start()
                return
            time.sleep(0.2)


@contextlib.contextmanager
def opened_board(desk: Crew, url: str) -> Iterator[Terminal]:
    """The board of that office, open in a terminal until the day is over."""
    command = [sys.executable, "-m", "tests.faults.soak_clock", "board", url]
    with Terminal(command, columns=100, lines=30, changes=desk.own) as terminal:
        yield terminal


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="only there is a killed server waited for")
def test_two_crews_and_an_office_have_one_right_report_by_evening(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    north, south, desk = (
        Crew(tmp_path, name, TEN + timedelta(hours=hours))
        for name, hours in (("north", 0), ("south", 1), ("desk", 0))
    )
    ctypes.CDLL(None).prctl(36, 1, 0, 0, 0)  # PR_SET_CHILD_SUBREAPER: the server is this program's to wait for
    try:
        with (
            room() as place,
            running(place / "server", programs(place)) as (server, here),
            contextlib.ExitStack() as days,
        ):
            with Link(here.address) as link:
                init(link)
            office = Office(server, here.address, tmp_path)
            office.add(desk, "north", "south")
            board = days.enter_context(opened_board(desk, office.url))
            says(board, "Teasel Wharf", "nothing recorded yet")
            shares = 0

            def share(crew: Crew) -> None:
                """The first two with the server killed before; the third in an hour without it."""
                nonlocal shares
                shares += 1
                if shares <= 2:
                    office.killed()
                elif shares == 3:
                    server.stop()
                    crew.says("share", office.urls[crew.name], code=2)  # offline, and nothing is lost
                    server.start()
                office.share(crew)
                says(board, *OF_SEVEN[shares - 1])

            worked_day(north, south, share)
            assert shares == 4
            crews = (south, north, desk)
            for crew in (*crews, *crews):
                office.share(crew)
            assert [office.share(crew)["taken in"] for crew in crews] == [0, 0, 0]
            for crew in crews:
                crew.says("verify", "--against", office.urls[crew.name])
            says(board, *EVENING)
    finally:
        ctypes.CDLL(None).prctl(36, 0, 0, 0, 0)

    reports = [report_of(crew) for crew in crews]
    assert reports[0] == reports[1] == reports[2]
    assert len({crew.says("log", "--json") for crew in crews}) == 1
    reviews = [answered(crew.says("review", "--json", code=1)) for crew in crews]
    assert reviews[0] == reviews[1] == reviews[2]
    is_right(reports[0], reviews[0], keyed())
