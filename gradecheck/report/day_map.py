"""An area's map for the daily report: outline, walls and points where they lie, each with how it was found."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from gradecheck.ground.spots import Place
from gradecheck.plan.model import Area
from gradecheck.report.drawing import Style, metres
from gradecheck.report.plan_view import signs
from gradecheck.report.rows import off_text
from gradecheck.state.state import State, Surface

MOST_NAMED = 60
"""Points on a map up to which each is named; above, only those that are out, in doubt or not read."""
SHOWS = {
    Style.HIGH: "high",
    Style.LOW: "low",
    Style.ON: "on",
    Style.CLOSE: "close",
    Style.DOUBT: "doubt",
    Style.UNREAD: "unread",
    Style.POINT: "unread",
}
Dot = tuple[float, float]
ROOM = 0.05
"""How far beside the area a wall may lie and still be drawn."""


@dataclass(frozen=True, slots=True)
class MapPoint:
    """One point: where it lies on the map, what it shows, and its name and difference where they are written."""

    x: float
    y: float
    shows: str
    name: str
    off: str


@dataclass(frozen=True, slots=True)
class AreaMap:
    """A map in units of its longer side, x to the right, y down; `width` and `height` are at most 1."""

    stage: str
    width: float
    height: float
    rings: tuple[tuple[Dot, ...], ...]
    walls: tuple[tuple[Dot, ...], ...]
    points: tuple[MapPoint, ...]
    unplaced: tuple[str, ...]


def area_map(state: State, area: Area, stage: str) -> AreaMap | None:
    """The area as it was found at that stage; None where the plan does not say where two of its points lie."""
    shown = signs(state, area, stage)
    placed = [(sign, metres(sign.at)) for sign in shown if sign.at is not None]
    rings = [area.outline.ring, *area.outline.holes] if area.outline else []
    spots = [dot for _, dot in placed] + [metres(place) for ring in rings for place in ring]
    xs, ys = {x for x, _ in spots}, {y for _, y in spots}
    if len(placed) < 2 or max(len(xs), len(ys)) < 2:
        return None
    side, left, top = max(max(xs) - min(xs), max(ys) - min(ys)), min(xs), max(ys)

    def dot(place: Dot) -> Dot:
        return round((place[0] - left) / side, 5), round((top - place[1]) / side, 5)

    points = []
    for sign, place in placed:
        named = len(placed) <= MOST_NAMED or SHOWS[sign.style] != "on"
        off = off_text(state, Surface(area.name, sign.point, stage)) if named else ""
        points.append(MapPoint(*dot(place), SHOWS[sign.style], sign.point if named else "", off))
    width, height = (max(xs) - left) / side, (top - min(ys)) / side
    walls = _dots(state.plan.walls.values(), dot)
    near = tuple(wall for wall in walls if all(_near(each, width, height) for each in wall))
    unplaced = tuple(sign.point for sign in shown if sign.at is None)
    return AreaMap(stage, width, height, _dots(rings, dot), near, tuple(points), unplaced)


def _dots(lines: Iterable[Iterable[Place]], dot: Callable[[Dot], Dot]) -> tuple[tuple[Dot, ...], ...]:
    return tuple(tuple(dot(metres(place)) for place in line) for line in lines)


def _near(dot: Dot, width: float, height: float) -> bool:
    return -ROOM <= dot[0] <= width + ROOM and -ROOM <= dot[1] <= height + ROOM
