"""The Board screen: how far all jobs of the firm are; it follows what comes, and opens a job to be looked at."""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.board_view import BoardView
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.catalogue import _, count, plural
from gradecheck.journal.errors import JournalError
from gradecheck.places import clear_folder, private_folder
from gradecheck.plan.folder_names import folder_for
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.report.board import Board
from gradecheck.sharing.beside import bring
from gradecheck.sharing.boards import BoardSource

LONGEST = 60
"""Characters of what is looked for."""


class BoardSeen(Message):
    """The board was looked at."""

    def __init__(self, board: Board, at: datetime) -> None:
        super().__init__()
        self.board, self.at = board, at


@dataclass(frozen=True, slots=True)
class Getting:
    """Jobs of that meeting place are got into that folder; `got` hears of each that came."""

    place: Path | str
    into: Path
    got: Callable[[Path], None]


class Brought(Message):
    """A job was brought, or was not, and why."""

    def __init__(self, job: Path, why_not: str) -> None:
        super().__init__()
        self.job, self.why_not = job, why_not


class LaidOut(Message):
    """A job was laid out to be looked at, or was not, and why."""

    def __init__(self, key: str, job: Path | None, says: str) -> None:
        super().__init__()
        self.key, self.job, self.says = key, job, says


class BoardScreen(LeftOnceScreen[None]):
    """Up and down choose a job, Enter opens it to be looked at; what is typed looks for a part of a name."""

    GUIDE = "commands"
    TITLE = _("Board")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind(
            "open",
            "open",
            _("Look at the job; or get it, where one is to be got"),
            word=_("Open"),
            show=True,
        ),
        bind("up", "move(-1)", word=_("Job before")),
        bind("down", "move(1)", word=_("Job after")),
        bind("page-up", "page(-1)", word=_("Page before")),
        bind("page-down", "page(1)", word=_("Page after")),
        bind("more", "again", _("Look again now"), word=_("Look again"), show=True),
        bind("back", "all", _("Show all jobs again, or go back"), word=_("All jobs")),
        bind("keys", "app.keys", show=True),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(
        self, source: BoardSource, wrong: str = "", *, chosen: str = "", getting: Getting | None = None
    ) -> None:
        """`wrong` is what went wrong before, `chosen` the key of the job that is left for the board."""
        super().__init__()
        self._getting = getting
        self._source = source
        self._says = wrong
        self._start_at = chosen
        self._board: Board | None = None
        self._at: datetime | None = None
        self._looked_for = ""
        self._laying = ""
        self._over = threading.Event()
        self._again = threading.Event()

    def compose(self) -> ComposeResult:
        """The blocks, and a line on what to do."""
        yield Static(id="head")
        yield BoardView(id="board", ascii_only=self.host.ascii_only)
        yield Static(id="says")
        yield KeyLine()

    def on_mount(self) -> None:
        """Looks, again and again, in a thread that nobody waits for."""
        self._show()
        self._beside(self._follow)

    def on_unmount(self) -> None:
        """Nobody looks any more."""
        self._over.set()
        if self._getting is not None:
            self._source.stop()

    def _beside(self, work: Callable[[], None]) -> None:
        threading.Thread(target=partial(copy_context().run, work), name="board", daemon=True).start()

    def _follow(self) -> None:
        self._tell(self._look(first=True))
        while not self._over.is_set():
            self._source.wait()
            self._tell(self._look())

    def _look(self, *, first: bool = False) -> BoardSeen:
        return BoardSeen(self._source.look(first=first), self.host.now)

    def _tell(self, message: Message) -> None:
        with contextlib.suppress(RuntimeError):  # the app has ended meanwhile
            self.post_message(message)

    def on_board_seen(self, event: BoardSeen) -> None:
        """Shows what was found."""
        first = self._board is None
        self._board, self._at = event.board, event.at
        self._show()
        if first and self._start_at:
            self._go_to(self._start_at)

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._show()

    # -- showing

    @property
    def view(self) -> BoardView:
        """The blocks."""
        return self.query_one(BoardView)

    def _show(self) -> None:
        board, now = self._board, self.host.now
        sought = self._looked_for.casefold()
        jobs = [job for job in board.jobs if sought in job.row.name.casefold()] if board is not None else []
        head = _(" board · {place}", place=self._source.name)
        if board is not None and self._at is not None:
            number = count(len(board.jobs), "job")
            number = _("{number} so far", number=number) if board.goes_on else number
            head = _(
                " board · {number} · looked {at:%H:%M} · {place}", number=number, at=self._at, place=self._source.name
            )
        self.query_one("#head", Static).update(plain(head))
        self.view.show(jobs, now, self._empty())
        self.query_one("#says", Static).update(plain_lines(self._notes()))
        self.query_one("#says").set_class(bool(board is not None and board.trouble) or bool(self._says), "wrong")

    def _empty(self) -> str:
        if self._board is None:
            return _("Looking …")
        if self._looked_for:
            return _("No job's name has “{typed}” in it. Esc shows all.", typed=self._looked_for)
        return _("No job was shared here yet.")

    def _notes(self) -> list[str]:
        board = self._board
        notes = [self._says] if self._says else []
        if self._looked_for:
            notes.append(_("Jobs with “{typed}” in their name. Esc shows all.", typed=self._looked_for))
        if board is not None and board.trouble:
            notes.append(board.trouble)
        if board is not None and board.passed_over:
            notes.append(
                plural(
                    len(board.passed_over),
                    "Passed over: {first}.",
                    "Passed over, {n} of them: {first}.",
                    first=board.passed_over[0],
                )
            )
        if self._getting is not None:
            return notes or [_("Enter gets the job into {folder}. Esc goes back.", folder=self._getting.into)]
        return notes or [_("Enter looks at the job; type a part of a name to find one.")]

    def complain(self, text: str) -> None:
        """Says what is wrong, and rings the bell."""
        self._says = text
        self._show()
        self.app.bell()

    # -- the hand

    def _go_to(self, key: str) -> None:
        places = [at for at, job in enumerate(self._board.jobs if self._board else ()) if job.key == key]
        if places:
            self.view.move(places[0] - self.view.current)

    def action_move(self, by: int) -> None:
        """To the job before or after."""
        self.view.move(by)

    def action_page(self, by: int) -> None:
        """A page on."""
        self.view.move(by * self.view.jobs_seen)

    def action_all(self) -> None:
        """Nothing is looked for any more; where nothing was, back to where a job is to be got for."""
        if self._getting is not None and not self._looked_for and not self._laying:
            self.dismiss()
            return
        self._looked_for = self._says = ""
        self._show()

    def action_again(self) -> None:
        """Looks now, beside the screen."""
        self._says = ""
        self._beside(lambda: self._tell(self._look()))

    def on_key(self, event: events.Key) -> None:
        """Looks for a part of a name."""
        if event.key == "backspace":
            self._look_for(self._looked_for[:-1])
        elif event.is_printable and event.character:
            self._look_for(self._looked_for + event.character)

    def on_paste(self, event: events.Paste) -> None:
        """The same for what is pasted."""
        self._look_for(self._looked_for + event.text)

    def _look_for(self, text: str) -> None:
        self._looked_for, self._says = text[:LONGEST].lstrip(), ""
        self._show()

    # -- a job to be looked at

    async def on_board_view_tapped(self) -> None:
        """A job that is tapped twice opens."""
        await self.run_action("open")

    def action_open(self) -> None:
        """Has the job laid out in a private folder, beside the screen, and opens it there."""
        job = self.view.chosen
        if job is None or self._laying:
            return
        into = self._getting.into / folder_for(job.row.name) if self._getting is not None else None
        if into is not None and os.path.lexists(into):
            self.complain(_("{folder} is there already.", folder=into))
            return
        self._laying = job.key
        self._says = _("Fetching {name} …", name=job.row.name)
        self._show()
        self._beside(partial(self._lay_out, job.key) if into is None else partial(self._bring, into))

    def _bring(self, job: Path) -> None:
        assert self._getting is not None
        self._tell(Brought(job, bring(job, self._getting.place)))

    def on_brought(self, event: Brought) -> None:
        """Back to the jobs, where it came."""
        self._laying = ""
        if event.why_not or self._getting is None:
            self.complain(event.why_not)
            return
        self.dismiss()
        self._getting.got(event.job)

    def _lay_out(self, key: str) -> None:
        folder = None
        try:
            folder = private_folder()
            missing = self._source.lay_out(key, folder)
        except (Refusal, JournalError, PlanProblemsError, OSError) as wrong:
            if folder is not None:
                clear_folder(folder)
            self._tell(LaidOut(key, None, str(wrong)))
            return
        if self._over.is_set():
            clear_folder(folder)
            return
        self._tell(LaidOut(key, folder, missing))

    def on_laid_out(self, event: LaidOut) -> None:
        """Opens it, where it could be laid out and nobody has gone elsewhere meanwhile."""
        self._laying = ""
        if event.job is None:
            self.complain(event.says)
            return
        try:
            self.host.look_at(event.job, event.key, event.says)
        except (JournalError, PlanProblemsError) as wrong:
            clear_folder(event.job)
            self.complain(str(wrong))
