"""A mistake of the program ends it with 3, one sentence and a file for whoever mends it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gradecheck import __main__, cli


def test_a_mistake_of_our_own_ends_the_program_with_3(
    own_folders: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken() -> int:
        raise ZeroDivisionError("a mistake")

    monkeypatch.setattr(sys, "argv", ["gradecheck", "log", "nowhere"])
    monkeypatch.setattr(cli, "main", broken)
    assert __main__.main() == 3
    told = capsys.readouterr()
    [details] = (own_folders / "settings" / "crashes").iterdir()
    assert (told.out, told.err) == (
        "",
        f"gradecheck failed and had to end. Everything marked saved is saved. The details are in {details}.\n",
    )
    assert "ZeroDivisionError: a mistake" in details.read_text(encoding="utf-8")
