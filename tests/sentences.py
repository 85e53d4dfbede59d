"""Prints what people read, module by module, so that a native reader can go through it in one sitting.

`python -m tests.sentences [ROOM...]`, for example `python -m tests.sentences actions app`. `--po` instead writes the
files of the languages anew: sentences that came get an empty place in each, those that went lose theirs.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import gradecheck

ROOT = Path(gradecheck.__file__).parent
MARKS = {"_": 0, "plural": 1, "count": 1, "placed": 1, "stored": 0}
"""The functions of the catalogue, and which of what they are given is the first sentence.

A number or a place comes before it.
"""


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


@dataclass(frozen=True, slots=True)
class Entry:
    """One sentence to be translated: `place` where it has one, `many` where it has a plural."""

    one: str
    many: str = ""
    place: str = ""


def entry_of(call: ast.Call, sentences: list[ast.expr]) -> Entry | None:
    """What that call looks up; None where it is put together, as in the catalogue itself."""
    texts = [each.value for each in sentences if isinstance(each, ast.Constant)]
    if not texts:
        return None
    match call.func, call.args[0]:
        case ast.Name("count"), _:
            return Entry(f"{{n}} {texts[0]}", f"{{n}} {texts[1] if len(texts) > 1 else f'{texts[0]}s'}")
        case ast.Name("placed"), ast.Constant(value=place):
            return Entry(texts[0], place=place)
    return Entry(*texts)


def entries() -> dict[Entry, list[str]]:
    """Every sentence once, in the order of the modules, with the names of those it stands in."""
    found: dict[Entry, list[str]] = {}
    for name in named():
        calls = sorted(marked(tree_of(name)), key=lambda each: (each[0].lineno, each[0].col_offset))
        for each in filter(None, (entry_of(*call) for call in calls)):
            if name not in found.setdefault(each, []):
                found[each].append(name)
    return found


def main(rooms: list[str]) -> None:
    """Prints the sentences, those of a module in the order they stand there."""
    if rooms == ["--po"]:
        # Run as a program this file is another module, whose entries equal none of those that are read.
        from tests import languages, sentences

        languages.write_anew(sentences.entries())
        return
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
