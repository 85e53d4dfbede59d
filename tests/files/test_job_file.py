"""The job file edited on disk: whole or not at all, never over what somebody else wrote meanwhile."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gradecheck.actions import Refusal
from gradecheck.files.job_file import ChangedMeanwhileError, open_to_edit, reader, write_edited
from gradecheck.places import Folder
from gradecheck.plan.editing import Editing, deleting, moving, putting, renaming, typed_value
from gradecheck.plan.edits import EditRefusedError
from tests.app.driving import JOB


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "job.yaml").write_bytes(b"\xef\xbb\xbf" + JOB.replace("\n", "\r\n").encode())
    return tmp_path


def test_a_change_is_written_and_every_other_byte_stays(job: Path) -> None:
    opened = open_to_edit(job)
    editing = Editing(opened.draft, reader(job))
    editing.make(putting(("areas", "path", "points", "P2", "elevation"), "-1 5/8"))
    before = (job / "job.yaml").read_bytes()
    write_edited(job, editing.draft, opened)
    assert (job / "job.yaml").read_bytes() == before.replace(b"elevation: -1 1/2", b"elevation: -1 5/8")
    assert [each.name for each in job.iterdir()] == ["job.yaml"]


def test_a_file_that_somebody_changed_meanwhile_is_left_alone(job: Path) -> None:
    opened = open_to_edit(job)
    editing = Editing(opened.draft, reader(job))
    editing.make(renaming(("areas", "path", "points", "P2"), "MID"))
    theirs = (job / "job.yaml").read_bytes().replace(b"Quillmere", b"Quillmore")
    (job / "job.yaml").write_bytes(theirs)
    with pytest.raises(ChangedMeanwhileError):
        write_edited(job, editing.draft, opened)
    assert (job / "job.yaml").read_bytes() == theirs
    assert [each.name for each in job.iterdir()] == ["job.yaml"]
    again = open_to_edit(job)
    editing.begin_anew(again.draft)
    write_edited(job, editing.draft, again)
    assert (job / "job.yaml").read_bytes() == theirs.replace(b"P2:", b"MID:")


def test_a_change_that_the_new_file_can_not_take_leaves_all_as_it_was(job: Path) -> None:
    editing = Editing(open_to_edit(job).draft, reader(job))
    editing.make(renaming(("areas", "path", "points", "P2"), "MID"))
    kept = editing.draft
    (job / "job.yaml").write_text(JOB.replace("P2:", "P7:"), encoding="utf-8")
    with pytest.raises(EditRefusedError):
        editing.begin_anew(open_to_edit(job).draft)
    assert editing.draft is kept


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_link_in_place_of_the_job_file_is_not_edited(job: Path, tmp_path: Path) -> None:
    (job / "job.yaml").rename(job / "other.yaml")
    (job / "job.yaml").symlink_to(job / "other.yaml")
    with pytest.raises(Refusal, match="can't be edited here"):
        open_to_edit(job)


@pytest.mark.skipif(os.name == "nt", reason="rights are others there")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_who_may_read_and_write_it_stays(job: Path, mode: int) -> None:
    (job / "job.yaml").chmod(mode)
    opened = open_to_edit(job)
    editing = Editing(opened.draft, reader(job))
    editing.make(renaming(("areas", "path", "points", "P2"), "MID"))
    write_edited(job, editing.draft, opened)
    assert (job / "job.yaml").stat().st_mode & 0o777 == mode


def test_a_full_disk_leaves_the_file_as_it_was(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_to_edit(job)
    before = (job / "job.yaml").read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Refusal, match=r"could not be written \(no space left on device\); it is as it was"):
        write_edited(job, opened.draft, opened)
    assert (job / "job.yaml").read_bytes() == before


def test_changes_are_taken_back_one_by_one(job: Path) -> None:
    editing = Editing(open_to_edit(job).draft, reader(job))
    points = ("areas", "path", "points")
    editing.make(moving((*points, "P1"), "P3"))
    editing.make(deleting((*points, "P2")))
    editing.read()
    assert editing.plan is not None
    assert list(editing.plan.areas["path"].index) == ["P3", "P1"]
    assert editing.take_back()
    assert editing.take_back()
    assert not editing.take_back()
    assert editing.draft.text == editing.opened.text


def test_the_fault_of_a_value_is_found_at_that_value_alone(job: Path) -> None:
    editing = Editing(open_to_edit(job).draft, reader(job))
    path = ("areas", "path", "points", "P2", "elevation")
    editing.make(putting(path, "low"))
    editing.read()
    assert (fault := editing.problem_with(path)) is not None
    assert "“low”" in fault.says
    assert editing.problem_with(("areas", "path", "points", "P2", "what")) is None
    assert editing.problem_with(("areas", "path", "points", "P3")) is None


@pytest.mark.parametrize(
    ("typed", "path", "value"),
    [
        ("-3 1/4", ("areas", "a", "points", "P1"), "-3 1/4"),
        ("from P1, fall 2%, over 4 ft", ("areas", "a", "points", "P2"), {"from": "P1", "fall": "2%", "over": "4 ft"}),
        ("elevation -1, at 3 ft, 4 ft, what by the gate", ("areas", "a", "points", "P2"),
         {"elevation": "-1", "at": ["3 ft", "4 ft"], "what": "by the gate"}),
        ("12 ft,  1 ft", ("areas", "a", "points", "P2", "at"), ["12 ft", "1 ft"]),
        ("[0, 0], [4 ft, 0], [4 ft, 4 ft]", ("areas", "a", "outline"), [["0", "0"], ["4 ft", "0"], ["4 ft", "4 ft"]]),
        ("[[0, 0], [4 ft, 0]]", ("walls", "house"), [["0", "0"], ["4 ft", "0"]]),
        ("6 ft", ("areas", "a", "grid", "every"), "6 ft"),
        ("6 ft, 4 ft", ("areas", "a", "grid", "every"), ["6 ft", "4 ft"]),
        ("every 6 ft, name G", ("areas", "a", "grid"), {"every": "6 ft", "name": "G"}),
        ("us-commercial, us-accessible", ("codes",), ["us-commercial", "us-accessible"]),
        ("high 1/2, low 3/8", ("tolerances", "base"), {"high": "1/2", "low": "3/8"}),
        ("3/8 in", ("tolerances", "base"), "3/8 in"),
        ("terrace, by the house", ("areas", "a", "what"), "terrace, by the house"),
        ("{paver: 2 3/8 in}, {base: 6 in}", ("build-ups", "p"), [{"paver": "2 3/8 in"}, {"base": "6 in"}]),
    ],
)  # fmt: skip
def test_what_people_type_becomes_a_text_a_list_or_keys(typed: str, path: tuple[str, ...], value: object) -> None:
    assert typed_value(typed, path) == value


def test_brackets_that_do_not_close_are_refused() -> None:
    with pytest.raises(EditRefusedError, match="These brackets can't be read"):
        typed_value("[12 ft, 3", ("areas", "a", "points", "P2", "at"))


@pytest.fixture
def listed(tmp_path: Path) -> Path:
    text = JOB.replace("    points:\n", "    points: path.csv\n    added:\n", 1).replace("half way", "by L1")
    (tmp_path / "job.yaml").write_text(text + "    route: [L1, P1, P2, P3]\n", encoding="utf-8")
    (tmp_path / "path.csv").write_bytes(b"name,elevation\r\nL1,-1\r\n")
    return tmp_path


def test_a_list_and_the_job_file_are_written_together_or_not_at_all(
    listed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = open_to_edit(listed)
    editing = Editing(opened.draft, reader(listed))
    editing.make(renaming(("areas", "path", "points", "L1"), "WALL"))
    before = {each.name: each.read_bytes() for each in listed.iterdir()}
    rename = Folder.rename

    def failing(place: Folder, old: str, new: str) -> None:
        if new == "job.yaml":
            raise OSError(5, "Input/output error")
        rename(place, old, new)

    with monkeypatch.context() as patched:
        patched.setattr(Folder, "rename", failing)
        with pytest.raises(Refusal, match="they are as they were"):
            write_edited(listed, editing.draft, opened)
    assert {each.name: each.read_bytes() for each in listed.iterdir()} == before
    write_edited(listed, editing.draft, opened)
    assert (listed / "path.csv").read_bytes() == b"name,elevation\r\nWALL,-1\r\n"
    assert "route: [WALL, P1, P2, P3]" in (listed / "job.yaml").read_text(encoding="utf-8")
    assert sorted(each.name for each in listed.iterdir()) == ["job.yaml", "path.csv"]
