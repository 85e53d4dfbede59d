"""Shares the open job by the folder of the settings, in a program of its own: nobody waits for it, however it hangs.

A thread would not do. One that hangs in a network drive keeps its program from ending on some systems.
"""

from __future__ import annotations

import subprocess
import time
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck.catalogue import _
from gradecheck.report.sharing import copy_age, office_age
from gradecheck.sharing.beside import begin, begin_and_leave
from gradecheck.sharing.last_copy import LastCopy, last_copy, office_plans
from gradecheck.system import trail

if TYPE_CHECKING:
    from textual.timer import Timer

    from gradecheck.app.app import GradeApp
    from gradecheck.session.session import Session

AFTER = 2.0
"""Seconds after a job was opened; by then its first picture stands, and its copy beside it is under way."""
LOOKS_EVERY = 0.25
AT_MOST = 330.0
"""Seconds; by then the program beside has given up by itself, if it can."""
MINUTE = 60.0
MOST_COUNTED = 500
"""Entries that are looked through for those to be sent."""


class SharingBeside:
    """Starts a share now and then, and knows how old the last one is."""

    def __init__(self, app: GradeApp, session: Session, folder: Path | str, every: int) -> None:
        """`every` so many minutes; `folder` may be the address of an office."""
        self._app, self._session, self._folder = app, session, folder
        self._job = session.folder.absolute()
        session.office_plans = office_plans(self._job)
        self._running: subprocess.Popen[bytes] | None = None
        self._began = 0.0
        self._seq = session.seq
        self._again = self._asked = False
        self._tried = False
        self._last_refusal = ""
        """Why the office refused a share, as it was told."""
        self._to_send: tuple[int, object, int] = (-1, None, 0)
        self._look: Timer | None = None
        self._timers = [app.set_timer(AFTER, self.share), app.set_interval(every * MINUTE, self.share)]

    def stop(self) -> None:
        """Another job is opened, or none; a share that is under way ends by itself."""
        for timer in (*self._timers, *([self._look] if self._look is not None else [])):
            timer.stop()

    def ask(self) -> str:
        """Shares now, since a person wishes it; what came of it is told. Returns what to say until then."""
        self._asked = True
        self.share()
        return _("Sharing by {folder} …", folder=_("the office") if self._is_office else self._folder)

    @property
    def _is_office(self) -> bool:
        return isinstance(self._folder, str)

    def share(self) -> None:
        """Begins a share, or another one behind that which is under way."""
        if self._running is not None:
            self._again = True
            return
        self._again = False
        self._running = self._begin()
        if self._running is not None:
            self._began = time.monotonic()
            self._look = self._app.set_interval(LOOKS_EVERY, self._see)

    def leave(self) -> None:
        """The job is left: what was recorded since the last share goes there in a last one, which ends by itself."""
        self.stop()
        if self._session.seq != self._seq:
            begin_and_leave(self._job, self._folder)

    def _begin(self) -> subprocess.Popen[bytes] | None:
        self._seq = self._session.seq
        return begin(self._job, self._folder)

    def _see(self) -> None:
        if self._running is None:
            return  # this look stood in line behind the one that saw the end
        if self._running.poll() is None:
            if time.monotonic() - self._began > AT_MOST:
                self._running.kill()  # and is looked at again: one that hangs in a drive ends when that lets it
            return
        trail.note("share", code=self._running.returncode, s=f"{time.monotonic() - self._began:.1f}")
        self._running, self._tried = None, True
        self._session.office_plans = office_plans(self._job)
        if self._look is not None:
            self._look.stop()
        if self._asked:
            self._asked = False
            self._session.remark = last_copy(self._job).says  # what others recorded may be shown in a moment
            self._app.tell_shared(self._session.remark)
        elif self._is_office:
            self._tell_refusal(last_copy(self._job))
        self._app.copies += 1
        if self._again:
            self.share()

    def _tell_refusal(self, last: LastCopy) -> None:
        """Tells once why the office refused a share; that nobody answers is nothing out of the way."""
        if not last.refused:
            self._last_refusal = ""
        elif last.says != self._last_refusal:
            self._last_refusal = self._session.remark = last.says
            self._app.tell_shared(last.says)

    def age(self) -> tuple[str, bool]:
        """How old the last copy is, and whether that is old; nothing before this window tried for the first time."""
        at = last_copy(self._job).at
        if at is None and not self._tried:
            return "", False
        if self._is_office:
            return office_age(at, self._app.now, self._recorded_since(at))
        return copy_age(at, self._app.now)

    def _recorded_since(self, at: datetime | None) -> int:
        """How many entries of this laptop are not at the office yet; of very many only the last are counted."""
        seq, since, number = self._to_send
        if (seq, since) != (self._session.seq, at):
            lines = self._session.lines(limit=MOST_COUNTED) if at is not None else []
            laptops = self._session.state.laptops
            own = (line.entry for line in lines if laptops is None or laptops.is_own(line.entry.seq))
            number = sum(1 for entry in own if at is not None and entry.at > at)
            self._to_send = self._session.seq, at, number
        return number
