"""Names and places of points that a surface is checked at: a grid inside an outline, a row along an edge."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import lcm

from gradecheck.ground.outline import Outline, where_number
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import ZERO, Length

MOST = 50_000
"""Points in a grid; a larger one is a slip of a unit."""


class TooManyError(ValueError):
    """The spacing would make more points than `MOST`."""


def grid(outline: Outline, every: tuple[Length, Length], prefix: str, start: Place | None) -> list[tuple[str, Place]]:
    """The grid's points inside the outline and on its line, named by row and place in the row, as ``G2-3``.

    Rows run along x and are walked there and back, so that nobody walks a row for nothing. `start` is a place the
    grid passes through, the outline's lowest corner where none is given. Raises `TooManyError`.
    """
    left, right = _reach(outline, 0)
    bottom, top = _reach(outline, 1)
    origin = start or (Length(left), Length(bottom))
    columns = _steps(left, right, origin[0], every[0])
    rows = _steps(bottom, top, origin[1], every[1])
    if len(columns) * len(rows) > MOST:
        raise TooManyError(f"This grid would have {len(columns) * len(rows):,} points; {MOST:,} are the most.")
    inside = _Inside(outline, origin, every)
    found: list[tuple[str, Place]] = []
    number = 0
    for row in rows:
        kept = [column for column in columns if inside(column, row)]
        if not kept:
            continue
        number += 1
        y = origin[1] + every[1] * row
        line = [
            (f"{prefix}{number}-{place}", (origin[0] + every[0] * column, y)) for place, column in enumerate(kept, 1)
        ]
        found += line if number % 2 else reversed(line)
    return found


def along(line: list[Place], every: Length, prefix: str) -> list[tuple[str, Place]]:
    """Points along a line of places, `every` so far from its start; its corners and its end are among them.

    Raises `TooManyError`.
    """
    found = [place for start, end in pairwise(line) for place in _stretch(start, end, every)]
    return [(f"{prefix}{number}", place) for number, place in enumerate([*found, line[-1]], 1)]


def _stretch(start: Place, end: Place, every: Length) -> Iterator[Place]:
    length = distance(start, end)
    if length.metres > every.metres * MOST:
        raise TooManyError(f"This line would have more than {MOST:,} points; write a larger spacing.")
    so_far = ZERO
    while so_far < length:
        share = so_far.metres / length.metres
        yield start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
        so_far = so_far + every


def _reach(outline: Outline, axis: int) -> tuple[Fraction, Fraction]:
    values = [corner[axis].metres for corner in outline.ring]
    return min(values), max(values)


def _steps(low: Fraction, high: Fraction, origin: Length, every: Length) -> range:
    first = -((origin.metres - low) // every.metres)
    return range(first, int((high - origin.metres) // every.metres) + 1)


class _Inside:
    """Whether a crossing of the grid lies inside, in whole numbers: everything scaled to one denominator."""

    def __init__(self, outline: Outline, origin: Place, every: tuple[Length, Length]) -> None:
        rings = [outline.ring, *outline.holes]
        lengths = [*origin, *every, *(length for ring in rings for corner in ring for length in corner)]
        scale = lcm(*(length.metres.denominator for length in lengths))
        self._ring, *self._holes = (
            [(int(x.metres * scale), int(y.metres * scale)) for x, y in ring] for ring in rings
        )
        self._x, self._y = (int(length.metres * scale) for length in origin)
        self._step_x, self._step_y = (int(length.metres * scale) for length in every)

    def __call__(self, column: int, row: int) -> bool:
        x, y = self._x + column * self._step_x, self._y + row * self._step_y
        return where_number(self._ring, x, y) >= 0 and all(where_number(hole, x, y) <= 0 for hole in self._holes)
