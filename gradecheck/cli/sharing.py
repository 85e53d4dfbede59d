"""The verb `share`: laptops meet in a folder, a stick, a network drive; each puts its own there, and takes theirs."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count
from gradecheck.cli.options import Call, OnJob, Reply, as_meeting_place, flag, named, verb
from gradecheck.cli.shared import open_session
from gradecheck.office import share as office_share
from gradecheck.office.address import Address, address
from gradecheck.office.connection import AwayError
from gradecheck.plan.load import PLAN_NAME
from gradecheck.report.joining import MOST, is_open, joined_json, joined_lines
from gradecheck.report.plan_changes import offer_words, summary
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder
from gradecheck.sharing.bring_back import bring_back, can_be_brought_back_to, plans_by_name
from gradecheck.sharing.last_copy import note
from gradecheck.sharing.share import Shared, system_reason
from gradecheck.sharing.share import share as share_with
from gradecheck.system.settings import read_settings

STUCK = 300.0
"""Seconds after which a folder that does not answer is given up: a network drive may hang for ever."""
GIVEN_UP = 1


Place = Path | Address
"""Where laptops meet: a folder, or an office's server."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ShareOptions(OnJob):
    folder: Path | str | None = named(
        "WHERE",
        default=None,
        nargs="?",
        type=as_meeting_place,
        help=_("a folder, or postgresql://NAME@HOST/DATABASE; “copy to” in the settings if left out"),
    )
    office: bool = flag("--office", _("this is the office: send the current job file to every laptop"))


@verb(ShareOptions, needs_plan=False)
def share(options: ShareOptions) -> Reply:
    """Shares the job by a folder or a server; 1 while something waits, does not hold, or could not be put there.

    Where there is no job yet, the whole job is brought back from there first.
    """
    named = options.folder or read_settings().meets_at
    if named is None:
        raise Refusal(_('Say which folder: share JOB FOLDER, or name one in settings.toml: "copy to" = "FOLDER".'))
    folder = address(named) if isinstance(named, str) else named
    brought = ""
    if can_be_brought_back_to(options.job):
        with _given_up_when_stuck(options.job, folder):
            brought = _brought(options.job, folder)
    elif not os.path.exists(job_folder(options.job) / PLAN_NAME):
        raise Refusal(
            _("There is no job.yaml in {job}; JOB is a folder that has one, or a new one.", job=options.job)
        )
    call = Call("share")
    with open_session(call, options) as session:
        reply = _shared(session, folder, brought, gives_plan=options.office)
    return dataclasses.replace(reply, saved=reply.saved or call.saved or bool(brought))


def _shared(session: Session, folder: Place, brought: str, *, gives_plan: bool) -> Reply:
    if session.state.record.rehearsal:
        raise Refusal(_("This is a rehearsal; it is not shared, so that nobody takes it for work."))
    began = now()
    with _given_up_when_stuck(session.folder, folder):
        try:
            shared = _shared_by(session, folder, gives_plan=gives_plan)
        except Refusal as wrong:
            refused = not isinstance(wrong, AwayError)
            note(session.folder, str(wrong), whole=False, at=now(), refused=refused)
            raise
        except OSError as wrong:
            says = _(
                "Nothing was shared: {folder} can't be opened ({reason}). "
                "Nothing here is lost; share again when it is back.",
                folder=folder,
                reason=system_reason(wrong),
            )
            note(session.folder, says, whole=False, at=now())
            raise Refusal(says) from wrong
    laptops = session.journal.joined
    found = {
        "taken in": shared.taken,
        "put there": shared.put,
        "entries there": shared.there,
        "half there": shared.half_there,
        "not taken in": shared.not_sound,
        "less there": shared.less,
        "trouble": shared.trouble,
        "plan from the office": shared.office[0] or None,
        "plan that waits": shared.not_in_place[0] or None,
        **(joined_json(laptops) if laptops is not None else {}),
    }
    said = [*_lines(folder, shared), *_plan_lines(session, shared, given=gives_plan)]
    note(
        session.folder,
        " ".join(said),
        whole=shared.is_whole,
        at=began,
        plans=shared.plans,
        office=shared.office,
        gives=gives_plan or None,
    )
    waits = bool(shared.half_there or shared.not_sound or shared.less or shared.trouble or shared.not_in_place[0])
    lines = [*([brought] if brought else []), *said, *(joined_lines(laptops) if laptops is not None else ())]
    code = 1 if waits or (laptops is not None and is_open(laptops)) else 0
    return Reply(found, lines, code=code, saved=bool(shared.taken or shared.put))


def _brought(job: Path, place: Place) -> str:
    return office_share.bring_back(job, place) if isinstance(place, Address) else bring_back(job, place)


def _shared_by(session: Session, place: Place, *, gives_plan: bool) -> Shared:
    if isinstance(place, Address):
        return office_share.share(session, place, gives_plan=gives_plan)
    return share_with(session, place, gives_plan=gives_plan, also=lambda: plans_by_name(session.plan.job, place))


def _lines(folder: Place, shared: Shared) -> Iterator[str]:
    taken, put = (count(each, "new entry", "new entries") for each in (shared.taken, shared.put))
    yield _("{folder}: {taken} taken in, {put} put there.", folder=folder, taken=taken, put=put)
    if not (shared.there or shared.planned or shared.trouble):
        yield _(
            "Nothing is recorded here yet, so no other laptop can get the job there; --office puts its plan there."
        )
    if shared.trouble:
        yield _(
            "Not all of this laptop's entries are there ({trouble}); share again when that is fixed.",
            trouble=shared.trouble,
        )
    if shared.not_on_board:
        yield _("The board's counts of this job could not be written ({trouble}).", trouble=shared.not_on_board)
    for less in shared.less:
        yield _(
            "{folder} holds less than it said: {less}. What is here was sent again; tell the office.",
            folder=folder,
            less=less,
        )
    yield from _some([_("Half there, so it waits: {files}", files=each) for each in shared.half_there])
    yield from _some([_("Not taken in: {entry}.", entry=each) for each in shared.not_sound])


def _plan_lines(session: Session, shared: Shared, *, given: bool) -> Iterator[str]:
    """What came of the office's plan."""
    number = shared.office[0]
    if given and number:
        yield _("Plan {number} is there for every laptop; each accepts it for itself.", number=number)
    elif number and session.offered_changes is not None:
        what = summary(session.offered_changes, session.plan.notation)
        yield _(
            "{offer_words}: {what}. “gradecheck changes --accept” or Ctrl+Y accepts it.",
            offer_words=offer_words(number),
            what=what,
        )
    if shared.not_in_place[0]:
        number, why = shared.not_in_place
        yield _(
            "Plan {number} from the office waits: {why}. Accept that or undo it, then share again.",
            number=number,
            why=why,
        )


def _some(lines: list[str]) -> Iterator[str]:
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield _("... and {left} more.", left=len(lines) - MOST)


@contextlib.contextmanager
def _given_up_when_stuck(job: Path, folder: Place) -> Iterator[None]:
    """Ends the program where a folder does not answer: whatever was recorded is on the disk of this laptop."""

    def give_up() -> None:
        says = _("{folder} does not answer. Nothing here was lost; share again later.", folder=folder)
        note(job, says, whole=False, at=now())
        print(says, file=sys.__stderr__, flush=True)
        os._exit(GIVEN_UP)

    if isinstance(folder, Address):  # each wait on a server has an end of its own
        yield
        return
    timer = threading.Timer(STUCK, give_up)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
