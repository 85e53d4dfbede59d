"""The Problems screen: why a plan can't be read, line by line."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.sheet import Sheet, heading
from gradecheck.catalogue import _, plural
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.problems import PlanProblemsError, Problem


class ProblemsScreen(LeftOnceScreen[None]):
    """Everything that is wrong with a plan, line by line; nothing can be recorded on it."""

    GUIDE = "job-file"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "back", _("Back"), id="back"),
        bind("keys", "app.keys", show=True),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(self, job: Path, wrong: PlanProblemsError) -> None:
        super().__init__()
        self._job = job
        self._problems = wrong.problems

    def compose(self) -> ComposeResult:
        """The problems, each with its line."""
        yield Static(
            plain(
                _(" {name} · fix these in {file_name}, then open it again", name=self._job.name, file_name=PLAN_NAME)
            ),
            id="head",
        )
        with VerticalScroll(id="problems"):
            wide = max((len(_place(each)) for each in self._problems), default=0)
            number = plural(len(self._problems), "{n} problem", "{n} problems")
            yield Sheet(
                [
                    heading(number, _("The job opens once nothing here is left to fix.")),
                    [],
                    *([(f"{_place(each):<{wide}}  ", "strong"), (each.says, "ink")] for each in self._problems),
                ]
            )
        yield KeyLine()

    def action_back(self) -> None:
        """Back to the jobs, also where this is the first screen of all: below it is only Textual's own."""
        if len(self.app.screen_stack) > 2:
            self.dismiss()
        else:
            self.host.close_job()


def _place(problem: Problem) -> str:
    return _("line {line}, column {column}:", line=problem.line, column=problem.column)
