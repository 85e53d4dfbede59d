"""Job files with mistakes in them, each with exactly what is to be said: every kind of sentence occurs in one."""

from __future__ import annotations

import ast
import re
import shutil
from pathlib import Path

import pytest
import yaml

import gradecheck.plan
from gradecheck.plan.load import load_plan
from gradecheck.plan.problems import PlanProblemsError
from tests.plan.sample import harmless
from tests.tables import each_of

HERE = Path(__file__).parent / "broken"
"""NAME.yaml beside the lists it names (NAME.csv, NAME-a.json ...) and NAME.expected, a line for each problem."""
JOBS = sorted(path.stem for path in HERE.glob("*.yaml"))

ELSEWHERE = {
    "This plan names more than {} files; put their points together.": "needs 41 files: test_lists_in_plans.py",
    "There is no file “{}” next to the job file; put it there.": "a text without a folder: test_lists_in_plans.py",
    "This file has {} bytes, more than {}; put long lists into files of their own.": (
        "a megabyte: test_job_files_on_disk.py"
    ),
    "This text has {} bytes, more than {}; put long lists into files of their own.": (
        "of a journal: test_job_files_on_disk.py"
    ),
    "This text was kept with half a character in it; no file has that.": "of a journal: test_job_files_on_disk.py",
    "More than {} entries in one place; put long lists into files of their own.": (
        "20,000: cli/test_small_things.py"
    ),
    "More than {} places in one line or ring; leave some out.": "20,000: cli/test_small_things.py",
    "This is not a plain file; put a text file in its place.": "a folder or a pipe: test_job_files_on_disk.py",
    "The list goes on past {} points; divide it.": "needs 50,000 rows: test_point_list.py",
    "The file goes on past {} features; divide it.": "needs 50,000 features: test_geojson.py",
    "A backslash escape in a quoted text is broken; write the character itself.": (
        "said by the YAML parser in Python alone, which is not everywhere: test_hostile_files.py"
    ),
    "“{}” needs the distance of every leg; give them, or choose a rule by setups.": "said of a circuit",
}
"""Sentences that no job file of the corpus brings about, and why."""


BEGINNING = ("asked", "asked_area", "asked_areas", "asked_build", "asked_climbs", "asked_edges", "asked_paved",
             "folder_names", "interview", "questions", "starter")  # fmt: skip
"""What these say is said to whoever begins a job, not of a job file."""
EDITING = ("edits", "editing", "references", "spans")
"""What these say is said of a change that can't be made: tests/plan/test_edits.py."""
EDITING_LISTS = ("list_edits",)
"""What these say is said of a change of a point list."""


def sources() -> list[str]:
    """The names of the plan's files."""
    return sorted(path.stem for path in Path(gradecheck.plan.__file__).parent.glob("*.py"))


def sentences(*files: str) -> set[str]:
    """Every sentence that those sources of the plan can say, with ``{}`` where a value of the file stands."""
    found: set[str] = set()
    for name in files:
        path = Path(gradecheck.plan.__file__).parent / f"{name}.py"
        tree = ast.parse(path.read_text(encoding="utf-8"))
        passed_over = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        parts = [part for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)]
        passed_over |= {id(part) for part in parts if not isinstance(part, ast.JoinedStr)}
        for node in ast.walk(tree):
            text = _text(node)
            if id(node) not in passed_over and _is_sentence(text):
                found.add(text)
    return found


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    text = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
    return re.sub(r"\{[a-z_]+(:[^{}]*)?\}", "{}", text)


def _is_sentence(text: str) -> bool:
    """Some words that end with a full stop; behind it a name that is near may be asked for."""
    return bool(re.search(r"[a-z] [a-z]", text) and re.search(r"\.(\{\})?$", text) and text[0] in "“{" + _CAPITALS)


_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def _told(job: str, folder: Path) -> list[str]:
    """What is said of a job of the corpus, read as any other from a folder of its own."""
    for path in HERE.glob(f"{job}*"):
        shutil.copy(path, folder / path.name)
    shutil.copy(HERE / f"{job}.yaml", folder / "job.yaml")
    with pytest.raises(PlanProblemsError) as refused:
        load_plan(folder / "job.yaml")
    return [str(problem) for problem in refused.value.problems]


def _expected(job: str) -> list[str]:
    return (HERE / f"{job}.expected").read_text(encoding="utf-8").splitlines()


def _by_the_parser(job: str) -> bool:
    """Whether the YAML parser's own words are told; the one in C and the one in Python have different ones."""
    return any("This is not YAML" in line for line in _expected(job))


@pytest.mark.parametrize("job", JOBS)
def test_a_broken_job_is_told_line_by_line_and_nothing_besides(job: str, tmp_path: Path) -> None:
    if _by_the_parser(job) and not yaml.__with_libyaml__:
        pytest.skip("the YAML parser in C is not here, and the other has words of its own")
    assert _told(job, tmp_path) == _expected(job)


def test_there_are_sixty_and_more_of_them_and_nothing_lies_about() -> None:
    assert len(JOBS) >= 60
    for path in HERE.iterdir():
        assert any(path.name.startswith(job) for job in JOBS), path.name


def test_every_sentence_the_plan_can_say_is_said_of_one_of_them() -> None:
    said = [line.split(": ", 1)[1] for job in JOBS for line in _expected(job)]
    known = sentences(*{*sources()} - {*BEGINNING, *EDITING, *EDITING_LISTS})
    unsaid = set()
    for sentence in known:
        pattern = ".*?".join(map(re.escape, sentence.split("{}")))
        if not any(re.search(pattern, each) for each in said):
            unsaid.add(sentence)
    assert unsaid == set(ELSEWHERE)
    assert len(known) > 150


@each_of("job", JOBS)
def test_what_is_said_has_a_place_and_is_in_the_words_of_the_trade(job: str) -> None:
    for line in _expected(job):
        found = re.fullmatch(r"(?P<file>[\w.-]+):(?P<line>[1-9]\d*):(?P<column>[1-9]\d*): (?P<says>.+)", line)
        assert found is not None, line
        assert found["file"] == "job.yaml" or (HERE / found["file"]).is_file(), line
        assert found["says"].endswith((".", "?")), line
        assert harmless(line), line
        # Words of the reader's own making, which nobody who writes a plan needs to know.
        assert not re.search(
            r"pydantic|[Ii]nput should|[Ff]ield required|[Vv]alue error|validat|NoneType|Traceback", line
        )
