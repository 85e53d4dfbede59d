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
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.rows_view import Cells, Column, RowsView
from gradecheck.catalogue import _, plural
from gradecheck.files.begun import answers_begun, forget_begun, keep_begun
from gradecheck.files.job_file import reader
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.plan.asked import Asked
from gradecheck.plan.load import FILE_NAME
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.starter import NotPossibleError
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
        kept = answers_begun(folder)
        self._taken_up = len(kept)
        self.asked = Asked(self._refuses, kept)
        self._plan: Plan | None = None
        self._found: tuple[str, ...] = ()
        self._alone = False
        self._asked_to_leave = False
        self._read()

    def _refuses(self, name: str) -> str | None:
        return cannot_begin(self._folder, name)

    def compose(self) -> ComposeResult:
        """The answers so far, what they draw, what can be answered, and the question."""
        yield Static(plain(_(" a new job in {folder}", folder=self._folder)), id="head")
        with Container(id="answering"):
            yield RowsView((Column(_("question"), 20), Column(_("answer"), 0)), id="form")
            yield DrawingView(id="area")
            with Pages(id="keys"):
                yield Static(id="told")
            yield Static(id="found")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="answer-box")
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks the first question, or goes on where it was left."""
        self._ask()
        if self._taken_up:
            says = plural(self._taken_up, "Taken up again with {n} answer; F8 starts over. ",
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
        self.query_one("#told", Static).update(plain_lines(lines))
        self.query_one("#found", Static).update(plain_lines(list(self._found[:2])))
        self.entry.placeholder = question.default if question is not None else ""
        self.say(self._question_said())
        self._lay_out()
        self.call_after_refresh(self._picture)

    def _question_said(self) -> str:
        question = self.asked.question
        if question is None:
            return _("Enter writes {job}. Up goes back to any answer.", job=self._job / FILE_NAME)
        return question.asks + (_(" Enter: {default}.", default=question.default) if question.default else "")

    def _lay_out(self) -> None:
        question = self.asked.question
        choices = question.choices if question is not None else ()
        low = self.size.height < LEAST_ROWS and self.size.width < 100
        pages = self.query_one(Pages)
        pages.display = bool(choices) and not self._alone
        self.query_one(RowsView).display = not self._alone
        self.query_one(DrawingView).display = self._alone or (self._plan is not None and not low)
        self.query_one("#found", Static).display = bool(self._found) and not self._alone

    def _picture(self) -> None:
        if not self.is_attached:
            return
        view = self.query_one(DrawingView)
        if not view.display or not view.size.area or self._plan is None:
            return
        name = self.asked.key.partition(":")[0]
        area = name if name in self._plan.areas else next(reversed(self._plan.areas))
        braille = not self.host.ascii_only
        view.show(bare_plan_view(self._plan, area, *view.size, braille=braille, figures=True).drawing)

    def _read(self) -> None:
        """The plan as it would be now, with its findings. Raises `PlanProblemsError`."""
        text = self.asked.preview().text()
        self._plan = reader(self._folder)(text) if text else None
        self._found = _found_in(self._plan) if self._plan is not None else ()

    @property
    def _job(self) -> Path:
        """The folder of the job that all questions are answered for."""
        return self._folder / self.asked.build.folder

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """What this state needs first."""
        return [("open", _("write it"))] if self.asked.is_whole else []

    # -- answers

    async def commit(self, text: str) -> None:
        """Takes an answer; behind the last one, writes the job file."""
        self._asked_to_leave = False
        asked = self.asked
        if asked.question is None:
            if text.strip():
                raise Refusal(_("All answered; press Enter alone to write it, or Up to go back to an answer."))
            job = begin_job(self._folder, asked.build.folder, asked.build.text())
            forget_begun(self._folder)
            self._begun(job)
            self.dismiss()
            return
        before, key = dict(asked.typed), asked.key
        try:
            asked.answer(text)
            self._read()
        except NotPossibleError as wrong:
            self._put_back(before, key)
            raise Refusal(str(wrong)) from wrong
        except PlanProblemsError as wrong:
            self._put_back(before, key)
            raise Refusal(_("This can't be built: {says}", says=wrong.problems[0].says)) from wrong
        keep_begun(self._folder, asked.typed)
        self._ask()

    def _put_back(self, before: dict[str, str], key: str) -> None:
        self.asked = Asked(self._refuses, before)
        self.asked.go_to(key)
        self._read()

    def action_move(self, by: int) -> None:
        """Asks another answer again; past the last one, the question that is open."""
        rows = self._rows
        keys = [key for key, _unused, _said in rows]
        at = keys.index(self.asked.key) if self.asked.key in keys else len(keys)
        to = max(0, at + by)
        self._asked_to_leave = False
        self.asked.go_to(keys[to] if to < len(keys) else "")
        self._ask()

    def action_turn(self, by: int) -> None:
        """A page of answers."""
        self.action_move(by * max(self.query_one(RowsView).size.height - 2, 1))

    def action_question_back(self) -> None:
        """To the question before."""
        self.action_move(-1)

    def action_begin_anew(self) -> None:
        """All answers are forgotten."""
        forget_begun(self._folder)
        self.asked = Asked(self._refuses)
        self._read()
        self._ask()
        self.say(_("All answers are forgotten. {asks}", asks=self._question_said()))

    def action_drawing(self) -> None:
        """The drawing alone, or the answers again."""
        self._alone = not self._alone and self._plan is not None
        self._lay_out()
        self.call_after_refresh(self._picture)

    async def leave(self) -> None:
        """Back to the jobs, asking where something was answered; the answers are kept."""
        if self._alone:
            self.action_drawing()
        elif self.asked.so_far and not self._asked_to_leave:
            self._asked_to_leave = True
            self.complain(_("Leave? The answers are kept, and Ctrl+Y takes them up again. Esc again leaves."))
        else:
            self.dismiss()


def _found_in(plan: Plan) -> tuple[str, ...]:
    from gradecheck.findings.every import findings
    from gradecheck.findings.finding import Severity
    from gradecheck.report.findings import finding_line

    found = [each for each in findings(plan) if each.severity is not Severity.REMINDER]
    return tuple(finding_line(plan, each).partition(": ")[2] for each in found)
