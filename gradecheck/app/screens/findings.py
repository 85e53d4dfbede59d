"""The Findings screen: what is doubtful about a plan, looked for beside the drawing."""

from __future__ import annotations

import contextlib
import re
import threading
from collections.abc import Callable, Sequence
from contextvars import copy_context
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.catalogue import _
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.model import Plan
from gradecheck.report.decides import DECIDES


@dataclass(frozen=True, slots=True)
class FindingLines:
    """The findings on a plan, a line each, and how many of them are more than reminders."""

    lines: tuple[str, ...]
    count: int


class Counted(Message):
    """The findings on a job's plan have been looked for."""

    def __init__(self, job: Path, plan: Plan, found: FindingLines) -> None:
        super().__init__()
        self.job = job
        self.plan = plan
        self.found = found


def look_beside(screen: Screen[Any], plans: Sequence[tuple[Path, Plan]], wanted: Callable[[], bool]) -> None:
    """Looks for the findings on the plans, beside the drawing, and posts `Counted` to the screen for each.

    The thread that does it is waited for by nobody: neither the screen nor the way out. It ends when the screen does
    not want to know any more.
    """
    work = partial(copy_context().run, _look, screen, plans, wanted)
    threading.Thread(target=work, name="findings", daemon=True).start()


def _look(screen: Screen[Any], plans: Sequence[tuple[Path, Plan]], wanted: Callable[[], bool]) -> None:
    from gradecheck.findings.every import findings  # in the thread: what they need takes longer than a key may
    from gradecheck.findings.finding import Severity
    from gradecheck.report.findings import finding_line, listing_line, not_checked_lines

    for job, plan in plans:
        if not wanted():
            return
        found = findings(plan)
        lines = [listing_line(plan, each) for each in plan.listings] if found else []
        lines += [*(finding_line(plan, each) for each in found), *not_checked_lines(plan)]
        count = sum(each.severity is not Severity.REMINDER for each in found)
        with contextlib.suppress(RuntimeError):  # the app has ended meanwhile
            screen.post_message(Counted(job, plan, FindingLines(tuple(lines), count)))


class FindingsScreen(LeftOnceScreen[bool]):
    """Everything doubtful about a plan, line by line; what it returns is whether the job is to be opened."""

    GUIDE = "job-file"
    TITLE = _("Findings")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("open", "open", _("Open the job as its plan is"), show=True),
        bind("back", "back", show=True),
        bind("keys", "app.keys", show=True),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(self, job: Path, plan: Plan, found: FindingLines | None) -> None:
        super().__init__()
        self._job = job
        self._plan = plan
        self._found = found

    def compose(self) -> ComposeResult:
        """The findings, each with its line."""
        yield Static(
            plain(_(" {name} · findings on {file_name}", name=self._job.name, file_name=PLAN_NAME)), id="head"
        )
        with VerticalScroll(id="problems"):
            yield Sheet([[(_("Looking …"), "ink")]])
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows the findings, or looks for them where nobody has."""
        if self._found is not None:
            self._show(self._found)
        else:
            look_beside(self, [(self._job, self._plan)], lambda: self.is_attached)

    def on_counted(self, event: Counted) -> None:
        """Shows what was found."""
        self._show(event.found)

    def _show(self, found: FindingLines) -> None:
        nothing = _("No issues found; read the plan over yourself.")
        lines = [_parts(line) for line in found.lines or (nothing,)]
        spaced = [row for line in lines for row in (line, [])]
        self.query_one(Sheet).show([*spaced, [(DECIDES, "quiet")]])

    def action_open(self) -> None:
        """Opens the job."""
        self.dismiss(True)

    def action_back(self) -> None:
        """Back to the jobs."""
        self.dismiss(False)


def _parts(line: str) -> Row:
    """A finding with its place set off from what is said of it."""
    place, colon, says = line.partition(": ")
    return [(f"{place}{colon}", "strong"), (says, "ink")] if re.match(r"[\w./ ]*line \d+", place) else [(line, "ink")]
