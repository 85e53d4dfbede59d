"""Jobs of any size, made fast: points in lists next to the job file, and years of a crew's entries, truly hashed."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from functools import cache
from itertools import count
from pathlib import Path

from gradecheck import __version__
from gradecheck.checks.verdict import judge
from gradecheck.journal.chain import START, Row, to_row
from gradecheck.journal.facts import (
    Backsight,
    CautionsRead,
    DayDescribed,
    Draft,
    Fact,
    InstrumentMoved,
    Judged,
    Note,
    PlanRevised,
    Reading,
    Rechecked,
    SetupMade,
    Void,
)
from gradecheck.journal.file import create
from gradecheck.journal.ids import Ids
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.load import PLAN_NAME, load_plan
from tests.first_things import CAUTIONS
from tests.pty.site import BACKSIGHT, Site, typed_size

UNREAD = 60
"""Points at the beginning of the border that nobody has read yet, where it has twice as many."""
FEWEST = 10
"""Entries in the smallest journal."""
PER_DAY = 600
_DAY = 24_000
"""Seconds from a day's first entry to its last."""
LAYERED = "    build-up: border\n"
"""What an area of the list jobs says where it has all its layers."""
_ROD = "site rod"
_MARK = "SILL"
_FALL = Fraction(1, 2)
_FALLS = 400
"""Points after which the border begins again at the height of its first: no rod is as long as fifty thousand."""
_LOWER = (0, 1, -1, 1, 0, -1, 0)
_TOLERANCE = Tolerance(inches(Fraction(1, 8)), inches(Fraction(1, 8)))
_HEAD = f"""job: Tillworth Row, long border
units: in
rods: {{{_ROD}: {{kind: standard, graduation: 1/16 in}}}}
benchmarks: {{{_MARK}: {{elevation: 0, what: sill of the garden room}}}}
build-ups: {{border: [{{paver: 2 3/8 in}}, {{bedding: 1 in}}, {{base: 6 in}}]}}
tolerances: {{subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}}
rechecks: {{readings: 999, minutes: 999}}
areas:
"""


@dataclass(frozen=True)
class Job(Site):
    """A job whose points stand in lists; `falls` are the inches by which each lies below the mark."""

    falls: tuple[Fraction, ...]


def listed_border(folder: Path, points: int, lists: int = 1, more: str = "") -> Job:
    """A job with so many points in lists beside it, an area for each list, and nothing recorded yet."""
    falls = [index % _FALLS * _FALL for index in range(points)]
    return _job(folder, falls, ["name,elevation"], [f"{-float(fall):g}" for fall in falls], lists, more)


def paved_court(folder: Path, side: int) -> Job:
    """A job with a square of so many points each way, a foot apart and with all their layers, in a list beside it."""
    falls = [index // side * Fraction(1, 4) for index in range(side * side)]
    places = [f"{12 * (index % side)},{12 * (index // side)},{-float(fall):g}" for index, fall in enumerate(falls)]
    return _job(folder, falls, ["name,x,y,elevation"], places, 1, LAYERED)


def _job(folder: Path, falls: list[Fraction], head: list[str], cells: list[str], lists: int, more: str) -> Job:
    names = [f"P{number:03}" for number in range(1, len(falls) + 1)]
    lines = [f"{name},{cell}" for name, cell in zip(names, cells, strict=True)]
    folder.mkdir(parents=True)
    each = -(-len(lines) // lists)
    for number in range(lists):
        text = "\n".join([*head, *lines[number * each : (number + 1) * each], ""])
        (folder / f"border{number}.csv").write_text(text, encoding="utf-8")
    areas = (f"  border {number}:\n    points: border{number}.csv\n{more}" for number in range(lists))
    (folder / PLAN_NAME).write_text(_HEAD + "".join(areas), encoding="utf-8")
    rods = tuple(typed_size(_rod(index, fall, int(BACKSIGHT))) for index, fall in enumerate(falls))
    return Job(folder, tuple(names), rods, tuple(falls))


def worked_border(folder: Path, points: int, entries: int) -> Job:
    """The same after so many entries, ready for the next reading; a copy of the journal is kept already."""
    job = listed_border(folder, points)
    write_journal(job, entries)
    return job


def write_journal(job: Job, entries: int, per_day: int = PER_DAY) -> None:
    """Makes the journal of that job, and the copy beside it that every start looks for."""
    create(job.folder / JOURNAL_NAME, rows(drafts(job, entries, per_day)))
    keep_copy(job.folder / JOURNAL_NAME)


def rows(all_drafts: Iterator[Draft]) -> Iterator[Row]:
    """The drafts as the journal stores them, each tied to the one before it."""
    previous = START
    for seq, draft in enumerate(all_drafts, 1):
        row = to_row(draft, seq, previous)
        previous = row[-1]
        yield row


def drafts(job: Job, entries: int, per_day: int = PER_DAY) -> Iterator[Draft]:
    """What a crew keyed in, up to this moment: the plan, years of work, and an instrument that stands today."""
    if entries < FEWEST:
        raise ValueError(f"a journal ready for work has {FEWEST} entries at least")
    loaded = load_plan(job.folder / PLAN_NAME)
    crew = _Crew(job, loaded.digest, entries, per_day)
    yield crew.draft(PlanRevised(loaded.digest, loaded.text, loaded.files), "")
    for _, draft in zip(range(entries - 6), crew.works(), strict=False):
        yield draft
    # Signed for tomorrow as well: nothing here shall depend on midnight not coming.
    yield crew.draft(CautionsRead(CAUTIONS), "")
    tomorrow = crew.draft(CautionsRead(CAUTIONS), "")
    yield dataclasses.replace(tomorrow, at=tomorrow.at + timedelta(days=1))
    yield from crew.stands(int(BACKSIGHT))
    yield crew.reads(len(job.points) - 1)


@dataclass
class _Crew:
    """Reads the points behind the unread ones over and over, with all that belongs to it."""

    job: Job
    plan: str
    entries: int
    per_day: int = PER_DAY

    def __post_init__(self) -> None:
        self._ids = Ids()
        self._window = self._ids()
        self._now = datetime.now(UTC)
        self._made = 0
        self._setup = ""
        self._backsight = int(BACKSIGHT)

    def works(self) -> Iterator[Draft]:
        """Everything but the end, without one."""
        first = UNREAD if len(self.job.points) >= 2 * UNREAD else len(self.job.points) // 2
        places = self._round(first)
        while True:
            yield self.draft(CautionsRead(CAUTIONS), "")
            yield self.draft(DayDescribed("dry, 12 °C", "RK, ML"), "dry, 12 °C; RK, ML")
            for stand in range(3):
                yield from self.stands(46 + (self._made + stand) % 8)
                for reading in range(self.per_day // 3 - 8):
                    yield from self._one_reading(next(places), reading)
            yield self.draft(Note(None, "covered for the night"), "covered for the night")

    def _round(self, first: int) -> Iterator[int]:
        for each in count():
            yield first + each % (len(self.job.points) - first)

    def _one_reading(self, point: int, number: int) -> Iterator[Draft]:
        """A reading; now and then it is struck and taken again, or put right, or the mark is looked at before it."""
        if number % 50 == 49:
            look = Rechecked(self._setup, _MARK, inches(self._backsight), ZERO, good=True)
            yield self.draft(look, f"{_MARK}={self._backsight}")
        read = self.reads(point)
        yield read
        if number % 64 == 20:
            yield self.draft(Void("the rod stood on a stone"), "the rod stood on a stone", read.id)
            yield self.reads(point)
        elif number % 64 == 50:
            fact, typed = self._reading(point, Fraction(1, 16))
            yield self.draft(fact, typed, read.id)

    def stands(self, backsight: int) -> Iterator[Draft]:
        """The instrument is moved and stood again."""
        self._backsight = backsight
        yield self.draft(InstrumentMoved("the day's next place"), "the day's next place")
        sight = Backsight(_MARK, inches(backsight), Elevation(ZERO.metres))
        stood = self.draft(SetupMade(_ROD, (sight,)), f"{_MARK}={backsight}")
        self._setup = stood.id
        yield stood

    def reads(self, point: int) -> Draft:
        """The rod is read at that point."""
        return self.draft(*self._reading(point))

    def _reading(self, point: int, more: Fraction = Fraction(0)) -> tuple[Reading, str]:
        lower = point % len(_LOWER)
        rod, judged, typed = _judged(lower, self.job.falls[point], self._backsight, more)
        return Reading("border 0", self.job.points[point], "finish", self._setup, rod, judged), typed

    def draft(self, fact: Fact, typed: str, replaces: str | None = None) -> Draft:
        """That fact in its time: so many a day, the last one now."""
        self._made += 1
        days, late = divmod(self.entries - self._made, self.per_day)
        return Draft(
            id=self._ids(),
            laptop="bench",
            window=self._window,
            by="RK",
            typed=typed,
            at=self._now - timedelta(days=days, seconds=_DAY * late / self.per_day),
            offset=0,
            version=__version__,
            plan=self.plan,
            fact=fact,
            replaces=replaces,
        )


def next_readings(job: Job, setup: str, plan: str) -> Iterator[Draft]:
    """Readings from a setup that stands, along the border and round again."""
    crew = _Crew(job, plan, 0)
    crew._setup = setup
    while True:
        yield from map(crew.reads, range(len(job.points)))


def _rod(point: int, fall: Fraction, backsight: int) -> Fraction:
    """Inches the rod reads there."""
    return backsight + fall + Fraction(_LOWER[point % len(_LOWER)], 16)


@cache
def _judged(point: int, fall: Fraction, backsight: int, more: Fraction) -> tuple[Length, Judged, str]:
    size = _rod(point, fall, backsight) + more
    rod, wanted = inches(size), Elevation(-inches(fall).metres)
    found = Elevation(inches(backsight).metres).minus(rod)
    word = judge(found, wanted, _TOLERANCE).word
    return rod, Judged(found, wanted, _TOLERANCE.high, _TOLERANCE.low, word), typed_size(size)
