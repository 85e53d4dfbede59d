"""The Layout screen: sides and diagonals to be taped, typed in like readings, and what the tapes say."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.pages import Pages
from gradecheck.app.widgets.rows_view import Cells, Column, RowsView
from gradecheck.plan.model import Layout
from gradecheck.report.checks import line, told_layout
from gradecheck.report.layout import LONG, RIGHT, SHORT, TapeRow, chalk_table, tape_rows

TONES = {LONG: "tone-work", SHORT: "tone-work", RIGHT: "tone-calm"}


class LayoutScreen(PagedScreen):
    """The box takes the taped length of the row marked >; Enter goes on to the next that is not taped."""

    GUIDE = "squaring"
    TITLE = "Layout"

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "other", "Go to the next layout check", word="Next check", show=True),
        bind("strike", "strike", "Strike the tape of the row marked >", show=True),
        bind("up", "move(-1)", word="Tape before"),
        bind("down", "move(1)", word="Tape after"),
    ]

    def __init__(self, name: str | None = None) -> None:
        super().__init__()
        self._name = name
        self.rows: list[TapeRow] = []

    def compose(self) -> ComposeResult:
        """The tapes, what they say, and the box."""
        yield Static(id="head")
        yield RowsView(
            (
                Column("from", 7),
                Column("to", 7),
                Column("", 9),
                Column("target", 15, "right"),
                Column("taped", 13, "right"),
                Column("off", 9, "right"),
                Column("verdict", 0),
            ),
            id="tapes",
        )
        with Pages(id="open"):
            yield Static(id="told")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="tape", placeholder="what the tape shows")
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows the first check, or the one asked for."""
        self.watch(self.app, "changes", self._follow, init=False)
        self.show()
        self._go_on(-1)

    @property
    def _check(self) -> Layout | None:
        checks = self.session.plan.layout
        return checks.get(self._name or "") or next(iter(checks.values()), None)

    def show(self) -> None:
        """Shows what was taped."""
        layout, state = self._check, self.session.state
        self.rows = tape_rows(state, layout) if layout else []
        table = self.query_one(RowsView)
        table.show(len(self.rows), self._cells, min(table.current, max(len(self.rows) - 1, 0)))
        self._name = layout.name if layout else None
        name = self._name or "no check in the plan"
        self.query_one("#head", Static).update(plain(f" {self.session.plan.job} · layout · {name}"))
        self.query_one("#told", Static).update(plain_lines(self._told()))
        self._ask()

    def _follow(self) -> None:
        """Something was recorded, here or in another window: the row stays, while its tape does."""
        asked = self._asked
        self.show()
        if asked is None or asked == self._asked:
            return
        again = (place for place, row in enumerate(self.rows) if (self._name, row.start, row.end) == asked)
        if (place := next(again, None)) is not None:
            self.query_one(RowsView).go_to(place)
            self._ask()
        else:
            self.lost(f"{asked[0]}, {asked[1]} to {asked[2]} is not in the plan any more.")

    @property
    def _asked(self) -> tuple[str | None, str, str] | None:
        row = self._row
        return (self._name, row.start, row.end) if row else None

    def _cells(self, index: int) -> Cells:
        row = self.rows[index]
        texts = (row.start, row.end, row.kind, row.wanted, row.taped, row.off, row.word)
        return Cells(texts, TONES.get(row.word, ""))

    def _told(self) -> list[str]:
        from gradecheck.state.as_built import check_layout

        layout, notation = self._check, self.session.plan.notation
        lines = []
        if layout is not None:
            square = check_layout(self.session.state, layout)
            lines += [line(told) for told in told_layout(layout.name, square, notation)]
        for bond in self.session.plan.bonds.values():
            lines += ["", *chalk_table(bond, notation)]
        return lines or ["Nothing is taped yet."]

    @property
    def _row(self) -> TapeRow | None:
        return self.rows[self.query_one(RowsView).current] if self.rows else None

    def _ask(self) -> None:
        row = self._row
        if row is None:
            self.say("The plan names no layout check; the office adds “layout: {court: {sides: [24 ft, 20 ft]}}”.")
        elif all(each.taped for each in self.rows):
            self.say(f"All taped. {row.start} to {row.end}: {row.wanted}")
        else:
            self.say(f"{row.start} to {row.end} ({row.kind}): the tape should show {row.wanted}")

    async def commit(self, text: str) -> None:
        """The taped length of the current row."""
        row, layout = self._row, self._check
        if not text.strip():
            return
        if row is None or layout is None:
            raise Refusal("There is nothing to tape here.")
        draft = actions.tape(self.session.state, layout.name, row.start, row.end, text)
        await self.keep(text, (layout.name, row.start, row.end), draft)
        self._go_on(self.query_one(RowsView).current)

    def _go_on(self, after: int) -> None:
        count = len(self.rows)
        for place in range(after + 1, after + 1 + count):
            if not self.rows[place % count].taped:
                self.query_one(RowsView).go_to(place % count)
                break
        self._ask()

    def action_move(self, by: int) -> None:
        """To another tape."""
        table = self.query_one(RowsView)
        table.go_to(max(0, min(table.current + by, len(self.rows) - 1)))
        self._ask()

    def action_other(self) -> None:
        """To the next check."""
        names = list(self.session.plan.layout)
        if self._check is not None:
            self._name = names[(names.index(self._check.name) + 1) % len(names)]
        self.show()
        self._go_on(-1)

    async def action_strike(self) -> None:
        """Strikes the tape of the current row; it stays in the log."""
        row, layout = self._row, self._check
        taped = self.session.state.record.taped(layout.name) if layout else {}
        kept = taped.get(frozenset((row.start, row.end))) if row else None
        if kept is None:
            self.complain("Nothing was taped there.")
            return
        await self.host.record(self.session.strike(kept.id, "struck at once"))
