"""`gradecheck share JOB postgresql://...`: laptops meet at an office's server."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.office.address import Address
from gradecheck.office.connection import Link
from tests.cli.test_join import JOB, Out, answer, laptop, log, said, yards
from tests.office.conftest import Crews

__all__ = ["yards"]


def entries(at: Address) -> list[tuple[str, int, str]]:
    """Role, number and hash of every entry on the server."""
    with Link(at) as link:
        rows = link.rows("select role, number, hash from gradecheck.entry join gradecheck.chain using (job, chain)")
    return sorted((str(role), int(number), bytes(digest).hex()) for role, number, digest in rows)


def test_two_laptops_that_share_by_an_office_have_one_log(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    reply = answer(capsys, "share", "south", crews.south)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (0, 5, 5)
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    reply = answer(capsys, "share", "north", crews.north)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (2, 1, 6)
    laptop("south", yards)
    reply = answer(capsys, "share", "south", crews.south)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (1, 0, 6)
    assert log(capsys, "south") == log(capsys, "north")
    for folder in ("north", "south"):
        said(capsys, "verify", folder)
    hashes = [digest for _role, _number, digest in entries(crews.address)]
    assert len(hashes) == len(set(hashes)) == 6


def test_nothing_new_sends_nothing(crews: Crews, capsys: Out) -> None:
    said(capsys, "share", "south", crews.south)
    before = entries(crews.address)
    for _ in range(3):
        assert answer(capsys, "share", "south", crews.south)["put there"] == 0
    assert entries(crews.address) == before
    said(capsys, "read", "south", "W2=46 1/16")
    assert answer(capsys, "share", "south", crews.south)["put there"] == 1


def test_settings_that_were_lost_cost_nothing_but_asking(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", crews.south)
    laptop("north", yards)
    said(capsys, "share", "north", crews.north)
    said(capsys, "read", "north", "W1=53 1/16")
    said(capsys, "share", "north", crews.north)
    shutil.rmtree("settings south")
    laptop("south", yards)
    reply = answer(capsys, "share", "south", crews.south)
    assert (reply["taken in"], reply["put there"]) == (1, 0)


def test_a_new_laptop_gets_the_whole_job_with_its_plan(crews: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "south", crews.south)
    laptop("new", yards)
    [brought, shared] = said(capsys, "share", "wickering-yard", crews.north)
    assert brought.endswith(": Wickering Yard, 5 entries, with its plan.")
    assert brought.startswith(f"Brought back from postgresql://{crews.role('north')}@127.0.0.1:")
    assert "passfile" not in brought + shared
    assert log(capsys, "wickering-yard") == log(capsys, "south")
    assert Path("wickering-yard", "job.yaml").read_text(encoding="utf-8") == JOB


def test_a_job_that_nobody_began_comes_with_the_offices_plan(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    laptop("new", yards)
    [brought, _shared] = said(capsys, "share", "fresh", crews.south)
    assert brought.endswith("Wickering Yard, plan 1 from the office. Nothing is recorded of it yet.")
    assert Path("fresh", "job.yaml").read_text(encoding="utf-8") == JOB
    said(capsys, "setup", "fresh", "DOOR=50")
    assert answer(capsys, "share", "fresh", crews.south)["put there"] > 0


def test_the_offices_plan_goes_to_every_laptop_and_counts_once_accepted(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", crews.south)
    Path("desk", "job.yaml").write_text(JOB.replace("W2: -4", "W2: -5"), encoding="utf-8")
    laptop("desk", yards)
    reply = answer(capsys, "share", "desk", crews.office, "--office")
    assert (reply["plan from the office"], reply["taken in"]) == (2, 5)
    laptop("south", yards)
    lines = said(capsys, "share", "south", crews.south)
    assert any(line.startswith("New plan 2 from the office") for line in lines)
    said(capsys, "changes", "south", "--accept")
    [row] = [row for row in answer(capsys, "targets", "south") if row["point"] == "W2"]
    assert row["wanted"]["text"].startswith("-5")


def test_a_laptop_may_not_give_out_a_plan(crews: Crews, capsys: Out) -> None:
    Path("south", "job.yaml").write_text(JOB.replace("W2: -4", "W2: -5"), encoding="utf-8")
    *_, why = said(capsys, "share", "south", crews.south, "--office", code=2)
    assert why == f"Only the office sends plans; {crews.role('south')} is the name of a laptop."
    assert entries(crews.address) == []


def test_a_disk_that_was_copied_parts_in_two_chains_and_loses_nothing(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", crews.south)
    shutil.copytree("south", "clone")
    said(capsys, "read", "south", "W2=46-1/16")
    said(capsys, "read", "clone", "W2=46-1/8")
    said(capsys, "share", "south", crews.south)
    reply = answer(capsys, "share", "clone", crews.south)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (1, 1, 7)
    assert answer(capsys, "share", "south", crews.south)["taken in"] == 1
    assert log(capsys, "clone") == log(capsys, "south")
    with Link(crews.address) as link:
        starts = link.rows("select start, parent is null from gradecheck.chain order by start", ())
    assert starts == [(1, True), (6, False)]


def test_an_older_copy_put_back_gets_the_rest_again_and_goes_on(
    crews: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    shutil.copyfile(f"south/{JOURNAL_NAME}", "older.db")
    said(capsys, "read", "south", "W2=46-1/16")
    said(capsys, "share", "south", crews.south)
    shutil.copyfile("older.db", f"south/{JOURNAL_NAME}")
    said(capsys, "read", "south", "W1=43")
    reply = answer(capsys, "share", "south", crews.south)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (1, 1, 7)


def test_what_one_took_from_a_third_is_sent_for_it(crews: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "join", "south", "north")
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    laptop("south", yards)
    said(capsys, "join", "south", "north")
    said(capsys, "share", "south", crews.south)
    laptop("north", yards)
    reply = answer(capsys, "share", "north", crews.north)
    assert (reply["taken in"], reply["put there"], reply["entries there"]) == (2, 0, 6)
    said(capsys, "read", "north", "W1=53 1/8")
    assert answer(capsys, "share", "north", crews.north)["put there"] == 1


@pytest.mark.parametrize("name", ["'); drop table entry; --", "%s %(x)s {0} $1", "\\x00 \\", 'a"b; select 1'])
def test_names_with_sql_in_them_come_as_they_were_written(
    office: Address, yards: pytest.MonkeyPatch, capsys: Out, name: str
) -> None:
    quoted = "'" + name.replace("'", "''") + "'"
    text = JOB.replace("Wickering Yard", quoted).replace("{walk:", f"{{{quoted}:")
    for folder in ("desk", "first"):
        Path(folder).mkdir()
        Path(folder, "job.yaml").write_text(text, encoding="utf-8")
    laptop("first", yards)
    said(capsys, "setup", "first", "DOOR=50")
    said(capsys, "read", "first", "W1=53")
    said(capsys, "strike", "first", "3", "--why", name)
    laptop("desk", yards)
    url = f"{office}?passfile={office.named['passfile']}"
    assert answer(capsys, "office", "add", url, "desk")["job"] == name
    laptop("first", yards)
    said(capsys, "share", "first", url)
    laptop("second", yards)
    said(capsys, "share", "second", url)
    assert log(capsys, "second") == log(capsys, "first")
    assert answer(capsys, "log", "second") == answer(capsys, "log", "first")
    assert {row["area"] for row in answer(capsys, "targets", "second")} == {name}
    with Link(office) as link:
        assert link.rows("select name from gradecheck.job", ()) == [(name,)]


def test_where_the_office_does_not_answer_nothing_is_made(crews: Crews, capsys: Out) -> None:
    nobody = "postgresql://south@127.0.0.1:1/jobs"
    told = f"Nothing was done at the office ({nobody}: nothing answers there). Try again when that is fixed."
    assert said(capsys, "share", "nowhere", nobody, code=2) == [told]
    assert said(capsys, "office", "add", nobody, "desk", "--laptop", "west", code=2) == [told]
    assert not Path("nowhere").exists()
    assert not Path("west.pgpass").exists()


def test_a_laptop_without_the_job_is_told_so(crews: Crews, capsys: Out, yards: pytest.MonkeyPatch) -> None:
    with Link(crews.address) as link:
        link.rows("delete from gradecheck.member where role = %s", (crews.role("south"),))
    [why] = said(capsys, "share", "south", crews.south, code=2)
    assert why == "The office has no job for this laptop yet; it adds one with “gradecheck office add”."
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "setup", "other", "DOOR=50")
    [why] = said(capsys, "share", "other", crews.north, code=2)
    assert why == ("The office has no job with this plan or this log. For this laptop it has: Wickering Yard.")
