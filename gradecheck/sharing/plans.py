"""The office's plan by a meeting place: it takes the job file's place, is offered there, and counts once accepted."""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.files.whole_files import write_whole
from gradecheck.journal.chain import Row, from_row
from gradecheck.journal.facts import KIND_OF, PlanRevised
from gradecheck.plan.load import PLAN_NAME, Loaded, read_text, understand
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from gradecheck.sharing.meeting_place import MeetingPlace, TooLargeError
from gradecheck.sharing.row_files import decompressed, hash_of, key

MOST = 50 << 20
"""Bytes of a plan with all its lists, unpacked."""
MOST_NUMBER = 1_000_000
_NAME = re.compile(r"gc1-(?P<job>[0-9a-f]{16})-(?P<number>[0-9]{8})-(?P<digest>[0-9a-f]{32})\.plan", re.ASCII)


@dataclass(frozen=True, slots=True)
class OfficePlan:
    """A plan with the number that the office gave it: the higher takes the place of the lower."""

    number: int
    loaded: Loaded


def plans_there(
    place: MeetingPlace, names: Sequence[str], jobs: set[str], half_there: list[str], not_sound: list[str]
) -> list[OfficePlan]:
    """The office's plans for the job that files are named by so, in order; what is wrong with others is noted."""
    found: dict[int, OfficePlan] = {}
    for name in names:
        said = _NAME.fullmatch(name)
        if said is None or said["job"] not in jobs:
            continue
        try:
            content = place.read(name)
            if hash_of(content) != said["digest"]:
                half_there.append(name)
                continue
            plan = unpacked_plan(content, int(said["number"]))
        except (ValueError, RecursionError, TooLargeError, OSError) as wrong:
            not_sound.append(f"{name}: {wrong or 'it is too large'}")
            continue
        other = found.setdefault(plan.number, plan)
        if other.loaded.digest != plan.loaded.digest:
            not_sound.append(
                _("{name}: the office gave two plans the number {number}", name=name, number=plan.number)
            )
    return [found[number] for number in sorted(found)]


def jobs_planned(names: Iterable[str]) -> set[str]:
    """By what the office's plans there are named, one for each job."""
    return {job for name in names if (job := planned_job(name))}


def planned_job(name: str) -> str:
    """By what the job is named in the name of an office's plan; empty in that of any other file."""
    said = _NAME.fullmatch(name)
    return said["job"] if said is not None else ""


def lay_in(folder: Path, plan: OfficePlan) -> None:
    """Writes the plan into a folder that has none yet. Raises Refusal."""
    texts = _job_file_last({PLAN_NAME: plan.loaded.text, **plan.loaded.files})
    write_whole(folder, {name: text.encode() for name, text in texts.items()})


def unpacked_plan(content: bytes, number: int) -> OfficePlan:
    """The plan that was packed so, understood as one that is read from disk. Raises ValueError."""
    try:
        stored = json.loads(decompressed(content, MOST))
    except zlib.error as wrong:
        raise ValueError(_("it can't be unpacked ({wrong})", wrong=wrong)) from wrong
    if not isinstance(stored, dict) or stored.get("number") != number or not 0 < number <= MOST_NUMBER:
        raise ValueError(_("its number is another than its name says, or none that an office gives"))
    plan, files = stored.get("text"), stored.get("files")
    if not (
        isinstance(plan, str) and isinstance(files, dict) and all(isinstance(each, str) for each in files.values())
    ):
        raise ValueError(_("there is no plan in it"))
    try:
        return OfficePlan(number, understand(plan, PLAN_NAME, files.__getitem__))
    except (PlanProblemsError, KeyError) as wrong:
        first = (
            wrong.problems[0]
            if isinstance(wrong, PlanProblemsError)
            else _("its list {wrong} is missing", wrong=wrong)
        )
        raise ValueError(_("its plan can't be read: {first}", first=first)) from wrong


def given(session: Session) -> Loaded:
    """The plan in the job file as it is now. Raises Refusal where it can't be read."""
    loaded = session.plan_file.latest
    if session.plan_file.wrong is not None or loaded is None:
        raise Refusal(
            _("The job file can't be read, so no other laptop was given it; “gradecheck examine” says why.")
        )
    return loaded


def next_plan(session: Session, there: Sequence[OfficePlan]) -> OfficePlan:
    """The job file as it is now, under the next number; one that is there stays that. Raises Refusal."""
    loaded = given(session)
    if there and there[-1].loaded.digest == loaded.digest:
        return there[-1]
    return OfficePlan(there[-1].number + 1 if there else 1, loaded)


def packed_plan(plan: OfficePlan) -> bytes:
    """The bytes in which it is given to others."""
    stored = {"number": plan.number, "text": plan.loaded.text, "files": plan.loaded.files}
    return zlib.compress(json.dumps(stored, ensure_ascii=False, separators=(",", ":")).encode())


def publish(place: MeetingPlace, session: Session, job: str, there: Sequence[OfficePlan]) -> OfficePlan:
    """Puts the job file as it is now there for every laptop, under the next number; one that is there stays that.

    `job` is by what its file is named, so that the others know it for theirs.

    Raises `OSError`.
    """
    plan = next_plan(session, there)
    if plan not in there:
        content = packed_plan(plan)
        digest = hash_of(content)
        place.put(f"gc1-{key(job)}-{plan.number:08}-{digest}.plan", content, digest)
    return plan


def lay_beside(session: Session, plan: OfficePlan, rows: Iterable[Row], there: Sequence[OfficePlan]) -> str:
    """Puts the office's plan in the place of the job file here, from where it is offered; why not, if not.

    Only a file whose text is kept elsewhere is replaced: in the log, as it was accepted, or as a plan of the office.
    """
    here = session.plan_file.latest
    if here is not None and here.digest == plan.loaded.digest:
        return ""
    if session.state.plan_digest is None:  # then whatever lies there counts, accepted or not
        return _("no plan was accepted here yet; read the day's cautions first, or record something")
    texts = {PLAN_NAME: plan.loaded.text, **plan.loaded.files}
    kept: dict[str, set[str]] = {}
    for each in there:
        _keep(kept, each.loaded.text, each.loaded.files)
    for row in rows:
        if row[5] == KIND_OF[PlanRevised] and isinstance(fact := from_row(row).fact, PlanRevised):
            _keep(kept, fact.text, fact.files)
    for name, text in texts.items():
        try:
            found = read_text(session.folder / name)
        except PlanProblemsError:
            if not (session.folder / name).exists():
                continue
            return _("{name} can't be read", name=name)
        if found != text and found not in kept.get(name, ()):
            return _("{name} was changed here and not accepted", name=name)
    try:
        write_whole(session.folder, {name: text.encode() for name, text in _job_file_last(texts).items()})
    except Refusal as wrong:
        return str(wrong)
    session.plan_file.refresh()
    return ""


def _keep(kept: dict[str, set[str]], text: str, files: Mapping[str, str]) -> None:
    for name, each in {PLAN_NAME: text, **files}.items():
        kept.setdefault(name, set()).add(each)


def _job_file_last(texts: Mapping[str, str]) -> dict[str, str]:
    return {name: texts[name] for name in sorted(texts, key=lambda name: name == PLAN_NAME)}


def keys(plans: Iterable[str]) -> set[str]:
    """The beginnings of plans' hashes, by which files are named."""
    return {key(each) for each in plans}
