"""The Recheck screen: another look at a mark, and the setup is good or everything since the last look in doubt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import BindingType

from gradecheck import actions
from gradecheck.actions.instrument import other_mark
from gradecheck.app import check_words
from gradecheck.app.bindings import bind
from gradecheck.app.screens.marks import MarksScreen
from gradecheck.catalogue import _, count
from gradecheck.journal.facts import Entry, Rechecked
from gradecheck.report.instrument import recheck_line, set_up_line


class RecheckScreen(MarksScreen):
    """Hold the rod on a mark again and key what it reads now."""

    TITLE = _("Recheck")
    TITLE_WORDS = _("recheck a mark")
    WHAT_TO_DO = _("Hold the rod on a mark once more and enter the reading.")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("strike", "strike", _("Strike the recheck made here last"), show=True),
    ]

    def on_mount(self) -> None:
        """Starts at the mark the instrument was set up on."""
        self.show()
        setup = self.session.state.newest_setup
        if setup is not None and setup.fact.backsights[0].mark in self.marks:
            self.choose(setup.fact.backsights[0].mark)

    _last: Entry | None = None
    """The recheck made here last, while it counts."""

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """Behind a recheck that failed: back to set up, or to strike it."""
        if self._last is None or not isinstance(self._last.fact, Rechecked) or self._last.fact.good:
            return ()
        return (("back", _("then F4 sets up again")), ("strike", _("strike it")))

    def notes(self) -> list[str]:
        """What stands, and how long since it was looked at."""
        state = self.session.state
        setup = state.newest_setup
        if setup is None or state.moved_since(setup.seq):
            return [_("No setup.")]
        if state.doubt.failed(setup.id):
            return [_("The laser may have moved: don't use this setup. Set up again.")]
        since = _(
            "{readings_since_look} since the last recheck.",
            readings_since_look=count(state.readings_since_look(setup.id), "reading"),
        )
        return [set_up_line(state, setup), since]

    def ask(self) -> None:
        """Asks for the figure."""
        self.say(self._question())

    def _question(self) -> str:
        return check_words.recheck_asked(self.mark)

    async def figure(self, typed: str) -> None:
        """Records the look and says what it means; where it failed, stays until that was read."""
        draft = actions.recheck(self.session.state, self.mark, typed)
        assert isinstance(draft.fact, Rechecked)
        # A failed look counts at once; that the rod stood on the wrong mark is asked beside it.
        other = None if draft.fact.good else other_mark(self.session.state, draft.fact)
        entry = await self.keep(typed, self.mark, draft)
        assert isinstance(entry.fact, Rechecked)
        self._last = entry
        words = recheck_line(self.session.state, entry, entry.fact)
        self.show()
        if entry.fact.good:
            self.say(_("{words} Escape goes back.", words=words))
        elif other is not None:
            self.complain(_("{words} Or was that {other}? F8 strikes it.", words=words, other=other))
        else:
            self.complain(_("{words} Escape, then F4; or F8 strikes it.", words=words))

    async def action_strike(self) -> None:
        """Strikes the recheck made here last: what it put in doubt is trusted again."""
        if self._last is None:
            self.complain(_("There is no recheck here to strike."))
            return
        await self.host.record(self.session.strike(self._last.id, _("struck at once")))
        struck, self._last = self._last, None
        self.show()
        self.say(_("Struck: {typed}. It stays in the log. {question}", typed=struck.typed, question=self._question()))
