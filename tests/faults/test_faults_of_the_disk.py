"""Each fault of disks and files: what is seen of it in the app and at the command line, and what is kept."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import sqlite3
from pathlib import Path

import apsw
import pytest

from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.journal import chain, file, schema
from gradecheck.journal.facts import Note
from gradecheck.journal.recovery import upgrade
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.session.waiting import SAID_AFTER
from tests.app.driving import post, press, settle, shown, typed, verdict, words
from tests.faults import power_cuts
from tests.faults.disk import in_use
from tests.faults.failing import Failing, Fault
from tests.faults.rows import (
    command,
    folder_for_anyone,
    full_disk,
    held,
    named,
    only_readable,
    refused,
    row,
    site_with,
    window,
)
from tests.journal.damage import without_guards
from tests.journal.drafts import draft as plain_draft
from tests.journal.recovery.test_upgrade import OLDER, STEP, to_older
from tests.pty.site import Site

ELSEWHERE = " Ctrl+B goes on in another folder."
TRY_AGAIN = "Try again; what you typed is still here."
WAITING = "Not saved yet: waiting for another program, or for a slow disk …"
FULL = re.compile(r"NOT SAVED: the disk is full, [0-9.]+ (bytes|kB|MB|GB) free\. " + re.escape(TRY_AGAIN))


async def test_disk_full(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0, points=60)
    with full_disk():
        async with window(site.folder) as (app, pilot):
            saved = 0
            while True:  # until the pages that are there have no room left
                await press(pilot, site.rods[saved], "enter")
                if words(app).startswith("NOT SAVED"):
                    break
                saved += 1
            told = await refused((app, pilot), site.rods[saved])
            assert FULL.fullmatch(told.removesuffix(ELSEWHERE))
            assert told.endswith(ELSEWHERE)
            assert site.recorded() == site.expected(saved)
            assert FULL.fullmatch(row(command("read", site.folder, *named(site, saved, saved + 9))))
            assert site.recorded() == site.expected(saved)
            assert command("log", site.folder).code == 0, "what is there can be read without room"
            # Room is made, and the same figure is saved from where it stands.
            assert app.session is not None
            app.session.journal._connection.execute("PRAGMA max_page_count=100000")
            await press(pilot, "enter")
            assert (typed(app), " saved " in words(app, "verdict")) == ("", True)
    assert site.recorded() == site.expected(saved + 1)
    assert command("read", site.folder, *named(site, saved + 1, saved + 3)).code == 0
    assert site.recorded() == site.expected(saved + 3)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights to files work differently here")
async def test_read_only_folder_or_file() -> None:
    only = "iew only, cannot record here: the folder"
    with folder_for_anyone() as place:
        site = site_with(place / "job", 2)
        before = (site.folder / JOURNAL_NAME).read_bytes()
        with only_readable(site.folder):
            async with window(site.folder) as (app, pilot):
                assert isinstance(app.screen, CheckScreen)
                assert words(app).startswith(f"V{only}"), "said before anything was typed"
                assert site.points[1] in shown(app)
                assert f"v{only}" in await refused((app, pilot), site.rods[2])
            assert f"NOT SAVED: v{only}" in row(command("read", site.folder, *named(site, 2, 3)))
            assert site.points[1] in command("log", site.folder).out
        assert (site.folder / JOURNAL_NAME).read_bytes() == before
        async with window(site.folder) as (app, pilot):
            await press(pilot, site.rods[2], "enter")
        assert site.recorded() == site.expected(3)


async def test_log_locked_by_another_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert (SAID_AFTER, file.PATIENCE) == (1.0, 10.0)
    monkeypatch.setattr(file, "PATIENCE", 1.0)
    monkeypatch.setattr("gradecheck.session.waiting.SAID_AFTER", 0.05)
    site = site_with(tmp_path / "job", 1)
    busy = f"NOT SAVED: another program holds the journal. {TRY_AGAIN}"
    async with window(site.folder) as (app, pilot):
        with held(site.folder):
            post(pilot, site.rods[1], "enter")
            while words(app) != WAITING:
                await pilot.pause(0.01)
            theme = app.theme
            post(pilot, "ctrl+t")
            while app.theme == theme:  # the screen is alive meanwhile
                await pilot.pause(0.01)
            while words(app) == WAITING:
                await pilot.pause(0.01)
            await settle(pilot)
            assert (words(app), typed(app)) == (f"{busy}{ELSEWHERE}", site.rods[1])
            said = command("read", site.folder, *named(site, 1, 2))
            assert (said.code, said.err.splitlines()) == (2, [WAITING, busy])
        await press(pilot, "enter")
    assert site.recorded() == site.expected(2)
    assert command("read", site.folder, *named(site, 2, 3)).code == 0
    assert site.recorded() == site.expected(3)


async def test_power_cut(tmp_path: Path) -> None:
    figures = power_cuts.cut(tmp_path / "cuts", 12, seed=3)
    assert (figures.wrong, figures.counts["acknowledged"] > 0) == (0, True), figures
    # A cut in the middle of a write: the pages are half new, and the way back lies beside them.
    site = site_with(tmp_path / "job", 3)
    before = command("verify", site.folder).out
    _cut_off_in_a_write(site, tmp_path / "meanwhile")
    blind = shutil.copytree(site.folder, tmp_path / "blind")
    (blind / f"{JOURNAL_NAME}-journal").unlink()
    assert command("verify", blind).out != before, "without the way back something half written would be believed"
    assert command("verify", shutil.copytree(site.folder, tmp_path / "by command")).out == before
    async with window(site.folder) as (_, pilot):
        await press(pilot, site.rods[3], "enter")
    assert site.recorded() == site.expected(4)
    assert command("verify", site.folder).code == 0


def _cut_off_in_a_write(site: Site, meanwhile: Path) -> None:
    """Leaves the journal as a power cut leaves it in a long write."""
    path = site.folder / JOURNAL_NAME
    before = path.stat().st_size
    with contextlib.closing(apsw.Connection(str(path))) as connection:
        [(seq, digest)] = connection.execute("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1")
        connection.execute("BEGIN")
        for number in range(1, 400):
            draft = plain_draft(Note(None, "dry and " * 20), f"{number * 7919 % 400}")
            values = chain.to_row(draft, seq + number, digest)
            digest = values[-1]
            connection.execute(schema.INSERT, values)
        # Which pages leave a full memory by themselves is SQLite's affair: mostly new ones, where nothing leads.
        connection.cache_flush()
        shutil.copytree(site.folder, meanwhile)
        connection.execute("ROLLBACK")
    for each in (JOURNAL_NAME, f"{JOURNAL_NAME}-journal"):
        shutil.copyfile(meanwhile / each, site.folder / each)
    assert path.stat().st_size > before


async def test_input_output_error_and_sync_error(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 1)
    faults = (Fault("sync", "EIO", apsw.SQLITE_IOERR_FSYNC), Fault("write", "EIO", apsw.SQLITE_IOERR_WRITE))
    saved = 1
    for fault in faults:
        disk = Failing(fault, 2, lasting=True)
        with in_use(disk):
            async with window(site.folder) as (app, pilot):
                assert "NOT SAVED: the disk reports " in await refused((app, pilot), site.rods[saved])
                assert disk.failed
                said = row(command("read", site.folder, *named(site, saved, saved + 1)))
                assert said.startswith("NOT SAVED: ")
                disk.well = True
                await press(pilot, "enter")
                saved += 1
                assert typed(app) == ""
        assert site.recorded() == site.expected(saved), "once, whatever an error said before"
    assert command("read", site.folder, *named(site, saved, saved + 1)).code == 0
    assert site.recorded() == site.expected(saved + 1)


async def test_stick_pulled_folder_moved_or_file_replaced(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 2)
    path, away = site.folder / JOURNAL_NAME, tmp_path / "away"
    old = tmp_path / "old copy"
    shutil.copyfile(path, old)
    async with window(site.folder) as (app, pilot):
        await press(pilot, site.rods[2], "enter")
        site.folder.rename(away)
        said = await refused((app, pilot), site.rods[3])
        assert "not there any more; put the folder or the stick back, then try again." in said
        assert "is nothing at" in row(command("read", site.folder, *named(site, 3, 4)))
        assert not site.folder.exists(), "nothing is made in its place"
        away.rename(site.folder)
        await press(pilot, "enter")
        assert site.recorded() == site.expected(4)
        right = path.rename(tmp_path / "right")
        shutil.copyfile(old, path)
        said = await refused((app, pilot), site.rods[4])
        assert "the journal is not the one that was open here" in said
        assert path.read_bytes() == old.read_bytes()
        os.replace(right, path)
        await press(pilot, "enter")
    assert site.recorded() == site.expected(5)
    assert command("verify", site.folder).code == 0


async def test_log_cut_short_or_damaged(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 12)
    path = site.folder / JOURNAL_NAME
    with without_guards(path) as connection:
        entry = connection.execute("SELECT seq FROM entry WHERE typed = ?", (site.rods[5],)).fetchone()[0]
        connection.execute("UPDATE entry SET typed = '99' WHERE seq = ?", (entry,))
    await _told_and_salvaged(site, tmp_path / "of the changed", f"Entry {entry} of ", 11)
    site = site_with(tmp_path / "short", 50, points=60)
    path = site.folder / JOURNAL_NAME
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
    await _told_and_salvaged(site, tmp_path / "of the short", "damaged", 10)


async def _told_and_salvaged(site: Site, new: Path, names: str, least: int) -> None:
    """A damaged journal is not worked on and not repaired; another one gets what holds."""
    path = site.folder / JOURNAL_NAME
    before = path.read_bytes()
    async with window(site.folder) as (app, _):
        assert isinstance(app.screen, JobsScreen)
        assert names in words(app)
        assert str(path) in words(app)
    assert names in row(command("read", site.folder, *named(site, 12, 13)))
    verified = command("verify", site.folder)
    assert (verified.code, "rescue" in verified.out) == (1, True)
    assert command("rescue", site.folder, "-o", new).code == 1
    assert path.read_bytes() == before
    journal = Journal(new)
    assert journal.verify().fault is None
    kept = [entry.typed for entry in journal.entries() if entry.kind == "reading"]
    journal.close()
    assert len(kept) >= least
    assert set(kept) <= set(site.rods)


async def _left_alone(site: Site, says: str) -> None:
    """The file can't be used: that is one sentence in the app and for a command, and it stays byte for byte."""
    path = site.folder / JOURNAL_NAME
    before = path.read_bytes()
    async with window(site.folder) as (app, _):
        assert isinstance(app.screen, JobsScreen)
        assert says in words(app)
    for verb in (("read", site.folder, *named(site, 0, 1)), ("log", site.folder), ("verify", site.folder)):
        assert says in row(command(*verb))
    assert path.read_bytes() == before
    assert sorted(each.name for each in site.folder.iterdir()) == ["job.yaml", JOURNAL_NAME]


async def test_zero_byte_or_foreign_file(tmp_path: Path) -> None:
    for name, content in (("empty", b""), ("text", b"levels of Tuesday\n" * 200)):
        site = site_with(tmp_path / name, 0)
        (site.folder / JOURNAL_NAME).write_bytes(content)
        await _left_alone(site, "it was left as it is")
    site = site_with(tmp_path / "foreign", 0)
    (site.folder / JOURNAL_NAME).unlink()
    with contextlib.closing(sqlite3.connect(site.folder / JOURNAL_NAME)) as connection:
        connection.execute("CREATE TABLE entry (seq INTEGER)")
    await _left_alone(site, "is not a gradecheck journal")


async def test_log_newer_than_the_program(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    newer = schema.FORMAT + 1
    with contextlib.closing(sqlite3.connect(site.folder / JOURNAL_NAME)) as connection:
        connection.execute(f"PRAGMA user_version={newer}")
    await _left_alone(site, f"newer gradecheck (format {newer}, this one knows {schema.FORMAT})")


async def test_log_older_than_the_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = site_with(tmp_path / "job", 3)
    path = site.folder / JOURNAL_NAME
    for copy in site.folder.glob("*.backup-*"):
        copy.unlink()
    to_older(path)
    old = path.read_bytes()

    def half_way(connection: sqlite3.Connection) -> None:
        STEP.change(connection)
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setitem(upgrade.STEPS, schema.FORMAT - 1, upgrade.Step(OLDER, half_way))
    assert "it was left as it is" in row(command("log", site.folder))
    assert path.read_bytes() == old, "old or new, never half"
    monkeypatch.setitem(upgrade.STEPS, schema.FORMAT - 1, STEP)
    async with window(site.folder) as (app, pilot):
        await press(pilot, site.rods[3], "enter")
        assert verdict(app) != ""
    assert site.recorded() == site.expected(4)
    copy = upgrade.old_copy(path, schema.FORMAT - 1)
    with contextlib.closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (schema.FORMAT - 1,)
        assert connection.execute("SELECT count(*) FROM entry WHERE kind = 'reading'").fetchone() == (3,)
    assert command("verify", site.folder).code == 0


async def test_export_target_full_or_there_already(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = site_with(tmp_path / "job", 2)
    sheet = tmp_path / "day.json"
    sheet.write_text("of yesterday")
    sync = os.fsync

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    said = row(command("report", site.folder, "-o", sheet))
    assert said == f"{sheet} could not be written (no space left on device); what was there before is as it was."
    assert sheet.read_text() == "of yesterday"
    async with window(site.folder) as (app, pilot):
        await press(pilot, "f9")
        post(pilot, "f9")
        while "could not be written" not in words(app):
            await pilot.pause(0.02)
        assert "no space left on device" in words(app)
    assert list(site.folder.glob("daily-report*")) == list(site.folder.glob(".*")) == []
    monkeypatch.setattr(os, "fsync", sync)
    assert command("report", site.folder, "-o", sheet).code == 0
    assert '"P002"' in sheet.read_text()
    assert site.recorded() == site.expected(2)
