"""The plan view of an area in a terminal: outline, walls, points with the sign of their difference, falls.

A point shows the sign of its verdict and beside it a shade: how far off it is, counted in what is allowed. ``>``
stands before the current point, ``*`` before the next unchecked one. Of several points in one cell, the one that most
needs to be seen shows. An arrow with a percent stands on each piece of ground that falls evenly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from gradecheck.checks.verdict import Verdict, Word
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.plan.model import Area, Plan
from gradecheck.report.drawing import (
    Canvas,
    Cell,
    Drawing,
    Style,
    View,
    arrow,
    cut,
    metres,
    scale_bar,
    width,
)
from gradecheck.report.plan_falls import Fall, falls_through, plan_falls
from gradecheck.state.state import State, Surface

__all__ = [
    "CURRENT", "MARK", "NEXT", "PLAIN_SHADES", "SHADES", "SIGNS", "UNIT_WORDS", "Fall", "PlanView", "Sign",
    "bare_plan_view", "falls_through", "plan_falls", "plan_view", "signs",
]  # fmt: skip

SIGNS = {
    Style.HIGH: "+",
    Style.LOW: "-",
    Style.ON: "=",
    Style.CLOSE: "~",
    Style.DOUBT: "?",
    Style.UNREAD: ".",
    Style.POINT: "o",
}
"""What a point shows, so that no verdict is told by a colour alone."""
CURRENT, NEXT, MARK = ">", "*", "x"
SHADES, PLAIN_SHADES = "░▒▓█", '`"&@'
"""Off by half of what is allowed at most; by all of it; by twice as much; by more. The second without blocks."""
UNIT_WORDS = {
    Units.IN: "inches",
    Units.FT_IN: "feet and inches",
    Units.FT: "feet",
    Units.MM: "millimeters",
    Units.CM: "centimeters",
    Units.M: "meters",
}
_MARGIN = (2, 0)
_WORDS = {
    Style.HIGH: "high: cut",
    Style.LOW: "low: fill",
    Style.ON: "on grade",
    Style.CLOSE: "too close to call",
    Style.DOUBT: "in doubt",
    Style.UNREAD: "not read",
    Style.POINT: "point",
}
_STYLE_OF = {
    Word.CUT: Style.HIGH,
    Word.FILL: Style.LOW,
    Word.ON_GRADE: Style.ON,
    Word.TOO_CLOSE: Style.CLOSE,
    Word.EXAMPLE: Style.DOUBT,
}
_FIRST_SEEN = (Style.DOUBT, Style.HIGH, Style.LOW, Style.CLOSE, Style.UNREAD, Style.ON, Style.POINT)


@dataclass(frozen=True, slots=True)
class Sign:
    """What one point shows: the style its sign comes from, and a shade from 1 to 4, 0 for none."""

    point: str
    at: Place | None
    style: Style
    shade: int = 0
    current: bool = False
    next: bool = False

    @property
    def rank(self) -> tuple[int, int]:
        """Which of several points in one cell is seen: the lowest."""
        if self.current or self.next:
            return (-2 if self.current else -1), 0
        return _FIRST_SEEN.index(self.style), -self.shade


@dataclass(frozen=True, slots=True)
class PlanView:
    """The drawing, what its signs mean, the points that have no place, and how many points hide behind another."""

    drawing: Drawing
    key: tuple[str, ...]
    unplaced: tuple[str, ...]
    hidden: int


def plan_view(
    state: State,
    area: str,
    stage: str,
    columns: int,
    rows: int,
    *,
    braille: bool = True,
    current: str | None = None,
    falls: Sequence[Fall] | None = None,
) -> PlanView:
    """The area at that stage as it was measured, in so many cells. Raises KeyError for an area there is not.

    `falls` are those to be drawn, the plan's own where none are given.
    """
    found = state.plan.areas[area]
    return _drawn(state.plan, found, signs(state, found, stage, current), (columns, rows), braille, falls)


def bare_plan_view(plan: Plan, area: str, columns: int, rows: int, *, braille: bool = True) -> PlanView:
    """The area as it is planned, in so many cells. Raises KeyError for an area there is not."""
    found = plan.areas[area]
    plain = [Sign(point.name, point.at, Style.POINT) for point in found.points]
    return _drawn(plan, found, plain, (columns, rows), braille, None)


def signs(state: State, area: Area, stage: str, current: str | None = None) -> list[Sign]:
    """What each point of the area shows, in the order of the route."""
    ahead = state.next_unchecked(area.name, stage, area.place.get(current or "", -1)) if area.points else None
    shown = []
    for place, point in enumerate(area.points):
        surface = Surface(area.name, point.name, stage)
        style, shade = _judged(state, surface)
        here = point.name == current
        shown.append(Sign(point.name, point.at, style, shade, here, place == ahead and not here))
    return shown


def _judged(state: State, surface: Surface) -> tuple[Style, int]:
    shot = state.latest(surface)
    if shot is None:
        return Style.UNREAD, 0
    verdict = state.judge(shot, surface)
    # A reading that can't be judged, because its setup was struck, must be looked at as well.
    if verdict is None or state.in_doubt(shot):
        return Style.DOUBT, _shade(verdict) if verdict else 0
    return _STYLE_OF[verdict.word], _shade(verdict)


def _shade(verdict: Verdict) -> int:
    if verdict.word is Word.EXAMPLE:
        return 0  # off a figure that is not meant
    off = abs(verdict.difference)
    limit = verdict.tolerance.high if verdict.difference.metres >= 0 else verdict.tolerance.low
    steps = (off * 2 <= limit, off <= limit, off <= limit * 2)
    return next((shade for shade, within in enumerate(steps, 1) if within), 4)


# -- the drawing


def _drawn(
    plan: Plan, area: Area, shown: Sequence[Sign], size: tuple[int, int], braille: bool, falls: Sequence[Fall] | None
) -> PlanView:
    columns, rows = size
    placed = [sign for sign in shown if sign.at is not None]
    unplaced = [sign for sign in shown if sign.at is None]
    canvas = Canvas(columns, rows, braille=braille)
    beside = _beside(canvas, unplaced, alone=not placed and area.outline is None)
    hidden = 0
    if placed or area.outline is not None:
        part = Canvas(max(columns - beside, 1), max(rows - 1, 1), braille=braille)
        hidden = _plan(part, plan, area, placed, plan_falls(area) if falls is None else falls)
        canvas.paste(part)
        _scale(canvas, part, area, placed, plan.notation.units)
    used = {sign.style for sign in shown}
    key = _key(used, shown, hidden, columns, braille)
    return PlanView(canvas.drawing(), key, tuple(sign.point for sign in unplaced), hidden)


def _places(area: Area, placed: Iterable[Sign]) -> list[tuple[float, float]]:
    found = [metres(sign.at) for sign in placed if sign.at is not None]
    return found + ([metres(place) for place in area.outline.ring] if area.outline else [])


def _plan(canvas: Canvas, plan: Plan, area: Area, placed: Sequence[Sign], falls: Sequence[Fall]) -> int:
    """Draws all that has a place; gives how many points are hidden behind another."""
    view = canvas.view(_places(area, placed), margin=_MARGIN)
    if area.outline is not None:
        canvas.ring([view.dot(*metres(place)) for place in area.outline.ring], Style.OUTLINE)
        for hole in area.outline.holes:
            canvas.ring([view.dot(*metres(place)) for place in hole], Style.HOLE, every=2 if canvas.braille else 1)
    for wall in plan.walls.values():
        for start, end in pairwise(wall):
            canvas.line(view.dot(*metres(start)), view.dot(*metres(end)), Style.WALL, thick=True)
    cells: dict[Cell, Sign] = {}
    for sign in sorted(placed, key=lambda sign: sign.rank):
        assert sign.at is not None
        cells.setdefault(canvas.cell(view.dot(*metres(sign.at))), sign)
    ends = {cell: _sign(canvas, cell, sign, cells) for cell, sign in cells.items()}
    first = [cell for cell, sign in cells.items() if sign.current or sign.next]
    for cell in first:
        style = Style.CURRENT if cells[cell].current else Style.NEXT
        canvas.name(cell, ends[cell], cells[cell].point, style, always=cells[cell].current)
    _marks(canvas, plan, view)
    _falls(canvas, view, falls)
    for cell, sign in cells.items():
        if cell not in first:
            canvas.name(cell, ends[cell], sign.point, Style.NAME)
    return len(placed) - len(cells)


def _sign(canvas: Canvas, cell: Cell, sign: Sign, others: dict[Cell, Sign]) -> Cell:
    """Draws one sign with what stands around it; gives the columns it reaches from and to."""
    column, row = cell
    start = end = column
    canvas.text(cell, SIGNS[sign.style], sign.style)
    if sign.shade and (column + 1, row) not in others and canvas.holds((column + 1, row)):
        canvas.text((column + 1, row), (SHADES if canvas.braille else PLAIN_SHADES)[sign.shade - 1], sign.style)
        end += 1
    before = (column - 1, row)
    if sign.current or (sign.next and before not in others):
        canvas.text(before, CURRENT if sign.current else NEXT, Style.CURRENT if sign.current else Style.NEXT)
        start -= 1
    return start, end


def _marks(canvas: Canvas, plan: Plan, view: View) -> None:
    """The marks of given elevation that lie within the view, for the eye to find its way."""
    for mark in plan.benchmarks.values():
        if mark.at is not None:
            cell = canvas.cell(view.dot(*metres(mark.at)))
            if canvas.is_free(cell, 1, over_lines=True):
                canvas.text(cell, MARK, Style.MARK)
                canvas.name(cell, (cell[0], cell[0]), mark.name, Style.MARK)


def _falls(canvas: Canvas, view: View, falls: Sequence[Fall]) -> None:
    """An arrow for each fall, with its percent where there is room near the middle of the ground it holds for."""
    for fall in falls:
        column, row = canvas.cell(view.dot(*fall.at))
        head = arrow(*fall.way, braille=canvas.braille)
        near = [(column + right, row + down) for down in (0, 1, -1, 2, -2) for right in (0, 1, -1, 2, -2, 3, -3)]
        for text in (f"{head} {fall.percent}", head) if fall.percent else (head,):
            start = next((cell for cell in near if canvas.is_free(cell, width(text), over_lines=False)), None)
            if start is not None:
                canvas.text(start, text, Style.FALL)
                break


def _beside(canvas: Canvas, unplaced: Sequence[Sign], *, alone: bool) -> int:
    """Lists the points without a place at the right edge; gives the columns that takes."""
    if not unplaced:
        return 0
    told = [f"{CURRENT if sign.current else NEXT if sign.next else ' '}{SIGNS[sign.style]} {sign.point}"
            for sign in unplaced]  # fmt: skip
    if len(told) > canvas.rows - 1:
        kept = max(canvas.rows - 2, 0)
        # The current point is told even where it stands far down the list.
        told = sorted(told, key=lambda text: not text.startswith(CURRENT))
        told = [*told[:kept], f"and {len(told) - kept} more"]
    heading = "no place:"
    most = canvas.columns if alone else canvas.columns // 3
    long = min(max(map(width, (heading, *told))), most)
    start = 0 if alone else canvas.columns - long
    for row, text in enumerate((heading, *told)):
        style = Style.CURRENT if text.startswith(CURRENT) else Style.NOTE
        canvas.text((start, row), cut(text, long, ascii_only=not canvas.braille), style)
    return canvas.columns if alone else long + 1


def _scale(canvas: Canvas, part: Canvas, area: Area, placed: Sequence[Sign], units: Units) -> None:
    """A bar of a round length in the last row, and which way x and y run."""
    if canvas.rows < 2:
        return
    view = part.view(_places(area, placed), margin=_MARGIN)
    a_metre = view.across / part.dots[0]
    if not _places(area, placed) or a_metre <= 0:
        return
    long, words = scale_bar(max(canvas.columns // 4, 2) / a_metre, feet=units.imperial)
    bar = "|" + "-" * max(round(long * a_metre) - 1, 0) + "|"
    told = f"{bar} {words}"
    axes = f"{told}   x right, y up"
    canvas.text((0, canvas.rows - 1), axes if width(axes) <= canvas.columns else told, Style.NOTE)


def _key(used: set[Style], shown: Sequence[Sign], hidden: int, columns: int, braille: bool) -> tuple[str, ...]:
    """What the signs in this drawing mean, in lines no longer than the drawing where words allow."""
    told = [f"{SIGNS[style]} {words}" for style, words in _WORDS.items() if style in used]
    if any(sign.shade for sign in shown):
        half, whole, twice, more = tuple(SHADES if braille else PLAIN_SHADES)
        told += [
            f"{half} off by 1/2 of what is allowed at most",
            f"{whole} all of it",
            f"{twice} twice",
            f"{more} more",
        ]
    told += [f"{CURRENT} here"] * any(sign.current for sign in shown)
    told += [f"{NEXT} next unchecked"] * any(sign.next for sign in shown)
    if hidden:
        told.append(f"{hidden} {'point is' if hidden == 1 else 'points are'} hidden behind another")
    lines: list[str] = []
    for words in told:
        if lines and width(lines[-1]) + 3 + width(words) <= columns:
            lines[-1] += f"   {words}"
        else:
            lines.append(words)
    return tuple(lines)
