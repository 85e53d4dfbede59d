"""The app: which screen is up, which job is open, and the one writer that the screens hand their drafts to."""

from __future__ import annotations

import asyncio
import contextlib
import gc
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual import events
from textual.actions import ActionParseResult
from textual.app import App, SystemCommand
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.css.query import NoMatches
from textual.dom import DOMNode
from textual.driver import Driver
from textual.reactive import var
from textual.screen import Screen
from textual.widgets import Input

from gradecheck.actions import Action, Refusal
from gradecheck.app import bindings, early, themes
from gradecheck.app.flood import MOST_AT_ONCE, put_up_gate
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import GuideScreen, KeysScreen
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Entry, PlanRevised, SignedOff
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.measure.notation import Units
from gradecheck.places import clear_folder
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder
from gradecheck.system import keymap, trail
from gradecheck.system.running import Window
from gradecheck.system.settings import Settings, made_here, read_settings, this_laptop

if TYPE_CHECKING:
    from gradecheck.app.sharing_beside import SharingBeside
    from gradecheck.journal.recovery.others import Others
    from gradecheck.sharing.boards import BoardSource

T = TypeVar("T")

LAST_SECOND = 0.8
"""Seconds; whoever ends a program from outside waits about one."""

COPY_AFTER = 1.0
"""Seconds after a job was opened; by then its first picture stands."""

LONG = 4_000_000
"""Bytes of a journal, some six thousand entries, that are read behind the first picture."""

COLLECTS_AFTER = 0.7
"""Seconds from the start until garbage is looked for; by then the first picture stands."""

CATCHES_UP_EVERY = 1.5
"""Seconds between looks at what other windows recorded."""

LOOKS_EVERY = 3.0
"""Seconds between looks at the job file."""

WAYS_OUT = ("quit", "leave")
"""What leaves the program, whatever it is waiting for."""

AT_THE_LATEST = 5.0
"""Seconds after which a program that was told to end has ended."""


class GradeApp(App[int]):
    """Opens jobs; everything that happens to a job goes through its session."""

    CSS_PATH = "gradecheck.tcss"
    TITLE = "gradecheck"
    BINDINGS: ClassVar[list[BindingType]] = [
        bindings.bind("quit", "leave", _("Leave; everything entered is already saved")),
        # No priority: a key that overtakes the text typed before it would leave without asking about that.
        Binding("ctrl+q", "leave", _("Quit"), id="leave", show=False, priority=False),
        bindings.bind("theme", "next_theme", _("Colors for sun, night or plain")),
    ]
    VERTICAL_BREAKPOINTS = [(0, "-short"), (22, "-tall")]

    changes: var[int] = var(0, init=False)
    """Goes up with each change of the open job's state; screens watch it."""

    offers: var[int] = var(0, init=False)
    """Goes up when the job file is found changed."""

    copies: var[int] = var(0, init=False)
    """Goes up when a share by the folder of the settings has ended."""

    def __init__(
        self,
        folder: Path,
        job: Path | None = None,
        *,
        ascii_only: bool = False,
        theme: str = "",
        clock: Callable[[], datetime] = now,
        settings: Settings | None = None,
        board: BoardSource | None = None,
    ) -> None:
        """The board, where one is given, stands in the place of the list of jobs; its jobs are only looked at."""
        super().__init__()
        self.board = board
        self._looked_at: tuple[Path, str] | None = None
        """A copy of a job of the board, and by what the board knows that."""
        self.settings = settings or Settings()
        keymap.use(self.settings.keys)
        self._bindings = bindings.as_chosen(self._bindings)
        self.folder = folder
        self.ascii_only = ascii_only
        self.session: Session | None = None
        self._window: Window | None = None
        self._job = job
        self._clock = clock
        self.went_on: dict[Path, Path] = {}
        self._copied = ""
        self._asked_about: str | None = None
        self._copying: threading.Thread | None = None
        self.sharing: SharingBeside | None = None
        """Where the settings name a folder to share by."""
        self._to_copy: Path | None = None
        # One writer, off the screen's thread: a slow stick may hold up the word "saved", never the next key.
        self._writer = ThreadPoolExecutor(max_workers=1, thread_name_prefix="journal")
        self._early: list[early.Typed] = []
        self._rest: list[early.Typed] = []
        self._named: list[str] = []
        self._holding = False
        self._entered = False
        self._raw = ""
        self._not_reported: list[str] = []
        # What looks through the state in a thread must not meet what is taken into it meanwhile.
        self._in_use = asyncio.Lock()
        self._put_on(theme or self.settings.theme or themes.SUN.name)

    def get_driver_class(self) -> type[Driver]:
        """What speaks to the terminal, reading from it through the gate that floods do not pass."""
        driver = super().get_driver_class()
        put_up_gate()
        return driver

    # -- keys that come while one screen gives way to another, as `early` says

    @property
    def is_holding(self) -> bool:
        """Whether keys are held back until what was done is on the screen."""
        return bool(self._early) or self._holding or not _is_seen(self.screen)

    async def on_event(self, event: events.Event) -> None:
        """Holds back what is typed while another screen is on its way; everything else goes its usual way."""
        if (
            not isinstance(event, events.Key | events.Paste)
            or event.is_forwarded
            or (isinstance(event, events.Key) and self._passes(event.key))
        ):
            await super().on_event(event)
        elif self._holding or not _is_seen(self.screen):
            self._early.append(event)
        elif self._rest and self._is_rest(event):
            pass
        else:
            await self._let_through(event)

    async def _let_through(self, event: events.Key | events.Paste) -> None:
        screen, focused = self.screen, self.focused
        may_lead_away = isinstance(event, events.Key) and self._may_lead_away(screen, event)
        self._holding = may_lead_away
        await super().on_event(event)
        if not may_lead_away:
            return
        # Behind the key in every queue that it goes through; by then it is done.
        if isinstance(screen, EntryScreen):
            (focused or screen).call_later(screen.post_message, EntryBox.Answered())
        else:
            (focused or screen).call_later(screen.call_later, self.call_later, self.release)

    def _is_rest(self, event: events.Key | events.Paste) -> bool:
        """Whether it goes on with a figure begun too early to be taken: no part of one becomes a reading."""
        written = early.texts([*self._rest, event])
        writes = isinstance(event, events.Paste) or event.is_printable or event.key in ("enter", "backspace")
        if writes and isinstance(self.screen, EntryScreen):
            self.screen.tell_not_taken(early.not_taken([*self._named, written[0]]))
        self._rest = [*self._rest, event] if writes and len(written) == 1 else []
        return writes

    def _passes(self, key: str) -> bool:
        if key in map(bindings.key_of, WAYS_OUT):
            return True
        seen = isinstance(screen := self.screen, EntryScreen) and screen.seen
        return isinstance(screen, EntryScreen) and seen and key in map(bindings.key_of, screen.ALWAYS)

    def _may_lead_away(self, screen: Screen[Any], event: events.Key) -> bool:
        if not isinstance(screen, EntryScreen):
            return isinstance(screen, LeftOnceScreen) and not screen.is_modal
        if event.key == "enter":
            typed, self._raw = self._raw, ""
            return screen.may_leave(typed)
        if event.is_printable:
            self._raw += event.character or ""
        return event.key in bindings.own(screen)

    def hold(self, *, entered: bool = False) -> None:
        """Holds back what is typed until another screen is up; `entered`: all of it came behind an Enter."""
        self._holding, self._entered = True, self._entered or entered

    async def release(self) -> None:
        """What the key before did is done: where its screen is still up, what was typed since takes effect."""
        if self._entered or not _is_seen(self.screen):
            return
        self._holding = False
        while self._early and not self._holding:
            await self._let_through(self._early.pop(0))

    def see(self, screen: LeftOnceScreen[Any]) -> None:
        """The screen is drawn: what was typed before stands in its box, and what came behind an Enter is named."""
        if self.screen is not screen:
            return
        screen.seen = True
        trail.note("screen", name=type(screen).__name__)
        first, *behind = early.texts(self._early)
        whole = bool(behind)
        begun = whole and bool(behind[-1]) and isinstance(screen, EntryScreen)
        self._rest = _behind_the_last_enter(self._early) if begun else []
        self._named = [*self._not_reported, *behind[:-1]]
        if self._entered:
            first, behind = "", [first, *behind]
        self._early.clear()
        self._holding = self._entered = False
        self._raw = first
        if isinstance(screen, EntryScreen):
            screen.take_early(first, early.not_taken([*self._not_reported, *behind]), whole=whole)
            self._not_reported.clear()
        elif boxes := screen.query(Input):
            boxes.first().insert_text_at_cursor(first)
            self._not_reported += behind
        else:
            self._not_reported += [first, *behind]

    def report_later(self, text: str) -> None:
        """Typed for a screen that did not come up: the next with a box says that it was not taken."""
        self._not_reported.append(text)

    def on_terminal_flooded(self) -> None:
        """Says that what came at once was too much; the box is empty again by then."""
        if isinstance(screen := self.screen, EntryScreen):
            # Behind the keys that passed: the box and the screen still have something to say of those.
            screen.entry.call_later(screen.post_message, EntryBox.Flooded(MOST_AT_ONCE))

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own color names, for themes that are not ours."""
        return themes.SUN.variables

    def _put_on(self, wanted: str) -> None:
        """Puts on the colors before anything is drawn, so that the style sheet is read once only."""
        for theme in (*themes.OURS, *themes.SIXTEEN):
            self.register_theme(theme)
        self._fitting = themes.fitting(wanted, no_color=self.no_color, color_system=self.console.color_system)
        if self._fitting in {theme.name for theme in themes.OURS}:
            self.set_reactive(App.theme, self._fitting)
            self.stylesheet.set_variables(self.get_css_variables())

    def on_mount(self) -> None:
        """Shows the job or the jobs."""
        # A terminal's own colors come through only where the theme is put on in Textual's own way.
        self.theme = self._fitting
        if sys.platform != "win32":
            _when_signalled(signal.SIGTERM, self._asked_to_end)
            _when_signalled(signal.SIGHUP, self._hung_up)
        self.set_timer(COLLECTS_AFTER, _collect_garbage_again)
        self.set_timer(COLLECTS_AFTER, self._look_at_plan)
        self.set_interval(LOOKS_EVERY, self._look_at_plan)
        self.set_interval(CATCHES_UP_EVERY, self._look_at_journal)
        # On top of Textual's own empty screen, because the lowest one can't be switched for another.
        self.push_screen(self._first_screen())

    def _first_screen(self) -> Screen[None]:
        """The job that was named, or the list of jobs."""
        if self._job is None:
            return self._jobs()
        try:
            return self._screen_of(self._job)
        except (PlanProblemsError, JournalError) as wrong:
            return self._refusal(self._job, wrong)

    def switch_screen(self, screen: Screen[Any] | str) -> AwaitComplete:
        """Puts another screen in the place of the one that is worked on, though the palette may lie over that."""
        while self.screen.is_modal:
            self.pop_screen()
        return super().switch_screen(screen)

    def open_job(self, job: Path, typed: str = "") -> None:
        """Opens a job, a long one behind a first picture; `typed` stands in its box.

        Raises `PlanProblemsError` or `JournalError`.
        """
        self.switch_screen(self._screen_of(job, typed))

    def _screen_of(self, job: Path, typed: str = "") -> Screen[None]:
        """Check, or where the journal is long the screen on which it is read."""
        if _is_long(job_folder(job) / JOURNAL_NAME):
            from gradecheck.app.screens.opening import OpeningScreen  # few ever see it

            return OpeningScreen(job, typed)
        self._adopt(self.read_job(job))
        return CheckScreen(typed)

    def read_job(self, job: Path, on_progress: Callable[[int], None] | None = None) -> Session:
        """The job's session, read by whoever calls; `on_progress` hears of entries. Raises as `open_job`."""
        closed = _("this is the board's copy of the job") if self._is_copy(job) else ""
        return Session(
            job, laptop=this_laptop(), clock=self._clock, look_later=True, reading=on_progress, closed=closed
        )

    def _is_copy(self, job: Path) -> bool:
        """Whether it is a copy of a job of the board, only looked at."""
        return self._looked_at is not None and job == self._looked_at[0]

    async def join_to(self, job: Path) -> None:
        """Where what another laptop recorded on a job is taken in, the job not being opened for work.

        It is read beside the screen. Raises `PlanProblemsError` or `JournalError`.
        """
        from gradecheck.app.screens.join import JoinScreen  # few ever see it

        below, before = self.screen, self.session
        session = await asyncio.to_thread(self.read_job, job)
        if self.screen is not below or self.session is not before:  # another key has led on meanwhile
            session.close()
            return
        self._adopt(session)
        self.push_screen(JoinScreen(), lambda _: below.action_again() if isinstance(below, JobsScreen) else None)

    def take_up(self, session: Session, typed: str = "") -> None:
        """Goes to Check with what was read, and with what was typed meanwhile in its box."""
        self._adopt(session)
        self.switch_screen(CheckScreen(typed))

    def refuse_job(self, job: Path, wrong: PlanProblemsError | JournalError) -> None:
        """Says why a job can't be opened, on the screen where that is mended."""
        self.switch_screen(self._refusal(job, wrong))

    def _refusal(self, job: Path, wrong: PlanProblemsError | JournalError) -> Screen[None]:
        if isinstance(wrong, PlanProblemsError):
            from gradecheck.app.screens.problems import ProblemsScreen  # few ever see it

            return ProblemsScreen(job, wrong)
        return self._jobs(str(wrong))

    def _jobs(self, wrong: str = "", chosen: Path | None = None) -> Screen[None]:
        """The list of jobs, or the board; a copy that was looked at is done with then."""
        if self.board is None:
            return JobsScreen(self.folder, wrong, chosen=chosen)
        from gradecheck.app.screens.board import BoardScreen  # few ever see it

        return BoardScreen(self.board, wrong, chosen=self._looked_at[1] if self._looked_at else "")

    def look_at(self, job: Path, key: str, says: str) -> None:
        """Opens a copy of a job of the board, in which nothing can be recorded; `says` is what is missing in it.

        Raises `PlanProblemsError` or `JournalError`.
        """
        self._put_away()
        self._looked_at, self._copied = (job, key), says
        self.open_job(job)

    def _put_away(self) -> None:
        """Takes away the copy that was looked at."""
        if self._looked_at is not None:
            if self.session is not None and self.session.folder == self._looked_at[0]:
                self._let_go()
                self.session = None
            clear_folder(self._looked_at[0])

    def _adopt(self, session: Session) -> None:
        session.listen(self._changed)
        session.listen(self._copy_what_was_saved)
        self._to_copy = None
        self._let_go()
        self.session = session
        # A log of years is a million objects that stay; looked through for garbage they would hold a key for 0.3 s.
        gc.freeze()
        self._window = Window(session.folder)
        remarks = [session.remark, *self.settings.faults]
        if session.folder in self.went_on.values():
            remarks.append(_("Now working in {folder}.", folder=session.folder))
            remarks.append(self._copied)
        elif self._window.last_was_killed:
            remarks.append(_("gradecheck closed unexpectedly; everything marked saved is here."))
        session.remark = " ".join(filter(None, remarks))
        journal = session.journal.path
        if os.path.lexists(journal) and not made_here(session.folder):
            self._to_copy = journal  # only looked at until something is saved there
        else:
            self.set_timer(COPY_AFTER, partial(self._keep_copy, journal))
        self._share_beside(session)

    def _share_beside(self, session: Session) -> None:
        """From here on the job is shared by the folder that the settings name, if they do and it is no rehearsal."""
        if self.sharing is not None:
            self.sharing.leave()
            self.sharing = None
        folder = self.settings.meets_at
        if folder is not None and self._to_copy is None and not (session.state.record.rehearsal or self.board):
            from gradecheck.app.sharing_beside import SharingBeside  # few have a folder

            self.sharing = SharingBeside(self, session, folder, self.settings.share_every)
            if self.screen_stack:
                self.screen.refresh_bindings()

    @property
    def now(self) -> datetime:
        """What this machine's clock shows."""
        return self._clock()

    def share_now(self) -> None:
        """Has the job shared at once, where a folder is named for that: something was finished."""
        if self.sharing is not None:
            self.sharing.share()

    def action_share(self) -> None:
        """The same at a person's wish; what came of it is told."""
        if self.sharing is not None:
            self.tell_shared(self.sharing.ask())

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """There is nothing to share by where the settings name no folder."""
        return self.sharing is not None if action == "share" else super().check_action(action, parameters)

    def tell_shared(self, says: str) -> None:
        """Says what came of a share on the screen that is up, where that has a line for it."""
        if isinstance(screen := self.screen, EntryScreen) and screen.is_mounted and screen.query("#says"):
            screen.say(says)

    def _copy_what_was_saved(self, _: Sequence[Entry]) -> None:
        """Keeps the first copy in a folder that came from elsewhere, once something was saved there."""
        if self._to_copy is not None:
            self.set_timer(COPY_AFTER, partial(self._keep_copy, self._to_copy))
            self._to_copy = None
            if self.session is not None:
                self._share_beside(self.session)

    def _keep_copy(self, journal: Path) -> None:
        """Has the last good copy of the journal kept, in pieces, so that whoever writes need not wait for it."""
        from gradecheck.journal.recovery.backup import try_to_keep_copy  # after the first picture

        self._copying = threading.Thread(target=try_to_keep_copy, args=(journal,), name="copy", daemon=True)
        self._copying.start()

    def on_unmount(self) -> None:
        """Lets the journal go, behind everything that was still to be written."""
        self._writer.shutdown()
        if self._copying is not None:
            self._copying.join(LAST_SECOND)  # a copy of a long journal is made another time
        if self.sharing is not None:
            self.sharing.leave()
        self._let_go()
        gc.unfreeze()  # behind a list of jobs too: all that was kept from the search for garbage may be garbage now
        if self.board is not None:
            self.board.stop()
            self.session = None
            self._put_away()

    def _let_go(self) -> None:
        if self.session is not None:
            self.session.close()
            gc.unfreeze()
        if self._window is not None:
            self._window.close()

    def go_on_in(self, copy: Path, typed: str, says: str = "") -> None:
        """Opens the copy that was made of the open job; the list of jobs is the one of its folder from here on."""
        assert self.session is not None
        self.went_on[self.session.folder] = copy
        self._copied = says
        self.folder = copy.parent
        try:
            self.open_job(copy, typed)
        except (PlanProblemsError, JournalError) as wrong:
            self.refuse_job(copy, wrong)

    def close_job(self) -> None:
        """Back to the list of jobs, on the one that is left."""
        self.switch_screen(self._jobs(chosen=self.session.folder if self.session else None))

    async def _look_at_journal(self) -> None:
        """Takes over what other windows recorded; the look itself stands in line with what is written here."""
        session = self.session
        if session is None:
            return
        with contextlib.suppress(JournalError, RuntimeError):  # the next one that is written tells it
            seq = await asyncio.get_running_loop().run_in_executor(self._writer, lambda: session.journal.last_seq)
            async with self._in_use:
                if self.session is not session:
                    return
                if session.is_behind:
                    await self._take_up(session)
                elif seq > session.seq:
                    session.catch_up()

    async def _take_up(self, session: Session) -> None:
        """Takes up what was taken in of other laptops; of a long job that is worked out beside the screen."""
        worked = await asyncio.get_running_loop().run_in_executor(None, session.worked_out)
        if self.session is session:
            session.take_up(worked)

    async def take_in(self, others: Others) -> int:
        """Has entries of other laptops taken in; returns how many are new here. Raises `NotSavedError`."""
        session = self.session
        assert session is not None
        async with self._in_use:
            take_in = partial(session.journal.take_in, others.rows, others.entries)
            new = await asyncio.get_running_loop().run_in_executor(self._writer, take_in)
            if session.is_behind:
                await self._take_up(session)
        return new

    async def _look_at_plan(self) -> None:
        """Sees whether the job file changed, beside the drawing; a slow stick must not hold up a key."""
        session = self.session
        if session is None:
            return
        before = session.offered, session.plan_file.wrong
        await asyncio.get_running_loop().run_in_executor(None, session.plan_file.refresh)
        if (session.offered, session.plan_file.wrong) != before:  # else what stands on the line must stay there
            self.offers += 1

    def _changed(self, news: Sequence[Entry]) -> None:
        self.changes += 1
        if any(isinstance(entry.fact, SignedOff) for entry in news):
            self.share_now()
        if any(isinstance(entry.fact, PlanRevised) for entry in news):
            # Where another window took it over, the job file as it was read here is the old one, and no offer.
            self.run_worker(self._look_at_plan())

    async def record(self, *actions: Action | Draft) -> Entry:
        """Has the actions written and takes them into the state; they are durable when this returns.

        Raises `NotSavedError`; then nothing has changed.
        """
        assert self.session is not None
        session, screen, loop = self.session, self.screen, asyncio.get_running_loop()
        drafts = [session.draft(action) for action in actions]
        with screen.patient() if isinstance(screen, EntryScreen) else contextlib.nullcontext():
            written = await loop.run_in_executor(self._writer, session.write, *drafts)
        async with self._in_use:
            # What changes more than its own place in a job of several laptops is worked out beside the screen.
            worked = await loop.run_in_executor(None, session.worked_out) if session.changes_all(written) else None
            session.adopt(written, worked)
        return written[-1]

    async def beside(self, work: Callable[[], T]) -> T:
        """Has work that looks through the state done in a thread; until it is done, the state stays as it is.

        What is recorded meanwhile, here or in another window, is on the disk, and is taken up then.
        """
        async with self._in_use:
            return await asyncio.get_running_loop().run_in_executor(None, work)

    def action_keys(self) -> None:
        """Shows every key of this screen."""
        screen = self.screen
        if isinstance(screen, KeysScreen | GuideScreen):
            return
        keys = bindings.grouped(self, screen)
        title = screen.TITLE or type(screen).__name__.removesuffix("Screen")
        units = self.session.plan.rod.notation.units if self.session is not None else Units.IN
        page = screen.GUIDE if isinstance(screen, LeftOnceScreen) else "keys"
        self.push_screen(KeysScreen(title, keys, units, page))

    def action_command_palette(self) -> None:
        """Every action by name, in a palette that takes early keys."""
        from gradecheck.app.palette import Palette

        if self.use_command_palette and not Palette.is_open(self):  # type: ignore[arg-type]
            self.push_screen(Palette())  # without a name: one that is being left may still have it

    def action_help_quit(self) -> None:
        """Ctrl+C, which ends other programs: says how to leave this one, and does nothing else."""
        says = _("F12 leaves; everything entered is saved.")
        if isinstance(screen := self.screen, EntryScreen) and screen.query("#says"):
            screen.say_first(says)
        else:
            self.notify(says, markup=False)

    def action_next_theme(self) -> None:
        """Sun, night, plain."""
        self.theme = themes.following(self.theme)

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Does it; what can't be done is said, also where Textual itself runs a screen's action, past its entry."""
        if isinstance(default_namespace, EntryScreen | JobsScreen) and not default_namespace.is_mounted:
            # It was meant for the screen before; here nobody has seen yet what it would do.
            early = _(
                "Ignored; pressed before this screen was up: {named}.",
                named=bindings.named(default_namespace, action),
            )
            default_namespace.call_later(default_namespace.complain, early)
            return True
        try:
            return await super().run_action(action, default_namespace, namespaces)
        except (Refusal, JournalError) as wrong:
            if not isinstance(default_namespace, EntryScreen):
                raise
            default_namespace.refuse(wrong)
        except NoMatches:
            if not (isinstance(default_namespace, LeftOnceScreen) and default_namespace.is_left):
                raise
        return True

    async def action_leave(self) -> None:
        """Leaves when all that was entered is taken; with something typed but not entered, asks once about that."""
        await self._settled()
        for screen in reversed(self.screen_stack):
            if not (isinstance(screen, EntryScreen) and (boxes := screen.query(EntryBox))):
                continue  # nothing was typed into one that is not made up yet, nor can be any more where it is gone
            if (left := boxes.first().value) not in ("", self._asked_about):
                self._asked_about = left
                screen.pop_until_active()
                screen.complain(
                    _("“{left}” is typed but not entered. Enter records it; F12 again leaves.", left=left)
                )
                return
        self.exit(return_code=0)

    async def _settled(self) -> None:
        until = asyncio.get_running_loop().time() + LAST_SECOND
        while self.is_holding and asyncio.get_running_loop().time() < until:
            await asyncio.sleep(0.005)
        for screen in self.screen_stack:
            if isinstance(screen, EntryScreen):
                await screen.settled()

    def _asked_to_end(self) -> None:
        # Everything called saved is on disk: should the screen hang on its way out, the program ends without it.
        watchdog = threading.Timer(AT_THE_LATEST, self._end_at_once, (0,))
        watchdog.daemon = True
        watchdog.start()
        self._ending = asyncio.ensure_future(self._end())

    async def _end(self) -> None:
        """Told to end from outside: what was entered is given a second to be taken."""
        try:
            await self._take_the_rest()
        finally:
            self.exit()

    def _hung_up(self) -> None:
        if sys.__stderr__ is not None and sys.__stderr__.isatty():
            self._asked_to_end()
            return
        # The terminal is gone, so nothing more is drawn: Textual's writer ended with it, and who writes on hangs.
        self._begin_batch()
        self._ending = asyncio.ensure_future(self._end_unseen())

    async def _end_unseen(self) -> None:
        try:
            await self._take_the_rest()
        finally:
            self._end_at_once(128 + signal.SIGHUP)

    def _end_at_once(self, code: int) -> None:
        """Ends without another look at the screen; that it was told to is no crash to speak of at the next start."""
        if self._window is not None:
            self._window.close()
        os._exit(code)

    async def _take_the_rest(self) -> None:
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._settled(), LAST_SECOND)

    def _fatal_error(self) -> None:
        """Ends after a mistake of our own, without Textual's picture of it, which has all values in it."""
        self._close_messages_no_wait()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Every action of the screen, by name."""
        for node, bound in bindings.offered(self, screen):
            act = node.act if isinstance(node, EntryScreen) else partial(self.run_action, default_namespace=node)
            keys = ", ".join(dict.fromkeys(bindings.shown_key(each.key) for each in bound))
            says = f"{keys}: {bindings.does(bound)}"
            yield SystemCommand(bound[0].description, says, partial(act, bound[0].action))


def _behind_the_last_enter(typed: Sequence[early.Typed]) -> list[early.Typed]:
    at = max(place for place, event in enumerate(typed) if isinstance(event, events.Key) and event.key == "enter")
    return list(typed[at + 1 :])


def _is_seen(screen: Screen[Any]) -> bool:
    """Whether the screen is drawn; Textual's own empty one, before the first of ours, has nothing to see."""
    return isinstance(screen, LeftOnceScreen) and screen.seen


def _when_signalled(number: signal.Signals, act: Callable[[], None]) -> None:
    """Has the loop act when that signal comes.

    Not by the loop's own handlers: their word goes through a pipe that a burst of keys can fill, and is lost then.
    """
    loop = asyncio.get_running_loop()

    def came(*_: object) -> None:
        if loop.is_closed():
            signal.signal(number, signal.SIG_DFL)
            os.kill(os.getpid(), number)
        else:
            loop.call_soon_threadsafe(act)

    signal.signal(number, came)


def _is_long(journal: Path) -> bool:
    """Whether reading that journal would hold up the first picture for longer than anyone likes to wait."""
    try:
        return journal.stat().st_size > LONG
    except OSError:
        return False


def _collect_garbage_again() -> None:
    """The command line turned it off: nothing that the start makes is garbage, nor has to be looked through again."""
    gc.freeze()
    gc.enable()


def run(
    folder: Path,
    job: Path | None,
    *,
    ascii_only: bool = False,
    theme: str | None = None,
    board: BoardSource | None = None,
) -> int:
    """Runs the app and returns its exit code."""
    app = GradeApp(folder, job, ascii_only=ascii_only, theme=theme or "", settings=read_settings(), board=board)
    trail.note("app", size=os.get_terminal_size(2) if os.isatty(2) else None, term=os.environ.get("TERM"))
    app.run(mouse=app.settings.mouse)
    if app._exception is not None:  # by now the screen is given back
        from gradecheck.files import crash

        print(crash.tell(app._exception, [app.session.folder] if app.session else []), file=sys.stderr)
        return crash.CODE
    return app.return_code or 0
