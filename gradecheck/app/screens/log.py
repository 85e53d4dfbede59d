"""The Log screen: what was recorded, in order; strike an entry with a reason, or add a note."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.find import entries
from gradecheck.app.parts import Parts
from gradecheck.app.plain import plain
from gradecheck.app.route import Route
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.check_regions import WIDE
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, count
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import SetupMade
from gradecheck.journal.store import LogLine
from gradecheck.measure.verdict_words import Word
from gradecheck.report.instrument import disagreement, preview_line
from gradecheck.report.log import FAILED, IN_DOUBT, LogRow, became, in_full, log_row, names_in, set_up_of

PAGE = 200
"""Entries fetched at a time."""
TONES = {"?": "tone-doubt", FAILED: "tone-doubt", Word.CUT.shown: "tone-work", Word.FILL.shown: "tone-work",
         Word.ON_GRADE.shown: "tone-calm", _("OK"): "tone-calm"}  # fmt: skip
"""The color of a judgment, by how it begins."""
SHORTEST = 8
"""Cells for what was done before who did it and its kind have any: a point and its stage must be seen."""
PAGES_AT_ONCE = 20
"""Pages that one Enter looks through for an entry."""


class LogScreen(EntryScreen):
    """Text and Enter add a note; F8 strikes the chosen entry with a reason, Ctrl+R corrects its rod reading."""

    GUIDE = "moving"
    TITLE = _("Log")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("area", "other_area", _("This area's entries, or all"), word=_("Area/all"), show=True),
        bind("strike", "strike", _("Strike the chosen entry, with a reason"), show=True),
        bind("correct", "correct", _("Correct the rod reading of the chosen entry"), show=True),
        bind("find", "find", _("Find an entry by part of a point's name, its digits or a word")),
        bind("more", "older", _("Fetch older entries"), word=_("Older"), show=True),
        bind("up", "move(-1)", word=_("Entry before")),
        bind("down", "move(1)", word=_("Entry after")),
        bind("page-up", "move(-15)", word=_("A page before")),
        bind("page-down", "move(15)", word=_("A page after")),
    ]

    def __init__(self, route: Route) -> None:
        """Of the area that the route stands in, at first."""
        super().__init__()
        self._route = route
        self._all = False
        self.rows: list[LogRow] = []
        self._about: dict[str, tuple[str, ...]] = {}
        """By an entry's id the points and marks that it is about."""
        self._finds = False
        self._found: list[int] | None = None
        """The places of the rows that what is looked for may mean; None while all are shown."""
        self._looked_for = ""
        self._find_turn = 0
        self._striking: LogRow | None = None
        self._correcting: LogRow | None = None
        self._mark: str | None = None
        """The mark whose backsight is corrected, where the entry of that backsight was chosen."""
        self._figure: str | None = None
        self._parts = Parts(self, self._ask)

    def compose(self) -> ComposeResult:
        """The entries, and one line for a note or a reason."""
        yield Title()
        table = RowsView(self._columns(), id="entries")
        table.least = SHORTEST
        yield table
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="note", placeholder=_("a note for the log; Ctrl+F finds an entry"))
        yield KeyLine()

    def _columns(self) -> tuple[ListColumn, ...]:
        """What the window has room for: where it is wide, the judgment then stands beside that of today."""
        return (
            ListColumn(_("no."), max(4, len(str(self.session.seq)) + 1), "right", quiet=True),
            ListColumn(_("when"), 11, quiet=True),
            ListColumn(_("by"), 4, spare=True, quiet=True),
            ListColumn(_("kind"), 9, spare=True, quiet=True),
            ListColumn(_("what"), 0),
            ListColumn(_("entered"), 12),
            ListColumn(_("now / then"), 34 if self.app.size.width >= WIDE else 15),
        )

    def on_resize(self) -> None:
        """There is more room now, or less."""
        table = self.query_one(RowsView)
        if table.columns != (columns := self._columns()):
            table.columns = columns
            table.refresh()

    def on_mount(self) -> None:
        """Shows the newest entries and follows the log."""
        self.show()
        self.watch(self.app, "changes", self.show, init=False)

    @property
    def area(self) -> str | None:
        """Whose entries are shown; None for those of all areas."""
        return None if self._all else self._route.area.name

    def show(self) -> None:
        """Fetches the newest entries anew and shows the last."""
        self._parts.forget()
        try:
            self.rows = self._rows_of(self.session.lines(self.area, limit=PAGE))
            if self._finds:
                self._look_for(self.entry.value)
                return
            self._draw(len(self.rows) - 1)
            if not self.keeping and (gone := self._gone()) is not None:
                self._give_up()
                self._ask()
                self.lost(_("Entry {seq} was struck or replaced in another window.", seq=gone.seq))
            else:
                self._ask()
        except (JournalError, Refusal) as wrong:
            self.complain(str(wrong))

    def _gone(self) -> LogRow | None:
        """The entry that is being struck or corrected, where it no longer stands."""
        begun = self._striking or self._correcting
        return next((row for row in self.rows if begun and row.id == begun.id and row.struck), None)

    def _rows_of(self, lines: Sequence[LogLine]) -> list[LogRow]:
        self._about.update((line.entry.id, names_in(line.entry.fact)) for line in lines)
        return [log_row(self.session.state, line) for line in lines]

    def _draw(self, current: int) -> None:
        shown = len(self.rows) if self._found is None else len(self._found)
        self.query_one(RowsView).show(shown, self._cells, max(current, 0))
        where = self.area or _("all areas")
        self.query_one("#head", Static).update(
            plain(_(" {job} · log of {where}", job=self.session.plan.job, where=where))
        )

    def _row(self, index: int) -> LogRow:
        """The row at that place of those shown."""
        return self.rows[index if self._found is None else self._found[index]]

    def _cells(self, index: int) -> Cells:
        row = self._row(index)
        # Today's judgment first: it must be seen where there is no room for both.
        judged = row.now if row.now == f"{IN_DOUBT}{row.then}" else row.then
        judged = judged if row.now in ("", row.then, judged) else _("{now}, was {then}", now=row.now, then=row.then)
        verdict = became(row, self.rows) or judged.replace(IN_DOUBT, "? ")
        return Cells(
            (
                f"{row.seq}{'x' if row.struck else ' '}",
                f"{row.day[5:]} {row.time}",
                row.by,
                row.done,
                row.subject_line,
                row.typed.removeprefix(f"{row.subject_line.split(' ', 1)[0]}="),
                verdict,
            ),
            next((tone for begins, tone in TONES.items() if verdict.startswith(begins)), ""),
            struck=row.struck,
        )

    def _tell(self) -> None:
        """The chosen entry in full: in the table there is not always room."""
        row = self._row(self.query_one(RowsView).current)
        can = "" if row.struck or row.kind == "void" else _(" Ctrl+R corrects, F8 strikes.")
        self.say(f"{in_full(row, self.rows)}.{can}")

    def _ask(self) -> None:
        self.entry.wanted(self._wanted())
        if self._striking:
            self.say(
                _(
                    "Why strike entry {seq} ({subject})? Type the reason, then Enter.",
                    seq=self._striking.seq,
                    subject=self._striking.subject,
                )
            )
        elif self._correcting and self._figure is not None:
            draft = self.session.correct(self._correcting.id, self._figure)
            becomes = _("Entry {seq} becomes {figure}:", seq=self._correcting.seq, figure=self._figure)
            if (words := self._moves(draft)) is None:
                self.say(_("{entry} working out what that changes …", entry=becomes))
            else:
                warned = self._disagreement(self._correcting, draft)
                self.say(
                    _(
                        "{entry} {preview}{warned} Enter accepts, Esc cancels.",
                        entry=becomes,
                        preview=words,
                        warned=warned,
                    )
                )
        elif self._correcting:
            row = self._correcting
            on = _(" on {mark}", mark=self._mark) if self._mark else ""
            self.say(
                _(
                    "Entry {seq}, {done} {subject}, was entered as {typed}. Correct reading{on}?",
                    seq=row.seq,
                    done=row.done,
                    subject=row.subject,
                    typed=row.typed,
                    on=on,
                )
            )
        elif self.rows:
            self.say(_("Type a note, then Enter. On the entry marked >: Ctrl+R corrects, F8 strikes."))
        else:
            self.say(_("Nothing is recorded here yet. Type a note and press Enter."))

    def _wanted(self) -> str:
        """What the box is for now."""
        if self._striking:
            return _("why it is struck")
        if self._correcting:
            if self._figure is not None:
                return _("Enter alone accepts")
            several = self._mark is None and self._correcting.typed.count("=") > 1
            like = f"DOOR={self.session.plan.rod.notation.units.examples.mark}"
            return _("which mark, and what is right: {like}", like=like) if several else _("the correct reading")
        return _("a note for the log; Ctrl+F finds an entry")

    def _moves(self, draft: Action) -> str | None:
        """What the correction would change; None while that is worked out."""
        session, part = self.session, (draft.replaces, self._figure)
        return self._parts.get(part, lambda: preview_line(session.state, session.preview(draft)))

    def _disagreement(self, row: LogRow, draft: Action) -> str:
        """That the marks of a corrected setup would disagree, where they would."""
        state = self.session.state
        setup = next((each for each in state.setups.values() if each.seq == (row.about or row.seq)), None)
        made = state.book.recorded(setup.id) if setup else None
        if made is None or not isinstance(draft.fact, SetupMade):
            return ""
        sights = tuple((sight.mark, sight.rod) for sight in draft.fact.backsights)
        wrong = disagreement(state, dataclasses.replace(made, sights=sights))
        return _(" THEN ITS MARKS DISAGREE {wrong}.", wrong=wrong) if wrong else ""

    # -- finding

    def action_find(self) -> None:
        """What is typed next is looked for; what it may mean is shown as it is typed."""
        self._give_up()
        self._finds, self._find_turn = True, self.entry.turn
        self.entry.wanted(
            _("part of a point's name, its digits, a word of where it is or of a note"),
            _("part of a name, digits, a word of a note"),
        )
        self.say(_("Find an entry: type part of a name, Enter goes there, Esc shows all again."))
        self._look_for(self.entry.value)

    @on(Input.Changed, "#note")
    def _next_key(self, event: Input.Changed) -> None:
        if event.value:
            self._find_turn = self.entry.turn
        # Emptied by Enter: what was found is gone to in a moment.
        typed = event.value == self.entry.being_typed and event.value != self._looked_for
        if self._finds and typed and self._find_turn == self.entry.turn:
            self._look_for(event.value)

    def _look_for(self, text: str) -> bool:
        """Shows the rows that the text may mean, the likeliest marked; whether there are any."""
        self._looked_for = text
        if not text.strip():
            self._found = None
            self._draw(len(self.rows) - 1)
            return False
        found = entries(self.session.state, self.rows, self._about, text)
        self._found = sorted(found)
        best = max(found, key=lambda place: (-found[place], place), default=None)
        self._draw(self._found.index(best) if best is not None else 0)
        older = _(" Press Enter to look further back.") if not found and self._has_older else ""
        where = self.area or _("all areas")
        none = _("No entry shown here of {where} has “{typed}”.{older}", where=where, typed=text.strip(), older=older)
        if best is not None:
            row = self.rows[best]
            many = count(len(found), "entry", "entries")
            self.say(
                _(
                    "{many}. Enter goes to {seq} {done} {reading}.",
                    many=many,
                    seq=row.seq,
                    done=row.done,
                    reading=row.subject_line,
                )
            )
        else:
            self.say(none)
        return best is not None

    @property
    def _has_older(self) -> bool:
        return bool(self.rows and self.session.lines(self.area, before=self.rows[0].seq, limit=1))

    def _go_to_found(self, text: str) -> None:
        """To the marked match; where nothing fetched fits, further back in the log, so many pages at a time."""
        view = self.query_one(RowsView)
        if text != self._looked_for or self._found is None:
            self._look_for(text)
        for _page in range(PAGES_AT_ONCE):
            if not text.strip() or self._found or not self._fetch_older():
                break
            self._look_for(text)
        if text.strip() and not self._found:
            older = (
                _(" Press Enter to look further back.")
                if self._has_older
                else _(" F2 shows the entries of all areas, or of one.")
            )
            raise Refusal(
                _(
                    "No entry has “{typed}” since {day}.{older}",
                    typed=text.strip(),
                    day=self.rows[0].day if self.rows else _("the start"),
                    older=older,
                )
            )
        at = self._found[view.current] if self._found else len(self.rows) - 1
        self._end_finding(at)
        if self.rows:
            self._tell()

    def _end_finding(self, at: int | None = None) -> None:
        """All rows again, with that one marked."""
        self._finds, self._found = False, None
        self._draw(len(self.rows) - 1 if at is None else at)
        self.entry.wanted(self._wanted())

    def dropped(self) -> None:
        """What was looked for is gone, so all entries are shown again."""
        if self._finds:
            self._end_finding()

    async def commit(self, text: str) -> None:
        """A reason while an entry is being struck, what is looked for, else a note."""
        if self._finds:
            self._go_to_found(text)
        elif self._striking:
            row = self._striking
            await self.keep(text, row.id, self.session.strike(row.id, text))
            self._give_up()
            self._ask()
        elif self._correcting:
            await self._correct(text)
        elif text.strip():
            await self.keep(text, "note", actions.note(text, self.area))

    async def _correct(self, text: str) -> None:
        """The right reading first, then an empty Enter that accepts what it would change."""
        row = self._correcting
        assert row is not None
        if text.strip():
            named = self._mark is None or "=" in text
            self._figure = text.strip() if named else f"{self._mark}={text.strip()}"
            try:
                self._ask()
            except Refusal:
                self._figure = None
                raise
        elif self._figure is not None:
            figure = self._figure
            if self._moves(self.session.correct(row.id, figure)) is None:
                raise Refusal(_("Still working out what that changes; press Enter again when it shows."))
            await self.keep(figure, row.id, self.session.correct(row.id, figure))
            self._give_up()
            self._ask()

    def _give_up(self) -> None:
        self._striking = self._correcting = self._mark = self._figure = None

    @property
    def _busy(self) -> bool:
        return self._striking is not None or self._correcting is not None

    def action_move(self, by: int) -> None:
        """To another entry."""
        view = self.query_one(RowsView)
        if self._finds and self.entry.value != self._looked_for:
            self._look_for(self.entry.value)
        if view.count and not self._busy:
            view.go_to(max(0, min(view.current + by, view.count - 1)))
            self._tell()

    def action_other_area(self) -> None:
        """This area's entries, or those of all."""
        self._all = not self._all
        self._give_up()
        self._finds, self._found = False, None
        self.show()

    def action_older(self) -> None:
        """Fetches the page before the oldest entry shown."""
        self._finds, self._found = False, None
        before = len(self.rows)
        if self._fetch_older():
            self._draw(len(self.rows) - before - 1)
        elif self.rows:
            self.say(_("There are no older entries."))

    def _fetch_older(self) -> bool:
        """One page more, before the oldest that is fetched; whether there was any."""
        lines = self.session.lines(self.area, before=self.rows[0].seq, limit=PAGE) if self.rows else []
        self.rows = self._rows_of(lines) + self.rows
        return bool(lines)

    def _chosen(self) -> LogRow | None:
        """The chosen entry, if something can still be done to it."""
        view = self.query_one(RowsView)
        if not view.count:
            self.complain(_("Nothing is recorded here yet.") if not self.rows else _("No entry is marked."))
            return None
        row = self._row(view.current)
        if self._finds:
            self._end_finding(self.rows.index(row))
        if row.struck:
            self.complain(_("Entry {seq} is struck or replaced already.", seq=row.seq))
            return None
        if row.kind == "void":
            again = _("it stays struck. Enter that reading again where it belongs.")
            self.complain(_("Entry {seq} struck entry {about}; {again}", seq=row.seq, about=row.about, again=again))
            return None
        return row

    def action_strike(self) -> None:
        """Asks for the reason to strike the chosen entry."""
        if (row := self._chosen()) is None:
            return
        if row.kind == "backsight" and (setup := set_up_of(self.session.state, row, self.rows)) is not None:
            # Struck alone it would change nothing: the setup holds the figure.
            self.complain(
                _(
                    "Entry {seq} went into the setup, entry {setup}: strike that, or Ctrl+R corrects it.",
                    seq=row.seq,
                    setup=setup.seq,
                )
            )
            return
        self._give_up()
        self._striking = row
        self._ask()

    def action_correct(self) -> None:
        """Asks for the right reading of the chosen entry; that of a backsight is corrected in its setup."""
        if (row := self._chosen()) is None:
            return
        mark = None
        if row.kind == "backsight":
            if (setup := set_up_of(self.session.state, row, self.rows)) is None:
                self.complain(
                    _(
                        "Entry {seq} isn't part of a setup that counts; enter it again on the Setup screen.",
                        seq=row.seq,
                    )
                )
                return
            mark, row = row.typed.rpartition("=")[0], setup
            self.query_one(RowsView).go_to(self.rows.index(row))
        if row.kind == "recheck" or not row.typed:
            what = _("is a recheck") if row.typed else _("holds no rod reading")
            self.complain(_("Entry {seq} {what}; F8 strikes it.", seq=row.seq, what=what))
            return
        self._give_up()
        self._correcting, self._mark = row, mark
        self._ask()

    async def leave(self) -> None:
        """Back, or out of striking and correcting first."""
        if self._finds:
            self._end_finding()
            self._ask()
        elif self._busy:
            self._give_up()
            self._ask()
        else:
            self.dismiss()
