"""A line from one area into another: by which area's rule its fall is judged, or why it is not checked."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from tests.cli.asides import answered

JOB = """\
job: Reed Quay
units: in
codes: [us-accessible]
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}, PIN: {elevation: -4}}
tolerances: {finish: 1/4, base: 3/8, subgrade: 1/2}
build-ups: {b: [{paver: 2}, {base: 6}]}
datums: {pool: {mark: COPING, reads: 0}, office: {mark: DOOR, reads: 100}}
instrument: {beam: 1 arcsec, receiver: 1/64 in, longest shot: 10 ft}
areas:
  terrace:
    surface: {at: DOOR, fall: {x: 2%}}
    drains: {at least: 1.6%, at most: 5%}
    points: {T1: {at: [0, 0]}, T2: {at: [10 ft, 0]}, T3: {at: [10 ft, 10 ft]}, T4: {at: [20 ft, 0]}}
  lawn:
    surface: {at: DOOR, fall: {x: 2%}}
    drains: {at least: 1.9%, at most: 4%}
    points: {L1: {at: [30 ft, 0]}, L2: {at: [40 ft, 0]}, L3: {at: [30 ft, 20 ft]}, L4: {elevation: -8}}
  flat:
    surface: {at: DOOR, fall: {x: 2%}}
    rules: {fall at least: 2.5%}
    points: {F1: {at: [50 ft, 0]}}
  steps:
    use: steps
    points: {S1: {elevation: -15, at: [50 ft, 9 ft]}}
  bed:
    build-up: b
    surface: {at: DOOR, fall: {x: 2%}}
    points: {B1: {at: [60 ft, 0]}}
  pool:
    datum: pool
    points: {P1: {elevation: -1, at: [60 ft, 9 ft]}}
  annex:
    datum: office
    points: {A1: {elevation: 85.6, at: [60 ft, 0]}}
  walk:
    accessible: yes
    surface: {at: DOOR, fall: {x: 2%}}
    along: [[0, -20 ft], [40 ft, -20 ft]]
    points: {W1: {at: [0, -20 ft]}, W2: {at: [40 ft, -20 ft]}}
  path:
    accessible: yes
    surface: {at: DOOR, fall: {x: 2%}}
    along: [[50 ft, -20 ft], [90 ft, -20 ft]]
    rules: {accessible run at most: 3%}
    points: {K1: {at: [50 ft, -20 ft]}, K2: {at: [90 ft, -20 ft]}}
"""
PLANNED = {
    "T1": "0", "T2": "-2.4", "T3": "-2.4", "T4": "-4.8", "L1": "-7.2", "L2": "-9.6", "L3": "-7.2", "L4": "-8",
    "F1": "-12",
    "S1": "-15", "B1": "-14.4", "P1": "-14", "A1": "-14.4", "W1": "0", "W2": "-9.6", "K1": "-12", "K2": "-21.6",
}  # fmt: skip
"""Elevations from the job's zero, two percent along x wherever there is a surface."""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    assert main(["setup", str(tmp_path), "DOOR=100", "--by", "RK"]) in (0, 1)
    return tmp_path


def _line(
    job: Path, capsys: pytest.CaptureFixture[str], names: str, stage: dict[str, str] | None = None, **off: str
) -> list[dict[str, str]]:
    for name in names.split(","):
        rod = 100 - float(PLANNED[name]) - float(off.get(name, "0"))
        below = ["--stage", stage[name]] if stage and name in stage else []
        main(["read", str(job), f"{name}={rod:.4f}".rstrip("0").rstrip("."), "--by", "RK", *below])
    capsys.readouterr()
    main(["checks", str(job), "--line", names, "--json"])
    return list(answered(capsys.readouterr().out))


def test_it_is_held_to_the_stricter_of_both_areas_and_that_one_is_named(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (told,) = _line(job, capsys, "T4,L1")
    assert (told["section"], told["verdict"]) == ("fall", "passes")
    assert told["says"] == "T4 to L1 2.00% (1:50), 2.4 in over 120 in, by the rule of lawn"


@pytest.mark.parametrize(
    ("off", "verdict", "limit"), [("0.24", "fault", "1.90% (1:52.6)"), ("-3", "fault", "4.00% (1:25)")]
)
@pytest.mark.parametrize("line", ["T4,L1", "L1,T4"])
def test_what_breaks_it_is_out_whichever_end_is_named_first(
    job: Path, capsys: pytest.CaptureFixture[str], line: str, off: str, verdict: str, limit: str
) -> None:
    """By 0.24 in less over 120 in it falls 1.8%: the terrace would take that. By 3 in more it falls 4.5%."""
    (told,) = _line(job, capsys, line, L1=off)
    assert (told["verdict"], told["limit"], told["says"].rpartition(", ")[2]) == (
        verdict,
        limit,
        "by the rule of lawn",
    )


NOT_CHECKED = [
    ("T3,S1", "steps is held to the rules of steps and ramps"),
    ("T4,P1", "the zero of pool is not tied in yet"),
    ("T4,L4", "the plan does not say where L4 lies"),
]


@pytest.mark.parametrize(("line", "why"), NOT_CHECKED)
def test_where_no_rule_can_be_asked_it_says_not_checked_and_why(
    job: Path, capsys: pytest.CaptureFixture[str], line: str, why: str
) -> None:
    (told,) = _line(job, capsys, line)
    assert told["verdict"] == "not checked"
    assert why in told["says"]


def test_below_the_finish_no_rule_is_asked(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (told,) = _line(job, capsys, "L2,B1", {"B1": "base"})
    assert told["verdict"] == "not checked"
    assert "bed was read at base" in told["says"]


def test_a_line_planned_flatter_than_both_areas_is_not_asked_about(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (told,) = _line(job, capsys, "T1,L3")  # 7.2 in over 36.06 ft is 1.66%: enough for the terrace alone
    assert (told["verdict"], told["says"].rpartition(", ")[2]) == ("passes", "by the rule of terrace")
    (told,) = _line(job, capsys, "T4,L3")  # 2.4 in over 22.36 ft, 0.89%
    assert told["verdict"] == "not checked"
    assert "by the plan, water does not run along this line" in told["says"]


def test_a_zero_of_its_own_is_reckoned_with(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = _line(job, capsys, "L2,A1")
    assert told[0]["says"].startswith("L2 to A1 2.00%")


def test_between_two_like_accessible_walks_the_stricter_limit_holds(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (told,) = _line(job, capsys, "W2,K1")
    assert (told["section"], told["verdict"], told["limit"]) == ("running fall", "passes", "3.00% (1:33.3)")
    assert told["says"].endswith("by the rule of path")
    (told,) = _line(job, capsys, "W2,K1", K1="-2.4")
    assert (told["section"], told["verdict"]) == ("running fall", "fault")


def test_a_line_over_two_areas_holds_each_piece_to_its_own(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = _line(job, capsys, "T1,T2,T4,L1,L2")
    assert [(each["section"], each["verdict"]) for each in told] == [
        *[("fall", "passes")] * 4,
        ("flatness", "not checked"),
    ]
    assert [each["says"].rpartition(", by the rule of ")[2] for each in told[2:3]] == ["lawn"]
    assert "the line goes from terrace into lawn" in told[-1]["says"]


def test_a_point_that_nobody_read_is_told(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["read", str(job), "T1=100", "T4=104.8", "--by", "RK"])
    capsys.readouterr()
    main(["checks", str(job), "--line", "T1,T2,T4", "--json"])
    answer = answered(capsys.readouterr().out)
    assert ("not checked", True) in [(each["verdict"], "T2 was not read" in each["says"]) for each in answer]
