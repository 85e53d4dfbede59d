"""What takes over a second says so on the standard error of a terminal, and nowhere else."""

from __future__ import annotations

import io
import sys
import time

import pytest

from gradecheck.cli import at_work
from gradecheck.cli.at_work import AtWork


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(at_work, "FIRST", 0.05)
    monkeypatch.setattr(at_work, "NEXT", 0.05)


def _told(
    stream: io.StringIO, monkeypatch: pytest.MonkeyPatch, *, wanted: bool = True, seconds: float = 0.5
) -> list[str]:
    monkeypatch.setattr(sys, "stderr", stream)
    with AtWork(wanted=wanted) as running:
        time.sleep(seconds)
        running.stop()
        before = stream.getvalue()
        time.sleep(0.1)
    assert stream.getvalue() == before, "nothing is told once it is done"
    return before.splitlines()


@pytest.mark.usefixtures("quick")
def test_it_is_told_on_a_terminal_again_and_again(monkeypatch: pytest.MonkeyPatch) -> None:
    told = _told(Screen(), monkeypatch)
    assert len(told) >= 2
    assert set(told) <= {f"Still working, {seconds} s. Ctrl+C stops it." for seconds in (0, 1)}


@pytest.mark.usefixtures("quick")
def test_nothing_is_told_into_a_pipe_or_where_it_is_not_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    assert _told(io.StringIO(), monkeypatch, seconds=0.2) == []
    assert _told(Screen(), monkeypatch, wanted=False, seconds=0.2) == []


def test_what_is_quick_tells_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert _told(Screen(), monkeypatch, seconds=0) == []
