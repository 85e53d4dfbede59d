"""The Set-up screen: the rod on a known mark, one figure, and every grade rod is known."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Footer, Static

from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.pick_list import PickList
from gradecheck.intake import Refusal
from gradecheck.report.rows import mark_line, set_up_line


class SetUpScreen(EntryScreen):
    """A number is what the rod reads on the chosen mark; a name chooses the mark."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "next_rod", "Rod", id="rod", tooltip="Take another rod"),
        Binding("up", "move(-1)", "Mark before", id="up", show=False),
        Binding("down", "move(1)", "Mark after", id="down", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._rod_at = 0

    def compose(self) -> ComposeResult:
        """The marks to choose from, and the set-up that stands now."""
        yield Static(plain(f" {self.session.plan.job} · set up the instrument"), id="head")
        with VerticalScroll(id="marks", can_focus=False):
            words = "  Stand the laser where it sees the work. Hold the rod on one of these marks:"
            yield Static(plain_lines(["", words, ""]))
            yield PickList(id="mark-list")
            yield Static(id="standing")
        with Vertical(id="asking"):
            yield Static(id="says")
            yield Entry(id="backsight", placeholder="what the rod reads on the mark")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Starts at the mark used last."""
        plan, stood = self.session.plan, self.session.state.setup
        self._marks = list(plan.benchmarks)
        picks = self.query_one(PickList)
        picks.offer([mark_line(plan, name) for name in self._marks])
        standing = self.query_one("#standing", Static)
        if stood:
            picks.go_to(self._marks.index(stood.fact.backsights[0].mark))
            standing.update(plain_lines(["", f"  Standing now: {set_up_line(stood, plan)}"]))
        else:
            standing.update(plain_lines(["", "  No set-up stands now."]))
        self._ask()

    @property
    def mark(self) -> str:
        """The chosen mark."""
        return self._marks[self.query_one(PickList).current]

    @property
    def rod(self) -> str:
        """The chosen rod."""
        return list(self.session.plan.rods)[self._rod_at]

    def _ask(self) -> None:
        rod = self.session.plan.rods[self.rod]
        self.say(f"{self.mark}: what does the {rod.name} ({rod.kind}, {rod.notation.units}) read there?")

    async def commit(self, text: str) -> None:
        """A number stands the instrument, a name chooses a mark."""
        typed = text.strip()
        if not typed:
            return
        if typed == "?":
            await self.run_action("app.keys")
        elif typed[0].isalpha():
            name = self.session.name_of(typed)
            if name not in self._marks:
                raise Refusal(f"There is no mark “{typed}”; known are {', '.join(self._marks)}.")
            self.query_one(PickList).go_to(self._marks.index(name))
            self._ask()
        else:
            about = self.mark, self.rod
            await self.keep(typed, about, self.session.set_up(self.mark, typed, self.rod))
            self.dismiss()

    def action_move(self, by: int) -> None:
        """To another mark."""
        picks = self.query_one(PickList)
        picks.go_to(picks.current + by)
        self._ask()

    def action_next_rod(self) -> None:
        """Takes the next rod of the plan."""
        self._rod_at = (self._rod_at + 1) % len(self.session.plan.rods)
        self._ask()
