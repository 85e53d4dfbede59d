"""What another laptop recorded on the same job, looked at before any of it is taken in."""

from __future__ import annotations

from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.journal.chain import Row, from_row
from gradecheck.journal.facts import KIND_OF, PlanRevised, Rehearsed
from gradecheck.journal.recovery.others import Others, rows_of
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.plan.load import PLAN_NAME
from gradecheck.session.session import Session, job_folder


def others_in(session: Session, other: Path) -> Others:
    """What the log there holds: that of a job's folder, or a log alone.

    Raises Refusal where it is another job's or one of the two is a rehearsal, `JournalError` where it is none or
    can't be read.
    """
    log = other if other.name != PLAN_NAME and other.is_file() else job_folder(other) / JOURNAL_NAME
    others = rows_of(log, session.folder / JOURNAL_NAME)
    if not _is_of_this_job(session, others.rows):
        raise Refusal(_("{other} is the log of another job: no entry and no plan in it is of this one.", other=other))
    made_up = any(row[5] == KIND_OF[Rehearsed] for row in others.rows)
    if made_up != session.state.record.rehearsal:
        # Entries are only ever added: a job that took one in would be a rehearsal for good.
        which = _("{other} is a rehearsal", other=other) if made_up else _("This is a rehearsal")
        raise Refusal(
            _(
                "{which}; it is not joined to real work, so that nobody takes it for work. Nothing was taken in.",
                which=which,
            )
        )
    return others


def _is_of_this_job(session: Session, rows: tuple[Row, ...]) -> bool:
    """Whether they begin with an entry of ours, or follow a plan that this job follows or followed."""
    plans = {session.digest}
    for entry in session.journal.entries():
        if any(entry.hash == row[-1] for row in rows[:1]):
            return True
        if isinstance(entry.fact, PlanRevised):
            plans.add(entry.fact.digest)
    facts = (from_row(row).fact for row in rows if row[5] == "plan")
    return any(isinstance(fact, PlanRevised) and fact.digest in plans for fact in facts)
