"""What the screens about marks share: the marks to choose from above, the rod's figure typed in below."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from gradecheck import actions
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.check_regions import heights
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.pick_list import PickList
from gradecheck.app.widgets.region import touched
from gradecheck.app.widgets.title import Title
from gradecheck.app.widgets.verdict_panel import PanelFace, PanelShape, VerdictPanel
from gradecheck.catalogue import _
from gradecheck.report.instrument import chain_line, mark_line

ROWS_BESIDE_MARKS = 18
"""Rows for the title, what to do, what is known of the chosen mark at its longest, the question, box and keys."""


class MarksScreen(EntryScreen):
    """A number is what the rod reads on the chosen mark; a name chooses a mark."""

    GUIDE = "moving"
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("up", "move(-1)", word=_("Mark before")),
        bind("down", "move(1)", word=_("Mark after")),
    ]
    TITLE_WORDS: ClassVar[str]
    WHAT_TO_DO: ClassVar[str]
    WANTED: ClassVar[str] = _("what the rod reads")
    """What the box says that it is for."""
    IN_HAND: ClassVar[str] = _("hold the rod there, type what it reads, Enter")
    """What is done at the mark that stands in large letters."""

    def __init__(self) -> None:
        super().__init__()
        self.marks: list[str] = []

    def compose(self) -> ComposeResult:
        """The marks to choose from, and what is known of the chosen one."""
        yield from self.top()
        panel = VerdictPanel(id="verdict", ascii_only=self.host.ascii_only)
        panel.display = False
        yield panel
        with VerticalScroll(id="marks", can_focus=False):
            yield Static(plain_lines([f"  {self.WHAT_TO_DO}", ""]), id="what-to-do")
            yield PickList(id="mark-list")
        yield Static(id="notes")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="figure", placeholder=self.WANTED)
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows the marks as they are known now; what is recorded meanwhile follows."""
        self.watch(self.app, "changes", self._follow, init=False)
        self.show()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        if self.is_mounted:
            self._show_panel()

    # -- what a screen of its own says

    def top(self) -> ComposeResult:
        """What stands over the marks."""
        yield Title(f" {self.session.plan.job} · {self.TITLE_WORDS}")

    def notes(self) -> list[str]:
        """Lines below the marks."""
        return []

    def face(self) -> PanelFace | None:
        """What stands over the marks in large letters, where there is room: the mark that the rod is held on."""
        if not self.marks:
            return None
        return PanelFace(PanelShape.EMPTY, (self.held,), "", "", (self.IN_HAND,))

    @property
    def held(self) -> str:
        """The mark that the next reading is for."""
        return self.mark

    @property
    def must_be_seen(self) -> bool:
        """Whether the panel is shown however little room there is."""
        return False

    def ask(self) -> None:
        """Says what is to be typed in."""
        raise NotImplementedError

    async def figure(self, typed: str) -> None:
        """Acts on the rod's figure at the chosen mark."""
        raise NotImplementedError

    async def nothing(self) -> None:
        """Acts on Enter with nothing typed; a glove on the key means nothing."""

    # -- shared

    @property
    def picks(self) -> PickList:
        """The list of marks."""
        return self.query_one(PickList)

    @property
    def mark(self) -> str:
        """The chosen mark."""
        return self.marks[self.picks.current]

    def show(self) -> None:
        """Shows the marks, and what the screen has to say of them."""
        state = self.session.state
        self.marks = state.book.marks()
        self.picks.offer([self.line(name) for name in self.marks])
        self.show_notes()
        self.ask()

    def _follow(self) -> None:
        """Something was recorded, here or in another window: what the line asks for stays, while its mark does."""
        chosen, self.marks = self.mark, self.session.state.book.marks()
        self.picks.offer([self.line(name) for name in self.marks])
        if chosen in self.marks:
            self.picks.go_to(self.marks.index(chosen))
        self.show_notes()
        if chosen not in self.marks:
            self.gone(chosen)

    def gone(self, mark: str) -> None:
        """The chosen mark is none any more: another is asked for."""
        self.ask()
        self.lost(_("{mark} is no longer a benchmark.", mark=mark))

    def line(self, name: str) -> str:
        """A mark as one line of the list."""
        return mark_line(self.session.state, name)

    def show_notes(self) -> None:
        """Shows the lines below the marks, with how the chosen one's elevation was carried."""
        chain = f"  {chain_line(self.session.state, self.mark)}" if self.marks else ""
        self.query_one("#notes", Static).update(plain_lines(["", chain, "", *(f"  {line}" for line in self.notes())]))
        self._show_panel()

    def _show_panel(self) -> None:
        """Shows the panel where it must be seen, or where the marks and what is known of them have room below it."""
        size, panel, face = self.app.size, self.query_one(VerdictPanel), self.face()
        high = heights(size.width, size.height - touched(self.app)).verdict
        below = len(self.marks) * self.picks.high + ROWS_BESIDE_MARKS
        panel.display = face is not None and (self.must_be_seen or high + below <= size.height)
        self.set_class(panel.display and not self.must_be_seen, "roomy")
        if face is not None:
            panel.styles.height = high
            panel.show(face)

    async def commit(self, text: str) -> None:
        """A number is a figure, a name a mark."""
        typed = text.strip()
        if not typed:
            await self.nothing()
        elif typed == "?":
            await self.run_action("app.keys")
        elif typed[0].isalpha():
            await self.named(typed)
        else:
            await self.figure(typed)

    async def named(self, typed: str) -> None:
        """Chooses the mark of that name. Raises `Refusal` where there is none."""
        name, _ = actions.known_mark(self.session.state, typed)
        self.choose(name)

    def choose(self, name: str) -> None:
        """Makes that mark the chosen one."""
        self.picks.go_to(self.marks.index(name))
        self.show_notes()
        self.ask()

    def action_move(self, by: int) -> None:
        """To another mark."""
        self.picks.go_to(self.picks.current + by)
        self.show_notes()
        self.ask()
