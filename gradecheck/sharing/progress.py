"""Progress rows in a meeting place: what a board reads, so that it never reads entries.

Each laptop keeps one small file for each job there, whole and named by its hash; a new one is put there first, then
its own old ones are taken away. It is a cache: whoever reads it is told how old it is, and the log stays what counts.
"""

from __future__ import annotations

import hashlib
import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from gradecheck.catalogue import _
from gradecheck.codec import CodecError, decode, encode
from gradecheck.joining.names import identity
from gradecheck.journal.chain import MOST as MOST_NUMBER
from gradecheck.journal.facts import Head
from gradecheck.journal.stamps import stamp_fault
from gradecheck.report.instrument import disagrees_by
from gradecheck.session.session import Session
from gradecheck.sharing.meeting_place import MeetingPlace, TooLargeError
from gradecheck.sharing.plans import planned_job
from gradecheck.sharing.row_files import NotWholeError, decompressed, hash_of, key, named
from gradecheck.state.progress import Progress, SetupStands, StageProgress, Stamp
from gradecheck.state.state import Shot, State, Surface
from gradecheck.state.tally import count_stage, is_begun

__all__ = ["Progress", "as_text", "from_text", "progress", "put_progress", "read_progress"]

NO_CHAIN = "0" * 16
"""In a name where nothing is recorded yet."""
MOST_BYTES = 1 << 20
"""Bytes of a file; ours are some hundreds."""
MOST_TEXT = 8 << 20
"""Bytes of a row, unpacked."""
MOST_STAGES = 20_000
LONGEST_WORD = 1_000
"""Characters of a name in a row."""

_NAME = re.compile(
    r"gc1-(?P<job>[0-9a-f]{16})-(?P<chain>[0-9a-f]{16})-(?P<laptop>[0-9a-f]{16})-(?P<digest>[0-9a-f]{32})\.progress",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class ProgressName:
    """What the name of a file says: beginnings of the hashes of the plan, of a chain's first entry, of the laptop."""

    job: str
    chain: str
    laptop: str
    digest: str


class WrongProgressError(ValueError):
    """A row that no program of ours wrote, or not in this form."""


# -- counting


def progress(session: Session) -> Progress:
    """The row of a job as it is open here; the same for the same entries, whenever it is made."""
    state, log = session.state, session.journal.joined
    lines = session.lines(limit=1)
    last = lines[-1].entry if lines else None
    if log is not None:
        links = [log.history.link(each) for each in log.history.ends]
        heads = tuple(Head(each.laptop, each.number, each.hash) for each in links)
    else:
        heads = (Head(last.laptop, last.seq, last.hash),) if last is not None else ()
    return Progress(
        name=session.plan.job,
        plan=session.digest,
        laptop=session.laptop,
        heads=heads,
        entries=len(log.entries) if log is not None else session.seq,
        last=_stamp(state, last.at, last.offset, last.by, last.seq) if last is not None else None,
        doubt=len(state.doubts()),
        setup=_setup(state),
        stages=tuple(_stage(state, area.name, stage) for area in state.plan.areas.values() for stage in area.stages),
    )


def _stage(state: State, area: str, stage: str) -> StageProgress:
    last: Shot | None = None
    if is_begun(state, area, stage):
        for point in state.plan.areas[area].points:
            shot = state.latest(Surface(area, point.name, stage))
            if shot is not None and (last is None or shot.seq > last.seq):
                last = shot
    stamp = _stamp(state, last.at, last.offset, last.by, last.seq) if last is not None else Stamp("", 0, "")
    count = count_stage(state, area, stage)
    return StageProgress(area, stage, count.points, count.on_grade, count.out, count.doubt, count.unread, *stamp)


def _setup(state: State) -> SetupStands | None:
    setup = state.setup
    if setup is None:
        return None
    looked, recorded = state.looked(setup.id), state.book.recorded(setup.id)
    return SetupStands(
        mark=setup.fact.backsights[0].mark,
        at=_utc(setup.at),
        looked=_utc(looked or setup.at),
        offset=setup.offset,
        disagrees=disagrees_by(state, recorded, unit=True) if recorded is not None else "",
    )


def _stamp(state: State, at: datetime, offset: int, by: str, seq: int) -> Stamp:
    return Stamp(_utc(at), offset, by, state.laptops.called(seq) if state.laptops is not None else "")


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="milliseconds")


# -- as text


def as_text(row: Progress) -> str:
    """The row as JSON, the same text for the same row."""
    return encode(row)


def from_text(text: str) -> Progress:
    """The row in a text, of whoever wrote it. Raises `WrongProgressError`."""
    if len(text) > MOST_TEXT:
        raise WrongProgressError(_("it is too large"))
    try:
        row = decode(Progress, text)
    except (CodecError, RecursionError) as wrong:
        raise WrongProgressError(_("no progress of a job is in it")) from wrong
    if said := _wrong_in(row):
        raise WrongProgressError(said)
    return row


def _wrong_in(row: Progress) -> str:
    """Why no laptop can have counted that; empty where one can."""
    if len(row.stages) > MOST_STAGES or len(row.heads) > MOST_STAGES:
        return _("it has more stages than any job")
    words = [row.name, row.plan, row.laptop, *(each.laptop for each in row.heads), *(each.hash for each in row.heads)]
    stamps = [row.last, *(each.last for each in row.stages)]
    if row.setup is not None:
        words += [row.setup.mark, row.setup.disagrees]
        stamps += [Stamp(at, row.setup.offset, "") for at in (row.setup.at, row.setup.looked)]
    for stage in row.stages:
        words += [stage.area, stage.stage]
        parts = (stage.on_grade, stage.out, stage.doubt, stage.unread)
        if min(parts) < 0 or sum(parts) != stage.points or stage.points >= MOST_NUMBER:
            return _("its counts do not add up")
    for stamp in stamps:
        if stamp is not None:
            words += [stamp.by, stamp.laptop]
            if not _is_time(stamp):
                return _("a time in it is none")
    numbers = [row.entries, row.doubt, *(each.number for each in row.heads)]
    if not all(0 <= each < MOST_NUMBER for each in numbers):
        return _("its counts do not add up")
    heads = [each.number for each in row.heads] or [0]
    # Chains may have their beginning in common, and all of the longest is counted.
    if not max(heads) <= row.entries <= sum(heads):
        return _("its counts do not add up")
    if len({(each.area, each.stage) for each in row.stages}) != len(row.stages):
        return _("a stage is in it twice")
    if any(len(each) > LONGEST_WORD for each in words):
        return _("a name in it is too long")
    return ""


def _is_time(stamp: Stamp) -> bool:
    try:
        at = datetime.fromisoformat(stamp.at)
    except ValueError:
        return False
    return at.tzinfo is not None and stamp_fault(at, stamp.offset) is None


# -- as files


def progress_named(name: str) -> ProgressName | None:
    """What a name says; None of any other file, which is left alone."""
    found = _NAME.fullmatch(name)
    return ProgressName(found["job"], found["chain"], found["laptop"], found["digest"]) if found else None


def put_progress(place: MeetingPlace, row: Progress, first: str) -> None:
    """Puts the row there in the place of this laptop's older ones; nothing where it is there already.

    `first` is the hash of a first entry of the job, empty where there is none. Raises `OSError`.
    """
    content = zlib.compress(as_text(row).encode("utf-8", "surrogatepass"))
    digest, own = hash_of(content), _laptop_key(row.laptop)
    new = f"gc1-{key(row.plan)}-{key(first) or NO_CHAIN}-{own}-{digest}.progress"
    names = place.names()
    if new not in names or not place.is_whole(new, digest):
        place.put(new, content, digest)
    for name in jobs_by_name([*names, new])[new]:
        said = progress_named(name)
        if said is not None and said.laptop == own and name != new:
            place.remove(name)


def jobs_by_name(names: Iterable[str]) -> dict[str, list[str]]:
    """The files of the same job, by each of their names: those named by one plan, or by one chain, hang together."""
    group: dict[str, str] = {}

    def top(each: str) -> str:
        while (above := group.setdefault(each, each)) != each:
            group[each] = group[above]
            each = above
        return each

    said = {name: pair for name in names if (pair := plan_and_chain(name)) is not None}
    for plan, chain in said.values():
        if chain not in ("", NO_CHAIN):
            group[top(f"chain:{chain}")] = top(f"plan:{plan}")
    jobs: dict[str, list[str]] = {}
    for name, (plan, _chain) in said.items():
        jobs.setdefault(top(f"plan:{plan}"), []).append(name)
    return {name: jobs[top(f"plan:{plan}")] for name, (plan, _chain) in said.items()}


def plan_and_chain(name: str) -> tuple[str, str] | None:
    """By which plan and chain the name of a file of ours tells its job; None of any other file."""
    if (of_rows := named(name)) is not None:
        return of_rows.job, of_rows.chain
    if (of_progress := progress_named(name)) is not None:
        return of_progress.job, of_progress.chain
    return (job, "") if (job := planned_job(name)) else None


def _laptop_key(laptop: str) -> str:
    return hashlib.sha256(identity(laptop).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def read_progress(place: MeetingPlace, name: str, said: ProgressName) -> Progress | None:
    """The row in a file; None where it was taken away meanwhile. Raises `WrongProgressError`, and `OSError`.

    One that is half there, or has another laptop's row under a name that says otherwise, is refused too.
    """
    try:
        content = place.read(name, MOST_BYTES)
        if hash_of(content) != said.digest:
            raise NotWholeError
        row = from_text(decompressed(content, MOST_TEXT).decode())
    except FileNotFoundError:
        return None
    except NotWholeError as wrong:
        raise WrongProgressError(_("it is half there")) from wrong
    except TooLargeError as wrong:
        raise WrongProgressError(_("it is too large")) from wrong
    except WrongProgressError:
        raise
    except (zlib.error, ValueError) as wrong:
        raise WrongProgressError(_("it can't be unpacked ({wrong})", wrong=wrong)) from wrong
    if key(row.plan) != said.job or _laptop_key(row.laptop) != said.laptop:
        raise WrongProgressError(_("it holds another job or laptop than its name says"))
    return row
