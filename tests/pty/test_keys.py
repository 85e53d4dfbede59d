"""Keys that come faster than any screen: every reading whole, in order and on its point, or not at all."""

from __future__ import annotations

import contextlib
import signal
import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gradecheck.journal.file import PATIENCE
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.session.session import Session
from tests.pty.site import PROMPT, Site, long_border, make_ready, ready_border, saved, saved_points
from tests.pty.terminal import Terminal, gradecheck_command
from tests.thorough import some

F4 = b"\x1bOS"
ALTERNATE_SCREEN = b"\x1b[?1049h"
READING_KEYS = b"\x1b[?2004h"
"""What the program writes once it has begun to read keys, shortly before its first picture."""
HEADING = "should read"
"""In the heading of the table: with it the first picture is there, whatever the line above the box says."""


def opened(site: Site) -> Terminal:
    """The program on that job, ready for a reading."""
    terminal = Terminal(gradecheck_command("open", str(site.folder)))
    terminal.wait_for(PROMPT)
    terminal.settle()
    return terminal


def typed(site: Site) -> list[str]:
    """Every text in the journal that came from the keys."""
    session = Session(site.folder)
    try:
        return [entry.typed for entry in session.journal.entries() if entry.typed]
    finally:
        session.close()


# -- bursts


@pytest.mark.thorough
def test_two_hundred_readings_in_one_write_are_booked_right_and_in_order(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job", 220)
    with opened(site) as terminal:
        terminal.send(site.typing(0, 200))
        terminal.wait_for(saved(site.points[199]))
    assert site.recorded() == site.expected(200)


def _in_protocol(site: Site) -> bytes:
    """Each key as an escape sequence of its own, the way newer terminals tell them apart."""
    return b"".join(b"\x1b[13u" if key == 13 else b"\x1b[%d;;%du" % (key, key) for key in site.typing())


def _on_the_pad(site: Site) -> bytes:
    """The keys of a number pad with its lock on, as newer terminals send them."""
    pad = {ord(str(digit)): 57399 + digit for digit in range(10)} | {ord("/"): 57410, ord("-"): 57412}
    return b"".join(
        b"\x1b[57414;129u" if key == 13 else b"\x1b[%d;129;%du" % (pad[key], key) for key in site.typing()
    )


def _pad_enter(site: Site) -> bytes:
    """Enter of a number pad that sends keys of its own."""
    return site.typing().replace(b"\r", b"\x1bOM")


def _pasted(site: Site) -> bytes:
    """Each reading pasted, then Enter."""
    return b"".join(b"\x1b[200~%s\x1b[201~\r" % rod.encode() for rod in site.rods)


def _corrected(site: Site) -> bytes:
    """A wrong digit taken back with Backspace before each reading, one behind it with Left and Delete."""
    return b"".join(b"9\x7f%s8\x1b[D\x1b[3~\r" % rod.encode() for rod in site.rods)


@pytest.mark.thorough
@pytest.mark.parametrize("keyed", [_in_protocol, _on_the_pad, _pad_enter, _pasted, _corrected])
def test_a_burst_is_booked_right_however_the_keys_are_sent(tmp_path: Path, keyed: Callable[[Site], bytes]) -> None:
    site = ready_border(tmp_path / "job", 40)
    with opened(site) as terminal:
        terminal.send(keyed(site))
        terminal.wait_for(saved(site.points[-1]))
    assert site.recorded() == site.expected(40)


@pytest.mark.thorough
def test_a_burst_goes_on_behind_a_name_that_goes_to_another_point(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job", 60)
    with opened(site) as terminal:
        terminal.send(site.typing(0, 10) + b"p031\r" + site.typing(30, 40))
        terminal.wait_for(saved(site.points[39]))
    assert site.recorded() == site.expected(10) + site.expected(40)[30:]


# -- while the journal is busy


def test_keyed_while_the_journal_is_busy_it_is_taken_in_order(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        terminal.send(site.typing(0, 1))
        terminal.wait_for(saved(site.points[0]))
        with another_window_writing(site):
            terminal.send(site.typing(1, 2) + site.rods[2].encode())
            # Well within the time that the program waits for the other window.
            terminal.wait_for(
                lambda screen: screen.display[-2].partition("reads")[2].strip() == site.rods[2], PATIENCE / 2
            )
            assert saved_points(terminal.screen) == {site.points[0]}
        terminal.send(b"\r")
        terminal.wait_for(saved(site.points[2]))
    assert site.recorded() == site.expected(3)


@contextlib.contextmanager
def another_window_writing(site: Site) -> Iterator[None]:
    """Holds the journal, as a slow disk or another window would."""
    with contextlib.closing(sqlite3.connect(site.folder / JOURNAL_NAME, isolation_level=None)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("ROLLBACK")


# -- keys for a screen that nobody has seen yet


def typed_through_the_start(terminal: Terminal, keys: bytes) -> None:
    """Types key after key from the moment the program can hear until a little behind its first picture."""
    while ALTERNATE_SCREEN not in terminal.output():
        time.sleep(0.001)
    left = 60
    for key in keys:
        terminal.send(bytes([key]))
        time.sleep(0.001)
        left -= HEADING.encode() in terminal.output()
        if not left:
            return
    raise AssertionError("there were not enough keys to type until the first picture came")


@pytest.mark.parametrize("attempt", some(range(5), [0]))
def test_no_part_of_a_figure_keyed_through_the_start_becomes_a_reading(tmp_path: Path, attempt: int) -> None:
    site = long_border(tmp_path / "job")
    # So low that a figure that lost its beginning is as likely as a whole one, and nothing asks about it.
    make_ready(site.folder, backsight="5/16")
    with Terminal(gradecheck_command("open", str(site.folder))) as terminal:
        typed_through_the_start(terminal, b"1-1/2\r" * 1000)
        terminal.settle()
    assert set(typed(site)) <= {"SILL=5/16", "1-1/2"}


@pytest.mark.thorough
@pytest.mark.parametrize("heard", [ALTERNATE_SCREEN, READING_KEYS], ids=["screen-taken", "reading-keys"])
def test_readings_keyed_before_the_first_picture_land_right_or_nowhere(tmp_path: Path, heard: bytes) -> None:
    site = ready_border(tmp_path / "job", 30)
    with stopped_before_its_first_picture(site, heard) as terminal:
        terminal.send(site.typing(0, 20))
        terminal.signal(signal.SIGCONT)
        terminal.wait_for(HEADING)
        terminal.settle()
    recorded = site.recorded()
    assert recorded == site.expected(len(recorded))


def stopped_before_its_first_picture(site: Site, heard: bytes) -> Terminal:
    """The program held still between what it just wrote and its first picture, however quick the machine is."""
    for _ in range(50):
        terminal = Terminal(gradecheck_command("open", str(site.folder)))
        while heard not in terminal.output():
            time.sleep(0.001)
        terminal.signal(signal.SIGSTOP)
        if HEADING.encode() not in terminal.output():
            return terminal
        terminal.close()  # it was quicker than the signal
    raise AssertionError("the program could not be stopped before its first picture in 50 starts")


@pytest.mark.thorough
@pytest.mark.parametrize("pause", [0.0, 0.006, 0.012, 0.024, 0.048])
def test_a_figure_behind_the_setup_key_is_whole_or_nothing(tmp_path: Path, pause: float) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        terminal.send(F4)
        time.sleep(pause)
        for key in b"48-11/16\r":
            terminal.send(bytes([key]))
            time.sleep(0.008)
        terminal.settle()
    sights = [text for text in typed(site) if "=" in text]
    assert sights in (["SILL=50"], ["SILL=50", "SILL=48-11/16"])
    assert site.recorded() == []


def test_a_morning_keyed_faster_than_its_screens_is_recorded_whole(tmp_path: Path) -> None:
    site = long_border(tmp_path / "job", 20)
    with Terminal(gradecheck_command("open", str(site.folder))) as terminal:
        terminal.wait_for("Read and understood?")
        terminal.settle()
        for key in b"RK\r50-1/16\r\r" + b"50-3/16\r" * 3:
            terminal.send(bytes([key]))
            time.sleep(0.004)
        terminal.settle()
    assert {text.removeprefix("SILL=") for text in typed(site)} <= {"50-1/16", "50-3/16", "RK"}
