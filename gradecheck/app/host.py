"""What the screens ask of the app that holds them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol, TypeVar

from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Entry
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session

T = TypeVar("T")


class Host(Protocol):
    """The app as the screens see it: the open job, the one writer, and the way to other jobs."""

    session: Session | None
    ascii_only: bool

    async def record(self, *drafts: Draft) -> Entry:
        """Has the drafts written; they are durable when this returns. Raises `NotSavedError`."""

    async def beside(self, work: Callable[[], T]) -> T:
        """Has work that looks through the state done in a thread; until it is done, the state stays as it is."""

    def open_job(self, job: Path, typed: str = "") -> None:
        """Opens a job, a long one behind a first picture; `typed` stands in its box.

        Raises `PlanProblemsError` or `JournalError`.
        """

    def read_job(self, job: Path, told: Callable[[int], None] | None = None) -> Session:
        """The job's session, read by whoever calls; `told` hears how many entries so far. Raises as `open_job`."""

    def take_up(self, session: Session, typed: str = "") -> None:
        """Goes to Check with what was read, and with what was typed meanwhile in its box."""

    def refuse_job(self, job: Path, wrong: PlanProblemsError | JournalError) -> None:
        """Says why a job can't be opened, on the screen where that is mended."""

    went_on: dict[Path, Path]
    """While the program runs: where work went on, by the job that was left behind."""

    def go_on_in(self, copy: Path, typed: str, says: str = "") -> None:
        """Opens the copy that was made of the open job; `typed` stands in its box."""

    def close_job(self) -> None:
        """Goes back to the list of jobs."""
