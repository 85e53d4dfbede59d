"""What other windows on the same job read: asked about before a point is read again, told where nobody could ask."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from gradecheck.catalogue import _, stored
from gradecheck.journal.facts import Entry, Reading
from gradecheck.state.state import Surface

AT_ONCE = timedelta(seconds=1)
"""Two windows that read a point so close together can't have known of each other."""


class OtherWindows:
    """The last readings by surface, from this window and from any other since."""

    def __init__(self, window: str) -> None:
        self._window = window
        self._here: dict[Surface, Entry] = {}
        self._other: dict[Surface, Entry] = {}

    def question(self, surface: Surface) -> str | None:
        """What is said beside a reading here at a point that another window has just read."""
        other = self._other.get(surface)
        if other is None:
            return None
        return stored("also just read in another window ({read}).", read=_read(other))

    def note(self, entry: Entry) -> str:
        """Remembers a reading until the point is read here, or it is struck; says where both windows read at once."""
        if not isinstance(entry.fact, Reading) or entry.fact.late is not None:
            if entry.replaces is not None:
                self._other = {at: read for at, read in self._other.items() if read.id != entry.replaces}
            return ""
        surface = Surface(entry.fact.area, entry.fact.point, entry.fact.stage)
        mine = entry.window == self._window
        if mine:
            other, self._here[surface] = self._other.pop(surface, None), entry
        else:
            other, self._other[surface] = self._here.get(surface), entry
        if other is None or abs(entry.at - other.at) > AT_ONCE:
            return ""
        # Neither window could ask: both were written before either saw the other.
        reading = _read(other if mine else entry)
        return _(
            "{point} was read in another window at the same time ({reading}); see the log.",
            point=surface.point,
            reading=reading,
        )

    def rename(self, spelt: Callable[[Surface], Surface]) -> None:
        """Takes the names of a plan that was accepted since."""
        self._other = {spelt(surface): entry for surface, entry in self._other.items()}


def _read(entry: Entry) -> str:
    return f"{entry.typed}, {entry.by}"
