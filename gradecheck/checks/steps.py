"""Steps, ramps and what drops beside them, planned or built: each figure held to its limit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from gradecheck.catalogue import _
from gradecheck.checks.held import NOTHING, Held, Judgment, over, under
from gradecheck.ground.boxes import Boxes
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope, feet
from gradecheck.plan.flights import equal_risers
from gradecheck.plan.limits import RULES, Limit, Limits
from gradecheck.plan.model import Area, Landing, Plan, Rise, Steps

# Flights ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Nosing:
    """A leading edge, or the edge of the landing at either end; `z` is None where it was not read yet."""

    name: str
    z: Elevation | None


@dataclass(frozen=True, slots=True)
class Tread:
    """What is known of the tread behind a nosing: how deep it is, and how it falls toward that nosing."""

    nosing: str
    depth: Length | None = None
    fall: Slope | None = None


@dataclass(frozen=True, slots=True)
class Flight:
    """Steps between two landings, in walking order, and the landings behind them as they lie.

    `doubts` are U of the heights that were measured, by their names.
    """

    nosings: tuple[Nosing, ...]
    treads: tuple[Tread, ...] = ()
    landings: tuple[Landing, ...] = ()
    doubts: Mapping[str, Length] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Riser:
    """One riser, plumb between its edges, in the direction of the flight; one that goes the wrong way is negative.

    `doubt` is what its two heights leave open.
    """

    start: str
    end: str
    height: Length
    doubt: Length = ZERO


@dataclass(frozen=True, slots=True)
class FlightCheck:
    """The risers that are known, the whole rise where both ends are, and every number held to its limit."""

    risers: tuple[Riser, ...]
    total: Length | None
    held: tuple[Held, ...]

    @property
    def faults(self) -> tuple[Held, ...]:
        """What is outside a limit that must be kept."""
        return tuple(held for held in self.held if held.verdict == "fault")


def check_flight(flight: Flight, limits: Limits) -> FlightCheck:
    """The flight held to every limit that is set and can be told from what is known; exactly at a limit passes.

    Beyond a limit by less than the heights leave open it can't be told.
    """
    risers = _risers(flight.nosings, doubts=flight.doubts)
    first, last = flight.nosings[0], flight.nosings[-1]
    held = [*_held_risers(risers, limits), *_held_treads(flight, limits)]
    total = None
    if first.z is not None and last.z is not None and len(flight.nosings) > 1:
        total = abs(last.z.above(first.z))
        ends, left = (first.name, last.name), _left_open(flight.doubts, first.name, last.name)
        held += _at_most("total rise", ends, total.metres, limits.get("flight rise at most"), left)
        held += _at_most("drop", ends, total.metres, limits.get("guard above drop"), worse="reminder")
    # Risers are counted whether they were read or not: a flight of four wants its handrail from the start.
    rail, count = limits.get("handrail from risers"), len(flight.nosings) - 1
    if rail is not None:
        verdict: Judgment = "reminder" if count >= rail.count else "passes"
        held.append(Held("risers in a flight", (first.name, last.name), Fraction(count), rail, verdict))
    return FlightCheck(risers, total, tuple(held))


def unchecked_risers(steps: Steps, heights: Mapping[str, Elevation]) -> tuple[Rise, ...]:
    """The risers of which not both nosings are known; of several without points between, none can be told."""
    risers = steps.rises if steps.kind == "flight" else ()
    return tuple(rise for rise in risers if rise.count > 1 or not {rise.start, rise.end} <= heights.keys())


def flights_of(
    steps: Steps,
    heights: Mapping[str, Elevation],
    treads: Sequence[Tread] | None = None,
    doubts: Mapping[str, Length] | None = None,
) -> tuple[Flight, ...]:
    """The flights of a plan's steps, parted at the landings, at the heights wanted or measured.

    A point missing from `heights` was not read, nor was a nosing that the plan makes no point of. `treads` are the
    measured ones; without them every tread is as the plan wants it. The fall of a landing is taken from the heights
    of its ends, whichever way it tips; a landing whose ends were not both read is left out. `doubts` are U of the
    heights. A ramp has no flights.
    """
    runs: list[list[str]] = []
    for rise in steps.rises if steps.kind == "flight" else ():
        if not runs or runs[-1][-1] != rise.start:
            runs.append([rise.start])
        runs[-1] += [f"{rise.start} to {rise.end}, {number}" for number in range(1, rise.count)]
        runs[-1].append(rise.end)
    flights = []
    for names in runs:
        if treads is None:
            inner = tuple(Tread(name, steps.tread, steps.tread_fall) for name in names[1:-1] if steps.tread)
            inner += tuple(Tread(each.nosing, each.depth, each.fall) for each in steps.treads if each.nosing in names)
        else:
            inner = tuple(tread for tread in treads if tread.nosing in names)
        behind = [landing for landing in steps.landings if landing.start == names[-1]]
        nosings = tuple(Nosing(name, heights.get(name)) for name in names)
        flights.append(Flight(nosings, inner, tuple(_as_it_lies(behind, heights)), doubts or {}))
    return tuple(flights)


@dataclass(frozen=True, slots=True)
class Ahead:
    """The risers still to build so that the flight ends where it should, in building order.

    `share` is the exact equal share and `risers` what to build, positive the way the flight goes; `nosings` the
    height each nosing must get; `held` those risers and the built ones together, held to the limits.
    """

    share: Length
    risers: tuple[Length, ...]
    nosings: tuple[Elevation, ...]
    held: tuple[Held, ...]

    @property
    def breaks(self) -> tuple[Held, ...]:
        """The limits that are broken then, by what is built already or by what is left."""
        return tuple(held for held in self.held if held.verdict != "passes")


def to_end_right(
    built: Sequence[Nosing],
    end: Elevation,
    left: int,
    graduation: Length,
    limits: Limits,
    doubts: Mapping[str, Length] | None = None,
) -> Ahead | None:
    """What to do to the next riser: what is left to the end, divided equally over the risers left to build.

    `built` are the nosings so far in building order, from the edge of the landing it began at, the last of them
    read. The remainder is spread over the risers in marks of the graduation, and what no mark shows lies in the one
    at the foot of what is left; `doubts` are U of what is built. None where nothing is left to build or the last
    nosing was not read.
    """
    at = built[-1].z if built else None
    if at is None or left < 1:
        return None
    # Which way the flight goes is told by its two ends: a riser built the wrong way must not turn it round.
    began = next(nosing.z for nosing in built if nosing.z is not None)
    sign = -1 if end < began else 1
    rest = end.above(at) * sign
    risers = equal_risers(rest, left, graduation)
    if sign > 0:
        risers = risers[::-1]  # they are counted from the head of the flight
    nosings = [built[-1]]
    for number, riser in enumerate(risers, 1):
        before = nosings[-1].z
        assert before is not None
        nosings.append(Nosing(_("{number} to go", number=number), before + riser * sign))
    heights = tuple(nosing.z for nosing in nosings[1:] if nosing.z is not None)
    whole_flight = _risers([*built, *nosings[1:]], sign, doubts)
    share = Length(rest.metres / left)
    return Ahead(share, risers, heights, tuple(_held_risers(whole_flight, limits)))


def _risers(
    nosings: Sequence[Nosing], sign: int | None = None, doubts: Mapping[str, Length] | None = None
) -> tuple[Riser, ...]:
    known = [nosing.z for nosing in nosings if nosing.z is not None]
    if sign is None:
        sign = -1 if known and known[-1] < known[0] else 1
    return tuple(
        Riser(one.name, other.name, other.z.above(one.z) * sign, Length(_left_open(doubts, one.name, other.name)))
        for one, other in pairwise(nosings)
        if one.z is not None and other.z is not None
    )


def _held_risers(risers: Sequence[Riser], limits: Limits) -> Iterator[Held]:
    for riser in risers:
        where: tuple[str, ...] = (riser.start, riser.end)
        high, left = riser.height.metres, riser.doubt.metres
        yield from _at_most("riser", where, high, limits.get("riser at most"), left)
        yield from _at_least("riser", where, high, limits.get("riser at least") or _goes_on(riser), left)
    for one, other in pairwise(risers):
        if one.end == other.start:
            differ = abs(other.height - one.height).metres
            rule, left = limits.get("neighbor risers differ at most"), (one.doubt + other.doubt).metres
            yield from _at_most("neighbor risers", (one.start, one.end, other.end), differ, rule, left, "advice")
    if len(risers) > 1:
        least, most = min(risers, key=_height), max(risers, key=_height)
        where = least.start, least.end, most.start, most.end
        spread, left = (most.height - least.height).metres, (most.doubt + least.doubt).metres
        rule = limits.get("riser varies at most")
        yield from _at_most("largest less smallest riser", where, spread, rule, left)


def _goes_on(riser: Riser) -> Limit | None:
    """Whatever code holds, a riser goes the way of its flight; the limit that one going the other way breaks."""
    return Limit("riser at least", "length", Fraction(0), _("the plan itself")) if riser.height.metres < 0 else None


def _height(riser: Riser) -> Length:
    return riser.height


def _held_treads(flight: Flight, limits: Limits) -> Iterator[Held]:
    depths: list[tuple[Length, str]] = []
    for tread in flight.treads:
        if tread.depth is not None:
            depths.append((tread.depth, tread.nosing))
            yield from _at_least("tread", (tread.nosing,), tread.depth.metres, limits.get("tread at least"))
        if tread.fall is not None:
            # Steeper than that is steeper whichever way it tips.
            yield from _at_most(
                "tread fall", (tread.nosing,), abs(tread.fall.ratio), limits.get("tread fall at most")
            )
    if len(depths) > 1:
        (least, narrow), (most, deep) = min(depths), max(depths)
        varies = (most - least).metres
        yield from _at_most(
            "deepest less narrowest tread", (narrow, deep), varies, limits.get("tread varies at most")
        )
    for landing in flight.landings:
        where = landing.start, landing.end
        yield from _at_least("landing", where, landing.length.metres, limits.get("landing at least"))
        left = _left_open(flight.doubts, *where) / landing.length.metres if landing.length else NOTHING
        fall, rule = abs(landing.fall.ratio), limits.get("landing fall at most")
        yield from _at_most("landing fall", where, fall, rule, left)


def _as_it_lies(landings: Sequence[Landing], heights: Mapping[str, Elevation]) -> Iterator[Landing]:
    for landing in landings:
        start, end = heights.get(landing.start), heights.get(landing.end)
        if start is not None and end is not None and landing.length:
            fall = Slope(abs(end.above(start).metres) / landing.length.metres)
            yield Landing(landing.start, landing.end, landing.length, fall)


def _left_open(doubts: Mapping[str, Length] | None, *names: str) -> Fraction:
    """Metres that these heights leave open together; those of a plan nothing."""
    return sum((doubts[name].metres for name in names if doubts and name in doubts), NOTHING)


def _at_most(
    what: str,
    where: tuple[str, ...],
    value: Fraction,
    limit: Limit | None,
    left: Fraction = NOTHING,
    worse: Judgment = "fault",
) -> Iterator[Held]:
    """The number held to its limit, with what the heights leave open of it; nothing where no code sets one."""
    if limit is not None:
        yield Held(what, where, value, limit, over(value, limit.value, left, worse))


def _at_least(
    what: str, where: tuple[str, ...], value: Fraction, limit: Limit | None, left: Fraction = NOTHING
) -> Iterator[Held]:
    if limit is not None:
        yield Held(what, where, value, limit, under(value, limit.value, left))


# Ramps --------------------------------------------------------------------------------------------------------

GENTLEST = max(figure.value for figure in RULES["accessible run at most"].by.values())
"""Steeper than this a walk is a ramp, in the code that says when."""
STEEPEST, SHORTEST = Fraction(1, 4), feet(3)
"""Steeper ground is a bank, and what is shorter a curb or a step; common practice, no source."""


def check_ramp(
    steps: Steps, heights: Mapping[str, Elevation], limits: Limits, doubts: Mapping[str, Length] | None = None
) -> Iterator[Held]:
    """What is limited and can be told from the heights wanted or measured, by the plan's lengths.

    A run or landing of which not both ends are known is left out. Steeper than a limit is steeper whichever way, and
    exactly at it passes. Beyond it by less than the `doubts` of both heights leave open it can't be told.
    """
    for run in steps.rises if steps.kind == "ramp" else ():
        rise, left = _ramp_rise(heights, run.start, run.end), _left_open(doubts, run.start, run.end)
        if rise is not None and run.run:
            where = run.start, run.end
            slope, open_too = rise / run.run.metres, left / run.run.metres
            yield from _at_most("ramp", where, slope, limits.get("ramp at most"), open_too)
            yield from _at_most("rise of a ramp's run", where, rise, limits.get("ramp rise at most"), left)
    for landing in steps.landings if steps.kind == "ramp" else ():
        drop = _ramp_rise(heights, landing.start, landing.end)
        if drop is not None:
            where, fall = (landing.start, landing.end), drop / landing.length.metres
            left, rule = _left_open(doubts, *where) / landing.length.metres, limits.get("ramp landing fall at most")
            yield from _at_most("fall of a ramp's landing", where, fall, rule, left)


def unmarked_ramps(area: Area) -> tuple[str, ...]:
    """Where an area that is called neither ramp nor steps falls as a ramp does, from point to point as it is written.

    Steeper than an accessible walk may run, over a yard or more. An accessible area is held to that as a walk, and
    what vehicles use is no ramp.
    """
    if area.accessible or area.use in ("ramp", "steps", "driveway", "street", "curb", "wall"):
        return ()
    on_steps = {name for steps in area.steps for name in steps.every_name}
    found = []
    for place, point in enumerate(area.points):
        before = area.points[place - 1] if place else None
        if point.pitch is not None and point.run is not None:
            slope, run, where = point.pitch.ratio, point.run, _("to {point}", point=point.name)
        elif before is not None and before.spot is not None and point.spot is not None and before.at != point.at:
            run = distance(before.spot.at, point.spot.at)
            slope = abs(before.finish.above(point.finish)).metres / run.metres if run else Fraction(0)
            where = _("{start} to {end}", start=before.name, end=point.name)
        else:
            continue
        if point.name not in on_steps and GENTLEST < slope <= STEEPEST and run >= SHORTEST:
            found.append(where)
    return tuple(found)


def _ramp_rise(heights: Mapping[str, Elevation], start: str, end: str) -> Fraction | None:
    one, other = heights.get(start), heights.get(end)
    return None if one is None or other is None else abs(other.above(one).metres)


# Steps in an accessible route ---------------------------------------------------------------------------------

LEVEL_CHANGE = "level change"
"""What a step in an accessible route is called."""


def check_level_changes(
    area: Area, heights: Mapping[str, Elevation], limits: Limits, doubt: Mapping[str, Length] | None = None
) -> Iterator[Held]:
    """Every riser of an accessible area against "level change at most", either way up; exactly at it passes.

    One of which not both ends are known is left out. Beyond the limit by less than the `doubt` of both its heights
    it can't be told.
    """
    limit = level_limit(area, limits)
    for rise in _level_risers(area) if limit is not None else ():
        if {rise.start, rise.end} <= heights.keys():
            step = abs(heights[rise.end].above(heights[rise.start])) * Fraction(1, rise.count)
            where = rise.start, rise.end
            yield from _at_most(LEVEL_CHANGE, where, step.metres, limit, _left_open(doubt, *where))


def unread_level_changes(area: Area, heights: Mapping[str, Elevation], limits: Limits) -> tuple[Rise, ...]:
    """The risers of an accessible area of which not both ends are known."""
    if level_limit(area, limits) is None:
        return ()
    return tuple(rise for rise in _level_risers(area) if not {rise.start, rise.end} <= heights.keys())


def level_limit(area: Area, limits: Limits) -> Limit | None:
    """What a change in level may be in that area; None where it is no accessible route, or nobody limits it."""
    return limits.get("level change at most") if area.accessible else None


def _level_risers(area: Area) -> Iterator[Rise]:
    yield from (rise for steps in area.steps if steps.kind != "ramp" for rise in steps.rises)


# Drops beside an edge -----------------------------------------------------------------------------------------

_DIAGONAL = Fraction(707_106_781, 1_000_000_000)
"""Half the root of two, rounded down, so that no look reaches farther than it may."""

_FLOATS = 1e-6
"""Metres more than floats can be off."""


@dataclass(frozen=True, slots=True)
class Drop:
    """How far it goes down beside a point, and beside what: another area's name, or the ground."""

    point: str
    beside: str
    height: Length


def drops(plan: Plan, area: Area, within: Length) -> Iterator[Drop]:
    """The deepest drop beside each point of the area: to its own existing ground, or to another area's finish no
    farther away in plan than `within`. Areas counted from another zero are left out."""
    others = [_Beside(each) for each in plan.areas.values() if each is not area and each.datum == area.datum]
    for point in area.points:
        found: list[tuple[Length, str]] = []
        if area.ground is not None:
            found.append((point.finish.above(area.ground), "ground"))
        if (spot := point.spot) is not None:
            for other in others:
                if (low := other.lowest(spot, within)) is not None:
                    found.append((spot.z.above(low), other.area.name))
        if found:
            height, beside = max(found, key=lambda each: each[0])
            yield Drop(point.name, beside, height)


class _Beside:
    """An area that may lie below another's edge; only its points near a spot are looked at."""

    def __init__(self, area: Area) -> None:
        self.area = area
        self._spots = [spot for point in area.points if (spot := point.spot) is not None]
        at = [(float(spot.x.metres), float(spot.y.metres)) for spot in self._spots]
        self._boxes = Boxes([(x, y, x, y) for x, y in at])

    def lowest(self, spot: Spot, within: Length) -> Elevation | None:
        """The lowest that is known of it so near the spot: its points, and its surface where it is one."""
        x, y, far = float(spot.x.metres), float(spot.y.metres), float(within.metres) + _FLOATS
        close = (self._spots[index] for index in self._boxes.meeting((x - far, y - far, x + far, y + far)))
        heights = [near.z for near in close if _near(near, spot, within)]
        if self.area.surface is not None and self.area.outline is not None:
            for place in _around(spot.at, within):
                if self.area.outline.contains(place) and (height := self.area.surface.elevation(place)) is not None:
                    heights.append(height)
        return min(heights, default=None)


def _near(one: Spot, other: Spot, within: Length) -> bool:
    x, y = (one.x - other.x).metres, (one.y - other.y).metres
    return x * x + y * y <= within.metres**2


def _around(at: Place, within: Length) -> Iterator[Place]:
    """The place itself, and places around it half as far and as far as that."""
    yield at
    for part in (Fraction(1, 2), Fraction(1)):
        far, askew = within * part, within * (part * _DIAGONAL)
        nothing = within * 0
        for x, y in ((far, nothing), (nothing, far), (askew, askew), (askew, -askew)):
            yield at[0] + x, at[1] + y
            yield at[0] - x, at[1] - y
