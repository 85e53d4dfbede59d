"""A server that lies, whose administrator changed what it keeps: named, and nothing of it is taken in."""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.office.address import address
from gradecheck.office.connection import Link
from gradecheck.office.share import share
from gradecheck.session.session import Session
from tests.cli.test_join import Out, answer, laptop, log, said, yards
from tests.office.conftest import Crews
from tests.office.test_share import entries

__all__ = ["yards"]


def change(crews: Crews, *queries: str) -> None:
    """What an administrator can do who switches the rules off first."""
    with Link(crews.address) as link:
        for part in ("", *(f"_{number}" for number in range(16))):
            link.rows(f"alter table gradecheck.entry{part} disable trigger user")
        for query in queries:
            link.rows(query)


def rebuilt(crews: Crews, number: int, new: Callable[[list[object]], list[object]]) -> None:
    """The entry of that number and all behind it made others, each hash anew."""
    with Link(crews.address) as link:
        rows = link.rows("select number, content from gradecheck.entry order by number", ())
        before = ""
        updates = []
        for at, content in rows:
            row = json.loads(content)
            if at >= number:
                row = new(row)
            if before:
                row[14] = before
            text = json.dumps(row, ensure_ascii=False, separators=(",", ":")).encode()
            digest = hashlib.sha256(text).digest()
            if at >= number:
                before = digest.hex()
                updates.append((text, digest, at))
    change(crews)
    with Link(crews.address) as link:
        for values in updates:
            link.rows("update gradecheck.entry set content = %s, hash = %s where number = %s", values)


@pytest.fixture
def sent(crews: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> Crews:
    """South's five are at the office; the commands run on north, which has three of them."""
    said(capsys, "share", "south", crews.south)
    laptop("north", yards)
    return crews


@pytest.mark.parametrize(
    "query",
    [
        "update gradecheck.entry set content = content || ' ' where number = 5",
        "update gradecheck.entry "
        "set content = convert_to(replace(convert_from(content, 'UTF8'), '46', '47'), 'UTF8') where number = 5",
        "update gradecheck.entry set hash = sha256('x') where number = 5",
        "update gradecheck.entry set content = convert_to(repeat('x', 99), 'UTF8') where number = 5",
        "update gradecheck.entry set number = 9 where number = 5",
        "alter table gradecheck.entry drop constraint entry_content_check; update gradecheck.entry set "
        "content = convert_to(repeat('[', 3000000), 'UTF8') where number = 5",
    ],
)
def test_an_entry_that_was_changed_there_is_named_and_not_taken(sent: Crews, capsys: Out, query: str) -> None:
    change(sent, query)
    before = Path("north", JOURNAL_NAME).read_bytes()
    reply = answer(capsys, "share", "north", sent.north, code=1)
    assert reply["not taken in"]
    assert all("from the office" in each for each in reply["not taken in"])
    assert reply["taken in"] <= 1  # the sound one before it
    said(capsys, "verify", "north")
    if not reply["taken in"]:
        assert Path("north", JOURNAL_NAME).read_bytes() == before


def test_an_entry_made_anew_with_every_hash_is_another_one_than_was_seen(
    sent: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    laptop("south", yards)
    rebuilt(sent, 4, lambda row: [*row[:7], "41", *row[8:]])
    reply = answer(capsys, "share", "south", sent.south, code=1)
    assert reply["less there"] == ["entry 5 of a chain is another one at the office than it was before"]
    assert reply["entries there"] == 7  # its own are there again, on a chain of their own
    assert any("went on twice" in line for line in said(capsys, "share", "south", sent.south))
    laptop("north", yards)
    assert answer(capsys, "share", "north", sent.north)["taken in"] == 4


def test_entries_of_another_job_are_named_and_left_there(sent: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    def of_another(row: list[object]) -> list[object]:
        return [*row[:11], "e" * 64, row[12], re.sub("[0-9a-f]{64}", "e" * 64, str(row[13])), row[14]]

    rebuilt(sent, 1, of_another)
    reply = answer(capsys, "share", "north", sent.north, code=1)
    assert reply["taken in"] == 0
    assert reply["not taken in"] == ["5 entries from the office: of another job"]


def test_eight_sessions_that_send_the_same_at_once_send_it_once(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    for number in range(8):
        shutil.copytree("south", f"south{number}")
    wrong: list[BaseException] = []

    def one(folder: str) -> None:
        with contextlib.closing(Session(Path(folder), by="RK", laptop="south")) as session:
            try:
                share(session, address(crews.south))
            except Exception as each:  # noqa: BLE001 - told below
                wrong.append(each)

    threads = [threading.Thread(target=one, args=(f"south{number}",)) for number in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert wrong == []
    rows = entries(crews.address)
    assert [number for _role, number, _digest in rows] == [1, 2, 3, 4, 5]
    assert answer(capsys, "share", "south", crews.south)["put there"] == 0
    assert log(capsys, "south0") == log(capsys, "south")
