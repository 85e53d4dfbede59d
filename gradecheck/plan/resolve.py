"""From the job file's entries to the plan: names looked up, chains followed, every fault on its line."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import NO_SLOPE, ZERO, inches, millimetres
from gradecheck.plan.document import AreaEntry, InstrumentEntry, JobEntry, RechecksEntry, RodEntry, ToleranceEntry
from gradecheck.plan.finishes import Finishes
from gradecheck.plan.model import (
    FINISH,
    Area,
    Benchmark,
    BuildUp,
    Datum,
    Instrument,
    Layer,
    Plan,
    Point,
    Rechecks,
    Rod,
    Tolerance,
)
from gradecheck.plan.problems import Problem, suggestion
from gradecheck.plan.yaml_tree import MapNode, Path, locate, locate_node


def resolve(entry: JobEntry, tree: MapNode, file: str, broken: Collection[str]) -> tuple[Plan, list[Problem]]:
    """The plan, and what is wrong with how its parts refer to each other; with problems it is not to be used.

    `broken` are names whose own entry is already a problem: to refer to them is not a second one.
    """
    return _Resolver(entry, tree, file, broken).plan()


@dataclass
class _Resolver:
    entry: JobEntry
    tree: MapNode
    file: str
    broken: Collection[str]
    problems: list[Problem] = field(default_factory=list)

    def plan(self) -> tuple[Plan, list[Problem]]:
        entry = self.entry
        benchmarks = {
            name: Benchmark(name, mark.elevation, mark.what, mark.at) for name, mark in entry.benchmarks.items()
        }
        datums = {name: Datum(name, given.mark, given.reads) for name, given in entry.datums.items()}
        build_ups = {
            name: BuildUp(name, tuple(Layer(layer.name, layer.thickness) for layer in layers))
            for name, layers in entry.build_ups.items()
        }
        for name, build_up in build_ups.items():
            self._check_layers(name, build_up)
        if not locate_node(self.tree, ("benchmarks",)):
            self.problem(("benchmarks",), "At least one benchmark is needed, for example “DOOR: 0”; add it.")
        self._check_names()
        self._check_tolerance_stages(build_ups.values())
        self._check_datums(datums)
        if entry.decide == "guarded" and entry.instrument is None and "instrument" not in self.broken:
            self.problem(("decide",), "To decide guarded, the plan must say what the instrument is good for; add it.")
        finishes = Finishes(entry, self.tree, benchmarks, datums, self.broken, self.problem)
        areas = {
            name: self._area(name, area, build_ups, finishes.of_area(area)) for name, area in entry.areas.items()
        }
        rods = {name: _rod(name, rod, entry.units) for name, rod in entry.rods.items()}
        rods = rods or {"rod": _rod("rod", RodEntry(), entry.units)}
        notation = _job_notation(entry.units, next(iter(rods.values())).notation)
        plan = Plan(
            job=entry.job,
            notation=notation,
            benchmarks=benchmarks,
            rods=rods,
            areas=areas,
            rechecks=_rechecks(entry.rechecks, entry.units),
            instrument=_instrument(entry.instrument),
            guarded=entry.decide == "guarded",
            closure=entry.closure,
            datums=datums,
        )
        return plan, self.problems

    def _area(
        self, name: str, area: AreaEntry, build_ups: Mapping[str, BuildUp], points: Mapping[str, Point]
    ) -> Area:
        build_up = build_ups.get(area.build_up) if area.build_up else None
        if area.build_up and build_up is None and area.build_up not in self.broken:
            says = f"There is no build-up “{area.build_up}”.{suggestion(area.build_up, self._written_build_ups)}"
            self.problem(("areas", name, "build-up"), says)
        stages = build_up.stages if build_up else (FINISH,)
        tolerances: dict[str, Tolerance] = {}
        for stage in stages:
            given = area.tolerances.get(stage) or self.entry.tolerances.get(stage)
            if given is not None:
                tolerances[stage] = _tolerance(given)
            elif stage not in self.broken:
                says = f"Area “{name}” has no tolerance for {stage}; add “{stage}: …” under tolerances."
                self.problem(("areas", name), says)
        # Which stages it has can't be told where the build-up itself is a problem.
        unknown = build_up is None and locate_node(self.tree, ("areas", name, "build-up")) is not None
        for stage in area.tolerances:
            if stage not in stages and not unknown:
                says = f"Area “{name}” has no stage “{stage}”; it has {', '.join(stages)}."
                self.problem(("areas", name, "tolerances", stage), says, key=True)
        return Area(name, area.what, build_up, tolerances, self._route(name, area, points), area.datum)

    def _route(self, name: str, area: AreaEntry, points: Mapping[str, Point]) -> tuple[Point, ...]:
        if area.route is None:
            return tuple(points.values())
        for index, point in enumerate(area.route):
            path: Path = ("areas", name, "route", index)
            if point not in area.points and point not in self.broken:
                says = f"Area “{name}” has no point “{point}”.{suggestion(point, area.points)}"
                self.problem(path, says)
            elif point in area.route[:index]:
                self.problem(path, f"“{point}” stands twice in this route; take one out.")
        for point in area.points:
            if point not in area.route:
                says = f"The route of area “{name}” leaves out “{point}”; add it, or take the route out."
                self.problem(("areas", name, "route"), says)
        return tuple(points[point] for point in dict.fromkeys(area.route) if point in points)

    def _check_layers(self, name: str, build_up: BuildUp) -> None:
        seen: set[str] = set()
        for index, layer in enumerate(build_up.layers):
            if layer.name in seen:
                says = f"Build-up “{name}” has two layers “{layer.name}”; give each its own name."
                self.problem(("build-ups", name, index), says)
            seen.add(layer.name)

    def _check_datums(self, datums: Mapping[str, Datum]) -> None:
        for name, area in self.entry.areas.items():
            if area.datum is not None and area.datum not in datums and area.datum not in self.broken:
                says = f"There is no datum “{area.datum}”.{suggestion(area.datum, datums)}"
                self.problem(("areas", name, "datum"), says)

    def _check_names(self) -> None:
        """A name typed on site must mean one thing, whatever its capitals."""
        taken: dict[str, tuple[str, int]] = {}
        places: list[Path] = [("benchmarks", name) for name in self.entry.benchmarks]
        for area_name, area in self.entry.areas.items():
            places += [("areas", area_name, "points", name) for name in area.points]
        for path in places:
            name = str(path[-1])
            line = locate(self.tree, path, key=True).line
            if earlier := taken.get(name.casefold()):
                says = f"“{name}” is already the name of “{earlier[0]}” on line {earlier[1]}; rename one."
                self.problem(path, says, key=True)
            taken.setdefault(name.casefold(), (name, line))

    def _check_tolerance_stages(self, build_ups: Iterable[BuildUp]) -> None:
        if len(self.entry.build_ups) < len(self._written_build_ups):
            return  # a build-up that is itself a problem may well have the stage
        stages = {FINISH, *self.broken, *(stage for build_up in build_ups for stage in build_up.stages)}
        for stage in self.entry.tolerances:
            if stage not in stages:
                says = f"No build-up has a stage “{stage}”.{suggestion(stage, stages)}"
                self.problem(("tolerances", stage), says, key=True)

    @property
    def _written_build_ups(self) -> list[str]:
        written = self.tree.get("build-ups")
        return list(written) if isinstance(written, MapNode) else []

    def problem(self, path: Path, says: str, *, key: bool = False) -> None:
        at = locate(self.tree, path, key=key)
        self.problems.append(Problem(self.file, at.line, at.column, says))


def _rod(name: str, entry: RodEntry, job: Units) -> Rod:
    units = entry.units or job
    return Rod(name, entry.kind, Notation(units, entry.graduation or units.graduation))


def _job_notation(units: Units, rod: Notation) -> Notation:
    """The job writes its own units to the marks of its first rod, where that rod's marks make sense in them."""
    in_inches = {Units.IN, Units.FT_IN}
    alike = rod.units is units or {rod.units, units} <= in_inches
    return Notation(units, rod.graduation) if alike else Notation.usual(units)


USUAL_READINGS, USUAL_MINUTES = 30, 60
"""Between two looks at a mark (common practice, no source)."""


def _rechecks(entry: RechecksEntry, units: Units) -> Rechecks:
    # What a mark may be off: 1/8 in, or 3 mm (common practice, no source).
    usual = inches(Fraction(1, 8)) if units in (Units.IN, Units.FT_IN, Units.FT) else millimetres(3)
    allowed = usual if entry.allowed is None else entry.allowed
    return Rechecks(entry.readings or USUAL_READINGS, entry.minutes or USUAL_MINUTES, allowed)


def _instrument(entry: InstrumentEntry | None) -> Instrument | None:
    if entry is None:
        return None
    return Instrument(
        entry.beam, entry.longest_shot, entry.receiver or ZERO, entry.plumb or NO_SLOPE, entry.adjust_beyond
    )


def _tolerance(entry: ToleranceEntry) -> Tolerance:
    return Tolerance(entry.high, entry.low)
