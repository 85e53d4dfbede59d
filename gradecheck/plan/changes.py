"""What one plan wants otherwise than another: points that came and went, targets that moved, tolerances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.settings import Other, written_otherwise
from gradecheck.plan.targets import target
from gradecheck.plan.written import written_like


@dataclass(frozen=True, slots=True)
class Moved:
    """A target that is another now; `by` is positive upward."""

    area: str
    point: str
    stage: str
    by: Length


@dataclass(frozen=True, slots=True)
class Changes:
    """What is different; `added` and `gone` are points, `tolerances` and `stages` areas with their stages.

    A point that went to another area is gone and added. `stages` came or went; `marks` are benchmarks, datums and
    rods that are read otherwise, from which every setup and every target then is; `lost` are those that went, and
    what was read by them has no height then.
    """

    moved: tuple[Moved, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    tolerances: tuple[tuple[str, str], ...]
    stages: tuple[tuple[str, str], ...] = ()
    marks: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    judged: tuple[str, ...] = ()
    """Areas that had example figures and have none any more: what was read there is judged from then on."""
    unjudged: tuple[str, ...] = ()
    """Areas that have example figures now, and had none: nothing there is judged any more."""
    staying: tuple[str, ...] = ()
    """Points that the new plan wants otherwise, and that stay all the same because they were changed on site."""
    others: tuple[Other, ...] = field(default=(), compare=False)
    """Everything else that is written otherwise, by which work is judged, ordered or laid out."""
    homes: Mapping[str, str] = field(default_factory=dict, compare=False)
    """The area of each point that came or went."""

    @property
    def largest(self) -> Moved | None:
        """The target that moved most."""
        return max(self.moved, key=lambda each: abs(each.by), default=None)

    def __bool__(self) -> bool:
        lists = (self.moved, self.added, self.gone, self.tolerances, self.stages, self.marks, self.lost)
        return any(lists) or bool(self.judged or self.unjudged or self.others)


def changes(old: Plan, new: Plan) -> Changes:
    """What the new plan wants otherwise. Names are compared without their capitals."""
    old = written_like(old, new)
    moved, tolerances, stages = [], [], []
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
        stages += [
            (name, stage)
            for stage in {**dict.fromkeys(before.stages), **dict.fromkeys(area.stages)}
            if (stage in before.stages) != (stage in area.stages)
        ]
    added = tuple(name for name, area in new.area_of.items() if old.area_of.get(name) != area)
    gone = tuple(name for name, area in old.area_of.items() if new.area_of.get(name) != area)
    marks, lost = _marks(old, new), _lost(old, new)
    both = [name for name in new.areas if name in old.areas]
    judged = tuple(name for name in both if old.areas[name].examples and not new.areas[name].examples)
    unjudged = tuple(name for name in both if new.areas[name].examples and not old.areas[name].examples)
    others = tuple(written_otherwise(old, new))
    homes = {**{name: old.area_of[name] for name in gone}, **{name: new.area_of[name] for name in added}}
    return Changes(
        tuple(moved),
        added,
        gone,
        tuple(tolerances),
        tuple(stages),
        marks,
        lost,
        judged,
        unjudged,
        others=others,
        homes=homes,
    )


def _marks(old: Plan, new: Plan) -> tuple[str, ...]:
    benchmarks = [
        name
        for name, mark in new.benchmarks.items()
        if name in old.benchmarks and old.benchmarks[name].elevation != mark.elevation
    ]
    datums = [name for name, datum in new.datums.items() if name in old.datums and old.datums[name] != datum]
    rods = [name for name, rod in new.rods.items() if name in old.rods and old.rods[name].kind != rod.kind]
    return (*benchmarks, *datums, *rods)


def _lost(old: Plan, new: Plan) -> tuple[str, ...]:
    pairs = ((old.benchmarks, new.benchmarks), (old.datums, new.datums), (old.rods, new.rods))
    return tuple(name for before, now in pairs for name in before if name not in now)


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
