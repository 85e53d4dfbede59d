"""The cautions, shown at the first look of the day; reading them is logged with initials."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.pages import Pages
from gradecheck.report.cautions import CAUTIONS
from gradecheck.report.findings import before_work


class CautionsScreen(PagedScreen):
    """Initials and Enter say that the cautions were read; Escape goes back without working on the job."""

    def compose(self) -> ComposeResult:
        """The cautions, and one line for the initials."""
        yield Static(plain(f" {self.session.plan.job} · before work today"), id="head")
        with Pages(id="cautions"):
            words = [*CAUTIONS, *before_work(self.session.plan)]
            yield Static(plain_lines([line for caution in words for line in ("", f"  {caution}")]))
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="initials", placeholder=self.session.by or "initials, as RK")
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks for the initials; those used last are offered."""
        if self.session.by:
            self.say(f"Read and understood? Enter signs as {self.session.by}; or type other initials, then Enter.")
        else:
            self.say("Read and understood? Type your initials, then Enter.")

    async def commit(self, text: str) -> None:
        """Signs."""
        self.session.identify(text if text.strip() else self.session.by)
        await self.keep(text, "cautions", self.session.cautions(CAUTIONS))
        self.dismiss()
