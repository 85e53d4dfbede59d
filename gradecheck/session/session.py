"""The one door for changes: plan, journal and state together; the app and the commands record through it."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck import __version__
from gradecheck.actions import Action, Refusal, initials, readings
from gradecheck.actions.entered import refuse_plan_alike
from gradecheck.actions.instrument import BEGUN_ANEW, under_beam
from gradecheck.catalogue import _, stored
from gradecheck.checks.blunders import Slip
from gradecheck.journal.chain import Row
from gradecheck.journal.facts import (
    KIND_OF,
    BacksightTaken,
    Draft,
    Entry,
    InstrumentMoved,
    Late,
    MarkMade,
    PlanRevised,
    Reading,
    Rechecked,
    Rehearsed,
    SetupMade,
    Void,
)
from gradecheck.journal.ids import Ids
from gradecheck.journal.stamps import behind, by_clock
from gradecheck.journal.store import ALL, JOURNAL_NAME, Journal, LogLine, Read
from gradecheck.measure.quantities import FallXY, Length
from gradecheck.plan.load import PLAN_NAME, Loaded, PlanFile, understand
from gradecheck.plan.model import Plan
from gradecheck.plan.names import folded
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.clock_watch import ClockWatch, SiteClock, now
from gradecheck.session.undo import newest_first, undo
from gradecheck.session.waiting import said_when_long
from gradecheck.session.windows import OtherWindows
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import State, Surface, fold, fold_joined

if TYPE_CHECKING:
    from gradecheck.joining.log import JoinedLog

if TYPE_CHECKING:
    from gradecheck.plan.changes import Changes
    from gradecheck.state.preview import Preview

BROUGHT_BACK = stored("the laser was not moved")
"""Why the beginning of a new setup is struck where the old one is brought back."""
BROUGHT_BACK_NOW = _("The previous setup is back; recheck a mark first (F5).")
CLOCK_UNKNOWN = _(
    "This laptop's clock can't be right: saved with the time of the entry before, marked "
    "“clock unknown”. Set the clock."
)

_TIME = re.compile(r"(?:([0-9]{4}-[0-9]{2}-[0-9]{2})[ T]+)?([0-9]{1,2}:[0-9]{2})")

Listener = Callable[[Sequence[Entry]], None]


class NobodyError(Refusal):
    """Nobody has said who is checking; how that is done depends on where it is asked."""


def job_folder(path: Path) -> Path:
    """The job's folder, given that folder or the job file in it."""
    return path.parent if path.name == PLAN_NAME else path


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """The current plan with the names it has, and the state after all entries."""

    loaded: Loaded
    spelt: Spelt
    state: State


class Session:
    """One job, open. An action is drafted (nothing happens), written (durable), then adopted (everyone is told).

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
        look_later: bool = False,
        watch: ClockWatch | None = None,
        reading: Callable[[int], None] | None = None,
        closed: str = "",
    ) -> None:
        """Opens the job. Raises `PlanProblemsError` or `JournalError`; nothing is written before the first fact.

        The current plan is the last one that was accepted; a job file changed since is only offered, and one that
        can't be read any more keeps nobody from working.
        With `look_later` a job file that the journal knows a plan for is not read before `plan_file.refresh`. The
        wall clock is watched for being set; another one only where a `watch` is given. `reading` hears now and then
        how many entries were read; what it raises ends the reading. `closed` says why nothing is to be recorded.
        """
        self.folder = job_folder(path)
        self.plan_file = PlanFile(self.folder / PLAN_NAME)
        if not look_later:
            self.plan_file.refresh()
        self.journal = Journal(self.folder / JOURNAL_NAME, closed)
        try:
            laptops = self.journal.joined
            accepted = self.journal.last_of(KIND_OF[PlanRevised]) if laptops is None else laptops.plan
            self.loaded = self._in_force(accepted)
            self.journal.spelt = Spelt(self.loaded.plan).entry
            replacing = self.journal.replacing()
            if laptops is None:
                entries = Read(self.journal.entries(), reading)
                self.state = fold(self.loaded.plan, entries, replacing)
                last, own = entries.last, entries.last
            else:
                self.state = fold_joined(self.loaded.plan, laptops, self.journal.spelt, reading)
                last, own = self.journal.at(len(laptops.entries)), laptops.last_own
        except BaseException:
            self.journal.close()
            raise
        self.digest = self.loaded.digest
        self.by = by or (own.by if own else "")
        self.laptop = laptop
        self._began_on_other_laptop = bool(laptop and not by and own) and not _is_same(
            own.laptop if own else "", laptop
        )
        self.ids = ids or Ids()
        self.window = self.ids()
        self.seq = last.seq if last else 0
        self._taken = self.journal.taken
        self.clock = SiteClock(clock, laptop, self.journal, watch)
        self.clock.begin(last)
        self._windows = OtherWindows(self.window)
        self._brought_back = self._is_brought_back(replacing)
        self._listeners: list[Listener] = []
        self._plan_draft: Draft | None = None
        self._compared: tuple[Plan, Plan, Changes] | None = None
        self.remark = self.journal.said
        """What is to be told once, beside what comes next; the next reading ends it."""
        self.office_plans: Mapping[str, int] = {}
        """The numbers that the office gave its plans, by their hashes, where one came here by a meeting place."""
        self.say_waiting: Callable[[str], None] | None = None
        """Told, from another thread, when a write has to wait."""

    @property
    def plan(self) -> Plan:
        """The current plan, with what was changed on site."""
        return self.state.plan

    def by_or(self, initials: str) -> str:
        """Who it is where nobody said so: whoever recorded last on this laptop, else those initials of its settings.

        Where the log was copied from another laptop and this one's settings name nobody, whoever recorded last there.
        """
        return initials if initials and (not self.by or self._began_on_other_laptop) else self.by

    @property
    def offered(self) -> Loaded | None:
        """The plan in the job file, where it is another than the current one."""
        read = self.plan_file.latest
        return read if read is not None and read.digest != self.digest else None

    @property
    def offered_number(self) -> int | None:
        """The number that the office gave the offered plan, where it came from the office."""
        return self.office_plans.get(self.offered.digest) if self.offered is not None else None

    @property
    def offered_changes(self) -> Changes | None:
        """What the offered plan would change, None where none is offered."""
        if self.offered is None:
            return None
        plans = self.state.plan, self.offered.plan
        if self._compared is None or self._compared[0] is not plans[0] or self._compared[1] is not plans[1]:
            from gradecheck.state.offered import offered_changes

            # Kept, for it is asked at every reading, and large plans take a while.
            self._compared = *plans, offered_changes(self.state, plans[1])
        return self._compared[2]

    def accept_plan(self) -> Action:
        """That the plan in the job file is accepted. Raises Refusal where there is none to accept.

        Nor is one accepted whose names nobody could tell from those the job has.
        """
        offered = self.offered
        if offered is None and self._plan_is_contested:
            return Action(PlanRevised(self.digest, self.loaded.text, self.loaded.files, self._number))
        if offered is None:
            raise Refusal(_("The job file is as it was when it was accepted; there is nothing to accept."))
        refuse_plan_alike(self.state, offered.plan)
        return Action(self._revised(offered))

    @property
    def _plan_is_contested(self) -> bool:
        """Whether two laptops accepted different plans, neither knowing of the other."""
        laptops = self.journal.joined
        return laptops is not None and any(isinstance(each.last.fact, PlanRevised) for each in laptops.conflicts)

    @property
    def _number(self) -> int | None:
        """The number that the office gave the current plan, None where it gave none."""
        laptops = self.journal.joined
        accepted = laptops.plan.fact if laptops is not None and laptops.plan is not None else None
        return accepted.number if isinstance(accepted, PlanRevised) else None

    def close(self) -> None:
        """Lets the journal go."""
        self.journal.close()

    def listen(self, listener: Listener) -> None:
        """Calls `listener` with the new entries after each change of the state."""
        self._listeners.append(listener)

    # -- drafting, writing and adopting

    def identify(self, typed: str) -> None:
        """Says who does what follows. Raises Refusal."""
        self.by = initials(typed)

    def draft(self, action: Action | Draft) -> Draft:
        """The action with who, when, from which window and under which plan; one that has them stays as it is.

        Raises Refusal where the setup that it was read from is too old, `NobodyError` where nobody has said who.
        """
        if isinstance(action, Draft):
            return action
        fact = action.fact
        match fact:
            case Reading(late=None) | MarkMade(reading=None):
                seen_now = True
            case _:
                seen_now = False
        if seen_now and action.replaces is None and (why := self.why_set_up_is_old):
            raise Refusal(why)
        by = self.by if action.by is None else action.by
        if not by:
            raise NobodyError(_("No initials yet; enter yours first."))
        at, offset, words = by_clock(self.clock())
        draft = Draft(
            id=self.ids(),
            laptop=self.laptop,
            window=self.window,
            by=by,
            typed=action.typed,
            at=at,
            offset=offset,
            version=__version__,
            plan=self.digest,
            fact=fact,
            replaces=action.replaces,
        )
        return behind(self.clock.last, draft, words) if words else draft

    def write(self, *actions: Action | Draft) -> list[Entry]:
        """Makes the actions durable, all or none, after the plan's text where the journal does not know it yet.

        Where the clock was set since the last entry, a note before them says so. Raises `NotSavedError`; the same
        drafts may then be written again. Touches nothing but the journal, and what is to be told.
        """
        drafts = [self.draft(action) for action in actions]
        # That all is made up is said before all else, the plan's text too.
        known = self.state.plan_digest == self.digest or isinstance(drafts[0].fact, Rehearsed)
        plan = [] if known else [self._plan_revised(drafts[0])]
        clock = self.clock.note(drafts[0], self.ids)
        with said_when_long(self.say_waiting):
            written = self.journal.append([*plan, *clock, *drafts])
        if drafts[0].clock:
            self.remark = CLOCK_UNKNOWN
        elif clock:
            self.remark = _("{typed} That is in the log.", typed=clock[0].typed)
        elif any(isinstance(draft.fact, Reading) for draft in drafts):
            self.remark = ""
        self.clock.noted()
        return written

    def changes_all(self, written: Sequence[Entry]) -> bool:
        """Whether written entries change more than their own places, so that all is to be worked out anew."""
        laptops = self.journal.joined
        if laptops is None or laptops is not self.state.laptops:
            return laptops is not None
        from gradecheck.joining.log import decides  # few jobs have several laptops

        return any(decides(each) and not self._only_in_its_place(each, laptops) for each in written)

    def _only_in_its_place(self, entry: Entry, laptops: JoinedLog) -> bool:
        found = laptops.find(entry.id)
        first = laptops.first_of(found) if found is not None else None
        if found is None or first is None or first.id in self.state.conflicting:
            return False
        return laptops.changes_only_its_place(found)

    def adopt(self, written: Sequence[Entry], worked: WorkedOut | None = None) -> None:
        """Takes written entries, and any that another window wrote before them, into the state.

        Where they change all, `worked` may be what was worked out meanwhile.
        """
        news = list(written)
        if [entry.seq for entry in news] != [*range(self.seq + 1, self.seq + 1 + len(news))]:
            news = list(self.journal.entries(after=self.seq))
        # What replaces another entry, or decides for all laptops, may change more there than its own place.
        anew = self.changes_all(news)
        for entry in news:
            if not anew:
                self._apply(entry, self.state)
            self.remark = self._windows.note(entry) or self.remark
            if isinstance(entry.fact, SetupMade | Rechecked | Void):
                self._brought_back = isinstance(entry.fact, Void) and (
                    entry.fact.why == BROUGHT_BACK or self._brought_back
                )
            if isinstance(entry.fact, SetupMade | Rechecked) and entry.window == self.window:
                self.clock.looked(entry)
        if news and news[-1].seq > self.seq:
            self.seq, self.clock.last = news[-1].seq, news[-1]
        if anew or any(isinstance(entry.fact, PlanRevised) and entry.fact.digest != self.digest for entry in news):
            if worked is not None and worked.state.laptops is self.journal.joined and len(news) == len(written):
                self._put(worked)
            else:
                self._change_plan()
        for listener in self._listeners:
            listener(news)

    def record(self, *actions: Action | Draft) -> Entry:
        """Drafts, writes and adopts; returns the last entry, which is on disk then. Raises `NotSavedError`."""
        written = self.write(*actions)
        self.adopt(written)
        return written[-1]

    def preview(self, action: Action | Draft) -> Preview:
        """What would change if the action were recorded: nothing is."""
        from gradecheck.state.preview import preview_of

        draft = self.draft(action)
        fields = {each.name: getattr(draft, each.name) for each in dataclasses.fields(Draft)}
        trial = self.state.copied()
        self._apply(Entry(seq=self.seq + 1, hash="", **fields), trial)
        return preview_of(self.state, trial)

    def question(
        self, surface: Surface, typed: str, above: Length | None = None, late: Late | None = None
    ) -> Slip | None:
        """Whether a figure looks like a slip: another window just read the point, or what is around it says so."""
        looks = readings.question(self.state, surface, typed, above, late)
        other = self._windows.question(surface) if late is None else None
        return Slip(other) if other and (looks is None or not looks.stops) else looks

    def late(self, typed: str, by: str = "") -> Late:
        """When and by whom a reading from paper was taken, from ``10:05`` of today or ``2026-05-12 10:05``.

        `by` are initials, this person's where none are given. Raises Refusal.
        """
        here, person = self.clock.moment, initials(by) if by.strip() else self.by
        found = _TIME.fullmatch(typed.strip())
        try:
            day, clock = found.groups() if found else ("", "")
            at = datetime.fromisoformat(f"{day or here.date()}T{clock:0>5}").replace(tzinfo=here.tzinfo)
        except ValueError:
            raise Refusal(
                _("“{typed}” is not a time; write it like 10:05, or 2026-05-12 10:05.", typed=typed.strip())
            ) from None
        if at > here:
            raise Refusal(
                _("{at:%H:%M on %Y-%m-%d} is still to come; if it was another day, give the day too.", at=at)
            )
        after = next((entry.seq for entry in newest_first(self.journal) if entry.at <= at), 0)
        return Late(at.isoformat(timespec="minutes"), person, after)

    def catch_up(self) -> bool:
        """Takes in what other windows wrote; whether there was anything."""
        last = self.journal.last_seq
        if self.is_behind:
            self.take_up(self.worked_out())
            return True
        if last == self.seq:
            return False
        self.adopt(list(self.journal.entries(after=self.seq)))
        return True

    # -- looking back

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[LogLine]:
        """The log: the latest entries before that place, struck ones marked."""
        return self.journal.lines(area, before, limit)

    def review_lines(self) -> list[LogLine]:
        """What a review counts beside the readings that count."""
        return self.journal.review_lines()

    def days_and_people(self) -> tuple[list[str], list[str]]:
        """The days with entries and the initials of all who made one."""
        return self.journal.days_and_people()

    def all_lines(self, area: str | None = None) -> list[LogLine]:
        """The whole log, struck entries marked."""
        return self.journal.lines(area, limit=ALL)

    def last_backsight(self) -> Entry | None:
        """The last backsight taken for a setup that is not finished."""
        if not self.state.sights:
            return None
        lines = reversed(self.lines(limit=50))
        return next(
            (line.entry for line in lines if isinstance(line.entry.fact, BacksightTaken) and not line.replaced_by),
            None,
        )

    def last_reading(self) -> Entry | None:
        """The last reading of this laptop that counts, as it was corrected if it was."""
        laptops = self.state.laptops
        shots = (
            shot for each in (*self.state.shots.values(), *self.state.spots.values()) for shot in each[-1:]
            if laptops is None or laptops.is_own(shot.seq)
        )  # fmt: skip
        last = max(shots, key=lambda shot: shot.seq, default=None)
        place = self.journal.first_and_last(last.id) if last else None
        return place[1] if place else None

    def entry(self, named: str) -> Entry:
        """The entry with that number or id. Raises Refusal when there is none."""
        found = None
        if named.isascii() and named.isdigit():
            found = self.journal.at(int(named)) if len(named) < 10 else None
        elif named.isprintable():
            found = self.journal.find(named)
        if found is None:
            raise Refusal(_("There is no entry “{named}” in the log; the log shows their numbers.", named=named))
        return found

    @property
    def view_only(self) -> str:
        """Why nothing can be recorded in this job; empty where it can."""
        return self.journal.view_only

    @property
    def cautions_read_today(self) -> bool:
        """Whether this person has read the cautions on this calendar day, here."""
        read = reversed(self.state.cautions)
        return any(self.clock.is_today(at, offset) for at, offset, by in read if by == self.by)

    @property
    def cautioned_today(self) -> bool:
        """Whether this person has read the cautions today, or was told them when beginning without a screen."""
        worked = self.state.worked.get(self.by)
        return self.cautions_read_today or (worked is not None and self.clock.is_today(*worked))

    @property
    def _looked(self) -> datetime | None:
        """When the current setup was last held against a mark."""
        setup = self.state.setup
        return self.state.looked(setup.id) if setup else None

    @property
    def since_look(self) -> timedelta | None:
        """How long ago the setup was last held against a mark, however the clock was set; None if unknown."""
        looked = self._looked
        return self.clock.known_since(looked) if looked else None

    @property
    def why_set_up_is_old(self) -> str:
        """Why a mark must be rechecked before anything more is read from the current setup; empty where not."""
        if self._brought_back:
            return BROUGHT_BACK_NOW
        looked = self._looked
        return self.clock.why_old(looked) if looked else ""

    def _is_brought_back(self, replacing: Sequence[Entry]) -> bool:
        """Whether the last setup was brought back and no mark was looked at since."""
        struck = (each for each in reversed(replacing) if isinstance(each.fact, Void))
        back = next((each for each in struck if getattr(each.fact, "why", "") == BROUGHT_BACK), None)
        if back is None or self.state.newest_setup is None:
            return False
        looked = (self.journal.last_of(KIND_OF[kind]) for kind in (SetupMade, Rechecked))
        return all(each is None or each.seq < back.seq for each in looked)

    def bring_back(self) -> list[Action]:
        """That the laser was not moved after all: what was begun of a new setup is struck, and the old one counts.

        Empty where no setup was begun in the place of one that could be brought back.
        """
        newest = self.state.newest_setup
        moved = self.state.moved_since(newest.seq) if newest is not None else None
        if newest is None or moved is None or moved.why != BEGUN_ANEW or not self.state.sights:
            return []
        begun = [line.entry for line in self.lines(limit=200) if line.entry.seq > newest.seq and not line.replaced_by]
        gone = [entry for entry in begun if isinstance(entry.fact, BacksightTaken | InstrumentMoved)]
        return [self.strike(entry.id, BROUGHT_BACK) for entry in gone]

    def name_of(self, typed: str) -> str | None:
        """The point or mark meant, whatever its capitals."""
        return self.plan.names.get(folded(typed))

    # -- what changes an entry of the log

    def strike(self, entry_id: str, why: str) -> Action:
        """That an entry no longer counts, and why. Raises Refusal."""
        _, last = self._place_that_counts(entry_id)
        return readings.strike(last.id, why)

    def correct(self, entry_id: str, typed: str) -> Action:
        """That a rod figure was entered wrong: the right one counts in its place. Raises Refusal."""
        first, last = self._place_that_counts(entry_id)
        against = self.state.conflicting.get(first.id, ()) if isinstance(last.fact, Void) else ()
        # Struck on one laptop and corrected on another: what is corrected is what the other one has.
        counting = next((each for each in against if not isinstance(each.fact, Void)), last)
        return Action(readings.corrected(self.state, first, counting, typed), typed, last.id)

    def undo(self) -> Action:
        """That takes this person's last reading, correction of one, or strike back. Raises Refusal."""
        return undo(self.journal, self.by)

    def beam(self, slopes: FallXY | None, typed: str) -> list[Action]:
        """That the backsights taken so far were read under a beam with those falls, a level one without."""
        actions = []
        for place, taken in self.state.sights_by_place.items():
            fact = under_beam(self.state, taken, slopes)
            first = self.journal.at(place)
            if first is not None and fact != taken:
                _, last = self._place_that_counts(first.id)
                actions.append(Action(fact, f"{first.typed} {typed}", last.id))
        return actions

    def place_of(self, entry_id: str) -> tuple[Entry, Entry]:
        """The first entry of that entry's place in the log, and the one that counts there now. Raises Refusal."""
        place = self.journal.first_and_last(entry_id)
        if place is None:
            raise Refusal(_("There is no entry “{entry_id}” in the log.", entry_id=entry_id))
        return place

    def _place_that_counts(self, entry_id: str) -> tuple[Entry, Entry]:
        first, last = self.place_of(entry_id)
        if isinstance(last.fact, Void) and first.id not in self.state.conflicting:
            raise Refusal(_("Entry {seq} is already struck: {why}.", seq=first.seq, why=last.fact.why))
        if isinstance(last.fact, PlanRevised):
            raise Refusal(_("A plan in the journal can't be struck; change the job file instead."))
        if isinstance(last.fact, Rehearsed):
            raise Refusal(_("A rehearsal stays a rehearsal; for a real job start a log in another folder."))
        if isinstance(last.fact, BacksightTaken) and (recorded := self.state.setup_with(first.seq)) is not None:
            # The setup holds the figure: struck or corrected here alone, it would change nothing.
            _first, setup = self.place_of(recorded.id)
            right = f"{last.fact.sight.mark}=READING"
            raise Refusal(
                _(
                    "Entry {seq} went into the setup, entry {setup}: strike that, or correct it with {right}.",
                    seq=first.seq,
                    setup=setup.seq,
                    right=right,
                )
            )
        return first, last

    # -- within

    def _apply(self, entry: Entry, state: State) -> None:
        if entry.replaces is None:
            state.apply(entry, entry)
            return
        replaced = self.journal.find(entry.replaces)
        place = self.journal.first_and_last(entry.replaces)
        if replaced is not None and place is not None:
            first, _ = place
            state.replace(first, replaced.fact, entry)

    def take_in(self, rows: Sequence[Row], entries: Mapping[str, Entry] | None = None) -> int:
        """Takes in entries of other laptops that were found sound; returns how many are new here.

        `entries` is what was read in the rows, by their hashes, where that is at hand.
        Raises `NotSavedError`; then nothing was taken in, or all was, and to try again does no harm."""
        new = self.journal.take_in(rows, entries)
        if new:
            self.take_up(self.worked_out())
        return new

    @property
    def is_behind(self) -> bool:
        """Whether entries of other laptops were taken in that are not in the state yet."""
        return self.journal.taken != self._taken

    def worked_out(self) -> WorkedOut:
        """Everything worked out anew from all entries of several laptops. It changes nothing, and takes a while."""
        laptops = self.journal.joined
        assert laptops is not None
        loaded = self._in_force(laptops.plan)
        spelt = Spelt(loaded.plan)
        return WorkedOut(loaded, spelt, fold_joined(loaded.plan, laptops, spelt.entry))

    def take_up(self, worked: WorkedOut) -> None:
        """Takes up what was worked out after entries of other laptops were taken in, here or in another window."""
        self._taken = self.journal.taken
        if worked.state.laptops is not self.journal.joined:  # something was recorded or taken in meanwhile
            worked = self.worked_out()
        self._put(worked)
        self.seq = self.journal.last_seq
        if self.seq:
            self.clock.last = self.journal.at(self.seq)
        for listener in self._listeners:
            listener(())

    def _change_plan(self) -> None:
        """Works everything out anew: a plan was accepted, here or in another window."""
        if self.journal.joined is not None:
            self._put(self.worked_out())
            return
        entries = [entry for entry in self.journal.entries() if entry.seq <= self.seq]
        plans = (entry for entry in reversed(entries) if isinstance(entry.fact, PlanRevised))
        loaded = self._in_force(next(plans, None))
        spelt = Spelt(loaded.plan)
        self._put(WorkedOut(loaded, spelt, fold(loaded.plan, map(spelt.entry, entries))))

    def _put(self, worked: WorkedOut) -> None:
        self.loaded, self.digest, self.state = worked.loaded, worked.loaded.digest, worked.state
        self.journal.spelt = worked.spelt.entry
        self._windows.rename(worked.spelt.surface)

    def _revised(self, plan: Loaded) -> PlanRevised:
        return PlanRevised(plan.digest, plan.text, plan.files, self.office_plans.get(plan.digest))

    def _plan_revised(self, draft: Draft) -> Draft:
        if self._plan_draft is None:  # one and the same at every try, or a retry would keep the text twice
            fact = self._revised(self.loaded)
            self._plan_draft = dataclasses.replace(draft, id=self.ids(), typed="", fact=fact, replaces=None)
        return self._plan_draft

    def _in_force(self, revised: Entry | None) -> Loaded:
        """The plan that the journal took over last; the job file's own where it took none, or one nobody can read."""
        taken = revised.fact if revised is not None and isinstance(revised.fact, PlanRevised) else None
        known = self.plan_file.latest
        if known is not None and taken is not None and taken.digest == known.digest:
            return known
        if taken is not None:
            try:
                return understand(taken.text, PLAN_NAME, taken.files.__getitem__)
            except (PlanProblemsError, KeyError):
                pass  # a plan of another version of the program; the job file's own is better than none
        return known or self.plan_file.read()


def _is_same(one: str, other: str) -> bool:
    """Whether two entries' laptops are one, whatever it was called when."""
    if one == other:
        return True
    from gradecheck.joining.names import identity  # few jobs have several laptops

    return identity(one) == identity(other)
