"""A crew that does anything at all in several windows, and is held against a day in plain fractions all the while."""

from __future__ import annotations

import contextlib
import tempfile
from collections import Counter
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path
from typing import Any, ClassVar

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.journal.facts import Draft, Entry, PlanRevised
from gradecheck.journal.store import NotSavedError
from gradecheck.measure.quantities import inches
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.faults.plain_day import Day, Line
from tests.journal_strategies import JOB, everything_known

MOST_WINDOWS = 3
SURFACES = {
    "W1": Surface("walk", "W1", "finish"),
    "W2": Surface("walk", "W2", "finish"),
    "C1": Surface("court", "C1", "finish"),
}
MORNING = datetime(2031, 4, 7, 8, tzinfo=timezone(timedelta(hours=2)))

which = st.integers(0, 99)
"""Chosen among what there is at the time."""
rods = st.integers(44 * 16, 52 * 16).map(lambda count: Fraction(count, 16))


class Crew(RuleBasedStateMachine):
    """Some windows on one job, and what the people at them may do next."""

    home: ClassVar[Path]
    session: ClassVar[type[Session]]
    counts: ClassVar[Counter[str]]

    def __init__(self) -> None:
        super().__init__()
        self._at_the_end = contextlib.ExitStack()
        self.home.mkdir(parents=True, exist_ok=True)
        self._folder = Path(self._at_the_end.enter_context(tempfile.TemporaryDirectory(dir=self.home)))
        (self._folder / "job.yaml").write_text(JOB, encoding="utf-8")
        self._day = Day()
        self._now = MORNING
        self._marks = 0
        self._last: tuple[Draft, Entry] | None = None
        self._windows = [self._opened()]
        self.counts["days"] += 1

    def _opened(self) -> Session:
        session = self.session(self._folder, by="RK", clock=self._clock)
        self._at_the_end.callback(session.close)
        return session

    def _clock(self) -> datetime:
        self._now += timedelta(seconds=1)
        return self._now

    def _window(self, which: int, *, fresh: bool = True) -> Session:
        window = self._windows[which % len(self._windows)]
        if fresh:
            window.catch_up()
        return window

    def _record(self, window: Session, action: Action | Draft) -> Entry:
        draft = window.draft(action)
        entry = window.record(draft)
        assert entry.id == draft.id, "another entry than the one that was drafted was saved"
        self._last = draft, entry
        return entry

    def _do(self, window: Session, draft: Draft, kind: str, **more: Any) -> None:
        self._record(window, draft)
        self._day.do(Line(draft.id, kind, **more))

    def _refused(self) -> None:
        self.counts["refused"] += 1

    # -- windows

    @precondition(lambda self: len(self._windows) < MOST_WINDOWS)
    @rule()
    def open_another_window(self) -> None:
        self._windows.append(self._opened())

    @rule(which=which)
    def open_a_window_again(self, which: int) -> None:
        self._window(which, fresh=False).close()
        self._windows[which % len(self._windows)] = self._opened()

    # -- the instrument

    @rule(which=which, choice=which, rod=rods)
    def set_up(self, which: int, choice: int, rod: Fraction) -> None:
        window = self._window(which)
        marks = ["DOOR", "KERB", *(line.name for line in self._day.standing("mark"))]
        mark = marks[choice % len(marks)]
        try:
            draft = window.draft(actions.set_up(window.state, mark, typed(rod)))
        except Refusal:
            assert self._day.elevation(mark) is None, f"a setup on {mark} was refused"
            self._refused()
            return
        assert self._day.elevation(mark) is not None, f"a setup on {mark}, which is not known, was taken"
        self._do(window, draft, "set-up", name=mark, rod=rod)

    @rule(which=which, mark=st.sampled_from(("DOOR", "KERB")), off=st.sampled_from((0, 1, -2, 4, -30)))
    def look_at_a_mark_again(self, which: int, mark: str, off: int) -> None:
        window = self._window(which)
        newest = next((line for line in reversed(self._day.lines) if line.kind == "set-up"), None)
        height = self._day.height(newest.id) if newest is not None else None
        known = self._day.elevation(mark)
        assert known is not None
        rod = (height if height is not None else 48) - known - Fraction(off, 16)
        try:
            draft = window.draft(actions.recheck(window.state, mark, typed(rod)))
        except Refusal:
            assert height is None, "a look at a mark was refused"
            self._refused()
            return
        assert newest is not None
        assert height is not None, "a look was taken from a setup whose height is not known"
        self._do(window, draft, "recheck", name=mark, rod=rod, setup=newest.id)

    # -- what is seen from it

    @rule(which=which, fresh=st.booleans(), point=st.sampled_from(sorted(SURFACES)), rod=rods)
    def read(self, which: int, fresh: bool, point: str, rod: Fraction) -> None:
        window = self._window(which, fresh=fresh)
        stood = window.state.setup
        self._hold_against_day(window, fresh=fresh)
        try:
            draft = window.draft(actions.reading(window.state, SURFACES[point], typed(rod)))
        except Refusal:
            assert stood is None, "a reading was refused"
            self._refused()
            return
        assert stood is not None, "a reading was taken where no setup stands"
        self._do(window, draft, "reading", name=point, rod=rod, setup=stood.id)

    @rule(which=which, fresh=st.booleans(), rod=rods)
    def make_a_mark(self, which: int, fresh: bool, rod: Fraction) -> None:
        window = self._window(which, fresh=fresh)
        stood = window.state.setup
        self._marks += 1
        name = f"TP{self._marks}"
        try:
            draft = window.draft(actions.mark(window.state, name, typed(rod)))
        except Refusal:
            assert stood is None, "a mark was refused"
            self._refused()
            return
        assert stood is not None, "a mark was made where no setup stands"
        self._do(window, draft, "mark", name=name, rod=rod, setup=stood.id)

    @rule(which=which)
    def note(self, which: int) -> None:
        window = self._window(which, fresh=False)
        self._do(window, window.draft(actions.note("dry", "walk")), "note")

    # -- what is put right

    @precondition(lambda self: self._day.lines)
    @rule(which=which, choice=which, named=which)
    def strike(self, which: int, choice: int, named: int) -> None:
        window, line = self._window(which), self._line(choice)
        try:
            draft = window.strike(line.entries[named % len(line.entries)], "wrong place")
        except Refusal:
            assert line.struck, "what stands could not be struck"
            self._refused()
            return
        assert not line.struck, "it was struck twice"
        self._day.replace(line, self._record(window, draft).id, None)

    @precondition(lambda self: self._day.lines)
    @rule(which=which, choice=which, named=which, rod=rods)
    def correct(self, which: int, choice: int, named: int, rod: Fraction) -> None:
        window, line = self._window(which), self._line(choice)
        right = {"set-up": True, "mark": True, "reading": self._day.height(line.setup) is not None}
        possible = not line.struck and right.get(line.kind, False)
        try:
            draft = window.correct(line.entries[named % len(line.entries)], typed(rod))
        except Refusal:
            assert not possible, f"a {line.kind} could not be put right"
            self._refused()
            return
        assert possible, f"a {line.kind} was put right that can't be"
        self._day.replace(line, self._record(window, draft).id, rod)

    @precondition(lambda self: len(self._windows) > 1 and self._day.lines)
    @rule(which=which, choice=which)
    def strike_in_two_windows(self, which: int, choice: int) -> None:
        one, other, line = self._window(which), self._window(which + 1), self._line(choice)
        if line.struck:
            return
        drafts = one.strike(line.id, "wrong place"), other.strike(line.id, "keyed twice")
        self._day.replace(line, self._record(one, drafts[0]).id, None)
        try:
            other.record(drafts[1])
        except NotSavedError as wrong:
            assert "another window" in str(wrong)  # noqa: PT017
            return
        raise AssertionError("two windows struck the same entry")

    @precondition(lambda self: self._last is not None)
    @rule(which=which)
    def try_the_last_one_again(self, which: int) -> None:
        assert self._last is not None
        draft, entry = self._last
        again = self._window(which, fresh=False).record(draft)
        assert again == entry, "a second try was written anew"

    # -- what must be so at all times

    def _line(self, choice: int) -> Line:
        return self._day.lines[choice % len(self._day.lines)]

    @invariant()
    def the_journal_holds_what_was_done_once_and_in_order(self) -> None:
        self.counts["steps"] += 1
        kept = [each.id for each in self._windows[0].journal.entries() if not isinstance(each.fact, PlanRevised)]
        assert kept == self._day.written

    def _hold_against_day(self, window: Session, *, fresh: bool) -> None:
        if not fresh:
            return
        state, day = window.state, self._day
        told = {
            surface.point: [
                (shot.id, (found := state.found(shot, surface)) and found.height, state.in_doubt(shot))
                for shot in shots
            ]
            for surface, shots in state.shots.items()
        }
        readings = day.readings().items()
        assert told == {
            point: [(id_, None if found is None else inches(found), doubt) for id_, found, doubt in shots]
            for point, shots in readings
        }
        for line in day.standing("mark"):
            elevation, wanted = state.mark(line.name), day.elevation(line.name)
            assert (elevation and elevation.height) == (None if wanted is None else inches(wanted)), line.name
        stood, stands = state.setup, day.stands()
        assert (stood and stood.id) == (stands and stands.id), "another setup stands"

    def teardown(self) -> None:
        """Everybody comes to know the same, which is what a window opened now knows."""
        try:
            new = self._opened()
            known = everything_known(new.state)
            for window in self._windows:
                window.catch_up()
                assert everything_known(window.state) == known, "the windows do not know the same"
            self._hold_against_day(new, fresh=True)
            soundness = new.journal.verify()
            assert soundness.fault is None, soundness.fault
            self.counts["entries"] += soundness.entries
            self._hold_log_against_day(new)
        finally:
            self._at_the_end.close()

    def _hold_log_against_day(self, window: Session) -> None:
        pairs = (zip(line.entries, [*line.entries[1:], None], strict=True) for line in self._day.lines)
        after = dict(pair for each in pairs for pair in each)
        lines = [line for line in window.lines() if line.entry.id in after]
        assert len(lines) == len(after)
        assert {line.entry.id: line.replaced_by for line in lines} == after


def typed(rod: Fraction) -> str:
    """The figure as it is keyed."""
    whole, part = divmod(rod, 1)
    return f"{whole} {part.numerator}/{part.denominator}" if part else str(whole)
