"""`gradecheck board postgresql://...`: the rows of all laptops, newer ones as the server tells of them."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.office.address import address
from gradecheck.office.board import OfficeBoard
from gradecheck.office.connection import Link
from gradecheck.report.page import board_page
from gradecheck.session.session import Session
from gradecheck.sharing.progress import as_text, progress
from tests.app.driving import MORNING, press, running, shown
from tests.app.test_board import until
from tests.cli.test_join import Out, answer, laptop, said, yards
from tests.office.conftest import Crews, url
from tests.office.made import fill
from tests.report.test_board import HOSTILE, NOW, row
from tests.report.test_page import read

__all__ = ["yards"]


@pytest.fixture
def shared(crews: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> Crews:
    """Both laptops shared; the commands run on north."""
    said(capsys, "share", "south", crews.south)
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/4")  # 1/4 low, the tolerance is 1/8
    said(capsys, "share", "north", crews.north)
    return crews


def lay(crews: Crews, role: str, entries: int, content: str) -> None:
    """A row as somebody with the rights of that laptop may write it."""
    with Link(crews.address) as link:
        link.rows(
            "insert into gradecheck.progress as p (job, role, entries, content) "
            "select job, %s, %s, %s from gradecheck.job "
            "on conflict (job, role) do update "
            "set entries = excluded.entries, content = excluded.content, got = now()",
            (role, entries, content.encode("utf-8", "surrogatepass")),
        )


def test_the_board_of_an_office(shared: Crews, capsys: Out) -> None:
    reply = answer(capsys, "board", shared.office)
    assert (reply["trouble"], reply["passed over"]) == ("", [])
    [job] = reply["jobs"]
    assert (job["job"], job["entries"], job["remarks"]) == ("Wickering Yard", 6, [])
    [walk] = job["stages"]
    assert (walk["points"], walk["on grade"], walk["out"], walk["unread"]) == (2, 1, 1, 0)
    assert len(job["laptops"]) == 3  # the office that added the job is one
    assert job["sent"] is not None
    lines = said(capsys, "board", shared.office, "--text")
    assert lines[0].startswith("1 job, postgresql://")
    assert "passfile" not in "".join(lines)
    assert any(", sent " in line for line in lines)


def test_a_job_that_was_added_and_not_begun_is_on_the_board(crews: Crews, capsys: Out) -> None:
    [job] = answer(capsys, "board", crews.north)["jobs"]
    assert (job["job"], job["entries"], job["last entry"]) == ("Wickering Yard", 0, None)
    assert [stage["unread"] for stage in job["stages"]] == [2]


def test_a_laptop_sees_the_jobs_that_it_works_on_and_no_other(shared: Crews, capsys: Out) -> None:
    with Link(shared.address) as link:
        link.rows("insert into gradecheck.job (name) values ('of others')")
    assert "without counts" in answer(capsys, "board", shared.office)["trouble"]
    assert answer(capsys, "board", shared.north)["trouble"] == ""


def test_first_the_row_that_is_shown_then_the_others(shared: Crews) -> None:
    board = OfficeBoard(address(shared.office))
    [job] = board.look(first=True).jobs
    assert (job.row.entries, len(job.rows)) == (6, 1)
    [job] = board.look().jobs
    assert (job.row.entries, len(job.rows)) == (6, 3)


def test_of_many_jobs_those_that_came_last_are_shown_first(crews: Crews) -> None:
    fill(crews.address, 130, 0)
    board = OfficeBoard(address(crews.office))
    first = board.look(first=True)
    assert (len(first.jobs), first.goes_on, first.trouble) == (100, True, "")
    every = board.look()
    assert (len(every.jobs), every.goes_on, every.trouble) == (131, False, "")


def test_only_rows_that_are_new_are_read_again(shared: Crews, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    board, fetched = OfficeBoard(address(shared.office)), list[int]()
    fetch = board._fetch

    def counted(link: Link, new: list[object]) -> None:
        fetched.append(len(new))
        fetch(link, new)  # type: ignore[arg-type]

    yards.setattr(board, "_fetch", counted)
    board.look()
    board.look()
    said(capsys, "read", "north", "W1=53")
    said(capsys, "share", "north", shared.north)
    assert board.look().jobs[0].row.entries == 7
    said(capsys, "share", "north", shared.north)  # nothing is new
    board.look()
    assert fetched == [3, 0, 1, 0]


def test_a_share_wakes_whoever_listens(shared: Crews, capsys: Out) -> None:
    board = OfficeBoard(address(shared.office))
    try:
        board.wait()  # listens from here on, and has to look once
        before = board.look().jobs[0].row.entries
        woken = threading.Thread(target=board.wait)
        woken.start()
        said(capsys, "read", "north", "W1=53")
        said(capsys, "share", "north", shared.north)
        woken.join(30)
        assert not woken.is_alive(), "LISTEN said nothing; by polling alone it would be a minute"
        assert board.look().jobs[0].row.entries == before + 1
    finally:
        board.stop()


def test_who_waits_is_let_go_when_nobody_looks_any_more(shared: Crews) -> None:
    board = OfficeBoard(address(shared.office))
    board.wait()
    waits = threading.Thread(target=board.wait)
    waits.start()
    time.sleep(0.1)
    board.stop()
    waits.join(10)
    assert not waits.is_alive()


def test_a_listening_connection_that_was_cut_is_made_anew_and_has_to_look(shared: Crews) -> None:
    board = OfficeBoard(address(shared.office))
    try:
        board.wait()
        ear = board._ear
        assert ear is not None
        with Link(shared.address) as link:
            link.rows("select pg_terminate_backend(%s)", (ear.connection.info.backend_pid,))
        board.wait()
        assert board._ear is None
        board.wait()
        assert board._ear is not None
        assert board._ear is not ear
    finally:
        board.stop()


def test_an_office_that_is_gone_leaves_the_board_as_it_was(
    shared: Crews, yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    board = OfficeBoard(address(shared.office))
    before = board.look()
    yards.setattr(board, "_at", address("postgresql://nobody@127.0.0.1:1/none"))
    gone = board.look()
    assert gone.jobs == before.jobs
    assert gone.trouble == (
        "The office can't be looked at (postgresql://nobody@127.0.0.1:1/none: nothing answers there)."
    )
    [line] = said(capsys, "board", "postgresql://nobody@127.0.0.1:1/none", code=2)
    assert line == gone.trouble


@pytest.mark.parametrize(
    "content", ["", "[]", "no JSON", "[" * 100_000, '{"name": "\\u0000"}', "'; drop table gradecheck.progress; --"]
)
def test_a_row_that_is_none_is_passed_over_and_named(shared: Crews, capsys: Out, content: str) -> None:
    lay(shared, shared.role("south"), 9, content)
    reply = answer(capsys, "board", shared.office)
    [passed_over] = reply["passed over"]
    assert passed_over.startswith(f"Wickering Yard by {shared.role('south')}: ")
    assert len(reply["jobs"][0]["laptops"]) == 2


@pytest.mark.parametrize("counted", [1, 10**9])
def test_a_row_of_more_or_less_entries_than_were_counted_is_passed_over(
    shared: Crews, capsys: Out, counted: int
) -> None:
    session = Session(Path("north"))
    try:
        lay(shared, shared.role("south"), counted, as_text(progress(session)))
    finally:
        session.close()
    reply = answer(capsys, "board", shared.office)
    assert "its counts do not add up" in reply["passed over"][0]


@pytest.mark.parametrize("text", [*HOSTILE, "'; DROP TABLE gradecheck.entry; --", "%s %(x)s", "\\x00", "$1"])
def test_hostile_names_are_shown_and_obeyed_by_nobody(shared: Crews, capsys: Out, text: str) -> None:
    hostile = row(f"{text}/1", ((f"{text}/1", 99),), name=text)
    lay(shared, shared.role("south"), 99, as_text(hostile))
    board = OfficeBoard(address(shared.office)).look()
    assert board.jobs[0].row.name == text
    read(board_page(board, NOW, text))
    lines = said(capsys, "board", shared.office, "--text")
    assert "\x1b" not in "".join(lines)
    with Link(shared.address) as link:
        assert link.rows("select count(*) from gradecheck.entry")[0][0] > 0


def test_the_board_reads_no_entries(shared: Crews, capsys: Out) -> None:
    with Link(shared.address) as link:
        link.rows("revoke select on gradecheck.entry from gradecheck_laptop")
    assert len(answer(capsys, "board", shared.north)["jobs"]) == 1


async def test_the_app_follows_and_opens_a_copy(shared: Crews, capsys: Out) -> None:
    app = GradeApp(Path.cwd(), clock=lambda: MORNING, board=OfficeBoard(address(url(shared.address))))
    async with running(app) as pilot:
        await until(pilot, lambda: "Wickering Yard" in shown(app))
        assert "1 out" in shown(app)
        said(capsys, "read", "north", "W1=53")
        said(capsys, "share", "north", shared.north)
        await until(pilot, lambda: "1 out" not in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, CheckScreen))
        assert app.session is not None
        assert app.session.seq == 7
        assert app.session.view_only
