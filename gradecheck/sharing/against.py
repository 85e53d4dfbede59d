"""A log held against what its laptops put elsewhere: one rewritten, put back or cut is found out by that."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.joining.names import identity
from gradecheck.journal.chain import Row, from_row
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.against import Comparison, Outcome, ReadChain, hold
from gradecheck.plan.load import PLAN_NAME, load_plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.sharing.last_copy import last_copy
from gradecheck.sharing.meeting_place import MeetingPlace
from gradecheck.sharing.row_files import named
from gradecheck.sharing.share import Shared, not_of_job, of_job, plans_in, read_rows, system_reason


@dataclass(slots=True)
class There:
    """What lies elsewhere of a job: the hashes of its entries, entries of it, and which are ours to have."""

    hashes: set[str]
    rows: Mapping[str, Row]
    is_own: Callable[[Entry], bool]
    less: list[str] = field(default_factory=list)
    """What it said it held and does not hold now."""


@dataclass(slots=True)
class Compared:
    """What came of it beside what is wrong with the log: entries that are only not fetched yet, and a place that lost
    some."""

    not_here_yet: int = 0
    less: list[str] = field(default_factory=list)


def held_against(called: str, ours: ReadChain, there: There, compared: Compared) -> Iterator[Comparison]:
    """Holds the log against what is elsewhere: what this laptop itself once put there must still be here."""
    compared.less = there.less
    known = ours.taken | {*ours.hashes.values()}
    missing = {digest: row for digest, row in there.rows.items() if digest not in known}
    bad: list[Comparison] = []
    fine = True
    for line in _lines(missing, ours):
        entries = [from_row(row) for row in line]
        if any(there.is_own(entry) for entry in entries):
            bad.append(hold(called, ours, _chain(entries, ours)))
        else:
            compared.not_here_yet += len(entries)
    for held in sorted(bad, key=lambda held: held.first):
        fine = fine and not held.bad
        yield held
    if fine:
        last = max((seq for seq, digest in ours.hashes.items() if digest in there.hashes), default=0)
        yield Comparison(called, Outcome.AGREES, last)


def _lines(missing: Mapping[str, Row], ours: ReadChain) -> Iterator[list[Row]]:
    """The entries that are not here, as they follow one another up to each end."""
    before = {row[-2] for row in missing.values()}
    for digest, row in missing.items():
        if digest not in before:
            line = [row]
            while (row := missing.get(line[-1][-2], ())) and len(line) <= len(missing):
                line.append(row)
            yield line[::-1]


def _chain(entries: list[Entry], ours: ReadChain) -> ReadChain:
    """The whole chain that they are the end of, as far as it is ours."""
    common = {seq: digest for seq, digest in ours.hashes.items() if seq < entries[0].seq}
    return ReadChain(
        common | {entry.seq: entry.hash for entry in entries},
        lambda after: (entry for entry in entries if entry.seq > after),
    )


def written_by(ours: ReadChain, laptop: str) -> Callable[[Entry], bool]:
    """Whether an entry is of this laptop, or of whoever wrote the log where that is not this one."""
    last = ours.at(ours.last)
    here = {identity(laptop)}
    if last is not None and any(identity(entry.laptop) in here for entry in ours.behind(0)):
        here.add(identity(last.laptop))
    return lambda entry: identity(entry.laptop) in here


def plans_known(job: Path, ours: ReadChain) -> set[str]:
    """The hashes of the plans that a job follows or followed, without opening its log."""
    plans = {entry.plan for entry in ours.behind(0)} | set(last_copy(job).plans)
    try:
        plans.add(load_plan(job / PLAN_NAME).digest)
    except (PlanProblemsError, OSError):
        return plans
    return plans


# -- a folder where laptops meet


def is_meeting_place(folder: Path) -> bool:
    """Whether files of laptops lie there."""
    try:
        return folder.is_dir() and any(named(each.name) is not None for each in folder.iterdir())
    except OSError:
        return False


def in_folder(
    folder: Path, job: Path, laptop: str, compared: Compared
) -> Callable[[ReadChain], Iterable[Comparison]]:
    """Holds a log against what lies in that folder."""

    def held(ours: ReadChain) -> Iterable[Comparison]:
        try:
            return [*held_against(str(folder), ours, _there(folder, job, laptop, ours), compared)]
        except OSError as wrong:
            raise Refusal(
                _(
                    "{folder} can't be opened ({reason}); nothing was compared.",
                    folder=folder,
                    reason=system_reason(wrong),
                )
            ) from wrong

    return held


def _there(folder: Path, job: Path, laptop: str, ours: ReadChain) -> There:
    plans = plans_known(job, ours)
    rows: dict[str, Row] = {}
    with MeetingPlace(folder) as place:
        for name, said in of_job(place.names(), plans).items():
            rows |= {row[-1]: row for row in read_rows(place, name, said, {}, Shared())}
    known = dict.fromkeys((*ours.hashes.values(), *ours.taken), ())
    strange = not_of_job(rows, known, plans | plans_in(rows.values()))
    sound = {digest: row for digest, row in rows.items() if digest not in strange}
    return There({*sound}, sound, written_by(ours, laptop))
