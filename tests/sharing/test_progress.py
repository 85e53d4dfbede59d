"""Progress rows in a meeting place: the figures of Day, whole or passed over, one for each laptop and job."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gradecheck.session.session import Session
from gradecheck.sharing.meeting_place import MeetingPlace
from gradecheck.sharing.progress import (
    WrongProgressError,
    as_text,
    from_text,
    jobs_by_name,
    progress,
    progress_named,
    read_progress,
)
from gradecheck.state.progress import Progress
from tests.cli.test_join import JOB, Out, answer, laptop, said, yards
from tests.sharing.by_hand import rows_in
from tests.sharing.test_share import meeting

__all__ = ["meeting", "yards"]


def there() -> list[Path]:
    return sorted(Path("meeting").glob("*.progress"))


def told(path: Path) -> Any:
    """What a file holds, read by hand."""
    return json.loads(zlib.decompress(path.read_bytes()))


def counts(row: Any, stage: int = 0) -> dict[str, int]:
    """The counts of a stage, which is a list: area, stage, counts, then when, offset, by whom, on which laptop."""
    return dict(zip(("points", "on grade", "out", "doubt", "unread"), row["stages"][stage][2:7], strict=True))


def lay(like: Path, what: object, *, packed: bytes | None = None) -> Path:
    """A file of the job and laptop of another one, with a right hash of whatever is in it."""
    content = zlib.compress(json.dumps(what, separators=(",", ":")).encode()) if packed is None else packed
    name = f"{like.name.rpartition('-')[0]}-{hashlib.sha256(content).hexdigest()[:32]}.progress"
    like.with_name(name).write_bytes(content)
    return like.with_name(name)


def wrong(path: Path) -> str:
    """Why a file is passed over; empty where it is not."""
    said_by_name = progress_named(path.name)
    assert said_by_name is not None
    with MeetingPlace(path.parent) as place:
        try:
            assert read_progress(place, path.name, said_by_name) is not None
        except WrongProgressError as why:
            return str(why)
    return ""


# -- what a row says


def test_a_share_leaves_one_row_that_says_how_far_the_job_is(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    [path] = there()
    row = told(path)
    # W1: HI 50, read 53: −3, wanted −3. W2: HI 42, read 46: −4, wanted −4.
    [walk] = row["stages"]
    assert walk[:7] == ["walk", "finish", 2, 2, 0, 0, 0]
    assert (row["name"], row["entries"], row["doubt"]) == ("Wickering Yard", 5, 0)
    last = rows_in(next(Path("meeting").glob("*.rows")))[-1]
    assert row["last"] == [last[8], last[9], "RK", ""] == walk[7:]
    assert row["heads"] == [[last[2], 5, last[15]]]
    assert row["setup"]["mark"] == "STEP"


def test_the_union_is_counted_once_and_says_which_chains_it_knows(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/4")  # 1/4 low, the tolerance is 1/8
    said(capsys, "share", "north", "meeting")
    rows = sorted((told(path) for path in there()), key=lambda row: row["entries"])
    assert [row["entries"] for row in rows] == [5, 6]
    assert [counts(row)["out"] for row in rows] == [0, 1]
    assert [len(row["heads"]) for row in rows] == [1, 2]
    assert sorted(head[1] for head in rows[1]["heads"]) == [4, 5]


def test_the_same_entries_give_the_same_row_but_for_who_counted(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/4")
    said(capsys, "share", "north", "meeting")
    laptop("south", meeting)
    said(capsys, "share", "south", "meeting")
    one, other = (told(path) for path in there())
    assert {name for name in one if one[name] != other[name]} == {"laptop", "setup"}


def test_the_counts_are_those_of_review(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "read", "south", "W1=45 1/2")
    said(capsys, "share", "south", "meeting")
    [path] = there()
    count = counts(told(path))
    [row] = answer(capsys, "review", "south", code=1)["stages"]
    assert count["out"] == row["cut"] + row["fill"] == 1
    assert count["on grade"] == row["within"] == 1
    assert count["points"] - count["unread"] == row["read"] == 2


# -- one file a laptop and job


def test_only_something_new_replaces_ones_own_row(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    [first] = there()
    for _ in range(2):
        said(capsys, "share", "south", "meeting")
    assert there() == [first]
    said(capsys, "read", "south", "W2=46 1/16")
    said(capsys, "share", "south", "meeting")
    [second] = there()
    assert second != first
    laptop("north", meeting)
    said(capsys, "share", "north", "meeting")
    assert len(there()) == 2
    assert second in there()


def test_another_job_of_the_same_laptop_keeps_its_row(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "setup", "other", "DOOR=50")
    for folder in ("other", "south", "other"):
        said(capsys, "share", folder, "meeting")
    assert sorted(told(path)["name"] for path in there()) == ["Larkmoor Yard", "Wickering Yard"]


def test_a_changed_plan_takes_the_place_of_the_row_by_the_old_one(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", "meeting")
    Path("south", "job.yaml").write_text(JOB.replace("W1: -3", "W1: -2"), encoding="utf-8")
    said(capsys, "changes", "south", "--accept")
    said(capsys, "share", "south", "meeting")
    [path] = there()
    assert counts(told(path))["out"] == 1  # 1 low by the new plan


def test_a_job_only_given_out_has_a_row_until_its_first_entry(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "share", "court", "meeting")
    assert there() == []  # nothing of it is there
    said(capsys, "share", "court", "meeting", "--office")
    [path] = there()
    assert (told(path)["entries"], told(path)["last"]) == (0, None)
    assert counts(told(path))["unread"] == 2
    said(capsys, "setup", "court", "DOOR=50")
    said(capsys, "share", "court", "meeting")
    [path] = there()
    assert told(path)["entries"] == 2


def test_a_folder_that_takes_no_row_is_told_and_loses_nothing(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("gradecheck.sharing.share.put_progress", full)
        lines = said(capsys, "share", "south", "meeting")
    assert lines == [
        "meeting: 0 new entries taken in, 5 new entries put there.",
        "The board's counts of this job could not be written (no space left on device).",
    ]


# -- what is passed over


@pytest.fixture
def row(meeting: pytest.MonkeyPatch, capsys: Out) -> Path:
    """South's row."""
    said(capsys, "share", "south", "meeting")
    [path] = there()
    return path


def test_a_row_half_there_is_passed_over(row: Path) -> None:
    whole = row.read_bytes()
    for half in (whole[:-1], b"", b"\0" * len(whole), whole + b"\0", whole[:9] + b"x" + whole[10:]):
        row.write_bytes(half)
        assert wrong(row) == "it is half there"
    row.write_bytes(whole)
    assert wrong(row) == ""


def test_the_text_of_a_row_is_read_as_it_was_written(row: Path) -> None:
    session = Session(Path("south"))
    try:
        counted = progress(session)
    finally:
        session.close()
    assert isinstance(counted, Progress)
    assert from_text(as_text(counted)) == counted


def spoil(change: Callable[[Any], object]) -> Callable[[Any], Any]:
    def spoilt(row: Any) -> Any:
        change(row)
        return row

    return spoilt


def set_in(*way: str | int | slice, to: object) -> Callable[[Any], Any]:
    def change(row: Any) -> None:
        *before, last = way
        for each in before:
            row = row[each]
        row[last] = to

    return spoil(change)


@pytest.mark.parametrize(
    "lie",
    [
        lambda row: [],
        lambda row: {},
        lambda row: "[" * 9,
        set_in("entries", to=-1),
        set_in("entries", to=2**63),
        set_in("entries", to=0),
        set_in("entries", to=1.5),
        set_in("entries", to=True),
        set_in("doubt", to=-1),
        set_in("stages", 0, 4, to=1),
        set_in("stages", 0, slice(3, 7), to=[-2, 2, 2, 0]),
        set_in("stages", 0, slice(2, 4), to=[10**400, 10**400]),
        set_in("stages", 0, 0, to=None),
        set_in("stages", 0, 0, to="x" * 2_000),
        set_in("last", 0, to="yesterday"),
        set_in("last", 0, to="2026-05-12T07:30:00"),
        set_in("last", 0, to="9999-01-01T00:00:00.000+00:00"),
        set_in("last", 1, to=100_000),
        set_in("stages", 0, 7, to="yesterday"),
        set_in("setup", "at", to="1970-01-01T00:00:00.000+00:00"),
        set_in("heads", 0, 1, to=2**60),
        spoil(lambda row: row["stages"].append(row["stages"][0])),
        spoil(lambda row: row["stages"].extend([row["stages"][0]] * 30_000)),
        spoil(lambda row: row.pop("entries")),
        set_in("extra", to=1),
        set_in("plan", to="f" * 64),
        set_in("laptop", to="somebody else"),
    ],
)
def test_a_row_that_no_laptop_can_have_counted_is_passed_over(row: Path, lie: Callable[[Any], Any]) -> None:
    assert wrong(lay(row, lie(told(row))))


@pytest.mark.parametrize(
    "content",
    [b"not packed", zlib.compress(b"\xff\xfe"), zlib.compress(b"0" * (64 << 20)), zlib.compress(b"[" * 90_000)],
    ids=["not packed", "no text", "a bomb", "deep"],
)
def test_a_row_that_can_not_be_unpacked_is_passed_over(row: Path, content: bytes) -> None:
    assert wrong(lay(row, None, packed=content))


def test_a_link_pipe_or_folder_in_the_place_of_a_row_is_not_followed(
    row: Path, meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    whole = row.read_bytes()
    shutil.move(row, "elsewhere")
    for make in (lambda: row.symlink_to(Path("elsewhere").absolute()), lambda: os.mkfifo(row)):
        make()
        with pytest.raises(OSError, match=r"."):
            wrong(row)
        answer(capsys, "share", "south", "meeting")
        assert row.is_file()
        assert not row.is_symlink()
        assert row.read_bytes() == whole
        row.unlink()
    row.mkdir()
    [_, line] = said(capsys, "share", "south", "meeting")
    assert line == "The board's counts of this job could not be written (is a directory)."


def test_a_lying_row_changes_nothing_in_a_share(row: Path, meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    lay(row, {"lie": 1}).rename(row)
    laptop("north", meeting)
    assert answer(capsys, "share", "north", "meeting")["taken in"] == 2


# -- which files are of one job


def test_files_of_one_plan_or_of_one_chain_are_of_one_job() -> None:
    def rows(plan: str, chain: str) -> str:
        return f"gc1-{plan * 16}-{chain * 16}-00000001-00000005-{'e' * 32}.rows"

    def row(plan: str, chain: str) -> str:
        return f"gc1-{plan * 16}-{chain * 16}-{'9' * 16}-{'e' * 32}.progress"

    def plan(plan: str) -> str:
        return f"gc1-{plan * 16}-00000001-{'e' * 32}.plan"

    names = [rows("a", "1"), rows("b", "1"), row("b", "2"), plan("a"), row("c", "0"), row("d", "0"), plan("d")]
    jobs = jobs_by_name([*names, "notes.txt"])
    assert jobs[names[0]] == names[:4]
    assert jobs[names[4]] == [names[4]]  # no chain is no chain in common
    assert jobs[names[5]] == names[5:]
    assert set(jobs) == set(names)
