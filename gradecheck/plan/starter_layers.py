"""The build-ups a new job may begin with, their thicknesses from the published minimums."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gradecheck.measure.notation import Units
from gradecheck.plan.limits import ANYWHERE, RULES
from gradecheck.plan.starter_areas import Kind, Ruler

FINISH_ALONE = "finish"
"""Nothing below the finish is checked."""


@dataclass(frozen=True, slots=True)
class Starting:
    """A build-up to begin with: layers from the finish down, each with inches as written and millimetres.

    `rule` is the limit that its base keeps; `why` says where the figures come from where no rule does.
    """

    what: str
    layers: tuple[tuple[str, str, int], ...] = ()
    rule: str = ""
    why: str = ""
    past_edge: tuple[str, int] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The layers' names, without the topmost, whose top is the finish."""
        return tuple(name for name, _, _ in self.layers[1:])

    def in_words(self, units: Units) -> str:
        """``paver 2 3/8 in, bedding 1 in, base 4 in``, or what it is where it has no layers."""
        ruler = Ruler(units)
        return ", ".join(f"{name} {ruler.thick(inch, mm)}" for name, inch, mm in self.layers) or self.what

    def remarks(self, units: Units) -> list[str]:
        """Where its thicknesses come from, for the file to say."""
        if not self.rule:
            return [self.why]
        source = RULES[self.rule].by[ANYWHERE].source
        least = f"{self.rule.capitalize()} {Ruler(units).thick(*_LEAST[self.rule])}: {source}."
        edge = "Base and dig go past the edge as far as the same source says." if self.past_edge else ""
        return [line for line in (least, edge, "Cold, wet or weak soils want a thicker base.") if line]

    def lines(self, units: Units) -> list[str]:
        """The build-up as the file has it."""
        ruler = Ruler(units)
        layers = ", ".join(f"{{{name}: {ruler.thick(inch, mm)}}}" for name, inch, mm in self.layers)
        lines = [f"    layers: [{layers}]  # <--"]
        if self.past_edge:
            lines.append(f"    past edge: {ruler.thick(*self.past_edge)}  # <--")
        return lines


_WALK, _DRIVE, _STREET = "base at least on a walk", "base at least on a driveway", "base at least on a street"
# The same numbers as in the limits, written as people write them: P-04, P-05 and P-06 of the institute's guide.
_LEAST = {_WALK: ("4", 100), _DRIVE: ("6", 150), _STREET: ("8", 200)}
_PAVER, _THICK_PAVER = ("paver", "2 3/8", 60), ("paver", "3 1/8", 80)
_BEDDING = ("bedding", "1", 25)
_NOTHING = Starting("nothing below the finish is checked")

_WALKED_ON = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "4", 100)), _WALK, past_edge=("6", 150)),
    "deep": Starting("on weak soil", (_PAVER, _BEDDING, ("base", "6", 150)), _WALK, past_edge=("6", 150)),
    FINISH_ALONE: _NOTHING,
}
_UP_TO_THE_EDGE = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "4", 100)), _WALK),
    "deep": Starting("on weak soil", (_PAVER, _BEDDING, ("base", "6", 150)), _WALK),
    FINISH_ALONE: _NOTHING,
}
_DRIVEN_ON = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "6", 150)), _DRIVE, past_edge=("6", 150)),
    "heavy": Starting("heavy cars", (_THICK_PAVER, _BEDDING, ("base", "8", 200)), _STREET, past_edge=("8", 200)),
    FINISH_ALONE: _NOTHING,
}
_STEPS = {
    "treads": Starting(
        "treads on concrete",
        (("tread", "2 1/4", 60), ("mortar", "3/4", 20), ("concrete", "5", 125), ("base", "4", 100)),
        why="Common practice, no source; the drawings say what these steps stand on.",
    ),
    FINISH_ALONE: _NOTHING,
}
BUILD_UPS: Mapping[Kind, Mapping[str, Starting]] = {
    "patio": _WALKED_ON,
    "walk": _WALKED_ON,
    "driveway": _DRIVEN_ON,
    "steps": _STEPS,
    "ramp": _UP_TO_THE_EDGE,
    "pool deck": _WALKED_ON,
}
"""By kind of area, the choices by their words; the first is the usual one."""


def usual_build_up(kind: Kind) -> str:
    """What an area of that kind is built of where nobody says."""
    return next(iter(BUILD_UPS[kind]))
