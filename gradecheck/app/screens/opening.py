"""Where a long journal is read: how far that is, and a box that takes what is typed meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.worker import Worker, get_current_worker

from gradecheck.app.bindings import bind
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines, TextLine
from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session, job_folder


class _LeftError(Exception):
    """Nobody waits for the job any more."""


class OpeningScreen(EntryScreen):
    """The first picture does not wait for the journal; Enter does, for nobody has seen yet which point is next."""

    TITLE = _("Opening")
    ALWAYS = ("back", "keys")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", _("Back to the jobs; nothing is lost"), show=True),
    ]

    def __init__(self, job: Path, typed: str = "") -> None:
        """`typed` stands in the box from the start."""
        super().__init__()
        self._typed = typed
        self._job = job
        self._reading: Worker[None] | None = None
        self._then: Callable[[str], None] | None = None

    def compose(self) -> ComposeResult:
        """How far it is, and the box as it stands on Check."""
        yield TextLine(id="head")
        yield TextLine(id="progress")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="reading", placeholder=_("rod reading, point name, or ? for help"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Begins to read when the first picture stands, beside the drawing."""
        self.query_one("#head", TextLine).say(f" {job_folder(self._job).name}")
        self._tell(0)
        self.entry.value = self._typed
        self.say(_("What you type now stays in the box."))
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self._reading = self.run_worker(self._read, thread=True, exit_on_error=False)

    def _read(self) -> None:
        worker = get_current_worker()

        def on_progress(entries: int) -> None:
            if worker.is_cancelled:
                raise _LeftError
            self.app.call_from_thread(self._tell, entries)

        try:
            session = self.host.read_job(self._job, on_progress)
        except _LeftError:
            return
        except (PlanProblemsError, JournalError) as wrong:
            self.app.call_from_thread(self._refused, wrong)
        else:
            self.app.call_from_thread(self._opened, session)

    def _tell(self, entries: int) -> None:
        if self.is_attached:
            self.query_one("#progress", TextLine).say(
                _("Reading the log: {entries:,} entries so far.", entries=entries)
            )

    def _opened(self, session: Session) -> None:
        if self.is_attached:
            self._then = lambda text: self.host.take_up(session, text)
            self._go_on()
        else:
            session.close()

    def _refused(self, wrong: PlanProblemsError | JournalError) -> None:
        if self.is_attached:
            self._then = lambda text: self._give_up(text, wrong)
            self._go_on()

    def _give_up(self, text: str, wrong: PlanProblemsError | JournalError) -> None:
        self.host.report_later(text)
        self.host.refuse_job(self._job, wrong)

    def on_screen_resume(self) -> None:
        """The help that lay over this screen is gone."""
        self.call_later(self._go_on)

    def _go_on(self) -> None:
        if self._then is not None and self.app.screen is self:
            then, self._then = self._then, None
            self.host.hold()
            self.run_worker(self._leave_for(then))

    async def _leave_for(self, then: Callable[[str], None]) -> None:
        """Goes on when all that was typed so far is in the box."""
        await self.settled()
        then(self.entry.value)

    async def commit(self, text: str) -> None:
        """Nothing is taken before the points are up: it stays in the box, and what comes behind is held."""
        if text.strip():
            self.entry.put(text)
            self.host.hold(entered=True)
            self.complain(_("Not entered yet: the log is still loading. Press Enter again when the points are up."))

    async def leave(self) -> None:
        """Back to the jobs; what was being read is given up."""
        if self._reading is not None:
            self._reading.cancel()
        self.host.close_job()
