"""The circuits that the level book holds: every way from one given mark to another, and the network of all sights."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, zip_longest
from math import sqrt

from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.survey.carried import Carried
from gradecheck.survey.circuit import Circuit, Leg
from gradecheck.survey.level_book import LAST, Carry, GivenMark, LevelBook, Recheck


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
    for stood in book.setups():
        base = stood.sights[0][0]
        start_of = book.chain(base, stood.seq)
        for last in book.sights(stood.id):
            if last.end == base or not book.is_given(last.end, stood.seq):
                continue
            steps = [*start_of, last]
            circuit = _circuit(book, steps, book.elevation(last.end, stood.seq))
            if circuit is not None:
                yield Closing(circuit, page_check(steps))


def closed_by(book: LevelBook, recheck: Recheck) -> Circuit | None:
    """The circuit that a recheck closes on a given mark; None for a mark that the setup itself stands on."""
    stood, last = book.recorded(recheck.setup), book.sight_of(recheck)
    if stood is None or last is None or not book.is_given(recheck.mark, recheck.seq):
        return None
    if recheck.mark in [mark for mark, _ in stood.sights]:
        return None
    steps = [*book.chain(stood.sights[0][0], stood.seq), last]
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
    for stood, following in zip_longest(stands, stands[1:]):
        later = following.seq if following else LAST
        for sight in book.sights(stood.id):
            given: dict[str, Elevation] = {}
            start, end = _spot(book, sight.base, stood.seq, given), _spot(book, sight.end, later, given)
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
        name = f"{name} as of entry {source.seq}" if source.seq else f"{name} before it moved"
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
        stood = book.recorded(following.setup)
        source = book.source(step.end, stood.seq) if stood and walked.count(step.end) > 1 else None
        names.append(f"{step.end} of entry {source.seq}" if source else step.end)
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
