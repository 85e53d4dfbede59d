"""The two field tests of the instrument: which figures each asks for, and what they say of its beam."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gradecheck.actions.entered import Action, Refusal, length_in, length_on
from gradecheck.catalogue import _
from gradecheck.journal.facts import InstrumentTested
from gradecheck.measure.printed import nearest, show
from gradecheck.measure.quantities import ZERO, Length, Slope, feet, millimetres
from gradecheck.state.state import State


@dataclass(frozen=True, slots=True)
class FieldTest:
    """A test as it is walked through: its steps in order, and the slope error they show."""

    name: str
    what: str
    steps: tuple[str, ...]
    error: Callable[[Sequence[Length]], Slope]


def _two_pegs(figures: Sequence[Length]) -> Slope:
    # Few days have a field test; no start of the program waits for its sums.
    from gradecheck.survey.instrument_tests import two_pegs

    a, b, a2, b2, to_a, to_b = figures
    return two_pegs((a, b), (a2, b2), (to_a, to_b)).slope_error


def _four_directions(figures: Sequence[Length]) -> Slope:
    from gradecheck.survey.instrument_tests import four_directions

    ahead, right, back, left, distance = figures
    return four_directions((ahead, right, back, left), distance).lean


FIELD_TESTS = {
    test.name: test
    for test in (
        FieldTest(
            "two-peg",
            _("Two pegs about 50 m or 150 ft apart; once midway between them, once close to one."),
            (
                _("Midway between the pegs: the rod on peg A reads"),
                _("Midway between the pegs: the rod on peg B reads"),
                _("From the second place: the rod on peg A reads"),
                _("From the second place: the rod on peg B reads"),
                _("From the second place to peg A it is"),
                _("From the second place to peg B it is"),
            ),
            _two_pegs,
        ),
        FieldTest(
            "four-directions",
            _("One target; turn the laser on the spot a quarter at a time. Farther away is better."),
            (
                _("As set up, the rod on the target reads"),
                _("Turned a quarter, it reads"),
                _("Turned a half, it reads"),
                _("Turned three quarters, it reads"),
                _("To the target it is"),
            ),
            _four_directions,
        ),
    )
}
"""Neither is a standard's own procedure (see survey/instrument_tests.py)."""


READINGS = 4
"""So many steps of either test are read on the rod; the others are distances over the ground."""


def figure(state: State, typed: str, step: int = 0) -> Length:
    """The figure of that step of a test, a reading on the plan's first rod or a distance. Raises Refusal."""
    rod = state.plan.rod
    return length_on(typed, rod) if step < READINGS else length_in(typed, rod.notation.units)


def instrument_test(state: State, name: str, typed: Sequence[str]) -> Action:
    """The instrument was tested. Raises Refusal where the figures are too few, not understood, or tell nothing."""
    test = FIELD_TESTS.get(name)
    if test is None:
        raise Refusal(
            _("There is no test “{name}”; known are {field_tests}.", name=name, field_tests=", ".join(FIELD_TESTS))
        )
    if len(typed) != len(test.steps):
        raise Refusal(
            _(
                "The {name} test takes {number} figures: {steps}.",
                name=name,
                number=len(test.steps),
                steps="; ".join(test.steps),
            )
        )
    try:
        error = test.error([figure(state, each, step) for step, each in enumerate(typed)])
    except ValueError as wrong:
        raise Refusal(str(wrong)) from wrong
    limit = beam_limit(state)
    within = abs(error.ratio) <= limit.ratio if limit else None
    return Action(InstrumentTested(name, tuple(typed), error, within), " ".join(typed))


def beam_limit(state: State) -> Slope | None:
    """How far off the beam may be: the plan's own limit for adjusting it, else what its maker states."""
    instrument = state.plan.instrument
    return (instrument.adjust_beyond or instrument.beam) if instrument else None


def verdict_of(state: State, fact: InstrumentTested) -> str:
    """What a test means for the instrument, in a sentence."""
    from gradecheck.survey.instrument_tests import advice

    rod = state.plan.rod.notation
    imperial = rod.units.imperial
    run, run_text = (feet(150), _("150 ft")) if imperial else (millimetres(50_000), _("50 m"))
    off = Length(abs(fact.slope_error.ratio) * run.metres)
    size = show(off, rod, unit=True) if nearest(off, rod.graduation) or not off else _("less than a mark of the rod")
    says = advice(fact.slope_error, beam_limit(state))
    found = _("{says} That is {size} over {run}.", says=says, size=size, run=run_text)
    return " ".join(filter(None, (found, _beside_the_slope(state, fact))))


def _beside_the_slope(state: State, fact: InstrumentTested) -> str:
    """What else the figures show: what a level beam reads on the two pegs, or that four readings do not agree."""
    from gradecheck.survey.instrument_tests import four_directions, two_pegs

    rod = state.plan.rod.notation
    figures = [figure(state, typed, step) for step, typed in enumerate(fact.figures)]
    if fact.test == "two-peg":
        a, b, a2, b2, to_a, to_b = figures
        pegs = two_pegs((a, b), (a2, b2), (to_a, to_b))
        on_a, on_b = (show(each, rod, unit=True) for each in (pegs.reading_a, pegs.reading_b))
        return _("From the second place a level beam reads {on_a} on A and {on_b} on B.", on_a=on_a, on_b=on_b)
    ahead, right, back, left, distance = figures
    uneven = four_directions((ahead, right, back, left), distance).uneven
    # Two means of two readings: half a mark and the receiver in each of them.
    receiver = state.plan.instrument.receiver if state.plan.instrument is not None else ZERO
    if uneven <= rod.graduation + receiver * 2:
        return ""
    return _(
        "Opposite readings disagree by {uneven}: the laser or the target moved, or one is wrong. Repeat the test.",
        uneven=show(uneven, rod, unit=True),
    )
