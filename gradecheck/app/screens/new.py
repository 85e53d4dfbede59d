"""The New screen: a job is begun question by question; nothing is written before the last answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.catalogue import _
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.plan.interview import Interview
from gradecheck.plan.load import FILE_NAME
from gradecheck.plan.starter import NotPossibleError, starter_text


class NewScreen(PagedScreen):
    """Enter keeps what is offered, Escape goes one question back; `begun` is told of the job's folder."""

    GUIDE = "job-file"
    TITLE = _("New job")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", _("One question back"), show=True),
    ]

    def __init__(self, folder: Path, begun: Callable[[Path], None]) -> None:
        super().__init__()
        self._folder = folder
        self._begun = begun
        self.interview = Interview(refuses=lambda name: cannot_begin(folder, name))

    def compose(self) -> ComposeResult:
        """The answers so far, what can be answered, and the question."""
        yield Static(plain(_(" a new job in {folder}", folder=self._folder)), id="head")
        with Pages(id="keys"):
            yield Sheet(id="so-far")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="answer-box")
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks the first question."""
        self._ask()

    def _ask(self) -> None:
        question = self.interview.question
        given = self.interview.so_far
        wide = max((len(about) for about, _ in given), default=0)
        how = _("Enter keeps what is offered. Nothing is written before the last answer.")
        rows: list[Row] = [] if given else [[(how, "quiet")]]
        rows += [[(f"{about:<{wide}}   ", "quiet"), (said, "strong")] for about, said in given]
        if question is None:
            self.entry.placeholder = ""
            self.say(_("Enter writes {job}. Escape goes back one question.", job=self._job / FILE_NAME))
        else:
            wide = max((len(word) for word, _ in question.choices), default=0)
            choices: list[Row] = [
                [(f"  {word:<{wide}}   ", "strong"), (means, "ink")] for word, means in question.choices
            ]
            rows += [[], *choices] if choices else []
            self.entry.placeholder = question.default
            self.say(question.asks + (_(" Enter: {default}.", default=question.default) if question.default else ""))
        self.query_one("#so-far", Sheet).show(rows)
        self.query_one(Pages).scroll_end(animate=False)

    @property
    def _job(self) -> Path:
        """The folder of the job that all questions are answered for."""
        assert self.interview.result is not None
        return self._folder / self.interview.result.folder

    async def commit(self, text: str) -> None:
        """Takes an answer; behind the last one, writes the job file."""
        result = self.interview.result
        if result is not None:
            if text.strip():
                raise Refusal(_("All answered; press Enter alone to write it, Escape to go back one question."))
            job = begin_job(self._folder, result.folder, starter_text(result.answers))
            self._begun(job)
            self.dismiss()
            return
        try:
            self.interview.answer(text)
        except NotPossibleError as wrong:
            raise Refusal(str(wrong)) from wrong
        self._ask()

    async def leave(self) -> None:
        """One question back, and from the first one back to the jobs."""
        if self.interview.back():
            self._ask()
        else:
            self.dismiss()
