"""The kinds of areas of a new plan, and what is asked of each."""

from __future__ import annotations

from collections.abc import Mapping

from gradecheck.catalogue import _
from gradecheck.plan.asked_area import Asking
from gradecheck.plan.asked_build import Build
from gradecheck.plan.asked_climbs import ClimbScript
from gradecheck.plan.asked_edges import EdgeScript
from gradecheck.plan.asked_paved import PavedScript

KINDS: Mapping[str, str] = {
    "patio": _("falls one way or two, checked on a grid"),
    "walk": _("two edges, straight or with bends"),
    "steps": _("a flight of risers"),
    "ramp": _("runs with landings"),
    "driveway": _("two edges, straight or with bends"),
    "pool deck": _("falls away from the pool"),
    "plaza": _("falls to drains, a valley or from a crown"),
    "curb": _("stands along an edge of an area before"),
    "wall": _("stands along an edge of an area before"),
}
LETTER = {"patio": "P", "walk": "W", "steps": "S", "ramp": "R", "driveway": "D", "pool deck": "K", "plaza": "Z",
          "curb": "C", "wall": "V"}  # fmt: skip
STANDING = ("curb", "wall")
"""Kinds that stand along an edge of another area."""


def area_questions(build: Build, name: str, kind: str, letter: str) -> Asking:
    """All that is asked of an area of that kind; at the end it stands in the plan."""
    match kind:
        case "steps" | "ramp":
            script: ClimbScript | EdgeScript | PavedScript = ClimbScript(build, name, kind, letter)
        case "curb" | "wall":
            script = EdgeScript(build, name, kind, letter)
        case _:
            script = PavedScript(build, name, kind, letter)
    yield from script.questions()
