"""How far an area is over-dug while it is being dug, told beside the answer."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from gradecheck.app.screens.base import EntryScreen
from gradecheck.plan.model import SUBGRADE, Area
from gradecheck.state.state import Surface

if TYPE_CHECKING:
    from collections.abc import Callable

    from gradecheck.state.dig_so_far import DigSoFar


class DigBeside:
    """Joins the points of an area in a thread of its own: that takes longer than a key may.

    Readings are taken up on the screen's thread alone, where the state changes; so none is counted twice or missed.
    """

    def __init__(self, screen: EntryScreen, on_change: Callable[[], None]) -> None:
        """`on_change` is called when there is something else to tell."""
        self._screen = screen
        self._on_change = on_change
        self._area: Area | None = None
        self._dig: DigSoFar | None = None

    def look(self, area: Area, stage: str) -> None:
        """Takes up everything that was read in that area; joins its points first where they are not joined yet."""
        if area is not self._area:
            self._area = self._dig = None
        if stage != SUBGRADE or area.build_up is None:
            return
        if self._dig is not None:
            self._take_up(area, self._dig)
        else:
            join = partial(self._join, area)
            self._screen.run_worker(join, thread=True, exclusive=True, group="dig", exit_on_error=False)

    def read(self, surface: Surface) -> None:
        """Takes up one reading more."""
        if self._dig is not None:
            self._dig.read(self._screen.session.state, surface)

    def text(self, area: Area, stage: str, *, wide: bool) -> str:
        """What is over-dug so far, where that can be told."""
        if stage != SUBGRADE or self._dig is None or area is not self._area or not self._dig.volume:
            return ""
        from gradecheck.report.stone import over_dug_text

        return over_dug_text(self._dig.volume, self._screen.session.plan, wide=wide)

    def _join(self, area: Area) -> None:
        from gradecheck.state.dig_so_far import DigSoFar

        plan = self._screen.session.plan
        self._screen.app.call_from_thread(self._take_up, area, DigSoFar(plan, area))

    def _take_up(self, area: Area, dig: DigSoFar) -> None:
        session = self._screen.session
        if session.plan.areas.get(area.name) is not area:
            return  # another plan was accepted meanwhile
        dig.start(session.state)
        self._area, self._dig = area, dig if dig.can_tell else None
        self._on_change()
