"""A flood through a real terminal: memory stays, the screen says a word, and the next reading is taken."""

from __future__ import annotations

import os
from pathlib import Path

import psutil
import pytest

from tests.pty.site import ready_border, saved
from tests.pty.terminal import Terminal
from tests.pty.test_keys import opened

MEGABYTE = 1_000_000


def pour(terminal: Terminal, text: bytes) -> None:
    """Writes all of it, as fast as the program takes it."""
    while text:
        text = text[os.write(terminal.master, text[:4096]) :]


@pytest.mark.parametrize(
    ("flood", "says"),
    [
        pytest.param(
            b"\x1b[200~" + b"53 " * (MEGABYTE // 3) + b"\x1b[201~",
            "Too long",
            id="pasted",
            marks=pytest.mark.thorough,
        ),
        pytest.param(b"7" * 200_000, "came at once", id="keyed", marks=pytest.mark.thorough),
        pytest.param(b"7/\r" * 70_000, "came at once", id="lines", marks=pytest.mark.thorough),
    ],
)
def test_a_flood_costs_little_and_the_next_reading_is_taken(tmp_path: Path, flood: bytes, says: str) -> None:
    site = ready_border(tmp_path / "job", 3)
    with opened(site) as terminal:
        program = psutil.Process(terminal.pid)
        memory, spent = program.memory_info().rss, sum(program.cpu_times()[:2])
        pour(terminal, flood)
        terminal.wait_for(says)
        terminal.settle(0.5)
        assert program.memory_info().rss - memory < 120_000_000
        assert sum(program.cpu_times()[:2]) - spent < 15, "seconds of computing, whatever else the machine does"
        terminal.send(b"\x15" + site.typing(0, 1))
        terminal.wait_for(saved(site.points[0]))
    assert site.recorded() == site.expected(1)
