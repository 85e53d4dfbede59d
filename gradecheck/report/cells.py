"""Scenes in terminal cells: lines in braille dots or plain letters, signs, and labels where there is room."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import atan2, floor, pi

from gradecheck.catalogue import _
from gradecheck.plan.names import visible
from gradecheck.report.labels import Box, Letters, Room, place
from gradecheck.report.plan_falls import FallArrow
from gradecheck.report.scene import SIGNS, Scene, ScenePoint, Style, clipped

Cell = tuple[int, int]
"""Column and row, from 0 at the top left."""
Dot = tuple[float, float]
"""Dots to the right and down, from 0 at the top left; a whole number is the middle of a dot."""


PLAIN_LINES = {Style.OUTLINE: ":", Style.HOLE: ",", Style.WALL: "#", Style.WANTED: "_", Style.BAND: "'"}
"""What lines are made of where there are no dots; all others of ``*``. None of them is the sign of a verdict."""
_LARGEST_SCALE = 1e9
"""Cells a metre; places nearer to one another than that are one."""
_BRAILLE = 0x2800
_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""The bit of each dot, by row and column within a cell (Unicode, block Braille Patterns)."""
_CELLS = Letters(lambda form: (width(form[0]), 1), beside=1, above=0, apart=1, row=1, rows=2, whole=True)
_ARROWS = "→↗↑↖←↙↓↘"
_PLAIN_ARROWS = (">", "^>", "^", "<^", "<", "<v", "v", "v>")


@dataclass(frozen=True, slots=True)
class CellDrawing:
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


def cut_text(text: str, most: int, *, ascii_only: bool = False) -> str:
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
            raise ValueError(_("a canvas has a column and a row at least"))
        self.columns, self.rows, self.braille = columns, rows, braille
        self.dots = (2, 4) if braille else (1, 1)
        """Dots in a cell, across and down. A cell is taken to be twice as high as it is wide."""
        self.room = Room((0, 0, columns, rows), 8)
        """What texts have taken; labels lie beside them."""
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
        self.room.take(_box(cell, width(text)))
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

    def label(self, ends: Box, column: int, forms: Sequence[str], style: Style, *, always: bool = False) -> bool:
        """Writes a label beside a sign at that column, whose cells reach over `ends`; whether it was written.

        Lines are crossed only where there is no room beside them. With `always` it is written even where there is
        none, over other texts and shortened to the canvas.
        """
        kept = [(cut_text(form, self.columns, ascii_only=not self.braille),) for form in forms]
        if found := place(self.room, ends, column + 0.5, kept, _CELLS, self._crosses):
            if found.leader is not None:
                at, start, _, end = found.leader
                for row in range(floor(start), floor(end)):
                    self.text((floor(at), row), "│" if self.braille else "|", Style.NOTE)
            self.text((floor(found.box[0]), floor(found.box[1])), found.lines[0], style)
        elif always:
            row, long = floor(ends[1]), width(kept[-1][0])
            beside = floor(ends[2]) + 1, floor(ends[0]) - 1 - long
            inside = next((each for each in beside if each >= 0 and each + long <= self.columns), None)
            if inside is None:  # a row above or below has its cells free of the sign itself
                inside = max(0, min(column, self.columns - long))
                row = row - 1 if row else min(row + 1, self.rows - 1)
            self.text((inside, row), kept[-1][0], style)
        return found is not None or always

    def is_free(self, cell: Cell, long: int) -> bool:
        """Whether a text of so many cells has room there without touching another or crossing a line."""
        box = _box(cell, long)
        return self.room.free(box, 1) and not self._crosses(box)

    def _crosses(self, box: Box) -> bool:
        row = floor(box[1])
        return any((column, row) in self._lines for column in range(floor(box[0]), floor(box[2] - 0.5) + 1))

    def paste(self, other: Canvas) -> None:
        """Takes over all that was drawn on another canvas of the same kind, from the top left on."""
        self._lines |= {cell: drawn for cell, drawn in other._lines.items() if self.holds(cell)}
        self._texts |= {cell: drawn for cell, drawn in other._texts.items() if self.holds(cell)}

    def drawing(self) -> CellDrawing:
        """What was drawn so far."""
        found = [[self._at((column, row)) for column in range(self.columns)] for row in range(self.rows)]
        return CellDrawing(
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


def _box(cell: Cell, long: int) -> Box:
    return cell[0], cell[1], cell[0] + long, cell[1] + 1


# -- a scene

_EVERY = {Style.HOLE: 2, Style.WANTED: 2, Style.BAND: 4}
"""Lines of which only each so-manyeth dot is drawn."""

CURRENT, NEXT = ">", "*"
_SIGNS = {Style.LOW: "\N{MINUS SIGN}", Style.UNREAD: "\N{MIDDLE DOT}"}
SHADES, PLAIN_SHADES = "░▒▓█", '`"&@'
"""Off by half of what is allowed at most; by all of it; by twice as much; by more. The second without blocks."""


def draw(canvas: Canvas, scene: Scene, view: View) -> tuple[int, int]:
    """Draws all that has a place; gives how many points hide behind another, and how many have no room for a name."""
    for line in scene.lines:
        every = _EVERY.get(line.style, 1) if canvas.braille else 2 if line.style is Style.BAND else 1
        for start, end in pairwise((*line.places, *line.places[:1]) if line.closed else line.places):
            canvas.line(view.dot(*start), view.dot(*end), line.style, every=every)
    for wall in scene.walls:
        for start, end in pairwise(wall.places):
            canvas.line(view.dot(*start), view.dot(*end), Style.WALL, thick=True)
    cells: dict[Cell, ScenePoint] = {}
    for point in sorted(scene.points, key=lambda point: point.rank):
        assert point.at is not None
        cells.setdefault(canvas.cell(view.dot(*point.at)), point)
    ends = {cell: draw_sign(canvas, cell, point, cells) for cell, point in cells.items()}
    first = [cell for cell, point in cells.items() if point.current or point.next]
    for cell in first:
        _label(canvas, cell, ends[cell], cells[cell])
    for mark in scene.marks:
        assert mark.at is not None
        cell = canvas.cell(view.dot(*mark.at))
        if canvas.room.free(_box(cell, 1), 1):
            canvas.text(cell, SIGNS[Style.MARK], Style.MARK)
            canvas.label(_box(cell, 1), cell[0], (mark.name,), Style.MARK)
    _falls(canvas, view, scene.falls)
    named = [_label(canvas, cell, ends[cell], point) for cell, point in cells.items() if cell not in first]
    return len(scene.points) - len(cells), named.count(False)


def _label(canvas: Canvas, cell: Cell, ends: Box, point: ScenePoint) -> bool:
    style = Style.CURRENT if point.current else Style.NEXT if point.next else Style.NAME
    return canvas.label(ends, cell[0], [form for (form,) in point.forms], style, always=point.current)


def sign_of(style: Style, *, braille: bool) -> str:
    """The sign of a verdict or a mark; a true minus and a middle dot where there is more than plain letters."""
    return _SIGNS.get(style, SIGNS[style]) if braille else SIGNS[style]


def draw_sign(canvas: Canvas, cell: Cell, point: ScenePoint, others: Collection[Cell]) -> Box:
    """Draws one sign with what stands around it; gives the cells it reaches over."""
    column, row = cell
    start = end = column
    canvas.text(cell, sign_of(point.style, braille=canvas.braille), point.style)
    if point.shade and (column + 1, row) not in others and canvas.holds((column + 1, row)):
        canvas.text((column + 1, row), (SHADES if canvas.braille else PLAIN_SHADES)[point.shade - 1], point.style)
        end += 1
    before = (column - 1, row)
    if point.current or (point.next and before not in others):
        canvas.text(before, CURRENT if point.current else NEXT, Style.CURRENT if point.current else Style.NEXT)
        start -= 1
    return start, row, end + 1, row + 1


def _falls(canvas: Canvas, view: View, falls: Sequence[FallArrow]) -> None:
    """An arrow for each fall, with its percent where there is room near the middle of the ground it holds for."""
    for fall in falls:
        column, row = canvas.cell(view.dot(*fall.at))
        head = arrow(*fall.way, braille=canvas.braille)
        near = [(column + right, row + down) for down in (0, 1, -1, 2, -2) for right in (0, 1, -1, 2, -2, 3, -3)]
        for text in (f"{head} {fall.percent}", head) if fall.percent else (head,):
            start = next((cell for cell in near if canvas.is_free(cell, width(text))), None)
            if start is not None:
                canvas.text(start, text, Style.FALL)
                break
