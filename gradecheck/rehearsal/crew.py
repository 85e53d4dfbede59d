"""What a made-up crew does with its hands: it stands the instrument, looks at marks and reads the rod."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from gradecheck import actions
from gradecheck.actions import Action
from gradecheck.catalogue import _
from gradecheck.ground.spots import Place
from gradecheck.journal.facts import Entry, Rechecked
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Rod
from gradecheck.plan.targets import Target
from gradecheck.rehearsal.truth import (
    CAREFUL,
    Clock,
    Person,
    Stand,
    TrueGround,
    middle,
    people,
    receiver,
    tilt,
    to_micrometre,
)
from gradecheck.session.session import Session
from gradecheck.state.state import Surface


@dataclass(frozen=True, slots=True)
class TrueReading:
    """A reading that was recorded: the id of its place, and how high the ground truly was.

    `kicked` says that the instrument did not stand any more where the setup says.
    """

    entry: str
    surface: Surface
    true: Elevation
    kicked: bool


class Crew:
    """People, rods, an instrument and a session; every figure entered is the truth and their small errors."""

    def __init__(self, session: Session, clock: Clock, random: Random, ground: TrueGround) -> None:
        plan = session.plan
        self.session, self.clock, self.random, self.ground = session, clock, random, ground
        self.people = people(random, plan)
        self.person = self.people[0]
        self.worn = {name: rod.notation.graduation * random.randint(-2, 2) for name, rod in plan.rods.items()}
        self.taken: list[TrueReading] = []
        self.kicked: set[str] = set()
        self.pace = 60.0
        self._stand: Stand | None = None
        finishes = [point.finish for area in plan.areas.values() for point in area.points]
        known = [*finishes, *ground.marks.values()]
        self._highest, self._lowest = max(known), min(known)

    # -- what everyone does all day

    def record(self, *done: Action) -> Entry:
        """Records the actions; keying takes a moment."""
        entry = self.session.record(*done)
        self.clock.wait(self.random.uniform(2, 8))
        return entry

    def takes_over(self, person: Person) -> None:
        """Another one of the crew reads the rod and keys it in."""
        self.person = person
        self.session.identify(person.initials)

    @property
    def count(self) -> int:
        """Readings that were taken and not struck."""
        return len(self.taken)

    @property
    def is_kicked(self) -> bool:
        """Whether the instrument was kicked and nobody knows it yet."""
        setup = self.session.state.setup
        return setup is not None and setup.id in self.kicked

    # -- the instrument

    def set_up(self, marks: Sequence[str], rod: Rod, near: Sequence[Place] = ()) -> None:
        """Stands the instrument near those places and sees its plane from the marks."""
        above = to_micrometre(self.random.uniform(0.55, 1.15))
        beam = self._highest + above
        low = beam.above(self._lowest) + to_micrometre(self.random.uniform(0.5, 1.0))
        here = middle(list(near))
        place = (
            here[0] + to_micrometre(self.random.uniform(-2, 2)),
            here[1] + to_micrometre(self.random.uniform(-2, 2)),
        )
        self._stand = Stand(
            beam, tilt(self.random, self.session.plan), place, rod, self.worn[rod.name],
            nearest(low, rod.notation.graduation),
        )  # fmt: skip
        for mark in marks:
            self.clock.wait(self.random.uniform(40, 100))
            self.record(*actions.backsight(self.session.state, mark, self._on_mark(mark), rod.name))
        self.record(actions.finish_setup(self.session.state))

    def kick(self) -> None:
        """Somebody stumbles over a leg of the tripod and says nothing."""
        setup, stand = self.session.state.setup, self._stand
        assert setup is not None
        assert stand is not None
        allowed = self.session.plan.rechecks.allowed
        size = max(allowed, stand.rod.notation.graduation * 2) * Fraction(self.random.randint(28, 44), 10)
        beam = stand.beam + (size if self.random.random() < 0.5 else -size)
        self._stand = Stand(beam, stand.tilt, stand.place, stand.rod, stand.worn, stand.offset)
        self.kicked.add(setup.id)

    def recheck(self, mark: str) -> bool:
        """Looks at a mark again; whether it was found where it should be."""
        self.clock.wait(self.random.uniform(40, 90))
        fact = self.record(actions.recheck(self.session.state, mark, self._on_mark(mark))).fact
        assert isinstance(fact, Rechecked)
        return fact.good

    def shoot(self, name: str, z: Elevation, what: str) -> None:
        """Makes a spot at that height a mark."""
        self.ground.marks[name] = z
        self.clock.wait(self.random.uniform(60, 150))
        self.record(actions.mark(self.session.state, name, self._on_mark(name), what))

    # -- the rod

    def read(self, surface: Surface) -> Entry:
        """Reads the rod at a surface and keys it in; what looks like a slip is looked at and kept."""
        return self._key(surface, self.figure(surface))

    def read_until_on_grade(self, surface: Surface) -> None:
        """Reads a surface; what is out of tolerance is mostly worked over and read again, what was planted never."""
        self.read(surface)
        for _pass in range(2):
            verdict = self.session.state.verdict(surface)
            out = verdict is not None and verdict.word in (Word.CUT, Word.FILL)
            if not out or surface in self.ground.planted or self.is_kicked or self.random.random() > 0.8:
                return
            self.clock.wait(self.random.uniform(1.2, 3.5) * self.pace)
            self.ground.bring_to_grade(surface, self._target(surface))
            self.read(surface)

    def read_soft_spot(self, surface: Surface) -> None:
        """Reads where the dig went so deep that the figure is asked about; it is true and is kept."""
        target = self._target(surface)
        for halves in range(5, 20):
            self.ground.planted[surface] = -target.tolerance.low * Fraction(halves, 2)
            self.ground.known.pop(surface, None)
            figure = self.figure(surface)
            if self.session.question(surface, self.typed(figure, self.rod.notation)):
                break
        self._key(surface, figure)

    def read_on_a_clod(self, surface: Surface) -> None:
        """Reads with the rod on a clod; it is seen and struck, and read again."""
        clod = to_micrometre(self.random.uniform(0.008, 0.02))
        entry = self._key(surface, self.figure(surface, clod), counts=False)
        self.clock.wait(self.random.uniform(15, 40))
        self.record(self.session.strike(entry.id, _("rod stood on a clod")))
        self.read_until_on_grade(surface)

    def read_with_a_slip(self, surface: Surface) -> None:
        """Keys a figure some marks beside the right one and corrects it a moment later."""
        right = self.figure(surface)
        mark = self.rod.notation.graduation
        slips = [right + mark * marks for marks in (5, 4, -4, 3, -3, 2)]
        unasked = (slip for slip in slips if not self.session.question(surface, self.typed(slip, self.rod.notation)))
        entry = self._key(surface, next(unasked, slips[-1]))
        self.clock.wait(self.random.uniform(20, 60))
        self.record(self.session.correct(entry.id, self.typed(right, self.rod.notation)))

    @property
    def rod(self) -> Rod:
        """The rod that is read on now."""
        assert self._stand is not None
        return self._stand.rod

    def figure(self, surface: Surface, lifted: Length = ZERO) -> Length:
        """What the rod shows at a surface, its foot lifted by so much."""
        z = self.ground.at(surface, self._target(surface)) + lifted
        return self._seen(z, self.session.state.place(surface))

    def typed(self, length: Length, notation: Notation) -> str:
        """A length as a hand with a number pad keys it: there is no space on it."""
        text = show(length, notation)
        return text.replace(" ", "-") if notation.units is Units.IN and self.random.random() < 0.8 else text

    def _key(self, surface: Surface, figure: Length, *, counts: bool = True) -> Entry:
        self.clock.wait(self.random.uniform(0.6, 1.4) * self.pace)
        typed = self.typed(figure, self.rod.notation)
        looks = self.session.question(surface, typed)
        if looks:
            self.clock.wait(self.random.uniform(10, 25))
        entry = self.record(actions.reading(self.session.state, surface, typed, looks.says if looks else ""))
        if counts:
            self.taken.append(TrueReading(entry.id, surface, self.ground.known[surface], self.is_kicked))
        return entry

    def _on_mark(self, mark: str) -> str:
        figure = self._seen(self.ground.marks[mark], self.session.state.book.place(mark))
        return self.typed(figure, self.rod.notation)

    def _seen(self, z: Elevation, at: Place | None) -> Length:
        assert self._stand is not None
        reach = CAREFUL * float(receiver(self.session.plan).metres)
        error = max(-reach, min(reach, self.random.gauss(0, reach / 2)))
        return self._stand.seen(z, at, self.person, to_micrometre(error))

    def _target(self, surface: Surface) -> Target:
        target = self.session.state.target(surface)
        assert target is not None, "every datum is tied before its areas are walked"
        return target
