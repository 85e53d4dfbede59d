"""Rechecks and what they put in doubt: everything seen since the last good recheck, and all that leans on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

from gradecheck.measure.quantities import Length
from gradecheck.survey.level_book import LAST, InTurn, LevelBook, Recheck, RecordedSetup, SightedMark

if TYPE_CHECKING:
    from gradecheck.plan.closure import Allowance


_NOTHING: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class JudgedRecheck:
    """A recheck held `against` its mark, a circuit it closes, or, once that is closed, the first recheck of the mark.

    `off` is by how much it misses that, `allowed` how much it may, to be shown.
    """

    against: Literal["mark", "circuit", "first recheck"]
    off: Length
    allowed: Length
    good: bool


class Chains(Protocol):
    """Who knew what, where several laptops write; places are those of the one log."""

    def along(self, seq: int, other: int, /) -> bool:
        """Whether two places lie on one chain; a place behind all is on the own one."""

    def answered(self, entry: str, seq: int, /) -> bool:
        """Whether someone who knew what stands at that place said that the entry is trusted all the same."""

    def contested(self, mark: str, before: int, /) -> tuple[int, ...]:
        """The places in the log where laptops that did not know of each other gave the mark different elevations.

        Nothing where that does not concern the place `before`.
        """

    def disputed(self, entry: str, /) -> tuple[int, ...]:
        """The places in the log where laptops that did not know of each other changed that entry differently."""


class Doubt:
    """Reads the level book; `allowed` is what a mark may be off by when it is rechecked.

    A recheck that closes a circuit may be off by what the `rule` of the plan allows it too: what was carried along
    the way misses by that, and the laser need not have moved. `answered` counts, by the id of its entry, what was in
    doubt and is trusted all the same. Where several laptops write, `chains` says who knew what.
    """

    def __init__(
        self,
        book: LevelBook,
        allowed: Length,
        answered: Counter[str] | None = None,
        rule: Callable[[], Allowance] | None = None,
        chains: Chains | None = None,
    ) -> None:
        self._chains = chains
        self._book = book
        self._rule = rule
        self._answered: Counter[str] = Counter() if answered is None else answered
        self._allowed = allowed
        self._failed = InTurn(book, self._first_bad)
        self._under = InTurn(book, self._causes_under)
        self._disturbed: tuple[int, list[str]] = (-1, [])

    def copied(self, book: LevelBook, answered: Counter[str], chains: Chains | None) -> Doubt:
        """The same over a copy of the book and of what was answered."""
        copied = Doubt(book, self._allowed, answered, self._rule, chains)
        copied._failed.start_as(self._failed)
        copied._under.start_as(self._under)
        copied._disturbed = self._disturbed
        return copied

    def misclosure(self, recheck: Recheck) -> Length | None:
        """What the mark is off by: elevation seen now less the elevation it is known to have."""
        setup, known = self._book.setup(recheck.setup), self._book.elevation(recheck.mark, recheck.seq)
        seen = setup.elevation(recheck.rod, self._book.place(recheck.mark, recheck.seq)) if setup else None
        return seen.above(known) if seen is not None and known is not None else None

    def is_good(self, recheck: Recheck) -> bool:
        """Whether the mark was found where it should be, within what the plan allows."""
        held = self.held(recheck)
        return held is not None and held.good

    def held(self, recheck: Recheck) -> JudgedRecheck | None:
        """What a recheck is off by and may be; None where the setup or the mark is not known."""
        off = self.misclosure(recheck)
        if off is None:
            return None
        plain = JudgedRecheck("mark", off, self._allowed, abs(off) <= self._allowed)
        if plain.good or self._rule is None:
            return plain
        # Circuits are asked for only where a recheck is off, which no start of the program waits for.
        from gradecheck.plan.closure import allowed
        from gradecheck.survey.circuit import closed_by

        circuit, rule = closed_by(self._book, recheck), self._rule()
        if circuit is None:
            return plain
        try:
            square = rule.square(circuit)
        except ValueError:  # the distance of a leg is not known
            return plain
        before = next((each for each in self._book.rechecks(recheck.setup) if each.mark == recheck.mark), recheck)
        first = self.misclosure(before) if before.seq < recheck.seq else None
        if first is not None:
            # The circuit was closed by then: what the mark is off by since shows whether the laser moved.
            moved = off - first
            closed = abs(first) > self._allowed and first.metres**2 <= square
            return (
                JudgedRecheck("first recheck", moved, self._allowed, abs(moved) <= self._allowed) if closed else plain
            )
        most = allowed(circuit, rule)
        return JudgedRecheck("circuit", off, most, off.metres**2 <= square) if most > self._allowed else plain

    def failed(self, setup: str, seq: int | None = None) -> Recheck | None:
        """The recheck that showed the setup was disturbed, if one did; with a place, one on the chain of that."""
        if self._chains is None or seq is None:
            return self._failed(setup)
        rechecks = ((recheck, self.held(recheck)) for recheck in self._rechecks(setup, seq))
        return next((recheck for recheck, held in rechecks if held is not None and not held.good), None)

    def _rechecks(self, setup: str, seq: int) -> list[Recheck]:
        """The rechecks of a setup that speak of a sight at that place: those on its own chain."""
        rechecks, chains = self._book.rechecks(setup), self._chains
        return rechecks if chains is None else [each for each in rechecks if chains.along(seq, each.seq)]

    @property
    def disturbed(self) -> list[str]:
        """The setups that a recheck found disturbed."""
        version, _ = self._disturbed
        if version != self._book.version:  # every picture asks, and years of work have thousands of setups
            found = [setup for setup in self._book.rechecked_from() if self.failed(setup)]
            self._disturbed = self._book.version, found
        return self._disturbed[1]

    def last_good(self, setup: str, before: int, seq: int = LAST) -> int:
        """The place of the last time the setup was known to be sound: its backsights, or a good recheck."""
        recorded = self._book.recorded(setup)
        good = recorded.seq if recorded else 0
        for recheck in self._rechecks(setup, seq):
            if recheck.seq < before and self.is_good(recheck):
                seen = self._book.source(recheck.mark, recheck.seq)
                # A mark first seen from here since then would have been seen after a kick, too: it proves nothing.
                if not isinstance(seen, SightedMark) or seen.setup != setup or seen.seen_at <= good:
                    good = recheck.seq
        return good

    def in_doubt(self, setup: str, seq: int, entry: int | None = None) -> bool:
        """Whether a sight taken from that setup at that place in the journal may be wrong.

        It may where the setup was found disturbed and the sight lies behind the last good recheck, and where a
        mark that the setup leans on was itself carried by such a sight. `entry` is the place of the entry that tells
        of the sight, where it was entered later.
        """
        return bool(self._causes(setup, seq, entry or seq))

    def is_trusted(self, entry: str, setup: str, seq: int, asked_at: int) -> bool:
        """Whether somebody answered for a sight taken from that setup at that place, and told of at another.

        With several laptops an answer covers only what its author knew of all that puts the sight in doubt.
        """
        if self._chains is None or not self._answered[entry]:
            return bool(self._answered[entry])
        return self._is_answered(entry, self._disputed(entry) | self._causes(setup, seq, asked_at))

    def _is_answered(self, entry: str, causes: frozenset[int]) -> bool:
        chains = self._chains
        if not self._answered[entry]:
            return False
        return chains is None or all(chains.answered(entry, cause) for cause in causes)

    def _causes(self, setup: str, seq: int, asked_at: int) -> frozenset[int]:
        """The places of what puts a sight in doubt: a failed recheck of its setup, and what is wrong under that."""
        under = self._under(setup) or _NOTHING
        failed = self.failed(setup, asked_at)
        disturbed = failed is not None and self.last_good(setup, failed.seq, asked_at) < seq
        return under | {failed.seq} if failed is not None and disturbed else under

    def _causes_under(self, setup: RecordedSetup) -> frozenset[int]:
        """What puts all in doubt that is seen from a setup: what disagrees about it or about the marks under it."""
        return self._disputed(setup.id).union(*(self._causes_of(mark, setup.seq) for mark, _ in setup.sights))

    def _causes_of(self, mark: str, before: int) -> frozenset[int]:
        """The places of what puts a mark in doubt, if nobody answered for it."""
        source = self._book.source(mark, before)
        if not isinstance(source, SightedMark):
            given, chains = source is not None, self._chains
            return frozenset(chains.contested(mark, before)) if given and chains is not None else _NOTHING
        causes = self._disputed(source.id) | self._causes(source.setup, source.seen_at, source.seq)
        return causes if causes and not self._is_answered(source.id, causes) else _NOTHING

    def _disputed(self, entry: str) -> frozenset[int]:
        """The places of those that changed an entry otherwise, none knowing of the other."""
        return frozenset(self._chains.disputed(entry)) if self._chains is not None else _NOTHING

    def _first_bad(self, setup: RecordedSetup) -> Recheck | None:
        # A mark whose elevation is not known any more shows neither that it stands nor that it was moved.
        rechecks = ((recheck, self.held(recheck)) for recheck in self._book.rechecks(setup.id))
        return next((recheck for recheck, held in rechecks if held is not None and not held.good), None)

    def given_otherwise(self, mark: str, before: int = LAST) -> bool:
        """Whether two laptops gave the mark otherwise, neither knowing of the other, and nobody answered yet."""
        given = self._chains is not None and bool(self._chains.contested(mark, before))
        return given and self._book.is_given(mark, before)

    def mark_in_doubt(self, mark: str, before: int = LAST) -> bool:
        """Whether the mark was carried by a sight that is in doubt, or two laptops gave it otherwise."""
        return bool(self._causes_of(mark, before))

    def marks(self) -> list[tuple[str, str]]:
        """The carried marks in doubt as they are known now, each with the id of the entry that made it."""
        named = ((name, self._book.source(name)) for name in self._book.marks())
        return [
            (name, source.id)
            for name, source in named
            if isinstance(source, SightedMark) and self.mark_in_doubt(name)
        ]
