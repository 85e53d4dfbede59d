"""A state while nothing changes it, for a sheet that asks the same of every reading again and again."""

from __future__ import annotations

from gradecheck.checks.verdict import Verdict
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.targets import Target
from gradecheck.state.state import Shot, State, Surface

_Asked = tuple[str, str, Length, Surface | None]


class Still(State):
    """The same answers as the state it was made of, each worked out once; of use until that state changes."""

    def __init__(self, state: State) -> None:
        # Everything is shared; only the answers are its own.
        vars(self).update(vars(state))
        self._targets: dict[Surface, Target | None] = {}
        self._found: dict[_Asked, Elevation | None] = {}
        self._judged: dict[_Asked, Verdict | None] = {}

    def target(self, surface: Surface) -> Target | None:
        """As the state says it."""
        if surface not in self._targets:
            self._targets[surface] = super().target(surface)
        return self._targets[surface]

    def found(self, shot: Shot, surface: Surface | None = None) -> Elevation | None:
        """As the state says it."""
        asked = shot.id, shot.setup, shot.rod, surface
        if asked not in self._found:
            self._found[asked] = super().found(shot, surface)
        return self._found[asked]

    def judge(self, shot: Shot, surface: Surface) -> Verdict | None:
        """As the state says it."""
        asked = shot.id, shot.setup, shot.rod, surface
        if asked not in self._judged:
            self._judged[asked] = super().judge(shot, surface)
        return self._judged[asked]
