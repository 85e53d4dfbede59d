"""One table of exit codes over every command: what the guide says of them is what they do."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import re
import sys
from pathlib import Path
from typing import NoReturn

import pytest

import gradecheck.__main__ as front
from gradecheck.cli import main, run
from gradecheck.cli.examples import EXAMPLES
from gradecheck.cli.run import verb_named
from gradecheck.cli.verbs import VERBS
from gradecheck.report.guide import guide_text

Out = pytest.CaptureFixture[str]
TABLE = dict(re.findall(r"^\| `(\d+)` \| (.*) \|$", guide_text("commands"), flags=re.MULTILINE))


def _can_say_no(name: str) -> bool:
    """Whether the command, or what it calls in its own file, gives a code that may be another than 0."""
    file, _, function = VERBS[name][0].partition(".")
    tree = ast.parse(inspect.getsource(importlib.import_module(f"gradecheck.cli.{file}")))
    functions = {each.name: each for each in tree.body if isinstance(each, ast.FunctionDef)}
    seen, left = set(), [function]
    while left:
        if (called := left.pop()) in functions and called not in seen:
            seen.add(called)
            nodes = list(ast.walk(functions[called]))
            left += [node.id for node in nodes if isinstance(node, ast.Name)]
            codes = [
                each.value
                for node in nodes
                if isinstance(node, ast.Call)
                for each in node.keywords
                if each.arg == "code"
            ]
            if any(not isinstance(code, ast.Constant) or code.value for code in codes):
                return True
    return False


def test_the_table_names_every_command_that_may_say_no() -> None:
    assert list(TABLE) == ["0", "1", "2", "3", "4", "130"]
    named = re.findall(r"`([a-z]+)`", TABLE["1"])
    assert named == [name for name in VERBS if _can_say_no(name) and not verb_named(name).screen]


@pytest.mark.parametrize("name", VERBS)
def test_every_command_ends_with_2_for_what_it_does_not_know(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    try:
        code: object = main([*EXAMPLES[name].split(), "--no-such-option"])
    except SystemExit as ended:
        code = ended.code
    told = capsys.readouterr()
    assert (code, told.out) == (2, "")
    assert told.err.strip()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", [name for name in VERBS if not verb_named(name).screen])
def test_every_command_ends_with_3_where_the_program_fails(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    def fails(*_: object) -> NoReturn:
        raise ZeroDivisionError

    broken = dataclasses.replace(verb_named(name), run=fails, on_session=False, needs_plan=False)
    monkeypatch.setattr(run, "verb_named", lambda _name: broken)
    monkeypatch.chdir(tmp_path)
    words = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', EXAMPLES[name])]
    monkeypatch.setattr(sys, "argv", ["gradecheck", *words])
    assert front.main() == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) <= 2
