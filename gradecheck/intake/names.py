"""Names keyed on site: those that are there in any capitals, and none that only looks like one of them."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.intake.shared import Refusal
from gradecheck.plan.look_alikes import seen_as
from gradecheck.plan.names import one_form
from gradecheck.state.state import State


def as_known(typed: str, known: Sequence[str]) -> str | None:
    """The name that is meant as it is spelt among those known: just so, or in other capitals; None without."""
    name = one_form(typed.strip())
    return name if name in known else next((each for each in known if each.casefold() == name.casefold()), None)


def refuse_look_alike(state: State, name: str) -> None:
    """Raises Refusal where the name looks like that of a point or mark but is written in another alphabet."""
    known = {seen_as(each): each for each in (*state.plan.names.values(), *state.book.marks())}
    alike = known.get(seen_as(name))
    if alike is not None and alike.casefold() != name.casefold():
        raise Refusal(f"“{name}” looks like “{alike}”, in another alphabet; type a name of its own.")
