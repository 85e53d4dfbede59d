"""The Hold point screen: a stage below is not signed off, and is signed here, or gone past with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from gradecheck import actions
from gradecheck.actions import Action
from gradecheck.actions.evening import cannot_sign
from gradecheck.app.bindings import bind
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, plural, stage_word, translated
from gradecheck.state.built import exceptions
from gradecheck.state.signing import questions


class HoldScreen(PagedScreen):
    """A reason and Enter go past the hold point; its key signs it here, behind what is accepted by that."""

    GUIDE = "evening"
    TITLE = _("Hold point")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("sign", "sign", _("Sign the hold point off"), show=True),
    ]

    def __init__(self, held: actions.HeldError) -> None:
        """`held` says which hold point is in the way."""
        super().__init__()
        self._held = held
        self._signing = False
        self._asked: tuple[str, ...] = ()
        self._accepted: tuple[str, ...] = ()
        """What whoever signs has seen, and nothing else."""

    def compose(self) -> ComposeResult:
        """What is in the way, and one line for the reason or the initials."""
        yield Title(_(" {job} · hold point", job=self.session.plan.job))
        with Pages(id="keys"):
            yield Sheet()
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="why")
        yield KeyLine()

    def on_mount(self) -> None:
        """Says what is in the way, and asks for the reason."""
        self.show()

    def show(self) -> None:
        """Says what is in the way and both ways on, or what is accepted by signing; asks for what is typed."""
        held = self._held
        heading: Row = [(f"{held.area}, {stage_word(held.hold)}", "strong")]
        self.query_one(Sheet).show([heading, [], *(self._accepting() if self._signing else self._ways())])
        if self._signing:
            self.entry.placeholder = _("initials, as RK")
            self.say(_("Type initials, Enter signs {hold} off, Esc cancels.", hold=held.hold))
        else:
            self.entry.placeholder = _("why you go past it without a signature")
            self.say(_("Why go past {hold}? Type the reason, then Enter. Ctrl+S signs it instead.", hold=held.hold))

    def _ways(self) -> list[Row]:
        held, state = self._held, self.session.state
        found = exceptions(state, held.area, held.hold)
        read = _(
            "{checked} of {points} points were read at {hold}.",
            checked=state.checked(held.area, held.hold),
            points=len(state.plan.areas[held.area].points),
            hold=held.hold,
        )
        out = plural(len(found.out), "{n} point is out.", "{n} points are out.") if found.out else ""
        ways = (
            (_("Sign it off"), _("Ctrl+S lists what you accept, and asks for initials.")),
            (_("Go past it"), _("Type a reason and press Enter. It is logged, and Day and the report show it.")),
            (_("Go back"), _("Escape; your reading stays in the box.")),
        )
        wide = max(len(name) for name, _says in ways)
        named: list[Row] = [[(f"{name:<{wide}}  ", "strong"), (says, "ink")] for name, says in ways]
        return [[(str(held), "ink")], [(f"{read} {out}".rstrip(), "ink")], [], *named]

    def _accepting(self) -> list[Row]:
        found = exceptions(self.session.state, self._held.area, self._held.hold)
        self._accepted = (*found.out, *found.unread)
        named = [(_("out"), found.out), (_("not read"), found.unread)]
        listed = [f"{how}: {', '.join(names)}" for how, names in named if names]
        listed += map(translated, self._asked)
        if not listed:
            return [[(_("All on grade."), "ink")]]
        return [[(_("By signing you accept:"), "ink")], *([(f"  {each}", "ink")] for each in listed)]

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """A reason and Enter, or initials and Enter."""
        if self._signing:
            return (("open", _("sign")), ("back", _("cancel")))
        return (("open", _("go past it for that reason")),)

    async def commit(self, text: str) -> None:
        """Goes past it, or signs it."""
        held, state, asked, accepted = self._held, self.session.state, self._asked, self._accepted
        if not self._signing:
            await self.keep(text, held.hold, actions.go_past(state, held.area, held.hold, text))
            self.dismiss()
            return

        def signed() -> Action:
            return actions.sign_off(state, held.area, held.hold, accepted, by=text, asked=asked)

        await self.keep(text, (held.area, held.hold), await self.host.beside(signed))
        self.dismiss()

    async def action_sign(self) -> None:
        """Asks for the initials, after what would be accepted."""
        held, state = self._held, self.session.state
        if fault := cannot_sign(state, held.area, held.hold):
            self.complain(fault)
            return
        self._asked = await self.host.beside(lambda: questions(state, held.area, held.hold))
        self._signing = True
        self.show()

    async def leave(self) -> None:
        """Out of signing first; else back to Check."""
        if self._signing:
            self._signing = False
            self.show()
        else:
            self.dismiss()
