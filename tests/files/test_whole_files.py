"""Files are whole or not there: each is on disk before it has its name, and the names are before it is said."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gradecheck import places
from gradecheck.actions import Refusal
from gradecheck.files.whole_files import write_whole
from tests.journal.test_disk import watch


def test_files_are_on_disk_before_their_names_and_the_names_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.csv").write_text("old", encoding="utf-8")
    done = watch(monkeypatch)
    write_whole(tmp_path, {"a.csv": b"new", "b.csv": b"too"})
    assert done == ["file synced", "file synced", "a.csv named", "b.csv named", "folder synced"]
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == {"a.csv": b"new", "b.csv": b"too"}


@pytest.mark.parametrize(("tries", "windows", "written"), [(3, True, b"new"), (9, True, b"old"), (3, False, b"old")])
def test_a_file_that_a_program_of_windows_has_open_is_replaced_once_it_is_let_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tries: int, windows: bool, written: bytes
) -> None:
    (tmp_path / "a.csv").write_text("old", encoding="utf-8")
    replace, asked = os.replace, []

    def held(source: str, target: str, **folders: int) -> None:
        asked.append(target)
        if len(asked) < tries:
            raise PermissionError(13, "Access is denied")
        replace(source, target, **folders)

    monkeypatch.setattr(os, "replace", held)
    monkeypatch.setattr(places, "_HELD_WHILE_OPEN", windows)  # imitated
    monkeypatch.setattr(places, "_WAITS", (0.0, 0.0, 0.0, 0.0))
    if written == b"new":
        write_whole(tmp_path, {"a.csv": b"new"})
    else:
        with pytest.raises(
            Refusal, match=r"a\.csv could not be written \(access is denied\); what was there before is"
        ):
            write_whole(tmp_path, {"a.csv": b"new"})
        assert len(asked) == (5 if windows else 1)
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == {"a.csv": written}


def test_where_a_name_can_not_be_given_those_given_before_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "b.csv").write_text("old", encoding="utf-8")
    replace = os.replace

    def refuse(source: str, target: str, **folders: int) -> None:
        if Path(target).name == "b.csv":
            raise OSError(28, "No space left on device")
        replace(source, target, **folders)

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(Refusal, match=r"b\.csv could not be written .*; written before it: a\.csv; the others are"):
        write_whole(tmp_path, {"a.csv": b"new", "b.csv": b"too"})
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == {"a.csv": b"new", "b.csv": b"old"}
