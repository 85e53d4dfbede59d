"""`--csv` wherever a command prints a table: a row for each in JSON, exact lengths beside their texts."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.cli.run import verb_named
from gradecheck.cli.verbs import VERBS
from tests.cli.asides import job_begun

Out = pytest.CaptureFixture[str]
JOB = """\
job: Amber Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas: {yard: {points: {Y1: {elevation: -1, what: "=1+1"}, Y2: -1}}}
"""
TABLES = {
    "read court Y2=51": "point",
    "log court": "subject",
    "targets court": "point",
    "targets court --rod Y2 DOOR": "rod (mm)",
    "examine court": "",
    "rules": "limit",
    "rules court": "limit",
    "review court": "stage",
    "review court --left": "where",
    "checks court": "verdict",
    "circuit court": "",
    "stone court": "",
    "settings": "value",
    "asbuilt court": "found (in)",
    "quantities court": "amount",
    "plan court": "name",
    "layout court --sides 3,4": "wanted (mm)",
}
"""By what is asked, a heading that its table has; empty where this job has nothing for one."""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    folder = job_begun(tmp_path, monkeypatch, "court", JOB, "setup court DOOR=50", "read court Y1=51-1/2")
    capsys.readouterr()
    return folder


@pytest.mark.parametrize(("asked", "heading"), TABLES.items())
def test_a_table_is_printed_as_csv(job: Path, capsys: Out, asked: str, heading: str) -> None:
    assert main([*asked.split(), "--csv"]) in (0, 1)
    printed = capsys.readouterr()
    if not heading:
        assert (printed.out, printed.err.splitlines()[0]) == ("", "The table has no rows.")
        return
    table = list(csv.reader(io.StringIO(printed.out), strict=True))
    assert {len(row) for row in table} <= {len(table[0])}
    assert heading in table[0]
    assert not any(cell.startswith(("=", "+", "@")) for row in table for cell in row)


def test_every_command_with_a_table_is_among_them() -> None:
    has = {name for name in VERBS if any(field == "csv" for field, _flags, _settings in verb_named(name).asked)}
    assert has == {asked.split()[0] for asked in TABLES} | {"board"}


def test_csv_and_json_exclude_each_other(job: Path, capsys: Out) -> None:
    for asked in TABLES:
        assert main([*asked.split(), "--csv", "--json"]) == 2, asked
        assert "--json" in capsys.readouterr().err


def test_words_like_a_formula_stay_words(job: Path, capsys: Out) -> None:
    assert main(["review", "court", "--left", "--csv"]) == 1
    assert [row["where"] for row in csv.DictReader(io.StringIO(capsys.readouterr().out))] == ["'=1+1", ""]


def test_a_fraction_of_an_inch_is_no_date_to_a_spreadsheet(job: Path, capsys: Out) -> None:
    """From a plane 3/8 below the door a point 1 in below it should read 5/8."""
    assert main(["setup", "court", "DOOR=-3/8", "--json"]) == 0
    capsys.readouterr()
    assert main(["review", "court", "--left", "--csv"]) == 1
    rods = [row["rod should read"] for row in csv.DictReader(io.StringIO(capsys.readouterr().out))]
    assert rods == ["5/8 in", "5/8 in"]
