"""The state: what is known now, worked out from plan and facts when asked. Nothing here is stored or can go stale."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from itertools import chain, takewhile
from typing import TYPE_CHECKING

from gradecheck.catalogue import _
from gradecheck.checks.verdict import Verdict, judge
from gradecheck.journal.facts import BacksightTaken, Entry, InstrumentMoved, MarkGiven
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import ZERO, Elevation, FallXY, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.plan.targets import Target, target
from gradecheck.state.fold import Folded, GivenOtherwise, KeptSetup, Shot, Surface, first_and_last, shot_of
from gradecheck.survey.level_book import LAST, RecordedSetup
from gradecheck.survey.uncertainty import expanded

if TYPE_CHECKING:
    from gradecheck.joining.log import JoinedLog

__all__ = ["KeptSetup", "Shot", "State", "Surface", "first_and_last", "fold", "fold_joined", "shot_of"]

AT_ONCE = 1_000
"""Entries taken up between two words of how far it is."""
NEIGHBORS = 20
NEAREST = 3
"""Points nearest by that a reading is held against."""
"""Points read last, taken as what is likely at the next."""


def fold(plan: Plan, entries: Iterable[Entry], replacing: Iterable[Entry] | None = None) -> State:
    """The state after all entries. It never raises: what can't be worked out is missing, and listed.

    `replacing` are those among the entries that replace another; with them, the entries are read once and not kept.
    """
    state = State(plan)
    for first, last in first_and_last(entries, replacing):
        state.apply(first, last)
    return state


def fold_joined(
    plan: Plan,
    laptops: JoinedLog,
    spelt: Callable[[Entry], Entry],
    on_progress: Callable[[int], None] | None = None,
) -> State:
    """The state after all entries of several laptops that count; `spelt` writes their names as the plan does.

    `on_progress` hears of every so manyth entry.
    """
    state, counting = State(plan, laptops), laptops.counting()
    for done, place in enumerate(counting):
        if on_progress is not None and done and not done % AT_ONCE:
            on_progress(done)
        first = spelt(place.first)
        state.apply(first, first if place.last is place.first else spelt(place.last))
        if place.against:
            state.conflicting[place.first.id] = tuple(map(spelt, place.against))
    state.dispute(
        {
            place.first.id: (place.last.seq, *(each.seq for each in place.against))
            for place in counting
            if place.against
        }
    )
    for first, last in laptops.given_otherwise(counting):
        fact = spelt(last).fact
        if isinstance(fact, MarkGiven):
            given = GivenOtherwise(last.seq, first.seq if fact.moved else 0)
            state.given_otherwise.setdefault(fact.mark, []).append(given)
            state.book.version += 1
    return state


class State(Folded):
    """Everything that can be asked; asking changes nothing."""

    # -- the instrument

    def mark(self, name: str) -> Elevation | None:
        """The elevation of a mark as it is known now, or None where it is not known."""
        return self.book.elevation(name)

    @property
    def newest_setup(self) -> KeptSetup | None:
        """The last setup made, whether or not it may still be read from; None where it was struck."""
        return self.setups.get(self._newest_setup[1])

    @property
    def setup(self) -> KeptSetup | None:
        """The setup that may be read from now.

        None where the last one was struck (where the instrument was before it may have moved), where the
        instrument was moved since, and where a recheck found it disturbed.
        """
        newest = self.newest_setup
        if newest is None or newest.instrument is None or self.moved_since(newest.seq):
            return None
        return None if self.doubt.failed(newest.id, LAST) else newest

    def moved_since(self, seq: int) -> InstrumentMoved | None:
        """That the instrument was moved behind that place in the journal, if it was."""
        if max(self._moved, default=0) <= seq:
            return None
        return next(fact for at, fact in self._moved.items() if at > seq)

    def setup_at(self, place: int) -> KeptSetup | None:
        """The setup that could be read from behind that place in the journal, as far as was known by then.

        None where the last one was struck since, where the laser had been moved, and where a recheck had failed.
        """
        made = max((seq for seq in self._set_ups_made if seq <= place), default=0)
        if not made or any(made < seq <= place for seq in self._moved):
            return None
        setup = self.setups.get(self._set_ups_made[made][0])
        failed = self.doubt.failed(setup.id) if setup is not None else None
        return setup if failed is None or failed.seq > place else None

    def offset_at(self, place: int) -> Length | None:
        """The working offset that stood behind that place in the journal: so far above the targets, if any."""
        said = [seq for seq in self._offsets if seq <= place]
        return (self._offsets[max(said)] or None) if said else None

    @property
    def offset(self) -> Length | None:
        """The working offset that stands now, until it is taken off; None where none does."""
        return self.offset_at(LAST)

    def looked_by(self, setup: str, place: int) -> datetime | None:
        """When the setup had last been held against a mark by that place in the journal."""
        looks = self._looked.get(setup, {})
        return looks[max(seqs)] if (seqs := [seq for seq in looks if seq <= place]) else None

    def looked(self, setup: str) -> datetime | None:
        """When the setup was last held against a mark, by the clock it was recorded by."""
        looks = self._looked.get(setup)
        return looks[max(looks)] if looks else None

    def is_own(self, shot: Shot) -> bool:
        """Whether a reading is of this laptop's own laser."""
        return self.laptops is None or self.laptops.is_own(shot.seq)

    def who(self, seq: int, by: str) -> str:
        """Who recorded what stands at that place: ``RK, north crew`` where several laptops write, else ``RK``."""
        laptop = self.laptops.called(seq) if self.laptops is not None else ""
        return f"{by}, {laptop}" if laptop else by

    def readings_since_look(self, setup: str) -> int:
        """How many readings were taken from the setup since it was last held against a mark."""
        made = self.setups.get(setup)
        others = made is not None and self.laptops is not None and not self.laptops.is_own(made.seq)
        # Another laptop's is spoken of by its own rechecks.
        on_chain = made.seq if made is not None and others else LAST
        read, looked = self._read_from.get(setup, []), self.doubt.last_good(setup, LAST, on_chain)
        return sum(1 for _ in takewhile(lambda seq: seq > looked, reversed(read)))

    @property
    def sights(self) -> list[BacksightTaken]:
        """Backsights taken for a setup that does not stand yet, the last on each mark."""
        last = {fact.sight.mark: fact for fact in self.sights_by_place.values()}
        return list(last.values())

    @property
    def sights_by_place(self) -> dict[int, BacksightTaken]:
        """All backsights taken for a setup that does not stand yet, by their place in the journal."""
        begun = max([self._newest_setup[0], *self._moved])
        return {at: fact for at, fact in sorted(self._sights.items()) if at > begun}

    def setup_with(self, place: int) -> KeptSetup | None:
        """The setup, as it counts now, that the backsight taken at that place in the journal went into.

        The first that was made behind it, moved in between or struck since for none; and only where it took the
        figure as it counts, not one entered anew on the same mark.
        """
        if self.laptops is not None and not self.laptops.is_own(place):
            found = self.laptops.setup_with(place)
            return self.setups.get(found.id) if found is not None else None
        taken, made = self._sights.get(place), min((at for at in self._set_ups_made if at > place), default=0)
        if taken is None or not made or any(place < at < made for at in self._moved):
            return None
        setup, backsights = self._set_ups_made[made]
        return self.setups.get(setup) if taken.sight in backsights else None

    def setup_from(
        self, sights: Sequence[tuple[str, Length]], rod: str, slopes: FallXY | None = None
    ) -> RecordedSetup:
        """The setup those backsights would make, to see how well they agree before it stands."""
        return RecordedSetup(LAST, "", rod, tuple(sights), slopes)

    # -- datums

    @property
    def datum(self) -> str | None:
        """The datum that elevations are shown from; None, also while it is not tied, is the job's own zero."""
        if not self._datums:
            return None
        chosen = self._datums[max(self._datums)].datum
        return chosen if self.zero_of(chosen) is not None else None

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

    def is_planned(self, surface: Surface) -> bool:
        """Whether the plan has such a surface."""
        area = self.plan.areas.get(surface.area)
        return area is not None and surface.point in area.index and surface.stage in area.stages

    def target(self, surface: Surface) -> Target | None:
        """What the plan wants there, on a string what lies straight between; None where it has no such surface.

        Nor while the area's datum is not tied in yet.
        """
        area = self.plan.areas.get(surface.area)
        zero = self.zero_of(area.datum) if area is not None else None
        if area is None or zero is None:
            return None
        if self.is_planned(surface):
            return target(area, area.point(surface.point), surface.stage, zero)
        if (spot := self.spot(surface)) is None:
            return None
        first, last = (target(area, point, surface.stage, zero) for point in (spot.start, spot.end))
        wanted = spot.height(first.wanted, last.wanted)
        return Target(area.name, surface.point, surface.stage, wanted, first.tolerance)

    def what(self, surface: Surface) -> str:
        """What the plan says the point is; nothing of a spot on a string, whose name says where it is."""
        area = self.plan.areas.get(surface.area)
        return area.point(surface.point).what if area is not None and surface.point in area.index else ""

    def readings(self, surface: Surface) -> Sequence[Shot]:
        """Every reading there that counts, in order."""
        return self.shots.get(surface) or self.spots.get(surface) or ()

    def latest(self, surface: Surface) -> Shot | None:
        """The last reading there that counts."""
        return self._latest(surface)

    def found(self, shot: Shot, surface: Surface | None = None) -> Elevation | None:
        """The elevation of the ground that the shot stands for: under the rod, less the offset it was held at.

        None where its setup was struck or a sloped beam needs a place.
        """
        instrument = self.book.setup(shot.setup)
        found = instrument.elevation(shot.rod, self.place(surface) if surface else None) if instrument else None
        return found if found is None or shot.above is None else found.minus(shot.above)

    def verdict(self, surface: Surface) -> Verdict | None:
        """Today's judgment of the last reading there, or None where there is none to give.

        It is kept until another reading there counts, or the plan, a setup, a mark or a test changes.
        """
        shot = self.latest(surface)
        if shot is None:
            return None
        kept = self._verdicts.get(surface)
        if kept is None or kept[0] != shot or kept[1] != self.book.version or kept[2] is not self.plan:
            kept = self._verdicts[surface] = shot, self.book.version, self.plan, self.judge(shot, surface)
        return kept[3]

    def judge(self, shot: Shot, surface: Surface) -> Verdict | None:
        """Today's judgment of one shot, or None where there is none to give."""
        wanted, found = self.target(surface), self.found(shot, surface)
        if found is None or wanted is None:
            return None
        if self.is_example(surface, shot.setup):
            return Verdict(Word.EXAMPLE, found.above(wanted.wanted), wanted.tolerance)
        return judge(found, wanted.wanted, wanted.tolerance, self.guard(shot.setup, shot.rod, surface))

    def looks_on_grade(self, surface: Surface) -> list[tuple[Shot, Elevation]]:
        """Every reading there with what it found, in order; none where not all of them are on grade.

        The latest is judged first: where the ground is not as it should be yet, nothing else needs to be.
        """
        wanted, looks = self.target(surface), list[tuple[Shot, Elevation]]()
        for shot in reversed(self.shots.get(surface, []) if wanted is not None else []):
            found = self.found(shot, surface)
            if wanted is None or found is None or self.is_example(surface, shot.setup):
                return []
            guard = self.guard(shot.setup, shot.rod, surface)
            if judge(found, wanted.wanted, wanted.tolerance, guard).word is not Word.ON_GRADE:
                return []
            looks.append((shot, found))
        return looks[::-1]

    def is_example(self, surface: Surface, setup: str = "") -> bool:
        """Whether the target there, or the setup it is seen from, comes from figures left as examples."""
        area = self.plan.areas.get(surface.area)
        return (area is not None and bool(area.examples)) or bool(self.book.examples_under(setup))

    def examples(self, surface: Surface, setup: str = "") -> tuple[int, ...]:
        """The lines of the job file with the examples that the target there and the setup come from."""
        area = self.plan.areas.get(surface.area)
        of_marks = (self.plan.example_marks[each] for each in self.book.examples_under(setup))
        return tuple(sorted({*(area.examples if area else ()), *chain.from_iterable(of_marks)}))

    def why_not_judged(self, shot: Shot, surface: Surface) -> str:
        """Why there is no judgment of a shot, in a few words; empty where there is one."""
        if not self.is_planned(surface) and self.spot(surface) is None:
            return _("not in the plan now")
        if self.found(shot, surface) is None:
            return self.why_no_height(shot.setup)
        if self.is_example(surface, shot.setup):
            lines = [str(line) for line in self.examples(surface, shot.setup)]
            return _("example figures, job file, line {lines}", lines=some(lines))
        return _("its zero is not tied") if self.target(surface) is None else ""

    def why_no_height(self, setup: str) -> str:
        """Why a setup gives no height of instrument, or not where that is asked for."""
        recorded = self.setups.get(setup)
        if recorded is None:
            return _("setup was struck")
        if recorded.fact.rod not in self.plan.rods:
            return _("{rod} is not in the plan now", rod=recorded.fact.rod)
        marks = (sight.mark for sight in recorded.fact.backsights)
        unknown = next((mark for mark in marks if self.book.elevation(mark, recorded.seq) is None), None)
        if unknown is not None:
            return _("{unknown} is not known now", unknown=unknown)
        return _("sloped beam, place not known") if recorded.fact.slopes else _("setup gives no height")

    def guard(self, setup: str, rod: Length, surface: Surface) -> Length:
        """What a guarded decision keeps clear of the limits; nothing where the plan decides plainly."""
        if not self.plan.guarded:
            return ZERO
        return self.uncertainty(setup, rod, surface) or ZERO

    def uncertainty(self, setup: str, rod: Length, surface: Surface) -> Length | None:
        """U (k = 2) of an elevation seen from a setup, None where the plan does not say what the instrument is."""
        variance = self.carried.variance(setup, rod, self.place(surface))
        return expanded(variance**0.5) if variance is not None else None

    def beside(self, surface: Surface) -> tuple[list[Length], list[Length]]:
        """What was found around a surface: in its area lately, the newest last, and at the points nearest by.

        A point that was read before is held against its own last reading and the last ones of the others. One that
        was not may be ground that nobody dug yet: what its neighbors were when they were read first counts too.
        """
        area, stage = surface.area, surface.stage
        own = self.readings(surface)
        read = [Surface(area, point, stage) for _, point in self._order.get((area, stage), [])[-NEIGHBORS:]]
        found = sorted(
            (shot.place, other, verdict.difference)
            for other in read
            if other != surface
            for shot in (self.shots[other][-1:] if own else _first_and_last(self.shots[other]))
            if (verdict := self.judge(shot, other)) is not None and verdict.word is not Word.EXAMPLE
        )
        mine = self.verdict(surface) if own else None
        last = [mine.difference] if mine is not None and mine.word is not Word.EXAMPLE else []
        # The first found of each: its last reading where the point itself was read, else how it was at first.
        ground = {other: off for _, other, off in reversed(found)}
        nearest = self._nearest(surface, ground)
        return [*(off for _, _, off in found), *last], [*(ground[other] for other in nearest), *last]

    def _nearest(self, surface: Surface, others: Collection[Surface]) -> list[Surface]:
        """Those of the others that lie nearest: on the plan where it says where all lie, else along the route."""
        route, here, spot = self.plan.areas[surface.area].index, self.place(surface), self.spot(surface)
        at = route[spot.start.name if spot is not None else surface.point]
        places = {other: self.place(other) for other in others}

        def far(other: Surface) -> float:
            there = places[other]
            if here is None or there is None:
                return abs(route[other.point] - at)
            return float((there[0] - here[0]).metres) ** 2 + float((there[1] - here[1]).metres) ** 2

        if None in places.values():
            here = None
        return sorted(others, key=far)[:NEAREST]

    def in_doubt(self, shot: Shot) -> bool:
        """Whether the shot may be wrong because its setup was, and nobody has answered for it."""
        if shot.id in self.conflicting:
            return True
        if self.doubt.is_trusted(shot.id, shot.setup, shot.place, shot.seq):
            return False
        return self.doubt.in_doubt(shot.setup, shot.place, shot.seq)

    @property
    def may_doubt(self) -> bool:
        """Whether anything can be in doubt: nothing is where no recheck failed and no two laptops disagree."""
        return bool(self.doubt.disturbed or self.conflicting or self.given_otherwise)

    def doubts(self) -> list[tuple[Surface, Shot]]:
        """The surfaces whose last reading is in doubt, in the order they were read."""
        if not self.may_doubt:
            return []
        last = ((surface, shots[-1]) for surface, shots in chain(self.shots.items(), self.spots.items()))
        return sorted(
            ((surface, shot) for surface, shot in last if self.in_doubt(shot)), key=lambda each: each[1].seq
        )

    def checked(self, area: str, stage: str) -> int:
        """How many points of the area have a reading that counts at that stage."""
        return self._checked.get((area, stage), 0)

    def next_unchecked(self, area: str, stage: str, after: int) -> int | None:
        """Where along the route the next point without a trusted reading stands, from `after` round to it again."""
        points = self.plan.areas[area].points
        doubtful = {surface for surface, _ in self.doubts()} if self.may_doubt else set[Surface]()
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
                says.append(
                    _(
                        "{point} {stage} was read but is no longer in the plan.",
                        point=surface.point,
                        stage=surface.stage,
                    )
                )
            elif self.found(shots[-1], surface) is None:
                says.append(
                    _(
                        "{point} {stage} has no height of instrument; read it again.",
                        point=surface.point,
                        stage=surface.stage,
                    )
                )
        return says


def _first_and_last(shots: Sequence[Shot]) -> Sequence[Shot]:
    """How the ground was before it was dug there, and how it is."""
    return shots if len(shots) < 2 else (shots[0], shots[-1])
