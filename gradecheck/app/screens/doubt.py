"""The Doubt screen: the readings that may be wrong, to be read again or trusted with a reason."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.containers import Vertical

from gradecheck import actions
from gradecheck.app.check_words import doubt_asked
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, plural, stage_word
from gradecheck.report.rows import answer


class DoubtScreen(PagedScreen):
    """A reason and Enter trust the readings listed; Escape leaves them in doubt, to be read again."""

    GUIDE = "moving"
    TITLE = _("Readings in doubt")
    answered = ""
    """What was answered, to be said where this screen was left for."""

    def compose(self) -> ComposeResult:
        """The readings in doubt, and one line for the reason."""
        yield Title(_(" {job} · readings in doubt", job=self.session.plan.job))
        with Pages(id="keys"):
            yield Sheet(id="doubts")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="why", placeholder=_("why they can be trusted"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks for the reason; what is recorded meanwhile follows, for a reason holds for all that is listed."""
        self.watch(self.app, "changes", self.show, init=False)
        self.show()
        self.say(doubt_asked())

    def show(self) -> None:
        """Lists what is in doubt now."""
        state = self.session.state
        names = [surface.point for surface, _shot in state.doubts()]
        room = max([8, *map(cell_len, names)])  # a spot on a string has a long one
        rows: list[Row] = []
        for surface, _shot in state.doubts():
            reading, name = answer(state, surface), set_cell_size(surface.point, room)
            said = (f" {reading.headline}", "doubt") if reading else ("", "ink")
            read = _("read {rod}", rod=reading.rod) if reading else ""
            rows.append(
                [(name, "strong"), (f" {stage_word(surface.stage):<9}", "quiet"), (f" {read:<16}", "ink"), said]
            )
        rows += [
            [(set_cell_size(name, room), "strong"), (_(" mark"), "quiet")] for name, _shot in state.doubt.marks()
        ]
        words = _("Read since the last good recheck, before the laser was found to have moved:")
        self.query_one("#doubts", Sheet).show([[(words, "ink")], [], *rows])

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """A reason and Enter."""
        return (("open", _("trust them for that reason")),)

    async def commit(self, text: str) -> None:
        """Answers the doubt."""
        readings, marks = len(self.session.state.doubts()), len(list(self.session.state.doubt.marks()))
        await self.keep(text, "doubt", actions.answer_doubt(self.session.state, text))
        what = [plural(readings, "{n} reading", "{n} readings")] * bool(readings)
        what += [plural(marks, "{n} mark", "{n} marks")] * bool(marks)
        self.answered = _("{what} trusted: {why}.", what=", ".join(what), why=text.strip().rstrip("."))
        self.dismiss()
