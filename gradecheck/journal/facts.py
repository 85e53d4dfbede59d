"""The facts a journal can hold: what a person did or saw, in the past tense, with the exact values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gradecheck.checks.verdict import Word
from gradecheck.measure.quantities import Elevation, Length


@dataclass(frozen=True, slots=True)
class PlanRevised:
    """From here on the job is judged by this text of its job file."""

    digest: str
    text: str


@dataclass(frozen=True, slots=True)
class CautionsRead:
    """The day's cautions were shown, and this person said they were read."""

    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Backsight:
    """A rod reading on a mark; `elevation` is what the mark was taken to be at the time, as evidence."""

    mark: str
    rod: Length
    elevation: Elevation


@dataclass(frozen=True, slots=True)
class InstrumentSet:
    """The instrument was stood up and its plane fixed by these backsights, read on this rod."""

    rod: str
    backsights: tuple[Backsight, ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """What a reading was held against when it was taken, as evidence; today's judgement is computed anew."""

    found: Elevation
    wanted: Elevation
    high: Length
    low: Length
    word: Word


@dataclass(frozen=True, slots=True)
class Reading:
    """The rod was read at a point, at a stage, from the set-up with that id."""

    area: str
    point: str
    stage: str
    setup: str
    rod: Length
    judged: Judged


@dataclass(frozen=True, slots=True)
class Note:
    """Words worth keeping; about an area where one is named."""

    area: str | None
    text: str


@dataclass(frozen=True, slots=True)
class Void:
    """The entry that this one replaces no longer counts; it stays in the journal, and so does the reason."""

    why: str


Fact = PlanRevised | CautionsRead | InstrumentSet | Reading | Note | Void

KINDS: dict[str, type[Fact]] = {
    "plan": PlanRevised,
    "cautions": CautionsRead,
    "set-up": InstrumentSet,
    "reading": Reading,
    "note": Note,
    "void": Void,
}
"""The name each kind of fact goes by in the file; names once used are never used for anything else."""
KIND_OF: dict[type[Fact], str] = {kind: name for name, kind in KINDS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An entry on its way to the journal. Its id is given before the first try, so a retry can't double it."""

    id: str
    laptop: str
    window: str
    by: str
    typed: str
    at: datetime
    offset: int
    version: str
    plan: str
    fact: Fact
    replaces: str | None = None

    @property
    def kind(self) -> str:
        """The name of the fact's kind."""
        return KIND_OF[type(self.fact)]

    @property
    def area(self) -> str | None:
        """The area the fact is about, if it is about one."""
        return self.fact.area if isinstance(self.fact, Reading | Note) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Draft):
    """An entry in the journal: `seq` is its place, which is the order of truth; `hash` ties it to all before.

    `at` is in UTC and `offset` the minutes by which local clocks were ahead of it; `typed` is the text exactly
    as it was keyed; `replaces` is the id of the entry whose place this one takes.
    """

    seq: int
    hash: str
