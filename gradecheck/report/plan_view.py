"""The plan view of an area in a terminal: the scene, the points without a place beside it, and a scale under it.

``>`` stands before the current point, ``*`` before the next unchecked one. Of several points in one cell, the one
that most needs to be seen shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gradecheck.catalogue import _, plural
from gradecheck.measure.notation import Units
from gradecheck.plan.model import Plan
from gradecheck.report.cells import (
    CURRENT,
    NEXT,
    PLAIN_SHADES,
    SHADES,
    Canvas,
    CellDrawing,
    View,
    cut_text,
    draw,
    sign_of,
    width,
)
from gradecheck.report.rows import minus
from gradecheck.report.scene import WORDS, Scene, ScenePoint, Spot, Style, as_built_scene, planned, scale_bar
from gradecheck.state.state import State

_MARGIN = (2, 0)
_FEW = 100
"""Points up to which a crowded map is drawn a second time, with figures alone."""
_ABOVE = 3
"""Rows for labels above the upper edge, those at a leader too, where the area leaves them free."""


@dataclass(frozen=True, slots=True)
class PlanView:
    """The drawing, what its signs mean, the points that have no place, and how many points hide behind another."""

    drawing: CellDrawing
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
) -> PlanView:
    """The area at that stage as it was measured, in so many cells. Raises KeyError for an area there is not."""
    scene = as_built_scene(state, [(state.plan.areas[area], stage)], current)
    # What is on grade needs no figure here; it keeps room for those that do.
    figures = (("" if each.style is Style.ON else minus(each.figure) if braille else each.figure, each)
               for each in scene.points)  # fmt: skip
    points = (replace(each, figure=figure) for figure, each in figures)
    return _drawn(state.plan, replace(scene, points=tuple(points)), (columns, rows), braille)


def bare_plan_view(
    plan: Plan,
    area: str | None,
    columns: int,
    rows: int,
    *,
    braille: bool = True,
    figures: bool = False,
    current: str | None = None,
) -> PlanView:
    """The area as it is planned (all of them without one), with its finishes where `figures` are wanted too.

    Raises KeyError for an area there is not.
    """
    scene = planned(plan, list(plan.areas.values()) if area is None else [plan.areas[area]], figures=figures)
    if current is not None:
        scene = replace(scene, points=tuple(replace(each, current=each.name == current) for each in scene.points))
    if figures and braille:
        scene = replace(scene, points=tuple(replace(each, figure=minus(each.figure)) for each in scene.points))
    return _drawn(plan, scene, (columns, rows), braille)


def _drawn(plan: Plan, scene: Scene, size: tuple[int, int], braille: bool) -> PlanView:
    columns, rows = size
    canvas = Canvas(columns, rows, braille=braille)
    extent = scene.extent
    beside = _beside(canvas, scene.unplaced, alone=not extent)
    hidden = unnamed = 0
    if extent:
        part, view, hidden, unnamed = _placed(canvas, scene, columns - beside, rows - 1)
        if unnamed and len(scene.points) <= _FEW:
            # Where words leave some figures without room, figures alone may all find it.
            short = replace(scene, points=tuple(replace(each, said="") for each in scene.points))
            other = _placed(canvas, short, columns - beside, rows - 1)
            part, view, hidden, unnamed = min(((part, view, hidden, unnamed), other), key=lambda way: way[3])
        canvas.paste(part)
        _scale(canvas, view.across / part.dots[0], plan.notation.units)
    key = _key((*scene.points, *scene.unplaced), hidden, unnamed, columns, braille)
    return PlanView(canvas.drawing(), key, tuple(point.name for point in scene.unplaced), hidden)


def _placed(canvas: Canvas, scene: Scene, columns: int, rows: int) -> tuple[Canvas, View, int, int]:
    """The scene on a part of the canvas, how many points hide behind another and how many have no room."""
    part = Canvas(max(columns, 1), max(rows, 1), braille=canvas.braille)
    view = _lower(part, part.view(scene.extent, margin=_MARGIN), scene.extent)
    return part, view, *draw(part, scene, view)


def _lower(part: Canvas, view: View, extent: Sequence[Spot]) -> View:
    """The view some rows farther down, where there are rows to spare: labels of the upper edge stand above it."""
    dots = part.dots[1]
    used = (max(y for _, y in extent) - min(y for _, y in extent)) * view.down / dots
    free = min(int(part.rows - used) // 2, _ABOVE)
    return replace(view, top=view.top + max(free, 0) * dots / view.down) if view.down else view


def _beside(canvas: Canvas, unplaced: Sequence[ScenePoint], *, alone: bool) -> int:
    """Lists the points without a place at the right edge; gives the columns that takes."""
    if not unplaced:
        return 0
    lines = []
    for point in unplaced:
        before = CURRENT if point.current else NEXT if point.next else " "
        lines.append(f"{before}{sign_of(point.style, braille=canvas.braille)} {point.name}")
    if len(lines) > canvas.rows - 1:
        kept = max(canvas.rows - 2, 0)
        # The current point is told even where it stands far down the list.
        lines = sorted(lines, key=lambda text: not text.startswith(CURRENT))
        lines = [*lines[:kept], _("and {number} more", number=len(lines) - kept)]
    heading = _("no place:")
    most = canvas.columns if alone else canvas.columns // 3
    long = min(max(map(width, (heading, *lines))), most)
    start = 0 if alone else canvas.columns - long
    for row, text in enumerate((heading, *lines)):
        style = Style.CURRENT if text.startswith(CURRENT) else Style.NOTE
        canvas.text((start, row), cut_text(text, long, ascii_only=not canvas.braille), style)
    return canvas.columns if alone else long + 1


def _scale(canvas: Canvas, a_metre: float, units: Units) -> None:
    """A bar of a round length in the last row, and which way x and y run; `a_metre` is one in columns."""
    if canvas.rows < 2 or a_metre <= 0:
        return
    long, words = scale_bar(max(canvas.columns // 4, 2) / a_metre, feet=units.imperial)
    bar = "|" + "-" * max(round(long * a_metre) - 1, 0) + "|"
    scale = f"{bar} {words}"
    axes = _("{shown}   x right, y up", shown=scale)
    canvas.text((0, canvas.rows - 1), axes if width(axes) <= canvas.columns else scale, Style.NOTE)


def _key(shown: Sequence[ScenePoint], hidden: int, unnamed: int, columns: int, braille: bool) -> tuple[str, ...]:
    """What the signs in this drawing mean, in lines no longer than the drawing where words allow."""
    used = {point.style for point in shown}
    signs = [f"{sign_of(style, braille=braille)} {words}" for style, words in WORDS.items() if style in used]
    if any(point.shade for point in shown):
        shades = SHADES if braille else PLAIN_SHADES
        signs.append(_("{shades} off: half, all, twice the tolerance, more", shades=shades))
    signs += [_("{current} here", current=CURRENT)] * any(point.current for point in shown)
    signs += [_("{next} next unchecked", next=NEXT)] * any(point.next for point in shown)
    if hidden:
        signs.append(plural(hidden, "{n} point is hidden behind another", "{n} points are hidden behind another"))
    if unnamed:
        signs.append(plural(unnamed, "{n} name has no room here", "{n} names have no room here"))
    lines: list[str] = []
    for words in signs:
        if lines and width(lines[-1]) + 3 + width(words) <= columns:
            lines[-1] += f"   {words}"
        else:
            lines.append(words)
    return tuple(lines)
