"""Works out the finished elevation of every point from the points it depends on, and keeps each sum in words."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace

from gradecheck.catalogue import _, stored
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope
from gradecheck.plan.area_entries import AreaEntry, PointEntry, StepsEntry
from gradecheck.plan.document import JobEntry
from gradecheck.plan.model import Benchmark, Datum, Point
from gradecheck.plan.problems import suggestion
from gradecheck.plan.surfaces import SurfaceError, surface_of
from gradecheck.plan.targets import BY_SURFACE, true_minus
from gradecheck.plan.yaml_tree import At, KeyPath, MapNode, Node, locate, locate_node


@dataclass(frozen=True, slots=True)
class FinishSource:
    """How points get their finish: the points they depend on, and what makes them once those are known.

    A problem with one of `needs` is reported at `blame`; `make` gives the point, or None after reporting a problem.
    """

    area: str
    blame: KeyPath
    needs: tuple[str, ...]
    make: Callable[[str], Point | None]


MAKERS = frozenset(("points", "point list", "grid", "edges", "curbs", "flight", "ramp"))
"""What an area gets its points from."""


@dataclass
class Finishes:
    """Follows every point back to a benchmark or a given elevation, in any order of writing.

    `report` takes the path and the sentence of each problem; points that depend on it are left out silently.
    """

    job: JobEntry
    tree: MapNode
    benchmarks: Mapping[str, Benchmark]
    datums: Mapping[str, Datum]
    broken: Collection[str]
    report: Callable[[KeyPath, str], None]
    sources: dict[str, FinishSource] = field(init=False, default_factory=dict)
    found: dict[str, Point] = field(init=False, default_factory=dict)
    lost: set[str] = field(init=False, default_factory=set)
    surfaces: dict[str, AreaSurface | None] = field(init=False, default_factory=dict)
    unsure: bool = field(init=False)
    """Whether what makes points is itself at fault: a name that is not known may then be one of theirs."""

    def __post_init__(self) -> None:
        self._given = {name: mark.elevation for name, mark in self.benchmarks.items()}
        self.lost |= set(self.broken)
        self.unsure = not MAKERS.isdisjoint(self.broken)
        for area_name, area in self.job.areas.items():
            if isinstance(area.points, dict):
                for name, entry in area.points.items():
                    self.sources[name] = self._written(area_name, name, entry, "points")
            for name, entry in area.added.items():
                self.sources[name] = self._written(area_name, name, entry, "added")

    def follow(self, generated: Mapping[str, FinishSource]) -> None:
        """Works out every point, those that the plan makes among them."""
        for name, source in generated.items():
            self.sources.setdefault(name, source)
        for name in self.sources:
            self._follow(name)
        for area_name, area in self.job.areas.items():
            self._second_routes(area_name, area)
            if area.surface is not None:  # also where no point lies on it yet: one may be added on site
                for anchor in area.surface.anchors:
                    if anchor in self.sources:
                        self._follow(anchor)
                self.surface(area_name)

    def on_surface(
        self, area_name: str, place: Place, what: str, blame: KeyPath, below: Length = ZERO
    ) -> FinishSource:
        """A point of the area's surface at a place, or so far below it."""
        entry = self.job.areas[area_name].surface
        line, made = locate(self.tree, blame).line, blame[2] in ("grid", "edges")

        def make(name: str) -> Point | None:
            surface = self.surface(area_name)
            if surface is None:
                return None
            z = surface.elevation(place)
            if z is None:
                self.report(
                    blame,
                    _(
                        "{name} lies outside the surface of “{area_name}”; give it an elevation, or move it.",
                        name=name,
                        area_name=area_name,
                    ),
                )
                return None
            working = BY_SURFACE
            if below:
                units, surface_z, z = self.job.units, z, z.minus(below)
                start, drop = true_minus(show_exact(surface_z.height, units)), show_exact(below, units, unit=True)
                working = f"{BY_SURFACE} {start} − {drop} = {_shown(z, units)}"
            return Point(name, z, working, what, place, line=line, made=made)

        return FinishSource(area_name, ("areas", area_name, "surface"), entry.anchors if entry else (), make)

    def is_reported(self, name: str) -> bool:
        """Whether the cause of an unknown name is a problem reported elsewhere, so that it needs no second one."""
        return self.unsure or name in self.broken

    def has_surface(self, area_name: str) -> bool:
        """Whether the area has a surface in the file, right or wrong."""
        return locate_node(self.tree, ("areas", area_name, "surface")) is not None

    def spot(self, area_name: str, name: str) -> Spot | None:
        """An anchor as a spot, None where it has no place or no elevation."""
        marks = self._marks(area_name)
        if name in marks and name not in self.sources:
            mark = self.benchmarks.get(name)
            return Spot(name, mark.at, marks[name]) if mark and mark.at else None
        point = self.found.get(name)
        return point.spot if point else None

    def place(self, name: str) -> Place | None:
        """The place of a mark or a point already worked out, None where the plan gives none."""
        if name in self.found:
            return self.found[name].at
        mark = self.benchmarks.get(name)
        return mark.at if mark else None

    def elevation(self, area_name: str, name: str) -> Elevation:
        """The elevation of a mark or a point already worked out, from the area's datum."""
        marks = self._marks(area_name)
        return marks[name] if name in marks else self.found[name].finish

    def surface(self, area_name: str) -> AreaSurface | None:
        """The surface of an area, None where it has none or its anchors make none; that is reported once."""
        if area_name not in self.surfaces:
            self.surfaces[area_name] = self._surface(area_name)
        return self.surfaces[area_name]

    def _surface(self, area_name: str) -> AreaSurface | None:
        entry = self.job.areas[area_name].surface
        path: KeyPath = ("areas", area_name, "surface")
        if entry is None:
            return None
        spots: dict[str, Spot] = {}
        for name in entry.anchors:
            spot = self.spot(area_name, name)
            if spot is None:
                if name in self.sources or name in self._marks(area_name):
                    if name not in self.lost:
                        self.report(
                            path,
                            _("“{name}” has no place to carry the surface from; give it “at: [x, y]”.", name=name),
                        )
                elif name not in self.lost and not self.is_reported(name):
                    self.report(path, self._no_start(area_name, name))
                return None
            spots[name] = spot
        try:
            return surface_of(entry, spots.__getitem__)
        except SurfaceError as wrong:
            self.report(path, str(wrong))
            return None

    # -- following

    def _follow(self, name: str) -> None:
        chain: dict[str, None] = {name: None}
        while chain:
            here = next(reversed(chain))
            if here in self.found or here in self.lost:
                del chain[here]
                continue
            source = self.sources[here]
            missing = self._missing(source)
            if missing is None:
                point = source.make(here)
                if point is None:
                    self.lost.add(here)
                else:
                    self.found[here] = point
                del chain[here]
            elif missing in chain:
                names = list(chain)
                loop = _(" from ").join([*names[names.index(missing) :], missing])
                self.report(
                    source.blame, _("This goes round in a circle: {loop}; give one of them an elevation.", loop=loop)
                )
                self.lost.update(chain)
            elif missing in self.lost:
                self.lost.add(here)
            elif fault := self._start_fault(source.area, missing):
                if missing in self.sources or not self.is_reported(missing):
                    self.report(source.blame, fault)
                self.lost.add(here)
            else:
                chain[missing] = None

    def _missing(self, source: FinishSource) -> str | None:
        """A point the source needs that is not worked out yet, or is counted from another datum."""
        marks = self._marks(source.area)
        for need in source.needs:
            if need not in marks and (need not in self.found or self._from_other_datum(source.area, need)):
                return need
        return None

    def _from_other_datum(self, area_name: str, name: str) -> bool:
        """Whether a point is counted from another datum than that area's."""
        return self._datum(self.sources[name].area) != self._datum(area_name)

    def _start_fault(self, area_name: str, name: str) -> str | None:
        """Why no point of that area can start from there, None where it can."""
        if name not in self.sources:
            return self._no_start(area_name, name)
        if self._from_other_datum(area_name, name):
            return _("“{name}” has another datum; start from a point or mark of this area's datum.", name=name)
        return None

    def _datum(self, area_name: str) -> str | None:
        return self.job.areas[area_name].datum

    def _marks(self, area_name: str) -> Mapping[str, Elevation]:
        """The marks a point of the area may start from, with their elevations from its datum."""
        datum = self.datums.get(self._datum(area_name) or "")
        if datum is not None:
            return {datum.mark: datum.reads}
        return self._given

    def _no_start(self, area_name: str, origin: str) -> str:
        if origin in self.benchmarks:
            datum = self._datum(area_name)
            return _(
                "“{origin}” is not a mark of the datum “{datum}”; start from the mark that the datum names.",
                origin=origin,
                datum=datum,
            )
        known = [*self._marks(area_name), *self.sources]
        return _(
            "There is no point or benchmark “{origin}” to start from.{meant}",
            origin=origin,
            meant=suggestion(origin, known),
        )

    # -- points as they are written

    def _written(self, area_name: str, name: str, entry: PointEntry, key: str) -> FinishSource:
        path: KeyPath = ("areas", area_name, key, name)
        if entry.elevation is None and entry.from_ is None:
            assert entry.at is not None
            if not self.has_surface(area_name):
                return FinishSource(area_name, path, (), lambda _: self._no_surface(area_name, path))
            return self.on_surface(area_name, entry.at, entry.what, path)
        needs = (entry.from_,) if entry.from_ else ()
        return FinishSource(area_name, (*path, "from"), needs, lambda _: self._point(area_name, name, entry, path))

    def _no_surface(self, area_name: str, path: KeyPath) -> None:
        says = _(
            "Area “{area_name}” has no “surface:” to lie on; add it, or give this point “elevation:” or “from:”.",
            area_name=area_name,
        )
        self.report(path, says)

    def _point(self, area_name: str, name: str, entry: PointEntry, path: KeyPath) -> Point:
        units, line = self.job.units, locate(self.tree, path, key=True).line
        if entry.from_ is None:
            assert entry.elevation is not None
            working = stored("{shown} as given", shown=_shown(entry.elevation, units))
            return Point(name, entry.elevation, working, entry.what, entry.at, line=line)
        finish, working = self._stepped(area_name, entry, path)
        pitch = self._slope(entry.fall if entry.fall is not None else entry.rise)
        return Point(name, finish, working, entry.what, entry.at, pitch=pitch, run=entry.over, line=line)

    def _stepped(self, area_name: str, entry: StepsEntry, path: KeyPath) -> tuple[Elevation, str]:
        """The sum of one route, and the same in words."""
        assert entry.from_ is not None
        written = locate_node(self.tree, path)
        words = written if isinstance(written, MapNode) else MapNode(At(1, 1))
        units = self.job.units
        finish = self.elevation(area_name, entry.from_)
        working = f"{entry.from_} {true_minus(show_exact(finish.height, units))}"
        if entry.over is not None:
            down = entry.rise is None
            slope = self._slope(entry.fall if down else entry.rise)
            assert slope is not None
            change = slope.over(entry.over)
            finish = finish.minus(change) if down else finish + change
            sign, pitch = ("−", words.get("fall")) if down else ("+", words.get("rise"))
            if pitch == "pitch":
                pitch = self._pitch_words()
            working += f" {sign} {_with_unit(words.get('over'), units)} × {pitch}"
        if entry.riser is not None:
            risers = entry.down or entry.up
            assert risers is not None
            change = entry.riser * risers
            finish = finish.minus(change) if entry.down else finish + change
            working += f" {'−' if entry.down else '+'} {risers} × {_with_unit(words.get('riser'), units)}"
        return finish, f"{working} = {_shown(finish, units)}"

    def _slope(self, written: Slope | str | None) -> Slope | None:
        if isinstance(written, str):
            return self.job.pitch.rule if self.job.pitch else NO_SLOPE  # that it is missing is told on its line
        return written

    def _pitch_words(self) -> str:
        pitch = self.tree.get("pitch")
        return str(pitch.get("rule")) if isinstance(pitch, MapNode) else str(pitch)

    def _second_routes(self, area_name: str, area: AreaEntry) -> None:
        """What the second routes give, for the points that have one."""
        if not isinstance(area.points, dict):
            return
        for name, entry in area.points.items():
            if entry.also is None or name not in self.found:
                continue
            path: KeyPath = ("areas", area_name, "points", name, "also")
            start = entry.also.from_
            fault = None if start in self._marks(area_name) else self._start_fault(area_name, start)
            if fault is None and start not in self.lost:
                other, _ = self._stepped(area_name, entry.also, path)
                self.found[name] = replace(self.found[name], other=other)
            elif fault is not None and (start in self.sources or not self.is_reported(start)):
                self.report((*path, "from"), fault)


def _shown(elevation: Elevation, units: Units) -> str:
    return true_minus(show_exact(elevation.height, units, unit=True))


def _with_unit(written: Node | None, units: Units) -> str:
    """The text of the file, with the job's unit added to a bare number."""
    text = str(written)
    bare = not any(character.isalpha() or character in "'\"" for character in text)
    return f"{text} {units.value if units is not Units.FT_IN else 'in'}" if bare else text
