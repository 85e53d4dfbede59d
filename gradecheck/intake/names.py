"""Names entered on site or sent by the office: those there are in any capitals, and none that only looks like one."""

from __future__ import annotations

from gradecheck.intake.shared import Refusal
from gradecheck.plan.model import Plan
from gradecheck.plan.names import Seen, as_known
from gradecheck.state.state import State

__all__ = ["as_known", "refuse_look_alike", "refuse_plan_alike"]


def refuse_look_alike(state: State, name: str) -> None:
    """Raises Refusal where the name looks like that of a point or mark but is written in another alphabet."""
    known: Seen[None] = Seen()
    for each in (*state.plan.names.values(), *state.book.marks()):
        known.add(each, None)
    if alike := known.alike(name):
        raise Refusal(f"“{name}” looks like “{alike[0]}”, in another alphabet; type a name of its own.")


def refuse_plan_alike(state: State, offered: Plan) -> None:
    """Raises Refusal where a name of the offered plan looks like one the job has, but is of another alphabet."""
    read = dict.fromkeys(surface.point for surface in state.shots)  # of points that the plan lost since, too
    points = (*state.plan.names.values(), *state.book.marks(), *read)
    for had, sent in ((points, offered.names.values()), (state.plan.areas, offered.areas)):
        known: Seen[None] = Seen()
        for each in had:
            known.add(each, None)
        for name in sent:
            if known.same(name) is None and (alike := known.alike(name)):
                says = f"“{name}” looks like “{alike[0]}”, a name this job has, in another alphabet"
                raise Refusal(f"{says}; rename it in the job file.")
