"""What one journal entry changes: the facts that count, kept so that a corrected one takes its old place."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple, Self

from gradecheck.checks.verdict import Verdict
from gradecheck.ground.spots import Place
from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    CautionsRead,
    DatumChosen,
    DayDescribed,
    DoubtAnswered,
    Entry,
    Fact,
    Gauged,
    InstrumentMoved,
    InstrumentTested,
    MarkGiven,
    MarkMade,
    Note,
    PlanRevised,
    PointAdded,
    Reading,
    Rechecked,
    Rehearsed,
    SetupMade,
    SignedOff,
    Taped,
    TargetChanged,
    ToleranceChanged,
)
from gradecheck.journal.stamps import on_site, taken_at
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Plan
from gradecheck.state.amended import Amendment, amended
from gradecheck.state.record import Record
from gradecheck.state.strings import OnString, spot_named
from gradecheck.survey.doubt import Doubt
from gradecheck.survey.level_book import GivenMark, LevelBook, Recheck, RecordedSetup, SightedMark
from gradecheck.survey.setup import Setup
from gradecheck.survey.uncertainty import Carried

if TYPE_CHECKING:
    from gradecheck.joining.log import JoinedLog


class Surface(NamedTuple):
    """One surface at one point: what a reading is about."""

    area: str
    point: str
    stage: str


class Shot(NamedTuple):
    """A reading that counts; its elevation is worked out when asked for, so a corrected setup moves it.

    `offset` is by how many minutes the clock was ahead of UTC when it was read: by that it has its day. `place` is
    where in the journal it was taken, which is before its own entry where it was entered late. `above` is how far
    above the ground that it stands for the rod was held.
    """

    seq: int
    id: str
    setup: str
    rod: Length
    at: datetime
    offset: int
    by: str
    place: int
    above: Length | None
    late: bool

    @property
    def order(self) -> tuple[int, bool, int]:
        """Sorts readings as they were taken: by place in the log, late ones first, then by number of the entry."""
        return self.place, not self.late, self.seq


def shot_of(first: Entry, fact: Reading, by: str) -> Shot:
    """The shot that a reading gives in the place of `first`; one that was entered late counts from when it was taken.

    `by` are the initials of whoever recorded it.
    """
    at, offset, place, late = first.at, first.offset, first.seq, False
    if fact.late is not None and (taken := taken_at(fact.late)) is not None and fact.late.after < first.seq:
        (at, offset), by, place, late = taken, fact.late.by, fact.late.after + 1, True
    return Shot(first.seq, first.id, fact.setup, fact.rod, at, offset, by, place, fact.above, late)


@dataclass(frozen=True, slots=True)
class KeptSetup:
    """A setup that counts; its `instrument` is None where the plan or the journal lost what it leaned on."""

    seq: int
    id: str
    at: datetime
    offset: int
    fact: SetupMade
    book: LevelBook = field(repr=False, compare=False)

    @property
    def instrument(self) -> Setup | None:
        """The plane it gives, as the marks are known today."""
        return self.book.setup(self.id)


def first_and_last(
    entries: Iterable[Entry], replacing: Iterable[Entry] | None = None
) -> Iterator[tuple[Entry, Entry]]:
    """The first entry of each place, with the one that stands in it now; a struck place holds a `Void`.

    `replacing` are those among the entries that replace another; with them, the entries may be read only once.
    """
    if replacing is None:
        replacing = entries = list(entries)
    successor = {entry.replaces: entry for entry in replacing if entry.replaces is not None}
    for first in entries:
        if first.replaces is None:
            last = first
            while (later := successor.get(last.id)) is not None:
                last = later
            yield first, last


class JoinedChains:
    """Who knew what of rechecks and answers, where several laptops write."""

    def __init__(
        self,
        laptops: JoinedLog,
        answers: dict[str, list[int]],
        given_otherwise: dict[str, list[GivenOtherwise]],
        disputed: dict[str, tuple[int, ...]],
    ) -> None:
        self.along = laptops.along
        self._laptops, self._answers, self._given_otherwise = laptops, answers, given_otherwise
        self._disputed = disputed

    def answered(self, entry: str, seq: int) -> bool:
        """Whether someone who knew what stands at that place answered for the entry."""
        return any(self._laptops.knew_at(each, seq) for each in self._answers.get(entry, ()))

    def contested(self, mark: str, before: int) -> tuple[int, ...]:
        """The places in the log where laptops that did not know of each other gave the mark different elevations.

        Nothing where that does not concern the place `before`.
        """
        given = self._given_otherwise.get(mark, ())
        # One that was moved since concerns only who sets up later.
        return tuple(each.at for each in given) if any(each.since < before for each in given) else ()

    def disputed(self, entry: str) -> tuple[int, ...]:
        """The places in the log where laptops that did not know of each other changed that entry differently."""
        return self._disputed.get(entry, ())


class GivenOtherwise(NamedTuple):
    """Where a mark was given another elevation, and since which place that counts."""

    at: int
    since: int


class Folded:
    """The facts that count. Only `apply` and `retract` change them, one entry at a time; they never raise."""

    def __init__(self, plan: Plan, laptops: JoinedLog | None = None) -> None:
        """`laptops` is the one log of several laptops; None in a job of one."""
        self.laptops = laptops
        self.plan = plan
        """As it stands on site; `office` is the same without what was changed there."""
        self.office = plan
        self._amendments: dict[int, Amendment] = {}
        self.record = Record()
        self.book = LevelBook(plan, *((laptops.knew_at, laptops.earlier_mark) if laptops is not None else ()))
        self.answered: Counter[str] = Counter()
        rule = (lambda: plan.allowance) if plan.closure is not None else None
        self.answers: dict[str, list[int]] = {}
        """Where each entry was answered for, by its id; asked for where there are several laptops."""
        self.given_otherwise: dict[str, list[GivenOtherwise]] = {}
        """By its name, where each mark was given that two laptops gave otherwise, until someone answers that."""
        self.disputed: dict[str, tuple[int, ...]] = {}
        """By the id of the first entry of a place, where those stand that disagree there."""
        self.lasers: dict[str, str] = {}
        """By its id, the setup that each laptop's laser has, where several write and it was not moved since."""
        chains = (
            JoinedChains(laptops, self.answers, self.given_otherwise, self.disputed) if laptops is not None else None
        )
        self.doubt = Doubt(self.book, plan.rechecks.allowed, self.answered, rule, chains)
        self.carried = Carried(self.book, plan, laptops.along if laptops is not None else None)
        self.shots: dict[Surface, list[Shot]] = {}
        self.spots: dict[Surface, list[Shot]] = {}
        """Readings at spots on strings, apart: checks, counts and routes are about the plan's points."""
        self.setups: dict[str, KeptSetup] = {}
        self.conflicting: dict[str, tuple[Entry, ...]] = {}
        """By the id of the first entry of a place, what stands there against the one that counts."""
        self.plan_digest: str | None = None
        self._newest_setup = (0, "")
        self._checked: dict[tuple[str, str], int] = {}
        self._moved: dict[int, InstrumentMoved] = {}
        self._sights: dict[int, BacksightTaken] = {}
        self._set_ups_made: dict[int, tuple[str, tuple[Backsight, ...]]] = {}
        self._datums: dict[int, DatumChosen] = {}
        self._offsets: dict[int, Length] = {}
        self._cautions: dict[int, tuple[datetime, int, str]] = {}
        self._shot: dict[str, tuple[Surface, Shot]] = {}
        self.worked: dict[str, tuple[datetime, int]] = {}
        """When each person last set up or read, by initials, with the offset of the clock there."""
        self._promoted: dict[str, list[tuple[str, int, str]]] = {}
        self._read_from: defaultdict[str, list[int]] = defaultdict(list)
        self._order: defaultdict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
        self._looked: dict[str, dict[int, datetime]] = {}
        self._verdicts: dict[Surface, tuple[Shot, int, Plan, Verdict | None]] = {}

    def copied(self) -> Self:
        """A copy that takes further changes while this one stays as it is; it costs no folding."""
        trial = copy(self)
        for name, kept in vars(self).items():
            if isinstance(kept, defaultdict):
                setattr(trial, name, defaultdict(list, {key: each[:] for key, each in kept.items()}))
            elif isinstance(kept, dict):
                setattr(trial, name, copy(kept))  # a counter stays one
        trial.shots = {surface: shots[:] for surface, shots in self.shots.items()}
        trial.spots = {surface: shots[:] for surface, shots in self.spots.items()}
        trial._promoted = {reading: marks[:] for reading, marks in self._promoted.items()}
        trial._looked = {setup: dict(looks) for setup, looks in self._looked.items()}
        trial.answers = {entry: places[:] for entry, places in self.answers.items()}
        trial.given_otherwise = self.given_otherwise
        trial.record, trial.book = self.record.copied(), self.book.copied()
        several = self.laptops
        chains = (
            JoinedChains(several, trial.answers, trial.given_otherwise, trial.disputed)
            if several is not None
            else None
        )
        trial.doubt = self.doubt.copied(trial.book, trial.answered, chains)
        trial.carried = self.carried.copied(trial.book)
        trial.setups = {each.id: replace(each, book=trial.book) for each in self.setups.values()}
        return trial

    # -- what the fold does with one entry

    def apply(self, first: Entry, last: Entry) -> None:
        """Adds the fact of `last` to the state, in the place of `first`; both are one where nothing was corrected."""
        own = self.laptops is None or self.laptops.is_own(first.seq)
        if self.laptops is not None and isinstance(last.fact, SetupMade | InstrumentMoved):
            from gradecheck.joining.names import identity  # few jobs have several laptops

            self.lasers[identity(first.laptop)] = first.id if isinstance(last.fact, SetupMade) else ""
        if isinstance(first.fact, SetupMade) and own:
            self._newest_setup = max(self._newest_setup, (first.seq, first.id))
            self._set_ups_made[first.seq] = first.id, first.fact.backsights
        if isinstance(first.fact, (SetupMade, Reading)):
            worked = first.at, first.offset
            self.worked[first.by] = max(worked, self.worked.get(first.by, worked))
        match last.fact:
            case Reading() as fact:
                self._add(fact, shot_of(first, fact, last.by))
            case SetupMade() as fact:
                self._looked.setdefault(first.id, {})[first.seq] = on_site(first.at, first.offset)
                self.setups[first.id] = KeptSetup(first.seq, first.id, first.at, first.offset, fact, self.book)
                sights = tuple((sight.mark, sight.rod) for sight in fact.backsights)
                if sights:  # without one, which only a foreign journal can hold, there is no plane
                    self.book.add_setup(RecordedSetup(first.seq, first.id, fact.rod, sights, fact.slopes, fact.place))
            case Note(on_layers=True) as fact:
                self.record.add(first, last, fact)
            case InstrumentMoved() | BacksightTaken() | Note() if not own:
                pass  # each laptop has a laser and strings of its own
            case InstrumentMoved() as fact:
                self._moved[first.seq] = fact
            case BacksightTaken() as fact:
                self._sights[first.seq] = fact
            case MarkMade(reading=str(reading)) as fact:
                self._promoted.setdefault(reading, []).append((fact.mark, first.seq, first.id))
                self._carry(reading)
            case MarkMade() as fact:
                source = SightedMark(first.seq, first.id, fact.setup, fact.rod, fact.at)
                self.book.add_mark(fact.mark, source)
            case MarkGiven() as fact:
                since = first.seq if fact.moved else 0
                self.book.add_mark(fact.mark, GivenMark(since, first.id, fact.elevation))
            case Rechecked() as fact:
                self._looked.setdefault(fact.setup, {})[first.seq] = on_site(first.at, first.offset)
                self.book.add_recheck(Recheck(first.seq, first.id, fact.setup, fact.mark, fact.rod))
            case DoubtAnswered() as fact:
                self.answered.update(fact.readings)
                for each in fact.readings:
                    self.answers.setdefault(each, []).append(first.seq)
                self.book.version += 1
            case DatumChosen() as fact:
                self._datums[first.seq] = fact
            case Note(above=Length() as above):
                self._offsets[first.seq] = above
            case InstrumentTested() as fact:
                self.carried.add_slope_error(first.seq, fact.slope_error.ratio)
            case PointAdded() | TargetChanged() | ToleranceChanged() as fact:
                self._amendments[first.seq] = fact
                self._amend()
            case Taped() | Gauged() | SignedOff() | DayDescribed() | Rehearsed() as fact:
                self.record.add(first, last, fact)
            case PlanRevised() as fact:
                self.plan_digest = fact.digest
            case CautionsRead():
                self._cautions[first.seq] = first.at, first.offset, last.by
            case _:
                pass

    def retract(self, first: Entry, fact: Fact) -> None:
        """Removes a fact from the state: the one that counts in the place of `first`."""
        match fact:
            case Reading():
                self._remove(fact, first)
            case SetupMade():
                self.setups.pop(first.id, None)
                self._looked.get(first.id, {}).pop(first.seq, None)
                self.book.remove_setup(first.id)
            case InstrumentMoved():
                self._moved.pop(first.seq, None)
            case BacksightTaken():
                self._sights.pop(first.seq, None)
            case MarkMade() | MarkGiven():
                self.book.remove_mark(fact.mark, first.id)
                if isinstance(fact, MarkMade) and fact.reading is not None:
                    self._promoted[fact.reading].remove((fact.mark, first.seq, first.id))
            case Rechecked():
                self._looked.get(fact.setup, {}).pop(first.seq, None)
                self.book.remove_recheck(fact.setup, first.id)
            case DoubtAnswered():
                self.answered.subtract(fact.readings)
                for each in fact.readings:
                    self.answers[each].remove(first.seq)
                self.book.version += 1
            case DatumChosen():
                self._datums.pop(first.seq, None)
            case Note():
                self._offsets.pop(first.seq, None)
                self.record.remove(first)
            case InstrumentTested():
                self.carried.remove_slope_error(first.seq)
            case PointAdded() | TargetChanged() | ToleranceChanged():
                self._amendments.pop(first.seq, None)
                self._amend()
            case Taped() | Gauged() | SignedOff() | DayDescribed() | Rehearsed():
                self.record.remove(first)
            case CautionsRead():
                self._cautions.pop(first.seq, None)
            case _:
                pass

    def replace(self, first: Entry, before: Fact, now: Entry) -> None:
        """Puts another fact in the place of `first`, where so far the one `before` counts."""
        lasers = dict(self.lasers)
        self.retract(first, before)
        self.apply(first, now)
        self.lasers = lasers  # which setup a laser has goes by when that was made, not by when it was corrected

    def dispute(self, disputed: Mapping[str, tuple[int, ...]]) -> None:
        """By the id of the first entry, the places of those that disagree there, and in the marks made of it."""
        self.disputed.update(disputed)
        for reading, places in disputed.items():
            self.disputed.update((made, places) for _, _, made in self._promoted.get(reading, ()))
        self.book.version += bool(disputed)

    def _amend(self) -> None:
        """Puts the changes made on site over the office's plan, and counts anew what it has."""
        self.plan = amended(self.office, (self._amendments[seq] for seq in sorted(self._amendments)))
        self._checked.clear()
        for surface in self.shots:
            self._count(surface, 1)

    @property
    def amendments(self) -> list[Amendment]:
        """What was added to the plan and changed in it on site, in order."""
        return [self._amendments[seq] for seq in sorted(self._amendments)]

    def _reorder(self, surface: Surface, before: Shot | None, now: Shot | None) -> None:
        """Keeps the points of an area in the order in which they were last read."""
        area, point, stage = surface
        order = self._order[area, stage]
        if before is not None:
            del order[bisect_left(order, (before.place, point))]
        if now is not None:
            insort(order, (now.place, point))

    def _add(self, fact: Reading, shot: Shot) -> None:
        surface = Surface(fact.area, fact.point, fact.stage)
        self._shot[shot.id] = surface, shot
        places = self._read_from[shot.setup]
        if places and places[-1] > shot.place:
            insort(places, shot.place)
        else:
            places.append(shot.place)
        if fact.between is not None:
            self.spots[surface] = sorted((*self.spots.get(surface, ()), shot), key=lambda each: each.order)
            return
        shots = self.shots.get(surface)
        if shots is None:
            self.shots[surface] = [shot]
            self._count(surface, 1)
            self._reorder(surface, None, shot)
        else:
            before = shots[-1]
            shots.append(shot)
            if before.place >= shot.place and before.order > shot.order:
                shots.sort(key=lambda each: each.order)  # a corrected or late reading goes to its own place
            self._reorder(surface, before, shots[-1])
        if shot.id in self._promoted:
            self._carry(shot.id)

    def _remove(self, fact: Reading, first: Entry) -> None:
        surface = Surface(fact.area, fact.point, fact.stage)
        if fact.between is not None:
            _, shot = self._shot.pop(first.id)
            self._read_from[shot.setup].remove(shot.place)
            self.spots[surface] = [shot for shot in self.spots[surface] if shot.id != first.id]
            if not self.spots[surface]:
                del self.spots[surface]
            return
        before = self._latest(surface)
        shots = [shot for shot in self.shots.get(surface, []) if shot.id != first.id]
        if shots:
            self.shots[surface] = shots
        elif self.shots.pop(surface, None):
            self._count(surface, -1)
        self._reorder(surface, before, shots[-1] if shots else None)
        _, shot = self._shot.pop(first.id)
        self._read_from[shot.setup].remove(shot.place)
        self._carry(first.id)

    def _count(self, surface: Surface, more: int) -> None:
        """Counts points checked; one that was read but is not in the plan any more is none of its points."""
        area, key = self.plan.areas.get(surface.area), (surface.area, surface.stage)
        if area is not None and surface.point in area.index:
            self._checked[key] = self._checked.get(key, 0) + more

    def _carry(self, reading: str) -> None:
        """Gives the marks made of a reading what the reading says now; of a struck one, nothing."""
        for mark, seq, made in self._promoted.get(reading, ()):
            self.book.remove_mark(mark, made)
            if reading in self._shot:
                surface, shot = self._shot[reading]
                place = self.place(surface)
                self.book.add_mark(mark, SightedMark(seq, made, shot.setup, shot.rod, place, shot.place))

    @property
    def cautions(self) -> list[tuple[datetime, int, str]]:
        """When the cautions were read, with the offset of the clock there, and by whom."""
        return [self._cautions[seq] for seq in sorted(self._cautions)]

    def _latest(self, surface: Surface) -> Shot | None:
        shots = self.shots.get(surface) or self.spots.get(surface)
        return shots[-1] if shots else None

    def spot(self, surface: Surface) -> OnString | None:
        """The spot on a string that the surface is at; None where it is at a point, or the plan lost an end of it."""
        area = self.plan.areas.get(surface.area)
        if area is None or surface.point in area.index or surface.stage not in area.stages:
            return None
        return spot_named(self.plan, surface.area, surface.point) if surface not in self.shots else None

    def place(self, surface: Surface) -> Place | None:
        """Where the point lies on the plan, if the plan says."""
        area = self.plan.areas.get(surface.area)
        if area is not None and surface.point in area.index:
            return area.point(surface.point).at
        spot = self.spot(surface)
        return spot.place if spot is not None else None
