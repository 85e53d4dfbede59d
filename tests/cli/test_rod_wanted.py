"""`targets --rod`: what the rod should read, by hand: HI less the elevation, and the other way on a direct rod."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gradecheck.cli import main

Out = pytest.CaptureFixture[str]
JOB = """\
job: Amber Court
units: in
rods: {site: {kind: standard, graduation: 1/16 in, length: 10 ft}, other: {kind: direct, graduation: 1/16 in}}
benchmarks: {DOOR: 0, PIN: -4, ROOF: 60, PIT: -80}
tolerances: {finish: 1/8}
areas: {yard: {points: {Y1: {at: [0, 0], elevation: -1}, Y2: {at: [0, 100], elevation: -2}}}}
"""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB, encoding="utf-8")
    assert main(["examine", "court"]) in (0, 1), capsys.readouterr().out
    capsys.readouterr()
    return Path("court")


def _rods(capsys: Out, *asked: str) -> dict[str, str]:
    assert main(["targets", "court", "--json", *asked]) == 0
    rows = json.loads(capsys.readouterr().out)["rows"]
    return {f"{row.get('point') or row['mark']} {row['stage'] or ''}".strip(): row["rod"]["text"] for row in rows}


def test_it_is_for_the_current_setup_at_points_marks_and_spots(job: Path, capsys: Out) -> None:
    assert main(["setup", "court", "DOOR=50"]) == 0
    assert main(["mark", "court", "TP1=47-1/2"]) == 0
    capsys.readouterr()
    # 50 in above DOOR: at -1 in it reads 51, at PIN 54, at a TP 2 1/2 in above DOOR again 47 1/2.
    rods = _rods(capsys, "--stage", "finish", "--rod", "y1", "PIN", "TP1", "Y1 to Y2 half way")
    assert rods == {"Y1 finish": "51 in", "PIN": "54 in", "TP1": "47 1/2 in", "Y1 to Y2 half way finish": "51 1/2 in"}
    assert main(["targets", "court", "--rod", "Y2", "--stage", "finish"]) == 0
    assert capsys.readouterr().out.splitlines()[1].split()[:4] == ["Y2", "finish", "rod", "52"]


def test_a_working_offset_counts_at_points_and_not_on_marks(job: Path, capsys: Out) -> None:
    from gradecheck.actions import change_offset
    from gradecheck.session.session import Session

    assert main(["setup", "court", "DOOR=50"]) == 0
    session = Session(job)
    session.identify("RK")
    session.record(change_offset(session.state, "offset 3 above"))
    session.close()
    capsys.readouterr()
    assert _rods(capsys, "--rod", "Y1", "PIN") == {"Y1 finish": "48 in", "PIN": "54 in"}


def test_an_hi_stands_in_for_a_setup_and_nothing_is_written(job: Path, capsys: Out) -> None:
    assert _rods(capsys, "--hi", "40", "--rod", "Y1", "DOOR") == {"Y1 finish": "41 in", "DOOR": "40 in"}
    assert _rods(capsys, "--hi", "-3", "--rod", "PIN") == {"PIN": "1 in"}
    assert [path.name for path in job.iterdir()] == ["job.yaml"]


def test_on_a_direct_rod_readings_run_with_the_ground(job: Path, capsys: Out) -> None:
    assert main(["setup", "court", "DOOR=50", "--rod", "other"]) == 0
    capsys.readouterr()
    # Its zero lies 50 in below DOOR, so Y1 at -1 in reads 49 and PIN at -4 in reads 46.
    assert _rods(capsys, "--rod", "Y1", "PIN") == {"Y1 finish": "49 in", "PIN": "46 in"}


def test_what_no_rod_shows_says_so(job: Path, capsys: Out) -> None:
    assert main(["targets", "court", "--hi", "50", "--rod", "ROOF", "PIT"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [lines[1].endswith("above the laser"), lines[2].endswith("longer than the rod")] == [True, True]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("--rod Y1", "No setup; set up first, or say how high the laser is: --hi LENGTH."),
        ("--rod Y9 --hi 50", "There is no point “Y9” in this job."),
        ("--rod Y1 --hi high", "“high” is not a length"),
        ("--rod Y1 --hi 50 --stage roof", "There is no stage “roof” here"),
        ("--hi 50", "--hi belongs to --rod"),
        ("--rod Y1 --area yard", "--rod and --area can't go together"),
    ],
)
def test_what_can_not_be_told_is_one_sentence(job: Path, capsys: Out, asked: str, says: str) -> None:
    assert main(["targets", "court", *asked.split()]) == 2
    assert capsys.readouterr().err.startswith(says)
