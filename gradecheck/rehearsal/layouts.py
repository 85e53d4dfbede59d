"""Tapes of layout checks, between corners that were set out nearly right."""

from __future__ import annotations

from gradecheck import actions
from gradecheck.checks.layout import to_tape
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length, inches, millimetres
from gradecheck.rehearsal.crew import Crew
from gradecheck.rehearsal.truth import exact


def tape_layouts(crew: Crew) -> dict[str, dict[str, Place]]:
    """Tapes every side and diagonal of the plan's layout checks; returns where the corners truly are.

    One corner of each is out by half an inch or so, and the first tape is misread by a whole unit and taped again.
    """
    plan, random, found = crew.session.plan, crew.random, {}
    for layout in plan.layout.values():
        corners: dict[str, Place] = {}
        out = random.randrange(len(layout.corners))
        for number, (name, (x, y)) in enumerate(layout.corners):
            off = 0.012 if number == out else 0.0
            corners[name] = x + exact(random.gauss(off, 0.0015)), y + exact(random.gauss(off, 0.0015))
        for number, target in enumerate(to_tape(layout.corners)):
            length = distance(corners[target.start], corners[target.end]) + exact(random.gauss(0, 0.0004))
            if number == 0:
                _tape(crew, layout.name, (target.start, target.end), length + _misread(plan.notation.units))
            _tape(crew, layout.name, (target.start, target.end), length)
        found[layout.name] = corners
    return found


def _tape(crew: Crew, layout: str, ends: tuple[str, str], length: Length) -> None:
    crew.clock.wait(crew.random.uniform(50, 140))
    crew.record(actions.tape(crew.session.state, layout, *ends, crew.typed(length, crew.session.plan.notation)))


def _misread(units: Units) -> Length:
    return inches(1) if units.imperial else millimetres(100)
