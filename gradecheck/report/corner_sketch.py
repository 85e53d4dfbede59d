"""A sketch of taped corners, to scale in terminal cells: names, what each side and diagonal shows, what to move."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import hypot

from gradecheck.catalogue import _
from gradecheck.checks.layout import Tape, to_tape
from gradecheck.checks.squaring import CornerMove, Pins, as_taped
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.plan.model import Layout
from gradecheck.report.cells import Canvas, CellDrawing, View, arrow, width
from gradecheck.report.layout import tape_text
from gradecheck.report.scene import Spot, Style, scale_bar
from gradecheck.state.state import State

_DIAGONAL_EVERY = 3
_ALONG = {"side": 1 / 2, "diagonal": 1 / 3}
"""Where the length stands: two diagonals cross in their middle, so there it would be of neither."""
_LOW = 9
"""Rows from which on there is one for the scale."""


def moves_line(moves: Sequence[CornerMove] | None, notation: Notation) -> str:
    """What to do in one sentence, as ``Move C 1/2 in toward B, then tape again.``; nothing where nothing is to do."""
    if not moves:
        return ""
    parts = []
    for move in moves:
        ways = [
            f"{show(abs(by), notation, unit=True)} {'toward' if by.metres > 0 else 'away from'} {end}"
            for end, by in move.along
        ]
        parts.append(f"{move.corner} {' and '.join(ways)}")
    return _("Move {corners}, then tape again.", corners="; ".join(parts))


def corner_sketch(
    state: State, layout: Layout, moves: Sequence[CornerMove] | None, columns: int, rows: int, *, braille: bool = True
) -> CellDrawing:
    """The corners as taped, or as planned until all is taped; a length in brackets is still to be taped.

    The name of a corner to move has the arrow of the way it goes.
    """
    notation = state.plan.notation
    taped = {pair: kept.fact.length for pair, kept in state.record.taped(layout.name).items()}
    pins = as_taped(layout.corners, taped) or {
        name: (float(x.metres), float(y.metres)) for name, (x, y) in layout.corners
    }
    said = {}
    for target in to_tape(layout.corners):
        kept = taped.get(target.pair)
        said[target] = tape_text(kept, notation) if kept is not None else f"({tape_text(target.length, notation)})"
    canvas = Canvas(columns, rows, braille=braille)
    room = min(max(map(width, said.values())) + 2, max(columns // 3, 1))
    part = Canvas(columns, max(rows - (rows >= _LOW), 1), braille=braille)
    view = part.view(pins.values(), margin=(room, min(1, rows // 4)))
    _lines(part, view, pins, said)
    _names(part, view, pins, {move.corner: _way(move, pins) for move in moves or ()})
    _lengths(part, view, pins, said)
    canvas.paste(part)
    if rows >= _LOW:
        a_metre = view.across / part.dots[0]
        long, words = scale_bar(max(columns // 4, 2) / a_metre, feet=notation.units.imperial)
        scale = f"|{'-' * max(round(long * a_metre) - 1, 0)}| {words}"
        more = _("   ( ) still to tape") if len(taped) < len(said) else ""
        canvas.text((0, rows - 1), f"{scale}{more}" if width(scale + more) <= columns else scale, Style.NOTE)
    return canvas.drawing()


def _way(move: CornerMove, pins: Pins) -> Spot:
    """Which way the corner goes, to the right and up."""
    x, y = pins[move.corner]
    right = up = 0.0
    for end, by in move.along:
        ex, ey = pins[end][0] - x, pins[end][1] - y
        far = hypot(ex, ey) or 1.0
        right, up = right + float(by.metres) * ex / far, up + float(by.metres) * ey / far
    return right, up


def _lines(canvas: Canvas, view: View, pins: Pins, tapes: Iterable[Tape]) -> None:
    """The diagonals dotted, and over them the sides."""
    for target in sorted(tapes, key=lambda target: target.kind):
        side = target.kind == "side"
        every = 1 if side else _DIAGONAL_EVERY if canvas.braille else 2
        ends = view.dot(*pins[target.start]), view.dot(*pins[target.end])
        canvas.line(*ends, Style.OUTLINE if side else Style.WANTED, every=every)


def _names(canvas: Canvas, view: View, pins: Pins, goes: Mapping[str, Spot]) -> None:
    for name, at in pins.items():
        column, row = canvas.cell(view.dot(*at))
        canvas.text((column, row), "o", Style.POINT)
        label = f"{name} {arrow(*goes[name], braille=canvas.braille)}" if name in goes else name
        style = Style.CURRENT if name in goes else Style.NAME
        canvas.label((column, row, column + 1, row + 1), column, (label,), style, always=True)


def _lengths(canvas: Canvas, view: View, pins: Pins, said: Mapping[Tape, str]) -> None:
    """Each length beside its side, outside, or on its diagonal; where another text is there already, near by."""
    middle = sum(x for x, _ in pins.values()) / len(pins), sum(y for _, y in pins.values()) / len(pins)
    for target, text in said.items():
        share, long = _ALONG[target.kind], width(text)
        (x1, y1), (x2, y2) = pins[target.start], pins[target.end]
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        column, row = canvas.cell(view.dot(x, y))
        if target.kind == "diagonal":
            at = column - long // 2, row
        elif abs(x2 - x1) > abs(y2 - y1):
            at = column - long // 2, row + (-1 if y > middle[1] else 1)
        else:
            at = (column + 2 if x > middle[0] else column - 1 - long), row
        if canvas.room.free((at[0], at[1], at[0] + long, at[1] + 1), 1):
            canvas.text(at, text, Style.NOTE)
        else:
            canvas.label((column, row, column + 1, row + 1), column, (text,), Style.NOTE)
