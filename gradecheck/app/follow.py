"""`gradecheck follow`: a second window for the machine's seat, only looked at, as large as the window is."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType

from gradecheck.app import themes
from gradecheck.app.bindings import as_chosen
from gradecheck.app.check_view import Card, CheckView, check_view
from gradecheck.app.check_words import without_tilde
from gradecheck.app.route import Route
from gradecheck.app.widgets.check_regions import Band, name_of
from gradecheck.app.widgets.letters import large
from gradecheck.app.widgets.region import EDGE, Region, Row, ends
from gradecheck.app.widgets.title import warned
from gradecheck.app.widgets.verdict_panel import VerdictPanel, face_of
from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.report.decides import DECIDES
from gradecheck.session.session import Session
from gradecheck.system import keymap
from gradecheck.system.settings import GO_ON, Settings, read_settings, this_laptop

LOOKS_EVERY = 0.4
"""Seconds between looks at what was recorded; an entry is to be seen within one second."""


class NextRod(Region):
    """What the rod should read next, in letters as large as there is room for."""

    def __init__(self, *, ascii_only: bool) -> None:
        super().__init__(id="next", ascii_only=ascii_only)
        self._card: Card | None = None
        self._why = ""

    def show(self, card: Card, why: str) -> None:
        """Shows a point; `why` says what keeps its figure from being known."""
        if (card, why) != (self._card, self._why):
            self._card, self._why = card, why
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The point and its figure."""
        card = self._card
        if card is None:
            return []
        rod = without_tilde(card.should_read)
        says: Row = [(_("the rod should read"), "quiet")] if rod else [(self._why, "strong")]
        if card.offset:
            says = [(f"{card.offset}, ", "strong"), *says]
        letters = large(rod, width - 2 * EDGE, height - 2, ascii_only=self.ascii_only) if rod else ()
        if rod and not letters:
            says = [(_("the rod should read "), "quiet"), (rod, "strong")]
        spare = max(height - 2 - len(letters), 0)
        blank: Row = [("  ", "ink")]
        inside = [[(" " * ((width - len(line)) // 2), "ink"), (line, "strong")] for line in letters]
        rows = [
            ends(name_of(card), says, width),
            *[blank] * (spare // 2),
            *inside,
            *[blank] * (spare - spare // 2),
        ]
        return [*rows, ends([], [(DECIDES, "quiet")], width)][:height]


class FollowApp(App[int]):
    """Reads the job again and again, and writes nothing."""

    CSS_PATH = "gradecheck.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f12,q,escape,ctrl+q", "leave", _("Leave"), id="quit", priority=True),
        Binding("ctrl+t", "next_theme", _("Light/dark"), id="theme"),
    ]

    def __init__(
        self,
        session: Session,
        *,
        ascii_only: bool = False,
        theme: str = "",
        settings: Settings | None = None,
    ) -> None:
        super().__init__()
        self.session = session
        self.ascii_only = ascii_only
        self._settings = settings or Settings()
        keymap.use(self._settings.keys)
        self._bindings = as_chosen(self._bindings)
        wanted = theme or self._settings.theme or themes.SUN.name
        for each in (*themes.OURS, *themes.SIXTEEN):
            self.register_theme(each)
        self._fitting = themes.fitting(wanted, no_color=self.no_color, color_system=self.console.color_system)

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own color names, for themes that are not ours."""
        return themes.SUN.variables

    def compose(self) -> ComposeResult:
        """What was above, what is next below, and nothing else."""
        yield Band(id="head")
        yield VerdictPanel(id="followed", ascii_only=self.ascii_only)
        yield NextRod(ascii_only=self.ascii_only)

    def on_mount(self) -> None:
        """Shows what is known, and looks again from now on."""
        self.theme = self._fitting
        self.show()
        self.set_interval(LOOKS_EVERY, self.look)

    async def look(self) -> None:
        """Takes up what was recorded meanwhile; what keeps it from being read is said until it can be."""
        session = self.session
        try:
            seq = await asyncio.get_running_loop().run_in_executor(None, lambda: session.journal.last_seq)
            if seq > session.seq:
                session.catch_up()
            self.show()
        except JournalError as wrong:
            self.query_one(Band).show("", (_("No longer following: {wrong}", wrong=wrong),), ())

    @property
    def view(self) -> CheckView:
        """The last reading, and where the next one goes: on the same point until it is on grade, as on Check."""
        state, route = self.session.state, Route(self.session)
        last = route.shown
        verdict, goes_on = state.verdict(last), self._settings.after_a_reading == GO_ON
        stays = verdict is not None and verdict.word is not Word.ON_GRADE and not goes_on
        return check_view(state, last if stays else route.surface, last)

    def show(self) -> None:
        """Shows everything as it is now."""
        view, session = self.view, self.session
        old = session.why_set_up_is_old or session.state.setup is None
        doubts = len(session.state.doubts())
        left = (view.here.area, view.here.stage)
        warning, why = warned(session)
        offset = view.card.offset.replace(_("offset {offset}", offset=""), _("OFFSET {offset}", offset=""))
        loud = (
            offset,
            _("{doubts} IN DOUBT", doubts=doubts) if doubts else "",
            _("NO SETUP") if old else "",
            warning,
        )
        self.query_one(Band).show(session.plan.job, left, (_("only followed here"),), loud=loud, why=why)
        self.query_one(VerdictPanel).show(face_of(view))
        self.query_one(NextRod).show(view.card, _("no setup") if old else _("not known yet"))

    def action_leave(self) -> None:
        """Leaves; nothing was written."""
        self.exit(return_code=0)

    def action_next_theme(self) -> None:
        """Sun, night, plain."""
        self.theme = themes.following(self.theme)


def run(job: Path, *, ascii_only: bool, theme: str | None) -> int:
    """Follows a job until the window is left; returns the exit code."""
    try:
        session = Session(job, laptop=this_laptop(), look_later=True)
    except (PlanProblemsError, JournalError) as wrong:
        print(wrong, file=sys.stderr)
        return 2
    try:
        app = FollowApp(session, ascii_only=ascii_only, theme=theme or "", settings=read_settings())
        app.run(mouse=False)
        return app.return_code or 0
    finally:
        session.close()
