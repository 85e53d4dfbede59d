"""Hold points: stages that are signed off before any stage above them takes readings."""

from __future__ import annotations

from collections.abc import Collection

from gradecheck.plan.model import Area
from gradecheck.state.state import State


def hold_before(state: State, area: Area, stage: str, past: Collection[str] = ()) -> str | None:
    """The lowest hold point below that stage that nobody signed off nor went past; None where none is in the way.

    `past` are those gone past in what is about to be recorded.
    """
    if not area.holds or stage not in area.stages:
        return None
    below = area.stages[: area.stages.index(stage)]
    return next(
        (each for each in area.holds if each in below and each not in past and is_open(state, area, each)), None
    )


def is_open(state: State, area: Area, hold: str) -> bool:
    """Whether a hold point is neither signed off nor gone past."""
    return state.record.signed(area.name, hold) is None and state.record.gone_past(area.name, hold) is None
