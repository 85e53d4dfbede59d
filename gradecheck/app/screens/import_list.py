"""Where a list or drawing from an office is looked at, asked about, and written as a list beside the job file."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.join import place_typed
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, count, plural
from gradecheck.exchange.answers import ImportAnswers
from gradecheck.files.imports import (
    Sent,
    changed_lines,
    changes,
    found_lines,
    list_name,
    looked_at,
    spans_of,
    with_answer,
    write_list,
)
from gradecheck.plan.problems import PlanProblemsError

ASKED = _("Which file? Type it, then Enter: a list (CSV, XLSX) or a drawing (DXF, LandXML, GeoJSON).")


class ImportScreen(PagedScreen):
    """Asks for a file and for what it does not say itself; nothing is kept before Enter alone writes the list."""

    GUIDE = "files"
    TITLE_WORDS = _("import a list or drawing")
    BINDINGS: ClassVar[list[BindingType]] = [bind("back", "back", show=True)]

    def __init__(self) -> None:
        super().__init__()
        self._path: Path | None = None
        self._sent: Sent | None = None
        self._lines: list[str] = []

    def compose(self) -> ComposeResult:
        """What is in the file, and the box."""
        yield Title(f" {self.session.plan.job} · {self.TITLE_WORDS}")
        with Pages(id="open"):
            yield Static(id="notes")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="sent", placeholder=_("a file, then the answers"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Asks for the file."""
        self._lines = [
            _("What an office sent becomes a list beside job.yaml."),
            _("Nothing is written until you press Enter alone."),
        ]
        self.show()
        self.say(ASKED)

    def show(self) -> None:
        """Shows what was found."""
        self.query_one("#notes", Static).update(plain_lines(self._lines))

    async def commit(self, text: str) -> None:
        """A file, an answer, or Enter alone, which writes the list."""
        typed, sent = text.strip(), self._sent
        if sent is None or self._path is None:
            if not typed:
                raise Refusal(ASKED)
            path = place_typed(typed)
            await self._look(path, ImportAnswers())
        elif typed:
            question = next(iter(sent.taken.questions), None)
            await self._look(self._path, with_answer(sent.answers, question, typed))
        elif sent.taken.questions:
            raise Refusal(sent.taken.questions[0].asks)
        else:
            await self._write(sent)

    def _target(self, path: Path) -> Path:
        return self.session.folder / list_name(path)

    async def _look(self, path: Path, answers: ImportAnswers) -> None:
        """Looks at the file with those answers; where it can't be taken so, those before stay."""
        self.say(_("Reading {name} …", name=path.name))
        try:
            sent = await asyncio.to_thread(looked_at, path, answers, self._target(path))
        except PlanProblemsError as wrong:
            first, more = wrong.problems[0], len(wrong.problems) - 1
            first_line = _("line {line}: {says}", line=first.line, says=first.says)
            raise Refusal(
                _("{first} And {more} more.", first=first_line, more=more) if more else first_line
            ) from None
        self._path, self._sent = path, sent
        taken, self._lines = sent.taken, found_lines(sent)
        if taken.points:
            self._lines.append(f"{count(len(taken.points), 'point')}: {spans_of(taken)}.")
        changed = changes(sent)
        self._lines += changed_lines(changed)
        if changed is not None and not any(changed.values()):
            self._lines.append(_("Nothing changed since the last time."))
        if more := len(taken.questions) - 1 if taken.questions else 0:
            self._lines.append(
                plural(more, "{n} more question after this one.", "{n} more questions after this one.")
            )
        self.show()
        self.query_one(Pages).to_top()
        self.say(
            taken.questions[0].asks
            if taken.questions
            else _("Enter alone writes {name}; an answer can still be changed, like units m.", name=list_name(path))
        )

    async def _write(self, sent: Sent) -> None:
        assert self._path is not None
        written = await asyncio.to_thread(write_list, sent, self._target(self._path))
        names = [each.name for each in written]
        self._lines = [
            _("Written beside job.yaml: {names}.", names=", ".join(names)),
            _("An area takes it with:"),
            *(f"    {'points' if each.endswith('.csv') else 'outline'}: {each}" for each in names),
        ]
        self._path = self._sent = None
        self.show()
        self.say(_("Written. Another file, or Escape."))
