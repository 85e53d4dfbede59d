"""The one door for changes: plan, journal and state together; the app and the commands use these verbs."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck.intake import Refusal, instrument
from gradecheck.intake.names import refuse_plan_alike
from gradecheck.journal.facts import (
    KIND_OF,
    BacksightTaken,
    Draft,
    Entry,
    Note,
    PlanRevised,
    Reading,
    Rechecked,
    SetupMade,
    Void,
)
from gradecheck.journal.ids import Ids
from gradecheck.journal.stamps import by_clock
from gradecheck.journal.store import ALL, FILE_NAME, Journal, LogLine, Read, Soundness
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.load import FILE_NAME as PLAN_NAME
from gradecheck.plan.load import Loaded, PlanFile, understand
from gradecheck.plan.model import Plan
from gradecheck.plan.names import folded
from gradecheck.plan.problems import PlanProblemsError, suggestion
from gradecheck.session.clock_watch import ClockWatch, since_boot, told
from gradecheck.session.drafts import Drafts
from gradecheck.session.waiting import said_when_long
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import Surface, fold

if TYPE_CHECKING:
    from gradecheck.plan.changes import Changes
    from gradecheck.state.preview import Preview

CLOCK_UNKNOWN = (
    "This machine's clock can't be right: saved with the time of the entry before, marked “clock unknown”. "
    "Set the clock."
)

Listener = Callable[[Sequence[Entry]], None]


def now() -> datetime:
    """The wall clock, with the local offset from UTC."""
    return datetime.now(UTC).astimezone()


def job_folder(path: Path) -> Path:
    """The job's folder, given that folder or the job file in it."""
    return path.parent if path.name == PLAN_NAME else path


UNDO, UNDONE = "undo", "undone"
"""What is typed, and the reason given, where a reading is taken back."""

AT_ONCE = timedelta(seconds=1)
"""Two windows that read a point so close together can't have known of each other."""


class Session(Drafts):
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
        look_later: bool = False,
        watch: ClockWatch | None = None,
        reading: Callable[[int], None] | None = None,
    ) -> None:
        """Opens the job. Raises `PlanProblemsError` or `JournalError`; nothing is written before the first fact.

        The plan in force is the last one that the journal took over; a job file changed since is only offered, and
        one that can't be read any more keeps nobody from working.
        With `look_later` a job file that the journal knows a plan for is not read before `plan_file.refresh`. The
        wall clock is watched for being set; another one only where a `watch` is given. `reading` hears now and then
        how many entries were read; what it raises ends the reading.
        """
        self.folder = job_folder(path)
        self.plan_file = PlanFile(self.folder / PLAN_NAME)
        if not look_later:
            self.plan_file.refresh()
        journal = Journal(self.folder / FILE_NAME)
        try:
            self.loaded = self._in_force(journal.last_of(KIND_OF[PlanRevised]))
            journal.spelt = Spelt(self.loaded.plan).entry
            entries = Read(journal.entries(), reading)
            state = fold(self.loaded.plan, entries, journal.replacing())
        except BaseException:
            journal.close()
            raise
        super().__init__(
            journal=journal,
            state=state,
            by=by or (entries.last.by if entries.last else ""),
            laptop=laptop,
            digest=self.loaded.digest,
            clock=clock,
            ids=ids or Ids(),
        )
        self.seq = entries.last.seq if entries.last else 0
        self._before = entries.last
        self._listeners: list[Listener] = []
        self._plan_draft: Draft | None = None
        self._compared: tuple[Plan, Plan, Changes] | None = None
        self._elsewhere: dict[Surface, Entry] = {}
        self._here: dict[Surface, Entry] = {}
        self.remark = journal.said
        """What is to be told once, beside what comes next; the next reading ends it."""
        self.say_waiting: Callable[[str], None] | None = None
        """Told, from another thread, when a write has to wait."""
        self._watch = watch or (ClockWatch(clock) if clock is now else None)
        self._ticks = self._watch.ticks if self._watch is not None else since_boot
        self._looked_here: tuple[datetime, float] | None = None
        self._clock_set = self._behind(entries.last)
        self._clock_draft: Draft | None = None

    @property
    def plan(self) -> Plan:
        """The plan in force, with what was changed on site."""
        return self.state.plan

    @property
    def offered(self) -> Loaded | None:
        """The plan in the job file, where it is another than the one in force."""
        read = self.plan_file.latest
        return read if read is not None and read.digest != self.digest else None

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

    def accept_plan(self) -> Draft:
        """That the plan in the job file is in force from here on. Raises Refusal where there is none to take over.

        Nor is one taken over whose names nobody could tell from those the job has.
        """
        offered = self.offered
        if offered is None:
            raise Refusal("The job file is as it was when it was accepted; there is nothing to accept.")
        refuse_plan_alike(self.state, offered.plan)
        return self._draft(PlanRevised(offered.digest, offered.text, offered.files), "")

    def close(self) -> None:
        """Lets the journal go."""
        self.journal.close()

    def listen(self, listener: Listener) -> None:
        """Calls `listener` with the new entries after each change of the state."""
        self._listeners.append(listener)

    # -- writing and adopting

    def write(self, *drafts: Draft) -> list[Entry]:
        """Makes the drafts durable, all or none, after the plan's text where the journal does not know it yet.

        Where the clock was set since the last entry, a note before them says so. Raises `NotSavedError`; the same
        drafts may then be written again. Touches nothing but the journal, and what is to be told.
        """
        plan = [] if self.state.plan_digest == self.digest else [self._plan_revised(drafts[0])]
        clock = self._clock_note(drafts[0])
        with said_when_long(self.say_waiting):
            written = self.journal.append([*plan, *clock, *drafts])
        if drafts[0].clock:
            self.remark = CLOCK_UNKNOWN
        elif clock:
            self.remark = f"{clock[0].typed} That is in the log."
        elif any(isinstance(draft.fact, Reading) for draft in drafts):
            self.remark = ""
        self._clock_draft = None
        return written

    def adopt(self, written: Sequence[Entry]) -> None:
        """Takes written entries, and any that another window wrote before them, into the state."""
        news = list(written)
        if [entry.seq for entry in news] != [*range(self.seq + 1, self.seq + 1 + len(news))]:
            news = list(self.journal.entries(after=self.seq))
        for entry in news:
            self._apply(entry)
            self._note_window(entry)
            if isinstance(entry.fact, SetupMade | Rechecked) and entry.window == self.window:
                self._looked_here = entry.at, self._ticks()
        if news and news[-1].seq > self.seq:
            self.seq, self._before = news[-1].seq, news[-1]
        if any(isinstance(entry.fact, PlanRevised) and entry.fact.digest != self.digest for entry in news):
            self._change_plan()
        for listener in self._listeners:
            listener(news)

    def record(self, *drafts: Draft) -> Entry:
        """Writes and adopts; returns the last entry, which is on disk then. Raises `NotSavedError`."""
        written = self.write(*drafts)
        self.adopt(written)
        return written[-1]

    def preview(self, draft: Draft) -> Preview:
        """What would change if the draft were recorded: nothing is."""
        from gradecheck.state.preview import preview, verdicts

        fields = {each.name: getattr(draft, each.name) for each in dataclasses.fields(Draft)}
        trial = fold(self.loaded.plan, [*self.journal.entries(), Entry(seq=self.seq + 1, hash="", **fields)])
        known = {surface for surface, _ in self.state.doubts()}
        doubted = [surface for surface, _ in trial.doubts() if surface not in known]
        return preview(verdicts(self.state), verdicts(trial), doubted)

    def question(self, surface: Surface, typed: str) -> str | None:
        """What to ask before a figure is kept: another window just read the point, or it looks like a slip."""
        if (other := self._elsewhere.get(surface)) is not None:
            told = f"{other.typed}, {other.by}"
            return f"{surface.point} was just read in another window ({told}). Enter again keeps this too."
        return super().question(surface, typed)

    def _note_window(self, entry: Entry) -> None:
        """Remembers what another window read, until it is read here or struck."""
        if isinstance(entry.fact, Reading):
            surface = Surface(entry.fact.area, entry.fact.point, entry.fact.stage)
            if entry.window == self.window:
                other, self._here[surface] = self._elsewhere.pop(surface, None), entry
            else:
                other, self._elsewhere[surface] = self._here.get(surface), entry
            if other is not None and abs(entry.at - other.at) <= AT_ONCE:
                # Neither window could ask: both were written before either saw the other.
                told = f"{entry.typed}, {entry.by}" if entry.window != self.window else f"{other.typed}, {other.by}"
                self.remark = f"{surface.point} was read in another window at the same time ({told}); see the log."
        elif entry.replaces is not None:
            gone = [surface for surface, read in self._elsewhere.items() if read.id == entry.replaces]
            for surface in gone:
                del self._elsewhere[surface]

    def catch_up(self) -> bool:
        """Takes over what other windows wrote; whether there was anything."""
        if self.journal.last_seq == self.seq:
            return False
        self.adopt(list(self.journal.entries(after=self.seq)))
        return True

    # -- looking back

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[LogLine]:
        """The log: the latest entries before that place, struck ones marked."""
        return self.journal.lines(area, before, limit)

    def all_lines(self, area: str | None = None) -> list[LogLine]:
        """The whole log, struck entries marked."""
        return self.journal.lines(area, limit=ALL)

    def known_mark(self, typed: str) -> tuple[str, Elevation]:
        """The mark meant, and its elevation. Raises Refusal."""
        return instrument.known_mark(self.state, typed)

    def new_mark_name(self, typed: str) -> str:
        """A name that a new mark may have. Raises Refusal."""
        return instrument.new_mark_name(self.state, typed)

    def next_mark_name(self) -> str:
        """A name to offer for a new mark: what a datum waits for, else the next turning point."""
        state = self.state
        waiting = (datum.mark for datum in state.plan.datums.values() if state.zero_of(datum.name) is None)
        taken = {name.casefold() for name in (*state.book.marks(), *state.plan.names)}
        return next(waiting, None) or next(name for n in count(1) if (name := f"TP{n}").casefold() not in taken)

    def mark_question(self, name: str) -> str | None:
        """What to ask before a spot is given that name; None where no mark has it."""
        return instrument.retaken(self.state, name)

    def read_surface(self, point: str) -> Surface:
        """The point's last surface that was read, the topmost first. Raises Refusal where none was."""
        name = self.name_of(point)
        area = self.plan.area_of.get(name) if name else None
        if name is None or area is None:
            raise Refusal(f"There is no point “{point}” in this job.{suggestion(point, self.plan.area_of)}")
        read = (Surface(area, name, stage) for stage in reversed(self.plan.areas[area].stages))
        found = next((surface for surface in read if self.state.latest(surface)), None)
        if found is None:
            raise Refusal(f"{name} was not read yet; only what was read can become a mark.")
        return found

    def last_backsight(self) -> Entry | None:
        """The last backsight taken for a setup that does not stand yet."""
        if not self.state.sights:
            return None
        lines = reversed(self.lines(limit=50))
        return next(
            (line.entry for line in lines if isinstance(line.entry.fact, BacksightTaken) and not line.replaced_by),
            None,
        )

    def last_reading(self) -> Entry | None:
        """The last reading that counts, as it was put right if it was."""
        shots = (shots[-1] for shots in self.state.shots.values())
        last = max(shots, key=lambda shot: shot.seq, default=None)
        place = self.journal.standing(last.id) if last else None
        return place[1] if place else None

    # -- taking back

    def undo(self) -> Draft:
        """Takes back this person's last reading, correction of one, or strike: what was there before counts again.

        An undo is no act of its own: asked again, it goes on to the act before. Raises Refusal where there is none.
        """
        undone: set[str] = set()
        for entry in self._backwards():
            if entry.by != self.by or not isinstance(entry.fact, Reading | Void):
                continue
            if (act := self._undone_by(entry)) is not None:
                undone.add(act.id)
            elif entry.id not in undone and (place := self.journal.standing(entry.id)) is not None:
                _, last = place
                if self._act_of(last).id == entry.id:  # else somebody else changed it since
                    before = self._replaced(entry)
                    fact, typed = (before.fact, before.typed) if before is not None else (Void(UNDONE), UNDO)
                    return self._draft(fact, typed, last.id)
        raise Refusal(f"{self.by or 'Nobody'} has no reading or strike to undo.")

    def place_of(self, draft: Draft) -> tuple[Entry, Entry]:
        """The first entry of the place in the log that the draft changes, and the one that stands there now."""
        place = self.journal.standing(draft.replaces or "")
        if place is None:
            raise Refusal("That is not in the log.")
        return place

    def _backwards(self) -> Iterator[Entry]:
        before = None
        while lines := self.lines(before=before, limit=100):
            yield from (line.entry for line in reversed(lines))
            before = lines[0].entry.seq

    def _replaced(self, entry: Entry) -> Entry | None:
        return self.journal.find(entry.replaces) if entry.replaces is not None else None

    def _undone_by(self, entry: Entry) -> Entry | None:
        """The reading, correction or strike that the entry undid, None where it is no undo."""
        replaced = self._replaced(entry)
        if replaced is None:
            return None
        act = self._act_of(replaced)
        if entry.fact == Void(UNDONE) and entry.typed == UNDO:
            return act
        before = self._replaced(act)
        return act if before is not None and before.fact == entry.fact else None

    def _act_of(self, entry: Entry) -> Entry:
        """The entry itself or, where it only put one back, that one."""
        undone = None if isinstance(entry.fact, Void) else self._undone_by(entry)
        before = None if undone is None else self._replaced(undone)
        return entry if before is None else self._act_of(before)

    def verify(self) -> Soundness:
        """Whether the journal is as it was written."""
        return self.journal.verify()

    def entry(self, named: str) -> Entry:
        """The entry with that number or id. Raises Refusal when there is none."""
        found = None
        if named.isascii() and named.isdigit():
            found = self.journal.at(int(named)) if len(named) < 10 else None
        elif named.isprintable():
            found = self.journal.find(named)
        if found is None:
            raise Refusal(f"There is no entry “{named}” in the log; the log shows their numbers.")
        return found

    @property
    def view_only(self) -> str:
        """Why nothing can be recorded in this job; empty where it can."""
        return self.journal.view_only

    @property
    def since_look(self) -> timedelta | None:
        """How long ago the setup was last held against a mark, however the clock was set; None if unknown."""
        stood = self.state.setup
        looked = self.state.looked(stood.id) if stood else None
        told = self._watch is not None or by_clock(self.clock())[2]
        return self.passed_since(looked) if told and looked else None

    def passed_since(self, moment: datetime) -> timedelta | None:
        """How long ago the last look at a mark was, which was at that moment, by what nobody can set.

        A look from this window is known by the ticks since then, an earlier one by the clock as it was first seen
        here; where it was dead both then and now, by what it showed, unless it was begun anew since.
        """
        if self._looked_here is not None and self._looked_here[0] == moment:
            return timedelta(seconds=self._ticks() - self._looked_here[1])
        passed = self._watch.passed_since(moment) if self._watch is not None else None
        return passed if passed is not None else self._passed_by_dead_clock(moment)

    def _passed_by_dead_clock(self, moment: datetime) -> timedelta | None:
        now, last = self.clock(), self._before
        if not by_clock(now)[2] or last is None:
            return None
        looks = (self.journal.last_of(KIND_OF[kind]) for kind in (Rechecked, SetupMade))
        look = next((each for each in looks if each is not None and each.at == moment), None)
        if look is None or not (look.laptop == last.laptop == self.laptop):
            return None
        try:
            then, since = datetime.fromisoformat(look.clock), datetime.fromisoformat(last.clock)
            return now - then if then <= since <= now else None
        except (ValueError, TypeError, OverflowError):  # one of them was believed, or shows no moment there is
            return None

    def name_of(self, typed: str) -> str | None:
        """The point or mark meant, whatever its capitals."""
        return self.plan.names.get(folded(typed))

    # -- within

    def _apply(self, entry: Entry) -> None:
        if entry.replaces is None:
            self.state.apply(entry, entry)
            return
        replaced = self.journal.find(entry.replaces)
        place = self.journal.standing(entry.replaces)
        if replaced is not None and place is not None:
            first, _ = place
            self.state.retract(first, replaced.fact)
            self.state.apply(first, entry)

    def _change_plan(self) -> None:
        """Works everything out anew: a plan was taken over, here or in another window."""
        entries = [entry for entry in self.journal.entries() if entry.seq <= self.seq]
        plans = (entry for entry in reversed(entries) if isinstance(entry.fact, PlanRevised))
        self.loaded = self._in_force(next(plans, None))
        self.digest = self.loaded.digest
        spelt = Spelt(self.loaded.plan)
        self.journal.spelt = spelt.entry
        self.state = fold(self.loaded.plan, map(spelt.entry, entries))
        self._elsewhere = {spelt.surface(surface): entry for surface, entry in self._elsewhere.items()}

    def _plan_revised(self, draft: Draft) -> Draft:
        if self._plan_draft is None:  # one and the same at every try, or a retry would keep the text twice
            fact = PlanRevised(self.digest, self.loaded.text, self.loaded.files)
            self._plan_draft = dataclasses.replace(draft, id=self.ids(), typed="", fact=fact, replaces=None)
        return self._plan_draft

    def _behind(self, last: Entry | None) -> timedelta:
        """By how much the clock was set back since this laptop wrote its last entry, as a new start finds it."""
        if self._watch is None or last is None or not self.laptop or last.laptop != self.laptop:
            return timedelta()
        return -self._watch.behind(last.at)

    def _clock_note(self, draft: Draft) -> list[Draft]:
        """A note that the clock was set, where it was since the last entry; the same one at every try."""
        if self._watch is not None:
            self._clock_set += self._watch.set_by()
        if draft.clock:  # each entry is marked then, which says more
            self._clock_set = timedelta()
        if self._clock_draft is None and self._clock_set:
            says = told(self._clock_set)
            self._clock_set = timedelta()
            self._clock_draft = dataclasses.replace(
                draft, id=self.ids(), typed=says, fact=Note(None, says), replaces=None
            )
        return [self._clock_draft] if self._clock_draft is not None else []

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
