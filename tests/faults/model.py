"""The model: anything a crew may do in several windows, in any order, held against a day in plain fractions."""

from __future__ import annotations

import dataclasses
from collections import Counter
from pathlib import Path
from typing import ClassVar

from hypothesis import Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from gradecheck.actions import Action
from gradecheck.journal.facts import Draft, Entry
from gradecheck.session.session import Session
from tests.faults.crew import Crew
from tests.faults.figures import Figures

NAME = "model"
QUICK, LONG = 50, 1000
STEPS = 30


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
                max_examples=days,
                stateful_step_count=STEPS,
                deadline=None,
                database=None,
                phases=phases,
                report_multiple_bugs=False,
            ),
        )
    except Exception as wrong:  # noqa: BLE001 - whatever a session raises that it should not is wrong as well
        steps = () if control else getattr(wrong, "__notes__", ())
        example = "\n".join([f"seed {number}: {wrong!r}", *steps])
    return Figures(NAME, what, dict(Played.counts), int(bool(example)), control=control, example=example)


class Forgetful(Session):
    """A session that does not take what was struck out of its sums."""

    def _apply(self, entry: Entry) -> None:
        if entry.kind != "void":
            super()._apply(entry)


class Doubling(Session):
    """A session that gives each try an id of its own, and so writes the same again."""

    def write(self, *actions: Action | Draft) -> list[Entry]:
        return super().write(*(dataclasses.replace(self.draft(each), id=self.ids()) for each in actions))
