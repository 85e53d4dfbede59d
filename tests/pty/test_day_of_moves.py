"""A day on which the laser is moved twice and kicked once: however often the program ends, the log has all of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pyte
import pytest

from gradecheck.cli import main
from gradecheck.journal.facts import PlanRevised
from gradecheck.session.session import Session
from tests.pty.site import PROMPT, YARD
from tests.pty.terminal import Terminal, gradecheck_command
from tests.whole import has

JOB = "job: Sallow Court, inner yard\ndatums: {office: {mark: DOOR, reads: 100 ft}}\n" + YARD

ENTER, ESCAPE, UP = b"\r", b"\x1b", b"\x1b[A"
SET_UP, RECHECK, LOG, MARK, CORRECT, QUIT = b"\x1bOS", b"\x1b[15~", b"\x1b[17~", b"\x1b[18~", b"\x12", b"\x1b[24~"
TRUST, DATUM = b"\x0e", b"\x04"


class Day:
    """The job, and what its journal must hold by now: the kind and the text as typed of each entry."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        (folder / "job.yaml").write_text(JOB, encoding="utf-8")
        self.folder = folder
        self.kept: list[tuple[str, str]] = []
        # Wherever and whenever this runs, on site it is about ten in the morning: no midnight comes between.
        self.zone = f"SITE{datetime.now(UTC).hour - 10:+d}"

    @contextmanager
    def opened(self, shows: str, *, columns: int = 80, lines: int = 24) -> Iterator[Terminal]:
        """The program on that job once it shows that text; it is killed at the end where it has not ended by then."""
        command = gradecheck_command("open", str(self.folder))
        with Terminal(command, columns=columns, lines=lines, changes={"TZ": self.zone}) as terminal:
            terminal.wait_for(shows)
            terminal.settle()
            yield terminal
            terminal.kill()
        self.check()

    def check(self) -> None:
        """The journal is sound, and holds what was kept: nothing less and nothing more."""
        session = Session(self.folder)
        try:
            assert session.journal.verify().fault is None
            entries = session.journal.entries()
            assert [
                (each.kind, each.typed) for each in entries if not isinstance(each.fact, PlanRevised)
            ] == self.kept
        finally:
            session.close()


def key(terminal: Terminal, keys: bytes, shows: str | Callable[[pyte.Screen], bool]) -> None:
    """Types that and waits for what it shows."""
    terminal.settle(0.05)
    terminal.send(keys)
    terminal.wait_for(shows)


def quit_by_key(terminal: Terminal) -> None:
    """Leaves by the quit key."""
    terminal.settle(0.05)
    terminal.send(QUIT)
    assert terminal.wait() == 0


def taken(rod: str, found: str) -> Callable[[pyte.Screen], bool]:
    """For `key`: whether the panel calls that reading saved, and says what was found."""

    def seen(screen: pyte.Screen) -> bool:
        text = "\n".join(screen.display)
        return " saved " in text and f"read {rod} · " in text and f"found {found}" in text

    return seen


def chosen(screen: pyte.Screen) -> str:
    """The line of the chosen entry."""
    return next((" ".join(line.split()) for line in screen.display if line.startswith(">")), "")


def choose(terminal: Terminal, told: str) -> None:
    """Goes up in the log to the entry with those words."""
    for _ in range(60):
        terminal.settle(0.05)  # a row half drawn does not have its words yet
        before = chosen(terminal.screen)
        if told in before:
            return
        terminal.send(UP)
        terminal.wait_for(lambda screen, before=before: chosen(screen) not in ("", before))
    raise AssertionError(terminal.text())


@pytest.fixture
def day(tmp_path: Path) -> Day:
    """The job before anything has happened."""
    return Day(tmp_path / "sallow-court")


@pytest.mark.thorough
def test_a_day_of_moves_loses_nothing_and_is_told_in_order(day: Day, capsys: pytest.CaptureFixture[str]) -> None:
    morning(day)
    to_the_second_place(day)
    to_the_third_place(day)
    kicked(day)
    doubts_answered(day)
    another_zero(day)
    a_backsight_put_right(day)
    with day.opened(PROMPT, columns=120, lines=60) as terminal:
        key(terminal, LOG, "log of yard")
        terminal.settle()
        lines = [" ".join(line.split()) for line in terminal.text().splitlines()]
    rows = [found[1] for line in lines if (found := re.fullmatch(r">? ?\d+x? \d\d-\d\d \d\d:\d\d RK (.*)", line))]
    assert re.fullmatch("plan plan [0-9a-f]{8} accepted", rows[0])
    assert rows[1:] == STORY
    assert main(["log", str(day.folder)]) == 0
    assert [int(line[:5]) for line in capsys.readouterr().out.splitlines()] == list(range(1, len(rows) + 1))
    assert main(["verify", str(day.folder)]) == 0
    assert capsys.readouterr().out.startswith(f"Sound: {len(rows)} entries")


STORY = [
    "cautions 6 cautions read",
    "backsight on DOOR, site rod DOOR=50",
    "backsight on CURB, site rod CURB=62",
    "setup on DOOR, CURB, site rod DOOR=50 CURB=62",
    "reading C1 finish 51 ON GRADE",
    "reading C2 finish 51-1/2 ON GRADE",
    "mark TP1 58",
    "moved a new setup was begun",
    "backsight on DOOR, site rod DOOR=40",
    "backsight on TP1, site rod TP1=48",
    "setup on DOOR, TP1, site rod DOOR=40 TP1=48",
    "reading C3 finish 42 ON GRADE",
    "reading C4 finish 42-1/2 ON GRADE",
    "moved a new setup was begun",
    "backsight on CURB, site rod CURB=57-1/8",
    "backsight on TP1, site rod TP1=53",
    "setup on CURB, TP1, site rod CURB=57 1/8… now no. 29",
    "reading C5 finish 48 ? ON GRADE",
    "reading C6 finish (questioned) 48-3/8 ON GRADE, was CUT 3/16",
    "recheck CURB off by −15/16 58 FAILED",
    "moved a new setup was begun",
    "backsight on DOOR, site rod DOOR=47",
    "backsight on CURB, site rod CURB=59",
    "setup on DOOR, CURB, site rod DOOR=47 CURB=59",
    "reading C5 finish 49-7/8 ON GRADE",
    "doubt 1 reading trusted: taped from the wall, agrees",
    "datum shown from office",
    "setup corrects 18: on CURB, TP1, site rod CURB=57 TP1=53",
]
"""The day as the Log screen tells it, a line an entry, behind the plan that was taken over."""


def morning(day: Day) -> None:
    """The cautions, a setup on two marks, two readings, and a turning point before the first move."""
    with day.opened("Read and understood?"):
        pass
    with day.opened("Read and understood?") as terminal:
        key(terminal, b"RK\r", "DOOR: what does the site rod")
        key(terminal, b"50\r", "CURB: what does the site rod")
        day.kept += [("cautions", ""), ("backsight", "DOOR=50")]
    # The cautions are not asked for twice, and the setup goes on where it was left.
    with day.opened("CURB: what does the site rod") as terminal:
        assert "Setup isn't finished" in terminal.text()
        key(terminal, b"62\r", "They agree exactly")
        key(terminal, ENTER, "C1: the rod should read 51")
        key(terminal, b"51\r", taken("51 in", "−1 in"))
        key(terminal, b"51-1/2\r", taken("51 1/2 in", "−1 1/2 in"))
        key(terminal, MARK, "New mark TP1: what does the rod read there?")
        terminal.send(b"58")  # and the battery is dead before Enter
        terminal.settle()
        day.kept += [("backsight", "CURB=62"), ("set-up", ""), ("reading", "51"), ("reading", "51-1/2")]
    with day.opened("C3: the rod should read 52") as terminal:
        key(terminal, MARK, "New mark TP1: what does the rod read there?")
        key(terminal, b"58\r", "TP1 is a mark.")
        assert "TP1 = DOOR 0 + 50 − 58 = −8 in" in terminal.text()
        day.kept += [("mark", "TP1=58")]


def to_the_second_place(day: Day) -> None:
    """The first move is killed half way, and goes on with another mark."""
    with day.opened("C3: the rod should read 52") as terminal:
        key(terminal, SET_UP, "It is replaced by the first backsight entered here.")
        key(terminal, b"40\r", "CURB: what does the site rod")
        day.kept += [("moved", "a new setup was begun"), ("backsight", "DOOR=40")]
    with day.opened("CURB: what does the site rod") as terminal:
        key(terminal, ESCAPE, "Was the laser moved?")
        key(terminal, ESCAPE, "C3: no setup.")
        key(terminal, b"42\r", "The laser was moved; finish the new setup before you read on.")
        key(terminal, ESCAPE, "“42” was not entered.")
        key(terminal, SET_UP, "CURB: what does the site rod")
        key(terminal, b"tp1\r", "TP1: what does the site rod")
        key(terminal, b"48\r", "They agree exactly")
        key(terminal, ENTER, "C3: the rod should read 42")
        key(terminal, b"42\r", taken("42 in", "−2 in"))
        key(terminal, b"42-1/2\r", taken("42 1/2 in", "−2 1/2 in"))
        day.kept += [("backsight", "TP1=48"), ("set-up", ""), ("reading", "42"), ("reading", "42-1/2")]


def to_the_third_place(day: Day) -> None:
    """The second move is left half way; one backsight is keyed wrong, by too little to be noticed."""
    with day.opened("C5: the rod should read 43") as terminal:
        key(terminal, SET_UP, "It is replaced by the first backsight entered here.")
        key(terminal, b"curb\r", "CURB: what does the site rod")
        key(terminal, b"57-1/8\r", "One benchmark only: no check on this setup.")
        quit_by_key(terminal)
        day.kept += [("moved", "a new setup was begun"), ("backsight", "CURB=57-1/8")]
    with day.opened("DOOR: what does the site rod") as terminal:
        key(terminal, b"tp1\r", "TP1: what does the site rod")
        key(terminal, b"53\r", "They agree within 1/8 in (allowed 1/8 in)")
        key(terminal, ENTER, "C5: the rod should read 48 1/16")
        key(terminal, b"48\r", taken("48 in", "−2 15/16 in"))
        key(terminal, b"48-3/8\r", "another fraction of the inch: slip? * strikes it · read 48 3/8 in")
        day.kept += [("backsight", "TP1=53"), ("set-up", ""), ("reading", "48"), ("reading", "48-3/8")]


def kicked(day: Day) -> None:
    """A recheck fails; the program ends before the figure, behind it, and on the list of what is in doubt."""
    with day.opened(PROMPT) as terminal:
        key(terminal, RECHECK, "CURB: what does the rod read there now?")
        terminal.send(b"58")
        terminal.settle()
    with day.opened(PROMPT) as terminal:
        key(terminal, RECHECK, "CURB: what does the rod read there now?")
        key(terminal, b"58\r", "CURB is OFF BY")
        assert "2 readings in doubt" in terminal.text()
        day.kept += [("recheck", "CURB=58")]
    with day.opened("The laser may have moved since the last setup.") as terminal:
        key(terminal, ESCAPE, "2 IN DOUBT")
        key(terminal, TRUST, "Why can they be trusted?")
        terminal.send(b"taped")
        terminal.settle()
    with day.opened("The laser may have moved since the last setup.") as terminal:
        key(terminal, b"47\r", "CURB: what does the site rod")
        quit_by_key(terminal)
        day.kept += [("moved", "a new setup was begun"), ("backsight", "DOOR=47")]


def doubts_answered(day: Day) -> None:
    """From the new place one point is read again, the other is trusted with a reason."""
    with day.opened("CURB: what does the site rod") as terminal:
        key(terminal, b"59\r", "They agree exactly")
        key(terminal, ENTER, "2 IN DOUBT")
        key(terminal, b"c5\r", "C5: the rod should read 50")
        key(terminal, b"49-7/8\r", "1 IN DOUBT")
        key(terminal, TRUST, "Why can they be trusted?")
        assert re.search("C6 +finish +read 48 3/8 in +CUT 3/16", terminal.text())
        assert "C5 " not in terminal.text()
        day.kept += [("backsight", "CURB=59"), ("set-up", ""), ("reading", "49-7/8")]
    with day.opened("1 IN DOUBT") as terminal:
        key(terminal, TRUST, "Why can they be trusted?")
        key(terminal, b"taped from the wall, agrees\r", PROMPT)
        assert "IN DOUBT" not in terminal.text()
        day.kept += [("doubt", "taped from the wall, agrees")]


def another_zero(day: Day) -> None:
    """Elevations are shown from the office's zero, and still are at the next start."""
    with day.opened(PROMPT) as terminal:
        key(terminal, DATUM, "from office")
        terminal.wait_for("target 1196")
        day.kept += [("datum", "office")]
    with day.opened("from office") as terminal:
        assert has(terminal.text(), "target 1196")


def a_backsight_put_right(day: Day) -> None:
    """The wrong backsight is found in the log; seeing what it would change changes nothing."""
    with day.opened(PROMPT) as terminal:
        to_the_wrong_backsight(terminal)
    with day.opened(PROMPT) as terminal:
        to_the_wrong_backsight(terminal)
        key(terminal, ENTER, "corrects 18")
        day.kept += [("set-up", "CURB=57")]


def to_the_wrong_backsight(terminal: Terminal) -> None:
    """Goes there in the log and keys what is right, but does not accept it."""
    key(terminal, LOG, "log of yard")
    terminal.settle()
    choose(terminal, "CURB=57-1/8")
    key(terminal, CORRECT, "reading on CURB?")
    key(terminal, b"57\r", "1 point moves, at most by −1/16 in; 1 verdict")
