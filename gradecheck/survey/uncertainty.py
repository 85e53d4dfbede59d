"""Standard uncertainty (k = 1) of elevations, in metres: of one sight, and of what is carried from setup to setup."""

from __future__ import annotations

from bisect import insort
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import hypot, sqrt

from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Instrument, Plan, Rod
from gradecheck.survey.level_book import LAST, InTurn, LevelBook, RecordedSetup, SightedMark, distance_between

COVERAGE = 2
"""k: about 95 of 100."""
_FINENESS = 10**7
"""U is rounded up to a ten-thousandth of a millimetre, so that it can stand in an exact comparison."""


@dataclass(frozen=True, slots=True)
class Budget:
    """The standard uncertainties, in metres, that one sight has; `total` is their root sum of squares."""

    graduation: float
    receiver: float
    beam: float
    plumb: float

    @property
    def total(self) -> float:
        """The sight's standard uncertainty in metres."""
        return hypot(self.graduation, self.receiver, self.beam, self.plumb)


def sight_budget(
    instrument: Instrument, rod: Rod, reading: Length, distance: Length | None, found_slope: Fraction | None = None
) -> Budget:
    """What one sight leaves open, in metres. Where the distance is not known the plan's longest shot is taken.

    `found_slope` is the slope error an instrument test found, as a ratio; it replaces the maker's limit.
    """
    run = float((instrument.longest_shot if distance is None else distance).metres)
    beam = abs(found_slope) if found_slope is not None else instrument.beam.ratio
    # Half a mark either way; a rod out of plumb by the angle e reads r (1/cos e - 1) too much, about r e^2 / 2.
    return Budget(
        graduation=float(rod.notation.graduation.metres) / 2 / sqrt(3),
        receiver=float(instrument.receiver.metres) / sqrt(3),
        beam=float(beam) * run / sqrt(3),
        plumb=float(abs(reading.metres)) * float(instrument.plumb.ratio) ** 2 / 2 / sqrt(3),
    )


def expanded(standard: float) -> Length:
    """The expanded uncertainty U = 2 u of a standard uncertainty u in metres, rounded up to 0.0001 mm."""
    return Length(Fraction(-int(-COVERAGE * standard * _FINENESS // 1), _FINENESS))


class Carried:
    """Reads the level book. Everything is None where the plan does not say what the instrument is good for."""

    def __init__(self, book: LevelBook, plan: Plan, along: Callable[[int, int], bool] | None = None) -> None:
        """`along` says, where several laptops write, whether two places lie on one chain: each has its own laser."""
        self._book = book
        self._plan = plan
        self._along = along
        self._instrument = plan.instrument
        self._usual_rod = plan.rod
        self._slope_error: list[tuple[int, Fraction]] = []
        self._means = InTurn(book, self._mean_variance)

    def copied(self, book: LevelBook) -> Carried:
        """The same over a copy of the book."""
        copied = Carried(book, self._plan, self._along)
        copied._slope_error = self._slope_error[:]
        copied._means.start_as(self._means)
        return copied

    def add_slope_error(self, seq: int, error: Fraction) -> None:
        """Adds the slope error, as a ratio, that an instrument test found at that place of the log."""
        insort(self._slope_error, (seq, error))
        self._book.version += 1

    def remove_slope_error(self, seq: int) -> None:
        """Removes the slope error of that test."""
        self._slope_error = [each for each in self._slope_error if each[0] != seq]
        self._book.version += 1

    @property
    def slope_error(self) -> Fraction | None:
        """The slope error the last instrument test found, as a ratio; None without one."""
        return self._slope_error_at(LAST)

    def _slope_error_at(self, seq: int) -> Fraction | None:
        """The slope error of the laser that was read from at that place of the log."""
        along = self._along
        tests = (error for at, error in reversed(self._slope_error) if along is None or along(seq, at))
        return next(tests, None)

    def variance(self, setup: str, rod: Length, at: Place | None) -> float | None:
        """The variance, in square metres, of an elevation seen from a setup: its standard uncertainty squared."""
        carried, recorded = self._carried(setup), self._book.recorded(setup)
        instrument = self._instrument
        if carried is None or recorded is None or instrument is None:
            return None
        return carried + self._sight_variance(instrument, recorded, rod, at)

    def mark_variance(self, mark: str, before: int = LAST) -> float | None:
        """The variance, in square metres, of a mark's elevation before that place of the log; 0 where it is given."""
        source = self._book.source(mark, before)
        if not isinstance(source, SightedMark):
            return 0.0 if source is not None else None
        return self.variance(source.setup, source.rod, source.at)

    def alike(self, other: Carried, setup: str) -> bool:
        """Whether a setup leaves as much open by the other, which may know other marks and tests."""
        return self.slope_error == other.slope_error and self._carried(setup) == other._carried(setup)

    def _carried(self, setup: str) -> float | None:
        """What the setup brings along: of the mean of its zeros, marks and backsights together."""
        return self._means(setup)

    def _mean_variance(self, setup: RecordedSetup) -> float | None:
        """Of the mean of a setup's zeros. What two of its marks share, such as a setup, does not average out.

        So each zero and mark is taken apart into the sights it came from, the latest first, until all that is left
        hangs on one earlier setup, whose variance is known.
        """
        instrument = self._instrument
        if instrument is None:
            return None
        total = 0.0
        weights = {(setup.seq, setup.id): 1.0}
        latest: dict[tuple[int, str], RecordedSetup | SightedMark] = {(setup.seq, setup.id): setup}
        while latest:
            key = max(latest)
            here, weight = latest.pop(key), weights.pop(key)
            if isinstance(here, SightedMark):
                base = self._book.recorded(here.setup)
                if base is None:
                    return None
                total += weight**2 * self._sight_variance(instrument, base, here.rod, here.at)
                parents: list[RecordedSetup | SightedMark] = [base]
            elif here is not setup and not latest:
                known = self._means(here.id)
                return None if known is None else total + weight**2 * known
            else:
                parents = []
                weight /= len(here.sights)
                for mark, reading in here.sights:
                    source = self._book.source(mark, here.seq)
                    if source is None:
                        return None
                    place = self._book.place(mark, here.seq)
                    total += weight**2 * self._sight_variance(instrument, here, reading, place)
                    if isinstance(source, SightedMark):  # a given elevation is exact
                        parents.append(source)
            for parent in parents:
                latest[parent.seq, parent.id] = parent
                weights[parent.seq, parent.id] = weights.get((parent.seq, parent.id), 0.0) + weight
        return total

    def usual_sight(self) -> float | None:
        """The standard uncertainty, in metres, of a sight of the plan's longest shot."""
        instrument = self._instrument
        if instrument is None:
            return None
        return sight_budget(instrument, self._usual_rod, ZERO, None, self.slope_error).total

    def carried(self, setup: RecordedSetup) -> float | None:
        """The variance a setup would carry, in square metres, made already or still being made."""
        return self._mean_variance(setup)

    def _sight_variance(self, instrument: Instrument, setup: RecordedSetup, rod: Length, at: Place | None) -> float:
        distance = distance_between(setup.place, at)
        return (
            sight_budget(instrument, self._book.rod(setup.rod), rod, distance, self._slope_error_at(setup.seq)).total
            ** 2
        )
