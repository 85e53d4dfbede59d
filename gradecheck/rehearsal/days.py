"""The story of the made-up days: who comes, what is walked in which order, and what goes wrong on the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.catalogue import _, stored
from gradecheck.checks.layout import to_tape
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.journal.facts import Rehearsed
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Elevation, Length, inches, millimetres
from gradecheck.plan.model import FINISH, SUBGRADE, Area
from gradecheck.rehearsal.crew import Crew, TrueReading
from gradecheck.rehearsal.laser import Laser
from gradecheck.rehearsal.route import LowSpot, StageWalk, bad_riser, legs, low_spot, soft_spot, topmost
from gradecheck.rehearsal.truth import Clock, Person, TrueGround, to_micrometre
from gradecheck.session.session import Session
from gradecheck.state.built import exceptions
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface

WEATHER = (
    stored("dry, light wind, 14 C"),
    "overcast, 11 C",
    "bright, 22 C",
    stored("rain until nine, then dry, 13 C"),
    "fog, 8 C",
)
WORKING_DAY = 8 * 3600.0
ENOUGH_FOR_A_KICK = 25
"""Readings; with fewer, what must be read again after a kick would be most of the day."""


@dataclass(frozen=True)
class Rehearsal:
    """What was made up: how much of it there is, and the truth, to hold against what the program concluded.

    `taken` are the readings that were not struck, `kicked` the setups whose instrument was disturbed; `soft`, `low`
    and `riser` are the spots made wrong on purpose, each where the plan has a place for it; `corners` is where the
    corners of each layout check truly are.
    """

    seed: int
    entries: int
    taken: tuple[TrueReading, ...]
    people: tuple[Person, ...]
    worn: dict[str, Length]
    marks: dict[str, Elevation]
    kicked: tuple[str, ...]
    soft: Surface | None
    low: LowSpot | None
    riser: Surface | None
    corners: dict[str, dict[str, Place]]


def rehearse(
    session: Session, clock: Clock, seed: int, *, readings: int, days: int, cautions: Sequence[str]
) -> Rehearsal:
    """Works so many days in a session with an empty journal, about so many readings in all; the same seed, the same.

    The clock must be the session's own and stand at the first morning.
    """
    plan = session.plan
    random = Random(_("rehearsal {seed}", seed=seed))  # noqa: S311 - a made-up day, no secret
    ground = TrueGround(random, {name: mark.elevation for name, mark in plan.benchmarks.items()})
    crew = Crew(session, clock, random, ground)
    crew.takes_over(crew.people[0])
    _mark(session, seed)
    made_up = _Days(crew, readings, days, cautions)
    made_up.work()
    return Rehearsal(
        seed=seed,
        entries=session.seq,
        taken=tuple(crew.taken),
        people=crew.people,
        worn=crew.worn,
        marks=ground.marks,
        kicked=tuple(sorted(crew.kicked)),
        soft=made_up.soft,
        low=made_up.low,
        riser=made_up.riser[0] if made_up.riser else None,
        corners=made_up.corners,
    )


def _mark(session: Session, seed: int) -> None:
    """The first entry says what all the others are; even the plan comes behind it."""
    session.record(Action(Rehearsed(seed)))


class _Days:
    def __init__(self, crew: Crew, readings: int, days: int, cautions: Sequence[str]) -> None:
        self.crew, self.readings, self.days, self.cautions = crew, readings, days, cautions
        self.session, self.random, self.clock = crew.session, crew.random, crew.clock
        plan = self.session.plan
        self.walked = legs(plan, max(1, readings * 17 // 20))  # the rest is what must be read twice
        self.low = low_spot(plan, self.walked)
        self.riser = bad_riser(plan, self.walked)
        self.corners: dict[str, dict[str, Place]] = {}
        if self.low:
            crew.ground.planted[self.low.surface] = -self.low.dip
            crew.ground.careful.update(self.low.around)
        if self.riser:
            crew.ground.planted[self.riser[0]] = self.riser[1]
        self.soft = soft_spot(self.walked, {*crew.ground.planted, *crew.ground.careful})
        self._leg = self.walked[0]
        self.laser = Laser(crew)
        self.laser.near = self._leg.area
        self._added: dict[str, list[str]] = {}
        self._ordered: set[str] = set()
        self._reads: list[Callable[[Surface], None]] = []
        self._events: list[tuple[int, Callable[[], None]]] = []
        for share, event in (
            (0.10, lambda: self._reads.append(crew.read_on_a_clod)),
            (0.18, lambda: self._reads.append(crew.read_with_a_slip)),
            (0.26, self._add_a_point),
            (0.34, self.laser.carry_on),
            *([(0.50, self._stumble)] if readings >= ENOUGH_FOR_A_KICK else []),
            (0.68, self._sign_off),
            (0.80, self.laser.move_on),
            (0.90, self._gauge),
        ):
            self._at(int(share * readings), event)

    def work(self) -> None:
        """All the days, one after the other."""
        todo = [(leg, point) for leg in self.walked for point in leg.points]
        for day in range(1, self.days + 1):
            share = todo[len(todo) * (day - 1) // self.days : len(todo) * day // self.days]
            today = list(dict.fromkeys(leg for leg, _ in share))
            self.crew.pace = min(240.0, 0.45 * WORKING_DAY * self.days / self.readings)
            self._morning(day)
            for leg in today:
                self._begin(leg, 0.3 * WORKING_DAY / len(today))
                self._pass_holds(leg)
                self._order(leg)
                self._walk(leg, [point for each, point in share if each is leg])
                self._compact(leg)
            self._look_again(self.readings * day // self.days)
            self._evening(day)

    # -- the frame of a day

    def _morning(self, day: int) -> None:
        crew = self.crew
        if day > 1:
            self.clock.until(6, 45, days=1)
        crew.takes_over(crew.people[0])
        crew.record(actions.cautions(self.cautions))
        self.clock.wait(self.random.uniform(60, 300))
        there = ", ".join(person.initials for person in crew.people)
        crew.record(actions.describe_day(self.random.choice(WEATHER), _("{there}, one machine", there=there)))
        self.clock.until(7, 5)
        if day == 1:
            self.corners = tape_layouts(crew)
        self.laser.set_up()
        if day == 1:
            self.laser.tie_datums()

    def _begin(self, leg: StageWalk, built_in: float) -> None:
        self._leg, self.laser.near = leg, leg.area
        self.crew.takes_over(self.random.choice(self.crew.people))
        self.clock.wait(min(3000.0, self.random.uniform(0.5, 1.2) * built_in))
        if self.clock().hour == 12:
            self.clock.wait(1800)

    def _walk(self, leg: StageWalk, points: Sequence[str]) -> None:
        last = points[-1] == leg.points[-1]
        added = self._added.get(leg.area, []) if last else []
        for point in (*points, *added):
            surface = Surface(leg.area, point, leg.stage)
            if self.laser.is_dark:
                return
            self.laser.look_if_due()
            if surface in self.crew.ground.known and surface not in self.crew.ground.planted:
                continue  # a point added on this very leg was read when it was added
            if surface == self.soft:
                self.crew.read_soft_spot(surface)
                self.crew.record(
                    actions.note(_("soft spot at {point} dug out, stone goes in", point=point), leg.area)
                )
            elif self._reads and surface not in self.crew.ground.planted:
                self._reads.pop(0)(surface)
            else:
                self.crew.read_until_on_grade(surface)
            if self.low and surface == self.low.surface:
                self.crew.record(actions.note(_("water will stand at {point}, to be lifted", point=point), leg.area))
            self._happen()

    def _pass_holds(self, leg: StageWalk) -> None:
        """The hold points below are signed off; where that can't be they are gone past, and that is to be found."""
        area = self.session.plan.areas[leg.area]
        while (hold := self.session.state.record.hold_before(area, leg.stage)) is not None:
            self.clock.wait(120)
            state = self.session.state
            found = exceptions(state, area.name, hold)
            read = len(found.unread) < len(area.points)
            if read and not found.doubtful and not found.unjudged and hold != area.holds[-1] and not area.examples:
                asked, open_now = questions(state, area.name, hold), [*found.out, *found.unread]
                self.crew.record(actions.sign_off(state, area.name, hold, open_now, _("seen together"), asked=asked))
            else:
                why = _("inspector on the phone, comes tomorrow")
                self.crew.record(actions.go_past(state, area.name, hold, why))

    def _compact(self, leg: StageWalk) -> None:
        """A layer that is rolled in lifts is rolled in so many passes, and that is noted."""
        area = self.session.plan.areas[leg.area]
        lifts = [layer for layer in area.build_up.layers if layer.lifts] if area.build_up else []
        if any(leg.stage in (layer.name, *layer.tops) for layer in lifts):
            self.clock.wait(300)
            self.crew.record(actions.compaction(self.session.state, area.name, leg.stage, "4", _("plate, damp")))

    def _order(self, leg: StageWalk) -> None:
        """Where the dig is a hold point the engineer looks at it first, and orders one spot dug deeper."""
        area = self.session.plan.areas[leg.area]
        if leg.stage == SUBGRADE and SUBGRADE in area.holds and leg.area not in self._ordered:
            self._ordered.add(leg.area)
            units = self.session.plan.notation.units
            depth = "6 in" if units.imperial else "150 mm"
            who, why = _("the engineer"), _("soft ground")
            self.crew.record(actions.order_undercut(self.session.state, area.name, leg.points[0], depth, who, why))

    def _look_again(self, until: int) -> None:
        """Reads what lies open once more, along the routes, until so many readings were taken."""
        top = {(taken.surface.area, taken.surface.point): taken.surface for taken in self.crew.taken}
        while self.crew.count < until and top:
            for surface in top.values():
                if self.crew.count >= until or self.laser.is_dark:
                    return
                self.laser.look_if_due()
                if self.random.random() < 0.5:
                    self.crew.read(surface)
                    self._happen()

    def _evening(self, day: int) -> None:
        self.laser.look()
        self.crew.takes_over(self.crew.people[0])
        if day == self.days:
            self.crew.record(actions.note(_("packed up, what is open is for tomorrow")))
        self.crew.record(actions.moved(self.session.state, _("packed up for the night")))

    # -- what happens on the way

    def _at(self, count: int, event: Callable[[], None]) -> None:
        self._events.append((count, event))
        self._events.sort(key=lambda each: each[0])

    def _happen(self) -> None:
        while self._events and self._events[0][0] <= self.crew.count:
            self._events.pop(0)[1]()

    def _add_a_point(self) -> None:
        leg, session = self._leg, self.session
        area = session.plan.areas[leg.area]
        taken = {*session.plan.names, *(mark.casefold() for mark in session.state.book.marks())}
        name = next(each for number in range(1, 99) if (each := f"X{number}").casefold() not in taken)
        self.clock.wait(self.random.uniform(60, 180))
        for how in _ways(area, session.plan.notation.units):
            try:
                draft = actions.add_point(session.state, area.name, name, how, _("by the downpipe"))
            except Refusal:
                continue  # that place lies outside the area's surface
            self.crew.record(draft)
            self._added.setdefault(area.name, []).append(name)
            self.crew.read_until_on_grade(Surface(area.name, name, leg.stage))
            return

    def _stumble(self) -> None:
        """A look at a mark, two more readings, and then somebody stumbles; five readings on it is found out."""
        self.laser.look()
        self._at(self.crew.count + 2, self.crew.kick)
        self._at(self.crew.count + 7, self.laser.look)

    def _sign_off(self) -> None:
        """The foreman signs what is done lowest down, two stages at most; what is out he names."""
        self.crew.takes_over(self.crew.people[0])
        signed = 0
        for leg in self.walked:
            state = self.session.state
            if not leg.whole or any(state.latest(surface) is None for surface in leg.surfaces) or signed == 2:
                continue
            out, unread, doubtful, unjudged = exceptions(state, leg.area, leg.stage)
            if not doubtful and not unjudged and not state.plan.areas[leg.area].examples:
                self.clock.wait(self.random.uniform(60, 200))
                remark = _("to be filled with stone") if out else ""
                asked = questions(state, leg.area, leg.stage)
                draft = actions.sign_off(
                    self.session.state, leg.area, leg.stage, [*out, *unread], remark, asked=asked
                )
                self.crew.record(draft)
                signed += 1

    def _gauge(self) -> None:
        """Steps between units are measured where the paving is down."""
        for leg in topmost(self.session.plan, self.walked):
            if leg.stage == FINISH and self.session.state.latest(leg.surfaces[0]) is not None:
                for point in leg.points[:3]:
                    self.clock.wait(self.random.uniform(30, 90))
                    size = self.crew.typed(to_micrometre(self.random.uniform(0, 0.0035)), self.session.plan.notation)
                    self.crew.record(actions.gauge(self.session.state, "lippage", leg.area, f"by {point}", size))
                return


def _ways(area: Area, units: Units) -> list[str]:
    """How a point could be added: by its place on a surface, else off the end of the route."""
    run = "1 ft" if units.imperial else "300 mm"
    ways = [_("from {name} fall 2% over {run}", name=area.points[-1].name, run=run)]
    placed = [point.at for point in area.points if point.at][:2]
    if area.surface is not None and len(placed) == 2:
        (x, y), (to_x, to_y) = placed
        middle = [to_micrometre(float((one + other).metres) / 2) for one, other in ((x, to_x), (y, to_y))]
        ways.insert(0, "at " + ", ".join(show_exact(each, Units.MM) + " mm" for each in middle))
    return ways


# -- tapes of layout checks


def tape_layouts(crew: Crew) -> dict[str, dict[str, Place]]:
    """Tapes every side and diagonal of the plan's layout checks; returns where the corners truly are.

    One corner of each is out by half an inch or so, and the first tape is misread by a whole unit and taped again.
    """
    plan, random, found = crew.session.plan, crew.random, {}
    for layout in plan.layout.values():
        corners: dict[str, Place] = {}
        out = random.randrange(len(layout.corners))
        for number, (name, (x, y)) in enumerate(layout.corners):
            off = 0.012 if number == out else 0.0
            corners[name] = x + to_micrometre(random.gauss(off, 0.0015)), y + to_micrometre(random.gauss(off, 0.0015))
        for number, target in enumerate(to_tape(layout.corners)):
            length = distance(corners[target.start], corners[target.end]) + to_micrometre(random.gauss(0, 0.0004))
            if number == 0:
                _tape(crew, layout.name, (target.start, target.end), length + _misread(plan.notation.units))
            _tape(crew, layout.name, (target.start, target.end), length)
        found[layout.name] = corners
    return found


def _tape(crew: Crew, layout: str, ends: tuple[str, str], length: Length) -> None:
    crew.clock.wait(crew.random.uniform(50, 140))
    crew.record(actions.tape(crew.session.state, layout, *ends, crew.typed(length, crew.session.plan.notation)))


def _misread(units: Units) -> Length:
    return inches(1) if units.imperial else millimetres(100)
