"""Names made on site, told apart by the laptop that made them: two spots called TP1 stay two."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from gradecheck.catalogue import _
from gradecheck.joining.history import START, History
from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    Entry,
    Fact,
    MarkGiven,
    MarkMade,
    PointAdded,
    Reading,
    Rechecked,
    SetupMade,
    SignedOff,
    TargetChanged,
)

LONG, LONGEST = 12, 20
"""A laptop's id that is longer than the one is random, and its beginning does; no name is longer than the other."""
ENOUGH = 6


def called(laptop: str) -> str:
    """What a laptop is called: the name it was given, which stands before its id, else what that begins with."""
    name, named, _unused = laptop.partition("/")
    told = "".join(filter(str.isprintable, name)).strip()
    if named and told:
        return told[:LONGEST].strip()
    told = told or "unnamed"
    return told if len(told) <= LONG else _("laptop {told}", told=told[:ENOUGH])


def identity(laptop: str) -> str:
    """Which laptop it is, whatever it is called by now."""
    name, _, found = laptop.partition("/")
    return found or name


@dataclass(frozen=True, slots=True)
class _Made:
    """A mark or point made on site: by which entry, its names, and whether before the chains parted.

    `base` is the whole name that it has where nobody else's is alike; `of_all` are points, which others may mean by
    their plain name.
    """

    entry: Entry
    base: str
    whole: str
    common: bool
    of_all: bool


class Names:
    """The marks and points made so far, each under its whole name; entries are taken in order.

    What was made before the chains parted has its plain name for all. A mark made since is called by its laptop too,
    and so is a point that another laptop added otherwise under the same name. A plain name means what was made on
    the same chain before, and a whole one what has it among all that the author of an entry knew.
    """

    def __init__(self, history: History, entries: Iterable[Entry], own: str) -> None:
        """`entries` are looked through for points added twice; `own` is the last one of this laptop's own chain.

        A laptop that wrote nothing since it was copied goes on from there, though no entry shows it yet; one that
        wrote nothing at all begins a chain of its own.
        """
        self._history = history
        self._own = own
        self._made: dict[str, list[_Made]] = {}
        self._based: dict[str, list[_Made]] = {}
        self._full: dict[str, _Made] = {}
        added: dict[str, set[object]] = {}
        for entry in entries:
            if isinstance(fact := entry.fact, PointAdded):
                added.setdefault(fact.point.casefold(), set()).add((fact.area.casefold(), fact.finish))
        self._contested = {name for name, ways in added.items() if len(ways) > 1}

    def take(self, entry: Entry, first: Fact | None = None) -> Entry:
        """The entry with whole names in its fact. Of what it made itself the name is remembered.

        `first` is the fact that is first in the place of an entry that replaces one: a correction speaks of the same
        marks and points, whoever made it and whatever is called so by now.
        """
        if first is not None and (corrected := _named_as(first, entry.fact)) is not None:
            return replace(entry, fact=corrected)
        fact = self._spelt(entry, entry.fact)
        if isinstance(fact, MarkMade):
            fact = replace(fact, mark=self._make(entry, fact.mark, apart=True, of_all=False))
        elif isinstance(fact, PointAdded):
            apart = fact.point.casefold() in self._contested
            fact = replace(fact, point=self._make(entry, fact.point, apart=apart, of_all=True))
        return entry if fact is entry.fact else replace(entry, fact=fact)

    def _make(self, entry: Entry, name: str, *, apart: bool, of_all: bool) -> str:
        history, base, whole = self._history, name, name
        ends = (end for end in (*history.ends, self._own) if end == START or end in history.rank)
        common = all(history.on_line(end, entry.hash) for end in ends)
        before = self._known(entry, name)
        if before is not None and history.same_piece(entry.hash, before.entry.hash) and (common or not before.common):
            base, whole = before.base, before.whole  # made anew, as the same laptop may
        elif apart and not common:
            base = whole = f"{name} of {called(entry.laptop)}"
            # Two laptops may have one name, a disk be copied, an older copy put back: then the name does not tell.
            full = f"{base} ({entry.hash[:ENOUGH]})"
            if base.casefold() in self._based:
                whole = full
            self._full.setdefault(full.casefold(), _Made(entry, base, whole, common, of_all))
        made = _Made(entry, base, whole, common, of_all)
        self._made.setdefault(name.casefold(), []).append(made)
        self._based.setdefault(base.casefold(), []).append(made)
        return whole

    def _known(self, entry: Entry, name: str) -> _Made | None:
        """What was made under that name on the entry's own chain, or has it as its whole name for the author."""
        history, alike = self._history, self._made.get(name.casefold(), [])
        for made in reversed(alike):
            if history.on_line(entry.hash, made.entry.hash):
                return made
        full = self._full.get(name.casefold())
        if full is not None and history.knew(entry.hash, full.entry.hash):
            return full
        based = [each for each in self._based.get(name.casefold(), ()) if history.knew(entry.hash, each.entry.hash)]
        if based:
            return self._last_of_first(entry, based)
        # The point of another laptop had its plain name for all until somebody added one otherwise.
        return next((each for each in alike if each.of_all and history.knew(entry.hash, each.entry.hash)), None)

    def _last_of_first(self, entry: Entry, based: list[_Made]) -> _Made:
        """Of several that have one name for the author of an entry: the first, as it was made anew on its chain.

        What lies behind a fork that the author knew of is another one, which had a longer name.
        """
        history, found = self._history, based[0]
        for each in based[1:]:
            start, end = found.entry.hash, each.entry.hash
            if history.on_line(end, start) and not history.knew_parted(entry.hash, start, end):
                found = each
        return found

    def own(self, digest: str, name: str) -> str:
        """The whole name of what was made under that plain name on the chain that ends there; else as it is."""
        for made in reversed(self._made.get(name.casefold(), ())):
            if self._history.on_line(digest, made.entry.hash):
                return made.whole
        return name

    def name(self, entry: Entry, name: str) -> str:
        """What the author of an entry meant by a name."""
        made = self._known(entry, name)
        return made.whole if made is not None else name

    def _spelt(self, entry: Entry, fact: Fact) -> Fact:
        if not self._made:
            return fact

        def name(text: str) -> str:
            return self.name(entry, text)

        def sight(each: Backsight) -> Backsight:
            return replace(each, mark=name(each.mark))

        match fact:
            case Reading():
                return replace(fact, point=name(fact.point))
            case TargetChanged():
                return replace(fact, point=name(fact.point))
            case Rechecked() | MarkGiven():
                return replace(fact, mark=name(fact.mark))
            case BacksightTaken():
                return replace(fact, sight=sight(fact.sight))
            case SetupMade():
                return replace(fact, backsights=tuple(map(sight, fact.backsights)))
            case SignedOff():
                return replace(fact, accepted=tuple(map(name, fact.accepted)), unread=tuple(map(name, fact.unread)))
            case PointAdded():
                return replace(fact, start=name(fact.start) if fact.start else "")
            case _:
                return fact


def _named_as(first: Fact, fact: Fact) -> Fact | None:
    """A fact with the names of the one it corrects; None where it is about something else."""
    match first, fact:
        case Reading(), Reading() if _is_alike(fact.point, first.point):
            return replace(fact, point=first.point)
        case TargetChanged(), TargetChanged() if _is_alike(fact.point, first.point):
            return replace(fact, point=first.point)
        case PointAdded(), PointAdded() if _is_alike(fact.point, first.point):
            return replace(fact, point=first.point, start=first.start)
        case MarkMade(), MarkMade() if _is_alike(fact.mark, first.mark):
            return replace(fact, mark=first.mark)
        case MarkGiven(), MarkGiven() if _is_alike(fact.mark, first.mark):
            return replace(fact, mark=first.mark)
        case Rechecked(), Rechecked() if _is_alike(fact.mark, first.mark):
            return replace(fact, mark=first.mark)
        case BacksightTaken(), BacksightTaken() if _is_alike(fact.sight.mark, first.sight.mark):
            return replace(fact, sight=replace(fact.sight, mark=first.sight.mark))
        case SetupMade(), SetupMade() if len(first.backsights) == len(fact.backsights):
            pairs = list(zip(first.backsights, fact.backsights, strict=True))
            if all(_is_alike(now.mark, then.mark) for then, now in pairs):
                return replace(fact, backsights=tuple(replace(now, mark=then.mark) for then, now in pairs))
    return None


def _is_alike(one: str, other: str) -> bool:
    """Whether a name is the other one, or that with or without who made it."""
    short, long = sorted((one.casefold(), other.casefold()), key=len)
    return short == long or long.startswith((f"{short} of ", f"{short} ("))
