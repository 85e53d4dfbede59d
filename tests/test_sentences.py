"""Every sentence that people read is in the catalogue, whole, with its fields by name."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from string import Formatter

import pytest

from tests.sentences import ROOT, marked, named, tree_of

MODULES = named()
NOT_READ = {"codec.py", "plan/limits.py", "journal/schema.py", "plan/schema.py"}
"""SQL, what editors show of the job file, and the titles of codes, which stay as they were published."""
FOR_DEVELOPERS = {"RuntimeError", "AssertionError", "NotImplementedError", "TypeError", "KeyError"}
SENTENCE = re.compile(r"^[A-Z“{][^<>]*[a-z}][.?!]$")


def text_of(node: ast.AST) -> str | None:
    if isinstance(node, ast.JoinedStr):
        return "".join(str(each.value) if isinstance(each, ast.Constant) else "{x}" for each in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def unmarked(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Sentences of three words or more that stand in no call of the catalogue, with their lines."""
    left_out: set[ast.AST] = set()
    for call, _sentences in marked(tree):
        left_out.update(ast.walk(call))
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr | ast.Assert | ast.JoinedStr) and not isinstance(
            getattr(node, "value", None), ast.Call | ast.Await | ast.Yield | ast.YieldFrom
        ):
            left_out.update(each for each in ast.walk(node) if each is not node)
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and isinstance(node.exc.func, ast.Name):
            left_out.update(ast.walk(node) if node.exc.func.id in FOR_DEVELOPERS else ())
    for node in ast.walk(tree):
        text = None if node in left_out else text_of(node)
        if text and SENTENCE.match(text) and len(re.findall("[A-Za-z]{2,}", text.replace("{x}", ""))) >= 3:
            yield getattr(node, "lineno", 0), text


@pytest.mark.parametrize("name", [name for name in MODULES if name not in NOT_READ])
def test_no_sentence_is_outside_the_catalogue(name: str) -> None:
    assert list(unmarked(tree_of(name))) == []


def test_a_sentence_outside_is_found() -> None:
    tree = ast.parse('def f(n):\n    "A docstring is no sentence."\n    return f"There are {n} points left."')
    assert list(unmarked(tree)) == [(3, "There are {x} points left.")]


@pytest.mark.parametrize("name", MODULES)
def test_a_sentence_has_each_of_its_fields_and_no_other(name: str) -> None:
    for call, sentences in marked(tree_of(name)):
        given = {each.arg for each in call.keywords}
        if None in given or name == "catalogue.py":
            continue
        for each in sentences:
            assert isinstance(each, ast.Constant), f"{name}:{each.lineno} is put together before it is looked up"
            if call.keywords or len(sentences) > 1:
                named = {field for _text, field, _spec, _how in Formatter().parse(each.value) if field is not None}
                assert named <= given | {"n"}, f"{name}:{each.lineno}"
                assert len(sentences) > 1 or named == given, f"{name}:{each.lineno}"


def test_sentences_are_many_and_of_every_room_that_speaks() -> None:
    rooms = {name.split("/")[0] for name in MODULES if any(True for _ in marked(tree_of(name)))}
    assert {"actions", "app", "checks", "cli", "findings", "plan", "report", "session"} <= rooms
    assert (ROOT / "catalogue.py").exists()
