"""The target of a point at a stage: the wanted elevation, what is allowed, and the sum in words."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _, stage_word, stored, translated
from gradecheck.ground.spots import in_steps, scale_of
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact, show, show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import FINISH, Area, Point


@dataclass(frozen=True, slots=True)
class Target:
    """The wanted elevation of a stage at a point, and its tolerance."""

    area: str
    point: str
    stage: str
    wanted: Elevation
    tolerance: Tolerance


JOB_ZERO = Elevation(ZERO.metres)
BY_SURFACE = stored("by the surface")
"""The working of a point whose finish is its place on the area's surface; told in full when it is asked for."""


def target(area: Area, point: Point, stage: str, zero: Elevation = JOB_ZERO) -> Target:
    """The target at that stage: the finish minus the layers above it, less deep before rolling than after.

    `zero` is where the zero of the area's datum lies, counted from the job's own.
    """
    wanted = point.finish if zero is JOB_ZERO else point.finish + zero.height
    if area.build_up:
        wanted = wanted.minus(area.build_up.depth(stage))
    return Target(area.name, point.name, stage, wanted, area.tolerances[stage])


def targets(area: Area, stage: str, zero: Elevation = JOB_ZERO) -> list[Target]:
    """What `target` says of each point of the area, in the order they are walked, reckoned in whole numbers."""
    drop = (area.build_up.depth(stage) if area.build_up else ZERO) - zero.height
    finishes = [point.finish.metres for point in area.points]
    scale = scale_of([drop.metres, *finishes])
    down, tolerance = in_steps(drop.metres, scale), area.tolerances[stage]
    return [
        Target(area.name, point.name, stage, Elevation(Fraction(in_steps(finish, scale) - down, scale)), tolerance)
        for point, finish in zip(area.points, finishes, strict=True)
    ]


def working(area: Area, point: Point, stage: str, notation: Notation) -> tuple[str, ...]:
    """How the plan arrives at that target, a line for each step; rounding, where it happens, is said."""
    units = notation.units
    lines = [f"{point.name} = {_finish_in_words(area, point, notation)}"]
    if point.exact is not None:
        off = point.finish.above(point.exact)
        lines.append(
            _(
                "rounded for the plan to {elevation}, {by} {way}",
                elevation=_said(point.finish.height, units),
                by=_said(abs(off), units),
                way=_("high") if off > ZERO else _("low"),
            )
        )
    wanted = target(area, point, stage).wanted
    build_up = area.build_up
    if stage != FINISH and build_up:
        layers = "".join(
            f" − {_said(layer.thickness, units)} {stage_word(layer.name)}" for layer in build_up.above(stage)
        )
        if loose := build_up.loose(stage):
            assert loose.loose is not None
            layers += _(
                " + {height} until {name} is down",
                height=_said(loose.loose - loose.thickness, units),
                name=loose.name,
            )
        finish = true_minus(show_exact(point.finish.height, units))
        lines.append(
            _(
                "{name} {stage} = finish {finish}{layers} = {elevation}",
                name=point.name,
                stage=stage,
                finish=finish,
                layers=layers,
                elevation=_said(wanted.height, units),
            )
        )
    if not is_exact(wanted.height, notation):
        lines.append(_("shown as {length}", length=true_minus(show(wanted.height, notation, unit=True))))
    return tuple(lines)


def _finish_in_words(area: Area, point: Point, notation: Notation) -> str:
    """The sum that gives the finish, for a point on a surface from the surface."""
    if point.working != BY_SURFACE:
        return translated(point.working)
    units, surface = notation.units, area.surface
    total = _said((point.exact or point.finish).height, units)
    if surface is None or point.at is None:
        return _("by the surface = {total}", total=total)
    if len(surface.planes) != 1:
        return f"{translated(surface.says)} = {total}"
    plane = surface.planes[0]
    words = f"{translated(surface.says)} {true_minus(show_exact(plane.z.height, units))}"
    for axis, fall in zip((0, 1), plane.falls, strict=True):
        run = point.at[axis] - plane.at[axis]
        if run and fall.ratio:
            sign = "−" if run.metres * fall.ratio > 0 else "+"
            words += f" {sign} {_said(abs(run), units)} × {float(abs(fall.percent)):.6g}%"
    return f"{words} = {total}"


def _said(length: Length, units: Units) -> str:
    return true_minus(show_exact(length, units, unit=True))


def true_minus(printed: str) -> str:
    """A printed length with a minus that can't be taken for a hyphen."""
    return printed.replace("-", "−")
