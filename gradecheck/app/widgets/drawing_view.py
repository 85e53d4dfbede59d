"""A drawing of cells, colored by what each shows; the signs in it say the same without color."""

from __future__ import annotations

from rich.segment import Segment
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from gradecheck.app.plain import clean
from gradecheck.report.cells import CellDrawing
from gradecheck.report.scene import Style

TONES = {
    Style.HIGH: "tone-work",
    Style.LOW: "tone-work",
    Style.ON: "tone-calm",
    Style.CLOSE: "tone-doubt",
    Style.DOUBT: "tone-doubt",
    Style.CURRENT: "current",
    Style.NEXT: "current",
    Style.FOUND: "strong",
    Style.WANTED: "quiet",
    Style.BAND: "quiet",
}
"""The component class that colors each style; all else has the color of plain text."""


class DrawingView(Widget, can_focus=False):
    """Shows one drawing, as many of its rows as there is room for."""

    COMPONENT_CLASSES = {"current", "strong", "quiet", "tone-work", "tone-calm", "tone-doubt"}

    drawing: CellDrawing | None = None

    class Resized(Message):
        """There is other room for the drawing now."""

    def on_resize(self) -> None:
        """Tells whoever draws."""
        self.post_message(self.Resized())

    def show(self, drawing: CellDrawing | None) -> None:
        """Shows another drawing, or none."""
        self.drawing = drawing
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        width = self.size.width
        if self.drawing is None or y >= len(self.drawing.cells):
            return Strip.blank(width, self.rich_style)
        segments = []
        for text, style in self.drawing.runs(y):
            tone = TONES.get(style)
            look = self.rich_style if tone is None else self.get_component_rich_style(tone)
            segments.append(Segment(clean(text), look))
        return Strip(segments).adjust_cell_length(width, self.rich_style)
