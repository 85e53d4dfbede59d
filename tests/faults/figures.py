"""What a harness counted, and the table: a row is right when nothing went wrong, a control when something did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figures:
    """What was done how often, what came of it, and how often it came out wrong.

    `control` marks a variant that was broken on purpose: there something has to come out wrong, or the harness is
    blind. `example` is the first thing that came out wrong, in a sentence that names the seed.
    """

    harness: str
    what: str
    counts: dict[str, int]
    wrong: int
    control: bool = False
    example: str = ""

    @property
    def right(self) -> bool:
        """Whether it came out as it should."""
        return self.wrong > 0 if self.control else self.wrong == 0


def table(rows: Sequence[Figures]) -> str:
    """The figures, a line each, and below them an example of all that is not right."""
    head = ("harness", "what was done", "wrong", "", "figures")
    lines = [head, *(_cells(row) for row in rows)]
    widths = [max(len(line[place]) for line in lines) for place in range(len(head) - 1)]
    said = ["  ".join([*map(str.ljust, line[:-1], widths), line[-1]]).rstrip() for line in lines]
    said.insert(1, "-" * max(map(len, said)))
    wrong = [f"{row.harness}, {row.what}: {row.example or 'nothing came out wrong'}" for row in rows if not row.right]
    return "\n".join([*said, *([""] if wrong else []), *wrong])


def _cells(row: Figures) -> tuple[str, str, str, str, str]:
    word = "right" if row.right else "NOT RIGHT"
    if row.control and row.right:
        word = "caught"
    figures = ", ".join(f"{name} {count:,}" for name, count in row.counts.items())
    return row.harness, f"control: {row.what}" if row.control else row.what, f"{row.wrong:,}", word, figures
