"""Which checks of an area could apply and can't be made, and what it would take to make them."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.checks.codes import not_limited
from gradecheck.checks.not_checked import NotChecked
from gradecheck.plan.model import Area
from gradecheck.state.state import State


def not_made(state: State, area: Area, stage: str) -> Iterator[NotChecked]:
    """What can't be checked of the area at that stage; nothing where nobody read there yet."""
    if not state.checked(area.name, stage):
        return
    for below in area.stages[: area.stages.index(stage)]:
        if not state.checked(area.name, below):
            yield NotChecked("layers", f"{below} was not read", f"read it before {stage} covers it")
    if stage == area.stages[-1]:
        yield from not_limited(state.plan, area)
