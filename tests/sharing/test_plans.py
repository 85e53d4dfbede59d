"""The office's plan goes to every laptop by the meeting place, is offered there, and counts once it is accepted."""

from __future__ import annotations

import hashlib
import json
import os
import zlib
from pathlib import Path

import pytest

from tests.cli.test_join import JOB, Out, answer, laptop, said, yards
from tests.whole import has

__all__ = ["yards"]
HIGHER = JOB.replace("W1: -3", "W1: -2")
HIGHEST = JOB.replace("W1: -3", "W1: -1")


@pytest.fixture
def meeting(yards: pytest.MonkeyPatch, capsys: Out) -> pytest.MonkeyPatch:
    """North and south have shared; the commands run in the office, which has the job file alone."""
    Path("meeting").mkdir()
    said(capsys, "share", "south", "meeting")
    laptop("north", yards)
    said(capsys, "share", "north", "meeting")
    laptop("office", yards)
    Path("office").mkdir()
    Path("office", "job.yaml").write_text(JOB)
    return yards


def give(capsys: Out, text: str) -> list[str]:
    """The office gives that plan out."""
    Path("office", "job.yaml").write_text(text)
    return said(capsys, "share", "office", "meeting", "--office")


def test_the_offices_plan_is_offered_everywhere_and_counts_once_accepted(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    assert give(capsys, HIGHER)[-1] == "Plan 1 is there for every laptop; each accepts it for itself."
    laptop("north", meeting)
    text = said(capsys, "share", "north", "meeting")
    assert text[-1] == (
        "New plan 1 from the office: 1 point moved, most W1 finish by 1 in up. "
        "“gradecheck changes --accept” or Ctrl+Y accepts it."
    )
    assert Path("north", "job.yaml").read_text() == HIGHER
    assert [row["difference"]["text"] for row in answer(capsys, "read", "north", "W1=53")] == ["0 in"]  # as before
    lines = said(capsys, "changes", "north", code=1)
    assert lines[0] == "New plan 1 from the office: 1 point moved, most W1 finish by 1 in up. It is not accepted yet."
    said(capsys, "changes", "north", "--accept")
    assert [row["difference"]["text"] for row in answer(capsys, "read", "north", "W1=53")] == ["-1 in"]
    assert said(capsys, "share", "north", "meeting")[1:] == []  # it is not offered again


def test_the_higher_number_counts_whatever_the_time(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    give(capsys, HIGHER)
    laptop("north", meeting)
    said(capsys, "share", "north", "meeting")
    laptop("office", meeting)
    assert give(capsys, HIGHEST)[-1].startswith("Plan 2 ")
    assert give(capsys, HIGHEST)[-1].startswith("Plan 2 ")  # given once
    laptop("south", meeting)
    said(capsys, "share", "south", "meeting")
    said(capsys, "changes", "south", "--accept")
    laptop("north", meeting)
    said(capsys, "changes", "north", "--accept")  # the first one, later, and without knowing
    for who in ("north", "south", "north", "south"):
        laptop(who, meeting)
        reply = answer(capsys, "share", who, "meeting")
        assert reply["conflicts"] == []
    assert answer(capsys, "changes", "north")["digest"] == hashlib.sha256(HIGHEST.encode()).hexdigest()


def test_a_job_file_changed_on_site_is_not_replaced_before_it_is_kept(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    give(capsys, HIGHER)
    laptop("north", meeting)
    ours = Path("north", "job.yaml")
    ours.write_text(JOB.replace("W2: -4", "W2: -5"))
    text = said(capsys, "share", "north", "meeting", code=1)
    assert text[-1] == (
        "Plan 1 from the office waits: job.yaml was changed here and not accepted. "
        "Accept that or undo it, then share again."
    )
    assert has(ours.read_text(), "W2: -5")
    said(capsys, "changes", "north", "--accept")  # now the log keeps it
    said(capsys, "share", "north", "meeting")
    assert ours.read_text() == HIGHER


def test_changes_on_site_go_back_as_entries_and_the_offices_file_stays(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    laptop("north", meeting)
    said(capsys, "change", "north", "W1=-3-1/8", "--why", "a root")
    said(capsys, "share", "north", "meeting")
    laptop("office", meeting)
    said(capsys, "share", "office", "meeting")
    assert any("W1" in line for line in said(capsys, "changes", "office"))
    assert "-3 1/8" in "\n".join(said(capsys, "changes", "office", "--as-text"))
    assert Path("office", "job.yaml").read_text() == JOB


def test_the_office_that_has_no_log_goes_on_from_the_plans_it_gave(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    for path in Path("meeting").iterdir():
        path.unlink()
    give(capsys, JOB)
    give(capsys, HIGHER)
    laptop("north", meeting)
    assert answer(capsys, "share", "north", "meeting")["plan from the office"] == 2


def test_a_plan_with_a_list_comes_with_its_list(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("office", "walk.csv").write_text("name,elevation\nW1,-2\nW2,-4\n")
    give(capsys, JOB.replace("points: {W1: -3, W2: -4}", "points: walk.csv"))
    laptop("north", meeting)
    said(capsys, "share", "north", "meeting")
    assert Path("north", "walk.csv").read_text() == Path("office", "walk.csv").read_text()
    said(capsys, "changes", "north", "--accept")


def test_where_nothing_was_accepted_yet_no_plan_counts_unseen(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    give(capsys, JOB)
    for path in Path("meeting").glob("*.rows"):
        path.unlink()
    give(capsys, HIGHER)
    laptop("west", meeting)
    Path("west").mkdir()
    Path("west", "job.yaml").write_text(JOB)
    for path in Path("meeting").glob("*.rows"):
        path.unlink()
    [*_, line] = said(capsys, "share", "west", "meeting", code=1)
    assert line.startswith("Plan 2 from the office waits: no plan was accepted here yet")
    assert Path("west", "job.yaml").read_text() == JOB
    said(capsys, "setup", "west", "DOOR=50")
    assert answer(capsys, "share", "west", "meeting")["plan from the office"] == 2


def lay(number: int, content: bytes) -> Path:
    """A file that says it is a plan of the office."""
    [rows, *_] = Path("meeting").glob("*.rows")
    job = rows.name.split("-")[1]
    path = Path("meeting", f"gc1-{job}-{number:08}-{hashlib.sha256(content).hexdigest()[:32]}.plan")
    path.write_bytes(content)
    return path


def packed(told: object) -> bytes:
    """Packed as plans are."""
    return zlib.compress(json.dumps(told).encode())


@pytest.mark.parametrize(
    "content",
    [
        b"not packed",
        packed([]),
        packed({"number": 2, "text": JOB, "files": {}}),
        packed({"number": 1, "text": 5, "files": {}}),
        packed({"number": 1, "text": JOB, "files": {"a": 5}}),
        packed({"number": 1, "text": "units: furlong\n", "files": {}}),
        packed({"number": 1, "text": JOB.replace("points: {W1: -3, W2: -4}", "points: ../../x.csv"),
                "files": {"../../x.csv": "name,elevation\nW1,1\n"}}),
        packed({"number": 1, "text": JOB.replace("points: {W1: -3, W2: -4}", "points: walk.csv"), "files": {}}),
        packed({"number": 1, "text": "&a [*a]", "files": {}}),
        packed({"number": 1, "text": "[" * 100_000, "files": {}}),
        zlib.compress(b"[" * 1_000_000),
        zlib.compress(b"0" * (60 << 20)),
    ],
)  # fmt: skip
def test_an_unreadable_plan_on_disk_is_named_and_not_put_in_place(
    meeting: pytest.MonkeyPatch, capsys: Out, content: bytes
) -> None:
    path = lay(1, content)
    laptop("north", meeting)
    before = {each.name: each.read_bytes() for each in Path("north").iterdir()}
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert reply["not taken in"][0].startswith(f"{path.name}: ")
    assert {each.name: each.read_bytes() for each in Path("north").iterdir()} == before


def test_a_plan_that_is_half_there_waits(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    give(capsys, HIGHER)
    [path] = Path("meeting").glob("*.plan")
    whole = path.read_bytes()
    path.write_bytes(whole[:-3])
    laptop("north", meeting)
    assert answer(capsys, "share", "north", "meeting", code=1)["half there"] == [path.name]
    assert Path("north", "job.yaml").read_text() == JOB
    path.write_bytes(whole)
    assert answer(capsys, "share", "north", "meeting")["plan from the office"] == 1


def test_a_job_file_that_cannot_be_read_is_not_given_out(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "share", "office", "meeting")
    Path("office", "job.yaml").write_text("units: furlong\n")
    before = sorted(Path("meeting").iterdir())
    [*_, line] = said(capsys, "share", "office", "meeting", "--office", code=2)
    assert line.startswith("The job file can't be read, so no other laptop was given it")
    assert sorted(Path("meeting").iterdir()) == before


def test_a_number_that_no_office_gives_does_not_stand_in_the_way(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    path = lay(99_999_999, packed({"number": 99_999_999, "text": HIGHEST, "files": {}}))
    Path("office", "job.yaml").write_text(HIGHER)
    reply = answer(capsys, "share", "office", "meeting", "--office", code=1)
    assert reply["plan from the office"] == 1
    assert [each.partition(":")[0] for each in reply["not taken in"]] == [path.name]


def test_another_jobs_plan_is_not_offered_though_the_file_names_both(
    meeting: pytest.MonkeyPatch, capsys: Out
) -> None:
    other = JOB.replace("Wickering", "Larkmoor")
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(other)
    said(capsys, "setup", "other", "DOOR=50", "--by", "MO")
    [ours, *_] = Path("meeting").glob("*.rows")
    said(capsys, "share", "other", "meeting", "--office")
    theirs = hashlib.sha256(other.encode()).hexdigest()[:16]
    Path("meeting", ours.name.replace(ours.name.split("-")[1], theirs)).write_bytes(ours.read_bytes())
    laptop("north", meeting)
    reply = answer(capsys, "share", "north", "meeting", code=1)
    assert reply["plan from the office"] is None
    assert all("it is of another job" in each for each in reply["not taken in"])
    assert Path("north", "job.yaml").read_text() == JOB


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="nothing is kept from whoever may do everything")
def test_a_folder_that_takes_no_files_keeps_its_job_file(meeting: pytest.MonkeyPatch, capsys: Out) -> None:
    give(capsys, HIGHER)
    laptop("north", meeting)
    Path("north").chmod(0o500)
    try:
        said(capsys, "share", "north", "meeting", code=1)
    finally:
        Path("north").chmod(0o700)
    assert Path("north", "job.yaml").read_text() == JOB
