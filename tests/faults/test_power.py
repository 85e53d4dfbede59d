"""After a power cut what was synced is there, what was not is there in any part, a name is as good as its folder."""

from __future__ import annotations

import random
from pathlib import Path

from gradecheck.journal.chain import START, to_row
from gradecheck.journal.facts import Note
from gradecheck.journal.file import create
from tests.faults.disk import in_use
from tests.faults.power import SECTOR, Call, Powerless, Recorder, files_in
from tests.journal.drafts import draft

OLD = {"log": b"a" * 4 * SECTOR}


def found(before: dict[str, bytes], *calls: Call) -> list[dict[str, bytes]]:
    """All that two hundred cuts behind these calls leave."""
    left = Powerless(before, calls)
    return [left.after(random.Random(number)) for number in range(200)]


def write(path: str, letter: str, offset: int = 0, sectors: int = 1) -> Call:
    return Call("write", path, letter.encode() * sectors * SECTOR, offset * SECTOR)


def test_what_was_synced_is_there_whatever_comes() -> None:
    after = found(OLD, write("log", "b", sectors=4), Call("sync", "log"))
    assert after
    assert all(each == {"log": b"b" * 4 * SECTOR} for each in after)


def test_of_what_was_not_synced_each_sector_is_there_or_not() -> None:
    after = found(OLD, write("log", "b", sectors=4))
    seen = {bytes(each["log"][::SECTOR]) for each in after}
    assert len(seen) == 2**4  # aaaa to bbbb
    assert all(len(each["log"]) == 4 * SECTOR for each in after)


def test_a_later_sector_may_be_there_without_the_one_before_it() -> None:
    after = found({"log": b""}, write("log", "b"), write("log", "c", 1))
    assert {each["log"][:1] + each["log"][-1:] for each in after} == {b"", b"bb", b"bc", b"\0c"}


def test_a_file_cut_short_is_that_only_once_it_was_synced() -> None:
    cut = Call("truncate", "log", number=SECTOR)
    assert {len(each["log"]) for each in found(OLD, cut)} == {SECTOR, 4 * SECTOR}
    assert {len(each["log"]) for each in found(OLD, cut, Call("sync", "log"))} == {SECTOR}


def test_a_new_file_may_have_no_name_until_its_folder_was_synced() -> None:
    new = (Call("create", "new"), write("new", "b"), Call("sync", "new"))
    assert {frozenset(each) for each in found({}, *new)} == {frozenset(), frozenset({"new"})}
    journal = (Call("create", "new", number=1), write("new", "b"), Call("sync", "new"))
    assert all(each == {"new": b"b" * SECTOR} for each in found({}, *journal))


def test_a_name_is_certain_once_the_folder_was_synced() -> None:
    new = (Call("create", "new"), write("new", "b"), Call("sync", "new"), Call("link", "new", also="log"))
    assert found({}, *new, Call("unlink", "new"), Call("sync folder", "")) == [{"log": b"b" * SECTOR}] * 200


def test_a_deleted_file_may_come_back_unless_the_folder_was_synced() -> None:
    assert {frozenset(each) for each in found(OLD, Call("unlink", "log"))} == {frozenset(), frozenset({"log"})}
    assert found(OLD, Call("delete", "log")) == [{}] * 200


def test_under_its_second_name_a_file_has_what_was_synced_under_its_first() -> None:
    calls = (Call("create", "new"), write("new", "b"), Call("sync", "new"), Call("link", "new", also="log"))
    names = {frozenset(each) for each in found({}, *calls)}
    assert names == {frozenset(), frozenset({"new"}), frozenset({"log"}), frozenset({"new", "log"})}
    assert all(content == b"b" * SECTOR for each in found({}, *calls) for content in each.values())


def test_a_journal_that_was_made_is_there_whole_whatever_comes(tmp_path: Path) -> None:
    """Nobody wrote into it since: its name hangs on the folder that was synced behind it, and on nothing else."""
    path, disk = tmp_path / "journal.db", Recorder()
    with in_use(disk):
        create(path, [to_row(draft(Note(None, "dry" * 2000), "a"), 1, START)])
    assert found({}, *disk.calls) == [files_in(tmp_path)] * 200
