"""A line within steps or a ramp is held to the rule of what it runs along: a run, a landing or a tread."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from tests.cli.asides import answered

JOB = """\
job: Sedge Steps
units: in
codes: [us-commercial, us-accessible]
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 1/4}
instrument: {beam: 1 arcsec, receiver: 1/64 in, longest shot: 10 ft}
areas:
  ramp:
    ramp: {from: DOOR, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft, landing fall: 1:60, toward: [50 ft, 0]}
  stair:
    flight: {from: DOOR, down: 4, riser: 6, tread: 14, landings: {2: {length: 4 ft, fall: 1:60}}, toward: [0, 50 ft]}
  chain:
    use: steps
    points:
      A: {from: DOOR, down: 1, riser: 6, at: [9 ft, 0]}
      B: {from: A, fall: 1%, over: 14, at: [9 ft, 14]}
      C: {from: B, down: 1, riser: 6, at: [9 ft, 14]}
      D: {from: C, fall: 1%, over: 14, down: 1, riser: 6, at: [9 ft, 28]}
"""
TARGETS = {"R1": -12, "R1L": -13, "R2": -25, "S2": -12, "S2L": -12.8, "S1": -6, "A": -6, "B": -6.14, "C": -12.14}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    assert main(["setup", str(tmp_path), "DOOR=100", "--by", "RK"]) in (0, 1)
    return tmp_path


@pytest.mark.parametrize("turned", [False, True], ids=["down", "up"])
@pytest.mark.parametrize(
    ("line", "low", "section", "verdict", "source"),
    [
        ("R1L,R2", 0, "ramp", "passes", "ADA Standards 2010, 405.2"),  # 12 in over 14 ft, 1:14
        ("R1L,R2", 3, "ramp", "fault", "ADA Standards 2010, 405.2"),  # 15 in over 14 ft, 1:11.2
        ("R1,R1L", 0, "landing fall", "passes", "ADA Standards 2010, 405.7"),
        ("R1,R1L", 1, "landing fall", "fault", "ADA Standards 2010, 405.7"),  # 2 in over 5 ft, 1:30
        ("S2,S2L", 0, "landing fall", "passes", "IBC 2018 1011.7.1, from memory, check"),
        ("S2,S2L", 1, "landing fall", "fault", "IBC 2018 1011.7.1, from memory, check"),
    ],
)
def test_a_run_and_a_landing_are_held_to_their_own_rules(
    job: Path, capsys: pytest.CaptureFixture[str], line: str, low: float, section: str, verdict: str, source: str,
    turned: bool,
) -> None:  # fmt: skip
    one, other = line.split(",")
    read = {one: 100 - TARGETS[one], other: 100 - TARGETS[other] + low}
    main(["read", str(job), *(f"{name}={rod:.2f}" for name, rod in read.items()), "--by", "RK"])
    capsys.readouterr()
    assert main(["checks", str(job), "--line", f"{other},{one}" if turned else line, "--json"]) == (
        verdict == "fault"
    )
    (told,) = answered(capsys.readouterr().out)
    assert (told["section"], told["verdict"], told["source"]) == (section, verdict, source)


def test_a_tread_is_held_to_its_fall(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["read", str(job), "A=106", "B=106.7", "--by", "RK"])  # 0.7 in over 14, 5%
    capsys.readouterr()
    main(["checks", str(job), "--line", "A,B", "--json"])
    (told,) = answered(capsys.readouterr().out)
    assert (told["section"], told["verdict"]) == ("tread fall", "fault")


def test_from_one_nosing_to_another_no_rule_of_falls_speaks(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["read", str(job), "S1=106", "S2L=112.8", "--by", "RK"])
    capsys.readouterr()
    main(["checks", str(job), "--line", "S1,S2L", "--json"])
    (told,) = answered(capsys.readouterr().out)
    assert told["verdict"] == "reminder"
