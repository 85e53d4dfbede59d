"""The verbs: what a person did, as drafts for the journal. They raise Refusal and change nothing.

What few days need is imported when it is asked for: the first picture waits for every module that is not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Literal

from gradecheck import __version__
from gradecheck.ground.spots import Place
from gradecheck.intake import Refusal, instrument, readings, words
from gradecheck.intake.shared import said
from gradecheck.journal.facts import BacksightTaken, Draft, Entry, Fact, PlanRevised, Rehearsed, Void
from gradecheck.journal.stamps import behind, by_clock, day_of, on_site
from gradecheck.journal.store import Journal
from gradecheck.measure.quantities import FallXY
from gradecheck.session.clock_watch import HONEST
from gradecheck.state.state import State, Surface

ANOTHER_DAY = "The setup is from another day; recheck a mark or set up again."
SINCE_UNKNOWN = (
    "This machine's clock can't tell how long ago the setup was; recheck a mark or set up again, then set the clock."
)


class NobodyError(Refusal):
    """Nobody has said who is checking; how that is done depends on where it is asked."""


class Drafts:
    """Makes drafts in the light of the state: who, when, from which window, under which plan."""

    def __init__(
        self,
        *,
        journal: Journal,
        state: State,
        by: str,
        laptop: str,
        digest: str,
        clock: Callable[[], datetime],
        ids: Callable[[], str],
    ) -> None:
        self.journal = journal
        self.state = state
        self.by = by
        self.laptop = laptop
        self.digest = digest
        self.clock = clock
        self.ids = ids
        self.window = ids()
        self._before: Entry | None = None
        """The last entry known here, which lends its time where the clock can't be believed."""

    def identify(self, initials: str) -> None:
        """Says who does what follows."""
        self.by = words.initials(initials)

    def cautions(self, cautions: Sequence[str]) -> Draft:
        """That the cautions were read."""
        return self._draft(words.cautions_read(cautions), "")

    def moved(self, why: str) -> Draft:
        """That the instrument no longer stands where it stood."""
        return self._draft(instrument.moved(self.state, why), why)

    def backsight(self, mark: str, typed: str, rod: str | None = None, slopes: FallXY | None = None) -> list[Draft]:
        """That the rod reads this on a mark while setting up; the old setup, if one stood, stands no more."""
        taken = self._draft(instrument.backsight_taken(self.state, mark, typed, rod, slopes), f"{mark}={typed}")
        newest = self.state.newest_setup
        if newest is None or self.state.moved_since(newest.seq):
            return [taken]
        return [self.moved("a new setup was begun"), taken]

    def beam(self, slopes: FallXY | None, typed: str) -> list[Draft]:
        """That the backsights taken so far were read under a beam with those falls, a level one without."""
        drafts = []
        for place, taken in self.state.sights_by_place.items():
            fact = instrument.under_beam(self.state, taken, slopes)
            first = self.journal.at(place)
            if first is not None and fact != taken:
                _, last = self._standing(first.id)
                drafts.append(self._draft(fact, f"{first.typed} {typed}", last.id))
        return drafts

    def set_up(self, mark: str, typed: str, rod: str | None = None) -> Draft:
        """That the instrument stands, and the rod on that mark reads what was typed."""
        return self.set_up_on([(mark, typed)], rod)

    def set_up_on(
        self,
        sights: Sequence[tuple[str, str]],
        rod: str | None = None,
        slopes: FallXY | None = None,
        place: Place | None = None,
    ) -> Draft:
        """That the instrument stands, and the rod on those marks reads what was typed."""
        typed = " ".join(f"{mark}={figure}" for mark, figure in sights)
        return self._draft(instrument.instrument_set(self.state, sights, rod, slopes, place), typed)

    def stand(self, slopes: FallXY | None = None, place: Place | None = None) -> Draft:
        """That the instrument stands, there if that is known, on the backsights taken since it was moved."""
        return self._draft(instrument.instrument_set_on(self.state, self.state.sights, slopes, place), "")

    def recheck(self, mark: str, typed: str) -> Draft:
        """That a mark was looked at again from the same setup."""
        return self._draft(instrument.rechecked(self.state, mark, typed), f"{mark}={typed}")

    def mark(self, name: str, typed: str, what: str = "") -> Draft:
        """That a spot became a mark, seen from the setup that stands."""
        self._refuse_old_set_up()
        return self._draft(instrument.mark_made(self.state, name, typed, what), f"{name}={typed}")

    def promote(self, surface: Surface, what: str = "") -> Draft:
        """That a point which was read became a mark."""
        return self._draft(instrument.point_made_mark(self.state, surface, what), surface.point)

    def give_mark(self, mark: str, typed: str, *, has_moved: bool, why: str) -> Draft:
        """That a mark's elevation was wrong all along, or is another from now on."""
        fact = instrument.mark_given(self.state, mark, typed, has_moved=has_moved, why=why)
        return self._draft(fact, f"{mark}={typed}")

    def instrument_test(self, test: str, figures: Sequence[str]) -> Draft:
        """That the instrument was tested, and the figures of the test."""
        from gradecheck.intake import instrument_tests

        return self._draft(instrument_tests.instrument_tested(self.state, test, figures), " ".join(figures))

    def answer_doubt(self, why: str) -> Draft:
        """That the readings in doubt are trusted all the same."""
        return self._draft(instrument.doubt_answered(self.state, why), why)

    def show_datum(self, datum: str | None) -> Draft:
        """That elevations are shown from another zero."""
        return self._draft(instrument.datum_chosen(self.state, datum), datum or "")

    def reading(self, surface: Surface, typed: str, question: str = "") -> Draft:
        """That the rod at that surface reads what was typed; `question` is what was asked before it was kept."""
        self._refuse_old_set_up()
        return self._draft(readings.reading(self.state, surface, typed, question), typed)

    def question(self, surface: Surface, typed: str) -> str | None:
        """What to ask before keeping a figure that looks like a slip; None where there is nothing to ask."""
        return readings.question(self.state, surface, typed)

    def add_point(self, area: str, name: str, how: str, what: str = "") -> Draft:
        """That a point was added to an area on site; `how` says where it lies, as ``from F4 fall 2% over 12 ft``."""
        from gradecheck.intake import plan_changes

        return self._draft(plan_changes.point_added(self.state, area, name, how, what), f"{name} {how}")

    def change_target(self, point: str, typed: str, why: str) -> Draft:
        """That a point was given another finish on site."""
        from gradecheck.intake import plan_changes

        return self._draft(plan_changes.target_changed(self.state, point, typed, why), f"{point}={typed}")

    def change_tolerance(self, area: str, stage: str, typed: str, why: str) -> Draft:
        """That an area was given another tolerance at a stage."""
        from gradecheck.intake import plan_changes

        return self._draft(plan_changes.tolerance_changed(self.state, area, stage, typed, why), f"{stage}={typed}")

    def tape(self, layout: str, start: str, end: str, typed: str) -> Draft:
        """That the tape between two corners of a layout check shows what was typed."""
        from gradecheck.intake import evening

        return self._draft(evening.taped(self.state, layout, start, end, typed), f"{start}-{end}={typed}")

    def gauge(self, kind: Literal["lippage", "above drain"], area: str, where: str, typed: str) -> Draft:
        """That a step between units, or above a drain, measures what was typed."""
        from gradecheck.intake import evening

        return self._draft(evening.gauged(self.state, kind, area, where, typed), typed)

    def describe_day(self, weather: str, crew: str) -> Draft:
        """What the weather was, and who was there."""
        from gradecheck.intake import evening

        return self._draft(evening.day_described(weather, crew), f"{weather}; {crew}")

    def sign_off(
        self,
        area: str,
        stage: str,
        accept: Sequence[str],
        remark: str = "",
        by: str | None = None,
        asked: Sequence[str] = (),
    ) -> Draft:
        """That a stage is signed off; `accept` names the points that are out or unread and accepted all the same.

        `asked` is what else was asked and is accepted by signing, as `questions` of the state has it.
        `by` are the initials of whoever signs, where that may be another than who does what follows.
        """
        from gradecheck.intake import evening

        signer = self.by if by is None else words.initials(by)
        return self._draft(evening.signed_off(self.state, area, stage, accept, remark, asked), remark, by=signer)

    def strike(self, entry_id: str, why: str) -> Draft:
        """That an entry no longer counts, and why."""
        _, last = self._standing(entry_id)
        return self._draft(words.void(why), why, last.id)

    def correct(self, entry_id: str, typed: str) -> Draft:
        """That a rod figure was entered wrong: the right one stands in the old one's place."""
        first, last = self._standing(entry_id)
        return self._draft(readings.corrected(self.state, first, last, typed), typed, last.id)

    def why_corrected(self, corrected: Entry, why: str) -> Draft:
        """Why a rod figure was put right, as a note beside the right one."""
        reason = said(why, "Say in a few words why it is corrected; the reason stays in the log.")
        return self._draft(words.note(f"no. {corrected.seq} corrected: {reason}", corrected.area), why)

    def note(self, text: str, area: str | None = None) -> Draft:
        """Words for the log."""
        return self._draft(words.note(text, area), text)

    @property
    def cautions_read_today(self) -> bool:
        """Whether this person has read the cautions on this calendar day, here."""
        return any(self._today(at, offset) for at, offset, by in reversed(self.state.cautions) if by == self.by)

    @property
    def cautioned_today(self) -> bool:
        """Whether this person has read the cautions today, or was told them when beginning without a screen."""
        worked = self.state.worked.get(self.by)
        return self.cautions_read_today or (worked is not None and self._today(*worked))

    @property
    def moment(self) -> datetime:
        """What the clock shows; where that can't be believed, the time of the last entry."""
        shown = self.clock()
        if by_clock(shown)[2] and (last := self._before) is not None:
            return on_site(last.at, last.offset)
        return shown

    def _today(self, at: datetime, offset: int) -> bool:
        """Whether that was today, by the clock it was recorded by and by this one."""
        now, here, _ = by_clock(self.moment)
        return day_of(at, offset) == day_of(at, here) == day_of(now, here)

    @property
    def set_up_is_old(self) -> bool:
        """Whether a mark must be looked at before anything more is read from the setup that stands."""
        return bool(self.why_set_up_is_old)

    @property
    def why_set_up_is_old(self) -> str:
        """Why that is, in a sentence: it was last held against a mark on another day, or nobody knows when.

        An instrument left overnight was picked up or knocked, for all anyone knows.
        """
        stood = self.state.setup
        looked = self.state.looked(stood.id) if stood else None
        if looked is None:
            return ""
        today, passed = self.clock(), self.passed_since(looked)
        dead = bool(by_clock(today)[2])
        if passed is None and (dead or today < looked - HONEST):
            return SINCE_UNKNOWN
        if dead:
            assert passed is not None
            today = looked + passed
        # A zone changed since may hide a night from one of the clocks, never from both.
        clocks = by_clock(looked)[1], by_clock(self.moment)[1]
        return ANOTHER_DAY if any(day_of(looked, each) != day_of(today, each) for each in clocks) else ""

    def passed_since(self, moment: datetime) -> timedelta | None:
        """How long ago that was by what nobody can set; None where that is not known."""
        del moment
        return None

    def _refuse_old_set_up(self) -> None:
        if why := self.why_set_up_is_old:
            raise Refusal(why)

    def _draft(self, fact: Fact, typed: str, replaces: str | None = None, by: str | None = None) -> Draft:
        by = self.by if by is None else by
        if not by:
            raise NobodyError("Nobody has said who is checking; give your initials first.")
        at, offset, clock = by_clock(self.clock())
        draft = Draft(
            id=self.ids(),
            laptop=self.laptop,
            window=self.window,
            by=by,
            typed=typed,
            at=at,
            offset=offset,
            version=__version__,
            plan=self.digest,
            fact=fact,
            replaces=replaces,
        )
        return behind(self._before, draft, clock) if clock else draft

    def _standing(self, entry_id: str) -> tuple[Entry, Entry]:
        place = self.journal.standing(entry_id)
        if place is None:
            raise Refusal(f"There is no entry “{entry_id}” in the log.")
        first, last = place
        if isinstance(last.fact, Void):
            raise Refusal(f"Entry {first.seq} is already struck: {last.fact.why}.")
        if isinstance(last.fact, PlanRevised):
            raise Refusal("A plan in the journal can't be struck; change the job file instead.")
        if isinstance(last.fact, Rehearsed):
            raise Refusal(
                "That this is a rehearsal can't be struck; for a real job begin a journal in another folder."
            )
        if isinstance(last.fact, BacksightTaken) and (stood := self.state.setup_with(first.seq)) is not None:
            # The setup holds the figure: struck or put right here alone, it would change nothing.
            right, place_of = f"{last.fact.sight.mark}=READING", self.journal.standing(stood.id)
            entry = place_of[1].seq if place_of is not None else stood.seq
            raise Refusal(
                f"Entry {first.seq} went into the setup, entry {entry}: strike that, or correct it with {right}."
            )
        return place
