"""The model: anything a crew may do in several windows, in any order, held against a day in plain fractions."""

from __future__ import annotations

import contextlib
import tempfile
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path
from typing import Any, ClassVar

from hypothesis import Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule, run_state_machine_as_test

from gradecheck.intake import Refusal
from gradecheck.journal.facts import Draft, Entry, PlanRevised
from gradecheck.journal.store import NotSavedError
from gradecheck.measure.quantities import inches
from gradecheck.session import Session
from gradecheck.state import Surface
from tests.faults.figures import Figures
from tests.faults.plain_day import Day, Line
from tests.journal_strategies import JOB, everything_known

NAME = "model"
QUICK, LONG = 40, 1000
STEPS = 30
MOST_WINDOWS = 3
SURFACES = {
    "W1": Surface("walk", "W1", "finish"),
    "W2": Surface("walk", "W2", "finish"),
    "C1": Surface("court", "C1", "finish"),
}
MORNING = datetime(2031, 4, 7, 8, tzinfo=timezone(timedelta(hours=2)))

which = st.integers(0, 99)
"""Chosen among what there is at the time."""
rods = st.integers(44 * 16, 52 * 16).map(lambda count: Fraction(count, 16))


def run(folder: Path, days: int, seed: int) -> list[Figures]:
    """That many days, and as controls sessions that forget what was struck, and that write a second try anew."""
    return [
        play(folder, days, seed, NAME, Session),
        play(folder, max(100, days // 10), seed, "what was struck still counts", Forgetful),
        play(folder, max(100, days // 10), seed, "a second try is written anew", Doubling),
    ]


def play(folder: Path, days: int, number: int, what: str, kind: type[Session]) -> Figures:
    """Plays so many days with that kind of session."""

    class Played(Crew):
        home = folder
        session = kind
        counts: ClassVar[Counter[str]] = Counter(days=0, steps=0, entries=0, refused=0)

    control = kind is not Session
    # What a control did wrong need not be made small: that it did is all that is asked.
    phases = (Phase.generate,) if control else (Phase.generate, Phase.shrink)
    example = ""
    try:
        run_state_machine_as_test(
            seed(number)(Played),
            settings=settings(
                max_examples=days, stateful_step_count=STEPS, deadline=None, database=None, phases=phases
            ),
        )
    except AssertionError as wrong:
        example = f"seed {number}: {wrong}"
    return Figures(NAME, what, dict(Played.counts), int(bool(example)), control=control, example=example)


class Forgetful(Session):
    """A session that does not take what was struck out of its sums."""

    def _apply(self, entry: Entry) -> None:
        if entry.kind != "void":
            super()._apply(entry)


class Doubling(Session):
    """A session that gives each try an id of its own, and so writes the same again."""

    def write(self, *drafts: Draft) -> list[Entry]:
        import dataclasses

        return super().write(*(dataclasses.replace(draft, id=self.ids()) for draft in drafts))
