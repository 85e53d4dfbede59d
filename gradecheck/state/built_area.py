"""The paved ground of an area as it was found, beside the shape its plan gives it, and held to the same checks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise

from gradecheck.catalogue import _
from gradecheck.checks.drains import (
    at_walls,
    building,
    drain_limits,
    drain_most,
    drain_places,
    drain_way,
    is_drained,
    says_how_it_drains,
    shape_of,
    travel_of,
)
from gradecheck.checks.falls import Fall, Ground, fall_between
from gradecheck.checks.flatness import Flatness, Folds, fold_at_most, grid_lines, judge_lines, pieces_of_row, profile
from gradecheck.checks.line_falls import LineEnd, judge_between, judge_step
from gradecheck.checks.not_checked import NotChecked
from gradecheck.checks.ponding import Ponding, ponds
from gradecheck.checks.slope import (
    JudgedFall,
    JudgedFalls,
    JudgedPlane,
    RouteFalls,
    What,
    between_legs,
    judge_ground,
    judge_plane,
    judge_travel,
)
from gradecheck.checks.ways import AwayFrom
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.ground.volumes import cut_as
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import ZERO, Elevation
from gradecheck.plan.model import Area
from gradecheck.state.built import found_points
from gradecheck.state.state import State

_SAY_THE_WAY = _("give the area “along: [A, B]”, or two “edges:”")
_ON_A_ROUTE = (
    (
        "running fall",
        "accessible run at most",
        _("no two points that were read lie one along the way from the other"),
        _("read another point along the walk"),
    ),
    (
        "cross fall",
        "accessible cross fall at most",
        _("no two points that were read lie across from one another"),
        _("read both edges of the walk, and give the plan points there"),
    ),
)
"""Each check of an accessible route: its limit, why it can't be made though the way is known, and how it could."""


class BuiltArea:
    """What was found at one stage, and each check of it; nothing is worked out before it is asked for."""

    def __init__(self, state: State, area: Area, stage: str) -> None:
        self._plan, self._area = state.plan, area
        self._stage, self._finished = stage, stage == area.stages[-1]
        self._limits = drain_limits(state.plan, area)
        self._shape = shape_of(area)
        self.found = found_points(state, area.name, stage, self._shape)
        self._worst = max((each.doubt for each in self.found), default=ZERO)

    @cached_property
    def _ground(self) -> Ground:
        """Each spot as high as the plan's own surface lies there, with what was found off it."""
        spots = []
        for each in self.found:
            planned = self._shape.elevation(each.at) if self._shape is not None else None
            z = planned if planned is not None else each.point.exact or each.point.finish
            spots.append(Spot(each.point.name, each.at, z + each.off))
        off, doubt = tuple(each.off for each in self.found), tuple(each.doubt for each in self.found)
        return Ground(tuple(spots), self._shape, self._area.outline, off, doubt)

    @cached_property
    def _falls(self) -> JudgedFalls | None:
        if not says_how_it_drains(self._plan, self._area, self._shape):
            return None
        way, house = drain_way(self._plan, self._area), building(self._plan)
        most = drain_most(self._plan, self._area)
        return judge_ground(self._ground, way, self._limits, house, most, drained=is_drained(self._area))

    def falls(self) -> JudgedFalls | None:
        """The falls of each facet, None where the plan does not say how the ground runs."""
        return self._falls

    @cached_property
    def _route(self) -> RouteFalls | None:
        travel = travel_of(self._area)
        return judge_travel(self._ground, travel, self._limits) if travel is not None else None

    def route(self) -> RouteFalls | None:
        """The falls of an accessible route, None where the plan does not say which way it is walked."""
        return self._route

    @cached_property
    def _plane(self) -> JudgedPlane | None:
        if self._shape is None or self._shape.plane is None:
            return None
        way = drain_way(self._plan, self._area)
        wall = way if isinstance(way, AwayFrom) and not way.is_place else None
        return judge_plane(self._ground.spots, self._limits, wall, self._worst)

    def plane(self) -> JudgedPlane | None:
        """The best plane, None where the plan is none."""
        return self._plane

    @cached_property
    def flat(self) -> tuple[Flatness, ...]:
        """The straightedge over what was found off the plan's surface, in rows that cross no fold."""
        spots = [Spot(each.point.name, each.at, Elevation(each.off.metres)) for each in self.found]
        found = grid_lines(spots, outline=self._area.outline, folds=self._folds)
        return judge_lines(found, self._limits, self._worst)

    @cached_property
    def _folds(self) -> Folds:
        planned = [spot.z.minus(off) for spot, off in zip(self._ground.spots, self._ground.off or (), strict=True)]
        return Folds(planned, self._shape, fold_at_most(self._limits))

    def flatness(self) -> tuple[Flatness, ...]:
        """The same; nothing where fewer than two points were found."""
        return self.flat if len(self.found) > 1 else ()

    def ponding(self) -> Ponding:
        """Low spots that hold water. Between points that were found the ground lies as much off as they do.

        Where that is not known beside a spot, water is taken to leave.
        """
        if not self.flooding.corners:
            return Ponding((), ())
        spots, drains = self.flooding.spots, drain_places(self._plan, self._area)
        beyond = self._edge_of_the_known
        return ponds(self.flooding, self._limits, drains, at_walls(self._plan, spots), self._worst, beyond)

    @cached_property
    def _whole(self) -> Triangles:
        """All points of the plan that have a place, joined."""
        joined = triangulate([spot for point in self._area.points if (spot := point.spot)], self._area.outline)
        return cut_as(joined, self._area.surface)

    @cached_property
    def _heights(self) -> dict[str, Elevation]:
        """How high each point lies, as far as can be told: as found, else between those that were."""
        by_name = {each.point.name: each.off for each in self.found}
        between: Triangles | None = None
        heights = {}
        for spot in self._whole.spots:
            off = by_name.get(spot.name)
            if off is None:
                between = between or triangulate(
                    [Spot(each.point.name, each.at, Elevation(each.off.metres)) for each in self.found]
                )
                level = between.elevation(spot.at)
                off = level.height if level is not None else None
            if off is not None:
                heights[spot.name] = spot.z + off
        return heights

    @cached_property
    def flooding(self) -> Triangles:
        """The ground that water may stand on: all points of the plan, joined where their height is known."""
        spots = tuple(Spot(spot.name, spot.at, self._heights.get(spot.name, spot.z)) for spot in self._whole.spots)
        known = [spot.name in self._heights for spot in self._whole.spots]
        return Triangles(spots, tuple(each for each in self._whole.corners if all(known[corner] for corner in each)))

    @property
    def spots(self) -> tuple[Spot, ...]:
        """What was found, as high as the finish would lie there."""
        return self._ground.spots

    def line(self, names: Sequence[str]) -> tuple[list[Fall | JudgedFall], Flatness | None]:
        """The falls from each of these points to the next that was found, and the straightedge along them."""
        place = {spot.name: index for index, spot in enumerate(self.spots)}
        row = [place[name] for name in names if name in place]
        falls = [
            self._between(one, other) if self._finished else fall
            for one, other in pairwise(row)
            if (fall := fall_between(self.spots[one], self.spots[other])) is not None
        ]
        off = [Spot(each.point.name, each.at, Elevation(each.off.metres)) for each in self.found]
        parts = pieces_of_row(off, row, self._area.outline, self._folds) if len(row) > 2 else ()
        profiles = [profile([off[index] for index in part]) for part in parts if len(part) > 2]
        flat = judge_lines(profiles, self._limits, self._worst)
        return falls, max(flat, key=lambda each: each.worst.gap, default=None)

    def _between(self, one: int, other: int) -> Fall | JudgedFall:
        """The fall between two spots of the finish that do not lie at one place, held to what speaks of that line."""
        area = self._area
        if not area.has_own_rules:
            travel = travel_of(area) if area.accessible else None
            return judge_between(self._ground, one, other, self._limits, drain_most(self._plan, area), travel)
        pair = {self.spots[one].name, self.spots[other].name}
        for what, name, ends in _stretches(area):
            limit = self._limits.get(name)
            if ends == pair and limit is not None:
                return judge_step(self._ground, one, other, what, limit)
        fall = fall_between(self.spots[one], self.spots[other])
        assert fall is not None
        return fall

    def end(self, name: str, zero: Elevation | None) -> LineEnd | None:
        """Where a line into another area begins or ends, from the job's zero; None where that was not found.

        `zero` is where the area's own zero lies above the job's, None while it is not tied.
        """
        place = next((index for index, spot in enumerate(self.spots) if spot.name == name), None)
        if place is None:
            return None
        area, spot, each = self._area, self.spots[place], self.found[place]
        unasked = ""
        if not self._finished:
            unasked = _(
                "{name} was read at {stage}, and rules for falls hold at the finish",
                name=area.name,
                stage=self._stage,
            )
        elif area.use in ("curb", "wall"):
            unasked = _("{name} is the top of a {use}", name=area.name, use=area.use)
        elif area.has_own_rules:
            unasked = _("{name} is held to the rules of steps and ramps", name=area.name)
        return LineEnd(
            area.name,
            Spot(spot.name, spot.at, spot.z + zero.height) if zero is not None else spot,
            each.off,
            each.doubt,
            self._limits,
            drain_most(self._plan, area),
            travel_of(area) if area.accessible else None,
            unasked,
        )

    @property
    def _edge_of_the_known(self) -> set[str]:
        names = [spot.name for spot in self._whole.spots]
        found = set[str]()
        for corners in self._whole.corners:
            if any(names[corner] not in self._heights for corner in corners):
                found.update(names[corner] for corner in corners)
        return found

    def not_checked(self, *, finished: bool) -> Iterator[NotChecked]:
        """What could apply here and was not made for want of points or of a word in the plan."""
        if not self.found:
            return
        if finished:
            yield from self._falls_not_made()
            yield from self._route_not_made()
            if self._shape is not None and self._shape.plane is not None and self._plane is None:
                yield NotChecked(
                    "plane", _("fewer than three points off one line were read"), _("read one off the line")
                )
        if not self.flatness():
            why = _("no three points that were read lie in one row on one slope")
            yield NotChecked("flatness", why, _("read more points of a row, or lay a straightedge"))
            return
        laid = {station.name for flat in self.flatness() for station in flat.line}
        under = {each.at for each in self.found if each.point.name in laid}  # another point may lie at one place
        left = [each.point.name for each in self.found if each.at not in under]
        if 0 < len(left) < len(laid):
            why = _("at {left}: no three that were read lie in a row there on one slope", left=some(left))
            yield NotChecked("flatness", why, _("lay a straightedge there"))

    def _falls_not_made(self) -> Iterator[NotChecked]:
        if self._falls is None:
            why = _("the plan does not say how the ground runs between its points")
            yield NotChecked("falls", why, _("give the area a “surface:” or “drains:”"))
            return
        if not self._falls.judged:
            why = _("no two points that were read lie one down the slope from the other")
            yield NotChecked("falls", why, _("read another point up or down the slope"))
        if self._shape is not None:
            aside = [spot.name for spot in self._ground.spots if not self._shape.facets(spot.at)]
            if aside:
                yield NotChecked(
                    "falls",
                    _("{aside} off the plan's surface", aside=", ".join(aside[:3])),
                    _("put them on it in the plan"),
                )

    def _route_not_made(self) -> Iterator[NotChecked]:
        if not self._area.accessible:
            return
        made = self._route.running.judged if self._route else (), self._route.cross.judged if self._route else ()
        for (check, limit, why, how), judged in zip(_ON_A_ROUTE, made, strict=True):
            if self._limits.get(limit) is None or judged:
                continue
            if self._route is None:
                why, how = _("the plan does not say which way people walk"), _SAY_THE_WAY
            yield NotChecked(check, why, how)
        travel = travel_of(self._area)
        if self._route is None or travel is None:
            return
        for (check, _limit, _why, how), names in zip(
            _ON_A_ROUTE, between_legs(self._ground, travel, self._route), strict=True
        ):
            if names:
                why = _("what was read beside {names} lies on another leg of the walk", names=some(names))
                yield NotChecked(check, why, _("{how}, on the same leg", how=how))


def _stretches(area: Area) -> Iterator[tuple[What, str, set[str]]]:
    """The runs, landings and treads of the area's steps and ramps: what each is, its rule, and its two ends."""
    for steps in area.steps:
        if steps.kind == "ramp":
            yield from (("ramp", "ramp at most", {run.start, run.end}) for run in steps.rises)
        rule = "ramp landing fall at most" if steps.kind == "ramp" else "landing fall at most"
        yield from (("landing fall", rule, {landing.start, landing.end}) for landing in steps.landings)
        yield from (("tread fall", "tread fall at most", {each.nosing, each.back}) for each in steps.treads)
