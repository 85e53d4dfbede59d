"""The points of an area as a table: what the rod should read, what it read, and what that means, one point a line."""

from __future__ import annotations

from dataclasses import replace

from rich.cells import cell_len

from gradecheck.app.check_view import reads_as_now
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.report.rows import PointRow, point_row
from gradecheck.state.state import State, Surface

_FIGURE_WIDTH = {Units.IN: 9, Units.FT_IN: 12}
_DECIMAL_WIDTH = 9
_VERDICT_WIDTH = {Units.IN: 14, Units.FT_IN: 16}
_SHORTEST, _LONGEST = 5, 12
"""Cells of the points' names, as the names of the area are."""

SIGNS = {Word.CUT: "+", Word.FILL: "−", Word.ON_GRADE: "="}
"""The same on every screen, on the map and on paper; ? is in doubt or can't be said, · is not read."""
TONES = {"+": "tone-work", "−": "tone-work", "=": "tone-calm", "?": "tone-doubt", "·": "quiet"}


class PointsView(RowsView):
    """Shows the points of one area at one stage."""

    edge = 2
    least = 20

    def __init__(self, plan: Plan, *, id: str | None = None) -> None:
        elevation = _FIGURE_WIDTH.get(plan.notation.units, _DECIMAL_WIDTH)
        rod = _FIGURE_WIDTH.get(plan.rod.notation.units, _DECIMAL_WIDTH)
        self._verdict_width = _VERDICT_WIDTH.get(plan.notation.units, 14)
        rounded = show(plan.rod.notation.graduation, plan.rod.notation, unit=True)
        columns = (
            ListColumn(_("point"), _SHORTEST),
            ListColumn(_("where"), 0, quiet=True),
            ListColumn(_("target"), elevation, "right", spare=True, quiet=True),
            ListColumn(_("found"), elevation, "right", spare=True, quiet=True),
            ListColumn(_("should read"), max(rod, len(_("should read"))), "right"),
            ListColumn(_("read"), rod, "right"),
            ListColumn(_(" to {rounded}", rounded=rounded), self._verdict_width),
        )
        super().__init__(columns, id=id)

    def show_area(self, state: State, area: str, stage: str, current: int) -> None:
        """Shows an area at a stage."""
        points = state.plan.areas[area].points
        longest = max((cell_len(point.name) for point in points), default=0)
        name = replace(self.columns[0], width=max(_SHORTEST, min(longest, _LONGEST)))
        self.columns = (name, *self.columns[1:])
        self.show(
            len(points),
            lambda index: _cells(state, Surface(area, points[index].name, stage), self._verdict_width),
            current,
        )


def _cells(state: State, surface: Surface, room: int) -> Cells:
    row = point_row(state, surface)
    sign, says = sign_of(row), said(row)
    if len(sign) + len(says) + 2 > room:  # the word goes, the figure stays
        says = says.split(" ", 1)[-1]
    figures = (row.wanted.removeprefix("~"), row.found, row.rod.removeprefix("~"), _read(state, surface))
    return Cells((row.point, row.what, *figures, f" {sign} {says}"), TONES[sign])


EARLIER = _("earlier")
"""Stands for what the rod read at a setup or an offset that does not stand now: beside what it should read now,
that figure would mislead; what came of it stays."""


def _read(state: State, surface: Surface) -> str:
    shot = state.latest(surface)
    if shot is None:
        return ""
    if not reads_as_now(state, shot):
        return EARLIER
    setup = state.book.setup(shot.setup)
    return show(shot.rod, setup.rod.notation if setup else state.plan.notation)


def sign_of(row: PointRow) -> str:
    """The sign of a point: ``+`` cut, ``−`` fill, ``=`` on grade, ``?`` in doubt or not judged, ``·`` not read."""
    if not row.word:
        return "?" if row.found else "·"
    return "?" if row.doubt else SIGNS.get(row.word, "?")


def said(row: PointRow) -> str:
    """The same in words, with the figure."""
    if not row.word:
        return {"": _("not read"), _("no setup"): _("no setup")}.get(row.found, _("not judged"))
    if row.doubt:
        return _("in doubt")
    if row.word in (Word.CUT, Word.FILL):
        return f"{row.word.shown} {row.off.lstrip('+-')}"
    return {Word.ON_GRADE: _("on grade"), Word.TOO_CLOSE: _("too close")}.get(row.word, _("example"))
