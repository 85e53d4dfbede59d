"""What is so on the made-up site whatever anyone keys in: ground, marks, beam, who reads how, and the time."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from random import Random

from gradecheck.ground.spots import Place
from gradecheck.measure.printed import nearest
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.model import SUBGRADE, Plan, Rod
from gradecheck.plan.targets import Target
from gradecheck.state.state import Surface

CAREFUL = 0.35
"""Which part of the stated limits of beam and receiver the crew's own use up; an honest instrument is better."""
STRAY = 0.08
"""Of so many spots the first try is out of tolerance."""


def to_micrometre(metres: float) -> Length:
    """The length to a micrometre, exact from there on."""
    return Length(Fraction(round(metres * 1_000_000), 1_000_000))


class Clock:
    """The time on the made-up site; it goes on only when it is told to."""

    def __init__(self, start: datetime) -> None:
        self.time = start

    def __call__(self) -> datetime:
        """What the time is there."""
        return self.time

    def wait(self, seconds: float) -> None:
        """So much time goes by, in whole seconds."""
        self.time += timedelta(seconds=round(seconds))

    def until(self, hour: int, minute: int = 0, *, days: int = 0) -> None:
        """It is that time, so many days on; never earlier than it was."""
        then = (self.time + timedelta(days=days)).replace(hour=hour, minute=minute, second=0, microsecond=0)
        self.time = max(self.time, then)


@dataclass(frozen=True, slots=True)
class Person:
    """Who reads the rod, and by how much always too high."""

    initials: str
    bias: Length


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the instrument stands in truth: the beam's elevation there, its fall along x and y, the rod read on.

    `worn` is what the rod reads too much, `offset` what a direct rod was set to.
    """

    beam: Elevation
    tilt: tuple[Fraction, Fraction]
    place: Place
    rod: Rod
    worn: Length
    offset: Length

    def seen(self, z: Elevation, at: Place | None, person: Person, error: Length) -> Length:
        """The mark of the rod that the person reads with its foot at that elevation."""
        beam = self.beam
        if at is not None:
            beam = beam + Length(
                sum((fall * (at[axis] - self.place[axis]).metres for axis, fall in enumerate(self.tilt)), Fraction(0))
            )
        figure = beam.above(z) + self.worn + person.bias + error
        return nearest(self.offset - figure if self.rod.kind == "direct" else figure, self.rod.notation.graduation)


@dataclass
class TrueGround:
    """The true elevation of every surface, made up when it is first asked for, and of every mark."""

    random: Random
    marks: dict[str, Elevation]
    planted: dict[Surface, Length] = field(default_factory=dict)
    """Spots that are off on purpose, by how much; nobody puts them right."""
    careful: set[Surface] = field(default_factory=set)
    """Spots that come out on grade at the first try."""
    known: dict[Surface, Elevation] = field(default_factory=dict)

    def at(self, surface: Surface, target: Target) -> Elevation:
        """How high it is there now."""
        if surface not in self.known:
            self.known[surface] = target.wanted + (self.planted.get(surface) or self._first_try(surface, target))
        return self.known[surface]

    def bring_to_grade(self, surface: Surface, target: Target) -> None:
        """The crew works it over: it comes out near grade."""
        self.known[surface] = target.wanted + self._near(target, 0.2)

    def _first_try(self, surface: Surface, target: Target) -> Length:
        if surface not in self.careful and self.random.random() < STRAY:
            high = self.random.random() < 0.4
            size = self.random.uniform(1.15, 1.9)
            return (target.tolerance.high if high else -target.tolerance.low) * Fraction(round(size * 1000), 1000)
        near = self._near(target, 0.28)
        # Machines dig too deep rather than too shallow: that is where the money goes.
        return near - target.tolerance.low * Fraction(2, 5) if surface.stage == SUBGRADE else near

    def _near(self, target: Target, part: float) -> Length:
        half = float((target.tolerance.high + target.tolerance.low).metres) / 2
        return to_micrometre(max(-0.55, min(0.55, self.random.gauss(0, part))) * half)


def people(random: Random, plan: Plan) -> tuple[Person, ...]:
    """Three people of our invention, each with a bias of their own."""
    initials = random.sample(("RK", "TLM", "OV", "JBS", "EN", "WD", "PAH", "SC"), 3)
    reach = CAREFUL * float(receiver(plan).metres)
    return tuple(Person(each, to_micrometre(random.uniform(-reach, reach) / 2)) for each in initials)


def receiver(plan: Plan) -> Length:
    """What the receiver is good for; half a mark of the rod where the plan does not say."""
    return plan.instrument.receiver if plan.instrument else plan.rod.notation.graduation * Fraction(1, 2)


def tilt(random: Random, plan: Plan) -> tuple[Fraction, Fraction]:
    """How far the beam falls along x and y that should fall nowhere."""
    reach = CAREFUL * float(plan.instrument.beam.ratio) if plan.instrument else 0.0
    x, y = (Fraction(round(random.uniform(-reach, reach) * 10**9), 10**9) for _ in range(2))
    return x, y


def middle(places: list[Place]) -> Place:
    """The middle of some places; the plan's corner where there are none."""
    if not places:
        return ZERO, ZERO
    share = Fraction(1, len(places))
    x, y = (sum((place[axis] for place in places), ZERO) * share for axis in (0, 1))
    return x, y
