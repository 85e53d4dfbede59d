"""What `verify` says of a journal that is not sound, and what `rescue` makes of it."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.store import Journal
from tests.cli.asides import answered
from tests.journal.damage import PAGE, blank, page_of, without_guards, write

Out = pytest.CaptureFixture[str]


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The journal of a job of forty entries, in the folder the commands are given in; thirty are in its copy."""
    monkeypatch.chdir(tmp_path)
    Path("court").mkdir()
    path = Path("court") / "journal.db"
    write(path, 30)
    keep_copy(path)
    write(path, 10, first=31)
    return path


def change(path: Path, seq: int) -> None:
    """Changes what was keyed in an entry."""
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = ?", (seq,))


def answer(capsys: Out, *arguments: str, code: int) -> Any:
    """What a command answers in JSON; it must end with that code and say nothing else."""
    assert main([*arguments, "--json"]) == code
    printed = capsys.readouterr()
    assert printed.err == ""
    return answered(printed.out)


def said(capsys: Out, *arguments: str, code: int) -> list[str]:
    """The lines a command prints."""
    assert main(arguments) == code
    printed = capsys.readouterr()
    assert printed.err == ""
    return printed.out.splitlines()


def entries(path: Path) -> list[str]:
    """The ids in a sound journal, but for the notes of a rescue."""
    journal = Journal(path)
    assert journal.verify().fault is None
    found = [entry.id for entry in journal.entries() if entry.window != "rescue"]
    journal.close()
    return found


# -- verify


def test_verify_gives_a_sound_journals_hash_and_how_its_copy_compares(path: Path, capsys: Out) -> None:
    lines = said(capsys, "verify", "court", code=0)
    assert lines[0].startswith("Sound: 40 entries, last hash ")
    assert lines[1].startswith("Hash of entry 40 to read out: ")
    assert lines[2:] == ["journal.backup-1.db: the same up to its last entry, 30; 10 more here since."]
    reply = answer(capsys, "verify", "court", code=0)
    assert (
        reply["entries"],
        reply["fault"],
        reply["behind"],
        reply["lost"],
        reply["backups"],
    ) == (40, None, 0, [], [])


def test_verify_says_how_far_it_is_sound_and_what_to_do(path: Path, capsys: Out) -> None:
    change(path, 12)
    before = path.read_bytes()
    lines = said(capsys, "verify", "court", code=1)
    assert lines[0].startswith("Not sound: Entry 12 of ")
    assert lines[1:3] == [
        "Sound up to entry 11; 28 more after that can be saved.",
        "Lost: entry 12: its content was changed after it was written",
    ]
    assert lines[3] == "To save what is good in a new log: gradecheck rescue court -o NEW"
    assert lines[4].startswith("The copy journal.backup-1.db is good up to entry 30 (hash ")
    reply = answer(capsys, "verify", "court", code=1)
    assert (reply["entries"], reply["behind"]) == (11, 28)
    assert reply["lost"] == [{"seq": 12, "to": 12, "why": "its content was changed after it was written"}]
    assert [(copy["name"], copy["entries"]) for copy in reply["backups"]] == [("journal.backup-1.db", 30)]
    assert path.read_bytes() == before


@pytest.mark.parametrize("page", [1, 2], ids=["head", "root-of-the-table"])
def test_verify_says_the_same_of_a_file_that_can_not_be_opened_any_more(path: Path, capsys: Out, page: int) -> None:
    blank(path, page)
    lines = said(capsys, "verify", "court", code=1)
    assert lines[0].startswith("Not sound: ")
    assert lines[1] == "Sound up to entry 40; 0 more after that can be saved."
    assert "gradecheck rescue court -o NEW" in lines[2]


def test_verify_notices_a_journal_that_ends_before_its_copy(path: Path, capsys: Out) -> None:
    keep_copy(path)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq > 25")
    lines = said(capsys, "verify", "court", code=1)
    assert lines[0] == "Not sound: it ends at entry 25, but its copy journal.backup-1.db goes on to entry 40"
    assert lines[-2].startswith("The copy journal.backup-1.db is good up to entry 40 (hash ")


def test_verify_of_a_newer_or_of_no_journal_is_refused(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("PRAGMA user_version=99")
    assert main(["verify", "court"]) == 2
    assert "newer gradecheck" in capsys.readouterr().err
    path.write_bytes(b"levels of Tuesday\n" * 500)
    assert main(["verify", "court"]) == 2
    assert "left as it" in capsys.readouterr().err


# -- rescue


def test_rescue_of_a_sound_journal_ends_with_0_and_leaves_nothing_out(path: Path, capsys: Out) -> None:
    lines = said(capsys, "rescue", "court", "-o", "new.db", code=0)
    assert lines == [
        "Saved: 40 entries as they were, 0 after a gap linked anew.",
        f"Written to new.db; {path} was not changed.",
    ]
    assert Path("new.db").read_bytes() != b""
    assert entries(Path("new.db")) == entries(path)


def test_rescue_tells_what_it_could_not_keep_and_ends_with_1(path: Path, capsys: Out) -> None:
    change(path, 12)
    before = path.read_bytes()
    lines = said(capsys, "rescue", "court", "-o", "new.db", code=1)
    assert lines[:2] == [
        "Saved: 11 entries as they were, 28 after a gap linked anew.",
        "Lost: entry 12: its content was changed after it was written",
    ]
    assert path.read_bytes() == before
    assert entries(Path("new.db")) == [f"n{number}" for number in range(1, 41) if number != 12]
    reply = answer(capsys, "rescue", "court/job.yaml", "--output", "again.db", code=1)
    assert (
        reply["kept"],
        reply["chained anew"],
        reply["notes"],
        len(reply["hash"]),
    ) == (11, 28, 1, 64)
    assert reply["lost"] == [{"seq": 12, "to": 12, "why": "its content was changed after it was written"}]


def test_rescue_names_a_copy_that_goes_on_further_than_what_is_left(path: Path, capsys: Out) -> None:
    for number in range(20, 41):
        change(path, number)
    lines = said(capsys, "rescue", "court", "-o", "new.db", code=1)
    assert any(line.startswith("The copy journal.backup-1.db is good up to entry 30 (hash ") for line in lines)
    reply = answer(capsys, "rescue", "court", "-o", "again.db", code=1)
    assert [each["entries"] for each in reply["backups"]] == [30]


def test_rescue_of_what_is_sound_but_ends_before_its_copy_ends_with_1(path: Path, capsys: Out) -> None:
    keep_copy(path)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq > 25")
    lines = said(capsys, "rescue", "court", "-o", "new.db", code=1)
    assert lines[0] == "Saved: 25 entries as they were, 0 after a gap linked anew."
    assert lines[1].startswith("The copy journal.backup-1.db is good up to entry 40 (hash ")
    reply = answer(capsys, "rescue", "court", "-o", "again.db", code=1)
    assert (reply["lost"], [copy["entries"] for copy in reply["backups"]]) == ([], [40, 30])


def test_rescue_of_what_goes_just_as_far_as_its_copy_ends_with_0(path: Path, capsys: Out) -> None:
    keep_copy(path)
    assert len(said(capsys, "rescue", "court", "-o", "new.db", code=0)) == 2


def test_a_rescued_journal_in_the_damaged_ones_place_is_the_jobs_journal(path: Path, capsys: Out) -> None:
    page = page_of(path, b'"at 20"')
    first = min(map(int, re.findall(rb'"at (\d+)[" ]', path.read_bytes()[(page - 1) * PAGE : page * PAGE])))
    blank(path, page)
    said(capsys, "rescue", "court", "-o", "court/rescued.db", code=1)
    path.rename("court/damaged.db")
    Path("court/rescued.db").rename(path)
    assert f"still holds entry {first}, which a rescue could not save" in said(capsys, "verify", "court", code=1)[0]
    write(path, 1, first=99)
    assert entries(path)[-1] == "n99"
    assert keep_copy(path) is not None


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param(["rescue", "court", "-o", "court/journal.db"], "is there already", id="onto-itself"),
        pytest.param(["rescue", "court", "-o", "nowhere/new.db"], "There is no folder nowhere", id="no-folder"),
        pytest.param(["rescue", "elsewhere", "-o", "new.db"], "There is no folder elsewhere", id="no-job"),
        pytest.param(["rescue", "empty", "-o", "new.db"], "can't be opened", id="no-journal"),
    ],
)
def test_what_can_not_be_rescued_is_said_once_and_nothing_is_written(
    path: Path, capsys: Out, arguments: list[str], says: str
) -> None:
    Path("empty").mkdir()
    before = {each: each.read_bytes() for each in Path().rglob("*") if each.is_file()}
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert says in printed.err
    assert printed.err.count("\n") == 1
    assert {each: each.read_bytes() for each in Path().rglob("*") if each.is_file()} == before


def test_rescue_needs_a_name_for_the_new_journal(path: Path, capsys: Out) -> None:
    before = path.read_bytes()
    for arguments in (["rescue", "court"], ["rescue", "court", "-o", "new.db", "--in-place"]):
        assert main(arguments) == 2
        assert "-o" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert not Path("new.db").exists()


def test_rescue_in_place_moves_the_damaged_files_aside_together(path: Path, capsys: Out) -> None:
    change(path, 12)
    path.with_name("journal.db-journal").write_bytes(b"left by something")
    before = {each.name: each.read_bytes() for each in Path("court").iterdir()}
    lines = said(capsys, "rescue", "court", "--in-place", code=1)
    aside = Path("court", "journal.damaged-1")
    assert lines[-1] == f"Written to {path}; the damaged log and its files are in {aside}."
    kept = {each.name: each.read_bytes() for each in aside.iterdir()}
    assert kept == {name: before[name] for name in ("journal.db", "journal.db-journal")}
    assert sorted(each.name for each in Path("court").iterdir()) == [
        *("journal.backup-1.db", "journal.damaged-1", "journal.db"),
    ]
    assert entries(path) == [f"n{number}" for number in range(1, 41) if number != 12]
    reply = answer(capsys, "verify", "court", code=1)
    assert reply["fault"] == "its copy journal.backup-1.db still holds entry 12, which a rescue could not save here"
    Path("court/journal.backup-1.db").unlink()
    assert said(capsys, "verify", "court", code=0)[0].startswith("Sound: ")


@pytest.mark.parametrize("kind", ["folder", "pipe", "link"])
@pytest.mark.parametrize("end", ["-journal", "-wal", "-shm"])
def test_what_is_no_file_beside_a_damaged_journal_is_moved_aside_with_it(
    path: Path, tmp_path: Path, capsys: Out, kind: str, end: str
) -> None:
    change(path, 12)
    (tmp_path / "victim").write_text("kept")
    side = path.with_name(f"journal.db{end}")
    if kind == "folder":
        side.mkdir()
        (side / "within").write_text("kept too")
    elif kind == "pipe":
        os.mkfifo(side)
    else:
        side.symlink_to(tmp_path / "victim")
    assert said(capsys, "rescue", "court", "--in-place", code=1)[0].startswith("Saved: 11 entries")
    aside = Path("court", "journal.damaged-1")
    assert sorted(each.name for each in Path("court").iterdir()) == [
        *("journal.backup-1.db", "journal.damaged-1", "journal.db"),
    ]
    assert sorted(each.name for each in aside.iterdir()) == ["journal.db", f"journal.db{end}"]
    assert (tmp_path / "victim").read_text() == "kept"
    assert len(entries(path)) == 39


def test_where_it_can_not_be_kept_aside_all_is_as_it_was(
    path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    change(path, 12)
    before = {each.name: each.read_bytes() for each in Path("court").iterdir()}

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("gradecheck.journal.recovery.rescue.copy_plain", full)
    assert main(["rescue", "court", "--in-place"]) == 2
    assert "can't be moved aside (no space left on device); what was rescued is in " in capsys.readouterr().err
    after = {each.name: each.read_bytes() for each in Path("court").iterdir()}
    assert [name for name in after if name not in before and not name.endswith(".new")] == []
    assert {name: after[name] for name in before} == before


def test_rescue_of_a_journal_that_is_gone_says_which_copy_is_there(path: Path, capsys: Out) -> None:
    path.unlink()
    assert main(["rescue", "court", "-o", "new.db"]) == 2
    assert "journal.backup-1.db, a copy up to entry 30, is there; nothing new was begun." in capsys.readouterr().err
    assert not Path("new.db").exists()


@pytest.mark.parametrize("end", ["journal.db-journal", "journal.db-wal", "x.db-shm", "journal.backup-3.db"])
def test_a_rescued_journal_is_not_given_the_name_of_what_lies_beside_one(path: Path, capsys: Out, end: str) -> None:
    before = sorted(Path("court").iterdir())
    assert main(["rescue", "court", "-o", f"court/{end}"]) == 2
    text = capsys.readouterr().err
    assert text == f"{Path('court', end)} is a name for files beside a log; give the new log another name.\n"
    assert sorted(Path("court").iterdir()) == before
