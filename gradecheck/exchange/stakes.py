"""The labels of stakes as rows for other programs: one for each point and stage."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.catalogue import _, in_english
from gradecheck.exchange.table import PointTable, Value
from gradecheck.plan.model import Plan
from gradecheck.report.setting_out import StakeLabel

COLUMNS = ("area", "name", "what", "x", "y", "stake", "top", "stage", "elevation", "label")
LENGTHS = frozenset(("x", "y", "top", "elevation"))


@in_english
def stakes_table(plan: Plan, labels: Sequence[StakeLabel]) -> PointTable:
    """What each stake says, with the elevation of its top and of the stage, from the area's own zero."""
    rows: list[tuple[Value, ...]] = []
    for label in labels:
        x, y = plan.areas[label.area].point(label.point).at or (None, None)
        for stage, wanted, says in label.stages:
            rows.append(
                (label.area, label.point, label.what, x, y, label.start, label.at.height, stage, wanted.height, says)
            )
    units = plan.notation.units
    return PointTable(_("{job}: stakes", job=plan.job), COLUMNS, LENGTHS, rows, units, "name", "elevation", ("area",))
