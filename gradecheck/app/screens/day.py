"""The Day screen: what was checked, what is out and what is still open; a stage is signed off here."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.actions.evening import cannot_sign
from gradecheck.app.bindings import bind
from gradecheck.app.parts import Parts
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.check_regions import WIDE
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, check_word, count, stage_word, translated
from gradecheck.journal.errors import JournalError
from gradecheck.journal.store import LogLine
from gradecheck.measure.printed import some
from gradecheck.report.plan_view import plan_view
from gradecheck.report.review import (
    OPEN_AGAIN,
    Chosen,
    StageRow,
    laptop_lines,
    open_lines,
    rechecks_line,
    stage_rows,
    trend_in_steps,
    trend_lines,
)
from gradecheck.state.built import exceptions
from gradecheck.state.signing import questions
from gradecheck.state.state import State

if TYPE_CHECKING:
    from gradecheck.report.pdf import Paper
    from gradecheck.session.session import Session

NARROW = 70
"""Columns below which there is no room for whole names of areas."""


class DayScreen(PagedScreen):
    """Ctrl+S signs off the stage marked >: what is accepted is listed first, and initials with Enter sign."""

    GUIDE = "evening"
    TITLE = _("Day")
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (116, "-wide")]

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("sign", "sign", _("Sign off the chosen stage"), show=True),
        bind("day", "write", _("Write the daily report next to the job file"), word=_("Report"), show=True),
        bind("checks", "checks", _("Slopes, flatness, steps and over-dig there"), show=True),
        bind("more", "other_day", _("What was read today, on an earlier day, or ever"), word=_("Day"), show=True),
        bind("other", "layout", _("Sides and diagonals to be taped, chalk lines"), word=_("Layout"), show=True),
        bind("person", "other_person", _("What one person read, or all")),
        bind("other-folder", "join", _("Take in what another laptop recorded on this job"), word=_("Join")),
        bind("left", "write_left", _("Write what is left as a work order, next to the job file")),
        bind("up", "move(-1)", word=_("Stage before")),
        bind("down", "move(1)", word=_("Stage after")),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[StageRow] = []
        self._chosen = Chosen()
        self._signing: StageRow | None = None
        self._asked: tuple[str, ...] = ()
        self._weather = ""
        self._show_checks = False
        self._title = ""
        self._parts = Parts(self, self._draw)
        self._days: list[str] = []
        self._people: list[str] = []
        self._to_sign: StageRow | None = None
        """The stage to be signed as soon as its checks are worked out."""

    def compose(self) -> ComposeResult:
        """The stages, what is open below them, and one line to answer in."""
        yield Title()
        with Container(id="evening"):
            stages = RowsView(self._columns(), id="stages")
            stages.least = 3
            yield stages
            with Pages(id="open"):
                yield Static(id="notes")
            yield DrawingView(id="found")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="answer-box", placeholder=_("Ctrl+S signs off >, or type the weather"))
        yield KeyLine()

    def _columns(self) -> tuple[ListColumn, ...]:
        """Figures are as wide as the largest area makes them; in a narrow window areas' names give way."""
        most = max((len(area.points) for area in self.session.plan.areas.values()), default=0)
        return (
            ListColumn(_("area"), 13 if self.app.size.width >= NARROW else 10),
            ListColumn(_("stage"), 8),
            ListColumn(_("read"), max(6 if self.app.size.width >= NARROW else 5, len(f"{most}/{most}")), "right"),
            *(
                ListColumn(name, max(4, len(name), len(str(most))), "right", spare=True)
                for name in (_("OK"), _("cut"), _("fill"))
            ),
            ListColumn(_("doubt"), 5, "right"),
            ListColumn(_("worst"), 17),
            ListColumn(_("signed"), 0),
        )

    def on_mount(self) -> None:
        """Shows everything; what is recorded meanwhile follows."""
        self.watch(self.app, "changes", self.show, init=False)
        self.show()

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """While a stage is signed: to sign, or not."""
        return (("open", "sign"), ("back", "cancel")) if self._signing is not None else ()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self.query_one(RowsView).columns = self._columns()
        self.call_after_refresh(self._picture)

    # -- showing

    def show(self) -> None:
        """Counts anew."""
        self._parts.forget()
        try:
            self._draw()
        except JournalError as wrong:
            self.complain(str(wrong))

    def _draw(self) -> None:
        """Shows what is known; a large job is counted beside the screen, which is drawn again as each part comes."""
        session, chosen = self.session, self._chosen
        counted = self._parts.get("rows", lambda: _counted(session, chosen))
        if counted is None:
            self.say(_("Counting what was read …"))
            return
        self.rows, self._lines, self._days, self._people = counted
        gone = self._signing
        if gone is not None and (there := next((row for row in self.rows if _same(row, gone)), None)) is not None:
            gone, self._signing = None, there
        table = self.query_one(RowsView)
        table.show(len(self.rows), self._cells, min(table.current, max(len(self.rows) - 1, 0)))
        when = self._chosen.day or _("all days")
        who = f" · {self._chosen.by}" if self._chosen.by else ""
        mark = _("REHEARSAL · ") if self.session.state.record.rehearsal else ""
        self.query_one("#head", Static).update(plain(f" {mark}{self.session.plan.job} · {when}{who}"))
        if gone is not None:
            self._signing = None
        if self._signing is not None and (asked := self._questions(self._signing)) is not None:
            self._asked = asked
        self._tell()
        self._ask()
        if self._to_sign is not None and self._questions(self._to_sign) is not None:
            self._begin_signing(self._to_sign)
        if gone is not None:
            self.lost(_("{area}, {stage} is no longer there to sign.", area=gone.area, stage=gone.stage))

    def _cells(self, index: int) -> Cells:
        row = self.rows[index]
        # What is open says more.
        signed = "changed" if row.signed.endswith("changed since") else row.signed
        signed = OPEN_AGAIN if f", {OPEN_AGAIN}: " in signed else signed
        if self.size.width < WIDE:  # who and the day stand whole, the hour is in the log
            signed = re.sub(r" \d\d:\d\d\Z", "", signed)
        counts = (row.within, row.cut, row.fill, row.doubt)
        texts = (row.area, stage_word(row.stage), f"{row.read}/{row.points}", *map(str, counts), row.worst, signed)
        return Cells(texts)

    def _tell(self) -> None:
        lines, title = self._shown_lines(), self._title
        self._title = lines[0]
        self.query_one("#notes", Static).update(plain_lines(lines))
        if self._title != title:
            self.query_one(Pages).to_top()
        self._picture()

    def _picture(self) -> None:
        """Where there is width, the area of the stage marked > with what was found, under the stages."""
        view, row = self.query_one(DrawingView), self._row
        columns, rows = view.size
        if columns < 1 or rows < 1:
            return
        if row is None:
            view.show(None)
            return
        state, braille = self.session.state, not self.host.ascii_only
        drawn = self._parts.get(
            ("picture", row.area, row.stage, columns, rows),
            lambda: plan_view(state, row.area, row.stage, columns, rows, braille=braille).drawing,
        )
        view.show(drawn)

    def _shown_lines(self) -> list[str]:
        if self._show_checks and self.rows:
            return self._checks()
        if self._signing is not None:
            listed = [f"{how}: {', '.join(names)}" for how, names in self._accepted(self._signing)]
            if listed or self._asked:
                return [
                    _("By signing you accept:"),
                    *(f"  {each}" for each in (*listed, *map(translated, self._asked))),
                ]
        state, read, chosen = self.session.state, self._lines, self._chosen
        lines = self._parts.get("open", lambda: open_lines(state))
        if lines is None:
            return [_("Looking for what is open …")]
        lines = lines[:]
        if looks := rechecks_line(state, read, chosen):
            lines += ["", looks]
        large = self._parts.are_beside
        said = self._parts.get("trend", lambda: trend_in_steps(state) if large else trend_lines(state))
        if said is None:
            lines += [
                "",
                _("Comparing points read again … {progress}", progress=self._parts.progress("trend")).rstrip(),
            ]
        elif said:
            lines += ["", _("At points read again:"), *(f"  {each}" for each in said)]
        of_laptops = self._parts.get("laptops", lambda: laptop_lines(state, chosen.day))
        return [*lines, "", *of_laptops] if of_laptops else lines

    def _checks(self) -> list[str]:
        row, state = self._row, self.session.state
        assert row is not None
        lines = self._parts.get(("checks", row.area, row.stage), lambda: _check_lines(state, row))
        return [
            f"{row.area}, {stage_word(row.stage)}:",
            *(lines if lines is not None else [_("  Working out the checks …")]),
        ]

    def _questions(self, row: StageRow) -> tuple[str, ...] | None:
        """What signing that stage asks; None while its checks are worked out."""
        state = self.session.state
        return self._parts.get(("questions", row.area, row.stage), lambda: questions(state, row.area, row.stage))

    @property
    def _row(self) -> StageRow | None:
        return self.rows[self.query_one(RowsView).current] if self.rows else None

    def _accepted(self, row: StageRow) -> list[tuple[str, tuple[str, ...]]]:
        """What whoever signs that stage accepts: how it is off, and which points."""
        found = exceptions(self.session.state, row.area, row.stage)
        return [(how, names) for how, names in (("out", found.out), (_("not read"), found.unread)) if names]

    def _ask(self) -> None:
        self.entry.placeholder = _("Ctrl+S signs off >, or type the weather")
        if self._signing is not None:
            parts = [f"{len(names)} {how}: {some(names)}" for how, names in self._accepted(self._signing)]
            listed = _("ACCEPTING {parts}.", parts="; ".join(parts)) if parts else _("All on grade.")
            if self._asked:
                listed += _(" ACCEPTING {asked} listed above.", asked=count(len(self._asked), "more thing"))
            # The answer first: a long list must not push it out of sight.
            self.say(
                _(
                    "Type initials, Enter signs, Esc cancels. {area}, {stage}: {listed}",
                    area=self._signing.area,
                    stage=self._signing.stage,
                    listed=listed,
                )
            )
            self.entry.placeholder = _("initials, as RK")
        elif self._weather:
            self.say(
                _("Weather: {weather}. Who was there? Type it, then Enter; Escape drops it.", weather=self._weather)
            )
            self.entry.placeholder = _("who was there")
        elif self.rows:
            self.say(_("Ctrl+S signs off the stage marked >, Ctrl+X shows its checks, F9 writes the daily report."))
        else:
            self.say(_("No readings match. Ctrl+O goes to another day."))

    # -- acting

    async def commit(self, text: str) -> None:
        """Initials to sign, or the weather, and then who was there."""
        if self._signing is not None:
            await self._sign(text)
        elif self._weather:
            await self._describe(text)
        elif text.strip():
            self._refuse_what_is_no_weather(text.strip())
            self._weather = text.strip()
            self._ask()

    def _refuse_what_is_no_weather(self, text: str) -> None:
        # What was meant for a point or for a signature must not stand on the report as the weather.
        if not text[0].isalpha():
            raise Refusal(
                _("Readings are entered on Check (Escape). Here Ctrl+S signs off; the weather is typed in words.")
            )
        if text.isalpha() and text.isupper() and len(text) <= 4:
            raise Refusal(_("{text} reads as initials: Ctrl+S first. The weather is typed in words.", text=text))

    async def _sign(self, initials: str) -> None:
        row = self._signing
        assert row is not None
        accepted = tuple(name for _, names in self._accepted(row) for name in names)
        # Who signs is not who reads on: the session's own initials stay.
        state, asked = self.session.state, self._asked

        def signed() -> Action:
            return actions.sign_off(state, row.area, row.stage, accepted, by=initials, asked=asked)

        # The checks are worked out once more, in a large job beside the screen.
        draft = await self.host.beside(signed) if self._parts.are_beside else signed()
        await self.keep(initials, (row.area, row.stage), draft)
        self._signing = None
        self.show()

    async def _describe(self, crew: str) -> None:
        if not crew.strip():
            raise Refusal(_("Type a word or two, or Escape."))
        weather = self._weather
        await self.keep(crew, "day", actions.describe_day(weather, crew))
        self._weather = ""
        self.show()
        self.say(_("Noted for the daily report: {weather}; {crew}.", weather=weather, crew=crew))

    def action_move(self, by: int) -> None:
        """To another stage."""
        table = self.query_one(RowsView)
        table.go_to(max(0, min(table.current + by, len(self.rows) - 1)))
        self._tell()

    def action_other_day(self) -> None:
        """All days, then each day with readings, the latest first."""
        self._next("day", self._days[::-1])

    def action_other_person(self) -> None:
        """All persons, then each."""
        self._next("by", self._people)

    def _next(self, what: str, known: list[str]) -> None:
        choices = [None, *known]
        here = getattr(self._chosen, what)
        following = choices[(choices.index(here) + 1) % len(choices)] if here in choices else None
        chosen = {"day": self._chosen.day, "by": self._chosen.by, what: following}
        self._chosen = Chosen(day=chosen["day"], by=chosen["by"])
        self.show()

    def action_sign(self) -> None:
        """Asks for the initials, after what would be accepted."""
        row = self._row
        if row is None:
            self.complain(_("There is no stage here to sign."))
            return
        if fault := cannot_sign(self.session.state, row.area, row.stage):
            self.complain(fault)
            return
        if self._questions(row) is None:
            self._to_sign = row
            self.say(
                _("Working out the checks of {area}, {stage} before it is signed …", area=row.area, stage=row.stage)
            )
            return
        self._begin_signing(row)

    def _begin_signing(self, row: StageRow) -> None:
        self._to_sign = None
        self._signing, self._weather, self._show_checks = row, "", False
        self._asked = self._questions(row) or ()
        self._tell()
        self._ask()

    def action_checks(self) -> None:
        """Shows the checks of the chosen area, or what is open."""
        self._show_checks = not self._show_checks
        self._tell()

    def action_layout(self) -> None:
        """To what is taped."""
        from gradecheck.app.screens.layout import LayoutScreen

        self.app.push_screen(LayoutScreen())

    def action_join(self) -> None:
        """To where what another laptop recorded is taken in."""
        from gradecheck.app.screens.join import JoinScreen  # few have several laptops

        self.app.push_screen(JoinScreen())

    async def action_write(self) -> None:
        """Writes the daily report beside the job file: of the day that is shown, else of the last one."""
        from gradecheck.files.exports import for_paper, report_of, write_daily_report, written_for_paper

        session = self.session
        day = date.fromisoformat(self._chosen.day) if self._chosen.day else None
        paper: Paper = "letter" if session.plan.notation.units.imperial else "a4"

        def write() -> str:
            asked = for_paper(session.folder / _("daily-report-{day}.pdf", day=report.day))
            [path] = write_daily_report(session, asked, paper=paper, report=report)
            return written_for_paper(path)

        self.say(_("Writing the daily report …"))
        # Both beside the drawing: a long day takes seconds to gather, and as long to set.
        report = await self.host.beside(lambda: report_of(session, day))
        written = await asyncio.get_running_loop().run_in_executor(None, write)
        self.say(_("Written: {written}", written=written))
        self.host.share_now()

    async def action_write_left(self) -> None:
        """Writes what is left beside the job file, to be printed and taken along."""
        from gradecheck.files.exports import for_paper, left_of, write_left, written_for_paper

        session = self.session
        paper: Paper = "letter" if session.plan.notation.units.imperial else "a4"
        order = await self.host.beside(lambda: left_of(session))

        def write() -> str:
            path = for_paper(session.folder / _("left-{day}.pdf", day=order.day))
            return written_for_paper(write_left(session, path, order, paper))

        path = await asyncio.get_running_loop().run_in_executor(None, write)
        self.say(_("{rows} left, to take along. Written: {path}", rows=count(len(order.rows), "point"), path=path))

    async def leave(self) -> None:
        """Gives up what was begun first, then the screen."""
        if self._signing is not None or self._weather or self._to_sign is not None:
            self._signing = self._to_sign = None
            self._weather = ""
            self._tell()
            self._ask()
        else:
            self.dismiss()


def _counted(session: Session, chosen: Chosen) -> tuple[list[StageRow], list[LogLine], list[str], list[str]]:
    """The stages, the entries that a review counts, and the days and persons to choose from."""
    lines = session.review_lines()
    return stage_rows(session.state, lines, chosen), lines, *session.days_and_people()


def _check_lines(state: State, row: StageRow) -> list[str]:
    from gradecheck.report.checks import area_results, dig_results, result_line
    from gradecheck.state.as_built import check_area, over_dug

    notation = state.plan.notation
    results = area_results(check_area(state, row.area, row.stage), notation)
    lines = [f"  {check_word(each.section):<12} {result_line(each)}" for each in results]
    if (dug := over_dug(state, row.area)) is not None:
        lines += [f"  {check_word(each.section):<12} {result_line(each)}" for each in dig_results(dug, notation)]
    return lines


def _same(one: StageRow, other: StageRow) -> bool:
    """Whether two rows are of one stage, whatever capitals a new job file has for its names."""
    return [name.casefold() for name in (one.area, one.stage)] == [
        name.casefold() for name in (other.area, other.stage)
    ]
