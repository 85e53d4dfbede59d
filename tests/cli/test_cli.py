"""The verbs without a screen: what they print, what they answer to other programs, and how they end."""

from __future__ import annotations

import contextlib
import csv
import functools
import io
import json
import os
import re
import subprocess
import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

import gradecheck
from gradecheck import actions
from gradecheck.cli import main
from gradecheck.session.session import Session
from tests.cli.asides import answered, unexpected
from tests.whole import has

ROOT = Path(gradecheck.__file__).parents[1]
JOB = """\
job: Quillmere Court
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
  grade rod: {kind: direct, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the hall}
  PIN: {elevation: -4 3/8, what: brass pin by the gate}
build-ups:
  yard: [{paver: 2 3/8 in}, {base: 6 in}]
tolerances: {subgrade: {high: 1/2 in, low: 3/4 in}, base: 3/8 in, finish: 1/8 in}
areas:
  path:
    points:
      P1: {from: DOOR, fall: 1/8 in/ft, over: 8 ft, what: by the hall}
      P2: {elevation: -1 1/2, what: half way}
  yard:
    build-up: yard
    points:
      Y1: {from: P2, down: 2, riser: 6 in}
"""
"""P1 lies at -1, P2 at -1 1/2, Y1 at -13 1/2."""

MORNING = datetime(2026, 5, 12, 7, 30, tzinfo=timezone(timedelta(hours=-5)))


@pytest.fixture(autouse=True)
def half_past_seven(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock stands still, and nobody has said who is checking."""
    monkeypatch.setattr("gradecheck.cli.shared.Session", functools.partial(Session, clock=lambda: MORNING))
    monkeypatch.delenv("GRADECHECK_BY", raising=False)


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job nobody has worked on, in the folder the commands are given in."""
    monkeypatch.chdir(tmp_path)
    folder = Path("court")
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    return folder


@pytest.fixture
def stood(job: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The same with the instrument stood, its plane at 50 in."""
    assert main(["setup", str(job), "DOOR=50", "--by", "RK"]) == 0
    capsys.readouterr()
    return job


Out = pytest.CaptureFixture[str]


def answer(capsys: Out, *arguments: str, code: int = 0) -> Any:
    """What a command answers in JSON; it must end with that code and say nothing else."""
    assert main([*arguments, "--json"]) == code
    printed = capsys.readouterr()
    assert unexpected(printed.err) == ""
    assert printed.out.isascii(), "no terminal can take it for anything else"
    return answered(printed.out)


def said(capsys: Out, *arguments: str, code: int = 0) -> list[str]:
    """The lines a command prints."""
    assert main(arguments) == code
    printed = capsys.readouterr()
    assert unexpected(printed.err) == ""
    return printed.out.splitlines()


def journal(job: Path) -> bytes:
    """The journal's file, empty where there is none."""
    path = job / "journal.db"
    return path.read_bytes() if path.exists() else b""


def length(mm: float, text: str) -> dict[str, object]:
    """A length as every command answers it."""
    return {"mm": mm, "text": text}


# -- the plan


def test_examine_counts_what_a_sound_plan_holds(job: Path, capsys: Out) -> None:
    counted, reminder = said(capsys, "examine", "court")
    assert counted == "Quillmere Court: 3 points in 2 areas, no issues found."
    assert reminder.startswith("line 17: NOT CHECKED: yard: no code is named for risers, handrails and guards")
    reply = answer(capsys, "examine", "court/job.yaml")
    assert (reply["job"], reply["problems"]) == ("Quillmere Court", [])
    assert reply["areas"] == {
        "path": {"points": 2, "stages": ["finish"]},
        "yard": {"points": 1, "stages": ["subgrade", "base", "finish"]},
    }
    assert journal(job) == b"", "looking writes nothing"


def test_examine_tells_every_problem_with_its_line_and_ends_with_1(job: Path, capsys: Out) -> None:
    text = JOB.replace("units: in", "units: cubits").replace("from: P2", "from: P9")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    lines = said(capsys, "examine", "court", code=1)
    assert [line.split(": ")[0] for line in lines] == ["job.yaml:2:8", "job.yaml:20:18"]
    reply = answer(capsys, "examine", "court", code=1)
    assert list(reply) == ["problems", "decides"]
    assert [set(problem) for problem in reply["problems"]] == [{"file", "line", "column", "says"}] * 2
    assert [(problem["line"], problem["column"]) for problem in reply["problems"]] == [(2, 8), (20, 18)]


def test_targets_give_every_surface_with_its_sum(job: Path, capsys: Out) -> None:
    lines = said(capsys, "targets", "court")
    assert [line.split()[:4] for line in lines] == [
        ["path", "P1", "finish", "−1"],
        ["path", "P2", "finish", "−1"],
        ["yard", "Y1", "finish", "−13"],
        ["yard", "Y1", "base", "−15"],
        ["yard", "Y1", "subgrade", "−21"],
    ]
    assert lines[0].endswith("+1/8 −1/8    by the hall")
    assert lines[4].endswith("−21 7/8  +1/2 −3/4")
    working = said(capsys, "targets", "court", "--area", "yard", "--stage", "subgrade", "--working")
    assert "Y1 = P2 −1 1/2 − 2 × 6 in = −13 1/2 in" in working[1]
    assert "Y1 subgrade = finish −13 1/2 − 2 3/8 in paver − 6 in base = −21 7/8 in" in working[2]


def test_targets_in_json_are_exact_in_millimetres(job: Path, capsys: Out) -> None:
    (told,) = answer(capsys, "targets", "court", "--area", "yard", "--stage", "subgrade", "--working")
    assert told.pop("working")[0].startswith("Y1 = P2")
    assert told == {
        "example": False,
        "area": "yard",
        "point": "Y1",
        "stage": "subgrade",
        "wanted": length(-555.625, "-21 7/8 in"),  # 21.875 x 25.4
        "high": length(12.7, "1/2 in"),
        "low": length(19.05, "3/4 in"),
        "on site": "",
    }


def test_targets_on_a_string_lie_straight_between_its_ends(job: Path, capsys: Out) -> None:
    """P1 lies at -1 and P2 at -1 1/2, half way -1 1/4; a quarter of the way -1 1/8."""
    lines = said(capsys, "targets", "court", "--on-string", "p1 to p2 half way")
    assert [" ".join(line.split()) for line in lines] == ["path P1 to P2 half way finish −1 1/4 +1/8 −1/8"]
    (told,) = answer(capsys, "targets", "court", "--on-string", "P1 to P2 1/4 of the way", "--stage", "finish")
    assert (told["area"], told["stage"]) == ("path", "finish")
    assert told["wanted"] == length(-28.575, "-1 1/8 in")


# -- the instrument


def test_setup_tells_the_plane_and_keeps_the_text_as_typed(job: Path, capsys: Out) -> None:
    lines = said(capsys, "setup", "court", "door=48-1/4", "--by", "rk")
    assert lines == [
        "site rod on DOOR 48 1/4 in; HI 48 1/4 in",
        "One benchmark only: no check on this setup.",
    ]
    row = answer(capsys, "log", "court")[-1]
    assert (row["kind"], row["by"], row["typed"], row["day"], row["time"]) == (
        "set-up",
        "RK",
        "door=48-1/4",
        "2026-05-12",
        "07:30",
    )


def test_setup_on_two_marks_ends_with_1_where_they_disagree(job: Path, capsys: Out) -> None:
    reply = answer(capsys, "setup", "court", "DOOR=50", "PIN=54-3/8", "--by", "RK")
    assert (reply["agree"], reply["rod"], reply["seq"]) == (True, "site rod", 2)
    assert reply["plane"] == length(1270.0, "50 in")
    assert reply["from"] == {"DOOR": length(1270.0, "50 in"), "PIN": length(1270.0, "50 in")}
    assert reply["spread"] == length(0.0, "0 in")
    reply = answer(capsys, "setup", "court", "DOOR=50", "PIN=54", "--by", "RK", code=1)
    assert (reply["agree"], reply["spread"]) == (False, length(9.525, "3/8 in"))
    assert reply["seq"] is None, "nothing was recorded without a reason"
    (_, why) = said(capsys, "setup", "court", "DOOR=50", "PIN=54", "--why", "wind", "--by", "RK", code=1)
    assert why.startswith("THEY DISAGREE by 3/8 in")
    reviewed = answer(capsys, "review", "court", code=1)
    assert reviewed["open"][0] == "SETUP DISAGREES by 3/8 in (allowed 1/8 in): wind. Set up again."


def test_setup_on_a_direct_rod(job: Path, capsys: Out) -> None:
    (first, _) = said(capsys, "setup", "court", "DOOR=20", "--rod", "grade rod", "--by", "RK")
    assert first == "grade rod on DOOR 20 in; rod zero −20 in"
    (line,) = said(capsys, "read", "court", "P1=19-3/16")
    assert has(line, "CUT 3/16")


def test_recheck_ends_with_1_where_the_instrument_was_disturbed(stood: Path, capsys: Out) -> None:
    assert said(capsys, "recheck", "court", "DOOR=50-1/16") == ["DOOR is off by −1/16 in (allowed 1/8 in): setup OK."]
    said(capsys, "read", "court", "P1=51")
    reply = answer(capsys, "recheck", "court", "DOOR=50-1/2", code=1)
    assert (reply["mark"], reply["good"], reply["off"]) == (
        "DOOR",
        False,
        length(-12.7, "-1/2 in"),
    )
    assert reply["in doubt"] == [{"area": "path", "point": "P1", "stage": "finish"}]
    assert main(["read", "court", "P2=51-1/2"]) == 2, "nothing is read from it any more"


def test_a_mark_is_made_and_carries_the_zero_behind_a_move(stood: Path, capsys: Out) -> None:
    assert said(capsys, "mark", "court", "TP1=49", "--what", "kerb") == ["TP1 = DOOR 0 + 50 − 49 = 1 in"]
    assert said(capsys, "move", "court", "--why", "spoil in the way") == [
        "The laser was moved; no readings until it is set up again."
    ]
    assert main(["read", "court", "P1=51"]) == 2
    capsys.readouterr()
    assert said(capsys, "setup", "court", "TP1=60")[0].endswith("HI 61 in")
    reply = answer(capsys, "mark", "court", "TP2=60")
    assert (reply["mark"], reply["elevation"]) == ("TP2", length(25.4, "1 in"))
    assert answer(capsys, "move", "court")["why"] == "moved"


def test_a_point_that_was_read_becomes_a_mark(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P2=51-1/2")
    reply = answer(capsys, "mark", "court", "p2")
    assert (reply["mark"], reply["elevation"]) == ("P2", length(-38.1, "-1 1/2 in"))


def test_datum_says_which_zeros_there_are(job: Path, capsys: Out) -> None:
    datums = "datums:\n  office: {mark: DOOR, reads: 100 ft}\n  street: {mark: LID, reads: 20 ft}\n"
    (job / "job.yaml").write_text(JOB + datums, encoding="utf-8")
    assert answer(capsys, "datum", "court") == {"shown": None, "tied": {"office": True, "street": False}}
    assert said(capsys, "datum", "court", "office", "--by", "RK") == [
        "Elevations are shown from office.",
        "  office: tied",
        "  street: not tied in yet, waits for LID",
    ]
    assert answer(capsys, "datum", "court", "job")["shown"] is None


def test_circuit_ends_with_1_where_one_does_not_close(stood: Path, capsys: Out) -> None:
    assert said(capsys, "circuit", "court") == ["No circuit closes yet: read a second benchmark from a later setup."]
    said(capsys, "setup", "court", "DOOR=50", "PIN=54-3/8")
    assert answer(capsys, "circuit", "court")["circuits"][0]["closes"] is True
    assert main(["setup", "court", "DOOR=50", "PIN=54", "--why", "no third mark"]) == 1
    capsys.readouterr()
    reply = answer(capsys, "circuit", "court", code=1)
    assert [each["closes"] for each in reply["circuits"]] == [True, False]
    assert set(reply["circuits"][0]) == {
        *("marks", "setups", "misclosure", "allowed", "closes", "page check", "legs", "corrections"),
    }


def test_checks_ends_with_1_where_a_check_fails_and_with_0_where_none_does(job: Path, capsys: Out) -> None:
    with Path("court/job.yaml").open("a", encoding="utf-8") as plan:
        plan.write("  pad:\n    drains: {at least: 1 %}\n    points:\n")
        for name, inches, at in (("Q1", "-1", "[0, 0]"), ("Q2", "-2 1/2", "[120, 0]"), ("Q3", "-1", "[0, 120]")):
            plan.write(f"      {name}: {{elevation: {inches}, at: {at}}}\n")
    assert main(["setup", "court", "DOOR=50", "--by", "RK"]) == 0
    said(capsys, "read", "court", "Q1=51", "Q2=52-1/2", "Q3=51")
    answer(capsys, "checks", "court", code=0)  # 1 1/2 in over 10 ft are 1.25 %
    said(capsys, "read", "court", "Q2=51-1/4")
    reply = answer(capsys, "checks", "court", code=1)  # 1/4 in over 10 ft is 0.2 %
    assert "fault" in {each["verdict"] for each in reply}


def test_instrument_records_a_field_test(job: Path, capsys: Out) -> None:
    figures = ["48", "50", "40", "42", "2 ft", "100 ft"]  # midway and close by both find the same: level
    reply = answer(capsys, "instrument", "court", "two-peg", *figures, "--by", "RK")
    assert (reply["test"], reply["slope error"]["ratio"]) == ("two-peg", 0)
    assert set(reply) == {"entry", "test", "slope error", "within", "says", "decides"}
    assert answer(capsys, "log", "court")[-1]["kind"] == "test"


# -- readings


def test_read_answers_each_reading_in_order(stood: Path, capsys: Out) -> None:
    lines = said(capsys, "read", "court", "P1=51", "p2=51-11/16")
    assert [" ".join(line.split()) for line in lines] == [
        "P1 finish ON GRADE found −1 in, rod 51 in",
        "P2 finish FILL 3/16 found −1 11/16 in, rod 51 11/16 in",
    ]


def test_a_point_read_twice_is_answered_twice(stood: Path, capsys: Out) -> None:
    reply = answer(capsys, "read", "court", "P1=51-3/16", "P1=51")
    assert [(each["verdict"], each["difference"]["text"]) for each in reply] == [
        ("FILL", "-3/16 in"),
        ("ON GRADE", "0 in"),
    ]


def test_read_at_a_stage_in_json(stood: Path, capsys: Out) -> None:
    (told,) = answer(capsys, "read", "court", "Y1=71-1/2", "--stage", "subgrade", "--by", "MO")
    assert re.fullmatch(r"[0-9a-f-]{36}", told.pop("id"))
    assert told == {
        "entry": 3,
        "area": "yard",
        "point": "Y1",
        "stage": "subgrade",
        "verdict": "ON GRADE",
        "rod": length(1816.1, "71 1/2 in"),
        "found": length(-546.1, "-21 1/2 in"),
        "difference": length(9.525, "3/8 in"),
        "uncertainty": None,
        "question": "",
    }
    assert answer(capsys, "log", "court")[-1]["by"] == "MO"


def test_a_figure_that_looks_like_a_slip_is_kept_with_why(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51")
    lines = said(capsys, "read", "court", "P2=52-1/2")
    assert "kept, but: 1 in more than its neighbors: slip?" in lines[1]
    (told,) = answer(capsys, "read", "court", "P2=63-1/2")
    assert told["question"] == "a foot or more from its neighbors: slip?"
    assert [row["kind"] for row in answer(capsys, "log", "court")][-2:] == ["reading", "reading"]


def test_who_checks_is_the_option_the_variable_or_the_last_entry(
    stood: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(capsys, "read", "court", "P1=51")
    monkeypatch.setenv("GRADECHECK_BY", "mo")
    said(capsys, "read", "court", "P1=51")
    said(capsys, "read", "court", "P1=51", "--by", "tz")
    assert [row["by"] for row in answer(capsys, "log", "court") if row["kind"] == "reading"] == ["RK", "MO", "TZ"]


def test_void_strikes_and_the_log_keeps_both(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51")
    assert said(capsys, "strike", "court", "3", "--why", "rod on a stone") == [
        "Entry 3 is struck; it stays in the log with the reason."
    ]
    rows = answer(capsys, "log", "court")
    assert [(row["kind"], row["struck"], row["subject"]) for row in rows[2:]] == [
        ("reading", True, "P1 finish"),
        ("void", False, "strikes: rod on a stone"),
    ]
    said(capsys, "read", "court", "P2=51-1/2")
    assert answer(capsys, "strike", "court", rows[0]["id"].replace(rows[0]["id"], "5"), "--why", "again") == {
        "entry": 6,
        "strikes": 5,
        "why": "again",
    }


def test_correct_says_what_changes_and_with_dry_changes_nothing(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51-3/16")
    before = journal(stood)
    reply = answer(capsys, "correct", "court", "3", "51", "--dry")
    assert reply == {
        "recorded": False,
        "points moved": 1,
        "largest": length(4.7625, "3/16 in"),
        "verdicts changed": [{"area": "path", "point": "P1", "stage": "finish"}],
        "decides": "Local code and the drawings decide.",
    }
    assert journal(stood) == before
    assert answer(capsys, "correct", "court", "3", "51")["recorded"] is True
    rows = [row for row in answer(capsys, "log", "court") if row["kind"] == "reading"]
    assert [(row["typed"], row["struck"], row["now"]) for row in rows] == [
        ("51-3/16", True, ""),
        ("51", False, "ON GRADE"),
    ]
    reply = answer(capsys, "correct", "court", "--mark", "DOOR=-1/2", "--why", "office report")
    assert (reply["points moved"], reply["largest"]["text"]) == (1, "-1/2 in")


ORDERS = [
    pytest.param(["correct", "court", "3", "--dry", "51"], id="between the figures"),
    pytest.param(["correct", "court", "--dry", "3", "51"], id="before the figures"),
    pytest.param(["correct", "--dry", "court", "3", "51"], id="before the job"),
    pytest.param(["correct", "court", "3", "51", "--dry"], id="at the end"),
    pytest.param(["correct", "court", "--by", "MO", "3", "--dry", "-51"], id="two options, a figure below zero"),
]


@pytest.mark.parametrize("order", ORDERS)
def test_an_option_may_stand_anywhere_among_what_correct_is_given(stood: Path, capsys: Out, order: list[str]) -> None:
    said(capsys, "read", "court", "P1=51-3/16")
    before = journal(stood)
    reply = answer(capsys, *order)
    assert (reply["recorded"], reply["points moved"]) == (False, 1)
    assert journal(stood) == before


@pytest.mark.parametrize("command", ["correct", "datum", "layout"])
def test_the_help_shows_in_brackets_what_may_be_left_out(command: str, capsys: Out) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        main([command, "--help"])
    usage = " ".join(capsys.readouterr().out.partition("\n\n")[0].split())
    left_out = {"correct": "[ENTRY] [READING]", "datum": "[DATUM]", "layout": "[NAME] [A-B=LENGTH]"}
    assert f" JOB {left_out[command]}" in usage


def test_undo_takes_back_the_last_reading_then_the_strike_before_it(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51-1/8")
    said(capsys, "read", "court", "P2=51-1/2")
    said(capsys, "strike", "court", "3", "--why", "rod on a stone")
    assert said(capsys, "undo", "court") == ["Undone: no. 3 counts as before (reading P1 finish, 51-1/8)."]
    assert said(capsys, "undo", "court") == [
        "Undone: no. 4 is struck (reading P2 finish, 51-1/2); it stays in the log."
    ]
    assert answer(capsys, "undo", "court") == {"entry": 8, "undoes": 3, "counts": False}
    for by in ("RK", "JM"):
        assert main(["undo", "court", "--by", by]) == 2
        assert capsys.readouterr() == ("", f"{by} has no reading or strike to undo.\n")
    assert [row["kind"] for row in answer(capsys, "log", "court")][4:] == ["void", "reading", "void", "void"]


@pytest.mark.parametrize("verb", [("strike", "--why", "slip"), ("correct", "49")], ids=lambda verb: verb[0])
def test_a_setups_own_backsight_is_not_struck_or_corrected_alone(
    job: Path, capsys: Out, verb: tuple[str, ...]
) -> None:
    with contextlib.closing(Session(job, by="RK", clock=lambda: MORNING)) as session:
        taken = session.record(*actions.backsight(session.state, "DOOR", "50"))
        made = session.record(actions.finish_setup(session.state))
    before = journal(job)
    assert main([verb[0], "court", str(taken.seq), *verb[1:]]) == 2
    assert capsys.readouterr().err == (
        f"Entry {taken.seq} went into the setup, entry {made.seq}: strike that, or correct it with DOOR=READING.\n"
    )
    assert journal(job) == before
    # What it says to do is what can be done.
    said(capsys, "correct", "court", str(made.seq), "DOOR=49")
    said(capsys, "read", "court", "P1=50")
    assert answer(capsys, "log", "court")[-1]["now"] == "ON GRADE"


# -- names with a comma in them

COMMAS = """\
job: Commas Row
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas:
  row:
    points:
      R1: {elevation: 0, at: [0 ft, 0 ft]}
      "R2, kerb": {elevation: -1, at: [10 ft, 0 ft]}
      kerb: {elevation: -2, at: [20 ft, 0 ft]}
      "R3, kerb": {elevation: -3, at: [30 ft, 0 ft]}
"""


@pytest.fixture
def commas(job: Path, capsys: Out) -> Path:
    """A job of four points, two with a comma in their names; the last was not read, the others are 1 in low."""
    (job / "job.yaml").write_text(COMMAS, encoding="utf-8")
    said(capsys, "setup", "court", "DOOR=50", "--by", "RK")
    said(capsys, "read", "court", "R1=51", "R2, kerb=52", "kerb=53")
    return job


@pytest.mark.parametrize(
    ("lines", "falls"),
    [
        pytest.param(["R1,kerb"], ["R1 to kerb"], id="a list"),
        pytest.param(["R1, kerb"], ["R1 to kerb"], id="a list with a space"),
        pytest.param(["R1", "R2, kerb", "kerb"], ["R1 to R2, kerb", "R2, kerb to kerb"], id="each alone"),
        pytest.param(["R1", "r2, KERB"], ["R1 to R2, kerb"], id="whatever its capitals"),
        pytest.param(["kerb,R1", "R2, kerb"], ["kerb to R1", "R1 to R2, kerb"], id="a list that goes on"),
    ],
)
def test_a_line_goes_through_points_with_a_comma_in_their_name(
    commas: Path, capsys: Out, lines: list[str], falls: list[str]
) -> None:
    reply = answer(capsys, "checks", "court", *(part for each in lines for part in ("--line", each)))
    found = [each["says"].partition(" 0.")[0].partition(" -0.")[0] for each in reply if each["section"] == "fall"]
    assert found == falls


@pytest.mark.parametrize(
    "accept",
    [
        pytest.param(["--accept", "R2, kerb", "--accept", "R3, kerb", "--accept", "R1,kerb"], id="given again"),
        pytest.param(["--accept", "R2, kerb", "R3, kerb", "R1, kerb"], id="one after the other"),
    ],
)
def test_points_with_a_comma_in_their_name_are_accepted_by_name(commas: Path, capsys: Out, accept: list[str]) -> None:
    assert main(["sign", "court", "row", "finish", "--accept", "R1,kerb"]) == 2
    assert capsys.readouterr().err == (
        "Not on grade or not read: R2, kerb, R3, kerb. Fix them, or accept each by name.\n"
    )
    reply = answer(capsys, "sign", "court", "row", "finish", *accept, "--accept-open")
    assert (reply["accepted"], reply["unread"]) == (["R1", "R2, kerb", "kerb"], ["R3, kerb"])


# -- the records


def test_the_log_shows_then_and_now_and_may_be_narrowed(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51", "Y1=63-1/2")
    said(capsys, "correct", "court", "2", "49-1/2")
    lines = said(capsys, "log", "court")
    assert lines[2].split(maxsplit=5)[:5] == ["3", "2026-05-12", "07:30-05:00", "RK", "reading"]
    assert lines[2].endswith("ON GRADE (now FILL 1/2)")
    assert lines[1].startswith("    2x")
    kinds = [row["subject"] for row in answer(capsys, "log", "court", "--area", "yard") if row["kind"] == "reading"]
    assert kinds == ["Y1 finish"]
    assert answer(capsys, "log", "court", "--day", "2026-05-13") == []
    assert len(answer(capsys, "log", "court", "--day", "2026-05-12")) == len(lines)
    assert set(answer(capsys, "log", "court")[0]) == {
        *(
            "id",
            "seq",
            "day",
            "time",
            "offset",
            "by",
            "kind",
            "subject",
            "typed",
            "then",
            "now",
            "note",
            "struck",
            "about",
        ),
        *("replaced_by", "clock", "laptop", "behind", "late", "lengths"),
    }


def test_the_log_as_csv_is_safe_in_a_spreadsheet(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51")
    said(capsys, "strike", "court", "3", "--why", '=HYPERLINK("x"), "quoted"')
    rows = list(csv.DictReader(io.StringIO("\n".join(said(capsys, "log", "court", "--csv")))))
    assert list(rows[0]) == ["seq", "day", "time", "offset", "by", "kind", "subject", "typed", "then", "now", "note"]
    assert rows[-1]["subject"] == 'strikes: =HYPERLINK("x"), "quoted"'
    assert all(value[:1] not in ("=", "+", "-", "@") for row in rows for value in row.values())


def test_verify_tells_a_sound_journal_from_one_that_was_touched(stood: Path, capsys: Out) -> None:
    assert re.fullmatch(r"Sound: 2 entries, last hash [0-9a-f]{16}\.", said(capsys, "verify", "court")[0])
    reply = answer(capsys, "verify", "court")
    assert (reply["entries"], reply["fault"], len(reply["hash"])) == (2, None, 64)
    content = journal(stood)
    assert content.count(b"DOOR=50") == 1
    (stood / "journal.db").write_bytes(content.replace(b"DOOR=50", b"DOOR=51"))
    reply = answer(capsys, "verify", "court", code=1)
    assert reply["entries"] == 1
    assert has(reply["fault"], "Entry 2")
    assert has(said(capsys, "verify", "court", code=1)[0], "Not sound: Entry 2")


# -- what is not understood

NOT_UNDERSTOOD = [
    pytest.param(["read", "court", "P1=51", "P9=51"], "There is no point “P9” in this job.", id="one of two points"),
    pytest.param(
        ["read", "court", "P1=51", "P2=5l"], "“l” in “5l” is not a unit of length here", id="one of two figures"
    ),
    pytest.param(["read", "court", "P1"], "“P1” is not NAME=READING", id="no figure"),
    pytest.param(["read", "court", "P1=51", "--stage", "base"], "The plan has no P1 at base", id="no such stage"),
    pytest.param(["read", "court", "P1=51", "--by", "4"], "Initials are", id="no initials"),
    pytest.param(["setup", "court", "DOR=50"], "There is no mark “DOR”", id="no such mark"),
    pytest.param(["setup", "court", "DOOR=50", "DOOR=51"], "A mark is named twice", id="a mark twice"),
    pytest.param(["setup", "court", "DOOR=50", "--rod", "my rod"], "There is no rod “my rod”", id="no such rod"),
    pytest.param(["setup", "court", "DOOR=50", "--falls", "steep"], "Slopes go along x and y", id="no slope"),
    pytest.param(["setup", "court", "DOOR=50", "--at", "12 ft"], "A place is x and y", id="half a place"),
    pytest.param(["recheck", "court", "DOOR="], "Nothing was typed", id="an empty figure"),
    pytest.param(["mark", "court", "P1=50"], "“P1” is a point or benchmark of the plan already", id="a name taken"),
    pytest.param(["mark", "court", "P1"], "P1 was not read", id="a point not read"),
    pytest.param(["datum", "court", "office"], "There is no datum “office”", id="no such datum"),
    pytest.param(["strike", "court", "99", "--why", "x"], "There is no entry “99”", id="no such entry"),
    pytest.param(["strike", "court", "2", "--why", "  "], "Say in a few words why", id="no reason"),
    pytest.param(
        ["strike", "court", "2"],
        'Striking entry 2 needs a reason, which stays in the log: gradecheck strike court 2 --why "rod on a stone".',
        id="no reason at all",
    ),
    pytest.param(["strike", "court", "1", "--why", "x"], "A plan in the journal can't be struck", id="the plan"),
    pytest.param(["correct", "court"], "Say what to correct", id="nothing to correct"),
    pytest.param(["correct", "court", "1", "51"], "A plan in the journal", id="no figure to correct"),
    pytest.param(["correct", "court", "--mark", "DOOR=1"], "Say in a few words", id="no reason to correct"),
    pytest.param(["circuit", "court", "--rule", "much"], "“much” is not an allowance", id="no rule"),
    pytest.param(["instrument", "court", "two-peg", "48"], "The two-peg test takes 6 figures", id="too few figures"),
    pytest.param(["log", "court", "--area", "lawn"], "There is no area “lawn”; known are path, yard.", id="no area"),
    pytest.param(["log", "court", "--day", "yesterday"], "“yesterday” is not a day", id="no day"),
    pytest.param(["targets", "court", "--area", "pat"], "Did you mean “path”?", id="no area, but nearly"),
    pytest.param(["targets", "court", "--stage", "lawn"], "There is no stage “lawn”", id="no stage"),
    pytest.param(["targets", "court", "--on-string", "P1"], "“P1” is no spot on a string", id="no spot"),
    pytest.param(["targets", "court", "--on-string", "P1 to Y1 half way"], "runs in one area", id="two areas"),
    pytest.param(["targets", "elsewhere"], "There is nothing at elsewhere", id="no job"),
    pytest.param(["setup", "elsewhere", "DOOR=50"], "There is nothing at elsewhere", id="no job to work on"),
    pytest.param(["verify", "elsewhere"], "There is no folder elsewhere", id="no folder"),
]


@pytest.mark.parametrize(("arguments", "says"), NOT_UNDERSTOOD)
def test_what_is_not_understood_is_one_line_on_stderr_and_writes_nothing(
    arguments: list[str], says: str, stood: Path, capsys: Out
) -> None:
    before = journal(stood), sorted(Path().rglob("*"))
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert says in printed.err
    assert printed.err.endswith("\n")
    assert len(printed.err.splitlines()) == 1
    assert (journal(stood), sorted(Path().rglob("*"))) == before


@pytest.mark.parametrize(
    "arguments",
    [["strike", "court"], ["sign", "court"], ["log"], ["instrument", "court", "laser", "1"], ["--loud"]],
    ids=" ".join,
)
def test_a_command_line_that_lacks_something_ends_with_2(arguments: list[str], stood: Path, capsys: Out) -> None:
    before = journal(stood)
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert "usage: gradecheck" in capsys.readouterr().err
    assert journal(stood) == before


def test_nobody_in_particular_records_nothing(job: Path, capsys: Out) -> None:
    assert main(["setup", "court", "DOOR=50"]) == 2
    assert capsys.readouterr().err == (
        'No initials given; add --by XX with your initials, or name them in settings.toml: initials = "XX".\n'
    )
    assert journal(job) == b""


def test_the_initials_of_the_settings_count_where_nobody_said_others(
    job: Path, tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(tmp_path / "own"))
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "settings.toml").write_text('initials = "QZ"\n')
    assert main(["setup", "court", "DOOR=50"]) == 0
    assert main(["setup", "court", "DOOR=51", "--by", "RK"]) == 0
    assert main(["setup", "court", "DOOR=52"]) == 0
    capsys.readouterr()
    assert main(["log", "court", "--json"]) == 0
    entries = answered(capsys.readouterr().out)
    assert [each["by"] for each in entries if each["kind"] == "set-up"] == ["QZ", "RK", "RK"]


def test_a_reading_without_a_set_up_is_refused(job: Path, capsys: Out) -> None:
    assert main(["read", "court", "P1=51", "--by", "RK"]) == 2
    assert capsys.readouterr().err == "No setup; set up on a mark first.\n"
    assert journal(job) == b""


def test_a_plan_with_problems_is_worked_on_by_no_command(job: Path, capsys: Out) -> None:
    (job / "job.yaml").write_text(JOB.replace("units: in", "units: cubits"), encoding="utf-8")
    assert main(["setup", "court", "DOOR=50", "--by", "RK"]) == 2
    assert "job.yaml:2:8:" in capsys.readouterr().err
    assert journal(job) == b""


def test_a_file_that_is_no_journal_is_left_as_it_is(job: Path, capsys: Out) -> None:
    foreign = b"somebody's notes, and no journal at all" * 30
    (job / "journal.db").write_bytes(foreign)
    for arguments in (["log", "court"], ["setup", "court", "DOOR=50", "--by", "RK"], ["verify", "court"]):
        assert main(arguments) == 2
        assert "it was left as it is" in capsys.readouterr().err
    assert journal(job) == foreign


def test_two_readings_are_written_together_or_not_at_all(
    stood: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    from gradecheck.journal.store import Journal, NotSavedError

    append, handed = Journal.append, []

    def full_at_the_second(self: Journal, drafts: Any) -> Any:
        handed.append(len(drafts))
        if len(handed) > 1:
            raise NotSavedError("NOT SAVED: the disk is full.")
        return append(self, drafts)

    before = journal(stood)
    monkeypatch.setattr(Journal, "append", full_at_the_second)
    handed.append(0)
    assert main(["read", "court", "P1=51", "P2=51-1/2"]) == 2
    assert capsys.readouterr().err == "NOT SAVED: the disk is full.\n"
    assert handed == [0, 2]
    assert journal(stood) == before


ESCAPES = "kerb\x1b[31m\x1b]0;x\x07 \x9b2J \u202ereversed"


def test_escape_codes_that_people_typed_are_recorded_but_never_printed(stood: Path, capsys: Out) -> None:
    said(capsys, "read", "court", "P1=51")
    said(capsys, "strike", "court", "3", "--why", ESCAPES)
    for what in (ESCAPES, "kerb " * 30):
        assert main(["mark", "court", "TP1=49", "--what", what]) == 2
        assert "say what it is in 120 plain characters" in capsys.readouterr().err
    for arguments in (["log", "court"], ["log", "court", "--csv"], ["log", "court", "--json"]):
        text = "".join(said(capsys, *arguments))
        assert "kerb" in text
        assert not set(text) & set("\x1b\x07\x9b\u202e"), arguments
    assert main(["strike", "court", "3", "--why", "again"]) == 2
    says = capsys.readouterr().err
    assert "already struck: kerb" in says
    assert says.rstrip("\n").isprintable()
    assert main(["read", "court", f"{ESCAPES}=51"]) == 2
    assert capsys.readouterr().err.rstrip("\n").isprintable()


# -- as a program


def program(*arguments: str, **settings: Any) -> subprocess.CompletedProcess[str]:
    """The program in a process of its own, without a terminal."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "GRADECHECK_BY": "RK", **settings.pop("env", {})}
    return subprocess.run(
        [sys.executable, "-m", "gradecheck", *arguments],
        **{"capture_output": True, "text": True, "encoding": "utf-8", "stdin": subprocess.DEVNULL, **settings},
        env=environment,
        timeout=60,
        check=False,
    )


def test_the_version_names_what_a_report_of_a_fault_needs() -> None:
    ran = program("--version")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert re.fullmatch(
        rf"gradecheck {re.escape(gradecheck.__version__)} \(Python 3\.\d+\.\d+, SQLite 3\.[\d.]+\)\n", ran.stdout
    )


def test_the_help_names_every_command(capsys: Out) -> None:
    from gradecheck.cli.verbs import VERBS

    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    assert ended.value.code == 0
    text = capsys.readouterr().out
    for name in VERBS:
        assert re.search(rf"^    {name}\b", text, re.MULTILINE), name
        with pytest.raises(SystemExit) as ended:
            main([name, "--help"])
        assert ended.value.code == 0
        assert f"usage: gradecheck {name}" in capsys.readouterr().out


@pytest.mark.parametrize("asked", [["--help"], ["add", "--help"], ["setup", "--help"]], ids=" ".join)
def test_a_percent_sign_in_the_help_stands_there_once(asked: list[str], capsys: Out) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        main(asked)
    text = " ".join(capsys.readouterr().out.split())
    assert "2%" in text
    assert "%%" not in text


def test_the_app_without_a_terminal_names_the_commands(job: Path) -> None:
    for arguments in ((), ("jobs",), (".",), ("open", "court"), ("follow", "court")):
        ran = program(*arguments)
        assert (ran.returncode, ran.stdout) == (2, "")
        assert ran.stderr == ("The app needs a terminal; the commands do the same without one: gradecheck --help\n")


def test_no_command_imports_what_only_the_screen_needs(job: Path) -> None:
    verbs = [
        ["examine", "court"],
        ["targets", "court", "--working"],
        ["setup", "court", "DOOR=50"],
        ["read", "court", "P1=51"],
        ["recheck", "court", "DOOR=50"],
        ["mark", "court", "TP1=49"],
        ["datum", "court"],
        ["correct", "court", "3", "51-1/16", "--dry"],
        ["strike", "court", "3", "--why", "x"],
        ["circuit", "court"],
        ["move", "court"],
        ["log", "court"],
        ["verify", "court"],
    ]
    script = (
        "import json, sys\n"
        "from gradecheck.cli import main\n"
        f"codes = [main(verb) for verb in {verbs!r}]\n"
        "heavy = sorted({name.split('.')[0] for name in sys.modules} & {'textual', 'rich', 'asyncio'})\n"
        "print(json.dumps([codes, heavy]))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "PYTHONPATH": str(ROOT), "GRADECHECK_BY": "RK"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert unexpected(ran.stderr) == ""
    assert json.loads(ran.stdout.splitlines()[-1]) == [[0] * len(verbs), []]


def test_a_reader_that_has_seen_enough_is_no_error(stood: Path) -> None:
    for arguments in (("log", "court"), ("log", "court", "--json"), ("targets", "court")):
        read, write = os.pipe()
        os.close(read)
        try:
            ran = program(*arguments, capture_output=False, stdout=write, stderr=subprocess.PIPE)
        finally:
            os.close(write)
        assert (ran.returncode, ran.stderr) == (0, ""), arguments


@pytest.mark.parametrize(
    ("encoding", "written"),
    [
        ("ascii", b"cote droit: -2 3/8, 1/2 ?"),
        ("cp437", "côté droit: -2 3/8, ½ ?".encode("cp437")),
        ("cp1252", "côté droit: -2 3/8, ½ ?".encode("cp1252")),
    ],
)
def test_a_console_of_an_older_code_page_loses_no_sign_and_no_fraction(encoding: str, written: bytes) -> None:
    code = "from gradecheck.cli import run; import contextlib\n"
    code += "with contextlib.suppress(SystemExit): run.main(['read', '--help'])\n"
    code += "print('c\\xf4t\\xe9 droit: \\u22122\\u215c, \\xbd \\u6f22')"
    ran = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding},
        capture_output=True,
        timeout=60,
    )
    assert ran.stderr == b"", "the help has signs that no old code page knows"
    assert ran.stdout.splitlines()[-1] == written


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_pipe_in_an_older_encoding_loses_no_sign(encoding: str, job: Path) -> None:
    ran = program("targets", "court", "--working", env={"PYTHONIOENCODING": encoding}, encoding=encoding)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "Y1 = P2 -1 1/2 - 2 " in ran.stdout
    ran = program("targets", "court", "--area", "lawn", env={"PYTHONIOENCODING": encoding}, encoding=encoding)
    assert ran.returncode == 2
    assert "There is no area " in ran.stderr
    assert "lawn" in ran.stderr
