"""The Doubt screen: the readings that may be wrong, to be read again or trusted with a reason."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.paged import PagedScreen
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.pages import Pages
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.report.rows import answer


class DoubtScreen(PagedScreen):
    """A reason and Enter trust the readings listed; Escape leaves them in doubt, to be read again."""

    GUIDE = "moving"
    TITLE = _("Readings in doubt")

    def compose(self) -> ComposeResult:
        """The readings in doubt, and one line for the reason."""
        yield Title(_(" {job} · readings in doubt", job=self.session.plan.job))
        with Pages(id="keys"):
            yield Static(id="doubts")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="why", placeholder=_("why they can be trusted"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks for the reason; what is recorded meanwhile follows, for a reason holds for all that is listed."""
        self.watch(self.app, "changes", self.show, init=False)
        self.show()
        self.say(_("Why can they be trusted? Type the reason, then Enter. Escape leaves them in doubt."))

    def show(self) -> None:
        """Lists what is in doubt now."""
        state = self.session.state
        lines = []
        names = [surface.point for surface, _shot in state.doubts()]
        room = max([8, *map(cell_len, names)])  # a spot on a string has a long one
        for surface, _shot in state.doubts():
            told = answer(state, surface)
            name = set_cell_size(surface.point, room)
            lines.append(f"  {name} {surface.stage:<9} {told.headline if told else ''}")
        lines += [_("  {name:<8} mark", name=name) for name, _entry in state.doubt.marks()]
        words = _("  Read since the last good recheck, before the laser was found to have moved:")
        self.query_one("#doubts", Static).update(plain_lines([words, "", *lines]))

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """A reason and Enter."""
        return (("open", _("trust them for that reason")),)

    async def commit(self, text: str) -> None:
        """Answers the doubt."""
        await self.keep(text, "doubt", actions.answer_doubt(self.session.state, text))
        self.dismiss()
