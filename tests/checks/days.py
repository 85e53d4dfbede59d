"""Days on site, drawn: honest readings of crews that dig in lifts, scrape and read again, and finish in control.

The ground is drawn in inches and floats, and each reading is put into a real state in its turn, so that what is
around a point when it is read is what the program itself would find there.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.checks.blunders import Slip, slip
from gradecheck.journal.facts import Entry
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show
from gradecheck.measure.quantities import Length, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.load import understand
from gradecheck.plan.model import Plan
from gradecheck.state.fold import Surface
from gradecheck.state.state import State, fold
from tests.journal_strategies import Site

ALLOWED = {"subgrade": 1 / 2, "base": 3 / 8, "bedding": 1 / 4, "finish": 1 / 8}
"""Inches that each stage may be off, high or low."""
SPACING = 8
"""Feet between the stakes of a grid."""


@dataclass(frozen=True)
class Honest:
    """One honest reading: where, how far the ground was off in inches, and what was known when it was taken."""

    surface: Surface
    off: float
    reading: Length
    wanted: Length
    recent: tuple[Length, ...]
    near: tuple[Length, ...]

    def looks(self, reading: Length) -> Slip | None:
        """What would be said, were that entered here."""
        notation = Notation.usual(Units.IN)
        allowed = inches(Fraction(ALLOWED[self.surface.stage]).limit_denominator(8))
        tolerance, typed = Tolerance(allowed, allowed), show(reading, notation)
        return slip(typed, reading, self.wanted, notation, tolerance, "standard", self.recent, self.near)


def plan_of(rows: int, columns: int, *, placed: bool) -> Plan:
    """A plan with one area of so many rows of stakes, walked there and back; where they lie is said or not."""
    points = []
    for row in range(rows):
        along = range(columns) if row % 2 == 0 else reversed(range(columns))
        for column in along:
            at = f", at: [{column * SPACING} ft, {row * SPACING} ft]" if placed else ""
            points.append(f"      S{len(points) + 1}: {{elevation: 0{at}}}")
    text = "\n".join(
        [
            "job: A day of digging",
            "units: in",
            "rods:",
            "  site rod: {kind: standard, graduation: 1/16 in}",
            "benchmarks:",
            "  BM: {elevation: 0}",
            "build-ups:",
            "  yard: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}]",
            "tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}",
            "areas:",
            "  yard:",
            "    build-up: yard",
            "    points:",
            *points,
        ]
    )
    return understand(f"{text}\n", "job.yaml", {}.__getitem__).plan


class Day:
    """A crew on one area; every reading is noted as `Honest` and put into the state."""

    def __init__(self, draw: random.Random, *, rows: int, columns: int, placed: bool) -> None:
        self.draw = draw
        self.plan = plan_of(rows, columns, placed=placed)
        self.site = Site(self.plan)
        self.state: State = fold(self.plan, [])
        self._put(self.site.set_up("BM", inches(60)))
        self.points = [point.name for point in self.plan.areas["yard"].points]
        self.spots = [
            (row, column)
            for row in range(rows)
            for column in (range(columns) if row % 2 == 0 else reversed(range(columns)))
        ]
        self.read: list[Honest] = []

    def _put(self, entry: Entry) -> None:
        self.state.apply(entry, entry)

    def ground(self) -> list[float]:
        """Existing ground in inches above the subgrade: it slopes, it is rough, here and there it must be filled."""
        draw = self.draw
        middle, east, north = draw.uniform(-4, 20), draw.uniform(-2.5, 2.5), draw.uniform(-2.5, 2.5)
        return [middle + north * row + east * column + draw.gauss(0, 1) for row, column in self.spots]

    def reads(self, place: int, off: float, stage: str) -> None:
        """The rod is read at a stake where the ground is off by that."""
        surface = Surface("yard", self.points[place], stage)
        target = self.state.target(surface)
        setup = self.state.setup
        assert target is not None
        assert setup is not None
        assert setup.instrument is not None
        wanted = setup.instrument.grade_rod(target.wanted)
        assert wanted is not None
        reading = nearest(wanted - inches(Fraction(off).limit_denominator(10**6)), inches(Fraction(1, 16)))
        recent, near = self.state.beside(surface)
        self.read.append(Honest(surface, off, reading, wanted, tuple(recent), tuple(near)))
        self._put(self.site.read(surface, reading))

    def first_pass(self, ground: list[float]) -> None:
        """All stakes are read before anything is dug."""
        for place, off in enumerate(ground):
            self.reads(place, off, "subgrade")

    def dig_in_lifts(self, ground: list[float]) -> None:
        """The area is dug, or filled, by some six inches at a time, each lift read over all stakes; then to grade."""
        draw = self.draw
        while any(abs(off) > 1 for off in ground):
            ground = [
                off - 6 + draw.gauss(0, 0.6)
                if off > 7
                else off + 6 + draw.gauss(0, 0.6)
                if off < -7
                else draw.gauss(0, 1 / 6)
                for off in ground
            ]
            for place, off in enumerate(ground):
                self.reads(place, off, "subgrade")

    def dig_in_turn(self, ground: list[float]) -> None:
        """Each stake is dug down at once: read, cut, scraped, read again."""
        for place, start in enumerate(ground):
            off = start
            while abs(off) > 1:
                self.reads(place, off, "subgrade")
                off *= self.draw.uniform(0.1, 0.5)
            self.reads(place, off, "subgrade")
            if abs(off) > 1 / 2:
                self.reads(place, self.draw.gauss(0, 1 / 6), "subgrade")

    def build_up(self) -> None:
        """Base, bedding and finish by a crew in control: a third of the tolerance."""
        for stage in ("base", "bedding", "finish"):
            for place in range(len(self.points)):
                self.reads(place, self.draw.gauss(0, ALLOWED[stage] / 3), stage)


def days(seed: int, count: int = 12) -> Iterator[Day]:
    """Whole jobs on areas of 12 to 48 stakes: first pass and lifts, or in turn; with places or without; built up."""
    draw = random.Random(seed)
    for number in range(count):
        day = Day(draw, rows=draw.randint(3, 6), columns=draw.randint(4, 8), placed=number % 2 == 0)
        ground = day.ground()
        if number % 3 == 2:
            day.dig_in_turn(ground)
        else:
            day.first_pass(ground)
            day.dig_in_lifts(ground)
        day.build_up()
        yield day
