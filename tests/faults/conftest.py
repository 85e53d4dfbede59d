"""Terminals and disks of this kind are there on Linux and macOS; on Windows these tests are left out."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from textual.css.stylesheet import Stylesheet

from gradecheck.cli import main
from tests.app.driving import parse_once, write_job
from tests.faults.sent_in import Office

collect_ignore_glob = ["test_*.py"] if sys.platform == "win32" else []


@pytest.fixture(autouse=True)
def styles_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hundreds of apps have the same style sheets."""
    monkeypatch.setattr(Stylesheet, "_parse_rules", parse_once)


@pytest.fixture
def office(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Office:
    """Who writes a job file and has it examined."""
    folder = tmp_path / "mews"
    folder.mkdir()
    return Office(folder, capsys)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder in which commands are given, by someone."""
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def court(here: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A job with its instrument set up today; on P1 the rod should read 51."""
    folder = write_job(here / "court")
    assert main(["setup", str(folder), "DOOR=50"]) == 0
    capsys.readouterr()
    return folder
