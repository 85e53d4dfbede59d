"""What no text that comes in may reach: the source has no pickle, eval, yaml.load or shell, and no slow pattern."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from re import _constants as tokens  # type: ignore[attr-defined]  # the only reader of patterns that Python has
from re import _parser as patterns  # type: ignore[attr-defined]
from typing import Any

import pytest

import gradecheck

ROOT = Path(gradecheck.__file__).parent
MODULES = {
    "pickle",
    "marshal",
    "shelve",
    "dill",
    "subprocess",
    "pty",
    "code",
    "codeop",
    "ctypes",
    "xmlrpc",
    "telnetlib",
}
BUILTINS = {"eval", "exec", "compile", "__import__", "breakpoint"}
CALLS = {
    *(
        "yaml.load",
        "yaml.load_all",
        "yaml.unsafe_load",
        "yaml.full_load",
        "yaml.unsafe_load_all",
        "yaml.full_load_all",
    ),
    *("os.system", "os.popen", "os.execv", "os.execvp", "os.spawnl", "os.spawnv", "os.startfile"),
}
BEGINS_A_PROGRAM = {
    "app/sharing_beside.py": ["subprocess"],
    "sharing/beside.py": ["subprocess"],
    "office/here.py": ["subprocess"],
    "bundle/make.py": ["subprocess"],
    "bundle/install.py": ["subprocess"],
    "language.py": ["ctypes"],
}
"""What begins a program: this one, to share a job by a folder, with the interpreter it runs on; the server of an
office in a folder, by the programs of its package; pip, for an installer; and Windows is asked its language. No
shell is between, and nothing that came in is a word of it."""
RULES = {"S102", "S301", "S302", "S307", "S506", "S602", "S604", "S605", "S606"}
"""Of the linter: exec, pickle, marshal, eval, yaml.load, and a shell by four ways."""


CALLED = {each.rpartition(".")[2] for each in CALLS}


def forbidden(source: str) -> Iterator[str]:
    """What a source imports or calls that could run what comes in."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names if each.name.partition(".")[0] in MODULES)
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            named = {f"{module}.{each.name}" for each in node.names}
            yield from ({module} if module.partition(".")[0] in MODULES else set()) | named & CALLS
        elif isinstance(node, ast.Name) and node.id in BUILTINS:
            yield node.id
        elif isinstance(node, ast.Attribute) and node.attr in CALLED and (called := ast.unparse(node)) in CALLS:
            yield called
        elif isinstance(node, ast.Call) and any(each.arg == "shell" for each in node.keywords):
            yield from ["shell="] if ast.unparse(node.func) != "_" else []  # the field of a sentence is none


def sources() -> list[Path]:
    """Every source of the package."""
    return sorted(ROOT.rglob("*.py"))


def test_pickle_eval_yaml_load_and_a_shell_are_nowhere_in_the_package() -> None:
    found = {path.relative_to(ROOT).as_posix(): [*forbidden(path.read_text(encoding="utf-8"))] for path in sources()}
    assert len(found) > 150
    assert {path: what for path, what in found.items() if what} == BEGINS_A_PROGRAM


@pytest.mark.parametrize(
    "source",
    [
        *(
            "import pickle",
            "from pickle import loads",
            "import subprocess as s",
            "eval('1')",
            "run = exec",
            "open(__import__)",
        ),
        *("yaml.load(x)", "from yaml import unsafe_load", "os.system(x)", "run = os.popen", "call(x, shell=True)"),
    ],
)
def test_the_walk_sees_each_of_them(source: str) -> None:
    assert [*forbidden(source)]


def test_the_linter_forbids_them_too_and_no_line_of_the_package_is_let_off() -> None:
    settings = tomllib.loads((ROOT.parent / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["ruff"]["lint"]
    assert "S" in settings["select"]
    assert not RULES & set(settings["ignore"])
    assert not [kind for kind in settings["per-file-ignores"] if "gradecheck" in kind]
    for path in sources():
        let_off = re.findall(r"noqa: ([A-Z0-9, ]+)", path.read_text(encoding="utf-8"))
        assert not RULES & {rule.strip() for each in let_off for rule in each.split(",")}, path


# -- patterns


def compiled() -> dict[str, str]:
    """Every pattern that a module of the package has ready, by module and name."""
    found = {}
    for each in pkgutil.walk_packages([str(ROOT)], "gradecheck."):
        if each.name == "gradecheck.__main__":
            continue
        for name, value in vars(importlib.import_module(each.name)).items():
            if isinstance(value, re.Pattern) and isinstance(value.pattern, str):
                found[f"{each.name}.{name}"] = value.pattern
    return found


def written() -> dict[str, str]:
    """Every pattern that stands where it is used."""
    found = {}
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                used = ast.unparse(node.func) in {
                    f"re.{kind}" for kind in ("fullmatch", "match", "search", "split", "sub", "findall", "finditer")
                }
                if used and isinstance(node.args[0], ast.Constant):
                    found[f"{path.relative_to(ROOT)}:{node.lineno}"] = str(node.args[0].value)
    return found


def nested(pattern: str) -> bool:
    """Whether something that repeats without end repeats without end itself, and could be taken apart many ways.

    What gives nothing back once it is taken (``*+``) can't.
    """

    def repeats(parsed: Any, *, within: bool) -> bool:
        for kind, about in parsed:
            if kind in (tokens.MAX_REPEAT, tokens.MIN_REPEAT):
                _, most, inner = about
                endless = most == tokens.MAXREPEAT
                if (endless and within) or repeats(inner, within=within or endless):
                    return True
            elif kind is tokens.POSSESSIVE_REPEAT:
                if repeats(about[2], within=False):
                    return True
            elif kind is tokens.SUBPATTERN:
                if repeats(about[3], within=within):
                    return True
            elif kind is tokens.BRANCH:
                if any(repeats(branch, within=within) for branch in about[1]):
                    return True
            elif kind is tokens.ATOMIC_GROUP and repeats(about, within=False):
                return True
        return False

    return repeats(patterns.parse(pattern), within=False)


def test_no_pattern_repeats_what_repeats_or_lets_a_line_end_by() -> None:
    every = compiled() | written()
    assert len(every) > 30
    assert [name for name, pattern in every.items() if nested(pattern)] == []
    assert [name for name, pattern in every.items() if pattern.endswith("$") and not pattern.endswith("\\$")] == []


@pytest.mark.parametrize("pattern", ["(a+)+", "(?:a*b?)*", "((x|y+)z?)+", "(a+?)*?", "(?>(?:a+)+)"])
def test_the_look_at_patterns_sees_those_that_take_for_ever(pattern: str) -> None:
    assert nested(pattern)


@pytest.mark.parametrize("pattern", ["a+b*", "(?:a{1,3})+", "(?:a*+b)*+", "(?:a|b)+", "[0-9]+(?:,[0-9]{3})*"])
def test_the_look_at_patterns_lets_plain_ones_pass(pattern: str) -> None:
    assert not nested(pattern)
