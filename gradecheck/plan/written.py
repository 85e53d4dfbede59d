"""The names of a plan as it writes them: in a new job file a name may have other capitals, and is the same name."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TypeVar

from gradecheck.plan.model import Area, BuildUp, Plan
from gradecheck.plan.spelling import Known

V = TypeVar("V")


class Written:
    """The names of each kind in a plan. Points and marks share theirs."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._stages = frozenset(stage for area in plan.areas.values() for stage in area.stages)
        self.stages = Known(self._stages)
        self.areas = Known(plan.areas)
        self.rods = Known(plan.rods)
        self.datums = Known(plan.datums)
        self.layouts = Known(plan.layout)

    @cached_property
    def points(self) -> Known:
        """Points, benchmarks, and what a datum's mark will be called."""
        plan = self._plan
        return Known((*plan.benchmarks, *plan.area_of, *(datum.mark for datum in plan.datums.values())))

    @cached_property
    def corners(self) -> Known:
        """Those of all layout checks."""
        return Known(corner for each in self._plan.layout.values() for corner, _ in each.corners)

    def has(self, area: str, point: str, stage: str) -> bool:
        """Whether all three are written just so."""
        home = self._plan.areas.get(area)
        return home is not None and point in home.place and stage in self._stages


def written_like(old: Plan, new: Plan) -> Plan:
    """The old plan with its names as the new one writes them."""
    names = Written(new)
    walls, bonds, layers = Known(new.walls), Known(new.bonds), Known(_layers(new))
    areas = {names.areas.one(area.name): _area(area, names, walls, layers) for area in old.areas.values()}
    layout = {
        names.layouts.one(each.name): replace(
            each,
            name=names.layouts.one(each.name),
            area=names.areas.one(each.area),
            corners=tuple((names.corners.one(corner), place) for corner, place in each.corners),
        )
        for each in old.layout.values()
    }
    marks, datums, rods, bond = old.benchmarks, old.datums, old.rods, old.bonds
    return replace(
        old,
        areas=areas,
        layout=layout,
        benchmarks={names.points.one(key): replace(mark, name=names.points.one(key)) for key, mark in marks.items()},
        datums={
            names.datums.one(key): replace(each, name=names.datums.one(key), mark=names.points.one(each.mark))
            for key, each in datums.items()
        },
        rods={names.rods.one(key): replace(rod, name=names.rods.one(key)) for key, rod in rods.items()},
        bonds={bonds.one(key): replace(each, name=bonds.one(key)) for key, each in bond.items()},
        walls=walls.keys(old.walls),
    )


def _area(area: Area, names: Written, walls: Known, layers: Known) -> Area:
    points, drains = names.points, area.drains
    if drains is not None:
        away = points.some(walls.some(drains.away_from))
        drains = replace(drains, away_from=away, into=points.some(drains.into))
    return replace(
        area,
        name=names.areas.one(area.name),
        build_up=area.build_up and _build_up(area.build_up, layers, names.stages),
        tolerances=names.stages.keys(area.tolerances),
        points=tuple(
            point if points.one(point.name) == point.name else replace(point, name=points.one(point.name))
            for point in area.points
        ),
        datum=names.datums.some(area.datum),
        drains=drains,
    )


def _build_up(build_up: BuildUp, layers: Known, stages: Known) -> BuildUp:
    return replace(
        build_up,
        layers=tuple(
            replace(layer, name=layers.one(layer.name), before=stages.one(layer.before)) for layer in build_up.layers
        ),
    )


def _layers(plan: Plan) -> list[str]:
    return [layer.name for area in plan.areas.values() if area.build_up for layer in area.build_up.layers]
