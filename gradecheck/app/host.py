"""What the screens ask of the app that holds them."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from gradecheck.journal.facts import Draft, Entry
from gradecheck.session.session import Session


class Host(Protocol):
    """The app as the screens see it: the open job, the one writer, and the way to other jobs."""

    session: Session | None
    ascii_only: bool

    async def record(self, *drafts: Draft) -> Entry:
        """Has the drafts written; they are durable when this returns. Raises `NotSavedError`."""

    def open_job(self, job: Path) -> None:
        """Opens a job. Raises `PlanProblemsError` or `JournalError`."""

    def close_job(self) -> None:
        """Goes back to the list of jobs."""
