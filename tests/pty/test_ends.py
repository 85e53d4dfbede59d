"""However the program ends: what the screen called saved is in the journal, and the terminal is given back."""

from __future__ import annotations

import random
import signal
import time
from pathlib import Path

import pytest

from gradecheck.session.session import Session
from tests.pty.site import PROMPT, Site, ready_border, saved, saved_points
from tests.pty.terminal import Terminal, gradecheck_command
from tests.thorough import some

ALTERNATE_SCREEN_LEFT = b"\x1b[?1049l"
BEHIND_THE_PICTURE = b"\x1b[?25h"
"""The cursor shown again."""


def opened(site: Site) -> Terminal:
    """The program on that job, ready for a reading."""
    terminal = Terminal(gradecheck_command("open", str(site.folder)))
    terminal.wait_for(PROMPT)
    terminal.settle()
    return terminal


def in_the_middle(terminal: Terminal, site: Site, chance: random.Random) -> set[str]:
    """Sends some readings a few at a time, then all others at once; the points called saved before those."""
    called: set[str] = set()
    sent = 0
    for _ in range(chance.randint(2, 6)):
        few = chance.randint(1, 4)
        terminal.send(site.typing(sent, sent + few))
        sent += few
        terminal.wait_for(saved(site.points[sent - 1]))
        called |= saved_points(terminal.screen)
    terminal.send(site.typing(sent))
    time.sleep(chance.uniform(0, 0.3))  # somewhere among the commits, or within one
    return called


def check(site: Site, called: set[str]) -> int:
    """Everything called saved is there, whole, once and in order; returns how many readings there are."""
    recorded = site.recorded()
    assert recorded == site.expected(len(recorded))
    assert called <= {point for point, _ in recorded}
    return len(recorded)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(5))
def test_every_reading_called_saved_outlives_a_kill_in_mid_burst(tmp_path: Path, seed: int) -> None:
    site = ready_border(tmp_path / "job")
    with opened(site) as terminal:
        called = in_the_middle(terminal, site, random.Random(seed))
        terminal.kill()
        terminal.text()
        called |= saved_points(terminal.screen)
    kept = check(site, called)
    ids = [entry.id for entry in Session(site.folder).journal.entries()]
    assert len(set(ids)) == len(ids)

    # The next start goes on with the first point that has no reading.
    with opened(site) as terminal:
        terminal.send(site.typing(kept))
        terminal.wait_for(saved(site.points[-1]))
    assert site.recorded() == site.expected(len(site.points))


@pytest.mark.parametrize("number", some([signal.SIGTERM, signal.SIGHUP], [signal.SIGTERM]), ids=["SIGTERM", "SIGHUP"])
def test_a_polite_signal_ends_it_with_status_0_and_gives_the_screen_back(
    tmp_path: Path, number: signal.Signals
) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        terminal.signal(number)
        assert terminal.wait() == 0
        terminal.kill()
        before, left, after = terminal.output().partition(ALTERNATE_SCREEN_LEFT)
        assert left
        assert BEHIND_THE_PICTURE in after
        assert b"Traceback" not in before + after


@pytest.mark.thorough
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["SIGTERM", "SIGHUP"])
def test_a_polite_signal_in_mid_burst_loses_nothing_called_saved(tmp_path: Path, number: signal.Signals) -> None:
    site = ready_border(tmp_path / "job")
    with opened(site) as terminal:
        called = in_the_middle(terminal, site, random.Random(number))
        terminal.signal(number)
        assert terminal.wait() == 0
        terminal.kill()
        called |= saved_points(terminal.screen)
        assert ALTERNATE_SCREEN_LEFT in terminal.output()
    check(site, called)


@pytest.mark.thorough
def test_closing_the_window_ends_the_program_and_keeps_what_was_saved(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job")
    with opened(site) as terminal:
        called = in_the_middle(terminal, site, random.Random(7))
        terminal.hang_up()
        terminal.wait()
    check(site, called)


def test_the_quit_key_ends_with_status_0_and_gives_the_screen_back(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        terminal.send(site.typing(0, 3))
        terminal.wait_for(saved(site.points[2]))
        terminal.send(b"\x1b[24~")  # F12
        assert terminal.wait() == 0
        terminal.kill()
        assert ALTERNATE_SCREEN_LEFT in terminal.output()
    assert site.recorded() == site.expected(3)


@pytest.mark.parametrize("closed", [True, False], ids=["window-closed", "killed"])
def test_only_a_program_that_was_cut_off_is_told_as_such_at_the_next_start(tmp_path: Path, closed: bool) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        if closed:
            terminal.hang_up()
            terminal.wait()
    with opened(site) as terminal:
        assert ("gradecheck closed unexpectedly" in " ".join(terminal.text().split())) is not closed


def test_ctrl_c_says_how_to_leave_and_loses_nothing(tmp_path: Path) -> None:
    site = ready_border(tmp_path / "job", 20)
    with opened(site) as terminal:
        terminal.send(site.rods[0].encode() + b"\x03\x03")
        terminal.wait_for("F12 leaves")
        terminal.settle()
        assert terminal.text().count("F12 leaves") == 1
        terminal.send(b"\r")
        terminal.wait_for("P002 reads")
        assert "F12 leaves" not in terminal.text()
        terminal.send(b"\x1bOP")  # the help has no box
        terminal.settle()
        terminal.send(b"\x03")
        terminal.wait_for("F12 leaves; everything entered is")
    assert site.recorded() == site.expected(1)
