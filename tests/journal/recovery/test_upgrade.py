"""A journal of an older format is brought up whole, with a copy beside it; of a newer one nothing is touched."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterable
from pathlib import Path

import pytest

from gradecheck.codec import decode
from gradecheck.journal import schema
from gradecheck.journal.chain import START
from gradecheck.journal.errors import JournalError, OtherFormatError
from gradecheck.journal.facts import BacksightTaken, Entry
from gradecheck.journal.file import connect
from gradecheck.journal.recovery import upgrade
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.recovery.remains import remains
from gradecheck.journal.recovery.upgrade import Step, old_copy
from gradecheck.journal.store import Journal
from gradecheck.system.settings import remember
from tests.journal.damage import write
from tests.journal.drafts import notes
from tests.journal.golden.make import DRAFTS, FOLDER, KNOWING, golden

ROOT = Path(__file__).parents[3]


# -- golden journals


@pytest.mark.parametrize("number", range(1, schema.FORMAT + 1))
def test_a_journal_of_every_format_ever_released_is_read_and_written_on(number: int, path: Path) -> None:
    shutil.copyfile(golden(number), path)
    journal = Journal(path)
    entries, written = [*journal.chain()], [*DRAFTS, KNOWING] if number > 1 else [*DRAFTS]
    assert [entry.id for entry in entries] == [each.id for each in written]
    assert [entry.typed for entry in entries] == [each.typed for each in written]
    assert [entry.fact for entry in entries] == [each.fact for each in written]
    others = 2 if number > 1 else 0
    assert journal.append(notes("today"))[0].seq == len(written) + others + 1
    assert journal.verify().fault is None
    journal.close()
    left = remains(path)
    assert (len(left.beginning), len(left.theirs)) == (len(written) + 1, others)


def test_what_was_known_in_the_second_format_is_read_as_written(path: Path) -> None:
    shutil.copyfile(golden(2), path)
    with contextlib.closing(Journal(path)) as journal:
        [*_, last] = journal.chain()
        assert [(head.laptop, head.number, head.hash[:16]) for head in last.knows] == [
            ("south", 2, "8e58b434a733adbd")
        ]
        assert last.hash == "cdc862b51da5440485095b32b9da998d749749586b87ed39128ccd46cc7fb204"
        assert [entry.id for entry in journal.entries() if entry.laptop == "south"] == ["s1", "s2"]


def test_there_is_a_golden_journal_of_every_format_and_it_says_which_it_is() -> None:
    assert {each.name for each in FOLDER.glob("*.db")} == {f"format-{n}.db" for n in range(1, schema.FORMAT + 1)}
    for number in range(1, schema.FORMAT + 1):
        with contextlib.closing(sqlite3.connect(f"file:{golden(number)}?mode=ro", uri=True)) as connection:
            assert connection.execute("PRAGMA user_version").fetchone() == (number,)


def test_the_first_formats_hash_chain_is_what_it_was_when_released() -> None:
    # Were the golden journal made anew with other hashes, every journal on site would be called unsound.
    left = remains(golden(1))
    assert left.beginning[0][-2] == START
    assert left.last_hash == "dab4cdbbb8c0e73cf799f66a3b75b232bfbf91b3633602f6f5f4317191fdd58a"


def test_a_backsight_without_a_beam_is_under_a_level_one() -> None:
    fact = '{"rod":"site rod","sight":{"mark":"DOOR","rod":"127/100","elevation":"0"}}'
    assert decode(BacksightTaken, fact).slopes is None


# -- the format before this one

STEP = upgrade.STEPS[schema.FORMAT - 1]
OLDER = STEP.statements


def _plain(statements: Iterable[str]) -> set[str]:
    return {" ".join(statement.split()) for statement in statements}


def make_older(path: Path, version: int = schema.FORMAT - 1) -> list[Entry]:
    """Writes a journal in the older format."""
    entries = write(path, 30)
    to_older(path, version)
    return entries


def to_older(path: Path, version: int = schema.FORMAT - 1) -> None:
    """Turns a journal into one of the older format."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT * FROM entry ORDER BY seq").fetchall()
    path.unlink()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id={schema.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version={version}")
        for statement in OLDER:
            connection.execute(statement)
        connection.executemany(schema.INSERT, rows)


def format_of(path: Path) -> str:
    """Old, new, or neither, by everything that makes the difference; and every entry must be there."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        found = _plain(sql for (sql,) in connection.execute("SELECT sql FROM sqlite_master WHERE sql NOT NULL"))
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (30,)
    known = {
        "old": (schema.FORMAT - 1, _plain(OLDER)),
        "new": (schema.FORMAT, _plain(schema.STATEMENTS)),
    }
    return next((name for name, each in known.items() if each == (version, found)), "neither")


def test_an_older_journal_is_brought_up_on_opening_and_loses_nothing(path: Path) -> None:
    entries = make_older(path)
    journal = Journal(path)
    assert [*journal.entries()] == entries
    assert journal.append(notes("today"))[0].seq == 31
    assert journal.verify().fault is None
    journal.close()
    with contextlib.closing(connect(path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (schema.FORMAT,)
        assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_before_that_the_old_journal_is_copied_and_the_copy_stays_old(path: Path) -> None:
    make_older(path)
    Journal(path).close()
    copy = old_copy(path, schema.FORMAT - 1)
    assert format_of(copy) == "old"
    assert sorted(each.name for each in path.parent.iterdir()) == [copy.name, path.name]
    before = copy.read_bytes()
    Journal(path).close()
    assert copy.read_bytes() == before


def test_where_the_old_journal_can_not_be_copied_it_is_not_brought_up(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_older(path)
    before = path.read_bytes()

    def no_room(journal: Path, to: Path) -> None:
        raise JournalError(f"No copy of {journal} can be made now (disk full).")

    monkeypatch.setattr(upgrade, "copy_whole", no_room)
    with pytest.raises(JournalError, match="No copy of"):
        Journal(path)
    assert path.read_bytes() == before


def test_windows_that_bring_it_up_at_once_bring_it_up_once(path: Path) -> None:
    entries = make_older(path)
    start, opened, failed = threading.Barrier(4), list[Journal](), list[JournalError]()

    def open_it() -> None:
        start.wait()
        try:
            opened.append(Journal(path))
        except JournalError as wrong:
            failed.append(wrong)

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    for journal in opened:
        assert [*journal.entries()] == entries
        journal.close()
    assert format_of(old_copy(path, schema.FORMAT - 1)) == "old"


def test_an_older_journal_with_unknown_tables_is_left_alone(path: Path) -> None:
    make_older(path)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("CREATE VIEW more AS SELECT 1")
    before = path.read_bytes()
    with pytest.raises(JournalError, match="other tables"):
        Journal(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "harm",
    [
        pytest.param("DROP TABLE nothing_of_the_kind", id="a-step-that-fails"),
        pytest.param("CREATE TABLE more (x)", id="a-step-that-leads-elsewhere"),
    ],
)
def test_a_step_that_goes_wrong_leaves_the_journal_old(
    path: Path, monkeypatch: pytest.MonkeyPatch, harm: str
) -> None:
    def change(connection: sqlite3.Connection) -> None:
        STEP.change(connection)
        connection.execute(harm)

    monkeypatch.setitem(upgrade.STEPS, schema.FORMAT - 1, Step(OLDER, change))
    make_older(path)
    with pytest.raises(JournalError, match="can't be brought up"):
        Journal(path)
    assert format_of(path) == "old"


def test_an_older_copy_is_only_looked_at_and_never_brought_up(path: Path) -> None:
    make_older(path)
    before = path.read_bytes()
    with pytest.raises(OtherFormatError, match="older format"):
        connect(path, "ro")
    assert path.read_bytes() == before
    # As the newest backup it says nothing about the journal of today, and so does not hold back a new one.
    Journal(path).close()
    path.with_name("journal.backup-1.db").write_bytes(before)
    assert keep_copy(path) is not None
    assert path.with_name("journal.backup-2.db").read_bytes() == before


def test_formats_nobody_knows_are_left_alone_with_one_clear_sentence(path: Path) -> None:
    for version, says in ((schema.FORMAT + 1, "newer gradecheck"), (0, "nothing is known here")):
        path.unlink(missing_ok=True)
        make_older(path, version)
        before = path.read_bytes()
        with pytest.raises(OtherFormatError, match=says) as refused:
            Journal(path)
        assert "left as it" in str(refused.value)
        assert path.read_bytes() == before
        assert [each.name for each in path.parent.iterdir()] == [path.name]


# -- killed in between

KILLED = """
import os, shutil, sqlite3, sys
from pathlib import Path
from gradecheck.journal.store import Journal

folder, count = Path(sys.argv[1]), 0

class Dying(sqlite3.Connection):
    def execute(self, statement, *values):
        global count, armed
        armed = armed or statement.startswith("BEGIN")  # before that nothing is changed
        if armed and count == place:
            os.kill(os.getpid(), 9)
        if armed:
            count += 1
            {unsafe}
        return super().execute(statement, *values)

real, armed = sqlite3.connect, False
sqlite3.connect = lambda *given, **options: real(*given, factory=Dying, **options)
for place in range(200):
    path = folder / f"{place}" / "journal.db"
    path.parent.mkdir()
    shutil.copyfile(folder / "old", path)
    if (child := os.fork()) == 0:
        Journal(path).close()
        os._exit(0)
    if os.waitpid(child, 0)[1] == 0:
        sys.exit(0)
sys.exit("it never came to an end")
"""
"""Opens the old journal in one process after the other; each is killed a statement later than the one before."""
UNSAFE = "statement = 'SELECT 1' if statement in ('BEGIN IMMEDIATE', 'COMMIT') else statement"


def _killed_everywhere(folder: Path, unsafe: str) -> list[Path]:
    """The old journal, after a program was killed at its first statement while opening it, its second, and so on."""
    make_older(folder / "old")
    script = KILLED.replace("{unsafe}", unsafe or "pass")
    subprocess.run([sys.executable, "-c", script, folder], cwd=ROOT, env=os.environ, check=True)
    made = sorted(folder.glob("*/journal.db"), key=lambda path: int(path.parent.name))
    assert len(made) > 3
    return made


def test_killed_at_any_statement_it_is_old_or_new_and_next_time_new(
    tmp_path: Path,
) -> None:
    found = []
    for path in _killed_everywhere(tmp_path, unsafe=""):
        found.append(format_of(path))
        if (copy := old_copy(path, schema.FORMAT - 1)).exists():
            assert format_of(copy) == "old"
        remember(path.parent)
        Journal(path).close()
        assert format_of(path) == "new"
    assert set(found) == {"old", "new"}
    assert found == sorted(found, reverse=True), "once new it must stay so"


def test_killed_elsewhere_it_is_read_and_brought_up_with_an_entry(
    tmp_path: Path,
) -> None:
    beside = 0
    for path in _killed_everywhere(tmp_path, unsafe=""):
        beside += path.with_name("journal.db-journal").exists()
        before = path.read_bytes()
        with contextlib.closing(Journal(path)) as journal:
            assert len([*journal.entries()]) == 30
            if path.with_name("journal.db-journal").exists():
                assert path.read_bytes() == before
            journal.append(notes("on from here"))
        with contextlib.closing(Journal(path)) as journal:
            assert len([*journal.entries()]) == 31
            assert journal.verify().fault is None
    assert beside


def test_without_the_transaction_a_kill_would_leave_something_between(tmp_path: Path) -> None:
    # The negative control: the kills above do hit the middle of it.
    assert any(format_of(path) == "neither" for path in _killed_everywhere(tmp_path, UNSAFE))
