"""Who decides is said by the board of an office, in JSON as in text; no other command with an office says it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.cli import main, server
from gradecheck.office.here import Here
from gradecheck.report.decides import DECIDES, JUDGING_VERBS
from tests.cli.asides import answered
from tests.cli.test_join import Out, said, yards
from tests.office.conftest import Crews

__all__ = ["yards"]
COMMANDS: dict[str, Callable[[Crews], list[str]]] = {
    "office init": lambda crews: ["office", "init", crews.office],
    "office add": lambda crews: ["office", "add", crews.office, "desk", "--laptop", crews.role("south")],
    "office here": lambda crews: ["office", "here", "of its own"],
    "office here --stop": lambda crews: ["office", "here", "of its own", "--stop"],
    "board": lambda crews: ["board", crews.office],
    "share": lambda crews: ["share", "south", crews.south],
    "verify": lambda crews: ["verify", "south", "--against", crews.south],
}


class Started:
    """A server that runs already, as one that was started in a folder."""

    def __init__(self, here: Here) -> None:
        self.here = here

    def start(self) -> Here:
        return self.here

    def stop(self) -> None:
        """It goes on for the other tests."""


@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
@pytest.mark.parametrize("name", COMMANDS)
def test_of_what_talks_to_an_office_the_board_alone_says_who_decides(
    crews: Crews, packaged: Here, monkeypatch: pytest.MonkeyPatch, capsys: Out, name: str, as_json: bool
) -> None:
    said(capsys, "share", "south", crews.south)
    monkeypatch.setattr(server, "server_in", lambda folder: Started(packaged))
    words = COMMANDS[name](crews)
    assert main([*words, *(["--json"] if as_json else [])]) == 0
    printed = capsys.readouterr()
    judges = words[0] in JUDGING_VERBS
    assert judges == (name == "board")
    if as_json:
        answer = answered(printed.out)
        assert answer.get("decides") == (DECIDES if judges else None)
        assert DECIDES not in printed.err
    else:
        assert (printed.out + printed.err).count(DECIDES) == judges
    assert "passfile" not in printed.out + printed.err


def test_json_says_where_passwords_lie_and_never_what_they_are(crews: Crews, capsys: Out) -> None:
    new = f"west_{crews.address.database}"
    assert main(["office", "add", crews.office, "desk", "--laptop", new, "--json"]) == 0
    printed = capsys.readouterr()
    answer = answered(printed.out)
    assert answer == {
        "office": str(crews.address),
        "job": "Wickering Yard",
        "plan": 1,
        "laptops": [new],
        "password files": {new: f"{new}.pgpass"},
    }
    secret = Path(f"{new}.pgpass").read_text().strip().rpartition(":")[2]
    assert len(secret) >= 24
    assert secret not in printed.out + printed.err
