"""The jobs of an office: which one is meant, and what the office does for one: laptops, and its plan."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.joining.history import START
from gradecheck.journal.chain import Row
from gradecheck.office.connection import Link
from gradecheck.sharing.plans import OfficePlan, packed_plan, unpacked_plan

_NAME = re.compile(r"[a-z][a-z0-9_-]{0,29}", re.ASCII)
"""What a laptop may be called at an office: it stands in addresses."""


@dataclass(frozen=True, slots=True)
class OfficeJob:
    """A job as the server has it."""

    id: UUID
    name: str


def jobs(link: Link) -> list[OfficeJob]:
    """The jobs that whoever is connected may work on, by name."""
    rows = link.rows("select job, name from gradecheck.job order by name, job")
    return [OfficeJob(job, name) for job, name in rows]


def find(link: Link, known: UUID | None, plans: Iterable[str], ours: Mapping[str, Row]) -> OfficeJob | None:
    """The job as it was last time, or the one with one of these plans or first entries; None where none is.

    Raises Refusal.
    """
    there = {job.id: job for job in jobs(link)}
    if known is not None:
        if known not in there:
            raise Refusal(_("The office no longer lets this laptop work on this job; ask the office."))
        return there[known]
    firsts = [bytes.fromhex(digest) for digest, row in ours.items() if row[-2] == START]
    found = link.rows(
        "select job from gradecheck.plan where digest = any (%s) "
        "union select job from gradecheck.chain where start = 1 and first = any (%s)",
        (list(plans), firsts),
    )
    meant = [there[job] for (job,) in found if job in there]
    if len(meant) > 1:
        raise Refusal(_("The office has this job more than once; ask the office which one to keep."))
    return meant[0] if meant else None


def job_of(link: Link, known: UUID | None, plans: Iterable[str], ours: Mapping[str, Row]) -> OfficeJob:
    """The same where there must be one."""
    if (found := find(link, known, plans, ours)) is not None:
        return found
    names = ", ".join(job.name for job in jobs(link))
    if not names:
        raise Refusal(NONE_YET)
    raise Refusal(
        _("The office has no job with this plan or this log. For this laptop it has: {names}.", names=names)
    )


NONE_YET = _("The office has no job for this laptop yet; it adds one with “gradecheck office add”.")


# -- the office's side


def add_job(link: Link, name: str) -> OfficeJob:
    """A new job."""
    job = OfficeJob(uuid4(), name)
    link.rows("insert into gradecheck.job (job, name) values (%s, %s)", (job.id, job.name))
    return job


def is_new(link: Link, name: str) -> bool:
    """Whether the server has no laptop of that name yet. Raises Refusal where none can be called so."""
    if _NAME.fullmatch(name) is None:
        raise Refusal(
            _(
                "“{name}” can't be a laptop's name at the office: small letters, digits, - and _, a letter first, "
                "30 at most.",
                name=name,
            )
        )
    found = link.rows(
        "select rolcanlogin and not rolsuper and pg_has_role(oid, 'gradecheck_laptop', 'member') from pg_roles "
        "where rolname = %s",
        (name,),
    )
    if found and not found[0][0]:
        raise Refusal(_("The server has a name {name} that is no laptop's; choose another.", name=name))
    return not found


def let_work(link: Link, job: OfficeJob, names: Sequence[str]) -> None:
    """Those laptops may work on the job from here on."""
    for name in names:
        link.rows("insert into gradecheck.member (job, role) values (%s, %s) on conflict do nothing", (job.id, name))


# -- plans


def office_plans(link: Link, job: OfficeJob, not_sound: list[str]) -> list[OfficePlan]:
    """The plans that the office gave out, in order; what can't be read is noted."""
    found = []
    for number, content in link.rows(
        "select number, content from gradecheck.plan where job = %s order by number", (job.id,)
    ):
        try:
            found.append(unpacked_plan(content, number))
        except (ValueError, RecursionError) as wrong:
            not_sound.append(_("plan {number} of the office: {wrong}", number=number, wrong=wrong))
    return found


def newest_plan(link: Link, job: OfficeJob) -> int:
    """The number of the last one, 0 where there is none."""
    number: int = link.rows("select coalesce(max(number), 0) from gradecheck.plan where job = %s", (job.id,))[0][0]
    return number


def give_plan(link: Link, job: OfficeJob, plan: OfficePlan) -> None:
    """Gives it out. One who gave out another under its number meanwhile was first; then `RefusedError` is raised."""
    link.rows(
        "insert into gradecheck.plan (job, number, digest, content) values (%s, %s, %s, %s)",
        (job.id, plan.number, plan.loaded.digest, packed_plan(plan)),
    )


def plans_named(link: Link, job: OfficeJob) -> set[str]:
    """The hashes of all plans that the office gave out for it."""
    return {digest for (digest,) in link.rows("select digest from gradecheck.plan where job = %s", (job.id,))}
