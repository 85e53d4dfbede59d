"""`gradecheck schema`: what editors read to complete and mark a job file, printed or written beside one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.plan.schema import job_schema
from tests.cli.asides import answered


def test_the_schema_is_printed_and_is_in_json_as_well(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == job_schema()
    assert main(["schema", "--json"]) == 0
    assert answered(capsys.readouterr().out)["schema"] == job_schema()


def test_it_is_written_whole_over_an_older_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "job.schema.json"
    path.write_text("{}", encoding="utf-8")
    assert main(["schema", "-o", str(path)]) == 0
    assert capsys.readouterr().out == f"Written to {path}.\n"
    assert json.loads(path.read_text(encoding="utf-8")) == job_schema()


@pytest.mark.parametrize("name", ["job.yaml", "journal.sqlite", "schema", "plan.txt"])
def test_nothing_but_json_is_written_over(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / name).write_text("ours", encoding="utf-8")
    assert main(["schema", "-o", str(tmp_path / name)]) == 2
    assert capsys.readouterr().err == f"A schema is written to a file that ends in .json; {name} does not.\n"
    assert (tmp_path / name).read_text(encoding="utf-8") == "ours"


def test_a_new_job_names_the_schema_in_its_first_line_and_has_it_beside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["new", "yard", "--example"]) == 0
    folder = Path("jobs/yard")
    first = (folder / "job.yaml").read_text(encoding="utf-8").partition("\n")[0]
    assert first == "# yaml-language-server: $schema=job.schema.json"
    assert json.loads((folder / "job.schema.json").read_text(encoding="utf-8")) == job_schema()


def test_what_is_called_like_the_schema_already_is_left_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = Path("jobs/yard")
    folder.mkdir(parents=True)
    (folder / "job.schema.json").write_text("mine", encoding="utf-8")
    assert main(["new", "yard", "--example"]) == 0
    assert (folder / "job.schema.json").read_text(encoding="utf-8") == "mine"
