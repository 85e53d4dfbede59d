"""The cautions, shown at the first look of the day; reading them is logged with initials."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical

from gradecheck import actions
from gradecheck.app.check_words import initials_asked
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, in_english
from gradecheck.report.cautions import day_cautions


class CautionsScreen(PagedScreen):
    """Initials and Enter say that the cautions shown were read; Escape goes back without working on the job."""

    def compose(self) -> ComposeResult:
        """The cautions, and one line for the initials."""
        yield Title(_(" {job} · before you start today", job=self.session.plan.job))
        with Pages(id="cautions"):
            self._shown = in_english(day_cautions)(self.session.plan)
            yield Sheet([[(caution, "ink")] for caution in day_cautions(self.session.plan)])
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="initials", placeholder=self._by or _("initials, as RK"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks for the initials; those used last are offered."""
        self.say(initials_asked(self._by))

    @property
    def _by(self) -> str:
        """Who signs where nobody says otherwise: who did last, else whom the settings name."""
        return self.session.by_or(self.host.settings.initials)

    async def commit(self, text: str) -> None:
        """Signs."""
        self.session.identify(text if text.strip() else self._by)
        await self.keep(text, "cautions", actions.cautions(self._shown))
        self.dismiss()
