"""What was recorded beside the levels: taped lengths, steps gauged, stages signed off, the day itself."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar, cast

from gradecheck.journal.facts import DayDescribed, Entry, Gauged, Note, Rehearsed, SignedOff, Taped
from gradecheck.plan.model import Area

T = TypeVar("T", covariant=True)
Recorded = Taped | Gauged | SignedOff | DayDescribed | Rehearsed | Note
F = TypeVar("F", Taped, Gauged, SignedOff, DayDescribed, Rehearsed, Note)


@dataclass(frozen=True, slots=True)
class RecordedFact(Generic[T]):
    """A fact that counts, with its place in the journal, when it was recorded and by whom."""

    seq: int
    id: str
    at: datetime
    offset: int
    by: str
    fact: T


class Record:
    """The facts of these kinds that count. Only `add` and `remove` change them."""

    def __init__(self) -> None:
        self._kept: dict[int, RecordedFact[Recorded]] = {}

    def copied(self) -> Record:
        """A copy that takes further facts while this one stays as it is."""
        copied = Record()
        copied._kept = dict(self._kept)
        return copied

    def add(self, first: Entry, last: Entry, fact: Recorded) -> None:
        """Adds the fact, in the place of the first entry."""
        self._kept[first.seq] = RecordedFact(first.seq, first.id, first.at, first.offset, last.by, fact)

    def remove(self, first: Entry) -> None:
        """Removes the fact in the place of that entry."""
        self._kept.pop(first.seq, None)

    def _of(self, kind: type[F]) -> list[RecordedFact[F]]:
        kept = (self._kept[seq] for seq in sorted(self._kept))
        return [cast(RecordedFact[F], each) for each in kept if isinstance(each.fact, kind)]

    def taped(self, layout: str) -> dict[frozenset[str], RecordedFact[Taped]]:
        """The last tape between each two corners of a layout check."""
        tapes = (kept for kept in self._of(Taped) if kept.fact.layout == layout)
        return {frozenset((kept.fact.start, kept.fact.end)): kept for kept in tapes}

    def gauged(self, area: str) -> list[RecordedFact[Gauged]]:
        """The steps gauged in an area, in order."""
        return [kept for kept in self._of(Gauged) if kept.fact.area == area]

    def signed(self, area: str, stage: str) -> RecordedFact[SignedOff] | None:
        """The last sign-off of a stage, None where there is none."""
        signed = [kept for kept in self._of(SignedOff) if (kept.fact.area, kept.fact.stage) == (area, stage)]
        return signed[-1] if signed else None

    def on_layers(self, area: str) -> list[RecordedFact[Note]]:
        """What was noted of the area's layers: compaction, undercuts, hold points gone past, in order."""
        return [kept for kept in self._of(Note) if kept.fact.area == area]

    def gone_past(self, area: str, stage: str) -> RecordedFact[Note] | None:
        """The last time that a hold point was gone past without a signature; None where it was not."""
        passed = [kept for kept in self.on_layers(area) if kept.fact.past_hold == stage]
        return passed[-1] if passed else None

    def is_open(self, area: str, hold: str) -> bool:
        """Whether a hold point is neither signed off nor gone past."""
        return self.signed(area, hold) is None and self.gone_past(area, hold) is None

    def hold_before(self, area: Area, stage: str, past: Collection[str] = ()) -> str | None:
        """The lowest hold point below that stage that nobody signed off nor went past; None where none is in the way.

        A hold point takes readings above it only once it is signed off. `past` are those gone past in what is about
        to be recorded.
        """
        if not area.holds or stage not in area.stages:
            return None
        below = area.stages[: area.stages.index(stage)]
        held = (each for each in area.holds if each in below and each not in past and self.is_open(area.name, each))
        return next(held, None)

    @property
    def days(self) -> list[RecordedFact[DayDescribed]]:
        """What was said of days, in order."""
        return self._of(DayDescribed)

    @property
    def rehearsal(self) -> bool:
        """Whether the journal is a rehearsal."""
        return bool(self._of(Rehearsed))
