"""The fold: plan and journal entries in, what is known now out. Nothing here is stored or can go stale."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import takewhile
from typing import NamedTuple

from gradecheck.checks.verdict import Verdict, judge
from gradecheck.journal.facts import (
    BacksightTaken,
    CautionsRead,
    DatumChosen,
    DoubtAnswered,
    Entry,
    Fact,
    InstrumentMoved,
    InstrumentSet,
    InstrumentTested,
    MarkGiven,
    MarkMade,
    PlanRevised,
    Reading,
    Rechecked,
)
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import Target, target
from gradecheck.survey.level_book import LevelBook, Look, MarkFrom, StoodAt
from gradecheck.survey.setup import Place, SetUp
from gradecheck.survey.uncertainty import expanded

NEIGHBOURS = 20
"""Points read last, taken as what is likely at the next."""


class Surface(NamedTuple):
    """One surface at one point: what a reading is about."""

    area: str
    point: str
    stage: str


@dataclass(frozen=True, slots=True)
class Shot:
    """A reading that counts; its elevation is worked out when asked for, so a corrected set-up moves it."""

    seq: int
    id: str
    setup: str
    rod: Length
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class Stood:
    """A set-up that counts; its `instrument` is None where the plan or the journal lost what it leaned on."""

    seq: int
    id: str
    at: datetime
    offset: int
    fact: InstrumentSet
    book: LevelBook = field(repr=False, compare=False)

    @property
    def instrument(self) -> SetUp | None:
        """The plane it gives, as the marks are known today."""
        return self.book.set_up(self.id)


def standing(entries: Sequence[Entry]) -> Iterator[tuple[Entry, Entry]]:
    """The first entry of each place, with the one that stands in it now; a struck place holds a `Void`."""
    successor = {entry.replaces: entry for entry in entries if entry.replaces is not None}
    for first in entries:
        if first.replaces is None:
            last = first
            while (later := successor.get(last.id)) is not None:
                last = later
            yield first, last


def fold(plan: Plan, entries: Sequence[Entry]) -> State:
    """The state after all entries. It never raises: what can't be worked out is missing, and listed."""
    state = State(plan)
    for first, last in standing(entries):
        state.put(first, last)
    return state


class State:
    """What is known now. Reading it changes nothing; only `put` and `take` do, one entry at a time."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.book = LevelBook(plan)
        self.shots: dict[Surface, list[Shot]] = {}
        self.setups: dict[str, Stood] = {}
        self.plan_digest: str | None = None
        self.cautions: list[tuple[datetime, int, str]] = []
        self.answered: set[str] = set()
        self._newest_setup = (0, "")
        self._checked: dict[tuple[str, str], int] = {}
        self._moved: dict[int, InstrumentMoved] = {}
        self._sights: dict[int, BacksightTaken] = {}
        self._datums: dict[int, DatumChosen] = {}
        self._promoted: dict[str, list[tuple[str, int, str]]] = {}
        self._read_from: dict[str, list[int]] = {}
        self._order: dict[tuple[str, str], list[tuple[int, str]]] = {}
        self._looked: dict[str, datetime] = {}

    # -- what the fold does with one entry

    def put(self, first: Entry, last: Entry) -> None:
        """Lets `last` count in the place of `first`; they are the same where nothing was corrected."""
        if isinstance(first.fact, InstrumentSet):
            self._newest_setup = max(self._newest_setup, (first.seq, first.id))
        match last.fact:
            case Reading() as fact:
                shot = Shot(first.seq, first.id, fact.setup, fact.rod, first.at, last.by)
                self._add(Surface(fact.area, fact.point, fact.stage), shot)
            case InstrumentSet() as fact:
                self._looked[first.id] = first.at
                self.setups[first.id] = Stood(first.seq, first.id, first.at, first.offset, fact, self.book)
                sights = tuple((sight.mark, sight.rod) for sight in fact.backsights)
                self.book.put_set_up(StoodAt(first.seq, first.id, fact.rod, sights, fact.slopes, fact.place))
            case InstrumentMoved() as fact:
                self._moved[first.seq] = fact
            case BacksightTaken() as fact:
                self._sights[first.seq] = fact
            case MarkMade() as fact:
                if fact.reading is not None:
                    self._promoted.setdefault(fact.reading, []).append((fact.mark, first.seq, first.id))
                source = MarkFrom(first.seq, first.id, setup=fact.setup, rod=fact.rod, at=fact.at)
                self.book.put_mark(fact.mark, source)
            case MarkGiven() as fact:
                since = first.seq if fact.moved else 0
                self.book.put_mark(fact.mark, MarkFrom(since, first.id, given=fact.elevation))
            case Rechecked() as fact:
                self._looked[fact.setup] = first.at
                self.book.put_look(Look(first.seq, first.id, fact.setup, fact.mark, fact.rod))
            case DoubtAnswered() as fact:
                self.answered.update(fact.readings)
            case DatumChosen() as fact:
                self._datums[first.seq] = fact
            case InstrumentTested() as fact:
                self.book.put_slope_error(first.seq, fact.slope_error.ratio)
            case PlanRevised() as fact:
                self.plan_digest = fact.digest
            case CautionsRead():
                self.cautions.append((first.at, first.offset, last.by))
            case _:
                pass

    def take(self, first: Entry, fact: Fact) -> None:
        """Lets the place of `first`, where `fact` stood, count no more."""
        match fact:
            case Reading():
                self._remove(Surface(fact.area, fact.point, fact.stage), first)
            case InstrumentSet():
                self.setups.pop(first.id, None)
                self.book.take_set_up(first.id)
            case InstrumentMoved():
                self._moved.pop(first.seq, None)
            case BacksightTaken():
                self._sights.pop(first.seq, None)
            case MarkMade() | MarkGiven():
                self.book.take_mark(fact.mark, first.id)
            case Rechecked():
                self.book.take_look(fact.setup, first.id)
            case DoubtAnswered():
                self.answered.difference_update(fact.readings)
            case DatumChosen():
                self._datums.pop(first.seq, None)
            case InstrumentTested():
                self.book.take_slope_error(first.seq)
            case _:
                pass

    def _reorder(self, surface: Surface, before: Shot | None) -> None:
        """Keeps the points of an area in the order in which they were last read."""
        order = self._order.setdefault((surface.area, surface.stage), [])
        if before is not None:
            order.remove((before.seq, surface.point))
        if now := self.latest(surface):
            insort(order, (now.seq, surface.point))

    def _add(self, surface: Surface, shot: Shot) -> None:
        before = self.latest(surface)
        self._read_from.setdefault(shot.setup, []).append(shot.seq)
        shots = self.shots.setdefault(surface, [])
        if not shots:
            key = surface.area, surface.stage
            self._checked[key] = self._checked.get(key, 0) + 1
        shots.append(shot)
        if len(shots) > 1 and shots[-2].seq > shot.seq:
            shots.sort(key=lambda each: each.seq)  # a corrected reading goes back to its own place
        self._reorder(surface, before)
        for mark, seq, made in self._promoted.get(shot.id, ()):
            self.book.take_mark(mark, made)
            self.book.put_mark(mark, MarkFrom(seq, made, setup=shot.setup, rod=shot.rod, at=self.place(surface)))

    def _remove(self, surface: Surface, first: Entry) -> None:
        before = self.latest(surface)
        shots = [shot for shot in self.shots.get(surface, []) if shot.seq != first.seq]
        if shots:
            self.shots[surface] = shots
        elif self.shots.pop(surface, None):
            self._checked[surface.area, surface.stage] -= 1
        self._reorder(surface, before)
        for read in self._read_from.values():
            if first.seq in read:
                read.remove(first.seq)
        for mark, _, made in self._promoted.get(first.id, ()):
            self.book.take_mark(mark, made)

    # -- the instrument

    def mark(self, name: str) -> Elevation | None:
        """The elevation of a mark as it is known now, or None where it is not known."""
        return self.book.elevation(name)

    @property
    def newest_setup(self) -> Stood | None:
        """The last set-up made, whether or not it may still be read from; None where it was struck."""
        return self.setups.get(self._newest_setup[1])

    @property
    def setup(self) -> Stood | None:
        """The set-up that may be read from now.

        None where the last one was struck (where the instrument was before it may have moved), where the
        instrument was moved since, and where a recheck found it disturbed.
        """
        newest = self.newest_setup
        if newest is None or newest.instrument is None or self.moved_since(newest.seq):
            return None
        return None if self.book.failed(newest.id) else newest

    def moved_since(self, seq: int) -> InstrumentMoved | None:
        """That the instrument was moved behind that place in the journal, if it was."""
        return next((fact for at, fact in self._moved.items() if at > seq), None)

    def looked(self, setup: str) -> datetime | None:
        """When the set-up was last held against a mark, in UTC."""
        return self._looked.get(setup)

    def readings_since_look(self, setup: str) -> int:
        """How many readings were taken from the set-up since it was last held against a mark."""
        read, looked = self._read_from.get(setup, []), self.book.last_good(setup, 1 << 62)
        return sum(1 for _ in takewhile(lambda seq: seq > looked, reversed(read)))

    @property
    def sights(self) -> list[BacksightTaken]:
        """Backsights taken for a set-up that does not stand yet, the last on each mark."""
        begun = max([self._newest_setup[0], *self._moved])
        last = {fact.sight.mark: fact for at, fact in sorted(self._sights.items()) if at > begun}
        return list(last.values())

    def being_set_up(self, sights: Sequence[tuple[str, Length]], rod: str) -> StoodAt:
        """The set-up those backsights would make, to see how well they agree before it stands."""
        return StoodAt(1 << 61, "", rod, tuple(sights))

    # -- datums

    @property
    def datum(self) -> str | None:
        """The datum that elevations are shown from; None is the job's own zero."""
        if not self._datums:
            return None
        chosen = self._datums[max(self._datums)].datum
        return chosen if chosen in self.plan.datums else None

    def zero_of(self, datum: str | None) -> Elevation | None:
        """Where a datum's zero lies, counted from the job's own; None while it is not tied."""
        if datum is None:
            return Elevation(ZERO.metres)
        given = self.plan.datums.get(datum)
        tied = self.mark(given.mark) if given else None
        return tied.minus(given.reads.height) if given and tied else None

    def shown(self, elevation: Elevation) -> Length:
        """The elevation as it is shown: above the zero of the chosen datum."""
        zero = self.zero_of(self.datum)
        return elevation.above(zero) if zero is not None else elevation.height

    # -- what can be asked of a surface

    def target(self, surface: Surface) -> Target | None:
        """What the plan wants there, or None where it has no such surface or its datum is not tied yet."""
        area = self.plan.areas.get(surface.area)
        if area is None or surface.point not in area.place or surface.stage not in area.stages:
            return None
        zero = self.zero_of(area.datum)
        return target(area, area.point(surface.point), surface.stage, zero) if zero is not None else None

    def place(self, surface: Surface) -> Place | None:
        """Where the point lies on the plan, if the plan says."""
        area = self.plan.areas.get(surface.area)
        return area.point(surface.point).at if area and surface.point in area.place else None

    def latest(self, surface: Surface) -> Shot | None:
        """The last reading there that counts."""
        shots = self.shots.get(surface)
        return shots[-1] if shots else None

    def found(self, shot: Shot, surface: Surface | None = None) -> Elevation | None:
        """The elevation the shot found, or None where its set-up was struck or a sloped beam needs a place."""
        instrument = self.book.set_up(shot.setup)
        return instrument.elevation(shot.rod, self.place(surface) if surface else None) if instrument else None

    def verdict(self, surface: Surface) -> Verdict | None:
        """Today's judgement of the last reading there, or None where there is none to give."""
        shot = self.latest(surface)
        return self.judge(shot, surface) if shot else None

    def judge(self, shot: Shot, surface: Surface) -> Verdict | None:
        """Today's judgement of one shot, or None where there is none to give."""
        wanted, found = self.target(surface), self.found(shot, surface)
        if found is None or wanted is None:
            return None
        return judge(found, wanted.wanted, wanted.tolerance, self.guard(shot.setup, shot.rod, surface))

    def guard(self, setup: str, rod: Length, surface: Surface) -> Length:
        """What a guarded decision keeps clear of the limits; nothing where the plan decides plainly."""
        if not self.plan.guarded:
            return ZERO
        return self.uncertainty(setup, rod, surface) or ZERO

    def uncertainty(self, setup: str, rod: Length, surface: Surface) -> Length | None:
        """U (k = 2) of an elevation seen from a set-up, None where the plan does not say what the instrument is."""
        variance = self.book.variance(setup, rod, self.place(surface))
        return expanded(variance**0.5) if variance is not None else None

    def recent(self, area: str, stage: str) -> list[Length]:
        """The latest differences found in the area at that stage, the newest last: what is likely next to them."""
        latest = self._order.get((area, stage), [])[-NEIGHBOURS:]
        verdicts = (self.verdict(Surface(area, point, stage)) for _, point in latest)
        return [verdict.difference for verdict in verdicts if verdict]

    def in_doubt(self, shot: Shot) -> bool:
        """Whether the shot may be wrong because its set-up was, and nobody has answered for it."""
        return shot.id not in self.answered and self.book.in_doubt(shot.setup, shot.seq)

    def doubts(self) -> list[tuple[Surface, Shot]]:
        """The surfaces whose last reading is in doubt, in the order they were read."""
        last = ((surface, shots[-1]) for surface, shots in self.shots.items())
        return sorted(
            ((surface, shot) for surface, shot in last if self.in_doubt(shot)), key=lambda each: each[1].seq
        )

    def checked(self, area: str, stage: str) -> int:
        """How many points of the area have a reading that counts at that stage."""
        return self._checked.get((area, stage), 0)

    def next_unchecked(self, area: str, stage: str, after: int) -> int | None:
        """Where along the route the next point without a trusted reading stands, from `after` round to it again."""
        points = self.plan.areas[area].points
        doubtful = {surface for surface, _ in self.doubts()} if self.book.disturbed else set[Surface]()
        if self.checked(area, stage) >= len(points) and not doubtful:
            return None
        for place in range(after + 1, after + 1 + len(points)):
            surface = Surface(area, points[place % len(points)].name, stage)
            if surface not in self.shots or surface in doubtful:
                return place % len(points)
        return None

    def problems(self) -> list[str]:
        """What can't be judged and why, a sentence each."""
        says = []
        for surface, shots in self.shots.items():
            if self.target(surface) is None:
                says.append(f"{surface.point} {surface.stage} was read but is not in the plan any more.")
            elif self.found(shots[-1], surface) is None:
                says.append(f"{surface.point} {surface.stage} has no height of instrument; read it again.")
        return says
