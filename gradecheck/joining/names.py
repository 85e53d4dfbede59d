"""Names made on site, told apart by the laptop that made them: two spots called TP1 stay two."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from gradecheck.joining.history import History
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

LONG = 12
"""A laptop's id that is longer is random, and its beginning does."""
ENOUGH = 6


def called(laptop: str) -> str:
    """What a laptop is called in the names of its marks."""
    laptop = "".join(filter(str.isprintable, laptop)).strip() or "unnamed"
    return laptop if len(laptop) <= LONG else f"laptop {laptop[:ENOUGH]}"


@dataclass(frozen=True, slots=True)
class _Made:
    """A mark or point made on site: by which entry, its whole name, and whether before the chains parted."""

    entry: Entry
    whole: str
    common: bool


class Names:
    """The marks and points made so far, each under its whole name; entries are taken in order.

    What was made before the chains parted has its plain name for all. A mark made since is called by its laptop too,
    and so is a point that another laptop added otherwise under the same name. A plain name means what was made on
    the same chain before.
    """

    def __init__(self, history: History, entries: Iterable[Entry], own: str) -> None:
        """`entries` are looked through for points added twice; `own` is the last one of this laptop's own chain.

        A laptop that wrote nothing since it was copied goes on from there, though no entry shows it yet.
        """
        self._history = history
        self._own = own
        self._made: dict[str, list[_Made]] = {}
        self._whole: dict[str, _Made] = {}
        added: dict[str, set[object]] = {}
        for entry in entries:
            if isinstance(fact := entry.fact, PointAdded):
                added.setdefault(fact.point.casefold(), set()).add((fact.area.casefold(), fact.finish))
        self._contested = {name for name, ways in added.items() if len(ways) > 1}

    def take(self, entry: Entry) -> Entry:
        """The entry with whole names in its fact. Of what it made itself the name is remembered."""
        fact = self._spelt(entry, entry.fact)
        if isinstance(fact, MarkMade):
            fact = replace(fact, mark=self._make(entry, fact.mark, apart=True))
        elif isinstance(fact, PointAdded):
            apart = fact.point.casefold() in self._contested
            fact = replace(fact, point=self._make(entry, fact.point, apart=apart))
        return entry if fact is entry.fact else replace(entry, fact=fact)

    def _make(self, entry: Entry, name: str, *, apart: bool) -> str:
        history, whole = self._history, name
        common = all(history.on_line(end, entry.hash) for end in (*history.ends, self._own) if end in history.rank)
        before = self._known(entry, name)
        if before is not None and history.on_line(entry.hash, before.entry.hash) and (common or not before.common):
            whole = before.whole  # made anew, as the same laptop may
        elif apart and not common:
            whole = f"{name} of {called(entry.laptop)}"
            if whole.casefold() in self._whole:
                # The disk of a laptop was copied, or an older copy put back: its name alone does not tell.
                whole = f"{whole} ({history.first_of_branch(entry.hash)[:4]})"
        made = _Made(entry, whole, common)
        self._made.setdefault(name.casefold(), []).append(made)
        self._whole.setdefault(whole.casefold(), made)
        return whole

    def _known(self, entry: Entry, name: str) -> _Made | None:
        """What was made under that name on the entry's own chain, or has it as its whole name."""
        for made in reversed(self._made.get(name.casefold(), ())):
            if self._history.on_line(entry.hash, made.entry.hash):
                return made
        return self._whole.get(name.casefold())

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
