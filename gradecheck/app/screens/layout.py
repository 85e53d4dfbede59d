"""The Layout screen: sides and diagonals typed in like readings, the corners sketched, and which of them to move."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.checks.squaring import CornerMove
from gradecheck.measure.printed import show
from gradecheck.plan.model import Layout
from gradecheck.report.checks import layout_results, result_line
from gradecheck.report.corner_sketch import corner_sketch, moves_line
from gradecheck.report.layout import LONG, RIGHT, SHORT, TapeRow, chalk_table, tape_rows

TONES = {LONG: "tone-work", SHORT: "tone-work", RIGHT: "tone-calm"}


class LayoutScreen(PagedScreen):
    """The box takes the taped length of the row marked >; Enter goes on to the next that is not taped."""

    GUIDE = "squaring"
    TITLE = _("Layout")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "other", _("Go to the next layout check"), word=_("Next check"), show=True),
        bind("strike", "strike", _("Strike the tape of the row marked >"), show=True),
        bind("up", "move(-1)", word=_("Tape before")),
        bind("down", "move(1)", word=_("Tape after")),
    ]

    def __init__(self, name: str | None = None) -> None:
        super().__init__()
        self._name = name
        self.rows: list[TapeRow] = []
        self._moves: tuple[CornerMove, ...] | None = None

    def compose(self) -> ComposeResult:
        """The tapes, what they say, and the box."""
        yield Title()
        rounded = show(self.session.plan.notation.graduation, self.session.plan.notation, unit=True)
        with Container(id="layout"):
            table = RowsView(
                (
                    ListColumn(_("tape"), 11),
                    ListColumn("", 9, spare=True),
                    ListColumn(_("target"), 13, "right"),
                    ListColumn(_("taped"), 11, "right"),
                    ListColumn(_("off"), 9, "right"),
                    ListColumn(_("to {rounded}", rounded=rounded), 0),
                ),
                id="tapes",
            )
            table.least = 10  # "ON LENGTH" in whole, and what it is said to
            yield table
            yield DrawingView(id="sketch")
            with Pages(id="open"):
                yield Static(id="notes")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="tape", placeholder=_("what the tape shows"))
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
        name = self._name or _("no check in the plan")
        self.query_one("#head", Static).update(
            plain(_(" {job} · layout · {name}", job=self.session.plan.job, name=name))
        )
        self._moves = self._to_move()
        self.query_one("#notes", Static).update(plain_lines(self._result_lines()))
        self._sketch()
        self._ask()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self.call_after_refresh(self._sketch)

    def _sketch(self) -> None:
        view, layout = self.query_one(DrawingView), self._check
        view.display = layout is not None
        columns, rows = view.size
        if layout is not None and columns > 0 and rows > 0:
            braille = not self.host.ascii_only
            view.show(corner_sketch(self.session.state, layout, self._moves, columns, rows, braille=braille))

    def _to_move(self) -> tuple[CornerMove, ...] | None:
        from gradecheck.state.as_built import corners_to_move

        return corners_to_move(self.session.state, self._check) if self._check is not None else None

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
            self.lost(
                _(
                    "{layout}, {start} to {end} is no longer in the plan.",
                    layout=asked[0],
                    start=asked[1],
                    end=asked[2],
                )
            )

    @property
    def _asked(self) -> tuple[str | None, str, str] | None:
        row = self._row
        return (self._name, row.start, row.end) if row else None

    def _cells(self, index: int) -> Cells:
        row = self.rows[index]
        texts = (f"{row.start} to {row.end}", row.kind, row.wanted.removeprefix("~"), row.taped, row.off, row.word)
        return Cells(texts, TONES.get(row.word, ""))

    def _result_lines(self) -> list[str]:
        from gradecheck.state.as_built import check_layout

        layout, notation = self._check, self.session.plan.notation
        lines = []
        if layout is not None:
            square = check_layout(self.session.state, layout)
            results = layout_results(layout.name, square, notation)
            lines += [result_line(each) for each in sorted(results, key=lambda each: each.verdict != "fault")]
        for bond in self.session.plan.bonds.values():
            lines += ["", *chalk_table(bond, notation)]
        return lines or [_("Nothing is taped yet.")]

    @property
    def _row(self) -> TapeRow | None:
        return self.rows[self.query_one(RowsView).current] if self.rows else None

    def _ask(self) -> None:
        row = self._row
        self.entry.placeholder = (
            _("what the tape shows from {start} to {end}", start=row.start, end=row.end) if row else ""
        )
        if row is None:
            self.say(_("The plan names no layout check; the office adds “layout: {court: {sides: [24 ft, 20 ft]}}”."))
        elif all(each.taped for each in self.rows):
            self.say(_("All taped. {does}", does=self._does).rstrip())
        else:
            self.say(
                _(
                    "{start} to {end} ({kind}): the tape should show {wanted}",
                    start=row.start,
                    end=row.end,
                    kind=row.kind,
                    wanted=row.wanted.removeprefix("~"),
                )
            )

    @property
    def _does(self) -> str:
        """What to do now that all is taped."""
        if self._moves == ():
            return _("Square: nothing to move.")
        return moves_line(self._moves, self.session.plan.notation)

    async def commit(self, text: str) -> None:
        """The taped length of the current row."""
        row, layout = self._row, self._check
        if not text.strip():
            return
        if row is None or layout is None:
            raise Refusal(_("There is nothing to tape here."))
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
            self.complain(_("Nothing was taped there."))
            return
        await self.host.record(self.session.strike(kept.id, _("struck at once")))
