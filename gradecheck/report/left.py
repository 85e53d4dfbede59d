"""What is left, as a work order that a crew takes along: each point, what to do there, the rod, and a box to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace

from gradecheck.catalogue import _, count, stage_word, stored
from gradecheck.checks.verdict import Verdict
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import some
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area
from gradecheck.report.cautions import cautions_on_paper, stage_caution
from gradecheck.report.cells import cut_text, width
from gradecheck.report.day_paper import Block, Cell, Column, Facts, Heading, Table, Words
from gradecheck.report.decides import DECIDES
from gradecheck.report.instrument import setup_since
from gradecheck.report.rows import at_offset, grade_rod, headline
from gradecheck.report.spreadsheet import csv_of
from gradecheck.state.state import Shot, State, Surface

BOX = "[  ]"
TITLE = _("What is left")


@dataclass(frozen=True, slots=True)
class LeftRow:
    """A point that is left: where it is, what is to be done, and what the rod should read; blank without a setup."""

    area: str
    stage: str
    point: str
    where: str
    do: str
    rod: str


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """All that is left at the stages begun, and what whoever takes it along must know."""

    job: str
    day: str
    time: str
    setup: str
    rod_unit: str
    offset: str
    rehearsal: str
    rows: tuple[LeftRow, ...]
    not_begun: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def stages(self) -> list[tuple[str, str, list[LeftRow]]]:
        """Each area and stage with its rows, in order."""
        found: dict[tuple[str, str], list[LeftRow]] = {}
        for row in self.rows:
            found.setdefault((row.area, row.stage), []).append(row)
        return [(area, stage, rows) for (area, stage), rows in found.items()]


def work_order(
    state: State, areas: Sequence[Area], stage: str | None, when: tuple[str, str], *, old_setup: bool
) -> WorkOrder:
    """What is left of these areas, at that stage or at all that were begun; `when` is the day and the time.

    Where the setup is too old to be read from, `old_setup`, the rod's figures stay blank.
    """
    rows, unbegun = list[LeftRow](), list[str]()
    for area in areas:
        stages = [each for each in area.stages if each == stage or (stage is None and state.checked(area.name, each))]
        if not stages and stage is None:
            unbegun.append(area.name)
        for each in stages:
            rows += _left(state, area, each, whole=stage is not None)
    setup = state.setup if not old_setup else None
    begun = dict.fromkeys((row.area, row.stage) for row in rows)
    dug = (stage_caution(state.plan, area, stage) for area, stage in begun)
    return WorkOrder(
        job=state.plan.job,
        day=when[0],
        time=when[1],
        setup=setup_since(setup) if setup is not None else "",
        rod_unit=setup.instrument.rod.notation.units if setup is not None and setup.instrument is not None else "",
        offset=at_offset(state.offset, state.plan.notation.units),
        rehearsal=_("made up, not measured") if state.record.rehearsal else "",
        rows=tuple(rows if setup is not None else (replace(row, rod="") for row in rows)),
        not_begun=tuple(unbegun),
        cautions=tuple(dict.fromkeys((*cautions_on_paper(state.plan), *filter(None, dug), DECIDES))),
    )


def _left(state: State, area: Area, stage: str, *, whole: bool) -> Iterator[LeftRow]:
    """What is left at one stage; a point that was read at a layer above is done with there, unless all is wanted."""
    above = area.stages[area.stages.index(stage) + 1 :]
    for point in area.points:
        surface = Surface(area.name, point.name, stage)
        covered = any(state.latest(surface._replace(stage=each)) for each in above)
        if (do := _to_do(state, surface)) and (whole or not covered):
            yield LeftRow(area.name, stage, point.name, point.what, do, grade_rod(state, surface).removeprefix("~"))
    for surface in state.spots:
        if (surface.area, surface.stage) == (area.name, stage) and (do := _to_do(state, surface)):
            rod = grade_rod(state, surface).removeprefix("~")
            yield LeftRow(area.name, stage, surface.point, _("on a string"), do, rod)


def _to_do(state: State, surface: Surface) -> str:
    """What is to be done there; nothing where it is on grade."""
    shot, verdict = state.latest(surface), state.verdict(surface)
    if shot is None:
        return _("read it")
    return _what(state, surface, shot, verdict)


def _what(state: State, surface: Surface, shot: Shot, verdict: Verdict | None) -> str:
    if verdict is None or verdict.word is Word.EXAMPLE:
        return _("read again: {why_not_judged}", why_not_judged=state.why_not_judged(shot, surface))
    if state.in_doubt(shot):
        return _("read again: in doubt")
    if verdict.word is Word.ON_GRADE:
        return ""
    said = headline(verdict, state.plan.notation)
    return said if verdict.word in (Word.CUT, Word.FILL) else _("read again: {reason}", reason=said.lower())


# -- as text, table and paper


def work_order_lines(order: WorkOrder, columns: int = 78) -> list[str]:
    """The order as lines of so many columns."""
    lines = [f"{order.job}: {TITLE.lower()}, {order.day} {order.time}", *_head(order)]
    for area, stage, rows in order.stages:
        names = max(*(width(row.point) for row in rows), 5)
        dos = max(width(row.do) for row in rows)
        where = max(min(max(width(row.where) for row in rows), columns - names - dos - 24), 5)
        lines += ["", _("{area}, {stage}: {rows} left", area=area, stage=stage, rows=count(len(rows), "point"))]
        lines.append(
            f"  {'':<4}  {_('point'):<{names}}  {_('where'):<{where}}  {_('do'):<{dos}}  {_('should read')}".rstrip()
        )
        lines += [
            f"  {BOX}  {_padded(row.point, names)}  {_padded(cut_text(row.where, where), where)}  "
            f"{_padded(row.do, dos)}  {row.rod}".rstrip()
            for row in rows
        ]
    if not order.rows:
        lines += ["", _nothing(order)]
    return [*lines, *([_("Not begun: {not_begun}.", not_begun=some(order.not_begun, 12))] if order.not_begun else [])]


def _padded(text: str, cells: int) -> str:
    return text + " " * (cells - width(text))


def _nothing(order: WorkOrder) -> str:
    return _("Nothing is left: every point that was begun is on grade.")


def _head(order: WorkOrder) -> list[str]:
    rod = order.setup or _("no setup: the rod's figures are blank, set up first")
    return [f"{rod}{f'; {order.offset}' if order.offset else ''}"]


def order_text(order: WorkOrder) -> str:
    """The order as a plain text file, with the cautions."""
    return "\n".join([*work_order_lines(order), "", *order.cautions]) + "\n"


def order_csv(order: WorkOrder) -> str:
    """The rows as CSV with a heading line; the last column is there to be ticked."""
    headings = ("area", "stage", "point", "where", "do", stored("rod should read"), "done")
    rows = (replace(row, rod=_with_unit(row.rod, order.rod_unit)) for row in order.rows)
    return csv_of(headings, [(*asdict(row).values(), "") for row in rows])


def _with_unit(rod: str, unit: str) -> str:
    """Inches with their unit: a spreadsheet takes ``5/8`` alone for a date. What is decimal stays a number."""
    return f"{rod} {unit}" if rod and unit == Units.IN else rod


def order_blocks(order: WorkOrder) -> Iterator[Block]:
    """The order for paper and as a web page."""
    said = order.offset.removeprefix(_("offset {offset}", offset=""))
    offset = ((_("working offset"), said),) if said else ()
    yield Facts(
        (
            (_("as of"), f"{order.day} {order.time}"),
            (_("setup"), order.setup or _("none")),
            *offset,
            (_("taken by"), ""),
        )
    )
    if not order.rows:
        yield Words(((_nothing(order), "strong"),))
    for area, stage, rows in order.stages:
        yield Heading(2, f"{area}, {stage_word(stage)}", count(len(rows), "point"))
        yield Table(
            (
                Column(_("done")),
                Column(_("point")),
                Column(_("where"), wide=2),
                Column(_("do")),
                Column(_("rod should read"), right=True, figure=True),
                Column(_("read"), wide=1),
            ),
            tuple(
                (Cell(BOX), Cell(row.point, strong=True), Cell(row.where), Cell(row.do, strong=True), Cell(row.rod),
                 Cell("")) for row in rows
            ),
        )  # fmt: skip
    if order.not_begun:
        yield Words(((_("Not begun: {not_begun}.", not_begun=some(order.not_begun, 12)), "plain"),))
    for each in order.cautions:
        yield Words(((each, "plain"),), quiet=True)
