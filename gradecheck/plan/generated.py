"""Points that a plan makes rather than writes out: from lists, grids, edges, flights and ramps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from gradecheck.catalogue import _, stored
from gradecheck.ground.outline import Outline, Ring, crosses_itself
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan import flights
from gradecheck.plan.area_entries import AreaEntry, CurbEntry, FlightEntry, ListEntry, RampEntry
from gradecheck.plan.document import JobEntry
from gradecheck.plan.finishes import Finishes, FinishSource
from gradecheck.plan.geojson import read_geojson
from gradecheck.plan.lines import LineError
from gradecheck.plan.model import Extent, HeightRange, Listing, Point, Steps
from gradecheck.plan.point_list import Listed, read_point_list
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion
from gradecheck.plan.surfaces import Spacing, TooManyError, edge_places, grid_places
from gradecheck.plan.targets import true_minus
from gradecheck.plan.yaml_tree import KeyPath, MapNode, locate, locate_node

_NAMED = ("grid", "flight", "ramp")
"""What makes points and may be given a name for them to begin with."""
Fetch = Callable[[str], str]
"""Gives the text of a file beside the job file. Raises `PlanProblemsError`."""


def _listing(area: str, file: str, points: Sequence[Listed], unsure: bool, line: int) -> Listing:
    heights = [point.elevation for point in points if point.elevation is not None]
    reach = _reach([point.at for point in points if point.at is not None])
    low_and_high = HeightRange(min(heights), max(heights)) if heights else None
    return Listing(area, file, "points", len(points), reach, low_and_high, unsure, line)


def _reach(places: Sequence[Place]) -> Extent | None:
    """The least and the greatest x and y among the places."""
    if not places:
        return None
    xs, ys = zip(*places, strict=True)
    return Extent((min(xs), min(ys)), (max(xs), max(ys)))


@dataclass
class Generated:
    """The points that the plan makes, by area in walking order, with flights and outlines."""

    job: JobEntry
    tree: MapNode
    finishes: Finishes
    fetch: Fetch
    graduation: Length
    report: Callable[[KeyPath, str], None]
    sources: dict[str, FinishSource] = field(default_factory=dict)
    names: dict[str, dict[str, KeyPath]] = field(default_factory=dict)
    steps: dict[str, tuple[Steps, ...]] = field(default_factory=dict)
    outlines: dict[str, Outline] = field(default_factory=dict)
    listings: list[Listing] = field(default_factory=list)
    list_problems: list[Problem] = field(default_factory=list)
    """Problems in the lists, which have lines of their own."""

    def __post_init__(self) -> None:
        for name, area in self.job.areas.items():
            self.names[name] = {}
            self._outline(name, area)
            self._lists(name, area)
            self._grid(name, area)
            self._edges(name, area)
            self._steps(name, area)
        for name, area in self.job.areas.items():  # when every edge has its points
            self._curbs(name, area)

    def _put(self, area: str, name: str, path: KeyPath, source: FinishSource) -> None:
        taken = self.job.areas[area].points
        written = name in self.job.areas[area].added or (isinstance(taken, dict) and name in taken)
        if name in self.sources or written:
            how = _("; give this a “name:” of its own.") if path[-1] in _NAMED else _("; rename one of the two.")
            self.report(path, _("“{name}” is made here and written elsewhere too{how}", name=name, how=how))
            return
        self.sources[name] = source
        self.names[area][name] = path

    # -- outlines

    def _outline(self, name: str, area: AreaEntry) -> None:
        path: KeyPath = ("areas", name, "outline")
        if isinstance(area.outline, str):
            outline = self._outline_in(area.outline, path)
        elif area.outline is not None:
            outline = Outline(tuple(area.outline), tuple(tuple(hole) for hole in area.holes))
        else:
            if area.holes:
                self.report(("areas", name, "holes"), _("Holes are cut from an “outline:”; add it."))
            return
        if outline is None:
            return
        if self._crosses(outline, path, ("areas", name, "holes")):
            return
        self.outlines[name] = outline

    def _crosses(self, outline: Outline, path: KeyPath, holes: KeyPath) -> bool:
        """Reports each ring that crosses itself or encloses nothing; whether there was one."""
        rings: list[tuple[KeyPath, Ring]] = [(path, outline.ring)]
        rings += [((*holes, number), hole) for number, hole in enumerate(outline.holes)]
        crossed = [where for where, ring in rings if crosses_itself(ring)]
        for where in crossed:
            at = where if locate_node(self.tree, where) is not None else path
            self.report(at, _("This line crosses itself or encloses nothing; write its corners in turn."))
        return bool(crossed)

    def _outline_in(self, file: str, path: KeyPath) -> Outline | None:
        text = self._fetched(file, path)
        if text is None:
            return None
        try:
            found = read_geojson(text, file, self.job.units)
        except PlanProblemsError as wrong:
            self.list_problems += wrong.problems
            return None
        if len(found.outlines) != 1:
            self.report(
                path, _("“{file}” has {outlines} outlines; an area has one.", file=file, outlines=len(found.outlines))
            )
            return None
        outline = found.outlines[0].outline
        line = locate(self.tree, path).line
        reach = _reach(outline.ring)
        self.listings.append(
            Listing(str(path[1]), file, "outline", len(outline.ring), reach, None, found.unsure, line)
        )
        return outline

    # -- lists

    def _lists(self, name: str, area: AreaEntry) -> None:
        given: list[tuple[KeyPath, ListEntry]] = []
        if isinstance(area.points, str):
            given.append((("areas", name, "points"), ListEntry(file=area.points)))
        if area.point_list is not None:
            given.append((("areas", name, "point list"), area.point_list))
        for path, entry in given:
            points, unsure = self._listed(entry, path)
            if points:
                self.listings.append(_listing(name, entry.file, points, unsure, locate(self.tree, path).line))
            for listed in points:
                self._put(name, listed.name, path, self._of_list(name, listed, path))

    def _listed(self, entry: ListEntry, path: KeyPath) -> tuple[list[Listed], bool]:
        """The points of a list, and whether nothing tells their coordinates from degrees."""
        units = Units(entry.units) if entry.units else self.job.units
        text = self._fetched(entry.file, path)
        if text is None:
            self.finishes.unsure = True
            return [], False
        try:
            if entry.geojson:
                found = read_geojson(text, entry.file, units, entry.prefix or "")
                return list(found.points), found.unsure and entry.units is None
            columns = {str(ours): theirs for ours, theirs in entry.columns.items()}
            points = read_point_list(text, entry.file, units, columns or None, entry.order, entry.prefix or "")
            return points, False
        except PlanProblemsError as wrong:
            self.list_problems += wrong.problems
            self.finishes.unsure = True
            return [], False

    def ground(self, area: str, entry: ListEntry, path: KeyPath) -> list[Spot] | None:
        """The spots of existing ground in a list; None after a problem in it was reported."""
        before = len(self.list_problems)
        points, unsure = self._listed(entry, path)
        if len(self.list_problems) > before or not points:
            return None
        if lost := [point.name for point in points if point.at is None or point.elevation is None]:
            self.report(path, _("“{name}” needs x, y and an elevation to be ground.", name=lost[0]))
            return None
        self.listings.append(_listing(area, entry.file, points, unsure, locate(self.tree, path).line))
        return [Spot(each.name, each.at, each.elevation) for each in points if each.at and each.elevation is not None]

    def _of_list(self, area: str, listed: Listed, path: KeyPath) -> FinishSource:
        line = locate(self.tree, path).line
        if listed.elevation is None:
            assert listed.at is not None
            if not self.finishes.has_surface(area):
                says = _(
                    "“{name}” has no elevation, and area “{area}” no surface to take it from; add one.",
                    name=listed.name,
                    area=area,
                )
                self.report(path, says)
            return self.finishes.on_surface(area, listed.at, listed.note, path)
        z = listed.elevation
        working = stored(
            "{height} by the list, line {line}", height=flights.shown(z.height, self.job.units), line=listed.line
        )
        return FinishSource(area, path, (), lambda name: Point(name, z, working, listed.note, listed.at, line=line))

    def _fetched(self, file: str, path: KeyPath) -> str | None:
        try:
            return self.fetch(file)
        except PlanProblemsError as wrong:
            # A file that can't be had has no lines: that is told where the job file names it.
            for problem in wrong.problems:
                if problem.line > 1:
                    self.list_problems.append(problem)
                else:
                    self.report(path, f"“{problem.file}”: {problem.says}" if problem.file else problem.says)
            return None

    # -- grids and edges

    def _grid(self, name: str, area: AreaEntry) -> None:
        entry, path = area.grid, ("areas", name, "grid")
        if entry is None:
            return
        inside = Outline(tuple(entry.inside), tuple(map(tuple, entry.holes))) if entry.inside else None
        outline = inside or self.outlines.get(name)
        if outline is None:
            self.finishes.unsure = True
            if locate_node(self.tree, ("areas", name, "outline")) is None:
                self.report(path, _("A grid needs “inside:”, or the area an “outline:”; add one."))
            return
        if inside and self._crosses(inside, (*path, "inside"), (*path, "holes")):
            self.finishes.unsure = True
            return
        prefix = entry.name or (name[0].upper() if name[0].isalpha() else "G")
        self._on_surface(name, path, lambda: grid_places(outline, Spacing(*entry.every), prefix, entry.start))

    def _edges(self, name: str, area: AreaEntry) -> None:
        for prefix, entry in area.edges.items():
            path: KeyPath = ("areas", name, "edges", prefix)
            self._on_surface(name, path, lambda e=entry, p=prefix: edge_places(e, p), entry.below or ZERO)  # type: ignore[misc]

    def along(self, edge: str) -> list[str]:
        """The points of the edge of that name, in their order; none where there is no such edge."""
        homes = [name for name, area in self.job.areas.items() if edge in area.edges]
        return [point for home in homes for point, by in self.names[home].items() if by[1:] == (home, "edges", edge)]

    def _curbs(self, name: str, area: AreaEntry) -> None:
        edges = {edge: home for home, each in self.job.areas.items() for edge in each.edges}
        for prefix, entry in area.curbs.items():
            path: KeyPath = ("areas", name, "curbs", prefix)
            home = edges.get(entry.edge)
            if home == name:
                says = _(
                    "A curb's top is an area of its own; write it in another than that of “{edge}”.", edge=entry.edge
                )
                self.report((*path, "edge"), says)
                continue
            if home is None:
                if not self.finishes.is_reported(entry.edge):
                    says = _(
                        "There is no edge “{edge}”.{meant}",
                        edge=entry.edge,
                        meant=suggestion(entry.edge, edges),
                    )
                    self.report((*path, "edge"), says)
                continue
            for number, below in enumerate(self.along(entry.edge), 1):
                self._put(name, f"{prefix}{number}", path, self._curb_top(name, below, entry, path))

    def _curb_top(self, area: str, below: str, entry: CurbEntry, path: KeyPath) -> FinishSource:
        units, line = self.job.units, locate(self.tree, path).line

        def make(name: str) -> Point:
            z = self.finishes.elevation(area, below)
            top = z + entry.upstand
            start = true_minus(show_exact(z.height, units))
            working = stored(
                "{below} {start} + upstand {upstand} = ",
                below=below,
                start=start,
                upstand=flights.shown(entry.upstand, units),
            )
            working += flights.shown(top.height, units)
            return Point(name, top, working, _("top of curb"), self.finishes.place(below), line=line, made=True)

        return FinishSource(area, (*path, "edge"), (below,), make)

    def _on_surface(
        self, area: str, path: KeyPath, made: Callable[[], list[tuple[str, Place]]], below: Length = ZERO
    ) -> None:
        if not self.finishes.has_surface(area):
            self.finishes.unsure = True
            self.report(path, _("Area “{area}” has no “surface:” for these points to lie on; add one.", area=area))
            return
        try:
            places = made()
        except (TooManyError, LineError) as wrong:
            self.finishes.unsure = True
            self.report(path, str(wrong))
            return
        if not places:
            self.report(path, _("No point falls inside; write a smaller spacing."))
        for name, place in places:
            self._put(area, name, path, self.finishes.on_surface(area, place, "", path, below))

    # -- flights and ramps

    def _steps(self, name: str, area: AreaEntry) -> None:
        steps = []
        if area.flight is not None:
            path: KeyPath = ("areas", name, "flight")
            moves = flights.flight_moves(area.flight, self.job.units, self.graduation)
            self._walk(name, path, area.flight, moves)
            steps.append(flights.flight_steps(area.flight, moves, locate(self.tree, path).line))
        if area.ramp is not None:
            path = ("areas", name, "ramp")
            moves = flights.ramp_moves(area.ramp, self.job.units)
            self._walk(name, path, area.ramp, moves)
            steps.append(flights.ramp_steps(area.ramp, moves, locate(self.tree, path).line))
        self.steps[name] = tuple(steps)

    def _walk(
        self, area: str, path: KeyPath, entry: FlightEntry | RampEntry, moves: list[flights.FlightStep]
    ) -> None:
        walked: dict[str, Point] = {}
        line = locate(self.tree, path).line

        def make(name: str) -> Point:
            if not walked:
                start, z = entry.from_, self.finishes.elevation(area, entry.from_)
                at = self.finishes.place(start)
                if entry.toward is not None and at is None:
                    says = _(
                        "“{start}” has no place to head from; give it “at: [x, y]”, or take “toward:” out.",
                        start=start,
                    )
                    self.report((*path, "toward"), says)
                elif entry.toward is not None and at == entry.toward:
                    self.report(
                        (*path, "toward"), _("“{start}” lies here already; give a place to head for.", start=start)
                    )
                points = flights.points_along(moves, start, z, at, entry.toward, self.job.units, line)
                walked.update({point.name: point for point in points})
            return walked[name]

        for move in moves:
            self._put(area, move.name, path, FinishSource(area, (*path, "from"), (entry.from_,), make))
