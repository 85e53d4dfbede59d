"""Names made on site, told apart by the laptop that made them: two spots called TP1 stay two."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

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
    name, named, _rest = laptop.partition("/")
    shown = "".join(filter(str.isprintable, name)).strip()
    if named and shown:
        return shown[:LONGEST].strip()
    shown = shown or "unnamed"
    return shown if len(shown) <= LONG else f"laptop {shown[:ENOUGH]}"


def identity(laptop: str) -> str:
    """Which laptop it is, whatever it is called by now."""
    name, _, found = laptop.partition("/")
    return found or name


@dataclass(frozen=True, slots=True)
class _Made:
    """A mark or point made on site: by which entry, its names, and whether before the chains parted.

    `name` is its own one, `plain` that as names are compared, and `before` the last that its chain has under that
    name; `of_all` are points, which others may mean by their plain name.
    """

    entry: Entry
    name: str
    plain: str
    whole: str
    common: bool
    of_all: bool
    before: _Made | None


class _Kind:
    """The marks, or the points, made so far, each under its whole name."""

    def __init__(self, history: History, own: str) -> None:
        self._history = history
        self.own_end = own
        self.made: dict[str, list[_Made]] = {}
        self._based: dict[str, list[_Made]] = {}
        self._full: dict[str, _Made] = {}
        """By the name with its laptop what is told apart by that, and by its full name each of it."""
        self._taken: set[str] = set()
        self._earlier: dict[str, str] = {}

    def make(self, entry: Entry, name: str, *, apart: bool, of_all: bool) -> str:
        """Takes up what an entry made; returns its whole name."""
        history, plain, whole = self._history, name.casefold(), name
        ends = (end for end in (*history.ends, self.own_end) if end == START or end in history.rank)
        common = all(history.on_line(end, entry.hash) for end in ends)
        before, base = self._on_own_line(entry, name), f"{name} of {called(entry.laptop)}"
        if before is not None and self._is_made_anew(entry, before, common=common):
            whole = before.whole
        elif apart and not common:
            # Two laptops may have one name, a disk be copied, an older copy put back: then the name does not tell.
            whole = base if base.casefold() not in self._taken else _full(base, entry)
        made = _Made(entry, name, plain, whole, common, of_all, before)
        self._taken.add(whole.casefold())
        if before is not None and before.whole != whole:
            self._earlier[whole] = before.whole
        self.made.setdefault(plain, []).append(made)
        if apart:  # as others may have known it, common here or not
            self._based.setdefault(base.casefold(), []).append(made)
            self._full.setdefault(_full(base, entry).casefold(), made)
        return whole

    def _is_made_anew(self, entry: Entry, before: _Made, *, common: bool) -> bool:
        """Whether it is the same mark made anew, as the same laptop may: its chain does not part in between.

        It does where this laptop goes on from there, too, though no entry shows that yet.
        """
        history, own = self._history, self.own_end
        if not history.same_piece(entry.hash, before.entry.hash) or (before.common and not common):
            return False
        parts_here = own in history.rank and history.on_line(own, before.entry.hash)
        return not parts_here or history.on_line(own, entry.hash)

    def _on_own_line(self, entry: Entry, name: str) -> _Made | None:
        """What was made last under that plain name on the entry's own chain."""
        alike = reversed(self.made.get(name.casefold(), ()))
        return next((made for made in alike if self._history.on_line(entry.hash, made.entry.hash)), None)

    def known(self, entry: Entry, name: str) -> _Made | None:
        """What was made under that name on the entry's own chain, or had it as its whole name for the author."""
        if (own := self._on_own_line(entry, name)) is not None:
            return own
        history = self._history
        full = self._full.get(name.casefold())
        if full is not None and history.knew(entry.hash, full.entry.hash):
            return self._last_of(entry, full)
        for each in self._based.get(name.casefold(), ()):
            if history.knew(entry.hash, each.entry.hash) and self._was_apart(entry, each):
                return self._last_of(entry, each)
        # The point of another laptop had its plain name for all until somebody added one otherwise.
        alike = (each for each in self.made.get(name.casefold(), ()) if each.of_all)
        return next((each for each in alike if history.knew(entry.hash, each.entry.hash)), None)

    def _was_apart(self, entry: Entry, made: _Made) -> bool:
        """Whether for the author of an entry a mark had the name of its laptop, too.

        What all that was known had in common had its plain name then, whoever has turned up since; and what was made
        anew had the name of the first.
        """
        if self._history.on_all_known(entry.hash, made.entry.hash):
            return False
        return made.before is None or self._had_parted(entry, made.before, made)

    def _last_of(self, entry: Entry, made: _Made) -> _Made:
        """A mark as it was made anew last on its chain, as far as the author of an entry knew it.

        What lies behind a fork that the author knew of is another one.
        """
        for each in self.made[made.plain]:
            knew = each.before is made and self._history.knew(entry.hash, each.entry.hash)
            if knew and not self._had_parted(entry, made, each):
                made = each
        return made

    def _had_parted(self, entry: Entry, made: _Made, anew: _Made) -> bool:
        """Whether the author of an entry knew that the chain parts between a mark and its being made anew."""
        return self._history.knew_parted(entry.hash, made.entry.hash, anew.entry.hash)

    def earlier(self, whole: str) -> str | None:
        """The whole name of what its chain had before under the same plain one; None where it had nothing.

        What is struck is that again, for all who meant the mark.
        """
        return self._earlier.get(whole)

    def own(self, digest: str, name: str) -> str:
        """The whole name of what was made under that plain name on the chain that ends there; else as it is."""
        for made in reversed(self.made.get(name.casefold(), ())):
            if self._history.on_line(digest, made.entry.hash):
                return made.whole
        return name

    def own_plain(self, digest: str, whole: str) -> str | None:
        """The plain name of what has that whole one, where it was made on the chain that ends there."""
        every = (each for alike in self.made.values() for each in alike if each.whole == whole)
        made = next((each for each in every if self._history.on_line(digest, each.entry.hash)), None)
        return made.name if made is not None else None

    def name(self, entry: Entry, name: str) -> str:
        """What the author of an entry meant by a name."""
        made = self.known(entry, name) if self.made else None
        return made.whole if made is not None else name

    def is_alike(self, entry: Entry, now: str, then: str) -> bool:
        """Whether a name is the other one, or what somebody else calls what was made under the same plain one."""
        one, other = now.casefold(), then.casefold()
        short, long = sorted((one, other), key=len)
        if short == long or long.startswith((f"{short} of ", f"{short} (")):
            return True
        made = self.known(entry, now)
        return made is not None and (other == made.plain or other.startswith(f"{made.plain} of "))


class Names:
    """The marks and points made so far, each under its whole name; entries are taken in order.

    What was made before the chains parted has its plain name for all. A mark made since is called by its laptop too,
    and so is a point that another laptop added otherwise under the same name. A plain name means what was made on
    the same chain before, and a whole one what has it among all that the author of an entry knew. A point that was
    read may be a mark of the same name: the one name is the point's among points, and the mark's among marks.
    """

    def __init__(self, history: History, entries: Iterable[Entry], own: str) -> None:
        """`entries` are looked through for points added twice; `own` is the last one of this laptop's own chain.

        A laptop that wrote nothing since it was copied goes on from there, though no entry shows it yet; one that
        wrote nothing at all begins a chain of its own.
        """
        self.marks, self._points = _Kind(history, own), _Kind(history, own)
        added: dict[str, set[object]] = {}
        for entry in entries:
            if isinstance(fact := entry.fact, PointAdded):
                added.setdefault(fact.point.casefold(), set()).add((fact.area.casefold(), fact.finish))
        self._contested = {name for name, ways in added.items() if len(ways) > 1}

    def go_on(self, own: str) -> None:
        """This laptop's own chain ends there now."""
        self.marks.own_end = self._points.own_end = own

    def take(self, entry: Entry, first: Fact | None = None) -> Entry:
        """The entry with whole names in its fact. Of what it made itself the name is remembered.

        `first` is the fact that is first in the place of an entry that replaces one: a correction speaks of the same
        marks and points, whoever made it and whatever is called so by now.
        """
        if first is not None and (corrected := self._named_as(entry, first)) is not None:
            return replace(entry, fact=corrected)
        fact = self._spelt(entry, entry.fact)
        if isinstance(fact, MarkMade):
            fact = replace(fact, mark=self.marks.make(entry, fact.mark, apart=True, of_all=False))
        elif isinstance(fact, PointAdded):
            apart = fact.point.casefold() in self._contested
            fact = replace(fact, point=self._points.make(entry, fact.point, apart=apart, of_all=True))
        return entry if fact is entry.fact else replace(entry, fact=fact)

    def _spelt(self, entry: Entry, fact: Fact) -> Fact:
        if not self.marks.made and not self._points.made:
            return fact

        def point(text: str) -> str:
            return self._points.name(entry, text)

        def mark(text: str) -> str:
            return self.marks.name(entry, text)

        def sight(each: Backsight) -> Backsight:
            return replace(each, mark=mark(each.mark))

        match fact:
            case Reading():
                return replace(fact, point=point(fact.point))
            case TargetChanged():
                return replace(fact, point=point(fact.point))
            case Rechecked() | MarkGiven():
                return replace(fact, mark=mark(fact.mark))
            case BacksightTaken():
                return replace(fact, sight=sight(fact.sight))
            case SetupMade():
                return replace(fact, backsights=tuple(map(sight, fact.backsights)))
            case SignedOff():
                return replace(fact, accepted=tuple(map(point, fact.accepted)), unread=tuple(map(point, fact.unread)))
            case PointAdded():
                return replace(fact, start=self._start(entry, fact.start) if fact.start else "")
            case _:
                return fact

    def _start(self, entry: Entry, name: str) -> str:
        """What a point is counted from: another point, or a mark."""
        point = self._points.name(entry, name)
        return point if point != name else self.marks.name(entry, name)

    def _named_as(self, entry: Entry, first: Fact) -> Fact | None:
        """A fact with the names of the one it corrects; None where it is about something else."""

        def point(now: str, then: str) -> bool:
            return self._points.is_alike(entry, now, then)

        def mark(now: str, then: str) -> bool:
            return self.marks.is_alike(entry, now, then)

        match first, entry.fact:
            case Reading(), Reading() as fact if point(fact.point, first.point):
                return replace(fact, point=first.point)
            case TargetChanged(), TargetChanged() as fact if point(fact.point, first.point):
                return replace(fact, point=first.point)
            case PointAdded(), PointAdded() as fact if point(fact.point, first.point):
                return replace(fact, point=first.point, start=first.start)
            case MarkMade(), MarkMade() as fact if mark(fact.mark, first.mark):
                return replace(fact, mark=first.mark)
            case MarkGiven(), MarkGiven() as fact if mark(fact.mark, first.mark):
                return replace(fact, mark=first.mark)
            case Rechecked(), Rechecked() as fact if mark(fact.mark, first.mark):
                return replace(fact, mark=first.mark)
            case BacksightTaken(), BacksightTaken() as fact if mark(fact.sight.mark, first.sight.mark):
                return replace(fact, sight=replace(fact.sight, mark=first.sight.mark))
            case SetupMade(), SetupMade() as fact if len(first.backsights) == len(fact.backsights):
                pairs = list(zip(first.backsights, fact.backsights, strict=True))
                if all(mark(now.mark, then.mark) for then, now in pairs):
                    return replace(fact, backsights=tuple(replace(now, mark=then.mark) for then, now in pairs))
        return None


def _full(base: str, entry: Entry) -> str:
    """The name that no other has: with the beginning of the hash of the entry that made it."""
    return f"{base} ({entry.hash[:ENOUGH]})"
