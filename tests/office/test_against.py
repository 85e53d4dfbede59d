"""`verify --against` a server or a folder where laptops meet: a log rewritten whole is sound by itself, not there."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from gradecheck.journal import schema
from gradecheck.journal.facts import Draft
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.office.connection import Link
from gradecheck.office.init import init
from tests.cli.test_join import Out, answer, laptop, said, yards
from tests.faults.rewritten import REWRITES, drafts_of, rewrite
from tests.office.conftest import Crews, crews_at

__all__ = ["yards"]
SOUTH = Path("south", JOURNAL_NAME)


def made_anew(drafts: list[Draft]) -> None:
    """Puts a log of these in the place of south's, and takes away the copies beside it, as one would who forges."""
    rewrite(SOUTH, drafts)
    for copy in SOUTH.parent.glob("journal.backup-*"):
        copy.unlink()


@pytest.fixture(params=["office", "folder"])
def met(request: pytest.FixtureRequest, yards: pytest.MonkeyPatch, capsys: Out) -> str:
    """Where south put its entries; the commands run on south, which has eight by then."""
    for each in ("W1=43", "W2=46 1/16", "W1=43 1/16"):
        said(capsys, "read", "south", each)
    if request.param == "office":
        where = crews_at(request.getfixturevalue("office"), yards, capsys).south
    else:
        Path("meeting").mkdir()
        where = "meeting"
    said(capsys, "share", "south", where)
    return where


def test_a_log_that_was_left_alone_agrees(met: str, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    shown = met.partition("?")[0]
    assert said(capsys, "verify", "south", "--against", met)[-1] == f"{shown}: the same, all 8 entries."
    said(capsys, "read", "south", "W1=43 1/8")
    assert said(capsys, "verify", "south", "--against", met)[-1] == (
        f"{shown}: the same up to its last entry, 8; 1 more here since."
    )


@pytest.mark.parametrize(
    ("how", "at"),
    [
        ("an entry changed", 4),
        *(pytest.param(how, at, marks=pytest.mark.thorough) for how in REWRITES if how != "cut" for at in (1, 4)),
    ],
)
def test_a_log_that_was_rewritten_with_every_hash_anew_is_named(met: str, capsys: Out, how: str, at: int) -> None:
    before = drafts_of(SOUTH)
    made_anew(REWRITES[how](before, at, random.Random(at)))
    assert said(capsys, "verify", "south")[0].startswith("Sound: ")  # by itself nobody sees it
    reply = answer(capsys, "verify", "south", "--against", met, code=1)
    [held] = reply["compared"]
    assert held["outcome"] in ("differs", "rescued")
    assert held["first"] == at + 1
    lines = said(capsys, "verify", "south", "--against", met, code=1)
    assert lines[0].startswith("Not sound: ")
    assert "passfile" not in " ".join(lines)


@pytest.mark.parametrize("left", [4, 7])
def test_a_log_that_was_cut_or_put_back_is_named(met: str, capsys: Out, left: int) -> None:
    made_anew(drafts_of(SOUTH)[:left])
    [held] = answer(capsys, "verify", "south", "--against", met, code=1)["compared"]
    assert (held["outcome"], held["first"], held["entries"]) == ("ends earlier", left + 1, 8)
    assert said(capsys, "verify", "south", "--against", met, code=1)[1] == (
        f"{met.partition('?')[0]}: the same up to entry {left}. Here it was cut, or an older log put back."
    )


def test_what_other_laptops_put_there_is_only_not_here_yet(met: str, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    other = met.replace("south_", "north_")
    said(capsys, "share", "north", other)
    laptop("south", yards)
    reply = answer(capsys, "verify", "south", "--against", met)
    assert reply["not here yet"] == 1
    assert said(capsys, "verify", "south", "--against", met)[-1] == (
        "1 entry there from other laptops is not here yet; the next share brings it."
    )


def test_entries_of_others_cut_off_the_log_are_missed(crews: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    said(capsys, "share", "north", crews.north)
    laptop("south", yards)
    said(capsys, "share", "south", crews.south)
    said(capsys, "verify", "south", "--against", crews.south)
    with sqlite3.connect(SOUTH) as log:
        log.execute("DROP TRIGGER theirs_never_deleted")
        log.execute("DELETE FROM theirs")
        log.execute(schema.THEIRS_NEVER_DELETED)
    log.close()
    said(capsys, "verify", "south")
    assert answer(capsys, "verify", "south", "--against", crews.south, code=1)["compared"][-1]["outcome"] == "differs"


def test_an_end_that_was_seen_is_missed_though_its_entries_were_refused(crews: Crews, capsys: Out) -> None:
    said(capsys, "share", "south", crews.south)
    said(capsys, "read", "south", "W2=46 1/16")
    with Link(crews.address) as link:
        link.rows("revoke insert (number) on gradecheck.entry from gradecheck_laptop")
    said(capsys, "share", "south", crews.south, code=2)
    made_anew(drafts_of(SOUTH)[:5])
    [_, held] = answer(capsys, "verify", "south", "--against", crews.south, code=1)["compared"]
    assert (held["outcome"], held["first"]) == ("ends earlier", 6)


def test_a_server_that_holds_less_than_it_said_is_named_and_gets_it_again(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", crews.south)
    with Link(crews.address) as link:  # an older copy of the server, put back
        for table in ("entry", *(f"entry_{number}" for number in range(16))):
            link.rows(f"alter table gradecheck.{table} disable trigger user")
        link.rows("delete from gradecheck.entry where number > 3", ())
    assert "the office held a chain up to entry 5, and now only up to entry 3" in " ".join(
        said(capsys, "verify", "south", "--against", crews.south, code=1)
    )
    with Link(crews.address) as link:
        assert init(link).weakened
    reply = answer(capsys, "share", "south", crews.south, code=1)
    assert reply["less there"] == ["the office held a chain up to entry 5, and now only up to entry 3"]
    assert (reply["put there"], reply["entries there"]) == (2, 5)
    assert answer(capsys, "share", "south", crews.south)["less there"] == []


def test_a_server_that_is_not_there_compares_nothing(crews: Crews, capsys: Out) -> None:
    nobody = "postgresql://south@127.0.0.1:1/jobs"
    [why] = said(capsys, "verify", "south", "--against", nobody, code=2)
    assert why == f"Nothing was compared ({nobody}: nothing answers there); try again when that is fixed."
    [why] = said(capsys, "verify", "nowhere", "--against", crews.south, code=2)
    assert why == "There is no folder nowhere; check the name of the job."


def test_another_job_is_not_compared(crews: Crews, capsys: Out, yards: pytest.MonkeyPatch) -> None:
    shutil.copytree("south", "other")
    path = Path("other", "job.yaml")
    path.write_text(path.read_text(encoding="utf-8").replace("Wickering", "Larkmoor"), encoding="utf-8")
    Path("other", JOURNAL_NAME).unlink()
    said(capsys, "setup", "other", "DOOR=50", code=2)  # its log is gone, says the program
