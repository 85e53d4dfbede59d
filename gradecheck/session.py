"""The one door for changes: plan, journal and state together; the app and the commands use these verbs."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from gradecheck import __version__, intake
from gradecheck.intake import Refusal
from gradecheck.journal.facts import BacksightTaken, Draft, Entry, Fact, PlanRevised, Void
from gradecheck.journal.ids import Ids
from gradecheck.journal.store import FILE_NAME, Journal, Line, Soundness
from gradecheck.measure.quantities import Elevation, Slope
from gradecheck.plan.load import FILE_NAME as PLAN_NAME
from gradecheck.plan.load import load_plan, text_hash
from gradecheck.preview import Preview, preview, verdicts
from gradecheck.state import State, Surface, fold
from gradecheck.survey.setup import Place

Listener = Callable[[Sequence[Entry]], None]


def now() -> datetime:
    """The wall clock, with the local offset from UTC."""
    return datetime.now(UTC).astimezone()


def job_folder(path: Path) -> Path:
    """The job's folder, given that folder or the job file in it."""
    return path.parent if path.name == PLAN_NAME else path


class Session:
    """One job, open. A change is drafted (nothing happens), written (durable), then adopted (everyone is told).

    The three steps are apart so that a screen may let the disk work elsewhere; `record` does all three.
    """

    def __init__(
        self,
        path: Path,
        *,
        by: str = "",
        laptop: str = "",
        clock: Callable[[], datetime] = now,
        ids: Callable[[], str] | None = None,
    ) -> None:
        """Opens the job. Raises `PlanProblemsError` or `JournalError`; nothing is written before the first fact."""
        self.folder = job_folder(path)
        self.plan, self.plan_text = load_plan(self.folder / PLAN_NAME)
        self.digest = text_hash(self.plan_text)
        self.laptop = laptop
        self.clock = clock
        self._ids = ids or Ids()
        self.window = self._ids()
        self.journal = Journal(self.folder / FILE_NAME)
        self._listeners: list[Listener] = []
        entries = list(self.journal.entries())
        self.state: State = fold(self.plan, entries)
        self.seq = entries[-1].seq if entries else 0
        self.by = by or (entries[-1].by if entries else "")

    def close(self) -> None:
        """Lets the journal go."""
        self.journal.close()

    def listen(self, listener: Listener) -> None:
        """Calls `listener` with the new entries after each change of the state."""
        self._listeners.append(listener)

    # -- drafting: what a person did, as a fact; raises Refusal, changes nothing

    def identify(self, initials: str) -> None:
        """Says who does what follows."""
        self.by = intake.initials(initials)

    def cautions(self, words: Sequence[str]) -> Draft:
        """That the cautions were read."""
        return self._draft(intake.cautions_read(words), "")

    def moved(self, why: str) -> Draft:
        """That the instrument no longer stands where it stood."""
        return self._draft(intake.moved(self.state, why), why)

    def backsight(self, mark: str, typed: str, rod: str | None = None) -> list[Draft]:
        """That the rod reads this on a mark while setting up; the old set-up, if one stood, stands no more."""
        taken = self._draft(intake.backsight_taken(self.state, mark, typed, rod), f"{mark}={typed}")
        newest = self.state.newest_setup
        if newest is None or self.state.moved_since(newest.seq):
            return [taken]
        return [self.moved("a new set-up was begun"), taken]

    def set_up(self, mark: str, typed: str, rod: str | None = None) -> Draft:
        """That the instrument stands, and the rod on that mark reads what was typed."""
        return self.set_up_on([(mark, typed)], rod)

    def set_up_on(
        self,
        sights: Sequence[tuple[str, str]],
        rod: str | None = None,
        slopes: tuple[Slope, Slope] | None = None,
        place: Place | None = None,
    ) -> Draft:
        """That the instrument stands, and the rod on those marks reads what was typed."""
        typed = " ".join(f"{mark}={figure}" for mark, figure in sights)
        return self._draft(intake.instrument_set(self.state, sights, rod, slopes, place), typed)

    def stand(self, slopes: tuple[Slope, Slope] | None = None) -> Draft:
        """That the instrument stands on the backsights taken since it was moved."""
        return self._draft(intake.instrument_set_on(self.state, self.state.sights, slopes), "")

    def recheck(self, mark: str, typed: str) -> Draft:
        """That a mark was looked at again from the same set-up."""
        return self._draft(intake.rechecked(self.state, mark, typed), f"{mark}={typed}")

    def mark(self, name: str, typed: str, what: str = "") -> Draft:
        """That a spot became a mark, seen from the set-up that stands."""
        self._refuse_old_set_up()
        return self._draft(intake.mark_made(self.state, name, typed, what), f"{name}={typed}")

    def promote(self, surface: Surface) -> Draft:
        """That a point which was read became a mark."""
        return self._draft(intake.point_made_mark(self.state, surface), surface.point)

    def give_mark(self, mark: str, typed: str, *, has_moved: bool, why: str) -> Draft:
        """That a mark's elevation was wrong from the start, or is another from now on."""
        fact = intake.mark_given(self.state, mark, typed, has_moved=has_moved, why=why)
        return self._draft(fact, f"{mark}={typed}")

    def answer_doubt(self, why: str) -> Draft:
        """That the readings in doubt are trusted all the same."""
        return self._draft(intake.doubt_answered(self.state, why), why)

    def show_datum(self, datum: str | None) -> Draft:
        """That elevations are shown from another zero."""
        return self._draft(intake.datum_chosen(self.state, datum), datum or "")

    def reading(self, surface: Surface, typed: str, question: str = "") -> Draft:
        """That the rod at that surface reads what was typed; `question` is what was asked before it was kept."""
        self._refuse_old_set_up()
        return self._draft(intake.reading(self.state, surface, typed, question), typed)

    def question(self, surface: Surface, typed: str) -> str | None:
        """What to ask before keeping a figure that looks like a slip; None where there is nothing to ask."""
        return intake.question(self.state, surface, typed)

    def strike(self, entry_id: str, why: str) -> Draft:
        """That an entry no longer counts, and why."""
        _, last = self._standing(entry_id)
        return self._draft(intake.void(why), why, last.id)

    def correct(self, entry_id: str, typed: str) -> Draft:
        """That a rod figure was keyed wrong: the right one stands in the old one's place."""
        first, last = self._standing(entry_id)
        return self._draft(intake.corrected(self.state, first, last, typed), typed, last.id)

    def note(self, text: str, area: str | None = None) -> Draft:
        """Words for the log."""
        return self._draft(intake.note(text, area), text)

    # -- writing and adopting

    def write(self, *drafts: Draft) -> list[Entry]:
        """Makes the drafts durable, all or none, after the plan's text where the journal does not know it yet.

        Raises `NotSavedError`; the same drafts may then be written again. Touches nothing but the journal.
        """
        plan = [] if self.state.plan_digest == self.digest else [self._plan_revised(drafts[0])]
        return self.journal.append([*plan, *drafts])

    def adopt(self, written: Sequence[Entry]) -> None:
        """Takes written entries, and any that another window wrote before them, into the state."""
        news = list(written)
        if news and news[0].seq != self.seq + 1:
            news = list(self.journal.entries(after=self.seq))
        for entry in news:
            self._apply(entry)
        self.seq = max([self.seq, *(entry.seq for entry in news)])
        for listener in self._listeners:
            listener(news)

    def record(self, *drafts: Draft) -> Entry:
        """Writes and adopts; returns the last entry, which is on disk then. Raises `NotSavedError`."""
        written = self.write(*drafts)
        self.adopt(written)
        return written[-1]

    def preview(self, draft: Draft) -> Preview:
        """What would change if the draft were recorded: nothing is."""
        fields = {each.name: getattr(draft, each.name) for each in dataclasses.fields(Draft)}
        trial = fold(self.plan, [*self.journal.entries(), Entry(seq=self.seq + 1, hash="", **fields)])
        return preview(verdicts(self.state), verdicts(trial))

    def catch_up(self) -> bool:
        """Takes over what other windows wrote; whether there was anything."""
        if self.journal.last_seq == self.seq:
            return False
        self.adopt(list(self.journal.entries(after=self.seq)))
        return True

    # -- looking back

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[Line]:
        """The log: the latest entries before that place, struck ones marked."""
        return self.journal.lines(area, before, limit)

    @property
    def set_up_is_old(self) -> bool:
        """Whether the set-up that stands was last held against a mark on another day.

        An instrument left overnight was picked up or knocked, for all anyone knows.
        """
        stood = self.state.setup
        looked = self.state.looked(stood.id) if stood else None
        today = self.clock()
        return looked is not None and looked.astimezone(today.tzinfo).date() != today.date()

    def known_mark(self, typed: str) -> tuple[str, Elevation]:
        """The mark meant, and its elevation. Raises Refusal."""
        return intake.known_mark(self.state, typed)

    def new_mark_name(self, typed: str) -> str:
        """A name that a new mark may have. Raises Refusal."""
        return intake.new_mark_name(self.state, typed)

    def next_mark_name(self) -> str:
        """A name to offer for a new mark: what a datum waits for, else the next turning point."""
        state = self.state
        waiting = (datum.mark for datum in state.plan.datums.values() if state.zero_of(datum.name) is None)
        taken = {*state.book.marks(), *state.plan.area_of}
        return next(waiting, None) or next(name for n in count(1) if (name := f"TP{n}") not in taken)

    def last_backsight(self) -> Entry | None:
        """The last backsight taken for a set-up that does not stand yet."""
        if not self.state.sights:
            return None
        lines = reversed(self.lines(limit=50))
        return next(
            (line.entry for line in lines if isinstance(line.entry.fact, BacksightTaken) and not line.replaced_by),
            None,
        )

    def last_reading(self) -> Entry | None:
        """The last reading that counts."""
        shots = (shots[-1] for shots in self.state.shots.values())
        last = max(shots, key=lambda shot: shot.seq, default=None)
        return self.journal.find(last.id) if last else None

    def verify(self) -> Soundness:
        """Whether the journal is as it was written."""
        return self.journal.verify()

    def entry(self, named: str) -> Entry:
        """The entry with that number or id. Raises Refusal when there is none."""
        found = self.journal.at(int(named)) if named.isascii() and named.isdigit() else self.journal.find(named)
        if found is None:
            raise Refusal(f"There is no entry “{named}” in this journal; the log shows their numbers.")
        return found

    def name_of(self, typed: str) -> str | None:
        """The point or mark meant, whatever its capitals."""
        return self.plan.names.get(typed.strip().casefold())

    # -- within

    def _apply(self, entry: Entry) -> None:
        if entry.replaces is None:
            self.state.put(entry, entry)
            return
        replaced = self.journal.find(entry.replaces)
        place = self.journal.standing(entry.replaces)
        if replaced is not None and place is not None:
            first, _ = place
            self.state.take(first, replaced.fact)
            self.state.put(first, entry)

    def _draft(self, fact: Fact, typed: str, replaces: str | None = None) -> Draft:
        if not self.by:
            raise Refusal("Nobody has said who is checking; give your initials first.")
        at = self.clock()
        offset = at.utcoffset()
        return Draft(
            id=self._ids(),
            laptop=self.laptop,
            window=self.window,
            by=self.by,
            typed=typed,
            at=at.astimezone(UTC),
            offset=int(offset.total_seconds() // 60) if offset else 0,
            version=__version__,
            plan=self.digest,
            fact=fact,
            replaces=replaces,
        )

    def _plan_revised(self, draft: Draft) -> Draft:
        fact = PlanRevised(self.digest, self.plan_text)
        return dataclasses.replace(draft, id=self._ids(), typed="", fact=fact, replaces=None)

    def _refuse_old_set_up(self) -> None:
        if self.set_up_is_old:
            raise Refusal("The set-up is from another day; look at a mark again (recheck) or set up anew.")

    def _standing(self, entry_id: str) -> tuple[Entry, Entry]:
        place = self.journal.standing(entry_id)
        if place is None:
            raise Refusal(f"There is no entry “{entry_id}” in this journal.")
        first, last = place
        if isinstance(last.fact, Void):
            raise Refusal(f"Entry {first.seq} is already struck: {last.fact.why}.")
        if isinstance(last.fact, PlanRevised):
            raise Refusal("A plan in the journal can't be struck; change the job file instead.")
        return place
