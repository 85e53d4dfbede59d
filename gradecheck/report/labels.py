"""One placer for all labels, on paper and in terminal cells: none lies over another, none is cut.

A label stands right of its sign, else left, above or below it, else a row or more farther off with a leader. Where
its longest form finds no room the next shorter one is tried; where none does the caller is told, who names it
elsewhere.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import floor

Box = tuple[float, float, float, float]
"""Left, top, right, bottom; y runs down."""
Form = tuple[str, ...]
"""A label's lines, one under the other."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A form of a label, where it stands, and the leader from there to its sign where it stands off."""

    lines: Form
    box: Box
    leader: Box | None = None


@dataclass(frozen=True, slots=True)
class Letters:
    """How large labels are in the units of a page, and how far from their sign and from one another they keep."""

    size: Callable[[Form], tuple[float, float]]
    beside: float
    above: float
    apart: float
    row: float
    rows: int
    """How many rows a label may stand off."""
    whole: bool = False
    """Whether a label begins at whole numbers only, as in a terminal."""


class Room:
    """What is taken on a page, found again by the squares that it lies in."""

    def __init__(self, bounds: Box, square: float) -> None:
        self._bounds, self._square = bounds, square
        self._boxes: dict[tuple[int, int], list[Box]] = defaultdict(list)

    def _squares(self, box: Box) -> Iterator[tuple[int, int]]:
        for x in range(int(box[0] // self._square), int(box[2] // self._square) + 1):
            for y in range(int(box[1] // self._square), int(box[3] // self._square) + 1):
                yield x, y

    def take(self, box: Box) -> None:
        """Keeps a box for what is drawn there."""
        for square in self._squares(box):
            self._boxes[square].append(box)

    def free(self, box: Box, apart: float = 0) -> bool:
        """Whether a box lies on the page, and nothing lies in it nor so near at its left and right."""
        bounds, left, right = self._bounds, box[0] - apart, box[2] + apart
        if box[0] < bounds[0] or box[1] < bounds[1] or box[2] > bounds[2] or box[3] > bounds[3]:
            return False
        # What was laid last lies in the way most often, where points follow on one another.
        near = (each for square in self._squares((left, box[1], right, box[3]))
                for each in reversed(self._boxes.get(square, ())))  # fmt: skip
        return not any(left < each[2] and each[0] < right and box[1] < each[3] and each[1] < box[3] for each in near)


def place(
    room: Room,
    sign: Box,
    at: float,
    forms: Sequence[Form],
    letters: Letters,
    crosses: Callable[[Box], bool] = lambda _: False,
) -> Placed | None:
    """Finds room for a label beside its sign and takes it; None where there is none.

    `at` is the middle of the sign itself, from left to right, where more belongs to the sign's box. A box that
    `crosses` a line is taken only where no other is free.
    """
    for crossing in (False, True):
        for off in range(letters.rows + 1):
            for form in forms:
                for box, leader in _ways(sign, at, letters.size(form), letters, off):
                    pieces = list(_pieces(leader, letters)) if leader else []
                    if (
                        room.free(box, letters.apart)
                        and (crossing or not crosses(box))
                        and all(map(room.free, pieces))
                    ):
                        for each in (box, *pieces):
                            room.take(each)
                        return Placed(form, box, leader)
    return None


def _pieces(leader: Box, letters: Letters) -> Iterator[Box]:
    """What a leader takes, in pieces of a row; in a terminal it is the one cell between."""
    x1, y1, x2, y2 = leader
    steps = 1 if letters.whole else max(1, round(max(abs(x2 - x1), abs(y2 - y1)) / (letters.row / 3)))
    for step in range(steps):
        xs = sorted((x1 + (x2 - x1) * step / steps, x1 + (x2 - x1) * (step + 1) / steps))
        ys = sorted((y1 + (y2 - y1) * step / steps, y1 + (y2 - y1) * (step + 1) / steps))
        yield xs[0], ys[0], xs[1], ys[1]


def _ways(
    sign: Box, at: float, size: tuple[float, float], letters: Letters, off: int
) -> Iterator[tuple[Box, Box | None]]:
    """The boxes around a sign, `off` rows from it, and the leader that leads there, straight up or down or aslant."""
    left, top, right, bottom = sign
    (wide, high), half = size, (bottom - top) / 2
    if not off:
        middle = (top + bottom - high) / 2
        yield (right + letters.beside, middle, right + letters.beside + wide, middle + high), None
        yield (left - letters.beside - wide, middle, left - letters.beside, middle + high), None
    starts = (at - half, at - wide / 2, at + half - wide)
    far = letters.above + off * letters.row
    for y, leader in ((top - far - high, (at, top - far, at, top)), (bottom + far, (at, bottom, at, bottom + far))):
        for x in map(floor, starts) if letters.whole else starts:
            yield (x, y, x + wide, y + high), leader if off else None
    if off and not letters.whole:
        for aslant in (far, far / 2, far / 4, far / 8):
            for y, near, end in ((top - far - high, top, top - far), (bottom + far, bottom, bottom + far)):
                yield (right + aslant, y, right + aslant + wide, y + high), (right, near, right + aslant, end)
                yield (left - aslant - wide, y, left - aslant, y + high), (left, near, left - aslant, end)
