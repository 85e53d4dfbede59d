"""A profile along points: the target, what it may be off, and what was measured.

What was measured is a full line, what is wanted a dotted one, and what is allowed a line of dots far apart; without
braille they are made of different letters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Area, Point
from gradecheck.plan.names import visible
from gradecheck.report.cells import Canvas, Drawing, View, cut, draw, width
from gradecheck.report.scene import Scene, SceneLine, ScenePoint, Style, points_of
from gradecheck.state.state import State, Surface

_EVENLY = "The plan does not say how far apart these points are; they are drawn evenly spaced."


@dataclass(frozen=True, slots=True)
class Station:
    """One point of a profile. `along` is None where it has no place, `wanted` where its datum is not tied.

    Heights are those shown, above the zero that elevations are shown from.
    """

    point: str
    along: Length | None
    wanted: Length | None
    tolerance: Tolerance | None = None
    found: Length | None = None
    style: Style = Style.POINT
    current: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """The drawing, and remarks about what is missing."""

    drawing: Drawing
    remarks: tuple[str, ...]


def stations(
    state: State, area: str, stage: str, points: Sequence[str] | None = None, current: str | None = None
) -> list[Station]:
    """The points named, or the area's route, as measured at that stage. Raises KeyError for a name there is not."""
    found = state.plan.areas[area]
    chosen = _chosen(found, points)
    shows = {each.name: each for each in points_of(state, found, stage, current)}
    made = []
    for point, along in zip(chosen, _along(chosen), strict=True):
        surface = Surface(area, point.name, stage)
        aim, shot = state.target(surface), state.latest(surface)
        measured = state.found(shot, surface) if shot else None
        made.append(
            Station(
                point.name,
                along,
                state.shown(aim.wanted) if aim else None,
                aim.tolerance if aim else None,
                state.shown(measured) if measured is not None else None,
                shows[point.name].style,
                point.name == current,
            )
        )
    return made


def _chosen(area: Area, points: Sequence[str] | None) -> list[Point]:
    return list(area.points) if points is None else [area.point(name) for name in points]


def _along(points: Sequence[Point]) -> list[Length | None]:
    """How far along the straight ways from one placed point to the next each one stands."""
    done, last, found = ZERO, None, list[Length | None]()
    for point in points:
        if point.at is None:
            found.append(None)
            continue
        done = done + (distance(last, point.at) if last is not None else ZERO)
        last = point.at
        found.append(done)
    return found


def profile(
    along: Sequence[Station],
    notation: Notation,
    columns: int,
    rows: int,
    *,
    braille: bool = True,
) -> Profile:
    """The profile in so many cells; heights have a scale of their own, the one that uses all rows."""
    tied = [station for station in along if station.wanted is not None]
    placed = [station for station in tied if station.along is not None]
    remarks = []
    if len({station.along for station in placed}) > 1:
        if left := [station.point for station in tied if station.along is None]:
            remarks.append(f"Without a place, and not drawn: {', '.join(left)}.")
    else:
        placed = [replace(station, along=Length(Fraction(number))) for number, station in enumerate(tied)]
        remarks += [_EVENLY] if len(placed) > 1 else []
    if waiting := [station.point for station in along if station.wanted is None]:
        remarks.append(f"Without an elevation until the datum is tied: {', '.join(waiting)}.")
    canvas = Canvas(columns, rows, braille=braille)
    if placed:
        _draw(canvas, placed, notation)
    return Profile(canvas.drawing(), tuple(map(visible, remarks)))


def _draw(canvas: Canvas, placed: Sequence[Station], notation: Notation) -> None:
    """Draws the band, the wanted line, what was measured, and the points: stations to the right, heights up."""
    heights = [up for each in placed for up in (*_limits(each), each.found) if up is not None]
    high, low = max(heights), min(heights)
    ends = [show(each, notation, unit=True) for each in ((high, low) if high > low else (high,))]
    ends = ends if canvas.rows > 1 else ends[:1]
    # Room at the left for the heights of the first and last row, and at the right for a name.
    room = min(max(map(width, ends)) + 2, canvas.columns // 2)
    for row, words in zip((0, canvas.rows - 1), ends, strict=False):
        canvas.text((0, row), cut(words, room, ascii_only=not canvas.braille), Style.NOTE)
    draw(canvas, _scene(placed), _view(canvas, placed, high, low, room))


def _view(canvas: Canvas, drawn: Sequence[Station], high: Length, low: Length, room: int) -> View:
    across, down = canvas.dots
    alongs = [station.along.metres for station in drawn if station.along is not None]
    long, tall = float(max(alongs) - min(alongs)), float((high - low).metres)
    # Where there is but one dot, all must come to lie within it.
    right = max(max(canvas.columns - room - 2, 1) * across - 1, 0.4) / long if long else 1.0
    below = max(canvas.rows * down - 1, 0.4) / tall if tall else 1.0
    top = high.metres if tall else high.metres + Fraction(canvas.rows * down, 2)
    return View(float(min(alongs)) - room * across / right, float(top), right, below)


def _scene(drawn: Sequence[Station]) -> Scene:
    """Stations and heights as places; between two points with an unread one between them nobody knows the ground."""
    lines = [
        SceneLine((_at(one, start), _at(other, end)), style)
        for one, other in pairwise(drawn)
        for start, end, style in zip(
            _limits(one), _limits(other), (Style.BAND, Style.BAND, Style.WANTED), strict=True
        )
    ]
    lines += [
        SceneLine((_at(one, one.found), _at(other, other.found)), Style.FOUND)
        for one, other in pairwise(drawn)
        if one.found is not None and other.found is not None
    ]
    points = [
        ScenePoint(each.point, _at(each, each.wanted if each.found is None else each.found), each.style,
                   current=each.current)
        for each in drawn
    ]  # fmt: skip
    return Scene(tuple(points), lines=tuple(lines))


def _at(station: Station, up: Length | None) -> tuple[float, float]:
    assert station.along is not None
    assert up is not None
    return float(station.along.metres), float(up.metres)


def _limits(station: Station) -> tuple[Length, Length, Length]:
    """The highest and lowest height allowed, and the wanted one."""
    assert station.wanted is not None
    allowed = station.tolerance or Tolerance(ZERO, ZERO)
    return station.wanted + allowed.high, station.wanted - allowed.low, station.wanted
