"""The points of a plan with their finish, as rows for other programs."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.catalogue import _, in_english
from gradecheck.exchange.table import PointTable, Value
from gradecheck.plan.model import Area, Plan
from gradecheck.report.grade_plan import listed, outlined, own_zero

COLUMNS = ("area", "name", "x", "y", "elevation", "note")
LENGTHS = frozenset(("x", "y", "elevation"))


@in_english
def grade_points(plan: Plan, areas: Sequence[Area]) -> PointTable:
    """The points of these areas with their finish, and the outlines of the areas.

    Elevations count from the job's zero, or from the datum of all these areas where only work on site can tie it.
    """
    rows: list[tuple[Value, ...]] = []
    for area in areas:
        for point in listed(plan, [area], own_zero(plan, areas)):
            x, y = point.at or (None, None)
            height = point.elevation.height if point.elevation is not None else None
            rows.append((area.name, point.name, x, y, height, point.note))
    units, drawn = plan.notation.units, outlined(areas)
    return PointTable(
        _("{job}: grade plan", job=plan.job), COLUMNS, LENGTHS, rows, units, "name", "elevation", ("area",), drawn
    )
