"""One day out of the journal, for the daily report: its entries in words, and which entry stands in which place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from gradecheck.catalogue import _, count
from gradecheck.journal.facts import Entry, Fact, Reading, ToleranceChanged, Void
from gradecheck.journal.stamps import day_of, taken_at
from gradecheck.journal.store import LogLine
from gradecheck.measure.quantities import Length
from gradecheck.report.log import LogRow, log_row
from gradecheck.state.state import State


@dataclass(frozen=True, slots=True)
class PrintedLength:
    """A length as it is printed, and the length itself for other programs; None where there is nothing to print."""

    text: str = ""
    length: Length | None = None


@dataclass(frozen=True, slots=True)
class Noted:
    """Something recorded, in words, with the number of its entry, when it was and whose it is.

    `when` is the time; the date stands before it where it was another day.
    """

    seq: int
    when: str
    by: str
    kind: str
    what: str
    why: str = ""


class DayBook:
    """The whole journal's lines, seen from one day by the clock on site. Asking changes nothing.

    Without a day it is that of the whole job: all of it is of the day then.
    """

    def __init__(self, state: State, lines: Sequence[LogLine], day: date | None) -> None:
        self.state = state
        self.lines = lines
        self.day = day.isoformat() if day is not None else None
        self.of_day = [line for line in lines if self.is_of(line.entry)]
        self._by_id = {line.entry.id: line for line in lines}
        self._by_seq = {line.entry.seq: line for line in lines}
        self._tolerances = {
            (fact.area, fact.stage): line.entry.seq
            for line in lines
            if line.replaced_by is None and isinstance(fact := line.entry.fact, ToleranceChanged)
        }
        self._current_numbers = {
            (line.first or line.entry).id: line.entry.seq for line in lines if line.replaced_by is None
        }

    def entry(self, entry_id: str) -> Entry | None:
        """The entry with that id."""
        line = self._by_id.get(entry_id)
        return line.entry if line else None

    def current_number(self, place: str) -> int:
        """The number of the entry that stands now in the place of the entry with that id."""
        return self._current_numbers.get(place, 0)

    def line(self, seq: int) -> LogLine:
        """The line of the entry with that number; raises KeyError."""
        return self._by_seq[seq]

    def tolerance_changed(self, area: str, stage: str) -> int:
        """The number of the entry that changed a stage's tolerance last, 0 where the plan's holds."""
        return self._tolerances.get((area, stage), 0)

    def counting(self, kind: type[Fact] | tuple[type[Fact], ...]) -> Iterator[LogLine]:
        """The lines of those kinds that count and whose place is on the day, corrected later or not."""
        for line in self.lines:
            if (
                line.replaced_by is None
                and isinstance(line.entry.fact, kind)
                and self.is_of(line.first or line.entry)
            ):
                yield line

    def is_of(self, entry: Entry) -> bool:
        """Whether the entry was made on the day, or is a reading of the day that was entered later."""
        if self.day is None or day_of(entry.at, entry.offset) == self.day:
            return True
        taken = taken_at(entry.fact.late) if isinstance(entry.fact, Reading) and entry.fact.late else None
        return taken is not None and day_of(*taken) == self.day

    def noted(self, kind: type[Fact] | tuple[type[Fact], ...]) -> tuple[Noted, ...]:
        """What counts of those kinds, as the log tells it."""
        return tuple(self.as_noted(line) for line in self.counting(kind))

    def as_noted(self, line: LogLine, why: str = "") -> Noted:
        """One line as the log tells it."""
        row = log_row(self.state, line)
        text = ", ".join(part for part in (row.subject, row.typed, row.then) if part)
        return Noted(row.seq, self.when(row), row.who, row.done, text, why)

    def struck_or_corrected(self) -> tuple[Noted, ...]:
        """What was struck or corrected on the day, and what of the day was later; each with the reason given."""
        found = []
        for line in self.lines:
            before = self.entry(line.entry.replaces) if line.entry.replaces is not None else None
            if before is None or not (self.is_of(line.entry) or self.is_of(line.first or before)):
                continue
            old, new = log_row(self.state, self._by_id[before.id]), log_row(self.state, line)
            first = _("no. {seq} {done} {subject}", seq=old.seq, done=old.done, subject=old.subject).rstrip()
            was = ", ".join(part for part in (first, old.typed, old.then) if part)
            fact = line.entry.fact
            if isinstance(fact, Void):
                kind, why = _("struck"), fact.why
            else:
                kind, why = _("corrected"), ", ".join(part for part in (_("now reads"), new.typed, new.then) if part)
            found.append(Noted(new.seq, self.when(new), new.who, kind, was, why))
        return tuple(found)

    def people(self) -> tuple[str, ...]:
        """Who recorded on the day, and how many entries each."""
        counts: dict[str, int] = {}
        for line in self.of_day:
            who = self.state.who(line.entry.seq, line.entry.by)
            counts[who] = counts.get(who, 0) + 1
        return tuple(f"{by} ({count(entries, 'entry', 'entries')})" for by, entries in counts.items())

    def when(self, row: LogRow) -> str:
        """When that was, with the date where it was another day."""
        return row.time if row.day == self.day else f"{row.day} {row.time}"
