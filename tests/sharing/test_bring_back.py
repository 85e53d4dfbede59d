"""`gradecheck share NEWFOLDER FOLDER`: where a laptop is lost, the whole job comes back, plan and log."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.test_join import JOB, Out, answer, laptop, log, said, yards

__all__ = ["yards"]
LIST = "points: {W1: -3, W2: -4}"


@pytest.fixture
def kept(yards: pytest.MonkeyPatch, capsys: Out) -> pytest.MonkeyPatch:
    """A job with a list beside its file, in the meeting place; the commands run on a new laptop."""
    Path("meeting").mkdir()
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor").replace(LIST, "points: walk.csv"))
    Path("court", "walk.csv").write_text("name,elevation\nW1,-3\nW2,-4\n")
    said(capsys, "setup", "court", "DOOR=50")
    said(capsys, "read", "court", "W1=53")
    said(capsys, "share", "court", "meeting")
    laptop("new", yards)
    return yards


def test_a_lost_laptops_job_comes_back_whole_and_work_goes_on_where_it_was(
    kept: pytest.MonkeyPatch, capsys: Out
) -> None:
    before = log(capsys, "court")
    brought, shared = said(capsys, "share", "back", "meeting")
    assert brought == "Brought back from meeting: Larkmoor Yard, 3 entries, with its plan."
    assert shared == "meeting: 0 new entries taken in, 0 new entries put there."
    assert log(capsys, "back") == before
    for name in ("job.yaml", "walk.csv"):
        assert Path("back", name).read_text() == Path("court", name).read_text()
    said(capsys, "verify", "back")
    assert said(capsys, "changes", "back") == said(capsys, "changes", "court")
    said(capsys, "read", "back", "W2=54")  # the setup is the one that stood there
    assert answer(capsys, "share", "back", "meeting")["put there"] == 1


def test_of_several_jobs_the_one_is_meant_whose_name_the_new_folder_has(
    kept: pytest.MonkeyPatch, capsys: Out
) -> None:
    said(capsys, "share", "south", "meeting")
    [line] = said(capsys, "share", "back", "meeting", code=2)
    assert "larkmoor-yard (Larkmoor Yard)" in line
    assert "wickering-yard (Wickering Yard)" in line
    assert not Path("back").exists()
    said(capsys, "share", "wickering-yard", "meeting")
    assert log(capsys, "wickering-yard") == log(capsys, "south")


def test_of_two_laptops_jobs_each_chain_is_there_and_verifies(kept: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "read", "north", "W1=53 1/16")
    Path("both").mkdir()
    said(capsys, "share", "north", "both")
    said(capsys, "share", "south", "both")
    said(capsys, "share", "back", "both")
    assert log(capsys, "back") == log(capsys, "south")
    assert len(log(capsys, "back")) == 6
    said(capsys, "verify", "back")
    said(capsys, "setup", "back", "DOOR=50")
    said(capsys, "share", "back", "both")
    assert answer(capsys, "share", "north", "both")["taken in"] == 3


def test_where_there_is_nothing_to_bring_back_nothing_is_made(kept: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("empty").mkdir()
    [line] = said(capsys, "share", "back", "empty", code=2)
    assert line == "There is nothing at back, and no whole job in empty to bring back. Check the names."
    [line] = said(capsys, "share", "back", "nowhere", code=2)
    assert line == "nowhere can't be opened (no such file or directory); no job was brought back from it."
    [half] = Path("meeting").glob("*.rows")
    half.write_bytes(half.read_bytes()[:-1])
    [line] = said(capsys, "share", "back", "meeting", code=2)
    assert f"{half.name} is half there" in line
    assert not Path("back").exists()


def test_a_folder_with_other_things_in_it_is_no_place_for_a_job(kept: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("full").mkdir()
    Path("full", "notes.txt").write_text("as it was")
    [line] = said(capsys, "share", "full", "meeting", code=2)
    assert line == "There is no job.yaml in full; JOB is a folder that has one, or a new one."
    assert [each.name for each in Path("full").iterdir()] == ["notes.txt"]


@pytest.fixture
def planned(yards: pytest.MonkeyPatch, capsys: Out) -> pytest.MonkeyPatch:
    """The office gave out a plan with a list, then a better one; nothing is recorded. The commands run elsewhere."""
    Path("meeting").mkdir()
    laptop("office", yards)
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor").replace(LIST, "points: walk.csv"))
    for first in (-3, -2):
        Path("court", "walk.csv").write_text(f"name,elevation\nW1,{first}\nW2,-4\n")
        said(capsys, "share", "court", "meeting", "--office")
    laptop("new", yards)
    return yards


def test_a_job_of_which_nothing_is_recorded_yet_comes_by_the_offices_plan(
    planned: pytest.MonkeyPatch, capsys: Out
) -> None:
    brought, shared = said(capsys, "share", "site", "meeting")
    assert brought == "Brought from meeting: Larkmoor Yard, plan 2 from the office. Nothing is recorded of it yet."
    assert shared == "meeting: 0 new entries taken in, 0 new entries put there."
    for name in ("job.yaml", "walk.csv"):
        assert Path("site", name).read_text() == Path("court", name).read_text()
    said(capsys, "setup", "site", "DOOR=50")
    assert [row["difference"]["text"] for row in answer(capsys, "read", "site", "W1=53")] == ["-1 in"]
    assert answer(capsys, "share", "site", "meeting")["put there"] == 3
    laptop("office", planned)
    assert answer(capsys, "share", "court", "meeting")["taken in"] == 3
    Path("court", "walk.csv").write_text("name,elevation\nW1,-1\nW2,-4\n")
    assert said(capsys, "share", "court", "meeting", "--office")[-1].startswith("Plan 3 is there")
    laptop("new", planned)
    assert answer(capsys, "share", "site", "meeting")["plan from the office"] == 3


def test_a_plan_whose_log_is_half_there_is_not_begun_without_it(planned: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "site", "meeting")
    said(capsys, "setup", "site", "DOOR=50")
    said(capsys, "share", "site", "meeting")
    [log_there] = Path("meeting").glob("*.rows")
    log_there.write_bytes(log_there.read_bytes()[:-1])
    [line] = said(capsys, "share", "third", "meeting", code=2)
    assert f"{log_there.name} is half there" in line
    assert not Path("third").exists()


def test_a_plan_under_the_name_of_another_job_is_not_begun(planned: pytest.MonkeyPatch, capsys: Out) -> None:
    for path in Path("meeting").glob("*.plan"):
        path.rename(path.with_name(f"gc1-{'0' * 16}{path.name[20:]}"))
    [line] = said(capsys, "share", "site", "meeting", code=2)
    assert line == "There is nothing at site, and no whole job in meeting to bring back. Check the names."


def test_a_job_of_which_nothing_is_recorded_says_how_others_get_it(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("meeting").mkdir()
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"))
    assert said(capsys, "share", "court", "meeting") == [
        "meeting: 0 new entries taken in, 0 new entries put there.",
        "Nothing is recorded here yet, so no other laptop can get the job there; --office puts its plan there.",
    ]
