"""The front door: Ctrl+C in a command ends it with a sentence and the code that shells expect."""

from __future__ import annotations

import pytest

from gradecheck import __main__, cli


def test_ctrl_c_ends_a_command_with_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped() -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("sys.argv", ["gradecheck", "log", "nowhere"])
    monkeypatch.setattr(cli, "main", stopped)
    assert __main__.main() == 130
    assert capsys.readouterr() == ("", "Stopped by Ctrl+C; everything that was saved is saved.\n")
