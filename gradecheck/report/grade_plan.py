"""The grade plan on paper: for each area every point with its finish and the surfaces below it, and it all drawn."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from gradecheck.catalogue import _, stage_word
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.geojson import Outlined
from gradecheck.plan.model import Area, Plan, StringLine
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import Listed
from gradecheck.plan.targets import JOB_ZERO, Target, targets
from gradecheck.report.cells import cut_text, width
from gradecheck.report.day_paper import Block, Cell, Column, Drawing, Heading, Table, Words
from gradecheck.report.day_readings import AreaMap
from gradecheck.report.decides import DECIDES
from gradecheck.report.plan_view import bare_plan_view
from gradecheck.report.rows import example_figures, shown
from gradecheck.report.scene import UNIT_WORDS, planned, set_out
from gradecheck.report.setting_out import (
    StakeLabel,
    ground_labels,
    place_words,
    string_spots,
    string_words,
    tie_row,
    ties,
)

ROUNDED = "\N{ALMOST EQUAL TO}"
"""How paper marks a figure that was rounded."""
_SHORTEST = 10
"""Cells the words of a point keep where the table is wider than the page."""


def grade_plan_lines(
    plan: Plan,
    areas: Sequence[Area],
    columns: int,
    rows: int,
    notes: Sequence[str] = (),
    *,
    braille: bool = True,
    tapes: bool = False,
) -> Iterator[str]:
    """The grade plan of these areas, each drawing in so many columns and rows; tables grow wider where figures must.

    `notes` stand at its head; with `tapes` those that find each point come behind its elevations.
    """
    yield visible(_("{job}: grade plan", job=plan.job))
    yield _("Elevations in {unit}; ~: rounded to a rod's mark.", unit=UNIT_WORDS[plan.notation.units])
    for note in notes:
        yield from textwrap.wrap(visible(note), columns, subsequent_indent="  ")
    for area in areas:
        yield ""
        what = f": {area.what}" if area.what else ""
        yield visible(f"{area.name}{what}")
        if examples := example_figures(area.examples):
            yield from textwrap.wrap(
                _("{examples}: don't build from it", examples=examples), columns, subsequent_indent="  "
            )
        if area.datum is not None:
            yield visible(_("datum {datum}", datum=area.datum))
        yield ""
        yield from table(plan, area, columns)
        if tapes:
            yield ""
            for point, found in ties(plan, area):
                text = f"{visible(point.name)}  {tie_row(point, found, plan.notation).line}"
                yield from textwrap.wrap(text, columns, subsequent_indent="    ")
        for string in area.strings.values():
            yield ""
            yield from string_lines(area, string, plan.notation)
        view = bare_plan_view(plan, area.name, columns, rows, braille=braille)
        yield ""
        yield from _without_blank_rows(view.drawing.lines)
        yield from view.key
    yield ""
    yield from textwrap.wrap(DECIDES, columns)


def string_lines(area: Area, string: StringLine, notation: Notation) -> Iterator[str]:
    """A string as text: what it is, then its elevation at each point, and how far down the finish is."""
    says = string_words(string, notation.units)
    yield visible(_("string {name}: {says}", name=string.name, says=says))
    for spot in string_spots(area, string):
        yield _(
            "  {point:<8} {kind:<8} {elevation:>10}  {down} down to finish  {at}",
            point=visible(spot.point),
            kind=_("stake") if spot.stake else _("between"),
            elevation=shown(spot.elevation.height, notation),
            down=shown(spot.down, notation),
            at=place_words(spot.at, notation),
        ).rstrip()


def label_blocks(labels: Sequence[StakeLabel]) -> Iterator[Block]:
    """The labels of stakes for paper, area by area: a row is what one stake says."""
    for area in dict.fromkeys(label.area for label in labels):
        yield Heading(1, area)
        yield _label_table([label for label in labels if label.area == area])
    yield Words(((DECIDES, "plain"),), quiet=True)


def _label_table(labels: Sequence[StakeLabel]) -> Table:
    return Table(
        (Column(_("point")), Column(_("where"), wide=1), Column(_("from")), Column(_("label"), wide=3)),
        tuple(
            (
                Cell(label.point, strong=True),
                Cell(label.what),
                Cell(label.start),
                Cell(";  ".join(says for _stage, _wanted, says in label.stages)),
            )
            for label in labels
        ),
    )


TITLE, STAKES = _("Grade plan"), _("Stakes")


def plan_blocks(plan: Plan, areas: Sequence[Area], notes: Sequence[str] = ()) -> Iterator[Block]:
    """The same for paper and as a web page."""
    unit = UNIT_WORDS[plan.notation.units]
    yield Words(
        (
            (
                _("Elevations in {unit_words}; ~: rounded to a rod's mark.", unit_words=unit).replace("~", ROUNDED),
                "plain",
            ),
        )
    )
    for note in notes:
        yield Words(((note.strip(), "plain"),))
    for area in areas:
        yield Heading(1, area.name, area.what)
        if examples := example_figures(area.examples):
            yield Words(((_("{examples}: don't build from it", examples=examples), "strong"),))
        if area.datum is not None:
            yield Words(((_("datum {datum}", datum=area.datum), "plain"),))
        scene = planned(plan, [area])
        if scene.extent:
            yield Drawing(AreaMap("finish", scene, plan.notation.units.imperial), _("finish at each point"))
        yield _paper_table(plan, area)
        yield from setting_out_blocks(plan, area)
        if labels := list(ground_labels(plan, area)):
            yield Heading(2, _("From existing ground"))
            yield _label_table(labels)
    yield Words(((DECIDES, "plain"),), quiet=True)


MOST_TIED = 40
"""Points of an area up to which its tapes are drawn; of more, the drawing would be nothing but tapes."""


def setting_out_blocks(plan: Plan, area: Area) -> Iterator[Block]:
    """The tapes that find its points, drawn and in a table, and its strings; no tapes where it has no places."""
    if any(point.at for point in area.points):
        yield Heading(2, _("Setting out"))
        tied = ties(plan, area)
        if len(area.points) <= MOST_TIED and any(found for _unused, found in tied):
            scene = set_out(plan, area, tied)
            yield Drawing(AreaMap("finish", scene, plan.notation.units.imperial), _("two tapes to each point"))
        rows = [tie_row(*each, plan.notation) for each in tied]
        yield Table(
            (
                Column(_("point")),
                Column(_("tape"), wide=1),
                Column(_("tape"), wide=1),
                Column(_("they cross at"), right=True),
            ),
            tuple(
                (Cell(row.point, strong=True), *map(Cell, row.tapes or (row.why, "")), Cell(row.crossing))
                for row in rows
            ),
        )
    for string in area.strings.values():
        yield Heading(2, _("String {name}", name=string.name), string_words(string, plan.notation.units))
        yield Table(
            (Column(_("point")), Column(""), Column(_("string"), right=True, figure=True),
             Column(_("down to finish"), right=True, figure=True), Column(_("x, y"))),
            tuple(
                (
                    Cell(spot.point, strong=True),
                    Cell(_("stake") if spot.stake else _("between")),
                    Cell(shown(spot.elevation.height, plan.notation)),
                    Cell(shown(spot.down, plan.notation)),
                    Cell(place_words(spot.at, plan.notation)),
                )
                for spot in string_spots(area, string)
            ),
        )  # fmt: skip


def _paper_table(plan: Plan, area: Area) -> Table:
    stages = tuple(reversed(area.stages))
    rows = [
        (
            Cell(point.name, strong=True),
            Cell(point.what),
            *(Cell(shown(aim.wanted.height, plan.notation)) for aim in aims),
        )
        for point, aims in zip(area.points, _aims(area), strict=True)
    ]
    allowed = [area.tolerances[stage] for stage in stages]
    rows += [
        (Cell(_("may be high")), Cell(""), *(Cell(show(each.high, plan.notation)) for each in allowed)),
        (Cell(_("may be low")), Cell(""), *(Cell(show(each.low, plan.notation)) for each in allowed)),
    ]
    figures = (Column(stage_word(stage), right=True, figure=True) for stage in stages)
    return Table((Column(_("point")), Column(_("where"), wide=1), *figures), tuple(rows))


def table(plan: Plan, area: Area, columns: int) -> list[str]:
    """A heading, a row for each point from the finish down, and what each surface may be off."""
    stages = tuple(reversed(area.stages))
    names = max((width(point.name) for point in area.points), default=0)
    body = [[shown(aim.wanted.height, plan.notation) for aim in aims] for aims in _aims(area)]
    allowed = [area.tolerances[stage] for stage in stages]
    feet = [
        (_("may be high"), [show(each.high, plan.notation) for each in allowed]),
        (_("may be low"), [show(each.low, plan.notation) for each in allowed]),
    ]
    figures = [list(stages), *body, *(row for _, row in feet)]
    wide = [max(width(visible(row[column])) for row in figures) for column in range(len(stages))]
    first = max(names, len("point"))
    left = max(columns - first - 2 - sum(each + 2 for each in wide), _SHORTEST)
    words = min(max((width(visible(point.what)) for point in area.points), default=0), left)
    words = max(words, len("what"), len(_("may be high")) - first - 2)
    heads = [f"{_left('point', first)}  {_left('what', words)}"]
    heads += [f"{_left(point.name, first)}  {_left(point.what, words)}" for point in area.points]
    heads += [_left(text, first + 2 + words) for text, _ in feet]
    return [
        "  ".join((head, *(_right(text, long) for text, long in zip(row, wide, strict=True)))).rstrip()
        for head, row in zip(heads, figures, strict=True)
    ]


def _aims(area: Area) -> list[tuple[Target, ...]]:
    """For each point its targets from the finish down."""
    return list(zip(*(targets(area, stage) for stage in reversed(area.stages)), strict=True))


def _left(text: str, long: int) -> str:
    kept = cut_text(visible(text), long)
    return kept + " " * (long - width(kept))


def _right(text: str, long: int) -> str:
    return " " * (long - width(visible(text))) + visible(text)


def _without_blank_rows(lines: Sequence[str]) -> Iterator[str]:
    """The rows of a drawing without the blank ones between it and its scale."""
    last = max((row for row, line in enumerate(lines[:-1]) if line), default=-1)
    yield from (*lines[: last + 1], *(line for line in lines[-1:] if line))


# -- for other programs


def area_zero(plan: Plan, area: Area) -> Elevation | None:
    """Where the zero of the area's elevations lies above the job's; None where only work on site can tie it."""
    if area.datum is None:
        return JOB_ZERO
    datum = plan.datums[area.datum]
    mark = plan.benchmarks.get(datum.mark)
    return mark.elevation.minus(datum.reads.height) if mark else None


def own_zero(plan: Plan, areas: Sequence[Area]) -> str | None:
    """The datum that all these areas count from and only work on site can tie, else None."""
    datums = {area.datum for area in areas}
    return areas[0].datum if len(datums) == 1 and area_zero(plan, areas[0]) is None else None


def listed(plan: Plan, areas: Sequence[Area], own: str | None = None) -> list[Listed]:
    """The points with their finish above the job's zero, left empty where the area's zero is not tied to it.

    Areas of the datum `own` count from it instead. A point that then has neither an elevation nor a place says
    nothing and is left out.
    """
    found = []
    for area in areas:
        zero = JOB_ZERO if own is not None and area.datum == own else area_zero(plan, area)
        for point in area.points:
            finish = point.finish + zero.height if zero is not None else None
            if finish is not None or point.at is not None:
                found.append(Listed(point.name, point.at, finish, point.what, point.line))
    return found


def outlined(areas: Sequence[Area]) -> list[Outlined]:
    """The outlines of the areas that have one, by the area's name."""
    return [Outlined(area.name, area.outline, area.line) for area in areas if area.outline is not None]


def grade_plan_json(plan: Plan, area: Area) -> dict[str, object]:
    """The area's table as plain values, lengths in millimetres and in words; from the area's own zero."""
    notation = plan.notation
    return {
        "area": area.name,
        "what": area.what,
        "datum": area.datum,
        "examples": list(area.examples),
        "points": [
            {
                "point": point.name,
                "what": point.what,
                "at": [size.mm for size in point.at] if point.at else None,
                "stages": {
                    aim.stage: {"mm": aim.wanted.height.mm, "text": show(aim.wanted.height, notation, unit=True)}
                    for aim in aims
                },
            }
            for point, aims in zip(area.points, _aims(area), strict=True)
        ],
        "tolerances": {
            stage: {
                "high": {
                    "mm": area.tolerances[stage].high.mm,
                    "text": show(area.tolerances[stage].high, notation, unit=True),
                },
                "low": {
                    "mm": area.tolerances[stage].low.mm,
                    "text": show(area.tolerances[stage].low, notation, unit=True),
                },
            }
            for stage in reversed(area.stages)
        },
    }
