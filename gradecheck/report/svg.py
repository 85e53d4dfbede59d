"""A scene as an SVG, black on white: for the grade plan, the PDF and the web page of the daily report.

Every text is the content of an element, escaped; nothing in it is run, fetched or styled from outside. A grade plan's
page grows until each label has room; what has none on the largest is listed under the drawing, and none is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, pairwise
from xml.sax.saxutils import escape

from gradecheck.catalogue import _
from gradecheck.measure.printed import some
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.names import visible
from gradecheck.report.cells import width
from gradecheck.report.decides import DECIDES
from gradecheck.report.labels import Box, Form, Letters, Placed, Room, place
from gradecheck.report.plan_falls import FallArrow
from gradecheck.report.rows import minus, rounding
from gradecheck.report.scene import (
    SIGNS,
    UNIT_WORDS,
    WORDS,
    Scene,
    ScenePoint,
    Spot,
    Style,
    clipped,
    planned,
    scale_bar,
    set_out,
)
from gradecheck.report.setting_out import ties

SIZES = (760, 1100, 1600, 2300, 3300, 4700, 6700)
"""Longer sides of the drawing that are tried, in units of which a letter is `TEXT` high."""
TEXT = 11
_LETTER = 0.58 * TEXT
"""How wide a letter of a usual sans-serif font is taken to be."""
_DOT = 2.5
_SIGN = 5.0
"""Half of what a sign takes, across and down."""
_WIDEST = 500.0
"""Room for a label at the edge; a name longer than that is listed."""
UNIT = 25.4 / 96
"""Millimetres of paper to one unit of a drawing, so that a letter is some 3 mm high."""
_INCH_SCALES = {12: "1 in = 1 ft", 24: "1/2 in = 1 ft", 48: "1/4 in = 1 ft", 96: "1/8 in = 1 ft"}
"""Scales of drawings in feet, those below come as one inch for so many feet (common practice, no source)."""
_LEAN = 0.1
"""Share of the labels that may stand off with a leader before a larger page is tried; two may always."""


def _size(form: Form) -> tuple[float, float]:
    return max(map(width, form)) * _LETTER, len(form) * (TEXT + 1)


_CLOSE = Letters(_size, beside=1, above=0, apart=1, row=TEXT + 2, rows=0)
_LETTERS = Letters(_size, beside=1, above=0, apart=1, row=TEXT + 2, rows=8)


@dataclass(frozen=True, slots=True)
class Page:
    """How places in metres lie on a page, x to the right and y up, within a room around the drawing."""

    left: float
    top: float
    scale: float
    wide: float
    high: float
    edge: tuple[float, float]
    stated: str = ""
    """The round scale it has when it is printed as large as it says, in words; empty where it has none."""

    @property
    def bounds(self) -> Box:
        """What may be drawn on: not the outer half of the room."""
        right, down = self.edge[0] / 2, self.edge[1] / 2
        return right, down, self.wide - right, self.high - down

    def dot(self, x: float, y: float) -> Spot:
        """A place on the page."""
        return (x - self.left) * self.scale + self.edge[0], (self.top - y) * self.scale + self.edge[1]


def largest_page(
    places: Sequence[Spot],
    wide: float,
    high: float,
    edge: tuple[float, float],
    least: float = 0,
    *,
    stated_in_feet: bool | None = None,
) -> Page:
    """The largest true page whose drawing is so wide and high at most; it is `least` wide with its edges.

    The drawing stands in the middle. Where `stated_in_feet` is given, its scale is a round one of feet or of metres.
    """
    xs, ys = zip(*places, strict=True) if places else ((0.0,), (0.0,))
    across, down = max(xs) - min(xs), max(ys) - min(ys)
    scale = min([each for each in (wide / across if across else 0, high / down if down else 0) if each] or [1.0])
    stated = ""
    if stated_in_feet is not None:
        times, stated = round_scale(1000 / (scale * UNIT), feet=stated_in_feet)
        scale = 1000 / (times * UNIT)
    side = max(edge[0], (least - across * scale) / 2)
    return Page(
        min(xs), max(ys), scale, across * scale + 2 * side, down * scale + 2 * edge[1], (side, edge[1]), stated
    )


def round_scale(times: float, *, feet: bool) -> tuple[int, str]:
    """The first round scale that is so many times smaller than life or more, as a number and in words."""
    if feet and (found := next((each for each in _INCH_SCALES if each >= times), None)) is not None:
        return found, f"1:{found} ({_INCH_SCALES[found]})"
    for power in count():
        for step in (10, 20, 30, 40, 50, 60) if feet else (10, 20, 25, 50):
            size = step * 10**power
            if feet and 12 * size >= times:
                return 12 * size, f"1:{12 * size} (1 in = {size} ft)"
            if not feet and size >= times:
                return size, f"1:{size}"
    raise AssertionError("numbers end")  # pragma: no cover


_Dot = tuple[ScenePoint, Spot]


@dataclass(frozen=True, slots=True)
class Body:
    """The elements of a drawing, and the points whose label found no room on it."""

    elements: tuple[str, ...]
    unnamed: tuple[ScenePoint, ...]


def body(scene: Scene, sheet: Page, head: float, foot: float, *, stacked: bool) -> Body:
    """The scene on that page, whose head and foot are so high and hold no labels.

    Labels have their figure under the name where they are `stacked`.
    """
    room, dots, marks = _signed(scene, sheet, head, foot)
    lines = _crossed(scene, sheet)
    labels, full = list[tuple[ScenePoint, Spot, Placed | None]](), set[tuple[int, int]]()
    for point, dot in (*dots, *marks):
        # Where one label found no room the next at the same place finds none either; looking costs time.
        here = round(dot[0] / TEXT), round(dot[1] / TEXT)
        found = None if here in full else _placed(room, lines, point, dot, _LETTERS, stacked=stacked)
        if found is None and point.labelled:
            full.add(here)
        labels.append((point, dot, found))
    drawn = [*_lines(scene, sheet), *_ties(scene, sheet), *_walls(scene, sheet)]
    drawn += [each for fall in scene.falls for each in _fall(fall, sheet, room, lines)]
    for point, dot, found in reversed(labels):  # what most needs to be seen comes last, over the others
        drawn += _sign(point, dot)
        loud = stacked or point.style in (Style.HIGH, Style.LOW, Style.DOUBT)
        drawn += _label(found, dot, bold=loud and point.style is not Style.MARK) if found else ()
    return Body(
        tuple(drawn),
        tuple(point for point, _, found in labels if found is None and point.labelled),
    )


def _signed(scene: Scene, sheet: Page, head: float, foot: float) -> tuple[Room, list[_Dot], list[_Dot]]:
    """The room on the page with all signs in it; points, and benchmarks as far as they lie on the page."""
    room = Room((4, head, sheet.wide - 4, sheet.high - foot), 30)
    dots = [(point, sheet.dot(*point.at)) for point in sorted(scene.points, key=lambda each: each.rank) if point.at]
    left, top, right, bottom = sheet.bounds
    marks = [(mark, sheet.dot(*mark.at)) for mark in scene.marks if mark.at]
    marks = [(mark, (x, y)) for mark, (x, y) in marks if left <= x <= right and top <= y <= bottom]
    for _shown, dot in (*dots, *marks):
        room.take(_around(dot))
    return room, dots, marks


def _fits(scene: Scene, sheet: Page, head: float, foot: float) -> bool:
    """Whether nearly all labels find room beside their sign; a few may stand off with a leader."""
    room, dots, _ = _signed(scene, sheet, head, foot)
    left = max(2, int(_LEAN * len(dots)))
    for point, dot in dots:
        left -= _placed(room, None, point, dot, _CLOSE, stacked=True) is None
        if left < 0:
            return False
    return True


def on_paper(scene: Scene) -> Scene:
    """The scene with figures as they are printed, so that no rounding mark runs together with a minus."""

    def printed(points: tuple[ScenePoint, ...]) -> tuple[ScenePoint, ...]:
        return tuple(replace(each, figure=minus(rounding(each.figure))) for each in points)

    return replace(scene, points=printed(scene.points), unplaced=printed(scene.unplaced), marks=printed(scene.marks))


def _longest(scene: Scene) -> float:
    """What the longest label needs beside its sign."""
    return (
        max((_size(form)[0] for point in (*scene.points, *scene.marks) for form in point.forms[:1]), default=0)
        + 2 * _SIGN
        + 6
    )


def _around(dot: Spot) -> Box:
    return dot[0] - _SIGN, dot[1] - _SIGN, dot[0] + _SIGN, dot[1] + _SIGN


def _crossed(scene: Scene, sheet: Page) -> Room:
    """Where lines run, in pieces of a letter's height."""
    room = Room((-math.inf, -math.inf, math.inf, math.inf), 60)
    for line in (*scene.lines, *scene.walls):
        dots = [sheet.dot(*at) for at in ((*line.places, *line.places[:1]) if line.closed else line.places)]
        for part in (clipped(one, other, sheet.bounds) for one, other in pairwise(dots)):
            if part is None:
                continue
            (x, y), (right, down) = part[0], (part[1][0] - part[0][0], part[1][1] - part[0][1])
            steps = int(max(abs(right), abs(down)) // TEXT) + 1
            for step in range(steps):
                xs = sorted((x + right * step / steps, x + right * (step + 1) / steps))
                ys = sorted((y + down * step / steps, y + down * (step + 1) / steps))
                room.take((xs[0] - 1, ys[0] - 1, xs[1] + 1, ys[1] + 1))
    return room


def _placed(
    room: Room, lines: Room | None, point: ScenePoint, dot: Spot, letters: Letters, *, stacked: bool
) -> Placed | None:
    under = stacked and point.figure and point.style is not Style.MARK
    forms = [(point.name, point.figure)] if under else point.forms
    named = [form for form in forms if form != (point.figure,)]

    def crosses(box: Box) -> bool:
        return lines is not None and not lines.free(box)

    # A leader to a label with its name is better than a figure alone, which nobody can look up.
    tries = (named, forms[len(named) :])
    places = (place(room, _around(dot), dot[0], each, letters, crosses) for each in tries)
    return next((found for found in places if found is not None), None)


# -- the parts


def n(number: float) -> str:
    """A number as it stands in an SVG."""
    return f"{number:.2f}".rstrip("0").rstrip(".")


def text_of(text: str) -> str:
    """A text as the content of an element."""
    return escape(visible(text))


def svg_text(
    x: float, y: float, text: str, *, end: str = "start", size: int = TEXT, bold: bool = False, over: bool = False
) -> str:
    """A text at its base line; where it stands `over` lines, a white edge under the letters keeps them apart."""
    more = (f' font-size="{size}"') if size != TEXT else ""
    more += ' font-weight="bold"' if bold else ""
    more += (f' text-anchor="{end}"') if end != "start" else ""
    # An element of its own: some viewers paint the edge of one over its letters, whichever order is asked for.
    edge = ' fill="white" stroke="white" stroke-width="3" stroke-linejoin="round"'
    under = f'<text class="halo" aria-hidden="true" x="{n(x)}" y="{n(y)}"{more}{edge}>{text_of(text)}</text>'
    return (under if over else "") + f'<text x="{n(x)}" y="{n(y)}"{more}>{text_of(text)}</text>'


def _path(dots: Iterable[Spot]) -> str:
    return " ".join(f"{n(x)},{n(y)}" for x, y in dots)


def _line(kind: str, one: Spot, other: Spot, more: str = "", inside: str = "") -> str:
    (x1, y1), (x2, y2) = one, other
    ends = f'x1="{n(x1)}" y1="{n(y1)}" x2="{n(x2)}" y2="{n(y2)}"'
    return f'<line class="{kind}" {ends} stroke="black"{more}' + (f">{inside}</line>" if inside else "/>")


def _lines(scene: Scene, sheet: Page) -> Iterator[str]:
    for line in scene.lines:
        dashes = ' stroke-dasharray="5 3"' if line.style is Style.HOLE else ""
        dots = _path(sheet.dot(*at) for at in line.places)
        shape = "polygon" if line.closed else "polyline"
        yield f'<{shape} class="{line.style.value}" points="{dots}" fill="none" stroke="black"{dashes}/>'


def _ties(scene: Scene, sheet: Page) -> Iterator[str]:
    """The tapes, thin, so that the outlines stay what is seen first."""
    for tie in scene.ties:
        start, end = (sheet.dot(*at) for at in tie.places)
        yield _line("tie", start, end, ' stroke-width="0.5" stroke-dasharray="2 2"')


def _walls(scene: Scene, sheet: Page) -> Iterator[str]:
    """The walls as far as they lie on the page."""
    for wall in scene.walls:
        for one, other in pairwise([sheet.dot(*at) for at in wall.places]):
            if part := clipped(one, other, sheet.bounds):
                yield _line("wall", *part, ' stroke-width="4"', f"<title>{text_of(wall.name)}</title>")


def _sign(point: ScenePoint, dot: Spot) -> Iterator[str]:
    """A dot for a planned point, a cross for a benchmark, else the sign of its verdict in a ring."""
    x, y = dot
    title = " ".join(filter(None, (point.name, point.said or point.figure, point.what)))
    if point.style is Style.MARK:
        cross = f"M{n(x - 4)} {n(y - 4)}L{n(x + 4)} {n(y + 4)}M{n(x - 4)} {n(y + 4)}L{n(x + 4)} {n(y - 4)}"
        yield f'<path class="mark" d="{cross}" stroke="black"/>'
        return
    yield from svg_sign(point.style, x, y, f"<title>{text_of(title)}</title>")


def svg_sign(style: Style, x: float, y: float, title: str = "") -> Iterator[str]:
    """What stands for a point of that style, on a map and in its legend."""
    if style is Style.POINT:
        yield f'<circle class="point" cx="{n(x)}" cy="{n(y)}" r="{_DOT}" stroke="white">{title}</circle>'
        return
    out = style in (Style.HIGH, Style.LOW)
    ring = 'fill="black"' if out else 'fill="white" stroke="black"'
    yield f'<circle class="point" cx="{n(x)}" cy="{n(y)}" r="4.5" {ring}>{title}</circle>'
    shown = {"-": "\N{MINUS SIGN}", ".": "\N{MIDDLE DOT}"}.get(SIGNS[style], SIGNS[style])
    ink = ' fill="white"' if out else ""
    yield (f'<text class="sign" x="{n(x)}" y="{n(y + 3)}" font-size="9" font-weight="bold" '
           f'text-anchor="middle"{ink}>{shown}</text>')  # fmt: skip


def _label(placed: Placed, dot: Spot, *, bold: bool) -> Iterator[str]:
    """A label; it ends at its sign where it stands left of that."""
    left, top, right, _ = placed.box
    if placed.leader:
        x1, y1, x2, y2 = placed.leader
        yield _line("leader", (x1, y1), (x2, y2), ' stroke-width="0.5"')
    end, at = (
        ("end", right) if right <= dot[0] else ("start", left) if left >= dot[0] else ("middle", (left + right) / 2)
    )
    if left < dot[0] < right and abs(left - dot[0]) < 6:
        end, at = "start", left
    elif left < dot[0] < right and abs(right - dot[0]) < 6:
        end, at = "end", right
    for number, line in enumerate(placed.lines, 1):
        yield svg_text(at, top + number * (TEXT + 1) - 2, line, end=end, bold=bold and number == 1, over=True)


def _fall(fall: FallArrow, sheet: Page, room: Room, lines: Room) -> Iterator[str]:
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
        text_box = (shaft[2] + 2, y - TEXT / 2, shaft[2] + 2 + words, y + TEXT / 2 + 1)
        if room.free(shaft) and (not fall.percent or (room.free(text_box) and lines.free(text_box))):
            break
    else:
        return
    room.take(shaft)
    wings = [(tip[0] - right * 8 + side * down * 3.5, tip[1] - down * 8 - side * right * 3.5) for side in (1, -1)]
    yield _line("fall", tail, tip)
    yield f'<polygon class="head" points="{_path([tip, *wings])}"/>'
    if fall.percent:
        room.take(text_box)
        yield svg_text(text_box[0], y + TEXT / 2 - 1, fall.percent, over=True)


def _near(middle: Spot) -> Iterator[Spot]:
    yield middle
    for far in (20.0, 40.0, 60.0):
        for right, down in ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            yield middle[0] + right * far, middle[1] + down * far


def svg(
    wide: float, high: float, title: str, elements: Iterable[str], *, font: str = "sans-serif", paper: str = "white"
) -> str:
    """The elements as a picture of its own, on white or what else it is printed on, so large on paper as it says."""
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{n(wide * UNIT)}mm" height="{n(high * UNIT)}mm" '
            f'viewBox="0 0 {n(wide)} {n(high)}" font-family="{font}" font-size="{TEXT}" fill="black">',
            f"<title>{text_of(title)}</title>",
            f'<rect width="{n(wide)}" height="{n(high)}" fill="{paper}"/>',
            *elements,
            "</svg>\n",
        )
    )


def _bar(sheet: Page, *, feet: bool) -> Iterator[str]:
    """A bar of a round length, which way x and y run, and a stated scale; nothing is said about north."""
    long, words = scale_bar(200 / sheet.scale, feet=feet)
    x, y, end = 16.0, sheet.high - 18, 16 + long * sheet.scale
    yield f'<path class="bar" d="M{n(x)} {n(y - 5)}V{n(y)}H{n(end)}V{n(y - 5)}" fill="none" stroke="black"/>'
    caption = _("{words} · x to the right, y up", words=words)
    if sheet.stated:
        caption += _(" · scale {scale}, printed at 100%", scale=sheet.stated)
    yield svg_text(end + 8, y, caption, over=True)


# -- the grade plan


def plan_svg(plan: Plan, areas: Sequence[Area], *, tapes: bool = False) -> str:
    """The areas on one page as the text of an SVG; points without a place are listed under the drawing.

    Elevations are the finishes, counted from the area's own zero where it has one. With `tapes` the two that find
    each point are drawn too.
    """
    scene = planned(plan, areas)
    if tapes:
        drawn_with = [set_out(plan, area, ties(plan, area)) for area in areas]
        held = {mark.name: mark for each in drawn_with for mark in each.marks}
        marks = {**held, **{mark.name: mark for mark in scene.marks}}
        scene = replace(
            scene, marks=tuple(marks.values()), ties=tuple(tie for each in drawn_with for tie in each.ties)
        )
    scene = on_paper(scene)
    edge, feet = min(max(90, _longest(scene)), _WIDEST), plan.notation.units.imperial
    for size in SIZES:
        sheet = largest_page(scene.extent, size, size, (edge, 90), 420, stated_in_feet=feet)
        if size == SIZES[-1] or _fits(scene, sheet, 62, 30):
            drawn = body(scene, sheet, 62, 30, stacked=True)
            if not drawn.unnamed:
                break
    heading = f"{plan.job} · {areas[0].name}" if len(areas) == 1 else plan.job
    listed = [*_list(_("Points without a place:"), scene.unplaced), *_list(_("Without room here:"), drawn.unnamed)]
    under = [svg_text(16, sheet.high + number * (TEXT + 4), text) for number, text in enumerate(listed)]
    bar = _bar(sheet, feet=feet) if scene.extent else ()
    elements = (*drawn.elements, *_title(plan, areas, heading), *bar, *under)
    return svg(sheet.wide, sheet.high + len(listed) * (TEXT + 4), heading, elements)


def _title(plan: Plan, areas: Sequence[Area], heading: str) -> Iterator[str]:
    yield svg_text(16, 26, heading, size=16, bold=True)
    what = f"{areas[0].what}; " if len(areas) == 1 and areas[0].what else ""
    yield svg_text(
        16,
        43,
        _(
            "{what}finish elevations in {unit} (≈: rounded to a mark), falls in percent. {decides}",
            what=what,
            unit=UNIT_WORDS[plan.notation.units],
            decides=DECIDES,
        ),
    )
    zeros = [_("{name} is on datum {datum}", name=area.name, datum=area.datum) for area in areas if area.datum]
    changed = [point.name for area in areas for point in area.points if point.on_site]
    if notes := [*zeros, *([_("changed on site: {changed}", changed=some(changed, 8))] if changed else [])]:
        yield svg_text(16, 58, "; ".join(notes))


def _list(heading: str, points: Sequence[ScenePoint]) -> list[str]:
    texts = [" ".join(filter(None, (point.name, point.figure, point.what))) for point in points]
    return [heading, *texts] if texts else []


# -- the map of a daily report

MOST_NAMED = 60
"""Points on a map up to which each is named; above, only those that are out, in doubt or not read."""


def map_svg(
    scene: Scene,
    title: str,
    wide: float,
    high: float,
    *,
    feet: bool,
    font: str = "sans-serif",
    most_named: int = MOST_NAMED,
) -> str:
    """What was found, in a drawing so wide and high at most, with the meaning of its signs and a scale.

    Where there are more points than `most_named`, those on grade are not named. A point whose label finds no room is
    named under the drawing with its figure.
    """
    crowd = len(scene.points) > most_named
    points = (replace(each, labelled=not crowd or each.style is not Style.ON) for each in scene.points)
    scene = on_paper(replace(scene, points=tuple(points)))
    edge = min(max(60, _longest(scene)), wide / 5)
    sheet = largest_page(scene.extent, wide - 2 * edge, high, (edge, 45), wide)
    drawn = body(scene, sheet, 22, 28, stacked=False)
    used = [style for style in WORDS if any(point.style is style for point in scene.points)]
    legend, x = list[str](), 16.0
    for style in used:
        legend += [*svg_sign(style, x, 10), svg_text(x + 8, 14, WORDS[style])]
        x += 22 + width(WORDS[style]) * _LETTER
    bar = _bar(sheet, feet=feet)
    texts = [" ".join(filter(None, (point.name, point.figure))) for point in drawn.unnamed]
    lines = list(_wrapped(_("Without room here: ") + ", ".join(texts), wide)) if texts else []
    under = [svg_text(16, sheet.high + number * (TEXT + 3), line) for number, line in enumerate(lines, 1)]
    return svg(
        sheet.wide,
        sheet.high + len(lines) * (TEXT + 3),
        title,
        (*legend, *drawn.elements, *bar, *under),
        font=font,
        paper="none",
    )


def _wrapped(text: str, wide: float) -> Iterator[str]:
    """The text in lines of that width."""
    line = ""
    for word in text.split(" "):
        if line and (width(line) + 1 + width(word)) * _LETTER > wide - 32:
            yield line
            line = word
        else:
            line = f"{line} {word}" if line else word
    yield line
