"""Which entries of several chains count and in which order, worked out from their hashes alone.

An entry is its hash: a restored copy or a cloned laptop gives two entries one number. It counts once the entry before
it and all that its author knew are there; until then it waits. The order looks only at an entry and what lies before
it, so two entries never change places when more arrive, and every way of joining ends in the same order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

START = "0" * 64
"""What stands in place of a hash before the first entry of a chain."""
STEP = timedelta(milliseconds=1)
CLOCKS_DIFFER = timedelta(minutes=15)
"""What the clocks of two laptops may differ by before people are told."""


@dataclass(frozen=True, slots=True)
class ChainLink:
    """What of an entry says where it belongs: its hash, the one before it in its chain, and those its author knew.

    `number` is its place in its own chain and `at` the time its author's clock showed, in UTC.
    """

    hash: str
    previous: str
    laptop: str
    number: int
    at: datetime
    knows: tuple[str, ...] = ()


@dataclass(slots=True)
class _Branch:
    """A piece of a chain up to where it forks: the branch it grew out of, and the number of the entry there."""

    parent: int
    forked_at: int


@dataclass(frozen=True, slots=True)
class _Stand:
    """Where an entry that counts stands: branch and number, what its author knew of others, effective time."""

    branch: int
    number: int
    known: Mapping[int, int]
    """The last number known of each branch that is not on the entry's own line."""
    effective: datetime
    clock: str
    """The entry whose own clock the effective time comes from."""


class History:
    """A set of entries, in whichever order they came. It is worked out once; more entries make a new one."""

    def __init__(self, links: Iterable[ChainLink]) -> None:
        self._links = {link.hash: link for link in links}
        self._branches: list[_Branch] = []
        self._stands: dict[str, _Stand] = {}
        self.waiting: dict[str, str] = {}
        """The entries that can't count yet, each with the hash of the first that it waits for."""
        self.unsound: list[str] = []
        """The entries whose number does not follow the one before; they never count."""
        self._children: dict[str, list[str]] = {}
        self._settle()
        self.order = sorted(self._stands, key=self._key)
        """The hashes of those that count, in order."""
        self.rank = {digest: place for place, digest in enumerate(self.order, 1)}
        """The place of each of them, from 1 on."""
        self.ends = [digest for digest in self.order if not self._followers(digest)]
        """The last entry of each chain, in order."""

    def _key(self, digest: str) -> tuple[datetime, str, int, str]:
        link = self._links[digest]
        return self._stands[digest].effective, link.laptop, link.number, digest

    def _settle(self) -> None:
        """Takes each entry up once all that it hangs on is there, and notes the others as waiting."""
        open_: dict[str, int] = {}
        behind: dict[str, list[str]] = {}
        ready = []
        for link in self._links.values():
            if link.previous != START:
                self._children.setdefault(link.previous, []).append(link.hash)
            needs = {each for each in (link.previous, *link.knows) if each != START}
            open_[link.hash] = len(needs)
            for each in needs:
                behind.setdefault(each, []).append(link.hash)
            if not needs:
                ready.append(link.hash)
        for siblings in self._children.values():
            siblings.sort()
        while ready:
            digest = ready.pop()
            link = self._links[digest]
            before = self._links.get(link.previous)
            if link.number != (before.number if before is not None else 0) + 1:
                self.unsound.append(digest)
                continue
            self._stands[digest] = self._stand(link)
            for later in behind.get(digest, ()):
                open_[later] -= 1
                if not open_[later]:
                    ready.append(later)
        self.unsound.sort()
        for link in self._links.values():
            if link.hash not in self._stands and link.hash not in self.unsound:
                missing = (each for each in (link.previous, *link.knows) if each != START)
                self.waiting[link.hash] = next(each for each in missing if each not in self._stands)

    def _stand(self, link: ChainLink) -> _Stand:
        before = self._stands.get(link.previous)
        if before is None or len(self._children[link.previous]) > 1:
            self._branches.append(_Branch(before.branch if before else -1, link.number - 1))
            branch = len(self._branches) - 1
        else:
            branch = before.branch
        known: Mapping[int, int] = before.known if before else {}
        effective, clock = link.at, link.hash
        if before is not None and before.effective + STEP > effective:
            effective, clock = before.effective + STEP, before.clock
        if link.knows:
            merged = dict(known)
            for digest in link.knows:
                head = self._stands[digest]
                if head.effective + STEP > effective:
                    effective, clock = head.effective + STEP, head.clock
                for each, number in (*head.known.items(), *self._line(head)):
                    merged[each] = max(merged.get(each, 0), number)
            known = merged
        return _Stand(branch, link.number, known, effective, clock)

    def _line(self, stand: _Stand) -> Iterable[tuple[int, int]]:
        """The branches on an entry's own line, each with the last number of it that lies on the line."""
        branch, number = stand.branch, stand.number
        while branch >= 0:
            yield branch, number
            branch, number = self._branches[branch].parent, self._branches[branch].forked_at

    def append(self, link: ChainLink) -> bool:
        """Takes up one more entry whose author knew all that count here; False where a chain forks at it.

        Then the whole is to be worked out anew. It stands behind all others.
        """
        if link.previous != START and (link.previous not in self._stands or self._children.get(link.previous)):
            return False
        self._links[link.hash] = link
        if link.previous != START:
            self._children[link.previous] = [link.hash]
        self._stands[link.hash] = self._stand(link)
        self.order.append(link.hash)
        self.rank[link.hash] = len(self.order)
        self.ends = [*(each for each in self.ends if each != link.previous), link.hash]
        return True

    # -- what can be asked of those that count

    def on_line(self, digest: str, other: str) -> bool:
        """Whether the other entry is the entry itself or lies before it in its own chain; before `START` is none."""
        if digest == START:
            return False
        here = self._stands[digest]
        return self._lies_on(here.branch, here.number, self._stands[other])

    def _lies_on(self, branch: int, number: int, there: _Stand) -> bool:
        """Whether an entry lies on the line that ends with that number of a branch."""
        while branch != there.branch:  # no generator: asked for every entry there is
            if branch < 0:
                return False
            branch, number = self._branches[branch].parent, self._branches[branch].forked_at
        return there.number <= number

    def along(self, one: str, other: str) -> bool:
        """Whether two entries lie on one chain, one of them before the other."""
        return self.on_line(one, other) or self.on_line(other, one)

    def knew(self, digest: str, other: str) -> bool:
        """Whether the author of an entry knew the other one when it was written."""
        if digest == other:
            return False
        there = self._stands[other]
        return self._stands[digest].known.get(there.branch, 0) >= there.number or self.on_line(digest, other)

    def on_all_known(self, digest: str, other: str) -> bool:
        """Whether the other entry lies on every chain that the author of an entry knew of, as far as it was known."""
        stand, there = self._stands[digest], self._stands[other]
        pieces = {**stand.known, **dict(self._line(stand))}
        forked = {self._branches[each].parent for each in pieces}
        ends = ((branch, number) for branch, number in pieces.items() if branch not in forked)
        return all(self._lies_on(branch, number, there) for branch, number in ends)

    def same_piece(self, one: str, other: str) -> bool:
        """Whether two entries lie on one piece of chain, with no fork between them."""
        return self._stands[one].branch == self._stands[other].branch

    def knew_parted(self, digest: str, one: str, other: str) -> bool:
        """Whether the author of an entry knew that the chain forks between those two, the first before the other."""
        stand, stop, branch = self._stands[digest], self._stands[one].branch, self._stands[other].branch
        own = {each for each, _ in self._line(stand)}
        while branch not in (-1, stop):
            here = self._branches[branch]
            for each, beside in enumerate(self._branches):
                if each != branch and beside == here and (each in own or stand.known.get(each, 0)):
                    return True
            branch = here.parent
        return False

    def effective(self, digest: str) -> datetime:
        """The time by which an entry has its place: its own, but never before what its author knew."""
        return self._stands[digest].effective

    def behind(self, digest: str) -> tuple[timedelta, str] | None:
        """By how much the clock of an entry was behind one that its author knew, and the entry with that one's time.

        None where it was no more than two clocks differ by.
        """
        stand, late = self._stands[digest], self._stands[digest].effective - self._links[digest].at
        return (late, stand.clock) if late > CLOCKS_DIFFER else None

    def link(self, digest: str) -> ChainLink:
        """Where an entry belongs."""
        return self._links[digest]

    def laptop_of(self, digest: str) -> str:
        """Which laptop wrote an entry, one that waits too."""
        return self._links[digest].laptop

    @property
    def forks(self) -> list[list[str]]:
        """Where chains part: the first entries of each side, in order; more than one may be of one laptop."""
        parted = ([each for each in self.order if self._links[each].previous == START],
                  *(self._followers(digest) for digest in self.order))  # fmt: skip
        return [sides for sides in parted if len(sides) > 1]

    def heads(self, own: str) -> list[str]:
        """The last entries of all chains that the author of `own`, going on from there, does not know yet."""
        ends = [each for each in self.ends if each != own and not (own in self._stands and self.knew(own, each))]
        return [each for each in ends if not any(other != each and self.knew(other, each) for other in ends)]

    def _followers(self, digest: str) -> list[str]:
        return [each for each in self._children.get(digest, ()) if each in self._stands]
