"""The Mark screen: shoot a spot that will carry the zero, before the instrument is moved."""

from __future__ import annotations

import re

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.instrument import place_named
from gradecheck.app.screens.marks import MarksScreen
from gradecheck.catalogue import _
from gradecheck.journal.facts import MarkMade


class MarkScreen(MarksScreen):
    """A number is the rod's figure on the new mark; a name is what it is to be called, ``TP1=55 3/8`` both."""

    TITLE = _("Mark")
    TITLE_WORDS = _("shoot a mark")
    WHAT_TO_DO = _(
        "Pick a solid spot visible from both setups: type a name for it or keep this one. "
        "“TP1 at x, y” says where it lies."
    )

    def __init__(self) -> None:
        super().__init__()
        self._name = ""
        self._at = ""
        """Where it lies on the plan, as typed; tapes may then start from it."""
        self._again = ""
        """The mark that may be taken anew: that was asked, and Enter came again."""

    def on_mount(self) -> None:
        """Offers the next turning point's name, or the mark that ties a datum."""
        self._name = actions.next_mark_name(self.session.state)
        self.show()

    def notes(self) -> list[str]:
        """Datums that wait for a mark."""
        state = self.session.state
        untied = [datum for datum in state.plan.datums.values() if state.zero_of(datum.name) is None]
        return [
            _("The datum “{name}” is not tied in yet: shoot {mark}.", name=datum.name, mark=datum.mark)
            for datum in untied
        ]

    @property
    def held(self) -> str:
        """The new mark."""
        return self._name or ""

    def ask(self) -> None:
        """Asks for the figure."""
        self._show_panel()
        self.say(_("New mark {name}: what does the rod read there?", name=self._name))

    def gone(self, mark: str) -> None:
        """Nothing is asked here about the marks there are."""

    async def named(self, typed: str) -> None:
        """Takes the name, and the figure behind it in ``TP1=55 3/8``, as the commands have it."""
        name, equals, figure = typed.rpartition("=")
        if not equals or not _like_a_figure(figure.strip()):  # a name may have one of these in it
            name, figure = typed, ""
        place = ""
        if found := _PLACED.fullmatch(name):
            name, place = found.groups()
            place_named(self.session.state, place)  # refused now, not behind the reading
        name = actions.new_mark_name(self.session.state, name)
        self._ask_before_again(name)
        self._name, self._at = name, place
        self.ask()
        if figure.strip():
            await self.figure(figure.strip())

    async def figure(self, typed: str) -> None:
        """Records the mark."""
        if not self._name:
            raise Refusal(_("Type a name for the mark first."))
        self._ask_before_again(self._name)  # another window may have taken it meanwhile
        kept = await self.keep(typed, self._name, actions.mark(self.session.state, self._name, typed, at=self._at))
        assert isinstance(kept.fact, MarkMade)
        made = actions.mark_meant(self.session.state, kept.fact.mark) or kept.fact.mark
        self._name, self._at, self._again = actions.next_mark_name(self.session.state), "", ""
        self.show()
        self.choose(made)
        self.say(
            _("{made} is a mark. Escape goes back; the next reading goes to {name}.", made=made, name=self._name)
        )

    def _ask_before_again(self, name: str) -> None:
        """Raises `Refusal` with the question where a mark has that name already, and not when Enter comes again."""
        asked = actions.mark_question(self.session.state, name)
        if asked and name != self._again:
            self._again = name
            raise Refusal(_("{asked} Press Enter again to use it; Escape clears it for another name.", asked=asked))


_PLACED = re.compile(r"(.+?) at ([^,]+,[^,]+)")
"""A mark's name and where it lies; without a comma the words are all of its name."""


def _like_a_figure(text: str) -> bool:
    """Whether the text is meant for a figure, right or wrong: nothing is in it but digits, signs and units of one."""
    return all(character.isnumeric() or character in _OF_FIGURES for character in text) and not text[:1].isalpha()


_OF_FIGURES = frozenset(" ./-'\"′″ftincm")
