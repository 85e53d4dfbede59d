"""One share with an office's server: theirs is taken in, ours is sent. After any break it is asked again."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.journal.chain import Row
from gradecheck.office import jobs as offices
from gradecheck.office.address import Address
from gradecheck.office.chains import ForkError, chains, fetch, missing_there, on_server, send
from gradecheck.office.confirmed import ChainEnd, Confirmed, confirmed, keep
from gradecheck.office.connection import AwayError, BrokenOffError, Link, RefusedError, UnreachedError
from gradecheck.office.jobs import OfficeJob
from gradecheck.plan.folder_names import folder_for
from gradecheck.session.session import Session
from gradecheck.sharing.bring_back import Planned, SharedJob, kept_in, made_in
from gradecheck.sharing.last_copy import last_copy
from gradecheck.sharing.plans import given, next_plan
from gradecheck.sharing.progress import as_text, progress
from gradecheck.sharing.share import Shared, not_of_job, plans_of, settle_plan, take_in

TRIES = 4
BETWEEN = 0.5
"""Seconds before a share that was broken off is tried again; a server that was killed is back by then."""
_AGAIN = ("P0002", "23505", "40001", "40P01")
"""What a server says where somebody else was just sending: an entry before is not there yet, or one is there."""
_WHY = {
    "42501": _("this laptop may not do that there"),
    "23000": _("an entry does not continue its chain there"),
    "3F000": _("there is no office on it; “gradecheck office init” makes one"),
    "42P01": _("there is no office on it; “gradecheck office init” makes one"),
    "53100": _("its disk is full"),
}

Found = TypeVar("Found")


def share(session: Session, at: Address, *, gives_plan: bool = False) -> Shared:
    """Takes in what is there, sends what is not. The office itself `gives_plan`. Raises Refusal, which says why.

    What went wrong on the way is told; what was done stays done, here and there.
    """
    if gives_plan:
        given(session)  # before anything is done
    shared = Shared()

    def once(link: Link) -> None:
        if gives_plan and not link.rows("select gradecheck.is_office()")[0][0]:
            raise Refusal(_("Only the office sends plans; {user} is the name of a laptop.", user=link.user))
        known = confirmed(session.folder, at)
        ours = {row[-1]: row for row in session.journal.rows()}
        plans = plans_of(session, ours) | set(last_copy(session.folder).plans)
        _share(link, session, known, offices.job_of(link, known.job, plans, ours), shared, gives_plan=gives_plan)

    asked(at, once, shared)
    return shared


def asked(at: Address, once: Callable[[Link], Found], shared: Shared | None = None) -> Found:
    """Does that with a connection, and again where it was broken off or somebody was quicker. Raises Refusal.

    What a share did by then is in `shared`.
    """
    why = ""
    reached = away = False
    for tried in range(TRIES):
        if tried:
            time.sleep(BETWEEN)
        try:
            with Link(at) as link:
                reached = True
                return once(link)
        except BrokenOffError as wrong:
            why = str(wrong)
            if not reached:
                away = isinstance(wrong, UnreachedError) and wrong.away
                break
            away = True
        except ForkError:
            why, away = _("another laptop with the same name sends different entries"), False
        except RefusedError as wrong:
            why, away = why_refused(wrong), False
            if wrong.state not in _AGAIN:
                break
    refusal = AwayError if away else Refusal
    if shared is None:
        raise refusal(_("Nothing was done at the office ({why}). Try again when that is fixed.", why=why))
    if shared.taken or shared.put:
        raise refusal(
            _("Not everything was shared ({why}). Nothing here is lost; share again when that is fixed.", why=why)
        )
    raise refusal(_("Nothing was shared ({why}). Nothing here is lost; share again when that is fixed.", why=why))


def why_refused(wrong: RefusedError) -> str:
    """Why a server refused something, in words for people."""
    return _("the server says: {says}", says=_WHY.get(wrong.state, wrong.says))


def _share(
    link: Link, session: Session, known: Confirmed, job: OfficeJob, shared: Shared, *, gives_plan: bool
) -> None:
    own, theirs = session.journal.rows_apart()
    if own:
        _tell_head(link, session, job, own[-1])
    ours = {row[-1]: row for row in (*own, *theirs)}
    there = chains(link, job.id)
    found = fetch(link, job.id, there, known.ends, ours)
    shared.not_sound, shared.less = found.not_sound, found.less
    plans = plans_of(session, ours) | set(last_copy(session.folder).plans) | offices.plans_named(link, job)
    if strange := not_of_job(found.rows, ours, plans):
        shared.not_sound.append(
            plural(
                len(strange),
                "{n} entry from the office: of another job",
                "{n} entries from the office: of another job",
            )
        )
    sound = {digest: row for digest, row in found.rows.items() if digest not in strange}
    take_in(session, sound, found.read, ours, shared)
    ours |= {digest: row for digest, row in sound.items() if digest not in ours}
    lies = on_server(link, job.id, there, ours)
    for piece in missing_there(ours, len(own), there, lies, link.user):
        send(link, job.id, piece)
        shared.put += len(piece.rows)
        lies |= dict.fromkeys((row[-1] for row in piece.rows), piece.chain)
    shared.there = len(ours.keys() & lies.keys())
    ends = {chain.id: ChainEnd(chain.last, chain.hash) for chain in chains(link, job.id) if chain.hash in ours}
    keep(session.folder, link.at, Confirmed(job.id, ends))
    shared.plans = plans_of(session, ours)
    _share_plans(link, session, job, ours, shared, gives_plan=gives_plan)
    _tell_board(link, session, job, shared)


def _tell_head(link: Link, session: Session, job: OfficeJob, last: Row) -> None:
    """The end of the own log, which the office keeps whatever becomes of the entries: it shows a cut log."""
    link.rows(
        "insert into gradecheck.head (job, laptop, number, hash) values (%s, %s, %s, %s) on conflict do nothing",
        (job.id, session.laptop, last[0], bytes.fromhex(last[-1])),
    )


def _share_plans(
    link: Link, session: Session, job: OfficeJob, ours: Mapping[str, Row], shared: Shared, *, gives_plan: bool
) -> None:
    before = last_copy(session.folder)
    newest = offices.newest_plan(link, job)
    shared.planned = newest > 0
    if not gives_plan and newest <= before.number:
        return
    there = offices.office_plans(link, job, shared.not_sound)
    given_out = None
    if gives_plan:
        given_out = next_plan(session, there)
        if given_out not in there:
            offices.give_plan(link, job, given_out)
    settle_plan(session, ours, before, shared, there, given_out)


def _tell_board(link: Link, session: Session, job: OfficeJob, shared: Shared) -> None:
    row = progress(session)
    try:
        link.rows(
            "insert into gradecheck.progress as p (job, entries, content) values (%s, %s, %s) "
            "on conflict (job, role) do update set entries = excluded.entries, content = excluded.content, "
            "got = now() where p.content <> excluded.content",
            (job.id, row.entries, as_text(row).encode("utf-8", "surrogatepass")),
        )
    except RefusedError as wrong:  # nothing recorded is lost by that
        shared.not_on_board = wrong.says


# -- a job that is not here yet


def bring_back(folder: Path, at: Address) -> str:
    """Makes a job of the office in a new folder, and returns in a sentence what it holds. Raises Refusal."""
    kept = asked(at, lambda link: _chosen(link, folder, at))
    return made_in(folder, kept, at)


def _chosen(link: Link, folder: Path, at: Address) -> SharedJob | Planned:
    there = offices.jobs(link)
    meant = [job for job in there if folder_for(job.name) == folder.name.casefold()] or there
    if not meant:
        raise Refusal(offices.NONE_YET)
    if len(meant) > 1:
        names = ", ".join(f"{folder_for(job.name)} ({job.name})" for job in meant)
        raise Refusal(
            _("{folder} holds several jobs; name the new folder after one of them: {names}.", folder=at, names=names)
        )
    return kept_at(link, meant[0], [])


def kept_at(link: Link, job: OfficeJob, not_sound: list[str]) -> SharedJob | Planned:
    """A job as the office has it; what is wrong with some of it is noted. Raises Refusal where it has none of it."""
    found = fetch(link, job.id, chains(link, job.id), {}, {})
    not_sound += found.not_sound
    kept = kept_in(found.rows)
    if kept is not None:
        return kept
    plans = offices.office_plans(link, job, not_sound)
    if found.rows or not plans:
        why = not_sound[0] if not_sound else _("its plan is not there")
        raise Refusal(_("{name} can't be brought from the office ({why}).", name=job.name, why=why))
    return Planned(plans[-1].loaded.plan.job, tuple(plans))


# -- the office's side


@dataclass(frozen=True, slots=True)
class Added:
    """A job as it is at the office from now on, and the number of its plan."""

    job: OfficeJob
    plan: int


def add(session: Session, at: Address, laptops: Sequence[str], keep_password: Callable[[str, str], None]) -> Added:
    """Gives a job to an office with its plan, and to those laptops, all or nothing. Raises Refusal.

    Of a laptop that is new there the line of its password file is kept, before the office knows of it.
    """
    given(session)
    passwords: dict[str, str] = {}

    def once(link: Link) -> Added:
        known = confirmed(session.folder, at)
        ours = {row[-1]: row for row in session.journal.rows()}
        plans = plans_of(session, ours) | set(last_copy(session.folder).plans)
        with link.together():
            job = offices.find(link, known.job, plans, ours) or offices.add_job(link, session.plan.job)
            there = offices.office_plans(link, job, [])
            plan = next_plan(session, there)
            if plan not in there:
                offices.give_plan(link, job, plan)
            for name in laptops:
                if offices.is_new(link, name):
                    if name not in passwords:
                        passwords[name] = secrets.token_urlsafe(24)
                        info = link.connection.info
                        keep_password(name, f"{info.host}:{info.port}:*:{name}:{passwords[name]}\n")
                    link.new_role(name, passwords[name], "gradecheck_laptop")
            offices.let_work(link, job, laptops)
        keep(session.folder, at, Confirmed(job.id, known.ends))
        _tell_board(link, session, job, Shared())  # a job of which nothing is recorded yet is on the board too
        return Added(job, plan.number)

    return asked(at, once)
