"""Names keyed on site: those that are there in any capitals, and none that only looks like one of them."""

from __future__ import annotations

from gradecheck.intake.shared import Refusal
from gradecheck.plan.look_alikes import Seen
from gradecheck.plan.names import as_known
from gradecheck.state.state import State

__all__ = ["as_known", "refuse_look_alike"]


def refuse_look_alike(state: State, name: str) -> None:
    """Raises Refusal where the name looks like that of a point or mark but is written in another alphabet."""
    known: Seen[None] = Seen()
    for each in (*state.plan.names.values(), *state.book.marks()):
        known.add(each, None)
    if alike := known.alike(name):
        raise Refusal(f"“{name}” looks like “{alike[0]}”, in another alphabet; type a name of its own.")
