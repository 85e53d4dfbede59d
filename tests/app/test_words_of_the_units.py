"""A job in feet and tenths or in metric units is never shown halves, quarters or sixteenths of an inch."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.measure.notation import Units
from gradecheck.measure.typed import read_coordinate, read_length, read_tolerance
from tests.app.driving import Clock, app_for, go_to, running, shown
from tests.thorough import some

DECIMAL = (Units.FT, Units.MM, Units.CM, Units.M)
BROKEN_INCHES = re.compile(r"[0-9]/(?:2|4|8|16|32|64)(?![0-9])")
JOB = """\
job: Tern Close
units: {units}
benchmarks: {{DOOR: 0, PIN: 0}}
tolerances: {{finish: {small}}}
layout: {{corner: {{sides: [3 m, 4 m]}}}}
bonds: {{rows: {{unit: 0.2 m, joint: 5 mm, rows: 9}}}}
areas:
  walk: {{points: {{W1: {{elevation: 0, at: [0, 0]}}}}}}
"""
SMALL = {Units.FT: "0.01", Units.MM: "3", Units.CM: "0.3", Units.M: "0.003"}
SLIPS = [
    ["read", "{job}", "W1", *["--by", "RK"]],
    ["read", "{job}", "W1=x", *["--by", "RK"]],
    ["read", "{job}", "W1=3 -1", *["--by", "RK"]],
    ["read", "{job}", "W1=", *["--by", "RK"]],
    ["setup", "{job}", "DOOR", *["--by", "RK"]],
    ["correct", "{job}", "2", "1.5", *["--by", "RK"]],
    ["recheck", "{job}", "DOOR=1..5", *["--by", "RK"]],
    ["setup", "{job}", "DOOR=1", "--falls", "2", *["--by", "RK"]],
    ["setup", "{job}", "DOOR=1", "--falls", "steep", *["--by", "RK"]],
    ["add", "{job}", "walk", "N1", "somewhere", *["--by", "RK"]],
    ["add", "{job}", "walk", "N1", "from", "W1", *["--by", "RK"]],
    ["add", "{job}", "walk", "N1", "at", "1,", "2", *["--by", "RK"]],
    ["add", "{job}", "walk", "N1", "from W1 fall steep over 2", *["--by", "RK"]],
    ["add", "{job}", "walk", "N1", "x" * 300, *["--by", "RK"]],
    ["change", "{job}", "walk=-1", "--stage", "finish", "--why", "y", *["--by", "RK"]],
    ["change", "{job}", "walk=wide", "--stage", "finish", "--why", "y", *["--by", "RK"]],
    ["change", "{job}", "walk=" + "1" * 300, "--stage", "finish", "--why", "y", *["--by", "RK"]],
    ["change", "{job}", "walk=-1 high 2 low", "--stage", "finish", "--why", "y", *["--by", "RK"]],
    ["layout", "{job}", "corner", "A-B=0", *["--by", "RK"]],
    ["layout", "{job}", "rows", "--module", "82"],
    ["layout", "{job}", "--sides", "12"],
    ["circuit", "{job}", "--rule", "nearly"],
    ["circuit", "{job}", "--rule", "0"],
    ["gauge", "{job}", "lippage", "walk", "by W1", "x", *["--by", "RK"]],
    ["instrument", "{job}", "four-directions", "x", "1", "1", "1", "9", *["--by", "RK"]],
]
"""Commands as they are mistyped."""
BAD_LINES = ["tolerances: {finish: -1}", "tolerances: {finish: [1, 2]}", "tolerances: {finish: wide}",
             "tolerances: {finish: {high: 1}}", "pitch: steep", "closure: nearly", "round targets: x",
             "rechecks: {allowed: x}", "walls: {house: [[0, x], [1, 1]]}", "pitch: 0:0"]  # fmt: skip


@pytest.fixture(params=DECIMAL)
def units(request: pytest.FixtureRequest) -> Units:
    """Each of the units that have no fractions on their rods."""
    return Units(request.param)


def test_no_refusal_of_a_command_speaks_in_fractions(
    units: Units, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "job.yaml").write_text(JOB.format(units=units, small=SMALL[units]), encoding="utf-8")
    assert main(["setup", str(tmp_path), "DOOR=1", "PIN=1", "--by", "RK"]) == 0
    capsys.readouterr()
    said = {}
    for slip in SLIPS:
        main([each.replace("{job}", str(tmp_path)) for each in slip])
        printed = capsys.readouterr()
        said[" ".join(slip)] = printed.err + printed.out
    assert {command: says for command, says in said.items() if BROKEN_INCHES.search(says)} == {}
    assert all(said.values())


def test_no_problem_of_a_job_file_speaks_in_fractions(
    units: Units, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, said = JOB.format(units=units, small=SMALL[units]), {}
    for bad in BAD_LINES:
        kept = [line for line in job.splitlines() if line.partition(":")[0] != bad.partition(":")[0]]
        (tmp_path / "job.yaml").write_text("\n".join([*kept[:2], bad, *kept[2:]]) + "\n", encoding="utf-8")
        assert main(["examine", str(tmp_path)]) == 1
        said[bad] = capsys.readouterr().out
    assert {bad: says for bad, says in said.items() if BROKEN_INCHES.search(says)} == {}


def test_a_new_job_speaks_in_its_own_units(units: Units, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kinds = [
        each
        for kind in ("walk", "patio", "driveway", "steps", "ramp", "pool deck")
        for each in ("--area", f"{kind}:{kind}")
    ]
    given = ["--in", str(tmp_path), "--title", "Tern Row", "--units", units, "--zero", "DOOR", *kinds]
    assert main(["new", "tern-row", "--example", *given]) == 0
    text = (tmp_path / "tern-row" / "job.yaml").read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if BROKEN_INCHES.search(line)] == []


SPEAKING = ("plan", "keys", "check", "set up", "put right", "log", "layout", "mark")
"""The screens that show figures or how to type them."""


@pytest.mark.parametrize("screen", some(SPEAKING, ["plan", "check"]))
async def test_no_screen_speaks_in_fractions(screen: str, units: Units, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock, JOB.format(units=units, small=SMALL[units]))
    async with running(app, (120, 40)) as pilot:
        await go_to(pilot, screen)
        assert BROKEN_INCHES.findall(shown(app)) == []


@pytest.mark.parametrize("every", list(Units))
def test_every_example_can_be_typed_as_it_is_shown(every: Units) -> None:
    words = every.examples
    for example in (words.reading, words.mark, words.tape, words.module):
        assert read_length(example, every).metres > 0
    assert read_length(words.elevation, every).metres < 0
    assert read_tolerance(words.tolerance, every)
    assert read_tolerance(f"+{words.high} -{words.low}", every)
    for example in (words.run, words.riser, *words.place.split(", ")):
        assert read_coordinate(example, every).metres > 0
