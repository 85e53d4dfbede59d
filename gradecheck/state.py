"""The fold: plan and journal entries in, what is known now out. Nothing here is stored or can go stale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from gradecheck.checks.verdict import Verdict, judge
from gradecheck.journal.facts import CautionsRead, Entry, Fact, InstrumentSet, PlanRevised, Reading
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import Target, target
from gradecheck.survey.setup import SetUp, stand


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
    """A set-up that counts, and the plane it gives; `instrument` is None where the plan lost its mark or rod."""

    seq: int
    id: str
    at: datetime
    offset: int
    fact: InstrumentSet
    instrument: SetUp | None


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
        self.shots: dict[Surface, list[Shot]] = {}
        self.setups: dict[str, Stood] = {}
        self.plan_digest: str | None = None
        self.cautions: list[tuple[datetime, int, str]] = []
        self._newest_setup = (0, "")
        self._checked: dict[tuple[str, str], int] = {}

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
                instrument = self._instrument(fact)
                self.setups[first.id] = Stood(first.seq, first.id, first.at, first.offset, fact, instrument)
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
                surface = Surface(fact.area, fact.point, fact.stage)
                shots = [shot for shot in self.shots.get(surface, []) if shot.seq != first.seq]
                if shots:
                    self.shots[surface] = shots
                elif self.shots.pop(surface, None):
                    self._checked[surface.area, surface.stage] -= 1
            case InstrumentSet():
                self.setups.pop(first.id, None)
            case _:
                pass

    def _add(self, surface: Surface, shot: Shot) -> None:
        shots = self.shots.setdefault(surface, [])
        if not shots:
            key = surface.area, surface.stage
            self._checked[key] = self._checked.get(key, 0) + 1
        shots.append(shot)
        if len(shots) > 1 and shots[-2].seq > shot.seq:
            shots.sort(key=lambda each: each.seq)  # a corrected reading goes back to its own place

    def _instrument(self, fact: InstrumentSet) -> SetUp | None:
        rod = self.plan.rods.get(fact.rod)
        sight = fact.backsights[0]
        mark = self.mark(sight.mark)
        return stand(rod, mark, sight.rod) if rod and mark else None

    # -- what can be asked

    def mark(self, name: str) -> Elevation | None:
        """The elevation of a mark, or None where there is no such mark."""
        benchmark = self.plan.benchmarks.get(name)
        return benchmark.elevation if benchmark else None

    @property
    def setup(self) -> Stood | None:
        """The set-up that stands now. A struck one leaves none: where the instrument was before it may have moved."""
        newest = self.setups.get(self._newest_setup[1])
        return newest if newest and newest.instrument else None

    def target(self, surface: Surface) -> Target | None:
        """What the plan wants there, or None where the plan has no such surface."""
        area = self.plan.areas.get(surface.area)
        if area is None or surface.point not in area.place or surface.stage not in area.stages:
            return None
        return target(area, area.point(surface.point), surface.stage)

    def latest(self, surface: Surface) -> Shot | None:
        """The last reading there that counts."""
        shots = self.shots.get(surface)
        return shots[-1] if shots else None

    def found(self, shot: Shot) -> Elevation | None:
        """The elevation the shot found, or None where its set-up was struck."""
        stood = self.setups.get(shot.setup)
        return stood.instrument.elevation(shot.rod) if stood and stood.instrument else None

    def verdict(self, surface: Surface) -> Verdict | None:
        """Today's judgement of the last reading there, or None where there is none to give."""
        shot, wanted = self.latest(surface), self.target(surface)
        found = self.found(shot) if shot else None
        return judge(found, wanted.wanted, wanted.tolerance) if found and wanted else None

    def checked(self, area: str, stage: str) -> int:
        """How many points of the area have a reading that counts at that stage."""
        return self._checked.get((area, stage), 0)

    def next_unchecked(self, area: str, stage: str, after: int) -> int | None:
        """Where along the route the next point without a reading stands, from `after` round to it again."""
        points = self.plan.areas[area].points
        if self.checked(area, stage) >= len(points):
            return None
        order = range(after + 1, after + 1 + len(points))
        return next(
            (i % len(points) for i in order if Surface(area, points[i % len(points)].name, stage) not in self.shots),
            None,
        )

    def problems(self) -> list[str]:
        """What can't be judged and why, a sentence each."""
        says = []
        for surface, shots in self.shots.items():
            if self.target(surface) is None:
                says.append(f"{surface.point} {surface.stage} was read but is not in the plan any more.")
            elif self.found(shots[-1]) is None:
                says.append(f"{surface.point} {surface.stage} has no height of instrument; read it again.")
        return says
