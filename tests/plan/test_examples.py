"""Figures left as an example are a fault of the plan, and no verdict is given by a target that comes from one."""

from __future__ import annotations

import re
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.journal.facts import Reading
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.examples import marked_lines
from gradecheck.plan.read import read_plan
from gradecheck.plan.starter import JobAnswers, starter_text
from gradecheck.report.rows import grade_rod
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area
from gradecheck.state.built import differences
from gradecheck.state.state import Surface
from tests.cli.asides import answered

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
    drains: {away from: house, at least: 2%}  # drains
    points:
      T1: {from: DOOR, fall: 1/4 in/ft, over: 1 ft, at: [0 ft, 1 ft]}  # T1
      T2: {from: PIN, down: 1, riser: 6}  # T2
    surface: {at: T1, fall: {y: 2%}}  # surface
    outline: [[0 ft, 0 ft], [24 ft, 0 ft],
              [24 ft, 20 ft],  # corner
              [0 ft, 20 ft]
    ]  # bracket
    grid: {every: 12 ft, name: G}
  walk:
    points:
      W1: {from: T2, fall: 1%, over: 4 ft}
  ramp:
    points:
      R1: {from: G1-1, fall: 1%, over: 4 ft}
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


def test_examples_get_no_verdict_and_other_areas_work(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(_marked("T2"), encoding="utf-8")
    walk, yard = Surface("walk", "W1", "finish"), Surface("yard", "Y1", "finish")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        read = session.record(actions.reading(session.state, walk, "60"))
        session.record(actions.reading(session.state, yard, "53"))
        words = {each: session.state.verdict(each) for each in (walk, yard)}
        assert words[walk] is not None
        assert words[yard] is not None
        assert (words[walk].word, words[yard].word) == (Word.EXAMPLE, Word.ON_GRADE)
        assert isinstance(read.fact, Reading)
        assert read.fact.judged.word is Word.EXAMPLE
        with pytest.raises(Refusal, match="EXAMPLE FIGURES"):
            session.draft(actions.sign_off(session.state, "walk", "finish", ["W1"]))
        # Once the mark is out and the plan taken over, what was read is judged.
        (tmp_path / "job.yaml").write_text(PLAN, encoding="utf-8")
        session.plan_file.refresh()
        session.record(session.accept_plan())
        judged = session.state.verdict(walk)
        assert judged is not None
        assert judged.word is Word.FILL


ON_MARKS = """\
job: Teasel Court
units: in
rods:
  site rod: {kind: standard}  # site
  grade rod: {kind: direct}  # grade
benchmarks:
  DOOR: 0  # DOOR
  PIN: -3  # PIN
tolerances: {finish: 1/8}
areas:
  yard:
    points: {Y1: -5, Y2: -6}
"""


@pytest.mark.parametrize(
    ("marked", "rod", "mark", "carried", "word"),
    [
        ("PIN", "site rod", "PIN", False, Word.EXAMPLE),
        ("PIN", "site rod", "PIN", True, Word.EXAMPLE),
        ("PIN", "site rod", "DOOR", False, Word.ON_GRADE),
        ("PIN", "site rod", "DOOR", True, Word.ON_GRADE),
        ("grade", "grade rod", "DOOR", False, Word.EXAMPLE),
        ("grade", "site rod", "DOOR", False, Word.ON_GRADE),
    ],
)
def test_what_is_seen_from_an_example_mark_or_rod_is_not_judged(
    tmp_path: Path, marked: str, rod: str, mark: str, carried: bool, word: Word
) -> None:
    text = ON_MARKS.replace(f"# {marked}", f"# {marked} <--")
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    surface = Surface("yard", "Y1", "finish")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up_on(session.state, [(mark, "51" if mark == "PIN" else "48")], rod))
        if carried:  # one more setup, from a turning point at the height of DOOR
            session.record(actions.mark(session.state, "TP1", "48"))
            session.record(actions.set_up_on(session.state, [("TP1", "48")], rod))
        direct = rod == "grade rod"
        asked = grade_rod(session.state, surface)
        session.record(actions.reading(session.state, surface, "43" if direct else "53"))
        verdict = session.state.verdict(surface)
        assert verdict is not None
        assert verdict.word is word
        assert (asked == "") == (word is Word.EXAMPLE)
        assert bool(differences(session.state, "yard", "finish")) == (word is not Word.EXAMPLE)
        session.record(actions.reading(session.state, Surface("yard", "Y2", "finish"), "42" if direct else "54"))
        checked = check_area(session.state, "yard", "finish")
        assert ("all checks" in [each.check for each in checked.not_checked]) == (word is Word.EXAMPLE)
        if word is Word.EXAMPLE:
            with pytest.raises(Refusal, match="example figures, job file, line"):
                session.draft(actions.sign_off(session.state, "yard", "finish", ["Y1", "Y2"]))
            # Put right on site the mark is no example any more.
            if marked == "PIN" and not carried:
                session.record(
                    actions.give_mark(session.state, "PIN", "-3", has_moved=False, why="shot from the office mark")
                )
                judged = session.state.verdict(surface)
                assert judged is not None
                assert judged.word is Word.ON_GRADE


def test_commands_say_targets_are_examples_and_give_no_difference_from_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job"
    job.mkdir()
    (job / "job.yaml").write_text(_marked("T2"), encoding="utf-8")
    for command in (["targets"], ["targets", "--json"], ["plan", "--csv"], ["plan", "--geojson"]):
        main([*command, str(job)])
        text = capsys.readouterr().err
        for area in ("terrace", "walk"):
            assert f"{area}: EXAMPLE FIGURES (job file, line 25): don't build from it." in text
        assert "yard" not in text
    main(["targets", str(job), "--json"])
    rows = answered(capsys.readouterr().out)
    assert {row["area"] for row in rows if row["example"]} == {"terrace", "walk"}
    main(["plan", str(job)])
    assert capsys.readouterr().out.count("EXAMPLE FIGURES (job file, line 25): don't build from it") == 2
    main(["setup", str(job), "DOOR=48", "--by", "RK"])
    capsys.readouterr()
    main(["read", str(job), "W1=60", "Y1=53", "--by", "RK", "--json"])
    walk, yard = answered(capsys.readouterr().out)
    assert walk["verdict"] == "EXAMPLE FIGURES"
    assert walk["difference"] is None
    assert yard["difference"]["text"] == "0 in"


def test_a_new_job_is_all_examples_until_its_marks_are_out() -> None:
    text = starter_text(JobAnswers())
    plan = read_plan(text, "job.yaml")
    assert all(area.examples for area in plan.areas.values())
    plan = read_plan(re.sub("<--", "", text), "job.yaml")
    assert not plan.examples
    assert not any(area.examples for area in plan.areas.values())
