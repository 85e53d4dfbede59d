"""What is wrong with a job file, said so that the person who wrote it can correct it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from gradecheck.catalogue import _
from gradecheck.plan.names import visible


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a file: where (lines and columns count from 1) and what to do about it."""

    file: str
    line: int
    column: int
    says: str

    def __post_init__(self) -> None:
        # Names from the file (and the file's own) are quoted here; nothing in them may command a terminal.
        object.__setattr__(self, "file", visible(self.file))
        object.__setattr__(self, "says", visible(self.says))

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: {self.says}"


class PlanProblemsError(Exception):
    """A job file cannot be used; carries every problem found, in the order of its lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(map(str, self.problems)))


def suggestion(name: str, known: Iterable[str]) -> str:
    """`` Did you mean ...?`` when a known name is close, else nothing."""
    spelt: dict[str, str] = {}
    for each in known:
        spelt.setdefault(each.casefold(), each)
    near = get_close_matches(name.casefold(), list(spelt), n=1, cutoff=0.6)
    return _(" Did you mean “{spelt}”?", spelt=spelt[near[0]]) if near else ""
