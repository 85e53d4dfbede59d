"""A page of plain words with ranks: headings, names in one column and what is said of them beside."""

from __future__ import annotations

from collections.abc import Sequence

from textual.geometry import Size

from gradecheck.app.plain import broken
from gradecheck.app.widgets.region import EDGE, Region, Row, width_of

LEAST = 20
"""Cells that a text has at least, whatever stands before it."""


class Sheet(Region):
    """Rows as they are, as high as they need; where the last piece of one is too long it goes on below itself."""

    def __init__(self, rows: Sequence[Row] = (), *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[Row, ...] = tuple(rows)

    def show(self, rows: Sequence[Row]) -> None:
        """Shows other rows."""
        if self._shown != tuple(rows):
            self._shown = tuple(rows)
            self._strips = None
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the rows take."""
        return max(len(self.rows(width, 0)), 1)

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The rows in lines of that width, two cells free at both sides."""
        return [line for row in self._shown for line in _lines(row, width - 2 * EDGE)]


def heading(text: str, beside: str = "") -> Row:
    """A heading, with words beside it that stand back."""
    return [(text, "strong"), *([(f"  {beside}", "quiet")] if beside else [])]


def _lines(row: Row, room: int) -> list[Row]:
    edge = (" " * EDGE, "ink")
    if not row:
        return [[edge]]
    *before, (text, look) = row
    hang = min(width_of(before) + len(text) - len(text.lstrip(" ")), max(room - LEAST, 0))
    first, *others = broken(text.lstrip(" "), max(room - hang, 1))
    blank = (" " * max(hang - width_of(before), 0), "ink")
    return [[edge, *before, blank, (first, look)], *([edge, (" " * hang, "ink"), (each, look)] for each in others)]
