"""A profile along a line from point to point: the target, what it may be off, and what was measured.

What was measured is a full line, what is wanted a dotted one, and what is allowed a line of dots far apart; without
braille they are made of different letters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import dist, hypot

from gradecheck.catalogue import _
from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Area, Point
from gradecheck.plan.names import visible
from gradecheck.report.cells import PLAIN_LINES, Canvas, CellDrawing, View, cut_text, draw, width
from gradecheck.report.plan_falls import metres
from gradecheck.report.rows import minus
from gradecheck.report.scene import Scene, SceneLine, ScenePoint, Spot, Style, points_of
from gradecheck.state.state import State, Surface

_EVENLY = _("The plan does not say how far apart these points are; they are drawn evenly spaced.")


@dataclass(frozen=True, slots=True)
class ProfilePoint:
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
    said: str = ""
    """What was found there with its word, as ``CUT 1/2``, where it is off."""


@dataclass(frozen=True, slots=True)
class Profile:
    """The drawing, and remarks about what is missing."""

    drawing: CellDrawing
    remarks: tuple[str, ...]


def stations(
    state: State, area: str, stage: str, points: Sequence[str] | None = None, current: str | None = None
) -> list[ProfilePoint]:
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
            ProfilePoint(
                point.name,
                along,
                state.shown(aim.wanted) if aim else None,
                aim.tolerance if aim else None,
                state.shown(measured) if measured is not None else None,
                shows[point.name].style,
                point.name == current,
                shows[point.name].said,
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


_BESIDE, _SHARE = 0.1524, 0.02
"""How far beside a line a point may stand and still be of it: 6 in, and a fiftieth of a long one."""
_NEAREST = 24
"""Points that a line is looked for to; in a large area those farther off would not be seen for it."""


def points_on_lines(area: Area, ends: Sequence[str]) -> list[str]:
    """The points of the area on the straight lines from each of these to the next, in the order they are passed."""
    placed = [(point.name, metres(point.at)) for point in area.points if point.at is not None]
    corners = [area.point(name) for name in ends]
    found = [corners[0].name]
    for one, other in pairwise(corners):
        if one.at is not None and other.at is not None:
            start, end = metres(one.at), metres(other.at)
            between = sorted((share, name) for name, at in placed if (share := _share(start, end, at)) is not None)
            found += [name for share, name in between if 0 < share < 1 and name not in (one.name, other.name)]
        found.append(other.name)
    return found


def line_through(area: Area, current: str) -> list[str]:
    """The straight line through a point that passes most others, those beyond either end too; else the whole route.

    Of several one that the route goes along, then the longest one; it begins at the end that is walked first.
    """
    placed = [(point.name, metres(point.at)) for point in area.points if point.at is not None]
    here = next((at for name, at in placed if name == current), None)
    if here is None:
        return [point.name for point in area.points]
    near = sorted((at for _, at in placed if at != here), key=lambda at: dist(at, here))[:_NEAREST]
    place = area.index[current]
    walked = {point.name for point in area.points[max(place - 1, 0) : place + 2]} - {current}
    lines = []
    for at in near:
        shares = sorted((share, name) for name, on in placed if (share := _share(here, at, on)) is not None)
        names, long = [name for _, name in shares], (shares[-1][0] - shares[0][0]) * dist(here, at)
        lines.append((len(names), not walked.isdisjoint(names), long, names))
    found = max(lines, key=lambda line: line[:3])[3] if lines else [current]
    return found if area.index[found[0]] <= area.index[found[-1]] else found[::-1]


def _share(start: Spot, end: Spot, at: Spot) -> float | None:
    """How far along from start to end a place is, in parts of that way; None where it stands beside the line."""
    (x, y), (ex, ey) = (at[0] - start[0], at[1] - start[1]), (end[0] - start[0], end[1] - start[1])
    long = hypot(ex, ey)
    if not long or abs(x * ey - y * ex) / long > max(_BESIDE, _SHARE * long):
        return None
    return (x * ex + y * ey) / long**2


def profile_key(*, braille: bool) -> str:
    """What the lines of a profile are, in words."""
    if braille:
        return _("full line: found   dots: target   sparse dots: tolerance")
    return _(
        "*: found   {target}: target   {tolerance}: tolerance",
        target=PLAIN_LINES[Style.WANTED],
        tolerance=PLAIN_LINES[Style.BAND],
    )


def profile(
    along: Sequence[ProfilePoint],
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
            remarks.append(_("Without a place, and not drawn: {left}.", left=", ".join(left)))
    else:
        placed = [replace(station, along=Length(Fraction(number))) for number, station in enumerate(tied)]
        remarks += [_EVENLY] if len(placed) > 1 else []
    if waiting := [station.point for station in along if station.wanted is None]:
        remarks.append(_("Without an elevation until the datum is tied: {waiting}.", waiting=", ".join(waiting)))
    canvas = Canvas(columns, rows, braille=braille)
    if placed:
        _draw(canvas, placed, notation)
    return Profile(canvas.drawing(), tuple(map(visible, remarks)))


def _draw(canvas: Canvas, placed: Sequence[ProfilePoint], notation: Notation) -> None:
    """Draws the band, the wanted line, what was measured, and the points: stations to the right, heights up."""
    heights = [up for each in placed for up in (*_limits(each), each.found) if up is not None]
    high, low = max(heights), min(heights)
    ends = [show(each, notation, unit=True) for each in ((high, low) if high > low else (high,))]
    ends = [minus(each) for each in ends] if canvas.braille else ends
    ends = ends if canvas.rows > 1 else ends[:1]
    # Room at the left for the heights of the first and last row, and at the right for a name.
    room = min(max(map(width, ends)) + 2, canvas.columns // 2)
    for row, words in zip((0, canvas.rows - 1), ends, strict=False):
        canvas.text((0, row), cut_text(words, room, ascii_only=not canvas.braille), Style.NOTE)
    draw(canvas, _scene(placed), _view(canvas, placed, high, low, room))


def _view(canvas: Canvas, drawn: Sequence[ProfilePoint], high: Length, low: Length, room: int) -> View:
    across, down = canvas.dots
    alongs = [station.along.metres for station in drawn if station.along is not None]
    long, tall = float(max(alongs) - min(alongs)), float((high - low).metres)
    # Where there is but one dot, all must come to lie within it.
    last = drawn[-1]
    tail = min(width(f"{last.point} {last.said}") + 1, canvas.columns // 4) if last.said else 2
    right = max(max(canvas.columns - room - tail, 1) * across - 1, 0.4) / long if long else 1.0
    below = max(canvas.rows * down - 1, 0.4) / tall if tall else 1.0
    top = high.metres if tall else high.metres + Fraction(canvas.rows * down, 2)
    return View(float(min(alongs)) - room * across / right, float(top), right, below)


def _scene(drawn: Sequence[ProfilePoint]) -> Scene:
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
                   current=each.current, said=each.said)
        for each in drawn
    ]  # fmt: skip
    return Scene(tuple(points), lines=tuple(lines))


def _at(station: ProfilePoint, up: Length | None) -> tuple[float, float]:
    assert station.along is not None
    assert up is not None
    return float(station.along.metres), float(up.metres)


def _limits(station: ProfilePoint) -> tuple[Length, Length, Length]:
    """The highest and lowest height allowed, and the wanted one."""
    assert station.wanted is not None
    allowed = station.tolerance or Tolerance(ZERO, ZERO)
    return station.wanted + allowed.high, station.wanted - allowed.low, station.wanted
