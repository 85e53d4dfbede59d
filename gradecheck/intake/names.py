"""Names keyed on site: none that looks like one that is there."""

from __future__ import annotations

from gradecheck.intake.shared import Refusal
from gradecheck.plan.look_alikes import seen_as
from gradecheck.state.state import State


def refuse_look_alike(state: State, name: str) -> None:
    """Raises Refusal where the name looks like that of a point or mark but is written in another alphabet."""
    known = {seen_as(each): each for each in (*state.plan.names.values(), *state.book.marks())}
    alike = known.get(seen_as(name))
    if alike is not None and alike.casefold() != name.casefold():
        raise Refusal(f"“{name}” looks like “{alike}”, in another alphabet; type a name of its own.")
