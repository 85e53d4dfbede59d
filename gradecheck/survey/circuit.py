"""Leveling circuits: legs from mark to mark, what they miss by on closing, how it is shared; and those in a book."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise, zip_longest
from math import sqrt

from gradecheck.catalogue import _
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.survey.level_book import LAST, Carry, GivenMark, LevelBook, Recheck
from gradecheck.survey.uncertainty import Carried


class SharedBy(StrEnum):
    """What a leg's part in a misclosure grows with: its setups, or its distance."""

    SETUPS = "setups"
    DISTANCE = "distance"


@dataclass(frozen=True, slots=True)
class Leg:
    """A difference in height carried from one mark to the next: how far `end` lies above `start`.

    Raises ValueError, in one sentence, for a leg that no crew can have walked.
    """

    start: str
    end: str
    rise: Length
    setups: int = 1
    distance: Length | None = None

    def __post_init__(self) -> None:
        if self.start == self.end:
            raise ValueError(
                _("A leg from {start} back to itself carries nothing; split it at a turning point.", start=self.start)
            )
        if self.setups < 1:
            raise ValueError(_("The leg {name} needs at least one setup.", name=self.name))
        if self.distance is not None and self.distance <= ZERO:
            raise ValueError(_("The distance of the leg {name} must be more than zero.", name=self.name))

    @property
    def name(self) -> str:
        """The leg in words."""
        return f"{self.start} to {self.end}"

    def size(self, by: SharedBy) -> Fraction:
        """What the leg counts: its setups, or its kilometres. Raises ValueError where the distance is not known."""
        if by is SharedBy.SETUPS:
            return Fraction(self.setups)
        if self.distance is None:
            raise ValueError(_("The leg {name} has no distance; give it, or share by setups.", name=self.name))
        return self.distance.metres / 1000


@dataclass(frozen=True, slots=True)
class Corrected:
    """A mark of a circuit: its elevation as carried, and the correction it gets."""

    mark: str
    found: Elevation
    correction: Length

    @property
    def elevation(self) -> Elevation:
        """The elevation with its correction."""
        return self.found + self.correction


@dataclass(frozen=True, slots=True)
class Circuit:
    """Legs in the order they were walked, from a mark known to stand at `start` to one known to stand at `end`.

    A loop ends on its first mark. Raises ValueError, in one sentence, for legs that do not follow one another.
    """

    legs: tuple[Leg, ...]
    start: Elevation
    end: Elevation

    def __post_init__(self) -> None:
        if not self.legs:
            raise ValueError(_("A circuit needs at least one leg."))
        for leg, following in pairwise(self.legs):
            if leg.end != following.start:
                raise ValueError(
                    _(
                        "The leg {name} is followed by {next}; the legs must meet.",
                        name=leg.name,
                        next=following.name,
                    )
                )
        if self.is_loop and self.start != self.end:
            raise ValueError(
                _("{start} begins and ends the loop and can't have two elevations.", start=self.legs[0].start)
            )

    @property
    def is_loop(self) -> bool:
        """Whether it comes back to its first mark."""
        return self.legs[0].start == self.legs[-1].end

    @property
    def misclosure(self) -> Length:
        """The closing elevation as carried less the one known: positive where the circuit came in too high."""
        return (self.start + sum((leg.rise for leg in self.legs), ZERO)).above(self.end)

    @property
    def setups(self) -> int:
        """The setups of all legs."""
        return sum(leg.setups for leg in self.legs)

    @property
    def distance(self) -> Length | None:
        """The way walked, None where a leg's distance is not known."""
        total = ZERO
        for leg in self.legs:
            if leg.distance is None:
                return None
            total += leg.distance
        return total

    def shares(self, by: SharedBy) -> tuple[Length, ...]:
        """The correction of each leg; together they are exactly minus the misclosure.

        Raises ValueError where they are to be shared by distance and a leg has none.
        """
        sizes = [leg.size(by) for leg in self.legs]
        whole, off = sum(sizes), -self.misclosure
        return tuple(off * (size / whole) for size in sizes)

    def distributed(self, by: SharedBy) -> tuple[Corrected, ...]:
        """Every mark behind the first with its correction, which grows along the way to minus the misclosure."""
        marks, here, correction = [], self.start, ZERO
        for leg, share in zip(self.legs, self.shares(by), strict=True):
            here, correction = here + leg.rise, correction + share
            marks.append(Corrected(leg.end, here, correction))
        return tuple(marks)


@dataclass(frozen=True, slots=True)
class PageCheck:
    """Backsights less foresights against last elevation less first. It proves the sums, not the field work."""

    backsights: Length
    foresights: Length
    carried: Length

    @property
    def passes(self) -> bool:
        """Whether the sums agree, exactly."""
        return self.backsights - self.foresights == self.carried


@dataclass(frozen=True, slots=True)
class Closing:
    """A circuit as it was walked, and the check of its sums where all was read level on a standard rod."""

    circuit: Circuit
    page: PageCheck | None

    @property
    def marks(self) -> tuple[str, ...]:
        """The marks in the order they were reached."""
        return (self.circuit.legs[0].start, *(leg.end for leg in self.circuit.legs))


def closings(book: LevelBook) -> Iterator[Closing]:
    """Each time a mark of given elevation was reached from another one, or from itself round a loop."""
    for setup in book.setups():
        base = setup.sights[0][0]
        start_of = book.chain(base, setup.seq)
        for last in book.sights(setup.id):
            if last.end == base or not book.is_given(last.end, setup.seq):
                continue
            steps = [*start_of, last]
            circuit = _circuit(book, steps, book.elevation(last.end, setup.seq))
            if circuit is not None:
                yield Closing(circuit, page_check(steps))


def closed_by(book: LevelBook, recheck: Recheck) -> Circuit | None:
    """The circuit that a recheck closes on a given mark; None for a mark that the setup itself stands on."""
    setup, last = book.recorded(recheck.setup), book.sight_of(recheck)
    if setup is None or last is None or not book.is_given(recheck.mark, recheck.seq):
        return None
    if recheck.mark in [mark for mark, _ in setup.sights]:
        return None
    steps = [*book.chain(setup.sights[0][0], setup.seq), last]
    return _circuit(book, steps, book.elevation(recheck.mark, recheck.seq))


def _circuit(book: LevelBook, steps: list[Carry], end: Elevation | None) -> Circuit | None:
    first = book.recorded(steps[0].setup)
    start = book.elevation(steps[0].base, first.seq) if first else None
    moved = steps[0].base == steps[-1].end and start != end  # while the loop was walked: it tells nothing
    if start is None or end is None or moved:
        return None
    return Circuit(tuple(_legs(book, steps)), start, end)


def network(book: LevelBook) -> tuple[dict[str, Elevation], list[Leg]]:
    """The marks whose elevation is given, and every sight between marks as a leg of one setup.

    A mark that moved, or was taken anew somewhere else, is another one from then on.
    """
    known: dict[str, Elevation] = {}
    legs = []
    stands = book.setups()
    for setup, following in zip_longest(stands, stands[1:]):
        later = following.seq if following else LAST
        for sight in book.sights(setup.id):
            given: dict[str, Elevation] = {}
            start, end = _spot(book, sight.base, setup.seq, given), _spot(book, sight.end, later, given)
            if start != end:  # else a mark was shot anew from where the instrument had already left
                legs.append(Leg(start, end, sight.rise, distance=book.distance(sight.base, sight.end)))
                known |= given
    return known, legs


def _spot(book: LevelBook, name: str, before: int, known: dict[str, Elevation]) -> str:
    """The mark as it was before that place, told apart from where it is since; `known` takes what is given."""
    source, now = book.source(name, before), book.source(name)
    if source is None or now is None:
        return name
    if now.seq > source.seq:
        name = (
            _("{name} as of entry {seq}", name=name, seq=source.seq)
            if source.seq
            else _("{name} before it moved", name=name)
        )
    if isinstance(source, GivenMark):
        known[name] = source.elevation
    return name


def expected_of(carried: Carried) -> Length | None:
    """The standard deviation one setup should have, a backsight and a foresight, where the plan says enough."""
    sight = carried.usual_sight()
    return Length(Fraction(sight * sqrt(2))) if sight is not None else None


def _legs(book: LevelBook, steps: list[Carry]) -> Iterator[Leg]:
    """The legs of the way; of marks that were taken anew on it each is told with the entry that made it."""
    names, walked = [steps[0].base], [steps[0].base, *(step.end for step in steps)]
    for step, following in pairwise(steps):
        setup = book.recorded(following.setup)
        source = book.source(step.end, setup.seq) if setup and walked.count(step.end) > 1 else None
        names.append(_("{end} of entry {seq}", end=step.end, seq=source.seq) if source else step.end)
    names.append(walked[-1])
    for (start, end), step in zip(pairwise(names), steps, strict=True):
        yield Leg(start, end, step.rise, distance=book.distance(step.base, step.end))


def page_check(steps: Sequence[Carry]) -> PageCheck | None:
    """The check of the sums of a circuit's steps; None where a rod is direct or the beam is sloped."""
    if any(step.direct or step.fall for step in steps):
        return None
    return PageCheck(
        sum((step.backsight for step in steps), ZERO),
        sum((step.foresight for step in steps), ZERO),
        sum((step.rise for step in steps), ZERO),
    )
