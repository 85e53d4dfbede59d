"""The level book: every set-up, mark and recheck of the job, and the elevations and doubts that follow from them.

What was read is kept; elevations are worked out when asked for, each mark as it was known at the time it was
leaned on, so that a corrected backsight moves everything after it and nothing before.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TypeVar

from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope
from gradecheck.plan.model import Instrument, Plan, Rod
from gradecheck.survey.setup import Agreement, Place, SetUp, Sight, agreement, stand_on, zero_from
from gradecheck.survey.uncertainty import sight_budget

T = TypeVar("T")

_LAST = 1 << 62
"""A place behind every entry."""


@dataclass(frozen=True, slots=True)
class StoodAt:
    """A set-up as it was made: the rod, and what it read on which marks."""

    seq: int
    id: str
    rod: str
    sights: tuple[tuple[str, Length], ...]
    slopes: tuple[Slope, Slope] | None = None
    place: Place | None = None


@dataclass(frozen=True, slots=True, order=True)
class MarkFrom:
    """Where a mark's elevation comes from, from that place in the journal on.

    Either `given`, or seen from a set-up: `setup` and the `rod` figure there.
    """

    seq: int
    id: str = field(compare=False)
    given: Elevation | None = field(default=None, compare=False)
    setup: str = field(default="", compare=False)
    rod: Length | None = field(default=None, compare=False)
    at: Place | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, order=True)
class Look:
    """A recheck: another look at a mark from the same set-up."""

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

    @property
    def rise(self) -> Length:
        """How far the end lies above the base."""
        return self.foresight - self.backsight if self.direct else self.backsight - self.foresight


class LevelBook:
    """What the instrument did. Asking changes nothing; the `put` and `take` methods take one fact each."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._setups: dict[str, StoodAt] = {}
        self._marks: dict[str, list[MarkFrom]] = {}
        self._looks: dict[str, list[Look]] = {}
        self._slope_error: list[tuple[int, Fraction]] = []
        self._stood: dict[str, SetUp | None] = {}
        self._variances: dict[str, float | None] = {}
        self._doubts: dict[str, bool | None] = {}
        self._failed: dict[str, Look | None] = {}

    # -- one fact in, one fact out

    def put_set_up(self, stood: StoodAt) -> None:
        """A set-up counts."""
        self._setups[stood.id] = stood
        self._forget()

    def take_set_up(self, setup: str) -> None:
        """A set-up counts no more; what was seen from it has no elevation."""
        self._setups.pop(setup, None)
        self._forget()

    def put_mark(self, name: str, source: MarkFrom) -> None:
        """A mark is known from there on; `seq` 0 stands for the time before the first entry."""
        insort(self._marks.setdefault(name, []), source)
        self._forget()

    def take_mark(self, name: str, entry: str) -> None:
        """What that entry said of the mark counts no more."""
        self._marks[name] = [source for source in self._marks.get(name, []) if source.id != entry]
        self._forget()

    def put_look(self, look: Look) -> None:
        """A recheck counts."""
        insort(self._looks.setdefault(look.setup, []), look)
        self._forget()

    def take_look(self, setup: str, entry: str) -> None:
        """A recheck counts no more."""
        self._looks[setup] = [look for look in self._looks.get(setup, []) if look.id != entry]
        self._forget()

    def put_slope_error(self, seq: int, error: Fraction) -> None:
        """An instrument test found this slope error."""
        insort(self._slope_error, (seq, error))
        self._forget()

    def take_slope_error(self, seq: int) -> None:
        """That test counts no more."""
        self._slope_error = [each for each in self._slope_error if each[0] != seq]
        self._forget()

    def _in_turn(self, known: dict[str, T | None], setup: str, find: Callable[[StoodAt], T | None]) -> T | None:
        """What `find` says of a set-up; earlier ones, on which it may lean, are found first and kept.

        So a zero carried through a thousand set-ups costs a thousand steps once, and no deep recursion.
        """
        if setup not in known and (wanted := self._setups.get(setup)) is not None:
            for stood in self.set_ups():
                if stood.seq <= wanted.seq and stood.id not in known:
                    known[stood.id] = find(stood)
        return known.get(setup)

    def _forget(self) -> None:
        self._failed.clear()
        self._stood.clear()
        self._variances.clear()
        self._doubts.clear()

    # -- marks

    def marks(self, before: int = _LAST) -> list[str]:
        """The names of all marks known before that place: the plan's first, then those made on site."""
        made = [name for name in self._marks if name not in self._plan.benchmarks]
        return [*self._plan.benchmarks, *(name for name in made if self._source(name, before) is not None)]

    def _source(self, name: str, before: int) -> MarkFrom | None:
        sources = self._marks.get(name, [])
        for source in reversed(sources[: bisect_left(sources, MarkFrom(before, ""))]):
            stood = self._setups.get(source.setup)
            # Whatever a damaged or foreign journal says: nothing is known before the set-up it was seen from.
            if stood is None or stood.seq < source.seq:
                return source
        benchmark = self._plan.benchmarks.get(name)
        return MarkFrom(0, "", given=benchmark.elevation, at=benchmark.at) if benchmark else None

    def elevation(self, mark: str, before: int = _LAST) -> Elevation | None:
        """The mark's elevation as it was known before that place in the journal, None where it is not known."""
        source = self._source(mark, before)
        if source is None:
            return None
        if source.rod is None:
            return source.given
        setup = self.set_up(source.setup)
        return setup.elevation(source.rod, source.at) if setup else None

    def place(self, mark: str, before: int = _LAST) -> Place | None:
        """Where the mark lies on the plan, if that is known."""
        source = self._source(mark, before)
        if source is not None and source.at is not None:
            return source.at
        benchmark = self._plan.benchmarks.get(mark)
        return benchmark.at if benchmark else None

    def chain(self, mark: str, before: int = _LAST) -> list[Carry]:
        """How the elevation was carried from a given one to the mark; of several backsights the first is followed.

        Empty for a mark whose elevation is given, and where it is not known.
        """
        steps: list[Carry] = []
        here, source = mark, self._source(mark, before)
        while source is not None and source.rod is not None:
            stood = self._setups.get(source.setup)
            if stood is None:
                return []
            base, backsight = stood.sights[0]
            steps.append(Carry(stood.id, base, backsight, here, source.rod, self._rod(stood.rod).kind == "direct"))
            here, source = base, self._source(base, stood.seq)
        return steps[::-1] if source is not None else []

    def is_given(self, mark: str, before: int = _LAST) -> bool:
        """Whether the mark's elevation is given and not carried."""
        source = self._source(mark, before)
        return source is not None and source.rod is None

    def sights(self, setup: str) -> list[Carry]:
        """Every sight on a mark from that set-up but the first backsight, each carried from there, in order."""
        stood = self._setups.get(setup)
        if stood is None:
            return []
        base, backsight = stood.sights[0]
        made = [
            (source.seq, name, source.rod)
            for name, sources in self._marks.items()
            for source in sources
            if source.setup == setup and source.rod is not None
        ]
        looked = [(look.seq, look.mark, look.rod) for look in self.looks(setup)]
        seen = [*stood.sights[1:], *((name, rod) for _, name, rod in sorted(made + looked, key=lambda each: each[0]))]
        direct = self._rod(stood.rod).kind == "direct"
        return [Carry(setup, base, backsight, name, rod, direct) for name, rod in seen if name != base]

    def distance(self, one: str, other: str) -> Length | None:
        """How far two marks lie apart on the plan, where it says."""
        return _distance(self.place(one), self.place(other)) or None

    def set_ups(self) -> list[StoodAt]:
        """The set-ups that count, in order."""
        return sorted(self._setups.values(), key=lambda each: each.seq)

    # -- set-ups

    def stood(self, setup: str) -> StoodAt | None:
        """The set-up as it was made."""
        return self._setups.get(setup)

    def set_up(self, setup: str) -> SetUp | None:
        """The instrument at that set-up, None where it was struck or a mark it leaned on is not known."""
        return self._in_turn(self._stood, setup, self._stand)

    def _stand(self, stood: StoodAt) -> SetUp | None:
        rod = self._plan.rods.get(stood.rod)
        sights = self._sights(stood)
        if rod is None or sights is None:
            return None
        if stood.slopes is not None and any(sight.at is None for sight in sights):
            return None
        return stand_on(rod, sights, stood.slopes)

    def _sights(self, stood: StoodAt) -> list[Sight] | None:
        sights = []
        for mark, reading in stood.sights:
            elevation = self.elevation(mark, stood.seq)
            if elevation is None:
                return None
            sights.append(Sight(mark, elevation, reading, self.place(mark, stood.seq)))
        return sights

    def agreement(self, stood: StoodAt) -> Agreement | None:
        """How well the backsights of a set-up agree, made already or still being made."""
        rod, sights = self._plan.rods.get(stood.rod), self._sights(stood)
        if rod is None or not sights:
            return None
        return agreement([(sight.mark, zero_from(rod, sight, stood.slopes, sights[0].at)) for sight in sights])

    # -- rechecks and doubt

    def looks(self, setup: str) -> list[Look]:
        """The rechecks from a set-up, in order."""
        return self._looks.get(setup, [])

    def misclosure(self, look: Look) -> Length | None:
        """What the mark is off by: elevation seen now less the elevation it is known to have."""
        setup, known = self.set_up(look.setup), self.elevation(look.mark, look.seq)
        seen = setup.elevation(look.rod, self.place(look.mark, look.seq)) if setup else None
        return seen.above(known) if seen is not None and known is not None else None

    def is_good(self, look: Look) -> bool:
        """Whether the mark was found where it should be, within what the plan allows."""
        off = self.misclosure(look)
        return off is not None and abs(off) <= self._plan.rechecks.allowed

    def failed(self, setup: str) -> Look | None:
        """The recheck that showed the set-up was disturbed, if one did."""
        if setup not in self._failed:
            self._failed[setup] = next((look for look in self.looks(setup) if not self.is_good(look)), None)
        return self._failed[setup]

    @property
    def disturbed(self) -> list[str]:
        """The set-ups that a recheck found disturbed."""
        return [setup for setup in self._looks if self.failed(setup)]

    def last_good(self, setup: str, before: int) -> int:
        """The place of the last time the set-up was known to be sound: its backsights, or a good recheck."""
        stood = self._setups.get(setup)
        good = [look.seq for look in self.looks(setup) if look.seq < before and self.is_good(look)]
        return max(good, default=stood.seq if stood else 0)

    def in_doubt(self, setup: str, seq: int) -> bool:
        """Whether a sight taken from that set-up at that place in the journal may be wrong.

        It may where the set-up was found disturbed and the sight lies behind the last good look, and where a
        mark that the set-up leans on was itself carried by such a sight.
        """
        failed = self.failed(setup)
        if failed is not None and self.last_good(setup, failed.seq) < seq:
            return True
        return self._leans_on_doubt(setup)

    def _leans_on_doubt(self, setup: str) -> bool:
        leans = self._in_turn(
            self._doubts, setup, lambda stood: any(self.mark_in_doubt(mark, stood.seq) for mark, _ in stood.sights)
        )
        return bool(leans)

    def mark_in_doubt(self, mark: str, before: int = _LAST) -> bool:
        """Whether the mark was carried by a sight that is in doubt."""
        source = self._source(mark, before)
        return source is not None and source.rod is not None and self.in_doubt(source.setup, source.seq)

    # -- uncertainty

    @property
    def slope_error(self) -> Fraction | None:
        """The slope error the last instrument test found."""
        return self._slope_error[-1][1] if self._slope_error else None

    def variance(self, setup: str, rod: Length, at: Place | None) -> float | None:
        """Of an elevation seen from a set-up: the square of its standard uncertainty, in square metres."""
        carried, stood = self._carried(setup), self._setups.get(setup)
        instrument = self._plan.instrument
        if carried is None or stood is None or instrument is None:
            return None
        return carried + self._sight_variance(instrument, stood, rod, at)

    def mark_variance(self, mark: str, before: int = _LAST) -> float | None:
        """Of a mark's elevation; given elevations are exact."""
        source = self._source(mark, before)
        if source is None:
            return None
        return 0.0 if source.rod is None else self.variance(source.setup, source.rod, source.at)

    def _carried(self, setup: str) -> float | None:
        """What the set-up brings along: of the mean of its zeros, marks and backsights together."""
        return self._in_turn(self._variances, setup, self._mean_variance)

    def _mean_variance(self, stood: StoodAt) -> float | None:
        instrument = self._plan.instrument
        if instrument is None:
            return None
        total = 0.0
        for mark, reading in stood.sights:
            of_mark = self.mark_variance(mark, stood.seq)
            if of_mark is None:
                return None
            total += of_mark + self._sight_variance(instrument, stood, reading, self.place(mark, stood.seq))
        return total / len(stood.sights) ** 2

    def usual_sight(self) -> float | None:
        """The standard uncertainty, in metres, of a sight of the plan's longest shot."""
        instrument = self._plan.instrument
        if instrument is None:
            return None
        return sight_budget(instrument, self._plan.rod, ZERO, None, self.slope_error).total

    def carried(self, stood: StoodAt) -> float | None:
        """The variance a set-up would carry, made already or still being made."""
        return self._mean_variance(stood)

    def _sight_variance(self, instrument: Instrument, stood: StoodAt, rod: Length, at: Place | None) -> float:
        distance = _distance(stood.place, at)
        return sight_budget(instrument, self._rod(stood.rod), rod, distance, self.slope_error).total ** 2

    def _rod(self, name: str) -> Rod:
        rods: Mapping[str, Rod] = self._plan.rods
        return rods.get(name, self._plan.rod)


def _distance(one: Place | None, other: Place | None) -> Length | None:
    if one is None or other is None:
        return None
    x, y = (one[0] - other[0]).metres, (one[1] - other[1]).metres
    return Length(Fraction(float(x * x + y * y) ** 0.5))
