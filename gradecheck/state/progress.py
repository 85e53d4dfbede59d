"""How far a job is, as one laptop knows it: the row that a board shows. A cache of what was counted, no evidence."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from gradecheck.journal.facts import Head
from gradecheck.journal.stamps import on_site
from gradecheck.state.tally import StageCount


class Stamp(NamedTuple):
    """When something was recorded, by whom and on which laptop.

    `at` is UTC as the log writes it, `offset` the minutes that the clock on site is ahead of that. `laptop` is what
    that is called, empty in a job of one laptop.
    """

    at: str
    offset: int
    by: str
    laptop: str = ""

    @property
    def on_site(self) -> datetime:
        """The time by the clock on site. Raises ValueError where it is no time."""
        return on_site(datetime.fromisoformat(self.at), self.offset)


class StageProgress(NamedTuple):
    """One stage of an area; its last reading that counts was recorded then, `at` is empty where it is not begun.

    Flat, since a board reads thousands of them; `count` and `last` are the same put together.
    """

    area: str
    stage: str
    points: int
    on_grade: int
    out: int
    doubt: int
    unread: int
    at: str
    offset: int
    by: str
    laptop: str

    @property
    def is_begun(self) -> bool:
        """Whether anything was read there."""
        return bool(self.at)

    @property
    def counts(self) -> StageCount:
        """The counts."""
        return StageCount(self.points, self.on_grade, self.out, self.doubt, self.unread)

    @property
    def last(self) -> Stamp | None:
        """The last reading there that counts."""
        return Stamp(self.at, self.offset, self.by, self.laptop) if self.at else None


@dataclass(frozen=True, slots=True)
class SetupStands:
    """A setup that may be read from: its first mark, when it was made, when it was last held against a mark.

    Times are as in `Stamp`. `disagrees` is by how much its marks do, as ``7/16 in``; empty where they agree.
    """

    mark: str
    at: str
    looked: str
    offset: int
    disagrees: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """A job by the entries that one laptop holds of it, its own and all others'."""

    name: str
    """What the plan calls the job."""
    plan: str
    """The hash of the plan that it was judged by."""
    laptop: str
    """Who counted: the laptop's name and id, as in its entries."""
    heads: tuple[Head, ...]
    """The last entry of each chain that it was counted from."""
    entries: int
    """How many entries it was counted from."""
    last: Stamp | None
    """The last of them; None where nothing is recorded yet."""
    doubt: int
    """Readings in doubt in the whole job, those on strings too."""
    setup: SetupStands | None
    """The setup of the laptop that counted."""
    stages: tuple[StageProgress, ...]
    """Every stage of every area, in the plan's order."""

    @property
    def begun(self) -> tuple[StageProgress, ...]:
        """The stages that were begun and are not all on grade."""
        return tuple(each for each in self.stages if each.is_begun and each.counts.left)

    @property
    def done(self) -> int:
        """How many stages were begun and are all on grade."""
        return sum(1 for each in self.stages if each.is_begun and not each.counts.left)

    @property
    def untouched(self) -> int:
        """How many stages were not begun."""
        return sum(1 for each in self.stages if not each.is_begun)
