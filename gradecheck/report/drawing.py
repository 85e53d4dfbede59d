"""A canvas of terminal cells: lines in braille dots or plain letters, signs, names where there is room."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from math import atan2, floor, pi

from gradecheck.ground.spots import Place
from gradecheck.plan.names import visible

Cell = tuple[int, int]
"""Column and row, from 0 at the top left."""
Dot = tuple[float, float]
"""Dots to the right and down, from 0 at the top left; a whole number is the middle of a dot."""


class Style(StrEnum):
    """What a cell shows. A screen may colour by it; a printout loses nothing without."""

    BLANK = ""
    OUTLINE = "outline"
    HOLE = "hole"
    WALL = "wall"
    FALL = "fall"
    MARK = "mark"
    POINT = "point"
    UNREAD = "unread"
    HIGH = "high"
    LOW = "low"
    ON = "on"
    CLOSE = "close"
    DOUBT = "doubt"
    CURRENT = "current"
    NEXT = "next"
    NAME = "name"
    NOTE = "note"
    WANTED = "wanted"
    FOUND = "found"
    BAND = "band"


PLAIN_LINES = {Style.OUTLINE: ":", Style.HOLE: ",", Style.WALL: "#", Style.WANTED: "_", Style.BAND: "'"}
"""What lines are made of where there are no dots; all others of ``*``. None of them is the sign of a verdict."""
_LARGEST_SCALE = 1e9
"""Cells a metre; places nearer to one another than that are one."""
_BRAILLE = 0x2800
_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""The bit of each dot, by row and column within a cell (Unicode, block Braille Patterns)."""
_ARROWS = "→↗↑↖←↙↓↘"
_PLAIN_ARROWS = (">", "^>", "^", "<^", "<", "<v", "v", "v>")


@dataclass(frozen=True, slots=True)
class Drawing:
    """Rows of cells, each with its text and the style of it; behind a wide letter stands a cell without text."""

    cells: tuple[tuple[str, ...], ...]
    styles: tuple[tuple[Style, ...], ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """The rows as plain text without idle blanks at their ends."""
        return tuple("".join(row).rstrip() for row in self.cells)

    def runs(self, row: int) -> list[tuple[str, Style]]:
        """The texts of a row, each as long as its style holds."""
        pairs = zip(self.cells[row], self.styles[row], strict=True)
        return [("".join(text for text, _ in run), style) for style, run in groupby(pairs, key=lambda each: each[1])]


def width(text: str) -> int:
    """The cells a text takes in a terminal."""
    return len(text) if text.isascii() else sum(1 + (len(tail) > 0) for _, tail in _letters(text))


def cut(text: str, most: int, *, ascii_only: bool = False) -> str:
    """The text in so many cells at most; one that was cut ends with an ellipsis."""
    if width(text) <= most:
        return text
    end = ("." if ascii_only else "…") if most else ""
    kept, used = "", 0
    for letter, tail in _letters(text):
        used += 1 + len(tail)
        if used > most - 1:
            break
        kept += letter
    return kept + end


def _letters(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each letter with the accents that follow it, and the empty cell that a wide one takes besides."""
    letter = ""
    for c in visible(text):
        if letter and unicodedata.category(c) in ("Mn", "Me"):
            letter += c
            continue
        if letter:
            yield letter, ("",) if unicodedata.east_asian_width(letter[0]) in "WF" else ()
        letter = c
    if letter:
        yield letter, ("",) if unicodedata.east_asian_width(letter[0]) in "WF" else ()


def arrow(right: float, up: float, *, braille: bool) -> str:
    """The arrow nearest to that direction; without braille it is one or two plain letters, as ``v>``."""
    eighth = round(atan2(up, right) / (pi / 4)) % 8
    return _ARROWS[eighth] if braille else _PLAIN_ARROWS[eighth]


@dataclass(frozen=True, slots=True)
class View:
    """Where places on the plan lie among the dots: x to the right, y up, both to one scale.

    `left` and `top` are metres at the first dot, `across` and `down` dots a metre.
    """

    left: float
    top: float
    across: float
    down: float

    def dot(self, x: float, y: float) -> Dot:
        """The dot of a place in metres; it may lie outside the canvas."""
        return (x - self.left) * self.across, (self.top - y) * self.down


class Canvas:
    """Cells to draw on. Texts lie over lines; what falls outside is cut off."""

    def __init__(self, columns: int, rows: int, *, braille: bool) -> None:
        """A blank canvas; fewer than one column or row is a ValueError."""
        if columns < 1 or rows < 1:
            raise ValueError("a canvas has a column and a row at least")
        self.columns, self.rows, self.braille = columns, rows, braille
        self.dots = (2, 4) if braille else (1, 1)
        """Dots in a cell, across and down. A cell is taken to be twice as high as it is wide."""
        self._lines: dict[Cell, tuple[int, Style]] = {}
        self._texts: dict[Cell, tuple[str, Style]] = {}

    def view(self, places: Iterable[tuple[float, float]], *, margin: Cell = (0, 0)) -> View:
        """The largest true view of these places in metres that leaves so many cells free on each side.

        It stands in the middle from left to right, and at the top. Without any place it is a metre a cell.
        """
        xs, ys = zip(*places, strict=True) if (places := list(places)) else ((0.0,), (0.0,))
        across, down = self.dots
        # Where there is but one dot, all must come to lie within it.
        most_right = max(max(self.columns - 2 * margin[0], 1) * across - 1, 0.4)
        most_down = max(max(self.rows - 2 * margin[1], 1) * down - 1, 0.4)
        wide, high = max(xs) - min(xs), max(ys) - min(ys)
        # In cells wide for each metre; a row counts for two of them.
        scales = [most_right / across / wide] if wide else []
        scales += [2 * most_down / down / high] if high else []
        scale = min([*scales, _LARGEST_SCALE]) if scales else 1.0
        right, down_a_metre = scale * across, scale * down / 2
        start = margin[0] * across + floor((most_right - wide * right) / 2 + 0.5)
        return View(min(xs) - start / right, max(ys) + margin[1] * down / down_a_metre, right, down_a_metre)

    def cell(self, dot: Dot) -> Cell:
        """The cell a dot lies in; it may lie outside the canvas."""
        return floor(dot[0] + 0.5) // self.dots[0], floor(dot[1] + 0.5) // self.dots[1]

    def holds(self, cell: Cell) -> bool:
        """Whether the canvas has that cell."""
        return 0 <= cell[0] < self.columns and 0 <= cell[1] < self.rows

    # -- lines

    def line(self, start: Dot, end: Dot, style: Style, *, every: int = 1, thick: bool = False) -> None:
        """A straight line from dot to dot, of every so many dots; a thick one is three dots wide in braille."""
        # A dot beside the canvas as well: a thick line there still reaches into it.
        part = clipped(start, end, (-1, -1, self.columns * self.dots[0], self.rows * self.dots[1]))
        if part is None:
            return
        (x1, y1), (x2, y2) = part
        steps = max(abs(floor(x2 + 0.5) - floor(x1 + 0.5)), abs(floor(y2 + 0.5) - floor(y1 + 0.5)), 1)
        wider = ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)) if thick and self.braille else ((0, 0),)
        for step in range(0, steps + 1, every):
            x = floor(x1 + (x2 - x1) * step / steps + 0.5)
            y = floor(y1 + (y2 - y1) * step / steps + 0.5)
            for right, down in wider:
                self._dot(x + right, y + down, style)

    def ring(self, dots: Sequence[Dot], style: Style, *, every: int = 1) -> None:
        """A closed line."""
        for start, end in zip(dots, [*dots[1:], *dots[:1]], strict=True):
            self.line(start, end, style, every=every)

    def _dot(self, x: int, y: int, style: Style) -> None:
        cell = x // self.dots[0], y // self.dots[1]
        if self.holds(cell):
            bits = self._lines[cell][0] if cell in self._lines else 0
            self._lines[cell] = bits | (_BITS[y % 4][x % 2] if self.braille else 1), style

    # -- texts

    def text(self, cell: Cell, text: str, style: Style) -> None:
        """Writes over what is there; letters outside the canvas are left out, a wide one at its edge too."""
        column, row = cell
        for letter, tail in _letters(text):
            if self.holds((column, row)) and self.holds((column + len(tail), row)):
                for place, each in enumerate((letter, *tail), column):
                    self._clear((place, row))
                    self._texts[place, row] = each, style
            column += 1 + len(tail)

    def _clear(self, cell: Cell) -> None:
        """Takes out the other half of a wide letter that is about to lose this one."""
        column, row = cell
        old = self._texts.get(cell, (" ", Style.BLANK))[0]
        if old == "":
            self._texts[column - 1, row] = " ", Style.BLANK
        elif self._texts.get((column + 1, row), (" ", Style.BLANK))[0] == "":
            self._texts[column + 1, row] = " ", Style.BLANK

    def is_free(self, cell: Cell, long: int, *, over_lines: bool) -> bool:
        """Whether a text of so many cells has room there, touching no other text to its left or right."""
        column, row = cell
        if not (self.holds(cell) and self.holds((column + long - 1, row))):
            return False
        if any((place, row) in self._texts for place in range(column - 1, column + long + 1)):
            return False
        return over_lines or all((place, row) not in self._lines for place in range(column, column + long))

    def name(self, cell: Cell, ends: Cell, text: str, style: Style, *, always: bool = False) -> bool:
        """Writes a name beside a sign whose cells reach from `ends`; right, left, above or below it, where free.

        Lines are crossed only where there is no room beside them. With `always` it is written even where there is
        none, over other texts and shortened to the canvas. Whether it was written.
        """
        column, row = cell
        text = cut(text, self.columns, ascii_only=not self.braille)
        long = width(text)
        tries = [(ends[1] + 2, row), (ends[0] - 1 - long, row)]
        tries += [
            (start, row + down) for down in (-1, 1) for start in (column, column - long // 2, column - long + 1)
        ]
        for over_lines in (False, True):
            for place in tries:
                if self.is_free(place, long, over_lines=over_lines):
                    self.text(place, text, style)
                    return True
        if always:
            inside = next((place for place in tries if self.holds(place) and place[0] + long <= self.columns), None)
            if inside is None:  # a row above or below has its cells free of the sign itself
                beside = row - 1 if row else min(row + 1, self.rows - 1)
                inside = max(0, min(column, self.columns - long)), beside
            self.text(inside, text, style)
        return always

    def paste(self, other: Canvas) -> None:
        """Takes over all that was drawn on another canvas of the same kind, from the top left on."""
        self._lines |= {cell: drawn for cell, drawn in other._lines.items() if self.holds(cell)}
        self._texts |= {cell: drawn for cell, drawn in other._texts.items() if self.holds(cell)}

    def drawing(self) -> Drawing:
        """What was drawn so far."""
        found = [[self._at((column, row)) for column in range(self.columns)] for row in range(self.rows)]
        return Drawing(
            tuple(tuple(text for text, _ in row) for row in found),
            tuple(tuple(style for _, style in row) for row in found),
        )

    def _at(self, cell: Cell) -> tuple[str, Style]:
        if cell in self._texts:
            return self._texts[cell]
        if cell in self._lines:
            bits, style = self._lines[cell]
            return chr(_BRAILLE + bits) if self.braille else PLAIN_LINES.get(style, "*"), style
        return " ", Style.BLANK


def metres(place: Place) -> tuple[float, float]:
    """A place on the plan in metres, as near as a drawing needs."""
    return float(place[0].metres), float(place[1].metres)


def scale_bar(most: float, *, feet: bool) -> tuple[float, str]:
    """The longest round length of so many metres at most, in metres and in words: 1, 2 or 5 and noughts."""
    one = 0.3048 if feet else 1.0
    power = 1e-6
    while power * 10 * one <= most:
        power *= 10
    count = power * max(step for step in (1, 2, 5) if step == 1 or power * step * one <= most)
    if feet and count < 1:
        inches = max((each for each in (6, 3, 1) if each * 0.0254 <= most), default=1)
        return inches * 0.0254, f"{inches} in"
    if not feet and count < 1:
        return count, f"{count * 1000:.6g} mm"
    return count * one, f"{count:.12g} {'ft' if feet else 'm'}"


def clipped(start: Dot, end: Dot, box: tuple[float, float, float, float]) -> tuple[Dot, Dot] | None:
    """The part of a line within left, top, right and bottom (Liang and Barsky's way), None where there is none."""
    along = end[0] - start[0], end[1] - start[1]
    first, last = 0.0, 1.0
    for axis in (0, 1):
        for way, room in ((-along[axis], start[axis] - box[axis]), (along[axis], box[axis + 2] - start[axis])):
            if way == 0 and room < 0:
                return None
            if way < 0:
                first = max(first, room / way)
            elif way > 0:
                last = min(last, room / way)
    if first > last:
        return None
    # An end that was not cut stays exactly where it is.
    one = start if first == 0 else (start[0] + along[0] * first, start[1] + along[1] * first)
    other = end if last == 1 else (start[0] + along[0] * last, start[1] + along[1] * last)
    return one, other
