"""Turns the job file's entries into the plan: looks names up, follows chains, reports every fault on its line."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from gradecheck.catalogue import _, stored
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import nearest, show_exact
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, FallXY, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.area_entries import AreaEntry
from gradecheck.plan.document import JobEntry, RodEntry
from gradecheck.plan.examples import ExampleLines, used_by
from gradecheck.plan.finishes import MAKERS, Finishes
from gradecheck.plan.flights import chained_steps
from gradecheck.plan.from_entries import (
    bond_of,
    build_up_of,
    drains_of,
    instrument_of,
    job_notation,
    rechecks_of,
    rod_of,
    stone_of,
    tolerance_of,
)
from gradecheck.plan.generated import Fetch, Generated
from gradecheck.plan.lines import Line
from gradecheck.plan.model import (
    FINISH,
    Area,
    Benchmark,
    BuildUp,
    Datum,
    Layer,
    Layout,
    Pitch,
    Plan,
    Point,
    Steps,
    StringLine,
)
from gradecheck.plan.names import NamesInUse
from gradecheck.plan.problems import Problem, suggestion
from gradecheck.plan.spelling import respelt
from gradecheck.plan.surfaces import along_edges
from gradecheck.plan.targets import true_minus
from gradecheck.plan.yaml_tree import KeyPath, MapNode, locate, locate_node

LEVEL = FallXY(NO_SLOPE, NO_SLOPE)


def resolve(
    entry: JobEntry, tree: MapNode, file: str, broken: Collection[str], fetch: Fetch, marked: tuple[int, ...] = ()
) -> tuple[Plan, list[Problem]]:
    """The plan, and the problems of how its parts refer to each other; with problems it must not be used.

    `broken` are names whose own entry is already a problem: to refer to them is not a second one. `fetch` gives the
    text of a list beside the job file. `marked` are the lines that hold examples still.
    """
    return _Resolver(entry, tree, file, broken, fetch, marked).plan()


@dataclass
class _Resolver:
    entry: JobEntry
    tree: MapNode
    file: str
    broken: Collection[str]
    fetch: Fetch
    marked: tuple[int, ...]
    problems: list[Problem] = field(default_factory=list)

    def plan(self) -> tuple[Plan, list[Problem]]:
        self._check_alike()
        entry = self.entry = respelt(self.entry)
        benchmarks = {
            name: Benchmark(name, mark.elevation, mark.what, mark.at) for name, mark in entry.benchmarks.items()
        }
        datums = {name: Datum(name, given.mark, given.reads) for name, given in entry.datums.items()}
        build_ups = {
            name: build_up_of(name, given, self.line(("build-ups", name))) for name, given in entry.build_ups.items()
        }
        self._check_shared(build_ups, datums)
        rods = {name: rod_of(name, rod, entry.units) for name, rod in entry.rods.items()}
        rods = rods or {"rod": rod_of("rod", RodEntry(), entry.units)}
        notation = job_notation(entry.units, next(iter(rods.values())).notation)
        finishes, made = self._made(benchmarks, datums, notation.graduation)
        entry = self.entry
        self._check_names(made)
        self._check_pitch()
        finishes.follow(made.sources)
        chains = chained_steps(entry, finishes.found)
        areas = {
            name: self._area(name, area, build_ups, finishes, made, chains.get(name, ()))
            for name, area in entry.areas.items()
        }
        example_marks: dict[str, tuple[int, ...]] = {}
        if self.marked:
            examples = ExampleLines.of(self.tree, self.marked)
            areas = {
                name: replace(area, examples=examples.lines_in(used_by(area, entry, finishes, made)))
                for name, area in areas.items()
            }
            sources = {name: ("benchmarks", name) for name in benchmarks}
            sources |= {f"rod {name}": ("rods", name) for name in entry.rods}
            example_marks = {name: lines for name, path in sources.items() if (lines := examples.lines_in([path]))}
        plan = Plan(
            job=entry.job,
            notation=notation,
            benchmarks=benchmarks,
            rods=rods,
            areas=areas,
            rechecks=rechecks_of(entry.rechecks, entry.units),
            instrument=instrument_of(entry.instrument),
            guarded=entry.decide == "guarded",
            closure=entry.closure,
            datums=datums,
            walls={name: tuple(line) for name, line in entry.walls.items()},
            rules=entry.rules,
            codes=entry.codes,
            stone=stone_of(entry.stone) if entry.stone else None,
            layout=self._layouts(made),
            bonds={name: bond_of(name, given) for name, given in entry.bonds.items()},
            pitch=Pitch(entry.pitch.rule, entry.pitch.exact) if entry.pitch else None,
            round_to=entry.round_targets,
            listings=tuple(made.listings),
            examples=self.marked,
            example_marks=example_marks,
            corners=self._corners(made),
        )
        return plan, self.problems

    def _made(
        self, benchmarks: Mapping[str, Benchmark], datums: Mapping[str, Datum], graduation: Length
    ) -> tuple[Finishes, Generated]:
        """The points written out and those the plan makes; only then are the names of the latter known."""
        before = len(self.problems)
        while True:
            finishes = Finishes(self.entry, self.tree, benchmarks, datums, self.broken, self.problem)
            made = Generated(self.entry, self.tree, finishes, self.fetch, graduation, self.problem)
            spelt = respelt(self.entry, (*finishes.sources, *made.sources))
            if spelt is self.entry:
                self.problems += made.list_problems
                return finishes, made
            self.entry = spelt
            del self.problems[before:]

    def _check_alike(self) -> None:
        """Reports names of one kind that differ only by capitals or by look-alike letters."""
        entry = self.entry
        kinds: list[tuple[KeyPath, Iterable[str]]] = [
            (("areas",), entry.areas),
            (("datums",), entry.datums),
            (("rods",), entry.rods),
            (("build-ups",), entry.build_ups),
            (("walls",), entry.walls),
            (("layout",), entry.layout),
            (("bonds",), entry.bonds),
            (("tolerances",), entry.tolerances),
            *((("areas", name, "tolerances"), area.tolerances) for name, area in entry.areas.items()),
            *((("areas", name, "layers"), area.layers) for name, area in entry.areas.items()),
            *((("areas", name, "strings"), area.strings) for name, area in entry.areas.items()),
        ]
        for path, names in kinds:
            taken: NamesInUse[None] = NamesInUse()
            for name in names:
                if same := taken.same(name):
                    line = self.line((*path, same[0]))
                    capitals = same[0].casefold() == name.casefold()
                    by = _("by their capitals alone") if capitals else _("in nothing to be seen")
                    says = _(
                        "“{name}” and “{same}” on line {line} differ {by}; rename one.",
                        name=name,
                        same=same[0],
                        line=line,
                        by=by,
                    )
                    self.problem((*path, name), says, key=True)
                elif alike := taken.alike(name):
                    line = self.line((*path, alike[0]))
                    says = _(
                        "“{name}” looks like “{alike}” on line {line} in another alphabet; rename one.",
                        name=name,
                        alike=alike[0],
                        line=line,
                    )
                    self.problem((*path, name), says, key=True)
                taken.add(name, None)

    def _check_shared(self, build_ups: Mapping[str, BuildUp], datums: Mapping[str, Datum]) -> None:
        """Reports faults in what the areas share."""
        for name, build_up in build_ups.items():
            self._check_layers(name, build_up)
        if not locate_node(self.tree, ("benchmarks",)):
            self.problem(("benchmarks",), _("At least one benchmark is needed, for example “DOOR: 0”; add it."))
        self._check_tolerance_stages(build_ups.values())
        self._check_datums(datums)
        entry = self.entry
        if entry.decide == "guarded" and entry.instrument is None and "instrument" not in self.broken:
            self.problem(
                ("decide",), _("To decide guarded, the plan must say how exact the laser is; add “instrument:”.")
            )

    def _area(
        self,
        name: str,
        area: AreaEntry,
        build_ups: Mapping[str, BuildUp],
        finishes: Finishes,
        made: Generated,
        chains: tuple[Steps, ...],
    ) -> Area:
        build_up = self._build_up_of(name, area, build_ups)
        tolerances = self._tolerances_of(name, area, build_up)
        self._check_drains(name, area, finishes)
        points = self._instead(name, area, self._route(name, area, finishes, made), finishes)
        on_steps = {each for steps in chains if steps.kind == "flight" for each in steps.every_name}
        alone = bool(points) and on_steps.issuperset(point.name for point in points)
        return Area(
            name,
            area.what,
            build_up,
            tolerances,
            points,
            area.datum,
            use=area.use or ("steps" if area.flight or alone else "ramp" if area.ramp else ""),
            accessible=area.accessible == "yes",
            travel=self._travel(name, area, finishes),
            ground=area.ground,
            outline=made.outlines.get(name) or _by_width(area, points, finishes),
            surface=finishes.surface(name) if area.surface else None,
            drains=drains_of(area, made.along),
            steps=(*made.steps[name], *chains),
            rules=area.rules,
            codes=area.codes,
            line=self.line(("areas", name)),
            strings=self._strings(name, area, points, finishes),
            existing=self._existing(name, area, made),
            holds=self._holds(name, area, build_up),
        )

    def _build_up_of(self, name: str, area: AreaEntry, build_ups: Mapping[str, BuildUp]) -> BuildUp | None:
        """The build-up that the area names, with the area's own thicknesses."""
        build_up = build_ups.get(area.build_up) if area.build_up else None
        if area.build_up and build_up is None and area.build_up not in self.broken:
            says = _(
                "There is no build-up “{build_up}”.{meant}",
                build_up=area.build_up,
                meant=suggestion(area.build_up, self._written_build_ups),
            )
            self.problem(("areas", name, "build-up"), says)
        return self._own_layers(name, area, build_up)

    def _tolerances_of(self, name: str, area: AreaEntry, build_up: BuildUp | None) -> dict[str, Tolerance]:
        """The tolerance of each stage: the area's own, else the job's."""
        stages = build_up.stages if build_up else (FINISH,)
        tolerances: dict[str, Tolerance] = {}
        for stage in stages:
            rolled = _rolled(build_up, stage)
            given = next(
                (
                    tolerance
                    for kind in (area.tolerances, self.entry.tolerances)
                    for wanted in (stage, rolled)
                    if (tolerance := kind.get(wanted)) is not None
                ),
                None,
            )
            if given is not None:
                tolerances[stage] = tolerance_of(given)
            elif stage not in self.broken and stage == rolled and not self._misspelt("tolerances"):
                says = _(
                    "Area “{name}” has no tolerance for {stage}; add “{stage}: …” under tolerances.",
                    name=name,
                    stage=stage,
                )
                self.problem(("areas", name), says)
        # Which stages it has can't be told where the build-up itself is a problem.
        unknown = build_up is None and locate_node(self.tree, ("areas", name, "build-up")) is not None
        for stage in area.tolerances:
            if stage not in stages and not unknown:
                says = _(
                    "Area “{name}” has no stage “{stage}”; it has {stages}.",
                    name=name,
                    stage=stage,
                    stages=", ".join(stages),
                )
                self.problem(("areas", name, "tolerances", stage), says, key=True)
        return tolerances

    def _own_layers(self, name: str, area: AreaEntry, build_up: BuildUp | None) -> BuildUp | None:
        """The build-up with the area's own thicknesses."""
        for layer in area.layers:
            known = [each.name for each in build_up.layers] if build_up else []
            if build_up is not None and layer not in known:
                says = _(
                    "Build-up “{name}” has no layer “{layer}”.{meant}",
                    name=build_up.name,
                    layer=layer,
                    meant=suggestion(layer, known),
                )
                self.problem(("areas", name, "layers", layer), says, key=True)
            if area.build_up is None:
                self.problem(("areas", name, "layers"), _("These belong to a “build-up:”; add it to this area."))
                break
        if build_up is None or not area.layers:
            return build_up
        return replace(
            build_up, layers=tuple(_thicker(layer, area.layers.get(layer.name)) for layer in build_up.layers)
        )

    def _route(self, name: str, area: AreaEntry, finishes: Finishes, made: Generated) -> tuple[Point, ...]:
        written = list(area.points) if isinstance(area.points, dict) else []
        names, added = [*written, *made.names[name]], list(area.added)
        written_ways = (locate_node(self.tree, ("areas", name, way)) for way in MAKERS)
        if not names and not added and not any(written_ways):  # with one that is at fault, that is told
            ways = _("“points:”, “point list:”, “grid:”, “edges:”, “curbs:”, “flight:” or “ramp:”")
            self.problem(("areas", name), _("Area “{name}” has no points; give it {ways}.", name=name, ways=ways))
        if area.route is not None:
            names = self._in_route_order(name, area.route, names, finishes)
        round_to = self.entry.round_targets
        found = (_rounded(finishes.found[each], round_to) for each in names if each in finishes.found)
        # What was worked out on site is kept as it was told there.
        return (*found, *(finishes.found[each] for each in added if each in finishes.found))

    def _instead(
        self, name: str, area: AreaEntry, points: tuple[Point, ...], finishes: Finishes
    ) -> tuple[Point, ...]:
        """The points with the finish that the area gives some of them instead; nothing else moves with them."""
        known = [point.name for point in points]
        for each in area.instead:
            if each not in known and each not in finishes.lost and not finishes.is_reported(each):
                says = _(
                    "Area “{name}” has no point “{point}”.{meant}",
                    name=name,
                    point=each,
                    meant=suggestion(each, known),
                )
                self.problem(("areas", name, "instead", each), says, key=True)
        return tuple(_lifted(point, area.instead.get(point.name), self.entry.units) for point in points)

    def _in_route_order(self, area: str, route: list[str], names: list[str], finishes: Finishes) -> list[str]:
        for index, point in enumerate(route):
            path: KeyPath = ("areas", area, "route", index)
            if point not in names and not finishes.is_reported(point):
                self.problem(
                    path,
                    _(
                        "Area “{area}” has no point “{point}”.{meant}",
                        area=area,
                        point=point,
                        meant=suggestion(point, names),
                    ),
                )
            elif point in route[:index]:
                self.problem(path, _("“{point}” is twice in this route; remove one.", point=point))
        known = set(route)
        for point in names:
            if point not in known:
                says = _(
                    "The route of area “{area}” leaves out “{point}”; add it, or take the route out.",
                    area=area,
                    point=point,
                )
                self.problem(("areas", area, "route"), says)
        return [point for point in dict.fromkeys(route) if point in names]

    def _check_drains(self, name: str, area: AreaEntry, finishes: Finishes) -> None:
        if area.drains is None:
            return
        away = area.drains.away_from
        known = [*self.entry.walls, *self.entry.benchmarks, *finishes.sources]
        if away is not None and away not in known and not finishes.is_reported(away):
            says = _("There is no wall, mark or point “{away}”.{meant}", away=away, meant=suggestion(away, known))
            self.problem(("areas", name, "drains", "away from"), says)
        for index, drain in enumerate(area.drains.into):
            edges = [edge for each in self.entry.areas.values() for edge in each.edges]
            if drain not in finishes.sources and drain not in edges and not finishes.is_reported(drain):
                says = _(
                    "There is no point or edge “{drain}”.{meant}",
                    drain=drain,
                    meant=suggestion(drain, [*finishes.sources, *edges]),
                )
                self.problem(("areas", name, "drains", "into", index), says)

    def _travel(self, name: str, area: AreaEntry, finishes: Finishes) -> tuple[tuple[Place, ...], ...]:
        """The lines along which people walk: as the area says, else along its edges."""
        if area.along is None:
            edges = [tuple(edge.along) for edge in area.edges.values()]
            return along_edges(edges)
        line = list[Place]()
        for index, each in enumerate(area.along):
            path: KeyPath = ("areas", name, "along", index)
            if not isinstance(each, str):
                line.append(each)
            elif (place := finishes.place(each)) is not None:
                line.append(place)
            elif each in finishes.found or each in self.entry.benchmarks:
                self.problem(
                    path, _("“{point}” has no place for the way to lead through; give it “at: [x, y]”.", point=each)
                )
            elif each not in finishes.sources and not finishes.is_reported(each):
                known = [*finishes.sources, *self.entry.benchmarks]
                self.problem(
                    path,
                    _(
                        "There is no point or mark “{name}”.{meant}",
                        name=each,
                        meant=suggestion(each, known),
                    ),
                )
        if len(line) == len(area.along) and len(set(line)) < 2:
            self.problem(
                ("areas", name, "along"), _("These lie at one place; a way leads from one place to another.")
            )
        return (tuple(line),) if len(set(line)) > 1 else ()

    def _existing(self, name: str, area: AreaEntry, made: Generated) -> AreaSurface | None:
        """The ground before any dig, as a surface."""
        entry, path = area.existing_ground, ("areas", name, "existing ground")
        if entry is None:
            return None
        if entry.elevation is not None:
            falls = FallXY(*((fall or NO_SLOPE) for fall in (entry.fall.x, entry.fall.y))) if entry.fall else LEVEL
            return AreaSurface("plane", (Plane(entry.at or (ZERO, ZERO), entry.elevation, falls),))
        spots = [Spot(f"{number}", (x, y), z) for number, (x, y, z) in enumerate(entry.spots or (), 1)]
        if entry.point_list is not None:
            listed = made.ground(name, entry.point_list, (*path, "point list"))
            if listed is None:
                return None
            spots = listed
        joined = triangulate(spots)
        if not joined.corners:
            self.problem(
                path, _("These spots lie in one line or at one place; existing ground needs three that do not.")
            )
            return None
        return AreaSurface("joined", spots=joined.spots, corners=joined.corners)

    def _holds(self, name: str, area: AreaEntry, build_up: BuildUp | None) -> tuple[str, ...]:
        """The hold points of the area, lowest first: its own, else those of the job that it has."""
        stages = build_up.stages if build_up else (FINISH,)
        unknown = build_up is None and locate_node(self.tree, ("areas", name, "build-up")) is not None
        for index, stage in enumerate(area.hold_points or ()):
            if stage not in stages and not unknown:
                says = _(
                    "Area “{name}” has no stage “{stage}”; it has {stages}.",
                    name=name,
                    stage=stage,
                    stages=", ".join(stages),
                )
                self.problem(("areas", name, "hold points", index), says)
        held = self.entry.hold_points if area.hold_points is None else area.hold_points
        return tuple(stage for stage in stages[:-1] if stage in held)

    def _strings(
        self, name: str, area: AreaEntry, points: tuple[Point, ...], finishes: Finishes
    ) -> dict[str, StringLine]:
        """The strings over its points; those of one that runs beside them need places."""
        known, found = {point.name: point for point in points}, dict[str, StringLine]()
        for each, entry in area.strings.items():
            aside = entry.right or (-entry.left if entry.left else ZERO)
            for index, point in enumerate(entry.along):
                path: KeyPath = ("areas", name, "strings", each, "along", index)
                if point not in known and point not in finishes.lost and not finishes.is_reported(point):
                    says = _(
                        "Area “{name}” has no point “{point}”.{meant}",
                        name=name,
                        point=point,
                        meant=suggestion(point, known),
                    )
                    self.problem(path, says)
                elif aside and point in known and known[point].at is None:
                    says = _("“{point}” has no place for a string beside it; give it “at: [x, y]”.", point=point)
                    self.problem(path, says)
            line = self.line(("areas", name, "strings", each))
            found[each] = StringLine(each, tuple(entry.along), entry.above, aside, line)
        return found

    def _corners(self, made: Generated) -> tuple[tuple[str, str, Place], ...]:
        """The corners of walls and outlines; those of a whole circle are nothing that can be found on site."""
        lines: list[tuple[str, str, Sequence[Place]]] = [("", *wall) for wall in self.entry.walls.items()]
        for name, outline in made.outlines.items():
            drawn = self.entry.areas[name].outline
            lines.append((name, name, drawn if isinstance(drawn, Line) else outline.ring))
        found = dict[str, tuple[str, str, Place]]()
        for area, name, line in lines:
            corners = line if not isinstance(line, Line) else () if line.closed_circle else line.corners
            for number, place in enumerate(corners, 1):
                corner = f"{name} C{number}"
                found.setdefault(corner, (area, corner, place))
        return tuple(found.values())

    def _layouts(self, made: Generated) -> dict[str, Layout]:
        found = {}
        for name, given in self.entry.layout.items():
            if given.sides is not None:
                width, length = given.sides
                places = (ZERO, ZERO), (width, ZERO), (width, length), (ZERO, length)
                found[name] = Layout(name, tuple(zip("ABCD", places, strict=True)), given.tolerance)
            elif given.outline_of in made.outlines:
                drawn = self.entry.areas[given.outline_of].outline
                # An arc is taped at its ends, not at each of its chords.
                ring = drawn.corners if isinstance(drawn, Line) else made.outlines[given.outline_of].ring
                corners = tuple((f"C{number}", place) for number, place in enumerate(ring, 1))
                found[name] = Layout(name, corners, given.tolerance, given.outline_of)
            elif given.outline_of not in self.broken:
                near = suggestion(given.outline_of or "", made.outlines)
                says = _(
                    "There is no area “{outline_of}” with an outline.{meant}", outline_of=given.outline_of, meant=near
                )
                self.problem(("layout", name, "outline of"), says)
        return found

    def _check_pitch(self) -> None:
        """Reports points that fall by the job's pitch where it has none."""
        if self.entry.pitch is not None or "pitch" in self.broken:
            return
        for area_name, area in self.entry.areas.items():
            written = area.points if isinstance(area.points, dict) else {}
            by_key = (("points", written), ("added", area.added))
            for under, name, point in ((under, *each) for under, points in by_key for each in points.items()):
                for key in ("fall", "rise"):
                    if getattr(point, key) == "pitch":
                        says = _("The job has no “pitch:”; add it at the top, for example “pitch: 1 in per 5 ft”.")
                        self.problem(("areas", area_name, under, name, key), says)

    def _check_layers(self, name: str, build_up: BuildUp) -> None:
        seen: set[str] = set()
        for index, layer in enumerate(build_up.layers):
            if layer.name.casefold() in seen:
                says = _(
                    "Build-up “{build_up}” has two layers “{layer}”; give each its own name.",
                    build_up=name,
                    layer=layer.name,
                )
                self.problem(("build-ups", name, index), says)
            seen.add(layer.name.casefold())

    def _check_datums(self, datums: Mapping[str, Datum]) -> None:
        for name, area in self.entry.areas.items():
            if area.datum is not None and area.datum not in datums and area.datum not in self.broken:
                says = _(
                    "There is no datum “{datum}”.{meant}",
                    datum=area.datum,
                    meant=suggestion(area.datum, datums),
                )
                self.problem(("areas", name, "datum"), says)

    def _check_names(self, made: Generated) -> None:
        """Reports points and marks whose names differ only by capitals or by look-alike letters."""
        taken: NamesInUse[int] = NamesInUse()
        places: list[tuple[str, KeyPath]] = [(name, ("benchmarks", name)) for name in self.entry.benchmarks]
        for area_name, area in self.entry.areas.items():
            written = area.points if isinstance(area.points, dict) else {}
            places += [(name, ("areas", area_name, "points", name)) for name in written]
            places += [(name, ("areas", area_name, "added", name)) for name in area.added]
            places += made.names[area_name].items()
        for name, path in places:
            line = self.line(path)
            if same := taken.same(name):
                says = _(
                    "“{name}” is already the name of “{other}” on line {line}; rename one.",
                    name=name,
                    other=same[0],
                    line=same[1],
                )
                self.problem(path, says, key=True)
            elif alike := taken.alike(name):
                says = _(
                    "“{name}” looks like “{other}” on line {line} in another alphabet; rename one.",
                    name=name,
                    other=alike[0],
                    line=alike[1],
                )
                self.problem(path, says, key=True)
            taken.add(name, line)

    def _check_tolerance_stages(self, build_ups: Iterable[BuildUp]) -> None:
        if len(self.entry.build_ups) < len(self._written_build_ups):
            return  # a build-up that is itself a problem may well have the stage
        stages = {FINISH, *self.broken, *(stage for build_up in build_ups for stage in build_up.stages)}
        named: list[tuple[KeyPath, str]] = [(("tolerances", stage), stage) for stage in self.entry.tolerances]
        named += [(("hold points", index), stage) for index, stage in enumerate(self.entry.hold_points)]
        for path, stage in named:
            if stage not in stages:
                says = _(
                    "No build-up has a stage “{stage}”.{meant}",
                    stage=stage,
                    meant=suggestion(stage, stages),
                )
                self.problem(path, says, key=path[0] == "tolerances")

    def _misspelt(self, key: str) -> bool:
        """Whether an unknown key, reported on its own line, is a misspelling of that one."""
        return any(suggestion(name, [key]) for name in self.broken)

    @property
    def _written_build_ups(self) -> list[str]:
        written = self.tree.get("build-ups")
        return list(written) if isinstance(written, MapNode) else []

    def line(self, path: KeyPath) -> int:
        """The line on which that part of the file begins."""
        return locate(self.tree, path, key=True).line

    def problem(self, path: KeyPath, says: str, *, key: bool = False) -> None:
        at = locate(self.tree, path, key=key)
        self.problems.append(Problem(self.file, at.line, at.column, says))


def _by_width(area: AreaEntry, points: Sequence[Point], finishes: Finishes) -> Outline | None:
    """The outline of a flight or ramp that is so wide along its line; None where its width or places are not told."""
    entry = area.flight or area.ramp
    if entry is None or entry.width is None or area.outline is not None or not points:
        return None
    start, end = finishes.place(entry.from_), points[-1].at
    if start is None or end is None or start == end:
        return None
    line, half = Line([start, end]), entry.width.metres / 2
    ends = ((Fraction(0), half), (line.length, half), (line.length, -half), (Fraction(0), -half))
    return Outline(tuple(line.place(station, right) for station, right in ends))


def _lifted(point: Point, finish: Elevation | None, units: Units) -> Point:
    """The point with that finish instead of its own, where one is given."""
    if finish is None:
        return point
    working = stored(
        "{working}; instead {length}",
        working=point.working,
        length=true_minus(show_exact(finish.height, units, unit=True)),
    )
    return replace(point, finish=finish, exact=None, other=None, working=working, instead=True)


def _thicker(layer: Layer, thickness: Length | None) -> Layer:
    """The layer with an area's own thickness; the loose height and the lifts stay in proportion."""
    if thickness is None:
        return layer
    share = thickness.metres / layer.thickness.metres
    loose = layer.loose * share if layer.loose else None
    return Layer(layer.name, thickness, loose, layer.before, tuple(lift * share for lift in layer.lifts))


def _rolled(build_up: BuildUp | None, stage: str) -> str:
    """The stage whose tolerance a loose stage, or a lower lift, takes where it has none of its own."""
    if build_up is None or (build_up.loose(stage) is None and build_up.lifted(stage) is None):
        return stage
    rolled = build_up.rolled(stage)
    return FINISH if rolled == build_up.layers[0].name else rolled


def _rounded(point: Point, step: Length | None) -> Point:
    if step is None:
        return point
    finish = Elevation(nearest(point.finish.height, step).metres)
    return point if finish == point.finish else replace(point, finish=finish, exact=point.finish)
