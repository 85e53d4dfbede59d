"""The New screen: a plan asked for question by question, drawn as it grows; the file is written at the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.catalogue import _, plural
from gradecheck.files.guided import Guided
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.load import PLAN_NAME
from gradecheck.report.plan_view import bare_plan_view

LEAST_ROWS = 24
"""Rows of a window from which on the drawing stands under the answers; in a lower one Ctrl+E shows it alone."""


class NewScreen(PagedScreen):
    """Enter keeps what is offered, Up goes back to any answer; `begun` is told of the job's folder."""

    GUIDE = "job-file"
    TITLE = _("New job")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("undo", "question_back", _("The question before, with its answer"), word=_("Question back"), show=True),
        bind("other", "drawing", _("The drawing alone, and back"), word=_("Drawing"), show=True),
        bind("strike", "begin_anew", _("Forget all answers and begin anew"), word=_("Start over"), show=True),
        bind("up", "move(-1)", word=_("Answer before")),
        bind("down", "move(1)", word=_("Answer after")),
    ]

    def __init__(self, folder: Path, begun: Callable[[Path], None]) -> None:
        super().__init__()
        self._folder = folder
        self._begun = begun
        self.guided = Guided(folder)
        self._alone = False
        self._asked_to_leave = False
        self._asked_to_forget = False
        self._unsent: dict[str, str] = {}

    @property
    def asked(self) -> GuidedAnswers:
        """The questions and their answers."""
        return self.guided.asked

    def compose(self) -> ComposeResult:
        """The answers so far, what they draw, what can be answered, and the question."""
        yield Static(plain(_(" a new job in {folder}", folder=self._folder)), id="head")
        with Container(id="answering"):
            yield RowsView((ListColumn(_("question"), 20), ListColumn(_("answer"), 0)), id="form")
            yield DrawingView(id="area")
            with Pages(id="keys"):
                yield Static(id="notes")
            yield Static(id="found")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="answer-box")
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks the first question, or goes on where it was left."""
        self._ask()
        if self.guided.taken_up:
            says = plural(self.guided.taken_up, "Taken up again with {n} answer; F8 starts over. ",
                          "Taken up again with {n} answers; F8 starts over. ")  # fmt: skip
            self.say(says + self._question_said())

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._lay_out()
        self.call_after_refresh(self._picture)

    # -- the picture

    @property
    def _rows(self) -> list[tuple[str, str, str]]:
        """Each answer, and the question that is open where it is none of those."""
        asked, rows = self.asked, list(self.asked.so_far)
        if asked.question is not None and asked.key not in [key for key, _unused, _said in rows]:
            rows.append((asked.key, asked.question.about, ""))
        return rows

    def _ask(self) -> None:
        asked, rows = self.asked, self._rows
        question = asked.question
        at = next((place for place, row in enumerate(rows) if row[0] == asked.key), len(rows) - 1)
        self.query_one(RowsView).show(len(rows), lambda index: Cells(rows[index][1:]), max(at, 0))
        choices = question.choices if question is not None else ()
        wide = max((len(word) for word, _unused in choices), default=0)
        lines = [f"{word:<{wide}}   {means}" for word, means in choices]
        self.query_one("#notes", Static).update(plain_lines(lines))
        self.query_one("#found", Static).update(plain_lines(list(self.guided.found[:2])))
        self.entry.placeholder = question.default if question is not None else ""
        self.say(self._question_said())
        self._lay_out()
        self.call_after_refresh(self._picture)

    def _question_said(self) -> str:
        question = self.asked.question
        if question is None:
            return _("Enter writes {job}. Up goes back to any answer.", job=self.guided.job / PLAN_NAME)
        return question.asks + (_(" Enter: {default}.", default=question.default) if question.default else "")

    def _lay_out(self) -> None:
        question = self.asked.question
        choices = question.choices if question is not None else ()
        low = self.size.height < LEAST_ROWS and self.size.width < 100
        pages = self.query_one(Pages)
        pages.display = bool(choices) and not self._alone
        self.query_one(RowsView).display = not self._alone
        self.query_one(DrawingView).display = self._alone or (self.guided.plan is not None and not low)
        self.query_one("#found", Static).display = bool(self.guided.found) and not self._alone

    def _picture(self) -> None:
        if not self.is_attached:
            return
        view = self.query_one(DrawingView)
        if not view.display or not view.size.area or self.guided.plan is None:
            return
        name = self.asked.key.partition(":")[0]
        area = name if name in self.guided.plan.areas else next(reversed(self.guided.plan.areas))
        braille = not self.host.ascii_only
        view.show(bare_plan_view(self.guided.plan, area, *view.size, braille=braille, figures=True).drawing)

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """What this state needs first."""
        return [("open", _("write it"))] if self.asked.is_whole else []

    # -- answers

    async def commit(self, text: str) -> None:
        """Takes an answer; behind the last one, writes the job file."""
        self._asked_to_leave = self._asked_to_forget = False
        if self.asked.question is not None:
            self.guided.answer(text)
            self._ask()
            return
        if text.strip():
            raise Refusal(_("All answered; press Enter alone to write it, or Up to go back to an answer."))
        self._begun(self.guided.write())
        self.dismiss()

    def action_move(self, by: int) -> None:
        """Asks another answer again; past the last one, the question that is open."""
        rows = self._rows
        keys = [key for key, _unused, _said in rows]
        at = keys.index(self.asked.key) if self.asked.key in keys else len(keys)
        to = max(0, at + by)
        self._asked_to_leave = self._asked_to_forget = False
        self._unsent[self.asked.key] = self.entry.drop()
        self.asked.go_to(keys[to] if to < len(keys) else "")
        self._ask()
        # What was typed behind one question is no answer to another; it stands there again on the way back.
        self.entry.put(self._unsent.pop(self.asked.key, ""))

    def action_turn(self, by: int) -> None:
        """A page of answers."""
        self.action_move(by * max(self.query_one(RowsView).size.height - 2, 1))

    def action_question_back(self) -> None:
        """To the question before."""
        self.action_move(-1)

    def action_begin_anew(self) -> None:
        """All answers are forgotten, once that was asked."""
        if self.asked.so_far and not self._asked_to_forget:
            self._asked_to_forget, self._asked_to_leave = True, False
            self.complain(_("Forget all answers and start over? F8 again forgets them; any answer goes on."))
            return
        self._asked_to_forget = False
        self._unsent.clear()
        self.entry.drop()
        self.guided.forget()
        self._ask()
        self.say(_("All answers are forgotten. {asks}", asks=self._question_said()))

    def action_drawing(self) -> None:
        """The drawing alone, or the answers again."""
        self._alone = not self._alone and self.guided.plan is not None
        self._lay_out()
        self.call_after_refresh(self._picture)

    async def leave(self) -> None:
        """Back to the jobs, asking where something was answered; the answers are kept."""
        if self._alone:
            self.action_drawing()
        elif self.asked.so_far and not self._asked_to_leave:
            self._asked_to_leave, self._asked_to_forget = True, False
            self.complain(_("Leave? The answers are kept, and Ctrl+Y takes them up again. Esc again leaves."))
        else:
            self.dismiss()
