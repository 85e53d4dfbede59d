"""What every answer in JSON has in common, a refusal too, and that its lengths are exact."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from gradecheck.cli import main
from tests.cli.asides import answered

Out = pytest.CaptureFixture[str]
JOB = """\
job: Amber Court
units: in
benchmarks: {DOOR: 0, PIN: -4}
tolerances: {finish: 1/8}
areas: {yard: {points: {Y1: -1, Y2: -1 3/64}}}
"""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    """A job with a setup and one reading."""
    monkeypatch.chdir(tmp_path)
    Path("court").mkdir()
    Path("court", "job.yaml").write_text(JOB, encoding="utf-8")
    assert main(["setup", "court", "DOOR=50", "--by", "RK"]) == 0
    assert main(["read", "court", "Y1=51-1/2"]) == 0
    capsys.readouterr()
    return Path("court")


@pytest.mark.parametrize(
    "order",
    [
        "read court Y9=50 --json",
        "read court Y1=fifty --json",
        "read court --json",
        "read court Y1=50 --stage --json",
        "log nowhere --json",
        "log court --json --csv",
        "log court --day May --json",
        "raed court --json",
        "guide nothing --json",
    ],
)
def test_a_refusal_is_one_object_on_stdout_and_its_sentence_on_stderr(job: Path, capsys: Out, order: str) -> None:
    before = (job / "journal.db").read_bytes()
    try:
        code = main(order.split())
    except SystemExit as ended:
        code = int(str(ended.code))
    printed = capsys.readouterr()
    answer = json.loads(printed.out)
    assert code == 2
    assert list(answer) == ["schema version", "command", "error"]
    assert answer["command"] == ("" if order.startswith("raed") else order.split()[0])
    assert answer["error"]["exit"] == 2
    assert answer["error"]["says"].strip()
    assert answer["error"]["says"] in printed.err
    assert (job / "journal.db").read_bytes() == before


def test_what_the_program_itself_fails_at_is_one_object_too(job: Path) -> None:
    broken = (
        "import sys, gradecheck.cli.records as records; from gradecheck.__main__ import main\n"
        "records.log_row = lambda *_: 1 / 0\n"
        "sys.argv[1:] = ['log', 'court', '--json']; sys.exit(main())"
    )
    ran = subprocess.run([sys.executable, "-c", broken], capture_output=True, text=True, check=False)
    error = json.loads(ran.stdout)["error"]
    assert (ran.returncode, error["exit"]) == (3, 3)
    assert error["says"] in ran.stderr


def test_a_reading_is_answered_with_what_was_read_and_found(job: Path, capsys: Out) -> None:
    assert main(["read", "court", "Y2=51-3/64", "--json"]) == 0
    (row,) = answered(capsys.readouterr().out)
    # 51 3/64 in = 3267/64 · 25.4 mm; found 1 3/64 in below DOOR. The texts are to the rod's sixteenths.
    assert row["rod"] == {"mm": 1296.590625, "text": "51 1/16 in"}
    assert row["found"] == {"mm": -26.590625, "text": "-1 1/16 in"}
    assert row["difference"]["mm"] == 0
    assert row["verdict"] == "ON GRADE"


def test_the_log_has_every_length_of_an_entry_exactly(job: Path, capsys: Out) -> None:
    assert main(["recheck", "court", "DOOR=50-1/16"]) == 0
    assert main(["mark", "court", "TP1=40"]) == 0
    assert main(["change", "court", "Y1=-1-1/32", "--why", "a root"]) == 0
    capsys.readouterr()
    assert main(["log", "court", "--json"]) == 0
    lengths = [row["lengths"] for row in answered(capsys.readouterr().out)]
    assert lengths[0] == {}
    assert lengths[1:] == [
        {"rod on DOOR": {"mm": 1270, "text": "50 in"}},
        {
            "rod": {"mm": 1308.1, "text": "51 1/2 in"},
            "found": {"mm": -38.1, "text": "-1 1/2 in"},
            "target": {"mm": -25.4, "text": "-1 in"},
            "off": {"mm": -12.7, "text": "-1/2 in"},
            "high": {"mm": 3.175, "text": "1/8 in"},
            "low": {"mm": 3.175, "text": "1/8 in"},
        },
        {"rod": {"mm": 1271.5875, "text": "50 1/16 in"}, "off": {"mm": -1.5875, "text": "-1/16 in"}},
        {"rod": {"mm": 1016, "text": "40 in"}},
        {"finish": {"mm": -26.19375, "text": "-1 1/32 in"}},
    ]
