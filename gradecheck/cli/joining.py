"""The verb `join`: what other laptops recorded on the same job is taken in and kept as it was written there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.cli.options import OnJob, Reply, as_path, named, on_session
from gradecheck.journal.chain import Row, from_row
from gradecheck.journal.facts import PlanRevised
from gradecheck.journal.recovery.others import Others, rows_of
from gradecheck.journal.store import FILE_NAME
from gradecheck.measure.printed import count
from gradecheck.plan.load import FILE_NAME as PLAN_NAME
from gradecheck.report.joining import answer, is_open, joined_lines
from gradecheck.session.session import Session, job_folder


@dataclass(frozen=True, kw_only=True, slots=True)
class Join(OnJob):
    others: list[Path] = named(
        "OTHER", type=as_path, nargs="+", help="the same job of another laptop: its folder, or its journal.db"
    )


@on_session(Join)
def join(session: Session, options: Join) -> Reply:
    """Takes in what other laptops recorded on this job; 1 while something waits or asks for an answer."""
    ours = session.folder / FILE_NAME
    found: list[tuple[Path, Others]] = []
    for other in options.others:
        log = other if other.name != PLAN_NAME and other.is_file() else job_folder(other) / FILE_NAME
        others = rows_of(log, ours)
        if not _is_of_this_job(session, others.rows):
            raise Refusal(f"{other} is the log of another job: no entry and no plan in it is of this one.")
        found.append((other, others))
    lines, new = [], 0
    for other, others in found:
        taken = session.take_in(others.rows)
        new += taken
        lines.append(f"{other}: {count(taken, 'new entry', 'new entries')} of {len(others.rows)} taken in.")
        lines += [f"Not taken in: {each}." for each in others.not_sound]
    unsound = [each for _, others in found for each in others.not_sound]
    told = {"taken in": new, "entries": session.seq, "not taken in": unsound}
    laptops = session.journal.joined
    if laptops is None:
        return Reply(told, lines, code=1 if unsound else 0, saved=new > 0)
    told |= answer(laptops)
    return Reply(told, [*lines, *joined_lines(laptops)], code=1 if unsound or is_open(laptops) else 0, saved=new > 0)


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
