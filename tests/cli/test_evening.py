"""The commands of the evening: what they say of what can't be judged, of what is gauged, and of slips in options."""

from __future__ import annotations

from math import ceil
from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main
from tests.cli.asides import answered, job_begun, said

JOB = """\
job: Sorrel Yard
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: 0
build-ups:
  yard: [{paver: 2 in}, {base: 6 in}]
tolerances: {subgrade: 1/2 in, base: 3/8 in, finish: 1/8 in}
areas:
  yard:
    build-up: yard
    points: {A1: -1/2, A2: -1}
"""
Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job whose instrument stands, one of its two points read at the finish; where the commands are given."""
    return job_begun(tmp_path, monkeypatch, "yard", JOB, "setup yard DOOR=48 --by RK", "read yard A1=48-1/2")


def answer(capsys: Out, *arguments: str, code: int = 0) -> Any:
    """What a command answers in JSON."""
    return answered(said(capsys, *arguments, "--json", code=code))


def refused(capsys: Out, *arguments: str) -> str:
    """The one sentence with which a command refuses."""
    text = said(capsys, *arguments, code=2)
    assert len(text.splitlines()) == 1
    return text


# -- what can't be judged


GONE = {
    "rod": ("site rod: {", "new rod: {", "site rod is not in the plan now"),
    "benchmark": ("DOOR: 0", "GATE: 0", "DOOR is not known now"),
}


@pytest.mark.parametrize("gone", GONE)
def test_a_rod_or_benchmark_that_went_is_warned_of_and_then_no_doubt(job: Path, capsys: Out, gone: str) -> None:
    old, new, why = GONE[gone]
    (job / "job.yaml").write_text(JOB.replace(old, new), encoding="utf-8")
    name = old.partition(":")[0]
    text = said(capsys, "changes", "yard", code=1)
    assert f"1 mark or rod gone ({name}); readings by it lose their elevation" in text
    assert answer(capsys, "changes", "yard", code=1)["lost"] == [name]
    said(capsys, "changes", "yard", "--accept")
    assert f"(now {why})" in said(capsys, "log", "yard")
    reviewed = answer(capsys, "review", "yard", code=1)
    assert [row["doubt"] for row in reviewed["stages"]] == [0]
    assert "1 can't be judged (A1)" in reviewed["open"][0]
    assert not any("in doubt" in each.casefold() for each in reviewed["open"])
    signing = refused(capsys, "sign", "yard", "yard", "finish", "--accept", "A1,A2")
    assert signing == f"Can't be judged: A1 ({why}). Read them again, then sign.\n"
    assert f"Entry 3 can't be corrected ({why}); read A1 again." in refused(capsys, "correct", "yard", "3", "48")


def test_a_set_up_that_was_struck_is_still_told_as_struck(job: Path, capsys: Out) -> None:
    said(capsys, "strike", "yard", "2", "--why", "kicked")
    assert "(now setup was struck)" in said(capsys, "log", "yard")


# -- what is gauged


def test_a_step_is_not_judged_by_another_named_alike(job: Path, capsys: Out) -> None:
    text = said(capsys, "gauge", "yard", "lippage", "yard", "by A1", "1", code=1)
    assert text.startswith("OUT")
    text = said(capsys, "gauge", "yard", "lippage", "yard", "A1", "1/16")
    assert (len(text.splitlines()), "OUT" in text) == (1, False)


@pytest.mark.parametrize("where", ["at  A2", " at A2 ", "at\tA2"])
def test_a_step_beyond_its_limit_is_told_however_its_place_was_spaced(job: Path, capsys: Out, where: str) -> None:
    assert said(capsys, "gauge", "yard", "lippage", "yard", where, "1/2", code=1).startswith("OUT")
    [told] = answer(capsys, "gauge", "yard", "lippage", "yard", where, "1/2", code=1)
    assert told["verdict"] == "fault"


# -- slips in options


SLIPS = {
    "checks-stage": (("checks", "yard", "--stage", "subgrde"), "subgrade, base, finish"),
    "checks-line-stage": (("checks", "yard", "--line", "A1,A2", "--stage", "subgrde"), "subgrade, base, finish"),
    "checks-area": (("checks", "yard", "--area", "yrad"), "yard"),
    "stone-area": (("stone", "yard", "--area", "yrad"), "yard"),
    "plan-area": (("plan", "yard", "--area", "yrad"), "yard"),
    "targets-area": (("targets", "yard", "--area", "yrad"), "yard"),
    "targets-stage": (("targets", "yard", "--stage", "subgrde"), "subgrade, base, finish"),
    "log-area": (("log", "yard", "--area", "yrad"), "yard"),
    "log-day": (("log", "yard", "--day", "2026-5-12"), "2026-05-12"),
    "review-area": (("review", "yard", "--area", "yrad"), "yard"),
    "review-stage": (("review", "yard", "--stage", "nonsense"), "subgrade, base, finish"),
    "review-day": (("review", "yard", "--day", "nonsense"), "2026-05-12"),
    "report-day": (("report", "yard", "--day", "20260512"), "2026-05-12"),
    "rehearse-day": (("rehearse", "yard", "-o", "out", "--day", "tomorrow"), "2026-05-12"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_an_option_is_refused_with_the_right_spelling(job: Path, capsys: Out, slip: str) -> None:
    given, known = SLIPS[slip]
    text = refused(capsys, *given)
    assert f"“{given[-1]}”" in text
    assert known in text.partition("”")[2]


def test_a_stage_that_only_another_area_has_is_refused_for_this_one(job: Path, capsys: Out) -> None:
    (job / "job.yaml").write_text(JOB + "  walk:\n    points: {W1: -1}\n", encoding="utf-8")
    said(capsys, "changes", "yard", "--accept")
    assert "known are finish." in refused(capsys, "checks", "yard", "--area", "walk", "--stage", "base")
    assert main(["checks", "yard", "--stage", "base"]) == 0


# -- what is ordered


def test_stone_lists_every_area_and_in_json_each_quantity_with_sources(job: Path, capsys: Out) -> None:
    outline = "    outline: [[0 ft, 0 ft], [9 ft, 0 ft], [9 ft, 9 ft]]\n"
    (job / "job.yaml").write_text(JOB + outline + "  walk:\n    points: {W1: -1}\n", encoding="utf-8")
    said(capsys, "changes", "yard", "--accept")
    text = said(capsys, "stone", "yard").splitlines()
    assert [line.split(":")[0] for line in text if not line.startswith("    ")] == [
        "yard",
        "  order base",
        "  not ordered",
        "  haul",
        "  worked out with",
        "walk",
        "  no outline in the plan",
    ]
    rows = answer(capsys, "stone", "yard", "--area", "yard")
    assert [row["what"] for row in rows] == ["base", "paver", "soil to haul"]
    assert all(factor["source"] for row in rows for factor in row["factors"])


def test_stone_tells_the_loads_of_the_truck_at_hand(job: Path, capsys: Out) -> None:
    outline = "    outline: [[0 ft, 0 ft], [30 ft, 0 ft], [30 ft, 27 ft], [0 ft, 27 ft]]\n"
    (job / "job.yaml").write_text(JOB + outline, encoding="utf-8")
    said(capsys, "changes", "yard", "--accept")
    (haul,) = (line for line in said(capsys, "stone", "yard").splitlines() if "haul:" in line)
    assert haul.endswith("yd³ of soil, loose")
    loose = float(haul.split()[1])
    (haul,) = (line for line in said(capsys, "stone", "yard", "--truck", "7 yd^3").splitlines() if "haul:" in line)
    assert haul.endswith(f"yd³ of soil, loose: {ceil(loose / 7)} loads")
    (soil,) = (row for row in answer(capsys, "stone", "yard", "--truck", "7 yd^3") if row["what"] == "soil to haul")
    assert soil["loads"] == ceil(loose / 7)


def test_cut_and_fill_between_sections_are_told_apart_with_the_loads(job: Path, capsys: Out) -> None:
    """By hand: 50 ft of (120 + 60) / 2 ft² is 4500 ft³, or 166.67 yd³; 54 ft² of fill runs out over 50 ft: 33.33."""
    sections = ("stone", "yard", "--sections", "0 ft:120:0", "50 ft:60:54", "--truck", "10 yd^3")
    cut, fill = said(capsys, *sections).splitlines()
    # The usual swell of a quarter: 208.33 yd³ in 21 loads.
    assert cut == "cut 166.67 yd³ in the ground, 208.33 yd³ loose: 21 loads"
    assert fill == "fill 33.33 yd³ in place"
    assert [(row["what"], round(row["m3"] / 0.764554857984, 2)) for row in answer(capsys, *sections)] == [
        ("cut", 166.67),
        ("fill", 33.33),
    ]


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (("--sections", "0 ft:120:0"), "two sections or more"),
        (("--sections", "50 ft:1:1", "0 ft:1:1"), "each farther along"),
        (("--sections", "0 ft:120", "9 ft:1:1"), "is not a section; write a station"),
        (("--sections", "0 ft:-1:0", "9 ft:1:1"), "is not a section; write a station"),
        (("--truck", "7"), "A truck's load is a volume"),
        (("--truck", "7 ft"), "A truck's load is a volume"),
        (("--truck", "0 yd^3"), "A truck holds more than zero"),
    ],
)
def test_what_is_no_section_and_no_truck_is_refused(
    job: Path, capsys: Out, given: tuple[str, ...], says: str
) -> None:
    assert main(["stone", "yard", *given]) == 2
    assert says in capsys.readouterr().err


def test_a_job_where_nothing_was_read_says_so_and_not_that_nothing_is_open(job: Path, capsys: Out) -> None:
    Path("fresh").mkdir()
    Path("fresh", "job.yaml").write_text(JOB, encoding="utf-8")
    text = said(capsys, "review", "fresh", code=1)
    assert "Nothing was read yet." in text
    assert "  yard: subgrade, base, finish not begun." in text.splitlines()
    assert "Nothing is open." not in text
    assert "Still open:" in said(capsys, "review", "yard", code=1)


def test_what_is_left_is_printed_answered_and_written(job: Path, capsys: Out) -> None:
    text = said(capsys, "review", "yard", "--left", code=1)
    assert "yard, finish: 1 point left" in text
    assert "[  ]  A2" in text
    row = {"area": "yard", "stage": "finish", "point": "A2", "where": "", "do": "read it", "rod": "49"}
    assert answer(capsys, "review", "yard", "--left", code=1) == {
        "left": [row],
        "not begun": [],
        "decides": "Local code and the drawings decide.",
    }
    assert said(capsys, "review", "yard", "--left", "-o", "left.html", code=1) == "Written to left.html.\n"
    assert "A2" in Path("left.html").read_text(encoding="utf-8")
    dig = answer(capsys, "review", "yard", "--left", "--stage", "subgrade", code=1)["left"]
    assert [(each["point"], each["rod"]) for each in dig] == [("A1", "56 1/2"), ("A2", "57")]
    assert main(["read", "yard", "A2=49"]) == 0
    assert "Nothing is left" in said(capsys, "review", "yard", "--left")
