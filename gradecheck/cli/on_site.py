"""The plan as it stands on site, for commands that only look at it: the job file, with what was changed there."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.ground.spots import Place
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import (
    MarkGiven,
    MarkMade,
    PlanRevised,
    PointAdded,
    Reading,
    TargetChanged,
    ToleranceChanged,
)
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.measure.printed import some
from gradecheck.plan.load import PLAN_NAME, load_plan
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.names import visible
from gradecheck.report.plan_changes import counting
from gradecheck.state.amended import Amendment, amended
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import first_and_last


@dataclass(frozen=True, slots=True)
class OnSite:
    """The plan in the job file with the changes made on site put over it; `remark` is what is to be told of it.

    Turning points that have a place are corners of it, so that tapes may start from them; `unplaced` have none.
    """

    plan: Plan
    changes: tuple[Amendment, ...] = ()
    remark: str = ""
    unplaced: tuple[str, ...] = ()

    @property
    def untaped(self) -> str:
        """What is said of turning points that no tape can start from; empty where there are none."""
        return plural(
            len(self.unplaced),
            "No tape starts from {names}: the plan does not say where it lies. “gradecheck mark” takes --at X,Y.",
            "No tape starts from {names}: the plan does not say where they lie. “gradecheck mark” takes --at X,Y.",
            names=some([visible(name) for name in self.unplaced], 8),
        ) if self.unplaced else ""  # fmt: skip

    def within(self, areas: Iterable[Area]) -> list[Amendment]:
        """The changes in these areas."""
        names = {area.name for area in areas}
        return [fact for fact in self.changes if fact.area in names]


def plan_on_site(path: Path) -> OnSite:
    """The plan as it stands on site; where the journal can't be read, as the job file has it.

    The job file is taken as it is now, for the office looks at what it has just written; that it is not accepted yet
    is remarked. No entry is written, and without a journal none is made. Raises `PlanProblemsError`.
    """
    file = path if path.is_file() else path / PLAN_NAME
    office = load_plan(file)
    if file.name != PLAN_NAME:  # another plan than the one that is worked by
        return OnSite(office.plan)
    try:
        amendments, taken_over, said, marks = _recorded(file.parent / JOURNAL_NAME, office.plan)
    except JournalError as wrong:
        return OnSite(office.plan, remark=_("What was changed on site is left out. {wrong}", wrong=wrong))
    plan = amended(office.plan, amendments)
    changes = tuple(counting(amendments, plan))
    plan = replace(
        plan, corners=(*plan.corners, *(("", visible(name), at) for name, at in marks.items() if at is not None))
    )
    waits = taken_over not in ("", office.digest)
    remark = " ".join(filter(None, (said, _WAITS if waits else "")))
    return OnSite(plan, changes, remark, tuple(name for name, at in marks.items() if at is None))


_WAITS = _(
    "The job file was changed since it was accepted, and this is how it is now; "
    "“gradecheck changes” shows what would change."
)


def _recorded(journal: Path, plan: Plan) -> tuple[list[Amendment], str, str, dict[str, Place | None]]:
    """What counts of the log: changes on site in order, the digest of the plan accepted last, what to tell, marks.

    Those are the turning points made on site, each with its place where it has one.
    """
    amendments: list[Amendment] = []
    marks: dict[str, Place | None] = {}
    read: set[str] = set()
    taken_over = ""
    with contextlib.closing(Journal(journal)) as opened:
        opened.spelt = Spelt(plan).entry
        for first, last in first_and_last(opened.entries(), opened.replacing()):
            match last.fact:
                case PointAdded() | TargetChanged() | ToleranceChanged() as fact:
                    amendments.append(fact)
                case PlanRevised() as fact:
                    taken_over = fact.digest
                case Reading():
                    read.add(first.id)
                case MarkMade() as fact if fact.reading is None or fact.reading in read:
                    marks[fact.mark] = fact.at
                case MarkGiven(moved=True) as fact:
                    marks.pop(fact.mark, None)  # nobody knows where to
                case _:
                    pass
    return amendments, taken_over, opened.said, marks
