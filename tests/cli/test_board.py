"""`gradecheck board FOLDER`: the jobs of a meeting place, or of a folder of such, by progress rows alone."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from gradecheck.sharing.boards import FolderBoard
from tests.cli.test_join import JOB, Out, answer, laptop, said, yards
from tests.report.test_page import read, text_of
from tests.sharing.test_share import meeting

__all__ = ["meeting", "yards"]


@pytest.fixture
def places(meeting: pytest.MonkeyPatch, capsys: Out) -> pytest.MonkeyPatch:
    """Two laptops' job in a meeting place, in a folder that holds another job's beside it."""
    said(capsys, "share", "south", "meeting")
    laptop("north", meeting)
    said(capsys, "read", "north", "W1=53 1/4")
    said(capsys, "share", "north", "meeting")
    Path("firm").mkdir()
    shutil.copytree("meeting", "firm/walks")
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    Path("firm", "other").mkdir()
    said(capsys, "setup", "other", "DOOR=50")
    said(capsys, "share", "other", "firm/other")
    Path("firm", "photos").mkdir()
    Path("firm", "notes.txt").write_text("as it was")
    return meeting


def test_one_meeting_place(places: pytest.MonkeyPatch, capsys: Out) -> None:
    [job] = answer(capsys, "board", "meeting")["jobs"]
    assert (job["job"], job["entries"], job["in doubt"]) == ("Wickering Yard", 6, 0)
    [walk] = job["stages"]
    # W1 was read 53 1/4 from HI 50: 1/4 low, the tolerance is 1/8. W2 is on grade.
    assert (walk["points"], walk["on grade"], walk["out"], walk["unread"]) == (2, 1, 1, 0)
    assert len(job["laptops"]) == 2
    assert job["remarks"] == []


def test_a_folder_of_meeting_places(places: pytest.MonkeyPatch, capsys: Out) -> None:
    reply = answer(capsys, "board", "firm")
    assert sorted(job["job"] for job in reply["jobs"]) == ["Larkmoor Yard", "Wickering Yard"]
    assert reply["passed over"] == []
    lines = said(capsys, "board", "firm", "--text")
    assert lines[0] == "2 jobs, firm"


def test_the_board_reads_no_entries(places: pytest.MonkeyPatch, capsys: Out) -> None:
    before = answer(capsys, "board", "meeting")
    for path in Path("meeting").glob("*.rows"):
        path.write_bytes(b"not one entry")
    assert answer(capsys, "board", "meeting") == before


def test_entries_without_counts_are_told(places: pytest.MonkeyPatch, capsys: Out) -> None:
    for path in Path("firm/other").glob("*.progress"):
        path.unlink()
    reply = answer(capsys, "board", "firm")
    assert reply["trouble"] == "1 job is there without counts; the next time it is shared brings them."


def test_a_row_half_there_is_named_and_taken_once_whole(places: pytest.MonkeyPatch, capsys: Out) -> None:
    rows = sorted(Path("meeting").glob("*.progress"), key=lambda path: path.stat().st_size)
    whole = rows[-1].read_bytes()
    rows[-1].write_bytes(whole[:-3])
    board = FolderBoard(Path("meeting"))
    assert board.look().passed_over == (f"{rows[-1].name}: it is half there",)
    assert len(board.look().jobs[0].rows) == 1
    rows[-1].write_bytes(whole)
    assert board.look().passed_over == ()
    assert len(board.look().jobs[0].rows) == 2


def test_a_row_is_read_once(places: pytest.MonkeyPatch, capsys: Out) -> None:
    read_files: list[str] = []
    from gradecheck.sharing import boards

    def counted(place: object, name: str, said_by_name: object) -> object:
        read_files.append(name)
        return read_progress(place, name, said_by_name)  # type: ignore[arg-type]

    read_progress = boards.read_progress
    places.setattr(boards, "read_progress", counted)
    board = FolderBoard(Path("meeting"))
    assert board.look() == board.look() == board.look()
    assert len(read_files) == 2


def test_what_is_shared_is_on_the_board_at_the_next_look(places: pytest.MonkeyPatch, capsys: Out) -> None:
    board = FolderBoard(Path("meeting"))
    before = board.look().jobs[0]
    said(capsys, "read", "north", "W1=53")
    said(capsys, "share", "north", "meeting")
    after = board.look().jobs[0]
    assert (after.key, after.row.entries) == (before.key, before.row.entries + 1)
    assert after.row.stages[0].on_grade == 2


def test_a_folder_that_is_gone_leaves_the_board_as_it_was_and_says_so(
    places: pytest.MonkeyPatch, capsys: Out
) -> None:
    board = FolderBoard(Path("meeting"))
    before = board.look()
    shutil.move("meeting", "away")
    gone = board.look()
    assert gone.jobs == before.jobs
    assert gone.trouble == "meeting can't be opened (no such file or directory)."
    [line] = said(capsys, "board", "meeting", code=2)
    assert line == "meeting can't be opened (no such file or directory)."
    assert not Path("meeting").exists()


def test_a_folder_in_which_nothing_was_shared_says_how_jobs_come_there(
    places: pytest.MonkeyPatch, capsys: Out
) -> None:
    [line] = said(capsys, "board", "firm/photos", code=2)
    assert line == "No job has been shared to firm/photos yet; “gradecheck share JOB firm/photos” puts one there."


def test_the_board_as_one_page_as_a_list_and_as_text(places: pytest.MonkeyPatch, capsys: Out) -> None:
    for ending in (".html", ".csv", ".json", ".txt"):
        assert said(capsys, "board", "firm", "-o", f"board{ending}") == [f"Written to board{ending}."]
    assert "Wickering Yard" in text_of(read(Path("board.html").read_text()))
    rows = list(csv.DictReader(io.StringIO(Path("board.csv").read_text())))
    assert [row["out"] for row in rows if row["job"] == "Wickering Yard"] == ["1"]
    assert len(json.loads(Path("board.json").read_text())["jobs"]) == 2
    assert Path("board.txt").read_text().startswith("2 jobs, firm\n")
    assert said(capsys, "board", "firm", "--csv") == Path("board.csv").read_text().splitlines()
    [line] = said(capsys, "board", "firm", "-o", "board.doc", code=2)
    assert line.startswith("“board.doc” does not say what to write")


def test_looking_changes_nothing_there(places: pytest.MonkeyPatch, capsys: Out) -> None:
    before = {path: path.read_bytes() for path in Path("firm").rglob("*") if path.is_file()}
    said(capsys, "board", "firm", "--text")
    assert {path: path.read_bytes() for path in Path("firm").rglob("*") if path.is_file()} == before


def test_a_liar_who_joins_two_jobs_by_a_name_is_seen(places: pytest.MonkeyPatch, capsys: Out) -> None:
    for path in Path("firm/other").iterdir():
        shutil.copy(path, "meeting")
    wickering = min(path for path in Path("meeting").glob("*.rows") if not Path("firm/other", path.name).exists())
    [larkmoor] = Path("firm/other").glob("*.rows")
    _gc, _plan, chain, *_rest = wickering.name.split("-")
    _gc, plan, *_rest = larkmoor.name.split("-")
    Path("meeting", f"gc1-{plan}-{chain}-00000001-00000001-{'0' * 32}.rows").write_bytes(b"a lie")
    [job] = answer(capsys, "board", "meeting")["jobs"]
    assert any("calls the job" in remark for remark in job["remarks"])
