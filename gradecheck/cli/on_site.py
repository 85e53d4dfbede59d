"""The plan as it stands on site, for commands that only look at it: the job file, with what was changed there."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import PlanRevised, PointAdded, TargetChanged, ToleranceChanged
from gradecheck.journal.store import FILE_NAME as JOURNAL_NAME
from gradecheck.journal.store import Journal
from gradecheck.plan.load import FILE_NAME, load_plan
from gradecheck.plan.model import Area, Plan
from gradecheck.report.plan_changes import counting
from gradecheck.state.amended import Amendment, amended
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import standing


@dataclass(frozen=True, slots=True)
class OnSite:
    """The plan in the job file with the changes made on site put over it; `remark` is what is to be told of it."""

    plan: Plan
    changes: tuple[Amendment, ...] = ()
    remark: str = ""

    def within(self, areas: Iterable[Area]) -> list[Amendment]:
        """The changes in these areas."""
        names = {area.name for area in areas}
        return [fact for fact in self.changes if fact.area in names]


def plan_on_site(path: Path) -> OnSite:
    """The plan as it stands on site; where the journal can't be read, as the job file has it.

    The job file is taken as it is now, for the office looks at what it has just written; that it is not accepted yet
    is remarked. No entry is written, and without a journal none is made. Raises `PlanProblemsError`.
    """
    file = path if path.is_file() else path / FILE_NAME
    office = load_plan(file)
    if file.name != FILE_NAME:  # another plan than the one that is worked by
        return OnSite(office.plan)
    try:
        amendments, taken_over, said = _recorded(file.parent / JOURNAL_NAME, office.plan)
    except JournalError as wrong:
        return OnSite(office.plan, remark=_("What was changed on site is left out. {wrong}", wrong=wrong))
    plan = amended(office.plan, amendments)
    waits = taken_over not in ("", office.digest)
    return OnSite(plan, tuple(counting(amendments, plan)), " ".join(filter(None, (said, _WAITS if waits else ""))))


_WAITS = _(
    "The job file was changed since it was accepted, and this is how it is now; "
    "“gradecheck changes” shows what would change."
)


def _recorded(journal: Path, plan: Plan) -> tuple[list[Amendment], str, str]:
    """The changes on site that were not struck, in order, the digest of the plan accepted last, what to tell."""
    amendments: list[Amendment] = []
    taken_over = ""
    with contextlib.closing(Journal(journal)) as opened:
        opened.spelt = Spelt(plan).entry
        for _first, last in standing(opened.entries(), opened.replacing()):
            match last.fact:
                case PointAdded() | TargetChanged() | ToleranceChanged() as fact:
                    amendments.append(fact)
                case PlanRevised() as fact:
                    taken_over = fact.digest
                case _:
                    pass
    return amendments, taken_over, opened.said
