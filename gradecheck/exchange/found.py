"""What a file from outside holds, as plain values: rows of cells, or a drawing of points, lines and faces by layer.

Nothing is decided here: which column or layer is what, and what a number counts, is asked.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from itertools import compress
from typing import NamedTuple, NoReturn, overload

from gradecheck.catalogue import _
from gradecheck.plan.names import visible
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


class PlainPoints(Sequence[DrawnPoint]):
    """Many points by columns, as they are written: their layers, texts (all have a name), and x, y and z as decimals.

    A point is made when it is asked for. `largest` is what no number of them is beyond, to about 15 digits.
    """

    __slots__ = ("largest", "layers", "places", "texts")

    def __init__(
        self,
        layers: Sequence[str],
        texts: Mapping[str, Sequence[str]],
        places: tuple[Sequence[str], ...],
        largest: float,
    ) -> None:
        self.layers, self.texts, self.places, self.largest = layers, texts, places, largest

    def __len__(self) -> int:
        return len(self.layers)

    @overload
    def __getitem__(self, at: int) -> DrawnPoint: ...
    @overload
    def __getitem__(self, at: slice) -> list[DrawnPoint]: ...
    def __getitem__(self, at: int | slice) -> DrawnPoint | list[DrawnPoint]:
        if isinstance(at, slice):
            return [self[each] for each in range(len(self))[at]]
        x, y, *z = (Fraction(column[at]) for column in self.places)
        texts = {key: column[at] for key, column in self.texts.items() if column[at]}
        where = _("point {text}", text=visible(texts["name"]))
        return DrawnPoint(self.layers[at], (x, y, z[0] if z else None), texts, where)

    def on(self, layers: Collection[str]) -> PlainPoints:
        """Those on these layers."""
        kept = [layer in layers for layer in self.layers]
        texts: dict[str, Sequence[str]] = {k: list(compress(column, kept)) for k, column in self.texts.items()}
        places = tuple(list(compress(column, kept)) for column in self.places)
        return PlainPoints(list(compress(self.layers, kept)), texts, places, self.largest)


def plain_points(
    layers: Sequence[str], texts: Mapping[str, Sequence[str]], places: Sequence[str], lowest: float
) -> PlainPoints | None:
    """Points whose `places` are each y, x or y, x, z with blanks between, as columns.

    None where one has no name, or a number is no short plain decimal or not above `lowest`: those are looked at
    one by one.
    """
    if not all(texts.get("name", ("",))) or _UNPLAIN.search("\n".join(places)):
        return None
    rows = list(map(str.split, places))
    try:
        y, x, *z = columns = tuple(zip(*rows, strict=True))
        numbers = [list(map(float, column)) for column in columns]
    except ValueError:  # rows of different lengths, or no number after all
        return None
    if not 2 <= len(columns) <= 3 or max(max(map(len, column)) for column in columns) > _LONGEST:
        return None
    least, most = min(map(min, numbers)), max(map(max, numbers))
    return PlainPoints(layers, texts, (x, y, *z), max(-least, most)) if least > lowest else None


_UNPLAIN = re.compile(r"[^-0-9. \t\r\n]", re.ASCII)


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
    columns: PlainPoints | None = None
    """All the points in place of `points`, where there may be many and all are plain."""
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
    def drawn(self) -> Sequence[DrawnPoint]:
        """All the points."""
        return self.points if self.columns is None else self.columns

    @property
    def entities(self) -> int:
        """How much was drawn."""
        return len(self.drawn) + len(self.lines) + len(self.faces)

    def layers_of_points(self) -> Iterable[str]:
        """The layer of each point."""
        return [each.layer for each in self.points] if self.columns is None else self.columns.layers

    def layers(self) -> dict[str, Counter[str]]:
        """What there is on each layer."""
        found: dict[str, Counter[str]] = {}
        for what, layers in (
            ("point", self.layers_of_points()),
            (_("closed line"), (each.layer for each in self.lines if each.closed)),
            ("line", (each.layer for each in self.lines if not each.closed)),
            ("face", (layer for layer, _face in self.faces)),
        ):
            for layer, many in Counter(layers).items():
                found.setdefault(layer, Counter())[what] = many
        return found


def refuse(file: str, says: str, line: int = 1, column: int = 1) -> NoReturn:
    """Raises `PlanProblemsError` with that one sentence."""
    raise PlanProblemsError([Problem(file, line, column, says)])


def shortest_decimal(number: float | str) -> Fraction | None:
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
