"""A region of a screen: rows of text, drawn from strips that are made once for each change and kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.geometry import Size
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from gradecheck.app.plain import clean

Piece = tuple[str, str]
"""A text, and the look it has: a component class of the style sheet."""
Row = list[Piece]

EDGE = 2
"""Columns left free at both sides; in the first stands the mark of the hand, and nothing else."""
LOOKS = {"ink", "strong", "quiet", "calm", "work", "doubt", "filled", "reversed", "tinted"}
"""What the style sheet calls the looks: three ranks of ink, three kinds of work, three whole grounds."""


class Region(Widget, can_focus=False):
    """Draws what `rows` says; nothing in it changes the layout of the screen."""

    ALLOW_SELECT = False
    COMPONENT_CLASSES = LOOKS

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id)
        self.ascii_only = ascii_only
        self._strips: list[Strip] | None = None
        self._drawn_for: Size | None = None

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """What is to be seen in so many columns and rows."""
        raise NotImplementedError

    @property
    def text(self) -> str:
        """What is to be seen, without its looks."""
        return "\n".join("".join(text for text, _ in row).rstrip() for row in self.rows(*self.size))

    def changed(self) -> None:
        """Something else is to be seen."""
        self._strips = None
        self.refresh()

    def notify_style_update(self) -> None:
        """Other colors."""
        self._strips = None
        super().notify_style_update()

    def render_line(self, y: int) -> Strip:
        """One row."""
        width = self.size.width
        if self._strips is None or self._drawn_for != self.size:
            self._strips = [self._strip(row, width) for row in self.rows(*self.size)]
            self._drawn_for = self.size
        return self._strips[y] if y < len(self._strips) else Strip.blank(width, self.rich_style)

    def _strip(self, row: Row, width: int) -> Strip:
        looks = {look: self.get_component_rich_style(look) for _, look in row}
        return Strip([Segment(clean(text), looks[look]) for text, look in row]).adjust_cell_length(
            width, self.rich_style
        )


def touched(app: object) -> bool:
    """Whether rows and keys may be tapped, as the settings have it."""
    return bool(getattr(getattr(app, "settings", None), "mouse", False))


async def tapped(screen: Screen[Any], action: str) -> None:
    """Does what a key would: in turn behind what was typed, where the screen has turns."""
    act = getattr(screen, "act", None)
    await (act(action) if act is not None else screen.run_action(action))


def width_of(row: Iterable[Piece]) -> int:
    """The cells a row takes."""
    return sum(cell_len(clean(text)) for text, _ in row)


def cut_row(row: Row, room: int) -> Row:
    """The row in so many cells; where it is longer, an ellipsis says so."""
    if width_of(row) <= room:
        return row
    kept: Row = []
    for text, look in row:
        left = room - width_of(kept)
        if cell_len(clean(text)) < left:
            kept.append((text, look))
        else:
            return [*kept, (set_cell_size(clean(text), left - 1) + "…", look)] if left > 0 else kept
    return kept


def joined(parts: Iterable[Row], room: int, between: str = "  ", *, whole: bool = False) -> Row:
    """The parts side by side, whole ones only: the last go first where there is no room.

    The first may be cut, but not where it must stay `whole`, as a figure must.
    """
    row: Row = []
    for part in parts:
        if not width_of(part):
            continue
        if not row:
            if whole and width_of(part) > room:
                break
            row = cut_row(part, room)
        elif width_of(row) + len(between) + width_of(part) <= room:
            row = [*row, (between, part[0][1]), *part]
        else:
            break
    return row


def ends(left: Row, right: Row, width: int, filler: Piece = (" ", "ink"), edge: int = EDGE) -> Row:
    """A row of that width with its two ends, the right one whole and the left one cut to what room is left."""
    right = cut_row(right, max(width - 2 * edge, 0))
    taken = width_of(right)
    left = cut_row(left, max(width - 2 * edge - taken - (2 if taken else 0), 0))
    between = max(width - 2 * edge - width_of(left) - taken, 0)
    blank = (" " * edge, filler[1])
    return [blank, *left, (filler[0] * between, filler[1]), *right, blank]
