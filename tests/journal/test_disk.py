"""A name is given whole or not at all, what has it is on disk before, and the name itself behind it."""

from __future__ import annotations

import contextlib
import functools
import os
import sqlite3
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.journal.file import create
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.recovery.copying import copied, copy_open, copy_whole
from gradecheck.places import LEFT_OVER, Folder, made_whole, stage
from tests.journal.damage import write


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is done to names from here on, and what is made durable, in order."""
    return watch(monkeypatch)


def watch(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Keeps a list of each name that is given, and of each file and folder that is made durable."""
    told: list[str] = []
    sync = os.fsync

    def synced(handle: int) -> None:
        told.append("folder synced" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file synced")
        sync(handle)

    def named(call: Callable[..., None], source: str, target: str, **folders: object) -> None:
        call(source, target, **folders)
        told.append(f"{Path(target).name} named")

    monkeypatch.setattr(os, "fsync", synced)
    for name in ("link", "rename", "replace"):
        monkeypatch.setattr(os, name, functools.partial(named, getattr(os, name)))
    return told


def test_a_name_is_on_disk_when_it_was_given(tmp_path: Path, done: list[str]) -> None:
    with made_whole(tmp_path / "a") as new:
        new.write_text("whole", encoding="utf-8")
        assert done == []
    assert done == ["a named", "folder synced"]
    assert [each.name for each in tmp_path.iterdir()] == ["a"]


def test_a_stick_without_links_has_the_name_on_disk_as_well(
    tmp_path: Path, done: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown(source: str, target: str, **folders: object) -> None:
        raise PermissionError("a stick knows no links")

    monkeypatch.setattr(os, "link", unknown)
    with made_whole(tmp_path / "a") as new:
        new.write_text("whole", encoding="utf-8")
    assert done == ["a named", "folder synced"]


@pytest.mark.parametrize("durable", [True, False])
def test_what_is_staged_is_on_disk_before_it_has_its_name(tmp_path: Path, done: list[str], durable: bool) -> None:
    with Folder(tmp_path) as folder:
        name = stage(folder, b"whole", durable=durable)
    assert done == ["file synced"] * durable
    assert (tmp_path / name).read_bytes() == b"whole"


def test_a_new_journal_is_on_disk_with_its_name(path: Path, done: list[str]) -> None:
    create(path)
    assert done == ["journal.db named", "folder synced"]


def test_copies_are_on_disk_with_their_names(path: Path, done: list[str]) -> None:
    write(path, 3)
    done.clear()
    keep_copy(path)
    assert done == ["journal.backup-1.db named", "folder synced"]
    write(path, 3, first=4)
    done.clear()
    keep_copy(path)
    assert done == ["journal.backup-2.db named", "journal.backup-1.db named", "folder synced"]


def test_copies_before_an_upgrade_and_elsewhere_are_on_disk_by_name(path: Path, done: list[str]) -> None:
    write(path, 3)
    done.clear()
    copy_whole(path, path.with_name("old.db"))
    assert done == ["old.db named", "folder synced"]
    done.clear()
    with contextlib.closing(sqlite3.connect(path)) as source:
        copy_open(source, path.with_name("elsewhere.db"))
    assert done == ["elsewhere.db named", "folder synced"]


def test_whatever_writes_a_journal_or_a_copy_waits_for_the_disk(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`synchronous` of each connection to a file not yet named, as it is when that is closed."""
    waits: dict[str, int] = {}

    class Noted(sqlite3.Connection):
        def close(self) -> None:
            _, _, name = self.execute("PRAGMA database_list").fetchone()
            if name.endswith(".new"):
                waits[Path(name).name.partition(".db.")[0]] = self.execute("PRAGMA synchronous").fetchone()[0]
            super().close()

    write(path, 3)
    monkeypatch.setattr(sqlite3, "connect", functools.partial(sqlite3.connect, factory=Noted))
    create(path.with_name("new.db"))
    copied(path, path.with_name("copy.db"))
    with contextlib.closing(sqlite3.connect(path)) as source:
        copy_open(source, path.with_name("elsewhere.db"))
    assert waits == {"new": 3, "copy": 3, "elsewhere": 3}  # EXTRA (sqlite.org/pragma.html)


def test_what_a_killed_copy_left_is_cleared_away_an_hour_later(path: Path) -> None:
    write(path, 3)
    old, young = (path.with_name(f"copy.db.{each}.new") for each in ("old", "young"))
    for left in (old, young):
        left.write_bytes(b"half")
    hour_ago = young.stat().st_mtime - 3601
    os.utime(old, (hour_ago, hour_ago))
    assert LEFT_OVER == 3600
    new = copied(path, path.with_name("copy.db"))
    assert {each.name for each in path.parent.glob("*.new")} == {young.name, new.name}
