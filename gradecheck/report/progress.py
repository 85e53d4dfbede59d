"""How far a stage is, in words."""

from __future__ import annotations

from gradecheck.plan.model import Area
from gradecheck.state.built import exceptions
from gradecheck.state.state import State

COUNTED_AT_ONCE = 300
"""Points of an area that are all judged between two readings: some 20 ms, measured."""


def all_checked(state: State, area: Area, stage: str) -> str:
    """That every point of the stage was read, and how many of them are not as they should be."""
    says = f"All {len(area.points)} checked at {stage}"
    if len(area.points) > COUNTED_AT_ONCE:
        return f"{says}; F9 tells what is out"
    out, _, doubtful, unjudged = exceptions(state, area.name, stage)
    off = ((out, "out"), (doubtful, "in doubt"), (unjudged, "not judged"))
    return "".join([says, *(f", {len(names)} {how}" for names, how in off if names)])
