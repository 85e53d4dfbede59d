"""Prints what people read, module by module, so that a native reader can go through it in one sitting.

`python -m tests.sentences [ROOM...]`, for example `python -m tests.sentences actions app`.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import gradecheck

ROOT = Path(gradecheck.__file__).parent
MARKS = {"_": 0, "plural": 1, "count": 1}
"""The functions of the catalogue, and which of what they are given is the first sentence; a number comes before."""


def marked(tree: ast.AST) -> Iterator[tuple[ast.Call, list[ast.expr]]]:
    """Each call of the catalogue, with the sentences given to it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MARKS:
            yield node, node.args[MARKS[node.func.id] :]


def named(*rooms: str) -> list[str]:
    """The names of the modules of those rooms, or of all."""
    names = (path.relative_to(ROOT).as_posix() for path in sorted(ROOT.rglob("*.py")))
    return [name for name in names if not rooms or name.split("/")[0] in rooms]


@cache
def tree_of(name: str) -> ast.Module:
    """The tree of that module."""
    return ast.parse((ROOT / name).read_text(encoding="utf-8"))


def main(rooms: list[str]) -> None:
    """Prints the sentences, those of a module in the order they stand there."""
    for name in named(*rooms):
        found = sorted(
            (each.lineno, each.value)
            for _call, sentences in marked(tree_of(name))
            for each in sentences
            if isinstance(each, ast.Constant)
        )
        if found:
            print(f"\n{name}")
        for line, sentence in found:
            print(f"{line:5}  {sentence}")


if __name__ == "__main__":
    main(sys.argv[1:])
