"""What one plan wants otherwise than another: points that came and went, targets that moved, tolerances."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.targets import target


@dataclass(frozen=True, slots=True)
class Moved:
    """A target that is another now; `by` is positive upward."""

    area: str
    point: str
    stage: str
    by: Length


@dataclass(frozen=True, slots=True)
class Changes:
    """What is different; `added` and `gone` are points, `tolerances` areas with their stages."""

    moved: tuple[Moved, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    tolerances: tuple[tuple[str, str], ...]

    @property
    def largest(self) -> Moved | None:
        """The target that moved most."""
        return max(self.moved, key=lambda each: abs(each.by), default=None)

    def __bool__(self) -> bool:
        return bool(self.moved or self.added or self.gone or self.tolerances)


def changes(old: Plan, new: Plan) -> Changes:
    """What the new plan wants otherwise."""
    moved, tolerances = [], []
    for name, area in new.areas.items():
        before = old.areas.get(name)
        if before is None:
            continue
        moved += _moved(before, area)
        tolerances += [
            (name, stage)
            for stage in area.stages
            if stage in before.stages and before.tolerances[stage] != area.tolerances[stage]
        ]
    added = tuple(name for name in new.area_of if name not in old.area_of)
    gone = tuple(name for name in old.area_of if name not in new.area_of)
    return Changes(tuple(moved), added, gone, tuple(tolerances))


def _moved(before: Area, area: Area) -> list[Moved]:
    found = []
    for point in area.points:
        if point.name not in before.place:
            continue
        for stage in area.stages:
            if stage in before.stages:
                was = target(before, before.point(point.name), stage).wanted
                by = target(area, point, stage).wanted.above(was)
                if by != ZERO:
                    found.append(Moved(area.name, point.name, stage, by))
    return found
