"""What a file from outside holds, as plain values: rows of cells, or a drawing of points, lines and faces by layer.

Nothing is decided here: which column or layer is what, and what a number counts, is asked.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import NamedTuple, NoReturn

from gradecheck.catalogue import _
from gradecheck.plan.problems import PlanProblemsError, Problem

MOST_BYTES = 64_000_000
"""Of a file, unpacked."""
MOST_TEXT = 20_000_000
"""Bytes of a list or a GeoJSON, which are read into memory whole; 50,000 points take a quarter of it."""
MOST_ROWS = 50_000
MOST_ENTITIES = 200_000
"""Points, lines, faces and texts in a drawing, those in its blocks counted each time they are drawn."""
SURVEY_FOOT = Fraction(1200, 3937)
"""Meters in a US survey foot, retired in 2022 (Federal Register 85 FR 62698)."""

Corner = tuple[Fraction, Fraction, Fraction | None]
"""x, y and z in the units of the file; z is None where it has none."""


@dataclass(frozen=True, slots=True)
class Grid:
    """A list: its rows with where each stands, a line or row number, under its `headings` if any.

    `comma` is whether commas part its cells, so that one in a number may be either.
    """

    kind: str
    headings: tuple[str, ...] | None
    rows: Sequence[tuple[str, tuple[str, ...]]]
    remarks: tuple[str, ...] = ()
    comma: bool = False


class DrawnPoint(NamedTuple):
    """A point of a drawing, where it stands in the file, and the texts that go with it; `at` None: not placed yet."""

    layer: str
    at: Corner | None
    texts: dict[str, str]
    where: str


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A line of a drawing; each corner with the bulge to the next: the tangent of a quarter of the arc's angle."""

    layer: str
    corners: tuple[tuple[Corner, float], ...]
    closed: bool
    where: str


@dataclass(slots=True)
class FoundDrawing:
    """A drawing as it was found. `one`: what a number counts in meters, as the file has it; None: it doesn't say."""

    kind: str
    points: list[DrawnPoint] = field(default_factory=list)
    lines: list[DrawnLine] = field(default_factory=list)
    faces: list[tuple[str, tuple[Corner, ...]]] = field(default_factory=list)
    one: Fraction | None = None
    counts: str = ""
    """How the file names its units."""
    trusted: bool = True
    """Whether what the file says of its units is to be believed without asking."""
    planar: bool = True
    """Whether its coordinates are lengths for certain, and no degrees."""
    left_out: Counter[str] = field(default_factory=Counter)
    remarks: list[str] = field(default_factory=list)

    @property
    def entities(self) -> int:
        """How much was drawn."""
        return len(self.points) + len(self.lines) + len(self.faces)

    def layers(self) -> dict[str, Counter[str]]:
        """What there is on each layer."""
        found: dict[str, Counter[str]] = {}
        for what, layers in (
            ("point", (each.layer for each in self.points)),
            (_("closed line"), (each.layer for each in self.lines if each.closed)),
            ("line", (each.layer for each in self.lines if not each.closed)),
            ("face", (layer for layer, _face in self.faces)),
        ):
            for layer in layers:
                found.setdefault(layer, Counter())[what] += 1
        return found


def refuse(file: str, says: str, line: int = 1, column: int = 1) -> NoReturn:
    """Raises `PlanProblemsError` with that one sentence."""
    raise PlanProblemsError([Problem(file, line, column, says)])


def exact(number: float | str) -> Fraction | None:
    """The shortest decimal that the number is, which is what was typed; None for what is no finite number."""
    text = number if isinstance(number, str) else repr(float(number))
    if found := _PLAIN.fullmatch(text):  # what nearly all of them are
        part = found[2] or ""
        return Fraction(int(found[1] + part), 10 ** len(part))
    if len(text) > _LONGEST or "_" in text or not text.isascii():
        return None
    try:
        said = Decimal(text)
    except InvalidOperation:
        return None
    if not said.is_finite() or abs(said.adjusted()) > _LONGEST:  # 1e99999999 takes a day to write out
        return None
    return Fraction(*said.as_integer_ratio())


_PLAIN = re.compile(r"(-?[0-9]{1,15})(?:\.([0-9]{1,15}))?", re.ASCII)
_LONGEST = 40
"""Characters of a number, and digits before or behind its point."""
