"""README and the guide tell the truth: every command and key they name exists, and every one that exists is named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import gradecheck
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.cli.guide import TOPICS, page
from gradecheck.cli.run import verb_named
from gradecheck.cli.verbs import VERBS
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from tests.test_layers import PURE_ROOMS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
GUIDE = {topic: page(topic) for topic in TOPICS}
NOT_IN_TABLE = {"jobs", "open", "follow", "line"}
"""`jobs` is what `gradecheck FOLDER` means; all are told in the first rows, `line` too."""


def test_every_command_is_in_the_guide_and_every_command_there_exists() -> None:
    told = set(re.findall(r"^\| `gradecheck ([a-z]+)[ `]", GUIDE["commands"], flags=re.MULTILINE))
    assert told - NOT_IN_TABLE == set(VERBS) - NOT_IN_TABLE


def test_every_command_but_those_of_the_app_answers_in_json_if_asked() -> None:
    without = {name for name in VERBS if not any("--json" in flags for _, flags, _ in verb_named(name).asked)}
    assert without == NOT_IN_TABLE


def test_every_option_that_the_guide_names_exists() -> None:
    for row in re.findall(r"^\| `gradecheck ([^`]*)`", GUIDE["commands"], flags=re.MULTILINE):
        name, *words = row.split()
        command = name if name in VERBS else "jobs"
        known = {flag for _, flags, _ in verb_named(command).asked for flag in flags}
        for option in re.findall(r"--[a-z-]+", " ".join(words)):
            assert option in known, f"{command} has no {option}"


def test_every_key_of_check_is_in_the_guide_and_every_key_there_exists() -> None:
    table = GUIDE["keys"].split("\n\n")[1]
    told = {key.lower() for line in table.splitlines()[2:] for key in re.findall(r"`([^`]+)`", line.split("|")[1])}
    bound = {
        key
        for owner in (CheckScreen, EntryScreen, GradeApp)
        for binding in owner.BINDINGS
        for key in binding.key.split(",")
    }
    assert told == bound - {"ctrl+q"}, "Ctrl+Q is Textual's own way out and does what F12 does"


@pytest.mark.parametrize("number", range(3))
def test_the_job_files_in_the_guide_can_be_read(number: int) -> None:
    blocks = re.findall(r"```yaml\n(.*?)```", GUIDE["job-file"], flags=re.DOTALL)
    whole, shapes, optional = blocks
    text = (whole, shapes, whole + optional)[number]
    try:
        plan = read_plan(text, "job-file.md")
    except PlanProblemsError as wrong:
        pytest.fail(str(wrong))
    assert plan.areas


def test_the_test_command_stands_where_the_check_script_looks_for_it() -> None:
    told = README.split("<!-- test command -->")[1].split("<!-- end -->")[0]
    assert "pytest" in told


def test_the_newest_changes_in_readme_are_those_of_this_version() -> None:
    newest = re.search(r"^### ([0-9.]+)$", README.partition("\n## Changes\n")[2], re.MULTILINE)
    assert newest is not None
    assert newest[1] == gradecheck.__version__


def test_developers_names_every_pure_room_that_the_walk_holds_to_it() -> None:
    said = DEVELOPERS.partition("Imports run one way")[2].partition("are pure")[0].rpartition("the other way.")[2]
    folders = {room for room in PURE_ROOMS if (ROOT / "gradecheck" / room).is_dir()}
    assert folders == set(re.findall("`([a-z]+)`", said))


def test_every_page_of_the_guide_is_a_topic_named_in_readme() -> None:
    pages = {path.stem for path in (ROOT / "gradecheck" / "guide").glob("*.md")}
    assert pages == set(TOPICS)
    assert all(f"`{topic}`" in README for topic in TOPICS)


def test_every_command_that_readme_and_the_guide_show_is_one() -> None:
    for text in (README, *GUIDE.values()):
        for name in re.findall(r"`gradecheck ([a-z]+)\b", text):
            assert name in VERBS or name == "rehearsed", name


def test_readme_is_short_enough_to_be_read() -> None:
    assert len(README.split()) <= 2_200
