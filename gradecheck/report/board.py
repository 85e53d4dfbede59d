"""The board: how far every job is, by the rows that laptops left of them. A row is a cache, so each says its age.

Of the rows of a job the one that was counted from most entries is shown, never a sum: what two laptops both know
would count twice. What another row knows beyond that, and what two say otherwise of the same entries, is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gradecheck.catalogue import _, count, plural, stage_word, stored
from gradecheck.joining.names import called, identity
from gradecheck.journal.stamps import on_site
from gradecheck.report.bars import bar_of, counts
from gradecheck.report.dates import weekday
from gradecheck.report.instrument import SETUP_DISAGREES
from gradecheck.report.spreadsheet import csv_of
from gradecheck.state.progress import Progress, SetupStands, StageProgress, Stamp

AHEAD = timedelta(minutes=15)
"""A clock that is so far ahead of this one is told."""
CELLS = 24
COLUMNS = ("job", "area", "stage", "points", stored("on grade"), "out", stored("in doubt"), "unread",
           stored("last reading"), "by", "laptop", stored("last entry in job"), stored("counted by"), "entries",
           "remarks")  # fmt: skip


@dataclass(frozen=True, slots=True)
class KeptRow:
    """A row as it lies in a meeting place; `got` is when it came there, where the place can tell."""

    row: Progress
    got: datetime | None = None


@dataclass(frozen=True, slots=True)
class JobOnBoard:
    """A job: the row that is shown, those of all laptops with that one first, and what is doubtful about them."""

    key: str
    """By what the meeting place knows it; it stays the same as the job goes on."""
    rows: tuple[KeptRow, ...]
    remarks: tuple[str, ...] = ()

    @property
    def row(self) -> Progress:
        """The one that was counted from most entries."""
        return self.rows[0].row

    @property
    def last(self) -> Stamp | None:
        """The last entry that is known of."""
        return self.row.last


@dataclass(frozen=True, slots=True)
class Board:
    """All jobs, those first in which was recorded last; what was passed over, with why."""

    jobs: tuple[JobOnBoard, ...]
    passed_over: tuple[str, ...] = ()
    trouble: str = ""
    """Why it may be old: the meeting place can't be looked at."""
    goes_on: bool = False
    """Whether more jobs are there, which come at the next look."""


def board_of(
    jobs: Iterable[tuple[str, Sequence[KeptRow], int]], passed_over: Iterable[str] = (), trouble: str = ""
) -> Board:
    """The board of jobs, each given by its key, its rows, and the highest number of an entry that is there.

    That is 0 where it is not known. Jobs of which there is no row are left out.
    """
    made = [_job(key, kept, highest) for key, kept, highest in jobs if kept]
    made.sort(key=lambda job: (job.row.name.casefold(), job.key))
    made.sort(key=lambda job: job.last.at[:10] if job.last is not None else "", reverse=True)
    return Board(tuple(made), tuple(sorted(passed_over)), trouble)


def _job(key: str, kept: Sequence[KeptRow], highest: int) -> JobOnBoard:
    newest: dict[tuple[str, str], KeptRow] = {}
    for each in sorted(kept, key=_knowledge):  # what brought a folder's files may bring back old ones
        newest[identity(each.row.laptop), each.row.name] = each
    rows = tuple(sorted(newest.values(), key=_knowledge, reverse=True))
    return JobOnBoard(key, rows, tuple(_remarks([each.row for each in rows], highest)))


def _knowledge(kept: KeptRow) -> tuple[int, str, str]:
    row = kept.row
    return row.entries, row.last.at if row.last is not None else "", row.laptop


def _remarks(rows: Sequence[Progress], highest: int) -> Iterator[str]:
    best = rows[0]
    known = _by_laptop(best)
    for laptop, (name, number) in _newest(rows).items():
        if number > (before := known.get(laptop, ("", 0))[1]):
            yield plural(
                number - before,
                "{n} entry of {laptop} is not counted in yet.",
                "{n} entries of {laptop} are not counted in yet.",
                laptop=called(name),
            )
    in_it = max((head.number for head in best.heads), default=0)
    if highest > max(in_it, *(number for _name, number in _newest(rows).values()), 0):
        yield _("Newer entries are there than these counts know of.")
    if highest and in_it > highest:
        yield _("These counts know of entries that are not there.")
    for other in rows[1:]:
        if set(other.heads) == set(best.heads) and _counted(other) != _counted(best):
            yield (
                _("{one} and {other} judge the same entries by different plans.", one=who(best), other=who(other))
                if other.plan != best.plan
                else _("{one} and {other} count the same entries otherwise.", one=who(best), other=who(other))
            )
        if other.name != best.name:
            yield _("{other} calls the job {name}.", other=who(other), name=other.name)


def _counted(row: Progress) -> object:
    return row.entries, row.doubt, [each[:7] for each in row.stages]


def _by_laptop(row: Progress) -> dict[str, tuple[str, int]]:
    """Of each laptop what it is called, and the highest number of its entries that the row knows."""
    found: dict[str, tuple[str, int]] = {}
    for head in row.heads:
        if head.number > found.get(identity(head.laptop), ("", 0))[1]:
            found[identity(head.laptop)] = head.laptop, head.number
    return found


def _newest(rows: Iterable[Progress]) -> dict[str, tuple[str, int]]:
    found: dict[str, tuple[str, int]] = {}
    for row in rows:
        for laptop, newer in _by_laptop(row).items():
            if newer[1] > found.get(laptop, ("", 0))[1]:
                found[laptop] = newer
    return found


def who(row: Progress) -> str:
    """What the laptop is called that counted."""
    return called(row.laptop)


# -- in words


def when(stamp: Stamp, now: datetime) -> str:
    """``10:42`` of today, ``Thu 16:20`` of the last days, else ``2026-05-12``; by the clock on site."""
    there = stamp.on_site
    today = now.astimezone(there.tzinfo)
    if there > today + AHEAD:
        return _("{there:%Y-%m-%d %H:%M}, AHEAD OF THIS CLOCK", there=there)
    if there.date() == today.date():
        return f"{there:%H:%M}"
    return f"{weekday(there)} {there:%H:%M}" if (today.date() - there.date()).days < 7 else f"{there:%Y-%m-%d}"


def by_whom(stamp: Stamp) -> str:
    """``JR, north crew``."""
    return f"{stamp.by}, {stamp.laptop}" if stamp.laptop else stamp.by


def last_text(job: JobOnBoard, now: datetime) -> str:
    """``last entry 10:42 JR, north crew``."""
    if job.last is None:
        return _("nothing recorded yet")
    return _("last entry {when} {by_whom}", when=when(job.last, now), by_whom=by_whom(job.last))


def setup_text(setup: SetupStands | None, now: datetime) -> str:
    """``setup on DOOR 07:52``; one that was last held against a mark on another day may no longer be read from."""
    if (
        setup is None
        or (looked := _moment(setup.looked, setup.offset)).date() != now.astimezone(looked.tzinfo).date()
    ):
        return _("no setup")
    if setup.disagrees:
        return f"{SETUP_DISAGREES} {setup.disagrees}"
    at = _moment(setup.at, setup.offset)
    return _("setup on {mark} {on_site:%H:%M}", mark=setup.mark, on_site=at)


def _moment(at: str, offset: int) -> datetime:
    return on_site(datetime.fromisoformat(at), offset)


def age_text(job: JobOnBoard, now: datetime) -> str:
    """What is shown: ``counted by north crew from 1204 entries``, and when it came, where that is known."""
    entries = count(job.row.entries, "entry", "entries")
    got = job.rows[0].got
    came = _(", sent {when}", when=when(Stamp(got.isoformat(), _offset(now), ""), now)) if got is not None else ""
    return _("counted by {who} from {entries}{came}", who=who(job.row), entries=entries, came=came)


def _offset(now: datetime) -> int:
    return int((now.utcoffset() or timedelta()).total_seconds() // 60)


def setups_text(job: JobOnBoard, now: datetime) -> str:
    """The setup of each laptop; of several each by its name, and those alone that stand."""
    if len(job.rows) == 1:
        return setup_text(job.row.setup, now)
    setups = [(who(kept.row), setup_text(kept.row.setup, now)) for kept in job.rows]
    named = [f"{laptop}: {setup}" for laptop, setup in setups if setup != _("no setup")]
    return "; ".join(named) or _("no setup")


def rest_text(row: Progress, more: int = 0) -> str:
    """``stages: 2 more begun, 1 on grade, 3 not begun``; empty where there are no others."""
    parts = (
        _("{more} more begun", more=more) if more > 0 else "",
        _("{done} on grade", done=row.done) if row.done else "",
        _("{untouched} not begun", untouched=row.untouched) if row.untouched else "",
    )
    said = ", ".join(filter(None, parts))
    return _("stages: {said}", said=said) if said else ""


# -- as text, JSON, CSV


def board_lines(board: Board, now: datetime, place: str) -> Iterator[str]:
    """The board as lines of text."""
    yield _("{jobs}, {place}", jobs=count(len(board.jobs), "job"), place=place)
    for job in board.jobs:
        doubt = _("{doubt} IN DOUBT", doubt=job.row.doubt) if job.row.doubt else ""
        yield f"{job.row.name}: {'  '.join(filter(None, (doubt, setups_text(job, now), last_text(job, now))))}"
        for stage in job.row.begun:
            done, others = counts(stage.counts)
            last = f"{when(stage.last, now)} {by_whom(stage.last)}" if stage.last is not None else ""
            bar = bar_of(stage.counts, CELLS)
            yield f"  {stage.area:<16}  {stage_word(stage.stage):<10}  {bar}  {'  '.join((done, *others))}  {last}"
        rest = [rest_text(job.row), age_text(job, now)]
        yield from (f"  {each}" for each in (*filter(None, rest), *job.remarks))
    yield from trouble_lines(board)


def trouble_lines(board: Board) -> Iterator[str]:
    """What was passed over, and why the board may be old."""
    if board.trouble:
        yield board.trouble
    yield from (_("Passed over: {entry}.", entry=each) for each in board.passed_over)


def board_json(board: Board) -> dict[str, object]:
    """The same for other programs; times are UTC."""
    return {
        "jobs": [_job_json(job) for job in board.jobs],
        "passed over": list(board.passed_over),
        "trouble": board.trouble,
    }


def _job_json(job: JobOnBoard) -> dict[str, object]:
    row = job.row
    return {
        "job": row.name,
        "plan": row.plan,
        "counted by": who(row),
        "entries": row.entries,
        "sent": _sent(job.rows[0]),
        "last entry": _stamp_json(row.last),
        "in doubt": row.doubt,
        "setup": _setup_json(row.setup),
        "stages": [_stage_json(stage) for stage in row.stages],
        "laptops": [
            {
                "laptop": who(kept.row),
                "entries": kept.row.entries,
                "sent": _sent(kept),
                "last entry": _stamp_json(kept.row.last),
                "setup": _setup_json(kept.row.setup),
            }
            for kept in job.rows
        ],
        "remarks": list(job.remarks),
    }


def _sent(kept: KeptRow) -> str | None:
    return kept.got.isoformat() if kept.got is not None else None


def _stamp_json(stamp: Stamp | None) -> dict[str, object] | None:
    return {"time": stamp.at, "by": stamp.by, "laptop": stamp.laptop} if stamp is not None else None


def _setup_json(setup: SetupStands | None) -> dict[str, object] | None:
    if setup is None:
        return None
    return {"mark": setup.mark, "made": setup.at, "rechecked": setup.looked, "disagrees by": setup.disagrees}


def _stage_json(stage: StageProgress) -> dict[str, object]:
    return {
        "area": stage.area,
        "stage": stage.stage,
        "points": stage.points,
        "read": stage.counts.read,
        "on grade": stage.on_grade,
        "out": stage.out,
        "in doubt": stage.doubt,
        "unread": stage.unread,
        "last reading": _stamp_json(stage.last),
    }


def board_csv(board: Board) -> str:
    """A row for each stage of each area of each job, for spreadsheets; times by the clock on site."""
    rows = []
    for job in board.jobs:
        row = job.row
        behind = [_csv_time(job.last), who(row), row.entries, " ".join(job.remarks)]
        for stage in row.stages:
            of_it = [stage.area, stage.stage, *stage[2:7], _csv_time(stage.last), stage.by, stage.laptop]
            rows.append([row.name, *of_it, *behind])
    return csv_of(COLUMNS, rows)


def _csv_time(stamp: Stamp | None) -> str:
    return f"{stamp.on_site:%Y-%m-%d %H:%M}" if stamp is not None else ""
