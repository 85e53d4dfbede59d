"""Journals that someone sent: what is not exactly ours is not run, and what can be read of it is."""

from __future__ import annotations

import contextlib
import os
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.journal import schema
from tests.app.driving import write_job
from tests.faults.sent_in import Out, refused
from tests.journal.damage import without_guards
from tests.plan.sample import harmless


def _endless_view(connection: sqlite3.Connection) -> None:
    endless = "WITH RECURSIVE m(seq) AS (SELECT 1 UNION ALL SELECT seq + 1 FROM m) SELECT * FROM m"
    connection.execute(f"CREATE VIEW entry AS {endless}")


def _trigger_that_deletes(connection: sqlite3.Connection) -> None:
    for statement in schema.STATEMENTS:
        connection.execute(statement)
    connection.execute("DROP TRIGGER entry_never_deleted")
    connection.execute("CREATE TRIGGER entry_never_deleted AFTER INSERT ON entry BEGIN DELETE FROM entry; END")


def _one_trigger_more(connection: sqlite3.Connection) -> None:
    for statement in schema.STATEMENTS:
        connection.execute(statement)
    connection.execute("CREATE TRIGGER more AFTER INSERT ON entry BEGIN DELETE FROM entry; END")


@pytest.mark.parametrize(
    "make", [_endless_view, _trigger_that_deletes, _one_trigger_more], ids=lambda make: make.__name__.lstrip("_")
)
def test_a_strangers_journal_with_a_view_or_triggers_of_its_own_is_not_run(
    here: Path, capsys: Out, make: Callable[[sqlite3.Connection], None]
) -> None:
    folder = write_job(here / "sent")
    path = folder / "journal.db"
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id={schema.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version={schema.FORMAT}")
        make(connection)
    before = path.read_bytes()
    for arguments in (["setup", "sent", "DOOR=50"], ["log", "sent"], ["read", "sent", "P1=51"], ["review", "sent"]):
        refused(capsys, *arguments)
    assert main(["verify", "sent"]) in (1, 2)
    assert main(["rescue", "sent", "-o", "new.db"]) in (1, 2)
    assert harmless("".join(capsys.readouterr()).replace("\n", ""))
    assert path.read_bytes() == before


@pytest.mark.parametrize("kind", ["pipe", "folder", "device", "link to itself"])
def test_a_pipe_folder_device_or_loop_for_a_journal_is_refused(here: Path, capsys: Out, kind: str) -> None:
    path = write_job(here / "sent") / "journal.db"
    make: dict[str, Callable[[], None]] = {
        "pipe": lambda: os.mkfifo(path),
        "folder": path.mkdir,
        "device": lambda: path.symlink_to("/dev/null"),
        "link to itself": lambda: path.symlink_to(path),
    }
    make[kind]()
    for arguments in (["log", "sent"], ["setup", "sent", "DOOR=50"], ["verify", "sent"]):
        assert re.search("is no file|is not a gradecheck journal|symbolic links", refused(capsys, *arguments))


def test_text_not_utf_8_is_told_by_entry_and_the_rest_rescued(court: Path, capsys: Out) -> None:
    for rod in ("51", "51-1/16", "51-1/8"):
        assert main(["read", str(court), f"P1={rod}"]) == 0
    with without_guards(court / "journal.db") as connection:
        connection.execute("UPDATE entry SET typed = CAST(x'ff35' AS TEXT) WHERE typed = '51-1/16'")
        [(seq,)] = connection.execute("SELECT seq FROM entry WHERE typed = CAST(x'ff35' AS TEXT)").fetchall()
    capsys.readouterr()
    assert f"Entry {seq} of " in refused(capsys, "log", str(court))
    assert main(["verify", str(court)]) == 1
    says = capsys.readouterr().out
    assert f"Entry {seq} of " in says
    assert "text in it was changed" in says
    assert main(["rescue", str(court), "-o", "new.db"]) == 1
    with contextlib.closing(sqlite3.connect("new.db")) as connection:
        kept = [text for (text,) in connection.execute("SELECT typed FROM entry WHERE kind = 'reading' ORDER BY seq")]
    assert kept == ["51", "51-1/8"]
