"""Where what another laptop recorded on the same job is taken in: a folder, a stick, or a log that came by mail."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet, heading
from gradecheck.catalogue import _
from gradecheck.report.joining import joined_lines, taken_lines
from gradecheck.session.joining import others_in

ASKED = _("Which folder or log? Type it, then Enter: the other laptop's job on a stick, or its journal.db.")

EXAMPLES = (
    ("/media/stick/west-court", _("the other laptop's job, on a stick")),
    ("~/Downloads/journal.db", _("its log alone, as it came by mail")),
)


class JoinScreen(PagedScreen):
    """Asks for a folder or a log; what it holds is read and worked out beside the screen, and told here."""

    GUIDE = "files"
    TITLE = _("Join")
    BINDINGS: ClassVar[list[BindingType]] = [bind("back", "back", show=True)]

    def __init__(self) -> None:
        super().__init__()
        self._taken: list[str] = []

    def compose(self) -> ComposeResult:
        """What was taken in, what is open between the laptops, and the box."""
        yield Static(id="head")
        with Pages(id="open"):
            yield Sheet(id="notes")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="other", placeholder=_("a folder, or a journal.db"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows what is open already; what is taken in meanwhile follows."""
        self.watch(self.app, "changes", self.show, init=False)
        self.query_one("#head", Static).update(plain(_(" {job} · join another laptop", job=self.session.plan.job)))
        self.show()
        self.say(ASKED)

    def show(self) -> None:
        """Shows what was taken in, and what is open between the laptops."""
        laptops = self.session.state.laptops
        rows: list[Row] = [[(line, "strong")] for line in self._taken] + [[]] * bool(self._taken)
        if laptops is None:
            rows += [
                heading(_("All entries in this job are from one laptop.")),
                [],
                [(_("What the other laptop recorded is kept as it was written there; nothing is rewritten."), "ink")],
                [],
                heading(_("WHAT TO TYPE")),
                *([(f"  {place:<26}", "strong"), (f"  {means}", "quiet")] for place, means in EXAMPLES),
            ]
        else:
            rows += [
                [(line, "ink")]
                for line in list(joined_lines(laptops)) or [_("The laptops agree; nothing to answer.")]
            ]
        self.query_one("#notes", Sheet).show(rows)

    async def commit(self, text: str) -> None:
        """Reads what lies there, takes it in, and says what came of it."""
        if not text.strip():
            raise Refusal(ASKED)
        session, other = self.session, place_typed(text.strip())
        self.say(_("Reading {other} …", other=other))
        others = await asyncio.to_thread(others_in, session, other)
        self.say(_("Taking in what is new of {rows} entries …", rows=len(others.rows)))
        new = await self.host.take_in(others)
        self._taken = taken_lines(text.strip(), new, len(others.rows), others.not_sound)
        self.show()
        self.query_one(Pages).to_top()
        self.say(
            _("{new} taken in. Another folder, or Escape.", new=new)
            if new
            else _("Nothing new there. Another folder, or Escape.")
        )


def place_typed(typed: str) -> Path:
    """The place that is meant. Raises Refusal where that can't be told."""
    try:
        return Path(typed).expanduser().absolute()
    except (OSError, RuntimeError) as wrong:
        raise Refusal(_("Can't tell where “{typed}” is; give the full path, or one in ~.", typed=typed)) from wrong
