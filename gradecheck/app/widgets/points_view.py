"""The points of an area as a table: target, grade rod, found, off and verdict, one point a line."""

from __future__ import annotations

from gradecheck.app.widgets.answer_panel import DOUBT, TONES
from gradecheck.app.widgets.rows_view import Cells, Column, RowsView
from gradecheck.measure.notation import Units
from gradecheck.plan.model import Plan
from gradecheck.report.rows import point_row
from gradecheck.state.state import State, Surface

_FIGURE_WIDTH = {Units.IN: 10, Units.FT_IN: 14}
_DECIMAL_WIDTH = 9


class PointsView(RowsView):
    """Shows the points of one area at one stage."""

    def __init__(self, plan: Plan, *, id: str | None = None) -> None:
        figure = _FIGURE_WIDTH.get(plan.notation.units, _DECIMAL_WIDTH)
        columns = (
            Column("point", 7),
            Column("where", 0),
            Column("target", figure, "right"),
            Column("rod", _FIGURE_WIDTH.get(plan.rod.notation.units, _DECIMAL_WIDTH), "right"),
            Column("found", figure, "right", spare=True),
            Column("off", figure - 1, "right"),
            Column("verdict", 10),
        )
        super().__init__(columns, id=id)

    def show_area(self, state: State, area: str, stage: str, current: int) -> None:
        """Shows an area at a stage."""
        points = state.plan.areas[area].points
        self.show(len(points), lambda index: _cells(state, Surface(area, points[index].name, stage)), current)


def _cells(state: State, surface: Surface) -> Cells:
    row = point_row(state, surface)
    if not row.word:
        return Cells((row.point, row.what, row.wanted, row.rod, row.found, row.off, ""))
    word, tone = (f"{row.word} ?", DOUBT) if row.doubt else (row.word, TONES.get(row.word, DOUBT))
    return Cells((row.point, row.what, row.wanted, row.rod, row.found, row.off, word), tone)
