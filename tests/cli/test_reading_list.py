"""Readings from a file or a pipe: all of it is understood before any of it is saved, and each wrong line is told."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.cli.reading_list import Sighted, sighted
from gradecheck.measure.notation import Units
from tests.cli.asides import answered, job_begun

Out = pytest.CaptureFixture[str]
JOB = """\
job: Amber Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas: {yard: {points: {Y1: -1, Y2: -1, Corner 3: -2, P4: -1, P8: -1}}}
"""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    folder = job_begun(tmp_path, monkeypatch, "court", JOB, "setup court DOOR=50")
    capsys.readouterr()
    return folder


ALL = [("Y1", 1295.4), ("Corner 3", 1320.8), ("Y2", 1301.75), ("Y2", 1295.4)]
"""51 in, 52 in, 51 1/4 in and 51 in, in mm of 25.4 each."""


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_file_is_read_line_by_line(job: Path, capsys: Out, encoding: str, end: str) -> None:
    text = ["# what José read", "", "Y1 51", "corner 3\t52   # the far one", "Y2=51 1/4", " y2  51 "]
    Path("evening.txt").write_bytes(end.join(text).encode(encoding))
    assert main(["read", "court", "--from", "evening.txt", "--json"]) == 0
    rows = answered(capsys.readouterr().out)
    assert [(row["point"], row["rod"]["mm"]) for row in rows] == ALL


def test_standard_input_is_named_by_a_dash(job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"Y1 51\nY2 51-1/4\n")))
    assert main(["read", "court", "--stage", "finish", "--from", "-"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == ["Y1", "Y2"]


def test_each_wrong_line_is_told_and_nothing_is_saved(job: Path, capsys: Out) -> None:
    before = (job / "journal.db").read_bytes()
    Path("evening.txt").write_text("Y1 51\nY9 51\nY2\nY2 fifty\n\nY2,51\nY2 51 99:99\nY2 51\n", encoding="utf-8")
    assert main(["read", "court", "--from", "evening.txt", "--json"]) == 2
    printed = capsys.readouterr()
    lines = printed.err.splitlines()
    assert [line.partition(":")[0] for line in lines[:-1]] == [f"evening.txt, line {n}" for n in (2, 3, 4, 6, 7)]
    assert lines[-1] == "Nothing was recorded; fix these and run it again."
    assert json.loads(printed.out)["error"]["says"] == printed.err.rstrip("\n")
    assert (job / "journal.db").read_bytes() == before


def test_a_thousand_wrong_lines_are_not_all_told(job: Path, capsys: Out) -> None:
    Path("evening.txt").write_text("nothing\n" * 1000, encoding="utf-8")
    assert main(["read", "court", "--from", "evening.txt"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert (len(lines), lines[20]) == (22, "And 980 more.")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("--from empty.txt", "There is no reading in it; write a line each, POINT READING."),
        ("--from nowhere.txt", "nowhere.txt can't be read (no such file or directory); check the name."),
        ("--from large.txt", "large.txt is larger than 1 MB; divide it."),
        (
            "--from empty.txt Y1=51",
            "--from and POINT=READING can't go together; give one of them. Nothing was done.",
        ),
        ("", "Say what was read: POINT=READING, or --from FILE."),
    ],
)
def test_what_can_not_be_read_from_is_one_sentence(job: Path, capsys: Out, given: str, says: str) -> None:
    Path("empty.txt").write_text("# nothing yet\n", encoding="utf-8")
    Path("large.txt").write_bytes(b"#" * 2**20 + b"\n")
    assert main(["read", "court", *given.split()]) == 2
    assert capsys.readouterr().err == f"{says}\n"


def test_a_line_may_have_its_time_and_time_is_for_the_others(job: Path, capsys: Out) -> None:
    Path("evening.txt").write_text("Y1 51 2031-01-01 10:05\nY2 51\n", encoding="utf-8")
    assert main(["read", "court", "--from", "evening.txt", "--time", "2032-01-01 11:00"]) == 2
    text = capsys.readouterr().err.splitlines()
    assert text[0].startswith("evening.txt, line 1: 10:05 on 2031-01-01 is still to come")
    assert text[1].startswith("evening.txt, line 2: 11:00 on 2032-01-01 is still to come")


def test_a_name_goes_as_far_as_it_can() -> None:
    known = {"P4": "P4", "P4 left": "P4 left", "# 7": "# 7"}.get
    assert sighted("P4 51 3/8", known, Units.IN) == Sighted("P4", "51 3/8")
    assert sighted("P4 left 51 3/8 2026-05-12 10:05", known, Units.IN) == Sighted(
        "P4 left", "51 3/8", "2026-05-12 10:05"
    )
    assert sighted("# 7 51 # wet", known, Units.IN) == Sighted("# 7", "51")
    assert sighted("P4 left 51 # sun=low", known, Units.IN) == Sighted("P4 left", "51")
    assert sighted("P4 to P8 at 3 ft=51-3/8 9:40", known, Units.IN) == Sighted("P4 to P8 at 3 ft", "51-3/8", "9:40")


@settings(max_examples=60)
@given(st.text(max_size=40))
def test_any_line_is_a_reading_or_one_refusal(line: str) -> None:
    try:
        found = sighted(line.strip() or "x", lambda _name: None, Units.IN)
    except Refusal:
        return
    assert found.name
    assert found.reading
