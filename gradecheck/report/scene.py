"""What a drawing of the ground shows, as plain data in plan coordinates: on screen, in a PDF, an SVG or a web page.

Places are metres, x to the right and y up. A point shows the sign of its verdict, and a shade: how far off it is,
counted in what is allowed. The back ends place these; they decide nothing about the ground.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gradecheck.catalogue import _
from gradecheck.checks.ties import Ties
from gradecheck.checks.verdict import Verdict
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.report.labels import Form
from gradecheck.report.plan_falls import FallArrow, metres, plan_falls
from gradecheck.report.rows import headline, off_text, shown
from gradecheck.state.state import State, Surface

Spot = tuple[float, float]
"""Metres to the right and up."""


class Style(StrEnum):
    """What a thing shows. A screen may color by it; a printout loses nothing without."""

    BLANK = ""
    OUTLINE = "outline"
    HOLE = "hole"
    WALL = "wall"
    FALL = "fall"
    MARK = "mark"
    POINT = "point"
    UNREAD = "unread"
    HIGH = "high"
    LOW = "low"
    ON = "on"
    CLOSE = "close"
    DOUBT = "doubt"
    CURRENT = "current"
    NEXT = "next"
    NAME = "name"
    NOTE = "note"
    TIE = "tie"
    WANTED = "wanted"
    FOUND = "found"
    BAND = "band"


SIGNS = {
    Style.HIGH: "+",
    Style.LOW: "-",
    Style.ON: "=",
    Style.CLOSE: "~",
    Style.DOUBT: "?",
    Style.UNREAD: ".",
    Style.POINT: "o",
    Style.MARK: "x",
}
"""What stands for each, so that nothing is told by a color alone."""
WORDS = {
    Style.HIGH: _("high: cut"),
    Style.LOW: _("low: fill"),
    Style.ON: _("on grade"),
    Style.CLOSE: _("too close to call"),
    Style.DOUBT: _("in doubt"),
    Style.UNREAD: _("not read"),
    Style.POINT: _("point"),
}
"""What the sign of a point means."""
UNIT_WORDS = {
    Units.IN: _("inches"),
    Units.FT_IN: _("feet and inches"),
    Units.FT: _("feet"),
    Units.MM: _("millimeters"),
    Units.CM: _("centimeters"),
    Units.M: _("meters"),
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
class ScenePoint:
    """A point: the style its sign comes from, and a shade from 1 to 4, 0 for none; `at` is None without a place.

    `figure` is written at it as it is, `said` the same with a word, as ``CUT 1/2`` for ``+1/2``; `what` is what
    the plan says of it.
    """

    name: str
    at: Spot | None
    style: Style
    shade: int = 0
    current: bool = False
    next: bool = False
    figure: str = ""
    said: str = ""
    what: str = ""
    labelled: bool = True

    @property
    def rank(self) -> tuple[int, int]:
        """Which of several points at one place is seen: the lowest."""
        if self.current or self.next:
            return (-2 if self.current else -1), 0
        return _FIRST_SEEN.index(self.style), -self.shade

    @property
    def forms(self) -> list[Form]:
        """Its label from the longest form to the shortest: the word goes first, then the name, a figure never."""
        if not self.labelled:
            return []
        found = [f"{self.name} {self.said}"] if self.said else []
        found += [f"{self.name} {self.figure}".rstrip()]
        found += [self.figure] if self.figure and self.style not in (Style.POINT, Style.MARK) else []
        return [(form,) for form in found]


@dataclass(frozen=True, slots=True)
class SceneLine:
    """A line from place to place, back to the first where it is closed."""

    places: tuple[Spot, ...]
    style: Style
    closed: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class Scene:
    """What is drawn; benchmarks and walls only as far as they lie in the view of points and outlines."""

    points: tuple[ScenePoint, ...]
    unplaced: tuple[ScenePoint, ...] = ()
    lines: tuple[SceneLine, ...] = ()
    walls: tuple[SceneLine, ...] = ()
    marks: tuple[ScenePoint, ...] = ()
    falls: tuple[FallArrow, ...] = ()
    ties: tuple[SceneLine, ...] = ()
    """Tapes, from where they are held to the point that they find."""

    @property
    def extent(self) -> list[Spot]:
        """The places that the view must hold."""
        lines = (*self.lines, *self.ties)
        return [point.at for point in self.points if point.at] + [at for line in lines for at in line.places]


def planned(plan: Plan, areas: Sequence[Area], *, figures: bool = True) -> Scene:
    """The areas as planned, each point with its finish as counted in its area."""
    points = [
        ScenePoint(
            point.name,
            _spot(point.at),
            Style.POINT,
            figure=shown(point.finish.height, plan.notation) if figures else "",
            what=point.what,
        )
        for area in areas
        for point in area.points
    ]
    return _scene(plan, areas, points, [fall for area in areas for fall in plan_falls(area)])


def set_out(plan: Plan, area: Area, tied: Sequence[tuple[Point, Ties | None]]) -> Scene:
    """The area's points with the tapes that find them, and the marks and corners that those are held at."""
    held = {tie.mark: tie.at for _, found in tied if found for tie in found.both}
    lines = [
        SceneLine((metres(tie.at), metres(point.at)), Style.TIE, name=tie.mark)
        for point, found in tied
        if found and point.at
        for tie in found.both
    ]
    marks = [ScenePoint(name, metres(at), Style.MARK) for name, at in held.items()]
    return replace(planned(plan, [area], figures=False), marks=tuple(marks), falls=(), ties=tuple(lines))


def as_built_scene(
    state: State,
    stages: Iterable[tuple[Area, str]],
    current: str | None = None,
    falls: Sequence[FallArrow] | None = None,
) -> Scene:
    """Areas as found, each at a stage, with the falls given or else the plan's."""
    stages = list(stages)
    points = [point for area, stage in stages for point in points_of(state, area, stage, current)]
    areas = [area for area, _ in stages]
    return _scene(
        state.plan, areas, points, [fall for area in areas for fall in plan_falls(area)] if falls is None else falls
    )


def _scene(plan: Plan, areas: Sequence[Area], points: Sequence[ScenePoint], falls: Sequence[FallArrow]) -> Scene:
    lines = [
        SceneLine(tuple(map(metres, ring)), Style.HOLE if number else Style.OUTLINE, closed=True, name=area.name)
        for area in areas
        if area.outline is not None
        for number, ring in enumerate((area.outline.ring, *area.outline.holes))
    ]
    walls = [SceneLine(tuple(map(metres, wall)), Style.WALL, name=name) for name, wall in plan.walls.items()]
    marks = [
        ScenePoint(mark.name, metres(mark.at), Style.MARK, figure=shown(mark.elevation.height, plan.notation))
        for mark in plan.benchmarks.values()
        if mark.at is not None
    ]
    return Scene(
        tuple(point for point in points if point.at is not None),
        tuple(point for point in points if point.at is None),
        tuple(lines),
        tuple(walls),
        tuple(marks),
        tuple(falls),
    )


def points_of(state: State, area: Area, stage: str, current: str | None = None) -> list[ScenePoint]:
    """What each point of the area shows, in the order of the route."""
    ahead = state.next_unchecked(area.name, stage, area.index.get(current or "", -1)) if area.points else None
    found = []
    for place, point in enumerate(area.points):
        surface = Surface(area.name, point.name, stage)
        style, shade, said = _judged(state, surface)
        here = point.name == current
        found.append(
            ScenePoint(
                point.name,
                _spot(point.at),
                style,
                shade,
                here,
                place == ahead and not here,
                off_text(state, surface),
                said,
                point.what,
            )
        )
    return found


def _spot(at: Place | None) -> Spot | None:
    return metres(at) if at is not None else None


def _judged(state: State, surface: Surface) -> tuple[Style, int, str]:
    shot = state.latest(surface)
    if shot is None:
        return Style.UNREAD, 0, ""
    verdict = state.judge(shot, surface)
    said = headline(verdict, state.plan.notation) if verdict and verdict.word in (Word.CUT, Word.FILL) else ""
    # A reading that can't be judged, because its setup was struck, must be looked at as well.
    if verdict is None or state.in_doubt(shot):
        return Style.DOUBT, _shade(verdict) if verdict else 0, said
    return _STYLE_OF[verdict.word], _shade(verdict), said


def _shade(verdict: Verdict) -> int:
    if verdict.word is Word.EXAMPLE:
        return 0  # off a figure that is not meant
    off = abs(verdict.difference)
    limit = verdict.tolerance.high if verdict.difference.metres >= 0 else verdict.tolerance.low
    steps = (off * 2 <= limit, off <= limit, off <= limit * 2)
    return next((shade for shade, within in enumerate(steps, 1) if within), 4)


# -- geometry that every back end needs


def scale_bar(most: float, *, feet: bool) -> tuple[float, str]:
    """The longest round length of so many metres at most, in metres and in words: 1, 2 or 5 and noughts."""
    one = 0.3048 if feet else 1.0
    power = 1e-6
    while power * 10 * one <= most:
        power *= 10
    count = power * max(step for step in (1, 2, 5) if step == 1 or power * step * one <= most)
    if feet and count < 1:
        inches = max((each for each in (6, 3, 1) if each * 0.0254 <= most), default=1)
        return inches * 0.0254, f"{inches} in"
    if not feet and count < 1:
        return count, f"{count * 1000:.6g} mm"
    return count * one, f"{count:.12g} {'ft' if feet else 'm'}"


def clipped(start: Spot, end: Spot, box: tuple[float, float, float, float]) -> tuple[Spot, Spot] | None:
    """The part of a line within left, top, right and bottom (Liang and Barsky's way), None where there is none."""
    along = end[0] - start[0], end[1] - start[1]
    first, last = 0.0, 1.0
    for axis in (0, 1):
        for way, room in ((-along[axis], start[axis] - box[axis]), (along[axis], box[axis + 2] - start[axis])):
            if way == 0 and room < 0:
                return None
            if way < 0:
                first = max(first, room / way)
            elif way > 0:
                last = min(last, room / way)
    if first > last:
        return None
    # An end that was not cut stays exactly where it is.
    one = start if first == 0 else (start[0] + along[0] * first, start[1] + along[1] * first)
    other = end if last == 1 else (start[0] + along[0] * last, start[1] + along[1] * last)
    return one, other
