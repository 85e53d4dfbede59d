"""The level book: every setup, mark and recheck of the job, and the elevations that follow from them.

What was read is kept; elevations are worked out when asked for, each mark as it was known at the time it was
leaned on, so that a corrected backsight moves everything after it and nothing before.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Generic, TypeVar

from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO, Elevation, FallXY, Length
from gradecheck.plan.model import Plan, Rod
from gradecheck.survey.setup import Agreement, Beam, Setup, Sight, agreement, setup_on, zero_from

T = TypeVar("T")

LAST = 1 << 62
"""A place behind every entry."""


@dataclass(frozen=True, slots=True)
class RecordedSetup:
    """A setup as it was made: the rod, and what it read on which marks."""

    seq: int
    id: str
    rod: str
    sights: tuple[tuple[str, Length], ...]
    slopes: FallXY | None = None
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class GivenMark:
    """A mark whose elevation is given, from that place in the journal on; 0 is the time before the first entry."""

    seq: int
    id: str
    elevation: Elevation
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class SightedMark:
    """A mark whose elevation is carried: what the `rod` read on it from a setup, from that place in the journal on.

    `seen` is the place of the sight where it is another than that of the mark, which may be made of an earlier
    reading.
    """

    seq: int
    id: str
    setup: str
    rod: Length
    at: Place | None = None
    seen: int | None = None

    @property
    def seen_at(self) -> int:
        """The place in the journal of the sight that carried it."""
        return self.seq if self.seen is None else self.seen


MarkSource = GivenMark | SightedMark
"""Where a mark's elevation comes from."""


@dataclass(frozen=True, slots=True, order=True)
class Recheck:
    """A mark read again from the same setup, to see whether the laser still stands as it did."""

    seq: int
    id: str = field(compare=False)
    setup: str = field(compare=False)
    mark: str = field(compare=False)
    rod: Length = field(compare=False)


@dataclass(frozen=True, slots=True)
class Carry:
    """One step of carrying an elevation: from `base`, a backsight there, to `end`, a foresight there."""

    setup: str
    base: str
    backsight: Length
    end: str
    foresight: Length
    direct: bool
    fall: Length = ZERO
    """How far a sloped beam lies lower at the end than at the base."""

    @property
    def rise(self) -> Length:
        """How far the end lies above the base."""
        level = self.foresight - self.backsight if self.direct else self.backsight - self.foresight
        return level - self.fall


class InTurn(Generic[T]):
    """Something worked out for setups, each once, the earlier ones first, until the book changes.

    A setup may lean on earlier ones. So a zero carried through a thousand setups costs a thousand steps once, and
    no deep recursion.
    """

    def __init__(self, book: LevelBook, find: Callable[[RecordedSetup], T | None]) -> None:
        self._book = book
        self._find = find
        self._known: dict[str, T | None] = {}
        self._version = -1
        self._done = 0
        """How many of the book's setups, in order, are known."""

    def __call__(self, setup: str) -> T | None:
        """What is found for that setup, None where there is no such setup."""
        if self._version != self._book.version:
            self._known.clear()
            self._version, self._done = self._book.version, 0
        if setup not in self._known and (wanted := self._book.recorded(setup)) is not None:
            order = self._book.setups()
            while self._done < len(order) and order[self._done].seq <= wanted.seq:
                recorded = order[self._done]
                self._done += 1
                self._known[recorded.id] = self._find(recorded)
        return self._known.get(setup)

    def start_as(self, other: InTurn[T]) -> None:
        """Starts from what another knows, whose book is the same so far."""
        self._known, self._version, self._done = dict(other._known), other._version, other._done


class LevelBook:
    """What the instrument did. Asking changes nothing; the `put` and `take` methods take one fact each."""

    def __init__(
        self,
        plan: Plan,
        knew: Callable[[int, int], bool] | None = None,
        earlier: Callable[[str], str | None] | None = None,
    ) -> None:
        """`knew` says, where several laptops write, whether who wrote at one place knew what stands at another.

        `earlier` names the mark that one stands for again where it is struck, if it does not bear its name.
        """
        self._plan = plan
        self._knew = knew
        self._earlier = earlier
        self._setups: dict[str, RecordedSetup] = {}
        self._marks: dict[str, list[MarkSource]] = {}
        self._rechecks: dict[str, list[Recheck]] = {}
        self.version = 0
        """Goes up with every change, so that what was worked out from the book can be known to be old."""
        self._in_order: tuple[int, list[RecordedSetup]] = -1, []
        self._computed = InTurn(self, self._setup_of)
        self._examples = InTurn(self, self._examples_of)

    def copied(self) -> LevelBook:
        """A copy that takes further facts while this one stays as it is."""
        copied = LevelBook(self._plan, self._knew, self._earlier)
        copied._setups = dict(self._setups)
        copied._marks = {name: sources[:] for name, sources in self._marks.items()}
        copied._rechecks = {setup: rechecks[:] for setup, rechecks in self._rechecks.items()}
        copied.version = self.version
        copied._computed.start_as(self._computed)
        copied._examples.start_as(self._examples)
        return copied

    # -- one fact in, one fact out

    def add_setup(self, setup: RecordedSetup) -> None:
        """Adds a setup."""
        self._setups[setup.id] = setup
        self.version += 1

    def remove_setup(self, setup: str) -> None:
        """Removes a setup; what was seen from it has no elevation."""
        self._setups.pop(setup, None)
        self.version += 1

    def add_mark(self, name: str, source: MarkSource) -> None:
        """Adds a mark, known from that place of the log on; `seq` 0 is before the first entry."""
        insort(self._marks.setdefault(name, []), source, key=_seq)
        self.version += 1

    def remove_mark(self, name: str, entry: str) -> None:
        """Removes what that entry said of the mark."""
        self._marks[name] = [source for source in self._marks.get(name, []) if source.id != entry]
        self.version += 1

    def add_recheck(self, recheck: Recheck) -> None:
        """Adds a recheck."""
        insort(self._rechecks.setdefault(recheck.setup, []), recheck)
        self.version += 1

    def remove_recheck(self, setup: str, entry: str) -> None:
        """Removes a recheck."""
        self._rechecks[setup] = [recheck for recheck in self._rechecks.get(setup, []) if recheck.id != entry]
        self.version += 1

    # -- marks and rechecks

    def rechecks(self, setup: str) -> list[Recheck]:
        """The rechecks from a setup, in order."""
        return self._rechecks.get(setup, [])

    def rechecked_from(self) -> list[str]:
        """The setups from which a mark was rechecked."""
        return list(self._rechecks)

    def marks(self, before: int = LAST) -> list[str]:
        """The names of all marks known before that place: the plan's first, then those made on site."""
        made = [name for name in self._marks if name not in self._plan.benchmarks]
        return [*self._plan.benchmarks, *(name for name in made if self._source(name, before) is not None)]

    def source(self, name: str, before: int = LAST) -> MarkSource | None:
        """What the mark's elevation comes from, as it was known before that place in the journal."""
        found = self._source(name, before)
        while found is None and self._earlier is not None and (earlier := self._earlier(name)) is not None:
            name = earlier
            found = self._source(name, before)
        return found

    def _source(self, name: str, before: int) -> MarkSource | None:
        """As `source`, for that name alone."""
        sources = self._marks.get(name, [])
        for source in reversed(sources[: bisect_left(sources, before, key=_seq)]):
            if self._knew is not None and not self._knew(before, source.seq):
                continue
            setup = self._setups.get(source.setup) if isinstance(source, SightedMark) else None
            # Whatever a damaged or foreign journal says: nothing is known before the setup it was seen from.
            if setup is None or setup.seq < source.seq:
                return source
        benchmark = self._plan.benchmarks.get(name)
        return GivenMark(0, "", benchmark.elevation, benchmark.at) if benchmark else None

    def elevation(self, mark: str, before: int = LAST) -> Elevation | None:
        """The mark's elevation as it was known before that place in the journal, None where it is not known."""
        source = self.source(mark, before)
        if not isinstance(source, SightedMark):
            return source.elevation if source is not None else None
        setup = self.setup(source.setup)
        return setup.elevation(source.rod, source.at) if setup else None

    def place(self, mark: str, before: int = LAST) -> Place | None:
        """Where the mark lies on the plan, if that is known."""
        source = self.source(mark, before)
        if source is not None and source.at is not None:
            return source.at
        benchmark = self._plan.benchmarks.get(mark)
        return benchmark.at if benchmark else None

    def chain(self, mark: str, before: int = LAST) -> list[Carry]:
        """How the elevation was carried from a given one to the mark; of several backsights the first is followed.

        Empty for a mark whose elevation is given, and where it is not known.
        """
        steps: list[Carry] = []
        here, source = mark, self.source(mark, before)
        while isinstance(source, SightedMark):
            setup = self._setups.get(source.setup)
            if setup is None:
                return []
            base, backsight = setup.sights[0]
            direct = self.rod(setup.rod).kind == "direct"
            fall = self._fall(setup, source.at) or ZERO
            steps.append(Carry(setup.id, base, backsight, here, source.rod, direct, fall))
            here, source = base, self.source(base, setup.seq)
        return steps[::-1] if source is not None else []

    def is_given(self, mark: str, before: int = LAST) -> bool:
        """Whether the mark's elevation is given and not carried."""
        return isinstance(self.source(mark, before), GivenMark)

    def sights(self, setup: str) -> list[Carry]:
        """Every sight on a mark from that setup but the first backsight, each carried from there, in order.

        A recheck of the mark of the first backsight is none of them; that mark taken anew is, being another spot.
        """
        recorded = self._setups.get(setup)
        if recorded is None:
            return []
        base, backsight = recorded.sights[0]
        seen = [
            (source.seq, name, source.rod, source.at)
            for name, sources in self._marks.items()
            for source in sources
            if isinstance(source, SightedMark) and source.setup == setup
        ]
        known = [(recorded.seq, mark, rod, self.place(mark, recorded.seq)) for mark, rod in recorded.sights[1:]]
        known += [
            (recheck.seq, recheck.mark, recheck.rod, self.place(recheck.mark, recheck.seq))
            for recheck in self.rechecks(setup)
        ]
        seen += [each for each in known if each[1] != base]
        direct = self.rod(recorded.rod).kind == "direct"
        return [
            Carry(setup, base, backsight, name, rod, direct, fall)
            for _, name, rod, at in sorted(seen, key=lambda each: each[0])
            if (fall := self._fall(recorded, at)) is not None
        ]

    def sight_of(self, recheck: Recheck) -> Carry | None:
        """The sight of a recheck, carried from the first backsight; None where its setup or a place is not known."""
        setup = self._setups.get(recheck.setup)
        fall = self._fall(setup, self.place(recheck.mark, recheck.seq)) if setup is not None else None
        if setup is None or fall is None:
            return None
        base, backsight = setup.sights[0]
        direct = self.rod(setup.rod).kind == "direct"
        return Carry(recheck.setup, base, backsight, recheck.mark, recheck.rod, direct, fall)

    def _fall(self, setup: RecordedSetup, at: Place | None) -> Length | None:
        """How far the beam lies lower there than at the first backsight, None where a sloped one needs a place."""
        if setup.slopes is None:
            return ZERO
        base = self.place(setup.sights[0][0], setup.seq)
        return None if base is None or at is None else Beam(*setup.slopes, base).drop(at)

    def distance(self, one: str, other: str) -> Length | None:
        """How far two marks lie apart on the plan, where it says."""
        return distance_between(self.place(one), self.place(other)) or None

    def setups(self) -> list[RecordedSetup]:
        """The setups that count, in order."""
        version, order = self._in_order
        if version != self.version:
            order = sorted(self._setups.values(), key=lambda each: each.seq)
            self._in_order = self.version, order
        return order

    # -- setups

    def recorded(self, setup: str) -> RecordedSetup | None:
        """The setup as it was made."""
        return self._setups.get(setup)

    def setup(self, setup: str) -> Setup | None:
        """The instrument at that setup, None where it was struck or a mark it leaned on is not known."""
        return self._computed(setup)

    def _setup_of(self, setup: RecordedSetup) -> Setup | None:
        rod = self._plan.rods.get(setup.rod)
        sights = self._sights(setup)
        if rod is None or sights is None:
            return None
        if setup.slopes is not None and any(sight.at is None for sight in sights):
            return None
        return setup_on(rod, sights, setup.slopes)

    def examples_under(self, setup: str) -> frozenset[str]:
        """The benchmarks and rods with example figures that the setup leans on, also through turning points."""
        return (self._examples(setup) or frozenset()) if self._plan.example_marks else frozenset()

    def _examples_of(self, setup: RecordedSetup) -> frozenset[str]:
        found = {f"rod {setup.rod}"} & self._plan.example_marks.keys()
        for mark, _ in setup.sights:
            source = self.source(mark, setup.seq)
            if source is None:
                continue
            if isinstance(source, SightedMark):
                found |= self.examples_under(source.setup)
            elif not source.id and mark in self._plan.example_marks:  # given by the plan, and not corrected since
                found.add(mark)
        return frozenset(found)

    def _sights(self, setup: RecordedSetup) -> list[Sight] | None:
        sights = []
        for mark, reading in setup.sights:
            elevation = self.elevation(mark, setup.seq)
            if elevation is None:
                return None
            sights.append(Sight(mark, elevation, reading, self.place(mark, setup.seq)))
        return sights

    def agreement(self, setup: RecordedSetup) -> Agreement | None:
        """How well the backsights of a setup agree, made already or still being made."""
        rod, sights = self._plan.rods.get(setup.rod), self._sights(setup)
        if rod is None or not sights:
            return None
        return agreement([(sight.mark, zero_from(rod, sight, setup.slopes, sights[0].at)) for sight in sights])

    def rod(self, name: str) -> Rod:
        """The rod of that name, the plan's first where it has none such."""
        rods: Mapping[str, Rod] = self._plan.rods
        return rods.get(name, self._plan.rod)


def _seq(source: MarkSource) -> int:
    return source.seq


def distance_between(one: Place | None, other: Place | None) -> Length | None:
    """How far two places lie apart on the plan; None where one is not known."""
    if one is None or other is None:
        return None
    x, y = (one[0] - other[0]).metres, (one[1] - other[1]).metres
    return Length(Fraction(float(x * x + y * y) ** 0.5))
