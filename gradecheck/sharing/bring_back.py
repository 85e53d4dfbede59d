"""A whole job, plan and log, from a meeting place into a new folder: its laptop is lost, or this one is new to it."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count
from gradecheck.files.job_copy import plan_texts
from gradecheck.files.whole_files import write_whole
from gradecheck.joining.log import JoinedLog, LinkedRow
from gradecheck.journal.chain import Row, from_row
from gradecheck.journal.facts import PlanRevised
from gradecheck.journal.file import create
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.places import clear_folder, make_folders, remove_folders, sync_folder
from gradecheck.plan.folder_names import folder_for
from gradecheck.plan.load import PLAN_NAME, understand
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session
from gradecheck.sharing.last_copy import note
from gradecheck.sharing.meeting_place import MeetingPlace
from gradecheck.sharing.plans import OfficePlan, jobs_planned, keys, lay_in, plans_there
from gradecheck.sharing.row_files import named
from gradecheck.sharing.share import Shared, of_job, plans_in, read_rows, system_reason
from gradecheck.system.settings import remember


@dataclass(frozen=True, slots=True)
class SharedJob:
    """A job as it lies in a meeting place, with a log."""

    name: str
    rows: tuple[Row, ...]
    log: JoinedLog


@dataclass(frozen=True, slots=True)
class Planned:
    """A job that the office gave out and that nobody recorded anything of yet: its plans, the newest last."""

    name: str
    plans: tuple[OfficePlan, ...]


def can_be_brought_back_to(job: Path) -> bool:
    """Whether nothing is there: no folder, or one with nothing in it."""
    try:
        return not os.path.lexists(job) or (job.is_dir() and not os.listdir(job))
    except OSError:
        return False


def bring_back(job: Path, folder: Path) -> str:
    """Makes the job in a new folder, and returns in a sentence what it holds.

    What all chains have in common is this laptop's own chain from here on, as in a folder that was copied. Raises
    Refusal, and then makes nothing.
    """
    shared = Shared()
    try:
        with MeetingPlace(folder) as place:
            kept: list[SharedJob | Planned] = [*_kept(place, shared), *_planned(place, shared)]
    except OSError as wrong:
        raise Refusal(
            _(
                "{folder} can't be opened ({reason}); no job was brought back from it.",
                folder=folder,
                reason=system_reason(wrong),
            )
        ) from wrong
    chosen = [each for each in kept if folder_for(each.name) == job.name.casefold()] or kept
    if not chosen:
        why = _(" {half_there} is half there.", half_there=shared.half_there[0]) if shared.half_there else ""
        raise Refusal(
            _(
                "There is nothing at {job}, and no whole job in {folder} to bring back.{why} Check the names.",
                job=job,
                folder=folder,
                why=why,
            )
        )
    if len(chosen) > 1:
        names = ", ".join(f"{folder_for(each.name)} ({each.name})" for each in chosen)
        raise Refusal(
            _(
                "{folder} holds several jobs; name the new folder after one of them: {names}.",
                folder=folder,
                names=names,
            )
        )
    [one] = chosen
    return made_in(job, one, folder)


def made_in(job: Path, one: SharedJob | Planned, folder: object) -> str:
    """The same of a job that was found; `folder` is where. Raises Refusal, and then makes nothing."""
    try:
        made = make_folders(job)
    except (OSError, ValueError) as wrong:
        raise Refusal(_("{job} can't be made ({wrong}); name another folder.", job=job, wrong=wrong)) from wrong
    try:
        return _begun(job, one, folder) if isinstance(one, Planned) else _made_anew(job, one, folder)
    except BaseException:
        clear_folder(job)
        remove_folders(made)
        raise


def _made_anew(job: Path, kept: SharedJob, folder: object) -> str:
    _write(job, kept)
    remember(job)
    entries = count(len(kept.rows), "entry", "entries")
    return _(
        "Brought back from {folder}: {name}, {entries}, with its plan.",
        folder=folder,
        name=kept.name,
        entries=entries,
    )


def _begun(job: Path, planned: Planned, folder: object) -> str:
    newest = planned.plans[-1]
    lay_in(job, newest)
    sync_folder(job.parent)
    says = _(
        "Brought from {folder}: {name}, plan {number} from the office. Nothing is recorded of it yet.",
        folder=folder,
        name=planned.name,
        number=newest.number,
    )
    plans = [each.loaded.digest for each in planned.plans]
    note(job, says, whole=False, at=now(), plans=plans, office=(newest.number, newest.loaded.digest))
    return says


def plans_by_name(job: str, folder: Path) -> set[str]:
    """The plans of the jobs there that are called so: by those an office that has no log yet finds its own."""
    with MeetingPlace(folder) as place:
        return {plan for each in _kept(place, Shared()) if each.name == job for plan in plans_in(each.rows)}


def _kept(place: MeetingPlace, shared: Shared) -> Iterator[SharedJob]:
    names = place.names()
    left = {name: said for name in names if (said := named(name)) is not None}
    while left:
        mine = of_job(list(left), {next(iter(left.values())).job})
        rows: dict[str, Row] = {}
        for name, said in mine.items():
            del left[name]
            rows |= {row[-1]: row for row in read_rows(place, name, said, {}, shared)}
        if (job := kept_in(rows)) is not None:
            yield job


def kept_in(rows: Mapping[str, Row]) -> SharedJob | None:
    """The job in entries, by their hashes; None where no plan in them can be read."""
    log = JoinedLog(LinkedRow(from_row(row), row[-2]) for row in rows.values())
    fact = log.plan.fact if log.plan is not None else None
    if isinstance(fact, PlanRevised):
        try:
            plan = understand(fact.text, PLAN_NAME, fact.files.__getitem__).plan
        except (PlanProblemsError, KeyError):
            return None
        return SharedJob(plan.job, tuple(rows.values()), log)
    return None


def _planned(place: MeetingPlace, shared: Shared) -> Iterator[Planned]:
    """The jobs of which there are plans alone: where entries are there, whole or not, the log is the job."""
    names = place.names()
    recorded = {said.job for name in names if (said := named(name)) is not None}
    for job in sorted(jobs_planned(names)):
        plans = plans_there(place, names, {job}, shared.half_there, shared.not_sound)
        of_it = keys(plan.loaded.digest for plan in plans)
        # Named by a plan that is not among them, it hangs on a log that did not come yet.
        if job in of_it and not (of_it & recorded):
            yield Planned(plans[-1].loaded.plan.job, tuple(plans))


def _write(job: Path, kept: SharedJob) -> None:
    history = kept.log.history
    common = {digest for digest in history.order if all(history.on_line(end, digest) for end in history.ends)}
    own = sorted((row for row in kept.rows if row[-1] in common), key=lambda row: row[0])
    create(job / JOURNAL_NAME, own, [row for row in kept.rows if row[-1] not in common])
    session = Session(job)
    try:
        write_whole(job, {name: text.encode() for name, text in plan_texts(session).items()})
    finally:
        session.close()
    sync_folder(job.parent)


class _SomeOf(MeetingPlace):
    """A meeting place of which some files alone are looked at."""

    def __init__(self, path: Path, names: Iterable[str]) -> None:
        super().__init__(path)
        self._chosen = set(names)

    def names(self) -> list[str]:
        """Those of them that are there."""
        return [name for name in super().names() if name in self._chosen]


def lay_out(job: Path, folder: Path, names: Iterable[str]) -> str:
    """Lays the job that those files of the meeting place are of into an empty folder, to be looked at there.

    Returns what is not in it though it is there. Raises Refusal where it can't be put together, and `OSError`.
    """
    shared = Shared()
    with _SomeOf(folder, names) as place:
        kept: list[SharedJob | Planned] = [*_kept(place, shared), *_planned(place, shared)]
    missing = "; ".join((*(_("{name} is half there", name=name) for name in shared.half_there), *shared.not_sound))
    if not kept:
        raise Refusal(
            _("The job can't be put together from what is in {folder}. {missing}", folder=folder, missing=missing)
        )
    lay_one(job, max(kept, key=lambda each: len(each.rows) if isinstance(each, SharedJob) else 0))
    return missing


def lay_one(job: Path, one: SharedJob | Planned) -> None:
    """Lays a job into an empty folder, to be looked at there. Raises Refusal and `OSError`."""
    if isinstance(one, Planned):
        lay_in(job, one.plans[-1])
    else:
        _write(job, one)
