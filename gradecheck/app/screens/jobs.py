"""The Jobs screen: the jobs of a folder, and what is wrong with those that can't be opened."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, OptionList, Static

from gradecheck.app.host import Host
from gradecheck.app.plain import plain, plain_lines
from gradecheck.journal.file import JournalError
from gradecheck.plan.load import FILE_NAME, load_plan
from gradecheck.plan.problems import PlanProblemsError


class JobsScreen(Screen[None]):
    """Up and down choose a job, Enter opens it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open", id="open", priority=True),
        Binding("f5", "again", "Look again", id="again", tooltip="Read the folder again"),
        Binding("f1", "app.keys", "Keys", id="keys"),
        Binding("f12", "app.leave", "Quit", id="quit"),
    ]

    def __init__(self, folder: Path, wrong: str = "") -> None:
        super().__init__()
        self.folder = folder
        self._wrong = wrong
        self.jobs: list[Path] = []

    def compose(self) -> ComposeResult:
        """The list, and a line on what to do."""
        yield Static(plain(f" gradecheck · jobs in {self.folder}"), id="head")
        yield OptionList(id="jobs")
        yield Static(id="says")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Reads the folder; what went wrong before stays in front of the person."""
        self.action_again()
        if self._wrong:
            self._say(self._wrong)

    def action_again(self) -> None:
        """Reads the folder, and each plan in it."""
        try:
            self.jobs = sorted(path.parent for path in self.folder.glob(f"*/{FILE_NAME}"))
        except OSError:
            self.jobs = []
        jobs = self.query_one(OptionList)
        jobs.clear_options()
        jobs.add_options([plain(_describe(job)) for job in self.jobs])
        if self.jobs:
            jobs.highlighted = 0
            self._say("Enter opens the job.")
        else:
            self._say(f"No job here: put a folder with a {FILE_NAME} into {self.folder}, then F5.")

    def _say(self, text: str) -> None:
        self.query_one("#says", Static).update(plain(text))

    def action_open(self) -> None:
        """Opens the highlighted job, or shows why it can't be."""
        index = self.query_one(OptionList).highlighted
        if index is None:
            return
        try:
            cast(Host, self.app).open_job(self.jobs[index])
        except PlanProblemsError as wrong:
            self.app.push_screen(ProblemsScreen(self.jobs[index], wrong))
        except JournalError as wrong:
            self._say(str(wrong))
            self.app.bell()


def _describe(job: Path) -> str:
    try:
        plan = load_plan(job / FILE_NAME).plan
    except PlanProblemsError as wrong:
        count = len(wrong.problems)
        return f"{job.name}: {count} {'problem' if count == 1 else 'problems'} in its plan, Enter shows them"
    points = sum(len(area.points) for area in plan.areas.values())
    areas = f"{len(plan.areas)} {'area' if len(plan.areas) == 1 else 'areas'}"
    return f"{job.name}: {plan.job} ({areas}, {points} points, {plan.notation.units})"


class ProblemsScreen(Screen[None]):
    """Everything that is wrong with a plan, line by line; nothing can be recorded on it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "back", "Back", id="back"),
        Binding("f1", "app.keys", "Keys", id="keys"),
        Binding("f12", "app.leave", "Quit", id="quit"),
    ]

    def __init__(self, job: Path, wrong: PlanProblemsError) -> None:
        super().__init__()
        self._job = job
        self._problems = wrong.problems

    def compose(self) -> ComposeResult:
        """The problems, each with its line."""
        yield Static(plain(f" {self._job.name} · put these right in {FILE_NAME}, then open it again"), id="head")
        with VerticalScroll(id="problems"):
            yield Static(
                plain_lines([f"line {each.line}, column {each.column}: {each.says}" for each in self._problems])
            )
        yield Footer(show_command_palette=False)

    def action_back(self) -> None:
        """Back to the jobs, also where this is the first screen of all."""
        if isinstance(self.app.screen_stack[-2], JobsScreen):
            self.dismiss()
        else:
            cast(Host, self.app).close_job()
