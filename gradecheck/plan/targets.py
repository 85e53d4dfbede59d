"""The target of a point at a stage: the wanted elevation, what is allowed, and the sum in words."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import is_exact, show, show_exact
from gradecheck.measure.quantities import ZERO, Elevation
from gradecheck.plan.model import FINISH, Area, Point, Tolerance


@dataclass(frozen=True, slots=True)
class Target:
    """What one surface should be at one point."""

    area: str
    point: str
    stage: str
    wanted: Elevation
    tolerance: Tolerance


JOB_ZERO = Elevation(ZERO.metres)


def target(area: Area, point: Point, stage: str, zero: Elevation = JOB_ZERO) -> Target:
    """The target at that surface: the finish less the layers that will lie above it.

    `zero` is where the zero of the area's datum lies, counted from the job's own.
    """
    wanted = point.finish + zero.height
    if area.build_up:
        for layer in area.build_up.above(stage):
            wanted = wanted.minus(layer.thickness)
    return Target(area.name, point.name, stage, wanted, area.tolerances[stage])


def working(area: Area, point: Point, stage: str, notation: Notation) -> tuple[str, ...]:
    """How the plan arrives at that target, a line for each step; rounding, where it happens, is said."""
    lines = [f"{point.name} = {point.working}"]
    wanted = target(area, point, stage).wanted
    if stage != FINISH and area.build_up:
        layers = "".join(
            f" − {in_words(show_exact(layer.thickness, notation.units, unit=True))} {layer.name}"
            for layer in area.build_up.above(stage)
        )
        finish = in_words(show_exact(point.finish.height, notation.units))
        total = in_words(show_exact(wanted.height, notation.units, unit=True))
        lines.append(f"{point.name} {stage} = finish {finish}{layers} = {total}")
    if not is_exact(wanted.height, notation):
        lines.append(f"shown as {in_words(show(wanted.height, notation, unit=True))}")
    return tuple(lines)


def in_words(printed: str) -> str:
    """A printed length with a true minus, as it stands in a sum."""
    return printed.replace("-", "−")
