"""How a made-up crew keeps its instrument: where it is set up and on which marks, when it is looked at and moved."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck import actions
from gradecheck.catalogue import _
from gradecheck.rehearsal.crew import Crew
from gradecheck.rehearsal.truth import to_micrometre

DARK = 20
"""The hour after which nobody reads a rod."""


class Laser:
    """The crew's instrument; `near` is the area it is set up at."""

    def __init__(self, crew: Crew) -> None:
        self.crew, self.session, self.random = crew, crew.session, crew.random
        self.near = ""
        self._rods = list(crew.session.plan.rods.values())

    @property
    def is_dark(self) -> bool:
        """Whether it is too dark to read."""
        return self.crew.clock().hour >= DARK

    def set_up(self, marks: Sequence[str] = ()) -> None:
        """Stands it on those marks, on one benchmark or two where none are named."""
        area = self.session.plan.areas[self.near]
        marks = marks or self._benchmarks(self.random.choice((1, 2)))
        self.crew.set_up(marks, self._rods[0], [point.at for point in area.points if point.at])

    def tie_datums(self) -> None:
        """Shoots the marks that datums of areas wait for."""
        plan = self.session.plan
        for datum in dict.fromkeys(area.datum for area in plan.areas.values() if area.datum):
            if self.session.state.zero_of(datum) is None:
                z = min(self.crew.ground.marks.values()) + to_micrometre(self.random.uniform(0.05, 0.25))
                self.crew.shoot(plan.datums[datum].mark, z, _("zero of {datum}", datum=datum))

    def carry_on(self) -> None:
        """Shoots a turning point and moves behind it."""
        self.look()
        name = actions.next_mark_name(self.session.state)
        near = self.random.choice(list(self.crew.ground.marks.values()))
        self.crew.shoot(name, near + to_micrometre(self.random.uniform(-0.15, 0.05)), _("nail in the curb"))
        self._move([name, *self._benchmarks(1)])

    def move_on(self) -> None:
        """Moves, after a last look, and reads on the next rod from there."""
        self.look()
        self._move(())

    def look_if_due(self) -> None:
        """Looks at a mark where the plan asks for it; not while it is kicked, for that has its own time."""
        setup, rules = self.session.state.setup, self.session.plan.rechecks
        looked = self.session.state.looked(setup.id) if setup else None
        if setup is None or looked is None or self.crew.is_kicked:
            return
        minutes = (self.crew.clock() - looked).total_seconds() / 60
        if minutes >= rules.minutes or self.session.state.readings_since_look(setup.id) >= rules.readings:
            self.look()

    def look(self) -> None:
        """Looks at a benchmark; where it is off, stands it anew, and all that is in doubt is read again."""
        if self.crew.recheck(self._benchmarks(1)[0]):
            return
        self.crew.record(actions.note(_("the mark is off: all since the last good recheck is read again")))
        self.set_up()
        for surface, _shot in self.session.state.doubts():
            if not self.is_dark:
                self.crew.read_until_on_grade(surface)

    def _move(self, marks: Sequence[str]) -> None:
        self.crew.clock.wait(self.random.uniform(60, 240))
        self.crew.record(actions.moved(self.session.state, _("the spoil heap hides the rod")))
        self._rods.append(self._rods.pop(0))
        self.set_up(marks)

    def _benchmarks(self, most: int) -> list[str]:
        known = [name for name in self.session.plan.benchmarks if self.session.state.mark(name) is not None]
        return self.random.sample(known, min(most, len(known)))
