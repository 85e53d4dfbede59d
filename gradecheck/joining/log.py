"""The log of a job from the entries of several laptops: one order, one entry that counts in each place.

Two corrections or strikes of one entry whose authors did not know each other are both kept. The first in order
counts, and the conflict is open until someone who knew both changes the entry again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from gradecheck.joining.history import START, ChainLink, History
from gradecheck.joining.names import Names, called
from gradecheck.journal.facts import (
    BacksightTaken,
    Entry,
    Fact,
    Head,
    InstrumentMoved,
    MarkGiven,
    MarkMade,
    PlanRevised,
    PointAdded,
    Reading,
    Rechecked,
    SetupMade,
    TargetChanged,
    ToleranceChanged,
    Void,
)


@dataclass(frozen=True, slots=True)
class LinkedRow:
    """An entry as it stands in its own chain, with the hash of the one before it there."""

    entry: Entry
    previous: str

    @property
    def link(self) -> ChainLink:
        """Where it belongs."""
        entry = self.entry
        knows = tuple(head.hash for head in entry.knows)
        return ChainLink(entry.hash, self.previous, entry.laptop, entry.seq, entry.at, knows)


@dataclass(frozen=True, slots=True)
class InPlace:
    """The `first` entry of a place and the one that counts there; `against` are those it is in conflict with."""

    first: Entry
    last: Entry
    against: tuple[Entry, ...] = ()


class JoinedLog:
    """All entries there are. Those that count have their place in the one order as `seq`, and whole names."""

    def __init__(self, rows: Iterable[LinkedRow], own: str = START) -> None:
        """`own` is the hash of the last entry of the laptop's own chain."""
        rows = list(rows)
        found = {row.entry.hash: row.entry for row in rows}
        self.own = own
        self.history = History(row.link for row in rows)
        self.entries: list[Entry] = []
        """Those that count, in order."""
        self.doubles: list[Entry] = []
        """Those whose id another entry has that comes before them: a rescue made them anew, or somebody meddled."""
        self._names = Names(self.history, (found[digest] for digest in self.history.order), own)
        self._known: tuple[list[InPlace], list[InPlace]] | None = None
        self._hashes: dict[str, list[str]] = {}
        self._of_id: dict[str, Entry] = {}
        self._replacing: dict[str, list[Entry]] = {}
        for digest in self.history.order:
            self._add(found[digest])

    def append(self, row: LinkedRow) -> bool:
        """Takes up the next entry of the own chain; False where all is to be worked out anew for it."""
        # A point added may be another one's too: then both get other names.
        if isinstance(row.entry.fact, PointAdded) or not self.history.append(row.link):
            return False
        self.own = row.entry.hash
        self._names.go_on(self.own)
        self._add(row.entry)
        return True

    def _add(self, entry: Entry) -> None:
        self._known = None
        self._hashes.setdefault(entry.id, []).append(entry.hash)
        if entry.id in self._of_id:
            self.doubles.append(entry)
            return
        fact, first = entry.fact, self._corrected(entry)
        if isinstance(first, Reading) and isinstance(fact, Reading):  # it was taken when it was, whoever corrects it
            fact = dataclasses.replace(fact, late=first.late)
        elif isinstance(fact, Reading) and fact.late is not None:
            # Its own chain's number, here its place in the order.
            after = self._place_of(entry.hash, fact.late.after)
            fact = dataclasses.replace(fact, late=dataclasses.replace(fact.late, after=after))
        place = len(self.entries) + 1
        if entry.seq != place or fact is not entry.fact:
            entry = _placed(entry, place, fact)
        entry = self._names.take(entry, first)
        self.entries.append(entry)
        self._of_id[entry.id] = entry
        if entry.replaces is not None:
            self._replacing.setdefault(entry.replaces, []).append(entry)

    def _corrected(self, entry: Entry) -> Fact | None:
        """The fact that is first in the place of an entry that replaces one, as its author knew it."""
        replaced = self.find(entry.replaces) if entry.replaces is not None else None
        first = self.first_of(replaced) if replaced is not None and self.knew(entry, replaced) else None
        return first.fact if first is not None else None

    def _place_of(self, digest: str, number: int) -> int:
        """The place of the entry with that number on the chain of an entry, 0 where there is none."""
        on_chain = (each for each in self.entries if self.history.link(each.hash).number == number)
        return next((each.seq for each in on_chain if self.history.on_line(digest, each.hash)), 0)

    def own_number(self, seq: int) -> int:
        """The number of the last entry of the own chain up to that place, 0 where there is none."""
        own = (each for each in reversed(self.entries[:seq]) if self.is_own(each.seq))
        return next((self.history.link(each.hash).number for each in own), 0)

    def find(self, entry_id: str) -> Entry | None:
        """The entry with that id, None where none counts."""
        return self._of_id.get(entry_id)

    def knew(self, entry: Entry, other: Entry) -> bool:
        """Whether the author of an entry knew the other one, in whichever chain it stands."""
        return any(self.history.knew(entry.hash, each) for each in self._hashes[other.id])

    def successors(self, entry: Entry) -> list[Entry]:
        """The entries that took its place and whose authors knew it, in order."""
        return [each for each in self._replacing.get(entry.id, ()) if self.knew(each, entry)]

    def place(self, first: Entry) -> InPlace:
        """What counts in the place of its first entry."""
        if first.id not in self._replacing:
            return InPlace(first, first)
        todo, ends = [first], list[Entry]()
        while todo:
            entry = todo.pop()
            later = self.successors(entry)
            todo += later
            if not later:
                ends.append(entry)
        left = [each for each in ends if not any(self.knew(other, each) for other in ends if other is not each)]
        counting, *others = sorted(left, key=lambda each: each.seq)
        against = tuple(each for each in others if each.fact != counting.fact and not _both_strike(each, counting))
        return InPlace(first, counting, against)

    def setup_with(self, place: int) -> Entry | None:
        """The setup on the same chain that the backsight at that place went into; None where it went into none."""
        taken = self.place(self.entries[place - 1]).last.fact if 0 < place <= len(self.entries) else None
        for later in self.entries[place:] if isinstance(taken, BacksightTaken) else ():
            if not self.history.on_line(later.hash, self.entries[place - 1].hash):
                continue
            match later.fact:
                case InstrumentMoved() if not isinstance(self.place(later).last.fact, Void):
                    return None
                case SetupMade(backsights=backsights) if later.replaces is None:
                    return later if isinstance(taken, BacksightTaken) and taken.sight in backsights else None
        return None

    def changes_only_its_place(self, entry: Entry) -> bool:
        """Whether an entry just added changes no more than the figure of what it replaces, or strikes that.

        So it is where nothing else was ever said in that place, and nothing but that place hangs on it.
        """
        before = self.find(entry.replaces) if entry.replaces is not None else None
        first = self.first_of(entry)
        if before is None or first is None or self._is_astray(before) or self._is_astray(entry):
            return False
        if any(
            _decides(each) is not None or isinstance(each.fact, PointAdded | MarkGiven) for each in (first, before)
        ):
            return False
        # A struck setup gives the laser back to the one before it, and a move struck brings one back.
        if entry.kind != first.kind and isinstance(first.fact, SetupMade | InstrumentMoved):
            return False
        return self._replacing.get(before.id) == [entry] and self.place(first) == InPlace(first, entry)

    def first_of(self, entry: Entry) -> Entry | None:
        """The first entry of the place that an entry stands in, None where it has none."""
        while entry.replaces is not None:
            before = self.find(entry.replaces)
            if before is None or not self.knew(entry, before):
                return None
            entry = before
        return entry

    def places(self) -> Iterator[InPlace]:
        """Every place, in the order of its first entry."""
        return (self.place(entry) for entry in self.entries if entry.replaces is None)

    # -- what counts

    def counting(self) -> list[InPlace]:
        """What the state is made of: every place but those that lost to another, and those that are astray."""
        return self._counted()[0]

    def _counted(self) -> tuple[list[InPlace], list[InPlace]]:
        """The places that count, and of what is decided for the whole job what is open between several."""
        if self._known is None:
            self._known = self._count()
        return self._known

    def _count(self) -> tuple[list[InPlace], list[InPlace]]:
        found, decided = list[InPlace](), dict[Hashable, list[InPlace]]()
        for place in self.places():
            if self._is_astray(place.last):
                continue
            found.append(place)
            if (key := _decides(place.last)) is not None:
                decided.setdefault(key, []).append(place)
        lost, unsettled = set[str](), list[InPlace]()
        for places in decided.values():
            left = self._left(_without_older_plans(places))
            if len(left) > 1 or isinstance(left[0].last.fact, PlanRevised):
                lost |= {each.first.id for each in places if each is not left[0]}
                unsettled += _disagreeing(left)
        return [each for each in found if each.first.id not in lost], unsettled

    @property
    def conflicts(self) -> list[InPlace]:
        """What two laptops decided otherwise, neither knowing the other: the first counts until someone answers."""
        places = list(self.places())
        found = [*(place for place in places if place.against), *self._of_marks(places), *self._counted()[1]]
        return sorted(found, key=lambda each: each.first.seq)

    def _of_marks(self, places: Iterable[InPlace]) -> list[InPlace]:
        """The marks that two gave otherwise, neither knowing of the other."""
        given: dict[str, list[InPlace]] = {}
        for place in places:
            if isinstance(place.last.fact, MarkGiven):
                given.setdefault(place.last.fact.mark.casefold(), []).append(place)
        return [each for several in given.values() for each in _disagreeing(self._left(several))]

    def given_otherwise(self, counting: Iterable[InPlace]) -> list[tuple[Entry, Entry]]:
        """Each mark that two laptops gave otherwise: the entry that is first in its place, and the one that counts.

        What stands on such a mark is in doubt.
        """
        given = (each for place in self._of_marks(counting) for each in (place.last, *place.against))
        return [(self.first_of(each) or each, each) for each in given]

    def _left(self, places: list[InPlace]) -> list[InPlace]:
        """Those of them that no other one's author knew, in order; a plan that the office numbered comes first."""
        left = [
            each for each in places
            if not any(other is not each and self.knew(other.last, each.last) for other in places)
        ]  # fmt: skip
        return sorted(left, key=lambda each: _number(each) is None)

    def _is_astray(self, entry: Entry) -> bool:
        """Whether it was read from a setup that is not on its own chain."""
        fact = entry.fact
        if isinstance(fact, MarkMade) and fact.reading is not None:
            read = self.find(fact.reading)
            return read is None or not self.knew(entry, read)
        if not isinstance(fact, Reading | MarkMade | Rechecked):
            return False
        hashes = self._hashes.get(fact.setup, ())
        first = self.first_of(entry) or entry
        return not any(self.history.on_line(first.hash, each) for each in hashes)

    @property
    def astray(self) -> list[Entry]:
        """The entries that never count: for what they were read from, or what they replace, their author had none."""
        off = [place.last for place in self.places() if self._is_astray(place.last)]
        return sorted([*off, *self.without_place], key=lambda each: each.seq)

    @property
    def plan(self) -> Entry | None:
        """The plan that was accepted last."""
        plans = [each.last for each in self.counting() if isinstance(each.last.fact, PlanRevised)]
        return plans[-1] if plans else None

    @property
    def last_own(self) -> Entry | None:
        """The last entry of this laptop's own chain."""
        return next((each for each in reversed(self.entries) if self.is_own(each.seq)), None)

    @property
    def last_own_at(self) -> datetime | None:
        """When this laptop recorded last, by its own clock."""
        return self.history.link(self.own).at if self.own in self.history.rank else None

    def own_name(self, name: str) -> str:
        """The whole name of the mark that this laptop made under a plain one: never that of another."""
        return self._names.marks.own(self.own, name)

    def own_plain(self, name: str) -> str | None:
        """The plain name of a mark of this laptop's own, by its whole one; None of any other."""
        return self._names.marks.own_plain(self.own, name)

    def earlier_mark(self, name: str) -> str | None:
        """The whole name of what the chain that made a mark had before under its plain one; None where nothing."""
        return self._names.marks.earlier(name)

    def called(self, seq: int) -> str:
        """What the laptop is called that wrote what stands at that place; empty where nothing does."""
        return called(self.entries[seq - 1].laptop) if 0 < seq <= len(self.entries) else ""

    def is_own(self, seq: int) -> bool:
        """Whether the entry at that place lies on the laptop's own chain, as what is yet to be written does."""
        return seq > len(self.entries) or self.history.on_line(self.own, self.entries[seq - 1].hash)

    def knew_at(self, seq: int, other: int) -> bool:
        """Whether who wrote at that place knew what stands at the other; whoever is yet to write knows all."""
        if not 0 < seq <= len(self.entries) or other < 1:
            return True
        return self.knew(self.entries[seq - 1], self.entries[other - 1])

    def along(self, seq: int, other: int) -> bool:
        """Whether two places lie on one chain; what is yet to be written is on the own one."""
        if not 0 < seq <= len(self.entries):
            return self.is_own(other)
        return self.history.along(self.entries[seq - 1].hash, self.entries[other - 1].hash)

    @property
    def without_place(self) -> list[Entry]:
        """The entries that replace what their author did not know, or what is not there: kept, and never counted."""
        return [each for each in self.entries if each.replaces is not None and self.first_of(each) is None]

    @property
    def heads(self) -> tuple[Head, ...]:
        """What the next entry of the own chain says it knows of others."""
        links = map(self.history.link, self.history.heads(self.own))
        return tuple(Head(link.laptop, link.number, link.hash) for link in links)


def decides(entry: Entry) -> bool:
    """Whether an entry may change more than its own place: it replaces another, or decides for the whole job."""
    return entry.replaces is not None or isinstance(entry.fact, PointAdded | MarkGiven) or _decides(entry) is not None


def _placed(entry: Entry, seq: int, fact: Fact) -> Entry:
    """The entry at that place; field by field, for a join does this for every entry there is."""
    return Entry(
        id=entry.id, laptop=entry.laptop, window=entry.window, by=entry.by, typed=entry.typed, at=entry.at,
        offset=entry.offset, version=entry.version, plan=entry.plan, fact=fact, replaces=entry.replaces,
        clock=entry.clock, knows=entry.knows, seq=seq, hash=entry.hash,
    )  # fmt: skip


def _decides(entry: Entry) -> Hashable:
    """What an entry decides for the whole job, where of several only one may count."""
    match entry.fact:
        case PlanRevised():
            return "plan"
        case TargetChanged(area=area, point=point):
            return "target", area.casefold(), point.casefold()
        case ToleranceChanged(area=area, stage=stage):
            return "tolerance", area.casefold(), stage.casefold()
        case _:
            return None


def _disagreeing(left: list[InPlace]) -> list[InPlace]:
    """The first of several that nobody chose between, against those that say otherwise; nothing where none does."""
    others = tuple(each.last for each in left[1:] if _says(each.last) != _says(left[0].last))
    return [InPlace(left[0].first, left[0].last, others)] if others else []


def _number(place: InPlace) -> int | None:
    """The number that the office gave the plan that counts in a place; None of all else."""
    fact = place.last.fact
    return fact.number if isinstance(fact, PlanRevised) else None


def _without_older_plans(places: list[InPlace]) -> list[InPlace]:
    """The places without the plans that the office has replaced, whenever and by whom they were accepted."""
    newest = max((number for each in places if (number := _number(each)) is not None), default=None)
    return [each for each in places if _number(each) in (None, newest)]


def _says(entry: Entry) -> object:
    """What an entry decides, without the reason."""
    match entry.fact:
        case PlanRevised(digest=digest):
            return digest
        case TargetChanged(finish=finish):
            return finish
        case ToleranceChanged(high=high, low=low):
            return high, low
        case MarkGiven(elevation=elevation, moved=moved):
            return elevation, moved
        case fact:
            return fact


def _both_strike(one: Entry, other: Entry) -> bool:
    return one.kind == other.kind == "void"
