"""Where the last reading lies in its tolerance, as a line of characters."""

from __future__ import annotations

from fractions import Fraction

from gradecheck.app.widgets.line import Line
from gradecheck.report.rows import Answer

HALF = 12
"""Cells on each side of the middle; the limits stand half way, so as much again is shown beyond them."""


class ToleranceBar(Line):
    """``low 3/8 ........|-------:---X---|........ 3/8 high``; an end arrow means farther than is drawn."""

    _placed: tuple[str, str] = "", ""

    def place(self, answer: Answer | None, beside: str = "") -> None:
        """Shows where one answer lies, or nothing; `beside` stands at the right where there is room."""
        self._placed = bar(answer) if answer and answer.off else "", beside
        self.on_resize()

    def on_resize(self) -> None:
        """The window has another width: there may be room now, or none any more."""
        line, beside = self._placed
        room = self.size.width - len(line) - 1
        self.say(f"{line}{beside:>{room}}" if beside and len(beside) < room else line)


def bar(answer: Answer) -> str:
    """The line for an answer."""
    limit = HALF // 2
    cells = ["." if abs(cell) > limit else "-" for cell in range(-HALF, HALF + 1)]
    cells[HALF - limit] = cells[HALF + limit] = "|"
    cells[HALF] = ":"
    cells[_cell(answer.place)] = "<" if answer.place < -2 else ">" if answer.place > 2 else "X"
    return f"  low {answer.allowed_low} {''.join(cells)} {answer.allowed_high} high    X at {answer.off}"


def _cell(place: Fraction) -> int:
    """The cell for a place, never drawn inside a limit that it is beyond nor beyond one it is inside."""
    limit = HALF // 2
    exact = place * limit
    size = int(abs(exact) + Fraction(1, 2))
    size = min(size, limit) if abs(place) <= 1 else max(size, limit + 1)
    return HALF + min(size, HALF) * (-1 if exact < 0 else 1)
