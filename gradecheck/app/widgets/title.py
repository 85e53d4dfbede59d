"""The title of a screen: what it shows, and at the right what must not be forgotten of the setup."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from textual.visual import VisualType
from textual.widgets import Static

from gradecheck.app.plain import clean, plain
from gradecheck.report.instrument import setup_warning
from gradecheck.session.session import Session

LEAST_OF_JOB = 4
"""Cells of a job's name that a title keeps while it is cut for the name of the screen."""


class Title(Static):
    """One line; while the setup in use disagrees, that is said at its right end, in figures that are never cut."""

    def __init__(self, text: str = "") -> None:
        super().__init__(plain(text), id="head")
        self._left = clean(text)

    def on_mount(self) -> None:
        """Keeps up with the setup."""
        self.watch(self.app, "changes", self._draw, init=False)
        self._draw()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._draw()

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Another title."""
        self._left = content if isinstance(content, str) else getattr(content, "plain", str(content))
        self._draw()

    def _draw(self) -> None:
        session = getattr(self.app, "session", None)
        warning, job = (warned(session), session.plan.job) if isinstance(session, Session) else (("", ""), "")
        line = beside(self._left, *warning, self.content_size.width, clean(job))
        super().update(plain(line), layout=False)


def warned(session: Session) -> tuple[str, str]:
    """``SETUP DISAGREES 7/16 in`` and why it is used all the same; empty where nothing is to be said."""
    return setup_warning(session.state, session.state.setup)


def beside(left: str, warning: str, why: str, width: int, job: str = "") -> str:
    """Both in one line of so many cells: the warning whole; the job's name gives way first, then the reason.

    What else a title says, the name of the screen above all, is cut only where no reason is left to cut.
    """
    if not warning:
        return left
    room = max(width - cell_len(warning) - 2, 0)
    if why:
        least = min(cell_len(why) + 2, room // 3)  # a job is known from the screens before, a reason from nowhere
        short = cell_len(_short(left, job, 0))
        why = _cut(why, max(room - cell_len(left), min(least, room - short)) - 2)
        warning += f": {why}" if why else ""
        room = max(width - cell_len(warning) - 2, 0)
    left = _cut(_short(left, job, room), room)
    return left + " " * max(width - cell_len(left) - cell_len(warning), 0) + warning


def _short(left: str, job: str, room: int) -> str:
    """The title with its job's name cut for that room, but not to fewer cells than `LEAST_OF_JOB`."""
    before, name, behind = left.partition(job) if job else (left, "", "")
    return before + _cut(name, max(room - cell_len(before) - cell_len(behind), LEAST_OF_JOB)) + behind


def _cut(text: str, room: int) -> str:
    """The text in so many cells; what is cut says so."""
    if cell_len(text) <= room:
        return text
    return set_cell_size(text, room - 1) + "…" if room > 1 else ""
