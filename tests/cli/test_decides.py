"""Who decides is said by every command that judges, in its answer or beside it, and by no other."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from gradecheck.cli import main
from gradecheck.cli.verbs import VERBS
from gradecheck.report.decides import JUDGING_VERBS
from tests.cli.asides import answered
from tests.thorough import some

OTHER_VERBS = {
    "jobs": "the app, whose screens say it",
    "open": "the app, whose screens say it",
    "follow": "a second window of the app, which says it",
    "new": "writes examples; examine judges them",
    "guide": "tells how things work",
    "schema": "tells which keys a job file may have",
    "completions": "what a shell completes",
    "targets": "what the plan wants, held to nothing",
    "add": "makes a point",
    "change": "makes another target or tolerance",
    "move": "gives a setup up",
    "mark": "makes a mark",
    "datum": "chooses what elevations are shown from",
    "strike": "strikes an entry",
    "compact": "notes that a stage was compacted",
    "undercut": "notes what someone ordered",
    "undo": "takes a reading or a strike back",
    "day": "keeps weather and crew",
    "import": "takes over what the office sent",
    "rehearse": "makes up a journal",
    "join": "takes in entries as they were recorded",
    "share": "takes in and gives entries as they were recorded",
    "office": "makes a place where entries are kept as they were recorded",
    "settings": "shows what counts on this laptop",
    "paths": "names folders",
    "copy": "copies a journal",
    "verify": "looks at the file alone",
    "rescue": "looks at the file alone",
}
"""The others, each with what it does instead."""

SENTENCE = "Local code and the drawings decide."
JOB = """\
job: Saltmarsh Yard
units: in
benchmarks: {DOOR: 0, PIN: -4}
build-ups: {yard: [{paver: 2 3/8}, {base: 6}]}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
instrument: {beam: 10 arcsec, longest shot: 60 ft}
datums: {office: {mark: DOOR, reads: 1200}}
layout: {corner: {sides: [9 ft, 12 ft]}}
areas:
  yard:
    build-up: yard
    outline: [[0, 0], [10 ft, 0], [10 ft, 8 ft], [0, 8 ft]]
    points: {Y1: {elevation: -1, at: [0, 0]}, Y2: {elevation: -1, at: [10 ft, 0]}, Y3: {elevation: -3, at: [0, 8 ft]}}
"""
BY = ["--by", "RK"]
GIVEN: dict[str, list[str]] = {
    "new": [
        "--example",
        "--in",
        "{out}",
        "--title",
        "Teal Row",
        "--units",
        "in",
        "--zero",
        "DOOR",
        "--area",
        "walk:walk",
    ],
    "examine": [],
    "rules": [],
    "guide": [],
    "schema": [],
    "completions": [],
    "targets": [],
    "plan": [],
    "changes": [],
    "add": ["yard", "N1", "-2", *BY],
    "change": ["Y1=-1-1/8", "--why", "a root", *BY],
    "setup": ["DOOR=50", "PIN=54", *BY],
    "move": BY,
    "recheck": ["DOOR=50", *BY],
    "mark": ["TP1=52", *BY],
    "datum": ["office", *BY],
    "correct": ["3", "51-1/16", *BY],
    "read": ["Y2=51", *BY],
    "strike": ["3", "--why", "a slip", *BY],
    "undo": BY,
    "log": [],
    "circuit": [],
    "instrument": ["four-directions", "50", "50", "50", "50", "100 ft", *BY],
    "checks": [],
    "stone": [],
    "compact": ["yard", "base", "4", *BY],
    "undercut": ["yard", "3", "--ordered-by", "A. Teal", "--why", "soft ground", *BY],
    "gauge": ["lippage", "yard", "by Y1", "1/16", *BY],
    "layout": ["corner"],
    "review": [],
    "sign": ["yard", "finish", "--accept", "Y2,Y3", "--accept-open", *BY],
    "day": ["dry", "RK", *BY],
    "report": [],
    "asbuilt": [],
    "quantities": [],
    "import": ["{out}.csv", "--units", "m"],
    "rehearse": ["-o", "{out}", "--readings", "8"],
    "settings": [],
    "paths": [],
    "copy": ["{out}"],
    "join": ["{out} there"],
    "share": ["{out} there"],
    "board": [],
    "verify": [],
    "rescue": ["-o", "{out}.db"],
}
"""Something that each command can do on the job, behind the job itself."""
SCREENS = {"jobs", "open", "follow", "line"}
SERVERS = {"office"}
"""Held to the same where there is a server, in `tests/office/test_decides.py`."""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A job on which RK set up, read the day's cautions and one point."""
    monkeypatch.delenv("GRADECHECK_BY", raising=False)
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    (tmp_path / "out.csv").write_text("name,x,y,z\nA1,1,2,3\n", encoding="utf-8")
    assert main(["setup", str(folder), "DOOR=50", *BY]) in (0, 1)
    assert main(["read", str(folder), "Y1=51", "--stage", "finish", *BY]) == 0
    assert main(["copy", str(folder), str(tmp_path / "out there")]) == 0
    (tmp_path / "meeting").mkdir()
    assert main(["share", str(folder), str(tmp_path / "meeting")]) == 0
    capsys.readouterr()
    return folder


def test_every_command_is_sorted_as_judging_or_not() -> None:
    assert JUDGING_VERBS | OTHER_VERBS.keys() == VERBS.keys() == GIVEN.keys() | SCREENS | SERVERS
    assert not JUDGING_VERBS & OTHER_VERBS.keys()


@pytest.mark.parametrize("as_json", some([False, True], [False]), ids=["text", "json"])
@pytest.mark.parametrize("verb", GIVEN)
def test_a_command_that_judges_says_who_decides_and_no_other_does(
    job: Path, capsys: pytest.CaptureFixture[str], verb: str, as_json: bool
) -> None:
    given = [each.replace("{out}", str(job.parent / "out")) for each in GIVEN[verb]]
    named = {
        "new": ["teal-row"],
        "guide": ["typing"],
        "schema": [],
        "completions": ["fish"],
        "settings": [],
        "paths": [],
        "board": [str(job.parent / "meeting")],
    }.get(verb, [str(job)])
    assert main([verb, *named, *given, *(["--json"] if as_json else [])]) in (0, 1)
    printed = capsys.readouterr()
    if as_json:
        answer = json.loads(printed.out)
        assert answer["command"] == verb
        assert answer.get("decides") == (SENTENCE if verb in JUDGING_VERBS else None)
        assert SENTENCE not in printed.err
    else:
        assert len(re.findall(re.escape(SENTENCE), printed.out + printed.err)) == (verb in JUDGING_VERBS)


@pytest.mark.parametrize(
    ("verb", "kind"),
    [("plan", "--csv"), ("plan", "--geojson"), ("plan", "--json"), ("log", "--csv"), ("log", "--json")],
)
def test_what_other_programs_read_stays_as_they_read_it(
    job: Path, capsys: pytest.CaptureFixture[str], verb: str, kind: str
) -> None:
    assert main([verb, str(job), kind]) == 0
    printed = capsys.readouterr()
    assert (SENTENCE in printed.err) == (kind != "--json")
    if kind == "--csv":
        assert SENTENCE not in printed.out
    else:
        json.loads(printed.out)


def test_an_answer_of_no_rows_has_it_said_in_it(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["strike", str(job), "3", "--why", "a slip", *BY]) == 0
    capsys.readouterr()
    assert main(["checks", str(job), "--json"]) == 0
    printed = capsys.readouterr()
    assert (answered(printed.out), printed.err) == ([], "")
    assert json.loads(printed.out)["decides"] == SENTENCE


@pytest.mark.parametrize("ending", ["svg", "txt"])
def test_the_sheet_on_paper_says_who_decides(job: Path, ending: str) -> None:
    paper = job.parent / f"report.{ending}"
    assert main(["plan", str(job), "--svg" if ending == "svg" else "-o", str(paper)]) == 0
    assert paper.read_text(encoding="utf-8").count(SENTENCE) == 1


@pytest.mark.parametrize("ending", ["json", "txt"])
def test_the_daily_report_in_a_file_says_who_decides(job: Path, ending: str) -> None:
    paper = job.parent / f"day.{ending}"
    assert main(["report", str(job), "-o", str(paper)]) == 0
    assert SENTENCE in paper.read_text(encoding="utf-8")


def test_the_daily_report_on_paper_says_who_decides(job: Path) -> None:
    paper = job.parent / "day.pdf"
    assert main(["report", str(job), "-o", str(paper)]) == 0
    pages = [page.extract_text() for page in PdfReader(paper).pages]
    assert SENTENCE in " ".join(" ".join(pages).split())
