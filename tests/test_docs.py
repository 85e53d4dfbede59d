"""README tells the truth: every command and key it names exists, and every one that exists is named there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import gradecheck
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.commands.menu import COMMANDS
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from tests.test_layers import PURE_ROOMS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NOT_IN_TABLE = {"jobs", "open"}
"""`jobs` is what `gradecheck FOLDER` means; both are told in the first rows."""


def test_every_command_is_in_readme_and_every_command_there_exists() -> None:
    told = set(re.findall(r"^\| `gradecheck ([a-z]+)[ `]", README, flags=re.MULTILINE))
    assert told - NOT_IN_TABLE == set(COMMANDS) - NOT_IN_TABLE


def test_every_command_but_those_of_the_app_answers_in_json_if_asked() -> None:
    without = {name for name, asked in COMMANDS.items() if not any("--json" in flags for flags, _ in asked.options)}
    assert without == NOT_IN_TABLE


def test_every_option_that_readme_names_exists() -> None:
    for row in re.findall(r"^\| `gradecheck ([^`]*)`", README, flags=re.MULTILINE):
        name, *words = row.split()
        command = name if name in COMMANDS else "jobs"
        known = {flag for flags, _ in COMMANDS[command].options for flag in flags}
        for option in re.findall(r"--[a-z-]+", " ".join(words)):
            assert option in known, f"{command} has no {option}"


def test_every_key_of_check_is_in_readme_and_every_key_there_exists() -> None:
    table = README.split("### Keys on Check")[1].split("\n\n")[1]
    told = {key.lower() for line in table.splitlines()[2:] for key in re.findall(r"`([^`]+)`", line.split("|")[1])}
    bound = {
        key
        for owner in (CheckScreen, EntryScreen, GradeApp)
        for binding in owner.BINDINGS
        for key in binding.key.split(",")
    }
    assert told == bound - {"ctrl+q"}, "Ctrl+Q is Textual's own way out and does what F12 does"


@pytest.mark.parametrize("number", range(3))
def test_the_job_files_in_readme_can_be_read(number: int) -> None:
    blocks = re.findall(r"```yaml\n(.*?)```", README, flags=re.DOTALL)
    whole, shapes, optional = blocks
    text = (whole, shapes, whole + optional)[number]
    try:
        plan = read_plan(text, "README.md")
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
