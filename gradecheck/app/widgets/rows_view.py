"""A table that draws only the lines on the screen, so ten points and ten thousand cost the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from gradecheck.app.plain import clean
from gradecheck.app.widgets.region import tapped, touched

_MARKED, _UNMARKED = "> ", "  "


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column: its title, its width in cells (0 takes what is left) and the side its texts stand on.

    A `spare` one is left out where the window has not room for all; a `quiet` one stands back behind the others.
    """

    title: str
    width: int
    align: Literal["left", "right"] = "left"
    spare: bool = False
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Cells:
    """The texts of one row, and the component class that colors the last of them, or all where it stands back."""

    texts: tuple[str, ...]
    tone: str = ""
    struck: bool = False
    back: bool = False


class RowsView(ScrollView, can_focus=False):
    """Rows with a heading and a current one. The texts come from a function, asked for as lines are drawn."""

    edge = 0
    """Cells left free at the right."""
    least = 0
    """Cells that the column which takes what is left must have, before a spare one has any."""

    COMPONENT_CLASSES = {"heading", "current", "tone-work", "tone-calm", "tone-doubt", "struck", "quiet"}

    def __init__(self, columns: Sequence[ListColumn], *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.columns = tuple(columns)
        self.count = 0
        self.current = 0
        self.parted: tuple[int, str] | None = None
        """The row before which a heading of its own stands, and its words; it is no row, and the hand skips it."""
        self._cells: Callable[[int], Cells] = lambda index: Cells(())

    @property
    def high(self) -> int:
        """Lines of a row: two where rows may be tapped, the second of them free."""
        return 2 if touched(self.app) else 1

    def show(
        self, count: int, cells: Callable[[int], Cells], current: int, parted: tuple[int, str] | None = None
    ) -> None:
        """Shows that many rows, the texts of each from `cells(index)`, and brings the current one into sight."""
        self.count = count
        self._cells = cells
        self.parted = parted
        self.virtual_size = Size(0, self._place(count) * self.high + 1)
        self.current = current
        self.refresh()
        self._reveal()

    def _place(self, index: int) -> int:
        """How many rows stand above that one, the heading among them counted as one."""
        return index + (self.parted is not None and index >= self.parted[0])

    def _index(self, place: int) -> int | None:
        """Which row stands there; None for the heading among them."""
        if self.parted is None or place < self.parted[0]:
            return place
        return place - 1 if place > self.parted[0] else None

    def go_to(self, index: int) -> None:
        """Makes another row the current one; redraws those two rows alone."""
        before, self.current = self.current, index
        self.redraw(before)
        self.redraw(index)
        self._reveal()

    def redraw(self, index: int) -> None:
        """Draws one row anew."""
        line = self._place(index) * self.high + 1 - self.scroll_offset.y
        if line + self.high - 1 > 0 and line < self.size.height:
            first = max(line, 1)
            self.refresh(Region(0, first, self.size.width, line + self.high - first))

    def _reveal(self, top: int | None = None) -> None:
        """Keeps the current row in sight, with the rows before and after it where there is room.

        Where it would leave, a page is turned: a table that moved with every reading would be drawn anew each time.
        """
        rows = (self.size.height - 1) // self.high
        if rows < 1:
            return
        margin = 1 if rows > 2 else 0
        if top is None:
            top = -(-self.scroll_offset.y // self.high)
        current = self._place(self.current)
        if current + margin - rows + 1 > top:
            top = current - margin
        elif current - margin < top:
            top = current + margin - rows + 1
        top = max(0, min(top, self._place(self.count) - rows))
        if top * self.high != self.scroll_offset.y:
            self.scroll_to(y=top * self.high, animate=False, force=True, immediate=True)

    async def on_click(self, event: events.Click) -> None:
        """Where the mouse is on, a row that is tapped becomes the current one, as the arrows would make it."""
        index = self._index((event.y - 1 + self.scroll_offset.y) // self.high)
        if event.y > 0 and index is not None and index < self.count and index != self.current:
            event.stop()
            await tapped(self.screen, f"move({index - self.current})")

    def on_resize(self) -> None:
        """Keeps the current row in sight, on the page that the new height gives, whatever was in sight before."""
        self._reveal(top=0)

    def render_line(self, y: int) -> Strip:
        """The heading, or the row at that line of the window."""
        width = self.scrollable_content_region.width
        widths = self._widths(width)
        if y == 0:
            drawn = [(column, w) for column, w in zip(self.columns, widths, strict=True) if w >= 0]
            titles = [self._fit(column.title, w, column) for column, w in drawn]
            style = self.get_component_rich_style("heading")
            return Strip([Segment(_UNMARKED + " ".join(titles), style)]).adjust_cell_length(width, style)
        place, line = divmod(y - 1 + self.scroll_offset.y, self.high)
        index = self._index(place)
        if index is None and self.parted is not None:
            style = self.get_component_rich_style("heading") + Style(bold=True)
            words = "" if line < self.high - 1 else _UNMARKED + self.parted[1]
            return Strip([Segment(words, style)]).adjust_cell_length(width, style)
        if index is None or index >= self.count:
            return Strip.blank(width, self.rich_style)
        if line:
            here = index == self.current
            return Strip.blank(width, self.get_component_rich_style("current") if here else self.rich_style)
        return self._row(index, widths, width)

    def _row(self, index: int, widths: list[int], width: int) -> Strip:
        cells = self._cells(index)
        here = index == self.current
        style = self.get_component_rich_style("current") if here else self.rich_style
        segments = [Segment(_MARKED if here else _UNMARKED, style)]
        last = len(self.columns) - 1
        for place, text, column, cell_width in self._spread(cells.texts, widths):
            tone, room = style, cell_width + (place != last)
            if cells.struck:
                tone = style + self._toned("struck") + Style(strike=True)
            elif place == last and cells.tone:
                tone = style + self._toned(cells.tone)
            elif (column.quiet or cells.back) and not here:
                tone = style + self._toned("quiet")
            # What is struck is lined through, not the room around it: that would look like a rule.
            fitted = self._fit(text, cell_width, column)
            words = fitted.strip()
            before = len(fitted) - len(fitted.lstrip())
            segments += [Segment(" " * before, style), Segment(words, tone)]
            segments.append(Segment(" " * (room - before - cell_len(words)), style))
        return Strip(segments).adjust_cell_length(width, style)

    def _toned(self, name: str) -> Style:
        """On the current row the ground stays, only the letters take the color."""
        toned = self.get_component_rich_style(name)
        return Style(color=toned.color, bold=toned.bold)

    def _spread(self, texts: tuple[str, ...], widths: list[int]) -> Iterator[tuple[int, str, ListColumn, int]]:
        """Each text with its place, column and room; one that is too long runs on over empty cells behind it."""
        place = 0
        for at, (raw, column) in enumerate(zip(texts, self.columns, strict=True)):
            if at < place or widths[at] < 0:
                continue
            text = clean(raw)  # measured as it is drawn
            room, place = widths[at], at + 1
            while column.align == "left" and cell_len(text) > room and place < len(texts) and not texts[place]:
                room, place = room + 1 + widths[place], place + 1
            yield place - 1, text, column, room

    def _widths(self, width: int) -> list[int]:
        drawn = self.columns
        for kept in (self.columns, tuple(column for column in self.columns if not column.spare)):
            drawn = kept
            fixed = sum(column.width for column in kept) + len(kept) - 1 + len(_MARKED) + self.edge
            if fixed + self.least <= width:
                break
        return [-1 if each not in drawn else each.width or max(width - fixed, 0) for each in self.columns]

    @staticmethod
    def _fit(text: str, width: int, column: ListColumn) -> str:
        length = cell_len(text)
        if length > width:
            return set_cell_size(text, width - 1) + "…" if width > 1 else set_cell_size(text, width)
        return " " * (width - length) + text if column.align == "right" else text + " " * (width - length)
