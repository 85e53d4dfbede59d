"""What does not hold is named and not taken in, whoever put it into the meeting place; what holds is taken."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gradecheck.journal.store import JOURNAL_NAME
from tests.cli.test_join import JOB, Out, answer, laptop, log, said, yards
from tests.sharing.by_hand import hashed, lay, rows_in
from tests.whole import has

__all__ = ["yards"]
MEETING = Path("meeting")


@pytest.fixture
def shared(yards: pytest.MonkeyPatch, capsys: Out) -> Path:
    """South's five entries in the meeting place; the commands run on north from here on, which has three of them."""
    MEETING.mkdir()
    said(capsys, "share", "south", "meeting")
    laptop("north", yards)
    [path] = MEETING.glob("*.rows")
    return path


def changed(rows: list[list[Any]]) -> list[Any]:
    rows[4][7] = "47"
    return rows


def without_parts(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], rows[4][:9]]


def of_another_kind(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], hashed([*rows[4][:5], "conjured", *rows[4][6:]])]


def a_number_too_high(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], hashed([2**63, *rows[4][1:]])]


def half_a_character(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], json.dumps([*rows[4][:7], "\ud800", *rows[4][8:]])]


def deep(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], "[" * 100_000 + "]" * 100_000]


def deep_within(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], hashed([*rows[4][:13], "[" * 100_000 + "]" * 100_000, *rows[4][14:]])]


def too_long(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], hashed([*rows[4][:7], "4" * (2 << 20), *rows[4][8:]])]


def next_century(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], hashed([*rows[4][:8], "9999-01-01T00:00:00.000+00:00", *rows[4][9:]])]


def no_json(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], "no JSON"]


def huge_figure(rows: list[list[Any]]) -> list[Any]:
    return [*rows[:4], f"[{'9' * 10_000}]"]


@pytest.mark.parametrize(
    "spoil",
    [changed, without_parts, of_another_kind, a_number_too_high, half_a_character, deep, deep_within, too_long,
     next_century, no_json, huge_figure],
)  # fmt: skip
def test_an_entry_that_does_not_hold_is_named_and_not_taken_in(
    shared: Path, capsys: Out, spoil: Callable[[list[list[Any]]], list[Any]]
) -> None:
    spoilt = lay(MEETING, shared, spoil(rows_in(shared)))
    shared.unlink()
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert len(reply["not taken in"]) == 1
    assert reply["not taken in"][0].startswith(f"{spoilt.name}: ")
    assert reply["taken in"] == 1  # the fourth, which holds
    assert len(log(capsys, "north")) == 4
    said(capsys, "verify", "north")


def bomb() -> bytes:
    """194 kB that unpack to 200 MB."""
    packer = zlib.compressobj(9)
    return b"".join([*(packer.compress(b"0" * (1 << 20)) for _ in range(200)), packer.flush()])


@pytest.mark.parametrize(
    "content",
    [lambda: b"not packed", lambda: zlib.compress(b"\xff\xfe"), lambda: zlib.compress(b"x" * 99)[:-5], bomb],
    ids=["not packed", "no text", "cut short", "a bomb"],
)
def test_a_file_that_can_not_be_unpacked_is_named(shared: Path, capsys: Out, content: Callable[[], bytes]) -> None:
    spoilt = lay(MEETING, shared, [], packed=content())
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert [each.partition(":")[0] for each in reply["not taken in"]] == [spoilt.name]
    assert reply["taken in"] == 2


def test_a_file_larger_than_any_of_ours_is_not_read(shared: Path, capsys: Out) -> None:
    name = MEETING / shared.name.replace("-00000001-", "-00000002-")
    with name.open("wb") as file:
        file.truncate(3 << 30)  # takes no room
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert reply["not taken in"] == [f"{name.name}: it is too large"]


def test_another_jobs_chain_under_this_ones_name_is_named_and_not_taken_in(shared: Path, capsys: Out) -> None:
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "setup", "other", "DOOR=50")
    Path("elsewhere").mkdir()
    said(capsys, "share", "other", "elsewhere")
    [theirs] = Path("elsewhere").glob("*.rows")
    strange = lay(MEETING, shared, rows_in(theirs))
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert reply["not taken in"] == [f"{strange.name}: it is of another job"]
    assert reply["taken in"] == 2


def test_a_chain_rebuilt_whole_is_kept_apart_and_not_counted(shared: Path, capsys: Out) -> None:
    rows, before = rows_in(shared), "0" * 64
    rebuilt = []
    for row in rows:
        row = [*row[:7], "47" if row[0] == 5 else row[7], *row[8:14], before]
        rebuilt.append(hashed(row))
        before = rebuilt[-1][15]
    assert rebuilt[:4] == rows[:4]  # as it was up to there
    lay(MEETING, shared, rebuilt)
    reply = answer(capsys, "share", "north", "meeting")
    assert reply["taken in"] == 3
    assert any(has(each, "went on twice from its entry 4") for each in reply["parted"])
    assert len(log(capsys, "north")) == 5
    lines = said(capsys, "share", "north", "meeting")
    assert any(line.startswith("Twice under one id: ") for line in lines)


def test_a_chain_cut_in_its_middle_waits_for_what_is_missing(shared: Path, capsys: Out) -> None:
    rows = rows_in(shared)
    lay(MEETING, shared, rows[4:])
    shared.unlink()
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert (reply["taken in"], reply["waiting"]) == (1, 1)
    lay(MEETING, shared, rows[3:4])
    reply = answer(capsys, "share", "north", "meeting")
    assert (reply["taken in"], reply["waiting"]) == (1, 0)


def test_what_is_replayed_changes_nothing(shared: Path, capsys: Out) -> None:
    said(capsys, "share", "north", "meeting")
    before = Path("north", JOURNAL_NAME).read_bytes()
    rows = rows_in(shared)
    lay(MEETING, shared, rows)
    lay(MEETING, shared, rows[::-1])
    lay(MEETING, shared, rows[1:3])
    lay(MEETING, shared, rows + rows)
    assert answer(capsys, "share", "north", "meeting")["taken in"] == 0
    assert Path("north", JOURNAL_NAME).read_bytes() == before


def test_one_that_claims_to_hold_ours_does_not_keep_ours_away(shared: Path, capsys: Out) -> None:
    rows = rows_in(shared)
    rows[1][7] = "51"
    lay(MEETING, shared, rows)
    shared.unlink()
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert (reply["taken in"], reply["put there"]) == (
        0,
        2,
    )  # the first is there, in the file that lies of the second


def test_a_rehearsal_put_into_the_folder_is_not_taken_for_work(shared: Path, capsys: Out) -> None:
    said(capsys, "rehearse", "north", "-o", "learn", "--readings", "3")
    import contextlib
    import sqlite3

    with contextlib.closing(sqlite3.connect(f"learn/{JOURNAL_NAME}")) as connection:
        rows = [list(row) for row in connection.execute("SELECT * FROM entry ORDER BY seq")]
    lay(MEETING, shared, rows)
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert reply["taken in"] == 2
    assert len(reply["not taken in"]) == 1


def test_a_file_that_does_not_hold_is_not_taken_for_ones_own_and_stays(
    shared: Path, capsys: Out, yards: pytest.MonkeyPatch
) -> None:
    yards.setattr("gradecheck.sharing.share.MOST_SMALL", 0)
    rows = rows_in(shared)
    lie = lay(MEETING, shared, [rows[0], "no entry"])
    for who in ("north", "south", "north"):
        laptop(who, yards)
        reply = answer(capsys, "share", who, "meeting", code=1)
        assert [each.partition(":")[0] for each in reply["not taken in"]] == [lie.name]
    assert lie.exists()
