"""Where a job is copied into another folder, to go on there."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.files.job_copy import copy_job


class OtherFolderScreen(EntryScreen):
    """Asks for a folder; with the copy made there it ends, and Check goes on in it."""

    TITLE = _("Other folder")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", _("Back to Check; nothing is copied"), show=True),
    ]

    went: Path | None = None
    """The folder in which the job is now too."""
    holds = ""
    """What there is to say of the copy, where it was put together."""

    def compose(self) -> ComposeResult:
        """Where the job lies, and the box."""
        yield Title()
        with VerticalScroll(id="keys", can_focus=False):
            yield Sheet()
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="folder", placeholder=_("a new folder"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Proposes a place in the home folder."""
        self.query_one(Title).update(_(" {job} · go on in another folder", job=self.session.plan.job))
        proposed = self._proposed()
        places = ((_("The job is in "), str(self.session.folder)), (_("The copy goes to "), str(proposed)))
        self.query_one(Sheet).show(
            [
                *([(name, "quiet"), (place, "strong")] for name, place in places),
                [],
                [
                    (
                        _("Plan and log are copied whole, and work goes on in the copy. The old one stays as it is."),
                        "ink",
                    )
                ],
            ]
        )
        self.say(_("Which folder? Press Enter alone for {proposed}", proposed=proposed))

    def _proposed(self) -> Path:
        name = self.session.folder.name or "job"
        numbers = ("", *(f"-{number}" for number in range(2, 100)))
        places = (Path("~") / f"{name}-copy{number}" for number in numbers)
        return next(each for each in places if not os.path.lexists(os.path.expanduser(each)))

    async def commit(self, text: str) -> None:
        """Copies, and goes on there."""
        to = _whole(text.strip() or str(self._proposed()))
        self.say(_("Copying to {to} …", to=to))
        self.holds = await asyncio.to_thread(copy_job, self.session, to)
        self.went = to
        await self.leave()


def _whole(typed: str) -> Path:
    """The folder's whole path. Raises Refusal where that can't be told."""
    try:
        return Path(typed).expanduser().absolute()
    except (OSError, RuntimeError) as wrong:  # where it was started is gone with the stick, or nobody has that home
        raise Refusal(_("Can't tell where “{typed}” is; give the full path, or one in ~.", typed=typed)) from wrong
