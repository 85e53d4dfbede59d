"""The command `copy`: plan and journal whole in a new folder, or nothing there."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.journal.store import Journal
from tests.app.driving import write_job
from tests.cli.asides import answered
from tests.faults.sent_in import Out, refused
from tests.journal.damage import without_guards


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job with a setup and a reading."""
    job = write_job(tmp_path / "court")
    assert main(["setup", str(job), "DOOR=50", "--by", "RK"]) == 0
    assert main(["read", str(job), "P1=51"]) == 0
    return job


def entries(folder: Path) -> list[tuple[int, str, str]]:
    """What the journal there holds, which must be sound."""
    journal = Journal(folder / "journal.db")
    try:
        assert journal.verify().fault is None
        return [(entry.seq, entry.typed, entry.hash) for entry in journal.entries()]
    finally:
        journal.close()


def test_the_copy_holds_plan_and_journal_and_goes_on_from_there(job: Path, tmp_path: Path, capsys: Out) -> None:
    before = {path: path.read_bytes() for path in job.iterdir()}
    assert main(["copy", str(job), str(tmp_path / "far" / "away")]) == 0
    away = tmp_path / "far" / "away"
    assert f"Copied to {away}" in capsys.readouterr().out
    assert (away / "job.yaml").read_bytes() == (job / "job.yaml").read_bytes()
    assert entries(away) == entries(job)
    assert {path: path.read_bytes() for path in before} == before
    assert main(["read", str(away), "P2=51-1/2", "--by", "RK"]) == 0
    assert len(entries(away)) == len(entries(job)) + 1


def test_in_json_it_is_said_where_the_copy_is_and_what_it_was_made_of(job: Path, tmp_path: Path, capsys: Out) -> None:
    capsys.readouterr()
    assert main(["copy", str(job), str(tmp_path / "away"), "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert answer == {"copied": str(job), "to": str(tmp_path / "away"), "entries": 3}


def test_a_job_nothing_was_recorded_in_is_copied_without_a_journal(tmp_path: Path) -> None:
    job = write_job(tmp_path / "court")
    assert main(["copy", str(job), str(tmp_path / "away")]) == 0
    assert [path.name for path in (tmp_path / "away").iterdir()] == ["job.yaml"]


def test_lists_beside_the_job_file_go_along(tmp_path: Path) -> None:
    head = "job: Fallow Lane\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8 in}\n"
    job = write_job(tmp_path / "court", head + "areas: {walk: {points: walk.csv}}\n")
    (tmp_path / "court" / "walk.csv").write_text("name,elevation\nW1,-1\n", encoding="utf-8")
    assert main(["copy", str(job), str(tmp_path / "away")]) == 0
    assert (tmp_path / "away" / "walk.csv").read_text(encoding="utf-8") == "name,elevation\nW1,-1\n"


def test_what_is_there_already_is_not_written_into(job: Path, tmp_path: Path, capsys: Out) -> None:
    taken = tmp_path / "taken"
    taken.mkdir()
    assert "name a new folder" in refused(capsys, "copy", str(job), str(taken))
    assert list(taken.iterdir()) == []


def test_a_folder_that_can_not_be_made_is_named(job: Path, tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "can't be made" in refused(capsys, "copy", str(job), str(tmp_path / "file" / "away"))


def test_of_a_journal_that_is_not_sound_no_copy_is_left(job: Path, tmp_path: Path, capsys: Out) -> None:
    with without_guards(job / "journal.db") as connection:
        connection.execute("UPDATE entry SET typed = '52' WHERE typed = '51'")
    refused(capsys, "copy", str(job), str(tmp_path / "away"))
    assert not (tmp_path / "away").exists()
