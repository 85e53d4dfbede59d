"""Names are compared without their capitals: what refers to one is respelt as it is written where it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar

from gradecheck.plan.look_alikes import folded
from gradecheck.plan.model import FINISH, SUBGRADE

if TYPE_CHECKING:
    from gradecheck.plan.document import AreaEntry, JobEntry, PointEntry
    from gradecheck.plan.texts import Entry

    AnyEntry = TypeVar("AnyEntry", bound=Entry)
V = TypeVar("V")


class Known:
    """Names as they are written where they stand."""

    def __init__(self, names: Iterable[str]) -> None:
        self._exact = dict.fromkeys(names)
        self._folded: dict[str, str] = {}
        for name in self._exact:
            self._folded.setdefault(folded(name), name)

    def one(self, name: str) -> str:
        """The name as it is written there; as it is where there is none such."""
        return name if name in self._exact else self._folded.get(folded(name), name)

    def some(self, names: Any) -> Any:
        """One name or several, in what they came in; what is no name stays."""
        if isinstance(names, str):
            return self.one(names)
        return type(names)(map(self.one, names)) if isinstance(names, tuple | list) else names

    def keys(self, mapping: Mapping[str, V]) -> dict[str, V]:
        """A mapping with its keys respelt; of two that are one then, which is told elsewhere, the first stays."""
        respelt: dict[str, V] = {}
        for name, value in mapping.items():
            respelt.setdefault(self.one(name), value)
        return respelt


def respelt(job: JobEntry, made: Iterable[str] = ()) -> JobEntry:
    """The job with all that refers to a name spelt like that name; the same object where all is spelt so.

    `made` are the names of points that the plan makes: from lists, grids, edges, flights and ramps.
    """
    written = [name for area in job.areas.values() if isinstance(area.points, dict) for name in area.points]
    written += [name for area in job.areas.values() for name in area.added]
    marks = [datum.mark for datum in job.datums.values() if not _is_one_of(datum.mark, job.benchmarks)]
    points = Known((*job.benchmarks, *written, *marks, *made))
    stages = Known(_stages(job))
    areas = {name: _area(area, job, points, stages) for name, area in job.areas.items()}
    build_ups = {
        name: _with(each, loose=Known(layer.name for layer in each.layers).keys(each.loose))
        for name, each in job.build_ups.items()
    }
    datums = {name: _with(each, mark=points.one(each.mark)) for name, each in job.datums.items()}
    names = Known(job.areas)
    layout = {name: _with(each, outline_of=names.some(each.outline_of)) for name, each in job.layout.items()}
    return _with(
        job,
        areas=_same(job.areas, areas),
        build_ups=_same(job.build_ups, build_ups),
        datums=_same(job.datums, datums),
        layout=_same(job.layout, layout),
        tolerances=stages.keys(job.tolerances),
    )


def _is_one_of(name: str, names: Iterable[str]) -> bool:
    return folded(name) in {folded(each) for each in names}


def _stages(job: JobEntry) -> list[str]:
    """All surfaces that can be worked to."""
    layers = [layer.name for each in job.build_ups.values() for layer in each.layers]
    return [FINISH, SUBGRADE, *layers, *(f"{name} loose" for name in layers), *(f"{name} set" for name in layers)]


def _area(area: AreaEntry, job: JobEntry, points: Known, stages: Known) -> AreaEntry:
    drained = area.drains
    if drained is not None:
        away = Known((*job.walls, *job.benchmarks)).some(drained.away_from)
        drained = _with(drained, away_from=points.some(away), into=points.some(drained.into))
    written: Any = area.points
    if isinstance(written, dict):
        written = _same(written, {name: _point(point, points) for name, point in written.items()})
    surface, flight, ramp = area.surface, area.flight, area.ramp
    anchors = ("at", "through", "high_edge", "low_edge", "toward", "corners", "spots", "crown", "valley")
    return _with(
        area,
        build_up=Known(job.build_ups).some(area.build_up),
        datum=Known(job.datums).some(area.datum),
        layers=stages.keys(area.layers),
        tolerances=stages.keys(area.tolerances),
        drains=drained,
        points=written,
        added=_same(area.added, {name: _point(point, points) for name, point in area.added.items()}),
        instead=points.keys(area.instead),
        surface=surface and _with(surface, **{key: points.some(getattr(surface, key)) for key in anchors}),
        flight=flight and _with(flight, from_=points.one(flight.from_)),
        ramp=ramp and _with(ramp, from_=points.one(ramp.from_)),
        route=points.some(area.route),
        along=area.along and type(area.along)(points.one(e) if isinstance(e, str) else e for e in area.along),
    )


def _point(point: PointEntry, points: Known) -> PointEntry:
    also = point.also and _with(point.also, from_=points.one(point.also.from_))
    return _with(point, from_=points.some(point.from_), also=also)


def _with(entry: AnyEntry, **fields: Any) -> AnyEntry:
    """The entry with those fields; the very same where none is another."""
    changed = {name: value for name, value in fields.items() if not _alike(value, getattr(entry, name))}
    return entry.model_copy(update=changed) if changed else entry


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, dict) and isinstance(other, dict) and one is not other:
        return list(one) == list(other) and all(one[name] is other[name] for name in one)
    return one is other or (isinstance(one, str | tuple | list) and bool(one == other))


def _same(before: Mapping[str, V], after: dict[str, V]) -> Mapping[str, V]:
    """The mapping as it was where none of its values was changed."""
    return before if all(after[name] is value for name, value in before.items()) else after
