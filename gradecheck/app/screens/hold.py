"""The Hold point screen: a stage below is not signed off, and is signed first, or gone past with a reason."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _


class HoldScreen(PagedScreen):
    """A reason and Enter go past the hold point; Escape goes back, to sign it on Day."""

    GUIDE = "evening"
    TITLE = _("Hold point")

    def __init__(self, held: actions.HeldError) -> None:
        """`held` says which hold point is in the way."""
        super().__init__()
        self._held = held

    def compose(self) -> ComposeResult:
        """What is in the way, and one line for the reason."""
        yield Title(_(" {job} · hold point", job=self.session.plan.job))
        with Pages(id="keys"):
            yield Static(id="hold")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="why", placeholder=_("why you go past it without a signature"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Says what is in the way, and asks for the reason."""
        held, state = self._held, self.session.state
        area = state.plan.areas[held.area]
        read = _(
            "{checked} of {points} points were read at {hold}.",
            checked=state.checked(held.area, held.hold),
            points=len(area.points),
            hold=held.hold,
        )
        lines = [
            _("  {held}", held=held),
            f"  {read}",
            "",
            _("  Escape goes back; F9 there signs {hold} off.", hold=held.hold),
            _("  To go past it without a signature, give a reason. It is logged, and Day and the report show it."),
        ]
        self.query_one("#hold", Static).update(plain_lines(lines))
        self.say(_("Why go past {hold}? Type the reason, then Enter. Escape goes back.", hold=held.hold))

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """A reason and Enter."""
        return (("open", _("go past it for that reason")),)

    async def commit(self, text: str) -> None:
        """Goes past it."""
        held = self._held
        await self.keep(text, held.hold, actions.go_past(self.session.state, held.area, held.hold, text))
        self.dismiss()
