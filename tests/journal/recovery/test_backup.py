"""The last good copies lie beside the journal: only good ones, only of something new, each whole or not there."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from gradecheck import actions, places
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.journal.errors import JournalError
from gradecheck.journal.recovery import backup, copying
from gradecheck.journal.recovery.backup import backups, goes_on_to, keep_copy, try_to_keep_copy
from gradecheck.journal.store import Journal
from gradecheck.system import settings
from tests.app.driving import Clock, ready_job
from tests.journal.damage import blank, page_of, without_guards, write
from tests.journal.drafts import notes

ROOT = Path(__file__).parents[3]


def ids(path: Path) -> list[str]:
    """The ids of the entries in a sound journal."""
    journal = Journal(path)
    assert journal.verify().fault is None
    found = [entry.id for entry in journal.entries()]
    journal.close()
    return found


def names(path: Path) -> list[str]:
    return sorted(each.name for each in path.parent.iterdir())


def test_a_copy_holds_every_entry_and_lies_beside_the_journal(path: Path) -> None:
    entries = write(path, 40)
    assert keep_copy(path) == path.with_name("journal.backup-1.db")
    assert names(path) == ["journal.backup-1.db", "journal.db"]
    assert ids(path.with_name("journal.backup-1.db")) == [entry.id for entry in entries]


def test_the_newest_copy_is_number_one_and_no_more_than_three_are_kept(path: Path) -> None:
    for start in range(5):
        write(path, 1, first=start + 1)
        keep_copy(path)
    assert [len(ids(copy)) for copy in backups(path)] == [5, 4, 3]
    assert len(names(path)) == 4, "the journal and three copies"


def test_without_anything_new_the_copies_stay_as_they_are(path: Path) -> None:
    for start in range(3):
        write(path, 1, first=start + 1)
        keep_copy(path)
    before = {copy: (copy.read_bytes(), copy.stat().st_ino) for copy in backups(path)}
    for _ in range(5):
        assert keep_copy(path) is None
    assert {copy: (copy.read_bytes(), copy.stat().st_ino) for copy in backups(path)} == before
    write(path, 1, first=4)
    assert keep_copy(path) is not None


def test_of_no_journal_and_of_an_empty_one_no_copy_is_kept(path: Path) -> None:
    assert keep_copy(path) is None
    assert names(path) == []
    journal = Journal(path)
    journal.append([])
    journal.close()
    assert keep_copy(path) is None
    assert names(path) == ["journal.db"]


def test_a_journal_put_back_older_does_not_push_out_the_newer_copies(path: Path) -> None:
    write(path, 3)
    old = path.read_bytes()
    write(path, 3, first=4)
    keep_copy(path)
    path.write_bytes(old)
    assert keep_copy(path) is None
    assert [len(ids(copy)) for copy in backups(path)] == [6]


def test_a_journal_that_went_another_way_is_copied_and_the_old_copy_kept(path: Path) -> None:
    write(path, 3)
    old = path.read_bytes()
    write(path, 3, first=4)
    keep_copy(path)
    path.write_bytes(old)
    write(path, 1, first=9)
    assert keep_copy(path) is not None
    assert [ids(copy)[3:] for copy in backups(path)] == [["n9"], ["n4", "n5", "n6"]]


def test_a_copy_is_found_again_only_if_it_holds_the_entry_asked_for(path: Path) -> None:
    entries = write(path, 5)
    copy = keep_copy(path)
    assert copy is not None
    assert goes_on_to(copy, (3, entries[2].hash)) == (5, entries[4].hash)
    assert goes_on_to(copy, (3, entries[1].hash)) is None
    assert goes_on_to(copy, (6, entries[4].hash)) is None
    assert goes_on_to(path.with_name("none.db"), (3, entries[2].hash)) is None


# -- only good ones


def _page_gone(path: Path) -> None:
    blank(path, page_of(path, b'"at 150"'))


def _last_entry_changed(path: Path) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'x' WHERE seq = 200")


def _entry_gone(path: Path) -> None:
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 7")


def _cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-8192])


@pytest.mark.parametrize("harm", [_page_gone, _last_entry_changed, _entry_gone, _cut_short])
def test_a_journal_that_is_not_sound_does_not_push_out_a_good_copy(path: Path, harm: object) -> None:
    write(path, 199)
    keep_copy(path)
    write(path, 1, first=200)
    good = {copy: copy.read_bytes() for copy in backups(path)}
    assert callable(harm)
    harm(path)
    with pytest.raises(JournalError):
        keep_copy(path)
    try_to_keep_copy(path)  # which nobody waits for, and which therefore has nobody to tell
    assert {copy: copy.read_bytes() for copy in backups(path)} == good
    assert names(path) == ["journal.backup-1.db", "journal.db"]


@pytest.mark.parametrize("harm", [_page_gone, _entry_gone])
def test_without_the_check_a_bad_copy_would_be_kept(
    path: Path, harm: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The negative control: what keeps the bad copies out above is the check and nothing else.
    write(path, 200)
    assert callable(harm)
    harm(path)
    monkeypatch.setattr(backup, "_checked_copy", backup.copied)
    assert keep_copy(path) is not None


# -- whole or not there


def test_a_copy_that_can_not_be_written_leaves_the_old_ones_whole(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(path, 50)
    keep_copy(path)
    write(path, 200, first=51)
    good = {copy: copy.read_bytes() for copy in backups(path)}
    real = sqlite3.connect

    def on_a_full_disk(address: object, **options: object) -> sqlite3.Connection:
        connection = real(address, **options)  # type: ignore[call-overload]
        if str(address).endswith(".new"):
            connection.execute("PRAGMA max_page_count=5")
        return connection  # type: ignore[no-any-return]

    with monkeypatch.context() as full:
        full.setattr("gradecheck.journal.recovery.copying.sqlite3.connect", on_a_full_disk)
        with pytest.raises(JournalError, match=r"No copy .* can be made now"):
            keep_copy(path)
    assert {copy: copy.read_bytes() for copy in backups(path)} == good
    assert names(path) == ["journal.backup-1.db", "journal.db"]
    assert keep_copy(path) is not None


WORK = """
import sys, pathlib
from gradecheck.journal.recovery.backup import keep_copy
from tests.journal.damage import write
path = pathlib.Path(sys.argv[1])
for number in range(10_000):
    write(path, 1, first=1000 * int(sys.argv[2]) + number)
    print(number, flush=True)
    keep_copy(path)
"""


@pytest.mark.parametrize("kill", range(6))
def test_a_program_killed_while_it_copies_leaves_whole_copies_or_none(path: Path, kill: int) -> None:
    write(path, 60)
    process = subprocess.Popen([sys.executable, "-c", WORK, path, f"{kill + 1}"], cwd=ROOT, stdout=subprocess.PIPE)
    assert process.stdout is not None
    for _ in range(2 + kill):
        process.stdout.readline()
    time.sleep(0.001 * kill)  # chooses where in the copying the kill falls; nothing is measured
    process.send_signal(signal.SIGKILL)
    process.communicate()
    whole = ids(path)
    copies = [ids(copy) for copy in backups(path)]
    assert copies
    assert all(whole[: len(copy)] == copy for copy in copies)
    assert [len(copy) for copy in copies] == sorted((len(copy) for copy in copies), reverse=True)
    keep_copy(path)
    assert ids(backups(path)[0]) == whole


def test_what_a_killed_program_left_half_copied_is_cleared_once_old(path: Path) -> None:
    write(path, 3)
    fresh, old = (path.with_name(f"journal.backup-1.db.{name}.new") for name in ("fresh", "old"))
    for each in (fresh, old):
        each.write_bytes(b"half")
    before = old.stat().st_mtime - 2 * places.LEFT_OVER
    os.utime(old, (before, before))
    keep_copy(path)
    assert fresh.exists()  # may still be written by another window
    assert not old.exists()


def test_what_killed_runs_left_is_cleared_at_the_next_start(path: Path) -> None:
    write(path, 3)
    keep_copy(path)  # so that nothing is left to be copied
    left = [f".{'0a' * 16}.part", "journal.db.12ab34cd.new", "day.pdf.00000000.new"]
    theirs = [".part", "notes.new", "x.12ab34cd.new.txt", f".{'0g' * 16}.part", "plan.part", "job.yaml"]
    for name in (*left, *theirs):
        each = path.with_name(name)
        each.write_bytes(b"half")
        before = each.stat().st_mtime - 2 * places.LEFT_OVER
        os.utime(each, (before, before))
    fresh = path.with_name(f".{'0b' * 16}.part")
    fresh.write_bytes(b"half")
    keep_copy(path)
    there = {each.name for each in path.parent.iterdir()}
    assert there.isdisjoint(left)
    assert there >= {*theirs, fresh.name}


# -- in nobody's way


def test_a_copy_is_kept_while_the_journal_is_open_and_written_into(path: Path) -> None:
    journal = Journal(path)
    journal.append(notes(*(f"before {number}" for number in range(300))))
    failed: list[JournalError] = []

    def keep() -> None:
        for _ in range(10):
            try:
                keep_copy(path)
            except JournalError as wrong:
                failed.append(wrong)

    thread = threading.Thread(target=keep)
    thread.start()
    for number in range(60):
        journal.append(notes(f"meanwhile {number}"))
    thread.join()
    assert failed == []
    assert len([*journal.entries()]) == 360
    journal.close()
    for copy in backups(path):
        assert ids(path)[: len(ids(copy))] == ids(copy)


def test_a_journal_that_another_window_holds_is_copied_another_time(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(path, 3)
    monkeypatch.setattr(copying, "WAIT", 0.01)
    monkeypatch.setattr("gradecheck.journal.file.PATIENCE", 0.01)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as holding:
        holding.execute("BEGIN EXCLUSIVE")
        with pytest.raises(JournalError):
            keep_copy(path)
        with pytest.raises(JournalError, match="can be made now"):
            copying.copy_whole(path, path.with_name("other.db"))
        holding.execute("ROLLBACK")
    assert names(path) == ["journal.db"]
    assert keep_copy(path) is not None


@pytest.mark.parametrize("job_named", [True, False], ids=["named-at-the-start", "opened-from-the-list"])
async def test_the_app_copies_each_job_after_the_first_picture(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, job_named: bool
) -> None:
    job = ready_job(tmp_path / "court", Clock())
    for seconds, kept in ((10**6, []), (0.01, [job / "journal.backup-1.db"])):
        monkeypatch.setattr("gradecheck.app.app.COPY_AFTER", seconds)
        app = GradeApp(tmp_path, job if job_named else None, clock=Clock())
        async with app.run_test() as pilot, asyncio.timeout(60):
            if not job_named:
                app.open_job(job)
            await pilot.pause()
            assert isinstance(app.screen, CheckScreen)
            while kept and not backups(job / "journal.db"):
                await pilot.pause(0.01)
        assert backups(job / "journal.db") == kept


async def test_a_mailed_folder_gets_no_copy_before_something_is_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = ready_job(tmp_path / "court", Clock())
    settings.forget(job)
    before = {each.name: each.read_bytes() for each in job.iterdir()}
    monkeypatch.setattr("gradecheck.app.app.COPY_AFTER", 0.01)
    app = GradeApp(tmp_path, job, clock=Clock())
    async with app.run_test() as pilot, asyncio.timeout(60):
        await pilot.pause(0.5)
        assert isinstance(app.screen, CheckScreen)
        assert {each.name: each.read_bytes() for each in job.iterdir()} == before
        assert app.session is not None
        app.session.record(actions.note("dry"))
        while not backups(job / "journal.db"):
            await pilot.pause(0.01)
    assert len(ids(backups(job / "journal.db")[0])) == len(ids(job / "journal.db"))


def test_a_jobs_copies_are_left_out_of_the_repository_as_its_journal_is() -> None:
    kept_out = ["journal.db", "journal.backup-1.db", "journal.backup-format-1.db", "journal.backup-1.db.1f2e3d4c.new"]
    patterns = [line.removeprefix("jobs/*/") for line in (ROOT / ".gitignore").read_text().splitlines()]
    assert [name for name in kept_out if not any(Path(name).match(pattern) for pattern in patterns)] == []
