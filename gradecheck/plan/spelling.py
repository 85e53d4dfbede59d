"""Names are compared without their capitals: a reference is respelt like the name where it is defined."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from gradecheck.plan.model import FINISH, SUBGRADE, Area, BuildUp, Plan, lift_name
from gradecheck.plan.names import folded

if TYPE_CHECKING:
    from gradecheck.plan.area_entries import AreaEntry, PointEntry
    from gradecheck.plan.document import JobEntry
    from gradecheck.plan.texts import Model

    AnyEntry = TypeVar("AnyEntry", bound=Model)


V = TypeVar("V")


class KnownNames:
    """Names as they are spelt where they are defined."""

    def __init__(self, names: Iterable[str]) -> None:
        self._exact = dict.fromkeys(names)
        self._folded: dict[str, str] = {}
        for name in self._exact:
            self._folded.setdefault(folded(name), name)

    def one(self, name: str) -> str:
        """The name as it is spelt there; unchanged where there is none such."""
        return name if name in self._exact else self._folded.get(folded(name), name)

    def some(self, names: Any) -> Any:
        """A name, or each of a list of names, respelt; anything else is unchanged."""
        if isinstance(names, str):
            return self.one(names)
        return type(names)(map(self.one, names)) if isinstance(names, tuple | list) else names

    def keys(self, mapping: Mapping[str, V]) -> dict[str, V]:
        """The mapping with its keys respelt; of two that become equal (reported elsewhere) the first is kept."""
        respelt: dict[str, V] = {}
        for name, value in mapping.items():
            respelt.setdefault(self.one(name), value)
        return respelt


def respelt(job: JobEntry, made: Iterable[str] = ()) -> JobEntry:
    """The job with every reference spelt like the name it refers to; the same object where nothing changes.

    `made` are the names of points that the plan makes: from lists, grids, edges, flights and ramps.
    """
    written = [name for area in job.areas.values() if isinstance(area.points, dict) for name in area.points]
    written += [name for area in job.areas.values() for name in area.added]
    marks = [datum.mark for datum in job.datums.values() if not _is_one_of(datum.mark, job.benchmarks)]
    points = KnownNames((*job.benchmarks, *written, *marks, *made))
    stages = KnownNames(_stages(job))
    areas = {name: _area(area, job, points, stages) for name, area in job.areas.items()}
    build_ups = {
        name: _with(
            each,
            loose=KnownNames(layer.name for layer in each.layers).keys(each.loose),
            lifts=KnownNames(layer.name for layer in each.layers).keys(each.lifts),
        )
        for name, each in job.build_ups.items()
    }
    datums = {name: _with(each, mark=points.one(each.mark)) for name, each in job.datums.items()}
    names = KnownNames(job.areas)
    layout = {name: _with(each, outline_of=names.some(each.outline_of)) for name, each in job.layout.items()}
    return _with(
        job,
        areas=_same(job.areas, areas),
        build_ups=_same(job.build_ups, build_ups),
        datums=_same(job.datums, datums),
        layout=_same(job.layout, layout),
        tolerances=stages.keys(job.tolerances),
        hold_points=stages.some(job.hold_points),
    )


def _is_one_of(name: str, names: Iterable[str]) -> bool:
    return folded(name) in {folded(each) for each in names}


def _stages(job: JobEntry) -> list[str]:
    """The names of all stages."""
    layers = [layer.name for each in job.build_ups.values() for layer in each.layers]
    return [
        FINISH,
        SUBGRADE,
        *layers,
        *(f"{name} loose" for name in layers),
        *(f"{name} set" for name in layers),
        *(
            lift_name(KnownNames(each.name for each in built.layers).one(layer), number)
            for built in job.build_ups.values()
            for layer, lifts in built.lifts.items()
            for number in range(1, lifts if isinstance(lifts, int) else len(lifts))
        ),
    ]


def _area(area: AreaEntry, job: JobEntry, points: KnownNames, stages: KnownNames) -> AreaEntry:
    edges = KnownNames(name for each in job.areas.values() for name in each.edges)
    drained = area.drains
    if drained is not None:
        away = KnownNames((*job.walls, *job.benchmarks)).some(drained.away_from)
        drained = _with(drained, away_from=points.some(away), into=edges.some(points.some(drained.into)))
    written: Any = area.points
    if isinstance(written, dict):
        written = _same(written, {name: _point(point, points) for name, point in written.items()})
    surface, flight, ramp = area.surface, area.flight, area.ramp
    anchors = ("at", "through", "high_edge", "low_edge", "toward", "corners", "spots", "crown", "valley")
    return _with(
        area,
        build_up=KnownNames(job.build_ups).some(area.build_up),
        datum=KnownNames(job.datums).some(area.datum),
        layers=stages.keys(area.layers),
        tolerances=stages.keys(area.tolerances),
        hold_points=stages.some(area.hold_points),
        drains=drained,
        points=written,
        added=_same(area.added, {name: _point(point, points) for name, point in area.added.items()}),
        instead=points.keys(area.instead),
        surface=surface and _with(surface, **{key: points.some(getattr(surface, key)) for key in anchors}),
        curbs=_same(area.curbs, {name: _with(each, edge=edges.one(each.edge)) for name, each in area.curbs.items()}),
        flight=flight and _with(flight, from_=points.one(flight.from_)),
        ramp=ramp and _with(ramp, from_=points.one(ramp.from_)),
        route=points.some(area.route),
        strings=_same(
            area.strings, {name: _with(each, along=points.some(each.along)) for name, each in area.strings.items()}
        ),
        along=area.along and type(area.along)(points.one(e) if isinstance(e, str) else e for e in area.along),
    )


def _point(point: PointEntry, points: KnownNames) -> PointEntry:
    also = point.also and _with(point.also, from_=points.one(point.also.from_))
    return _with(point, from_=points.some(point.from_), also=also)


def _with(entry: AnyEntry, **fields: Any) -> AnyEntry:
    """The entry with those fields replaced; the same object where none changes."""
    changed = {name: value for name, value in fields.items() if not _alike(value, getattr(entry, name))}
    return entry.model_copy(update=changed) if changed else entry


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, dict) and isinstance(other, dict) and one is not other:
        return list(one) == list(other) and all(one[name] is other[name] for name in one)
    return one is other or (isinstance(one, str | tuple | list) and bool(one == other))


def _same(before: Mapping[str, V], after: dict[str, V]) -> Mapping[str, V]:
    """The old mapping where none of its values changed, else the new one."""
    return before if all(after[name] is value for name, value in before.items()) else after


class PlanNames:
    """The names of each kind in a plan. Points and marks share theirs."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._stages = frozenset(stage for area in plan.areas.values() for stage in area.stages)
        self.stages = KnownNames(self._stages)
        self.areas = KnownNames(plan.areas)
        self.rods = KnownNames(plan.rods)
        self.datums = KnownNames(plan.datums)
        self.layouts = KnownNames(plan.layout)

    @cached_property
    def points(self) -> KnownNames:
        """The names of points, benchmarks and the marks of datums."""
        plan = self._plan
        return KnownNames((*plan.benchmarks, *plan.area_of, *(datum.mark for datum in plan.datums.values())))

    @cached_property
    def corners(self) -> KnownNames:
        """The names of the corners of all layout checks."""
        return KnownNames(corner for each in self._plan.layout.values() for corner, _ in each.corners)

    def has(self, area: str, point: str, stage: str) -> bool:
        """Whether area, point and stage are all spelt so."""
        home = self._plan.areas.get(area)
        return home is not None and point in home.index and stage in self._stages


def written_like(old: Plan, new: Plan) -> Plan:
    """The old plan with its names spelt as the new one spells them."""
    names = PlanNames(new)
    walls, bonds, layers = KnownNames(new.walls), KnownNames(new.bonds), KnownNames(_layers(new))
    areas = {names.areas.one(area.name): _area_like(area, names, walls, layers) for area in old.areas.values()}
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


def _area_like(area: Area, names: PlanNames, walls: KnownNames, layers: KnownNames) -> Area:
    points, drains = names.points, area.drains
    if drains is not None:
        away = points.some(walls.some(drains.away_from))
        drains = replace(drains, away_from=away, into=points.some(drains.into))
    return replace(
        area,
        name=names.areas.one(area.name),
        build_up=area.build_up and _build_up_like(area.build_up, layers, names.stages),
        tolerances=names.stages.keys(area.tolerances),
        holds=names.stages.some(area.holds),
        points=tuple(
            point if points.one(point.name) == point.name else replace(point, name=points.one(point.name))
            for point in area.points
        ),
        datum=names.datums.some(area.datum),
        strings={each: replace(string, points=points.some(string.points)) for each, string in area.strings.items()},
        drains=drains,
    )


def _build_up_like(build_up: BuildUp, layers: KnownNames, stages: KnownNames) -> BuildUp:
    return replace(
        build_up,
        layers=tuple(
            replace(layer, name=layers.one(layer.name), before=stages.one(layer.before)) for layer in build_up.layers
        ),
    )


def _layers(plan: Plan) -> list[str]:
    return [layer.name for area in plan.areas.values() if area.build_up for layer in area.build_up.layers]
