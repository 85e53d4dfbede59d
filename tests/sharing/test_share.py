"""`gradecheck share`: two laptops meet in a folder that neither opens a database on."""

from __future__ import annotations

import os
import shutil
import time
import zlib
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.journal.store import JOURNAL_NAME
from tests.cli.test_join import JOB, Out, answer, laptop, log, said, yards

__all__ = ["yards"]


def files() -> list[Path]:
    """The files of entries in the folder, in order."""
    return sorted(Path("meeting").glob("*.rows"))


@pytest.fixture
def meeting(yards: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """The two yards of `join`, and a folder that both can get at; the commands run on `south`."""
    Path("meeting").mkdir()
    return yards


def test_two_laptops_that_share_by_a_folder_have_one_log(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    assert said(capsys, "share", "south", "meeting") == ["meeting: 0 new entries taken in, 5 new entries put there."]
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/16")
    assert said(capsys, "share", "north", "meeting") == ["meeting: 2 new entries taken in, 1 new entry put there."]
    laptop("south", meeting)
    reply = answer(capsys, "share", "south", "meeting")
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (1, 0, 6)
    assert log(capsys, "south") == log(capsys, "north")
    for folder in ("north", "south"):
        said(capsys, "verify", folder)


def test_a_share_writes_what_is_new_and_nothing_else(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    before = {path.name: path.read_bytes() for path in files()}
    for _ in range(3):
        said(capsys, "share", "south", "meeting")
    assert {path.name: path.read_bytes() for path in files()} == before
    said(capsys, "read", "south", "W2=46 1/16")
    said(capsys, "share", "south", "meeting")
    [new] = [path for path in files() if path.name not in before]
    assert len(zlib.decompress(new.read_bytes()).decode().split("\n")) == 1


def test_the_name_says_plan_chain_range_and_the_hash_of_the_bytes(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    import hashlib
    import json

    said(capsys, "share", "south", "meeting")
    [path] = files()
    rows = [json.loads(line) for line in zlib.decompress(path.read_bytes()).decode().split("\n")]
    plan, first = rows[0][11], rows[0][15]
    digest = hashlib.sha256(path.read_bytes()).hexdigest()[:32]
    assert path.name == f"gc1-{plan[:16]}-{first[:16]}-00000001-00000005-{digest}.rows"


def test_what_one_took_from_a_third_goes_on_to_whoever_meets_only_him(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "join", "south", "north")
    said(capsys, "share", "south", "meeting")
    laptop("west", meeting)
    Path("west").mkdir()
    Path("west", "job.yaml").write_text(JOB, encoding="utf-8")
    assert answer(capsys, "share", "west", "meeting")["taken in"] == 5
    assert log(capsys, "west") == log(capsys, "south")


def test_a_file_that_is_half_there_waits_and_counts_once_it_is_whole(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", "meeting")
    [path] = files()
    whole = path.read_bytes()
    laptop("north", meeting)
    for half in (whole[:-7], b"", b"\0" * len(whole), whole + b"\0"):
        path.write_bytes(half)
        before = Path("north", JOURNAL_NAME).read_bytes()
        # north has three of the five itself, and puts those there in a file of its own
        reply = answer(capsys, "share", "north", "meeting", code=1)
        assert (reply["half there"], reply["taken in"]) == ([path.name], 0)
        assert Path("north", JOURNAL_NAME).read_bytes() == before
    path.write_bytes(whole)
    assert answer(capsys, "share", "north", "meeting")["taken in"] == 2


def test_ones_own_file_that_was_cut_short_is_put_there_again(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    [path] = files()
    whole = path.read_bytes()
    path.write_bytes(whole[:-7])
    said(capsys, "share", "south", "meeting", code=1)
    assert path.read_bytes() == whole
    said(capsys, "share", "south", "meeting")


def test_files_that_are_not_ours_are_left_alone(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    [ours] = files()
    names = ("notes.txt", f"{ours.name} (1)", ours.name.upper(), f"{ours.stem} (1).rows", f".{ours.name}.tmp")
    for name in names:
        Path("meeting", name).write_bytes(b"as it was")
    Path("meeting", "photos").mkdir()
    said(capsys, "read", "south", "W2=46 1/16")
    reply = answer(capsys, "share", "south", "meeting")
    assert (reply["half there"], reply["not taken in"]) == ([], [])
    assert {name: Path("meeting", name).read_bytes() for name in names} == dict.fromkeys(names, b"as it was")


def test_links_pipes_and_folders_under_our_names_are_not_followed(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    [path] = files()
    shutil.move(path, "elsewhere")
    laptop("north", meeting)
    for make in (lambda: path.symlink_to(Path("elsewhere").absolute()), lambda: os.mkfifo(path), path.mkdir):
        make()
        reply = answer(capsys, "share", "north", "meeting", code=1)
        assert reply["taken in"] == 0
        assert reply["not taken in"][0].startswith(f"{path.name}: ")
        path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()


@pytest.mark.parametrize(
    ("folder", "says"), [("nowhere", "no such file or directory"), ("meeting/file", "not a directory")]
)
def test_a_folder_that_is_not_there_is_told_and_never_made(
    meeting: pytest.MonkeyPatch, capsys: Out, folder: str, says: str
) -> None:
    Path("meeting", "file").write_text("a file")
    [line] = said(capsys, "share", "south", folder, code=2)
    assert line == (
        f"Nothing was shared: {folder} can't be opened ({says}). Nothing here is lost; share again when it is back."
    )
    assert not Path("nowhere").exists()


def test_in_a_folder_that_takes_no_files_theirs_is_taken_in_all_the_same(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", "meeting")
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/16")

    def full(*_: object) -> str:
        raise OSError(28, "No space left on device")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("gradecheck.sharing.meeting_place.stage", full)
        taken, trouble = said(capsys, "share", "north", "meeting", code=1)
    assert taken == "meeting: 2 new entries taken in, 0 new entries put there."
    assert trouble == (
        "Not all of this laptop's entries are there (no space left on device); share again when that is fixed."
    )
    assert answer(capsys, "share", "north", "meeting")["put there"] == 1


def test_two_jobs_in_one_folder_stay_two(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "setup", "other", "DOOR=50")
    reply = answer(capsys, "share", "other", "meeting")
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (0, 2, 2)
    assert answer(capsys, "share", "south", "meeting")["taken in"] == 0


def test_a_laptop_that_accepted_another_plan_still_meets_the_others(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    plan = Path("south", "job.yaml")
    plan.write_text(JOB.replace("W1: -3", "W1: -2"), encoding="utf-8")
    said(capsys, "changes", "south", "--accept")
    said(capsys, "share", "south", "meeting")
    laptop("west", meeting)  # begins with the new plan and knows nothing of the old one
    Path("west").mkdir()
    shutil.copy(plan, "west")
    said(capsys, "setup", "west", "DOOR=45")
    assert answer(capsys, "share", "west", "meeting")["taken in"] == 6
    laptop("north", meeting)  # has the old plan still
    assert answer(capsys, "share", "north", "meeting")["taken in"] == 5


def test_a_rehearsal_is_not_shared(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "rehearse", "south", "-o", "learn", "--readings", "3")
    [line] = said(capsys, "share", "learn", "meeting", code=2)
    assert line.startswith("This is a rehearsal; it is not shared")
    assert files() == []


def test_without_a_folder_the_one_of_the_settings_is_meant(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    [line] = said(capsys, "share", "south", code=2)
    assert line.startswith("Say which folder: ")
    settings = Path(os.environ["GRADECHECK_SETTINGS"])
    settings.joinpath("settings.toml").write_text(f'"copy to" = "{Path("meeting").absolute()}"\n')
    assert answer(capsys, "share", "south")["put there"] == 5


def test_the_folder_holds_no_database(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    seen: list[str] = []
    import sqlite3

    opened = sqlite3.connect

    def connect(path: str, *rest: object, **more: object) -> object:
        seen.append(str(path))
        return opened(path, *rest, **more)  # type: ignore[call-overload]

    meeting.setattr(sqlite3, "connect", connect)
    assert main(["share", "south", "meeting"]) == 0
    assert seen
    assert not any("meeting" in each for each in seen)


def test_many_small_files_of_ones_own_are_put_together_into_one(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    meeting.setattr("gradecheck.sharing.share.MOST_SMALL", 4)
    laptop("north", meeting)
    said(capsys, "share", "north", "meeting")
    theirs = set(files())
    laptop("south", meeting)
    for number in range(1, 6):
        said(capsys, "share", "south", "meeting")
        said(capsys, "read", "south", f"W2=46 {number}/16")
    assert len(files()) == 6
    said(capsys, "share", "south", "meeting")
    assert len(files()) == 2
    assert theirs < set(files())
    laptop("north", meeting)
    assert answer(capsys, "share", "north", "meeting")["taken in"] == 7
    assert log(capsys, "north") == log(capsys, "south")


def test_a_job_that_takes_no_entries_is_copied_off_the_laptop_all_the_same(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", "meeting")
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/16")
    os.link(f"north/{JOURNAL_NAME}", "second name")
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert (reply["taken in"], reply["put there"]) == (0, 1)
    assert reply["not taken in"][0].startswith("2 entries: NOT SAVED: ")


@pytest.mark.parametrize(
    "words", [("sign", "walk", "finish", "--accept-open"), ("report", "-o", "day.txt")], ids=["sign", "report"]
)
def test_what_was_finished_by_command_is_copied_off_the_laptop_beside_it(
    yards: pytest.MonkeyPatch, capsys: Out, words: tuple[str, ...]
) -> None:
    Path("meeting").mkdir()
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53", "W2=54")
    assert not list(Path("meeting").iterdir())
    (Path.cwd() / "settings north" / "settings.toml").write_text(f'"copy to" = "{Path.cwd() / "meeting"}"\n')
    verb, *rest = words
    said(capsys, verb, "north", *rest)
    end = time.monotonic() + 30
    while not list(Path("meeting").glob("*.rows")):
        assert time.monotonic() < end
        time.sleep(0.05)
