"""Figures left as an example are a fault of the plan, and no verdict is given by a target that comes from one."""

from __future__ import annotations

import re
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.verdict import Word
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.intake import Refusal
from gradecheck.journal.facts import Reading
from gradecheck.plan.examples import marked_lines
from gradecheck.plan.read import read_plan
from gradecheck.plan.starter import Answers, starter_text
from gradecheck.session.session import Session
from gradecheck.state.state import Surface

PLAN = """\
# Lines that end in <-- hold examples.
job: Teasel Court
units: in
benchmarks:
  DOOR: {elevation: 0, at: [0 ft, 0 ft]}  # benchmark
  PIN: -3
datums:
  pool: {mark: COPING, reads: 0}  # datum
build-ups:
  deep:
    layers: [{paver: 2}, {base: 6}]  # build-up
tolerances:
  subgrade: 1/2
  base: 3/8  # base
  finish: 1/8
walls:
  house: [[0 ft, 0 ft], [24 ft, 0 ft]]  # wall
stone: {price: 38 $/ton}  # price
areas:
  terrace:
    build-up: deep
    drains: {away from: house, at least: 2 %}  # drains
    points:
      T1: {from: DOOR, fall: 1/4 in/ft, over: 1 ft, at: [0 ft, 1 ft]}  # T1
      T2: {from: PIN, down: 1, riser: 6}  # T2
    surface: {at: T1, fall: {y: 2 %}}  # surface
    outline: [[0 ft, 0 ft], [24 ft, 0 ft],
              [24 ft, 20 ft],  # corner
              [0 ft, 20 ft]
    ]  # bracket
    grid: {every: 12 ft, name: G}
  walk:
    points:
      W1: {from: T2, fall: 1 %, over: 4 ft}
  ramp:
    points:
      R1: {from: G1-1, fall: 1 %, over: 4 ft}
  deck:
    datum: pool
    points: {D1: {from: COPING, down: 1, riser: 6}}
  yard:
    points: {Y1: -5}
"""

LEANING = {
    "benchmark": {"terrace", "ramp"},
    "datum": {"deck"},
    "build-up": {"terrace"},
    "base": {"terrace"},
    "wall": set(),
    "price": set(),
    "drains": set(),
    "T1": {"terrace", "ramp"},
    "T2": {"terrace", "walk"},
    "surface": {"terrace", "ramp"},
    "corner": {"terrace", "ramp"},
    "bracket": {"terrace", "ramp"},
}
"""The areas whose targets come from each line, by hand: R1 from G1-1, that from the surface at T1, that from DOOR."""


def _marked(*remarks: str) -> str:
    lines = PLAN.split("\n")
    for remark in remarks:
        [place] = [place for place, line in enumerate(lines) if line.endswith(f"  # {remark}")]
        lines[place] += " <--"
    return "\n".join(lines)


@given(st.sets(st.sampled_from(sorted(LEANING))))
def test_each_marked_line_is_a_fault_and_the_areas_that_lean_on_it_know(remarks: set[str]) -> None:
    text = _marked(*sorted(remarks))
    plan = read_plan(text, "job.yaml")
    lines = [number for number, line in enumerate(text.split("\n"), 1) if line.endswith("<--")]
    assert list(plan.examples) == lines
    leaning = set().union(*(LEANING[remark] for remark in remarks))
    assert {name for name, area in plan.areas.items() if area.examples} == leaning
    faults = [each for each in findings(plan) if each.what == "example figure"]
    assert [each.line for each in faults] == lines
    assert all(each.severity is Severity.FAULT for each in faults)


@pytest.mark.parametrize(
    ("line", "is_marked"),
    [
        ("finish: 1/8  # <--", True),
        ("finish: 1/8  # where they head  <--", True),
        ("W2: {from: W1, over: 4' 3\"}  # <--", True),
        ("what: owner's door  # it's an example <--", True),
        ("# Lines that end in <-- hold examples.", False),
        ("    # <--", False),
        ('what: "a sign # with <-- on it"', False),
        ("what: 'a sign # with <-- on it'", False),
        ("what: pile#3 <--", False),
        ("finish: 1/8  # put in", False),
    ],
)
def test_the_mark_counts_in_a_remark_behind_something(line: str, is_marked: bool) -> None:
    assert marked_lines(f"job: x\n{line}\n") == ((2,) if is_marked else ())


def test_in_place_of_a_verdict_stands_that_the_figures_are_examples_and_other_areas_work(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(_marked("T2"), encoding="utf-8")
    walk, yard = Surface("walk", "W1", "finish"), Surface("yard", "Y1", "finish")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(session.set_up("DOOR", "48"))
        read = session.record(session.reading(walk, "60"))
        session.record(session.reading(yard, "53"))
        words = {each: session.state.verdict(each) for each in (walk, yard)}
        assert words[walk] is not None
        assert words[yard] is not None
        assert (words[walk].word, words[yard].word) == (Word.EXAMPLE, Word.ON_GRADE)
        assert isinstance(read.fact, Reading)
        assert read.fact.judged.word is Word.EXAMPLE
        with pytest.raises(Refusal, match="EXAMPLE FIGURES"):
            session.sign_off("walk", "finish", ["W1"])
        # Once the mark is out and the plan taken over, what was read is judged.
        (tmp_path / "job.yaml").write_text(PLAN, encoding="utf-8")
        session.plan_file.look()
        session.record(session.take_over())
        judged = session.state.verdict(walk)
        assert judged is not None
        assert judged.word is Word.FILL


def test_a_new_job_is_all_examples_until_its_marks_are_out() -> None:
    text = starter_text(Answers())
    plan = read_plan(text, "job.yaml")
    assert all(area.examples for area in plan.areas.values())
    plan = read_plan(re.sub("<--", "", text), "job.yaml")
    assert not plan.examples
    assert not any(area.examples for area in plan.areas.values())
