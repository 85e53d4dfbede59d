"""Where a mark's elevation is corrected: wrong from the start, or moved from now on; the effect is shown first."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.screens.marks import MarksScreen
from gradecheck.catalogue import _
from gradecheck.report.instrument import preview_line


class GivenScreen(MarksScreen):
    """Key the mark's right elevation; what would change is said, and a reason with Enter accepts it."""

    TITLE = _("Correct a mark")
    IN_HAND = _("its elevation is corrected here")
    TITLE_WORDS = _("correct a mark's elevation")
    WHAT_TO_DO = _("Choose the mark and enter its correct elevation. Nothing changes until you give a reason.")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "other_way", _("It was always wrong, or it moved just now"), word=_("Wrong/moved"), show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._moved = False
        self._typed: str | None = None

    def ask(self) -> None:
        """Asks for the elevation, then for the reason; the box says from which zero it counts."""
        zero = self.session.state.datum or _("the job's zero")
        self.entry.placeholder = _("elevation from {zero}", zero=zero) if self._typed is None else _("how you know")
        how = _("moved: from now on it is") if self._moved else _("was wrong all along; correct elevation")
        if self._typed is None:
            self.say(
                _(
                    "{mark} {how} …? (Ctrl+E: {moved})",
                    mark=self.mark,
                    how=how,
                    moved=_("it was wrong all along") if self._moved else _("it moved just now"),
                )
            )
            return
        self.say(
            _(
                "{mark} {how} {typed}. {preview} Type the reason, then Enter; Esc cancels.",
                mark=self.mark,
                how=how,
                typed=self._typed,
                preview=self._preview(),
            )
        )

    def _draft(self, why: str) -> Action:
        assert self._typed is not None
        return actions.give_mark(self.session.state, self.mark, self._typed, has_moved=self._moved, why=why)

    def _preview(self) -> str:
        return preview_line(self.session.state, self.session.preview(self._draft("preview")))

    async def commit(self, text: str) -> None:
        """An elevation first, then the reason; a figure alone is none, but another elevation."""
        if self._typed is None or (text.strip() and not any(character.isalpha() for character in text)):
            await super().commit(text)
        else:
            await self.keep(text, (self.mark, self._typed, self._moved), self._draft(text))
            self.dismiss()

    async def figure(self, typed: str) -> None:
        """Takes the elevation and shows what it would change."""
        before, self._typed = self._typed, typed
        try:
            self.ask()
        except Refusal:
            self._typed = before
            raise

    def gone(self, mark: str) -> None:
        """What was typed for that mark is for no other."""
        self._typed = None
        super().gone(mark)

    def action_other_way(self) -> None:
        """It was always wrong, or it moved just now."""
        self._moved = not self._moved
        self.ask()

    async def leave(self) -> None:
        """Gives up the elevation first, then the screen."""
        if self._typed is not None:
            self._typed = None
            self.ask()
        else:
            self.dismiss()
