"""`verify` beside copies, an older report's hash and another folder names what was rewritten from its first entry."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main
from gradecheck.journal.facts import Note
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.store import JOURNAL_NAME, Journal
from tests.cli.asides import answered
from tests.faults.by_hand_report import read_out
from tests.faults.rewritten import drafts_of, rewrite
from tests.journal.damage import blank, without_guards, write

Out = pytest.CaptureFixture[str]


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The journal of a job of forty entries, thirty of them in its copy and in the folder `kept`."""
    monkeypatch.chdir(tmp_path)
    Path("court").mkdir()
    path = Path("court") / JOURNAL_NAME
    write(path, 30)
    keep_copy(path)
    shutil.copytree("court", "kept")
    Path("kept", "journal.backup-1.db").unlink()
    write(path, 10, first=31)
    return path


def said(capsys: Out, *arguments: str, code: int) -> list[str]:
    """The lines that `verify` prints."""
    assert main(["verify", "court", *arguments]) == code
    printed = capsys.readouterr()
    assert printed.err == ""
    return printed.out.splitlines()


def answer(capsys: Out, *arguments: str, code: int) -> Any:
    """What it answers in JSON."""
    return answered("\n".join(said(capsys, *arguments, "--json", code=code)))


def refused(capsys: Out, *arguments: str) -> str:
    """The one sentence with which it is refused."""
    assert main(["verify", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    [line] = printed.err.splitlines()
    return line


def hash_of(path: Path, seq: int) -> str:
    """The hash of an entry."""
    journal = Journal(path)
    entry = journal.at(seq)
    journal.close()
    assert entry is not None
    return entry.hash


def changed(path: Path, seq: int) -> None:
    """Rewrites the journal with another entry there, every hash behind it built anew."""
    drafts = drafts_of(path)
    drafts[seq - 1] = replace(drafts[seq - 1], typed="51 1/8", fact=Note("walk", "as it should have been"))
    rewrite(path, drafts)


REWRITTEN = [
    "journal.backup-1.db: the same up to entry 11. One of the two was rewritten, or work went on in both.",
    "Entry 12 there: note at 12, 12, RK, 2031-04-07 08:42:00.",
    "Entry 12 here: note as it should have been, 51 1/8, RK, 2031-04-07 08:42:00.",
]


def test_a_journal_that_goes_on_from_all_that_was_kept_is_sound(path: Path, capsys: Out) -> None:
    digest = hash_of(path, 30)
    assert said(capsys, "--hash", f"30: {read_out(digest)}", "--against", "kept", code=0) == [
        f"Sound: 40 entries, last hash {hash_of(path, 40)[:16]}.",
        f"Hash of entry 40 to read out: {read_out(hash_of(path, 40))}",
        "journal.backup-1.db: the same up to its last entry, 30; 10 more here since.",
        "kept: the same up to its last entry, 30; 10 more here since.",
        f"Entry 30 still has the hash {read_out(digest)}; so does every entry before it.",
    ]
    reply = answer(capsys, "--hash", digest[:16], "--against", "kept/job.yaml", code=0)
    assert (reply["fault"], reply["entry with hash"], reply["hash to read out"]) == (
        None,
        30,
        read_out(hash_of(path, 40)),
    )
    assert [(each["with"], each["outcome"], each["entries"], each["first"]) for each in reply["compared"]] == [
        ("journal.backup-1.db", "agrees", 30, None),
        ("kept/job.yaml", "agrees", 30, None),
    ]


def test_a_rewritten_entry_is_named_from_a_copy_with_what_it_was(path: Path, capsys: Out) -> None:
    changed(path, 12)
    before = {each: each.read_bytes() for each in Path("court").iterdir()}
    lines = said(capsys, code=1)
    assert lines[0] == "Not sound: from entry 12 on it differs from its copy journal.backup-1.db"
    assert lines[1:4] == REWRITTEN
    assert lines[4] == "Keep both, and find out which one is right before you go on."
    assert lines[5].startswith("The copy journal.backup-1.db is good up to entry 30 (hash ")
    assert {each: each.read_bytes() for each in Path("court").iterdir()} == before


def test_a_rewritten_entry_is_named_from_another_folder(path: Path, capsys: Out) -> None:
    changed(path, 12)
    Path("court/journal.backup-1.db").unlink()
    assert said(capsys, code=0)[0].startswith("Sound: 40 entries"), "a chain built anew is sound by itself"
    lines = said(capsys, "--against", "kept", code=1)
    assert lines[0] == "Not sound: from entry 12 on it differs from kept"
    assert lines[1] == REWRITTEN[0].replace("journal.backup-1.db", "kept")
    reply = answer(capsys, "--against", "kept", code=1)["compared"]
    assert reply == [
        {
            "with": "kept",
            "outcome": "differs",
            "entries": 30,
            "first": 12,
            "there": "note at 12, 12, RK, 2031-04-07 08:42:00",
            "here": "note as it should have been, 51 1/8, RK, 2031-04-07 08:42:00",
        }
    ]


@pytest.mark.parametrize("name", ["court/journal.backup-1.db", "alone.db", "kept/job.yaml"])
def test_a_log_s_file_kept_by_itself_is_held_against_too(path: Path, capsys: Out, name: str) -> None:
    shutil.copy("kept/journal.db", "alone.db")
    Path("kept/job.yaml").touch()
    changed(path, 12)
    assert f"{name}: the same up to entry 11. One of the two was rewritten, or work went on in both." in said(
        capsys, "--against", name, code=1
    )


@pytest.mark.parametrize("number", ["", "30 ", "no. 30: "])
def test_a_rewritten_journal_does_not_hold_the_hash_of_an_older_report(path: Path, capsys: Out, number: str) -> None:
    digest = hash_of(path, 30)
    changed(path, 12)
    Path("court/journal.backup-1.db").unlink()
    lines = said(capsys, "--hash", f"{number}{read_out(digest)}", code=1)
    assert lines[1] == f"No entry has the hash {read_out(digest)}."
    if number:
        assert lines[0] == "Not sound: entry 30 has another hash: it was rewritten at that entry or before it"
    else:
        assert lines[0].startswith("Not sound: no entry has that hash: ")
        assert lines[2] == "Enter the number next to the hash too, as --hash “57 XXXX ...”, and more can be said."
    assert answer(capsys, "--hash", digest, code=1)["entry with hash"] is None
    assert said(capsys, "--hash", hash_of(path, 11), code=0)[-1].startswith("Entry 11 still has the hash ")


def test_a_journal_that_was_cut_is_told_by_each(path: Path, capsys: Out) -> None:
    digest = hash_of(path, 30)
    rewrite(path, drafts_of(path)[:25])
    lines = said(capsys, "--against", "kept", code=1)
    assert lines[:3] == [
        "Not sound: it ends at entry 25, but its copy journal.backup-1.db goes on to entry 30",
        "journal.backup-1.db: the same up to entry 25. Here it was cut, or an older log put back.",
        "Entry 26 there: note at 26, 26, RK, 2031-04-07 08:56:00.",
    ]
    assert lines[3] == lines[1].replace("journal.backup-1.db", "kept")
    Path("court/journal.backup-1.db").unlink()
    lines = said(capsys, "--hash", f"30 {read_out(digest)}", code=1)
    assert lines[0] == "Not sound: it ends at entry 25, and that hash is of entry 30: it was cut or put back"


def test_another_job_s_log_is_told_as_that(path: Path, capsys: Out) -> None:
    Path("other").mkdir()
    write(Path("other") / JOURNAL_NAME, 5, first=70)
    lines = said(capsys, "--against", "other", code=1)
    assert lines[0] == "Not sound: from entry 1 on it differs from other"
    assert "other: nothing is the same. It is another job's log, or one of the two was rewritten." in lines


def test_what_differs_in_nothing_that_is_printed_is_told_by_what_it_is(path: Path, capsys: Out) -> None:
    drafts = drafts_of(path)
    drafts[4] = replace(drafts[4], laptop="another", version="9")
    rewrite(path, drafts)
    assert said(capsys, code=1)[3] == (
        "Entry 5 here: note at 5, 5, RK, 2031-04-07 08:35:00; its laptop and its version differ."
    )


def test_a_hash_misread_in_a_group_or_two_is_not_called_another_log(path: Path, capsys: Out) -> None:
    letters = read_out(hash_of(path, 30))
    wrong = f"{'Z' if letters[0] != 'Z' else 'Y'}{letters[1:]}"
    text = refused(capsys, "court", "--hash", wrong)
    assert text == "Group 1 of the hash may be misread, the others fit an entry of this log. Check and try again."


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--hash", "57"), "“57” is not a hash; enter the 8 groups of 4 letters and digits from the report."),
        (("--against", "court"), "--against names the log of JOB itself"),
        (("--against", "court/job.yaml"), "--against names the log of JOB itself"),
        (("--against", "court/journal.db"), "--against names the log of JOB itself"),
        (("--against", "nowhere"), "There is no folder nowhere"),
        (("--against", "empty"), "There is no log in empty: nothing was recorded there yet, or it is gone."),
        (("--against", "spoiled"), "The journal spoiled/journal.db can't be read"),
        (("--against", "linked"), "is no file but a link to another place"),
    ],
)
def test_what_can_not_be_compared_is_told_in_a_sentence(
    path: Path, capsys: Out, arguments: tuple[str, ...], says: str
) -> None:
    for name in ("empty", "spoiled", "linked"):
        Path(name).mkdir()
    Path("spoiled", JOURNAL_NAME).write_bytes(b"levels of Tuesday\n" * 500)
    Path("linked", JOURNAL_NAME).symlink_to(path.absolute())
    assert says in refused(capsys, "court", *arguments)


def test_a_damaged_copy_blames_nobody_and_is_told(path: Path, capsys: Out) -> None:
    copy = path.with_name("journal.backup-1.db")
    with without_guards(copy) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 12")
        connection.execute("UPDATE entry SET hash = ? WHERE seq = 13", ("0" * 64,))
    lines = said(capsys, code=0)
    assert lines[0].startswith("Sound: 40 entries")
    assert lines[2:] == [
        "journal.backup-1.db: damaged from entry 12 on; what can be read of it was compared.",
        "journal.backup-1.db: nothing that can be read of it is different.",
    ]
    assert answer(capsys, code=0)["compared"][0]["damaged from"] == 12
    blank(copy, 2)
    assert said(capsys, code=0)[0].startswith("Sound: 40 entries")
    copy.write_bytes(b"levels of Tuesday\n" * 500)
    assert said(capsys, code=0)[2].startswith("journal.backup-1.db: not compared. ")


@pytest.mark.parametrize("how", ["hardlink_to", "symlink_to"])
def test_a_copy_that_is_the_log_itself_proves_nothing(path: Path, capsys: Out, how: str) -> None:
    copy = path.with_name("journal.backup-1.db")
    copy.unlink()
    getattr(copy, how)(path.absolute())
    assert main(["verify", "court"]) == 0
    text = capsys.readouterr().out.splitlines()
    assert text[2:] == ["journal.backup-1.db: not compared. It is the log itself under another name."]


def test_a_damaged_journal_elsewhere_is_compared_by_what_holds(path: Path, capsys: Out) -> None:
    with without_guards(Path("kept", JOURNAL_NAME)) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 5")
    lines = said(capsys, "--against", "kept", code=0)
    assert lines[0].startswith("Sound: ")
    assert lines[3] == "kept: damaged from entry 5 on; what can be read of it was compared."
    changed(path, 12)
    assert said(capsys, "--against", "kept", code=1)[0].startswith("Not sound: from entry 12 on")


def test_a_damaged_journal_says_so_and_is_compared_too(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 5")
    digest = hash_of(path, 30)
    lines = said(capsys, "--against", "kept", "--hash", digest, code=1)
    assert lines[0].startswith("Not sound: Entry 5 of ")
    assert lines[-2] == f"Entry 30 still has the hash {digest}; what is wrong is listed above."


def test_after_a_rescue_an_older_copy_says_only_what_it_still_holds(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 12")
    old = hash_of(path, 30)
    assert main(["rescue", "court", "--in-place"]) == 1
    capsys.readouterr()
    lines = said(capsys, code=1)
    assert lines[:3] == [
        "Not sound: its copy journal.backup-1.db still holds entry 12, which a rescue could not save here",
        "journal.backup-1.db: from entry 12 on a rescue linked the log anew; what it saved is the same.",
        "Entry 12 is there and not here: note at 12, 12, RK, 2031-04-07 08:42:00.",
    ]
    lines = said(capsys, "--hash", f"30 {old}", code=1)
    assert "From entry 12 on a rescue linked the log anew; a hash from before can't be found there." in lines


def test_a_rescue_is_no_pretext_for_other_entries(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 12")
    assert main(["rescue", "court", "--in-place"]) == 1
    capsys.readouterr()
    drafts = drafts_of(path)
    drafts[20] = replace(drafts[20], fact=Note("walk", "as it should have been"))
    rewrite(path, drafts)
    lines = said(capsys, code=1)
    assert lines[0] == "Not sound: from entry 21 on it differs from its copy journal.backup-1.db"
    assert lines[3] == "Entry 21 here: note as it should have been, 21, RK, 2031-04-07 08:51:00."


def test_a_journal_from_another_laptop_is_compared_in_a_copy(
    path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    Path("kept", "journal.db-wal").write_bytes(b"somebody's")
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(tmp_path / "new laptop"))
    changed(path, 12)
    before = {each: each.read_bytes() for each in (*Path("kept").iterdir(), *Path("court").iterdir())}
    assert main(["verify", "court", "--against", "kept"]) == 1
    printed = capsys.readouterr()
    assert printed.out.startswith("Not sound: from entry 12 on")
    assert printed.err == "Found journal.db-wal beside the log; gradecheck didn't make that, so it was left out.\n"
    assert {each: each.read_bytes() for each in (*Path("kept").iterdir(), *Path("court").iterdir())} == before


def test_a_rescue_that_lost_nothing_which_a_copy_holds_is_sound(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 35")
    assert main(["rescue", "court", "--in-place"]) == 1
    capsys.readouterr()
    assert said(capsys, "--against", "kept", code=0)[0].startswith("Sound: 40 entries")


def test_what_took_an_entrys_place_behind_a_rescue_is_named_with_it(path: Path, capsys: Out) -> None:
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = 12")
    assert main(["rescue", "court", "--in-place"]) == 1
    capsys.readouterr()
    drafts = drafts_of(path)
    drafts[20] = replace(drafts[20], id="another", fact=Note("walk", "as it should have been"))
    rewrite(path, drafts)
    assert said(capsys, code=1)[2:4] == [
        f"Entry 21 there: note at 21{' and so on' * 5} and…, 21, RK, 2031-04-07 08:51:00.",
        "Entry 21 here: note as it should have been, 21, RK, 2031-04-07 08:51:00.",
    ]


def test_where_there_is_no_log_nothing_is_called_sound(path: Path, capsys: Out) -> None:
    Path("new").mkdir()
    assert refused(capsys, "new") == "There is no log in new: nothing was recorded there yet, or it is gone."
    for each in Path("court").iterdir():
        each.unlink()
    lines = said(capsys, code=1)
    assert lines[0] == "Not sound: The log that was kept in court is gone: put journal.db back, or a new one begins"
    assert answer(capsys, "--against", "kept", code=1)["fault"].startswith("The log that was kept in court is gone")
