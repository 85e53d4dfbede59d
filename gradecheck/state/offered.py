"""What taking over the office's new plan would change on site, where some of it was changed already."""

from __future__ import annotations

from dataclasses import replace

from gradecheck.plan.changes import Changes, changes
from gradecheck.plan.model import Plan
from gradecheck.state.amended import Amendment, amended
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import State


def offered_changes(state: State, offered: Plan) -> Changes:
    """What would then be wanted otherwise than now. What was changed on site stays so, and is named in `staying`."""
    if not state.amendments:
        return changes(state.plan, offered)
    spelt = Spelt(offered)
    there = amended(offered, [fact for each in state.amendments if isinstance(fact := spelt.fact(each), Amendment)])
    found = changes(state.plan, there)
    moved = {(each.area, each.point) for each in found.moved}
    office = {(each.area, each.point): each.point for each in changes(state.office, offered).moved}
    return replace(found, staying=tuple(name for key, name in office.items() if key not in moved))
