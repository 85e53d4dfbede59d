"""The plan view as an SVG, black on white: outlines, walls, points with their names and finishes, falls.

Every text is the content of an element, escaped; nothing in it is run, fetched or styled from outside. The page grows
until each point's name and finish has room of its own, up to a limit; past it they overlap, and none is left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.sax.saxutils import escape

from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.names import visible
from gradecheck.report.decides import DECIDES
from gradecheck.report.drawing import clipped, metres, scale_bar, width
from gradecheck.report.plan_changes import some_names
from gradecheck.report.plan_view import UNIT_WORDS, Fall, plan_falls
from gradecheck.report.rows import shown

SIZES = (760, 1100, 1600, 2300, 3300, 4700, 6700)
"""Longer sides of the drawing that are tried, in units of which a letter is `TEXT` high."""
TEXT = 11
_LETTER = 0.58 * TEXT
"""How wide a letter of a generic sans-serif font is taken to be."""
_DOT = 2.5
_EDGE = 90.0
"""Room around the drawing, for names at its edge, the title and the bar."""
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(frozen=True, slots=True)
class _Label:
    point: Point
    dot: tuple[float, float]
    texts: tuple[str, str]

    def boxes(self) -> Iterator[tuple[Box, str]]:
        """Where its two lines may stand around the dot, and which end of them is there."""
        long, (x, y) = max(width(text) for text in self.texts) * _LETTER, self.dot
        high, off = 2 * TEXT + 2, _DOT + 2
        for top in (y - high - 3, y + 3, y - high / 2):
            yield (x + off, top, x + off + long, top + high), "start"
            yield (x - off - long, top, x - off, top + high), "end"


def plan_svg(plan: Plan, areas: Sequence[Area]) -> str:
    """The areas on one page as the text of an SVG; points without a place are listed under the drawing.

    Elevations are the finishes, counted from the area's own zero where it has one.
    """
    placed = [point for area in areas for point in area.points if point.at is not None]
    left_out = [point for area in areas for point in area.points if point.at is None]
    rings = [ring for area in areas if area.outline for ring in (area.outline.ring, *area.outline.holes)]
    places = [metres(point.at) for point in placed if point.at] + [metres(place) for ring in rings for place in ring]
    for size in SIZES:
        sheet = _Page(places, size)
        labels, crowded = _labels(plan, areas, sheet, to_the_end=size == SIZES[-1])
        if not crowded:
            break
    body = [*_outlines(areas, sheet), *_walls(plan, sheet), *_marks(plan, sheet)]
    taken = _Taken()
    for label, box, _ in labels:
        taken.add(box)
        taken.add(_around(label.dot))
    body += [each for area in areas for fall in plan_falls(area) for each in _fall(fall, sheet, taken)]
    body += [each for label, box, end in labels for each in _point(label, box, end)]
    body += _title(plan, areas, sheet)
    body += _bar(plan, sheet) if places else []
    listed = _listed(plan, left_out, sheet)
    high = sheet.high + len(listed) * (TEXT + 4)
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(sheet.wide)}" height="{_n(high)}" '
            f'viewBox="0 0 {_n(sheet.wide)} {_n(high)}" font-family="sans-serif" font-size="{TEXT}" fill="black">',
            f"<title>{_text(_heading(plan, areas))}</title>",
            f'<rect width="{_n(sheet.wide)}" height="{_n(high)}" fill="white"/>',
            *body,
            *listed,
            "</svg>\n",
        )
    )


class _Page:
    """How places in metres lie on a page: x to the right, y up."""

    def __init__(self, places: Sequence[tuple[float, float]], size: int) -> None:
        xs, ys = zip(*places, strict=True) if places else ((0.0,), (0.0,))
        self.left, self.top = min(xs), max(ys)
        wide, high = max(xs) - self.left, self.top - min(ys)
        self.scale = size / max(wide, high) if max(wide, high) else 1.0
        self.wide = max(wide * self.scale + 2 * _EDGE, 420.0)
        self.high = high * self.scale + 2 * _EDGE
        self.bounds: Box = (_EDGE / 2, _EDGE / 2, self.wide - _EDGE / 2, self.high - _EDGE / 2)

    def dot(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.left) * self.scale + _EDGE, (self.top - y) * self.scale + _EDGE


class _Taken:
    """Boxes on the page that hold something, found again by the squares they lie in."""

    SQUARE = 60.0

    def __init__(self) -> None:
        self._boxes: dict[tuple[int, int], list[Box]] = defaultdict(list)

    def _squares(self, box: Box) -> Iterator[tuple[int, int]]:
        for x in range(int(box[0] // self.SQUARE), int(box[2] // self.SQUARE) + 1):
            for y in range(int(box[1] // self.SQUARE), int(box[3] // self.SQUARE) + 1):
                yield x, y

    def add(self, box: Box) -> None:
        for square in self._squares(box):
            self._boxes[square].append(box)

    def free(self, box: Box) -> bool:
        # What was laid last lies in the way most often, where points follow on one another.
        near = (other for square in self._squares(box) for other in reversed(self._boxes.get(square, ())))
        return not any(
            box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3] for other in near
        )


def _around(dot: tuple[float, float]) -> Box:
    return dot[0] - _DOT, dot[1] - _DOT, dot[0] + _DOT, dot[1] + _DOT


def _labels(
    plan: Plan, areas: Sequence[Area], sheet: _Page, *, to_the_end: bool
) -> tuple[list[tuple[_Label, Box, str]], bool]:
    """Each placed point's label with its box, and whether one had to be laid over others; that is the end, or not."""
    made = [
        _Label(point, sheet.dot(*metres(point.at)), (point.name, shown(point.finish.height, plan.notation)))
        for area in areas
        for point in area.points
        if point.at is not None
    ]
    taken, found, crowded = _Taken(), list[tuple[_Label, Box, str]](), False
    for label in made:
        taken.add(_around(label.dot))
    for label in made:
        ways = list(label.boxes())
        free = next(((box, end) for box, end in ways if taken.free(box)), None)
        crowded = crowded or free is None
        if crowded and not to_the_end:
            break
        box, end = free or ways[0]
        taken.add(box)
        found.append((label, box, end))
    return found, crowded


# -- the parts of the page


def _n(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


def _text(text: str) -> str:
    return escape(visible(text))


def _written(x: float, y: float, text: str, *, end: str = "start", size: int = TEXT, bold: bool = False) -> str:
    more = f' font-size="{size}"' if size != TEXT else ""
    more += ' font-weight="bold"' if bold else ""
    more += f' text-anchor="{end}"' if end != "start" else ""
    # A white edge under the letters keeps them apart from lines they cross.
    edge = ' stroke="white" stroke-width="3" paint-order="stroke"'
    return f'<text x="{_n(x)}" y="{_n(y)}"{more}{edge}>{_text(text)}</text>'


def _path(dots: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in dots)


def _outlines(areas: Sequence[Area], sheet: _Page) -> Iterator[str]:
    for area in areas:
        if area.outline is None:
            continue
        for number, ring in enumerate((area.outline.ring, *area.outline.holes)):
            dashes = ' stroke-dasharray="5 3"' if number else ""
            dots = _path(sheet.dot(*metres(place)) for place in ring)
            kind = "hole" if number else "outline"
            yield f'<polygon class="{kind}" points="{dots}" fill="none" stroke="black"{dashes}/>'


def _walls(plan: Plan, sheet: _Page) -> Iterator[str]:
    """The walls as far as they lie on the page."""
    for name, wall in plan.walls.items():
        dots = [sheet.dot(*metres(place)) for place in wall]
        for one, other in pairwise(dots):
            if part := clipped(one, other, sheet.bounds):
                (x1, y1), (x2, y2) = part
                yield (
                    f'<line class="wall" x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" stroke="black" '
                    f'stroke-width="4"><title>{_text(name)}</title></line>'
                )


def _marks(plan: Plan, sheet: _Page) -> Iterator[str]:
    """Marks of given elevation on the page: a cross with the name under it."""
    left, top, right, bottom = sheet.bounds
    for mark in plan.benchmarks.values():
        if mark.at is None:
            continue
        x, y = sheet.dot(*metres(mark.at))
        if left <= x <= right and top <= y <= bottom:
            yield (
                f'<path class="mark" d="M{_n(x - 4)} {_n(y - 4)}L{_n(x + 4)} {_n(y + 4)}M{_n(x - 4)} {_n(y + 4)}'
                f'L{_n(x + 4)} {_n(y - 4)}" stroke="black"/>'
            )
            told = f"{mark.name} {shown(mark.elevation.height, plan.notation)}"
            yield _written(x, y + TEXT + 5, told, end="middle")


def _point(label: _Label, box: Box, end: str) -> Iterator[str]:
    x, y = label.dot
    told = " ".join((*label.texts, *((label.point.what,) if label.point.what else ())))
    dot = f'<circle class="point" cx="{_n(x)}" cy="{_n(y)}" r="{_DOT}" stroke="white">'
    yield f"{dot}<title>{_text(told)}</title></circle>"
    at = box[0] if end == "start" else box[2]
    yield _written(at, box[1] + TEXT, label.texts[0], end=end, bold=True)
    yield _written(at, box[1] + 2 * TEXT + 1, label.texts[1], end=end)


def _fall(fall: Fall, sheet: _Page, taken: _Taken) -> Iterator[str]:
    """An arrow down the fall with its percent beside it, where it lies on nothing else.

    One with a percent may stand a little aside; a step's stays where it is, short where there is little room.
    """
    right, down = fall.way[0], -fall.way[1]
    words = width(fall.percent) * _LETTER
    middle = sheet.dot(*fall.at)
    tries = [(at, 34.0) for at in _near(middle)] if fall.percent else [(middle, 34.0), (middle, 16.0), (middle, 11.0)]
    for (x, y), long in tries:
        tip, tail = (x + right * long / 2, y + down * long / 2), (x - right * long / 2, y - down * long / 2)
        xs, ys = sorted((tip[0], tail[0])), sorted((tip[1], tail[1]))
        shaft = (xs[0] - 3, ys[0], xs[1] + 3, ys[1])
        told = (shaft[2] + 2, y - TEXT / 2, shaft[2] + 2 + words, y + TEXT / 2 + 1)
        if taken.free(shaft) and (not fall.percent or taken.free(told)):
            break
    else:
        return
    taken.add(shaft)
    wings = [
        (tip[0] - right * 8 + side * down * 3.5, tip[1] - down * 8 - side * right * 3.5) for side in (1, -1)
    ]  # fmt: skip
    (x1, y1), (x2, y2) = tail, tip
    yield f'<line class="fall" x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" stroke="black"/>'
    yield f'<polygon class="head" points="{_path([tip, *wings])}"/>'
    if fall.percent:
        taken.add(told)
        yield _written(told[0], y + TEXT / 2 - 1, fall.percent)


def _near(middle: tuple[float, float]) -> Iterator[tuple[float, float]]:
    yield middle
    for far in (20.0, 40.0, 60.0):
        for right, down in ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            yield middle[0] + right * far, middle[1] + down * far


def _heading(plan: Plan, areas: Sequence[Area]) -> str:
    named = f" · {areas[0].name}" if len(areas) == 1 else ""
    return f"{plan.job}{named}"


def _title(plan: Plan, areas: Sequence[Area], sheet: _Page) -> Iterator[str]:
    yield _written(16, 26, _heading(plan, areas), size=16, bold=True)
    what = f"{areas[0].what}; " if len(areas) == 1 and areas[0].what else ""
    yield _written(
        16, 43, f"{what}finish elevations in {UNIT_WORDS[plan.notation.units]}, falls in percent. {DECIDES}"
    )
    zeros = [f"{area.name} is counted from {area.datum}" for area in areas if area.datum]
    changed = [point.name for area in areas for point in area.points if point.on_site]
    if told := [*zeros, *([f"changed on site: {some_names(changed)}"] if changed else [])]:
        yield _written(16, 58, "; ".join(told))


def _bar(plan: Plan, sheet: _Page) -> Iterator[str]:
    """A bar of a round length, and which way x and y run; nothing is said about north."""
    long, words = scale_bar(200 / sheet.scale, feet=plan.notation.units.imperial)
    x, y, end = 16.0, sheet.high - 18, 16 + long * sheet.scale
    yield (f'<path class="bar" d="M{_n(x)} {_n(y - 5)}V{_n(y)}H{_n(end)}V{_n(y - 5)}" fill="none" stroke="black"/>')
    yield _written(end + 8, y, f"{words}   x to the right, y up")


def _listed(plan: Plan, left_out: Sequence[Point], sheet: _Page) -> list[str]:
    told = [f"{point.name} {shown(point.finish.height, plan.notation)} {point.what}".rstrip() for point in left_out]
    lines = ["Points without a place:", *told] if told else []
    return [_written(16, sheet.high + number * (TEXT + 4), text) for number, text in enumerate(lines)]
