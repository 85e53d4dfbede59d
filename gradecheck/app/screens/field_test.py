"""The instrument tests as guided flows: one figure after the other, then what they say of the beam."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Refusal, field_tests
from gradecheck.actions.field_tests import FIELD_TESTS
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.journal.facts import InstrumentTested

PEGS = ("A", "B", "A", "B", "A", "B")
"""Which peg each step of the two-peg test is about."""
PLACES = (
    _("midway        A ─────────── laser ─────────── B"),
    _("second place  A ── laser ──────────────────── B"),
)


class FieldTestScreen(EntryScreen):
    """Key one figure after the other; an empty Enter at the end records the test."""

    GUIDE = "moving"
    TITLE = _("Test of the laser")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "other_test", _("Two-peg or four directions"), word=_("Other test"), show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._test = next(iter(FIELD_TESTS.values()))
        self._typed: list[str] = []

    def compose(self) -> ComposeResult:
        """The steps with their figures, and one line for the next."""
        yield Title()
        with VerticalScroll(id="keys", can_focus=False):
            yield Sheet()
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="figure", placeholder=_("reading or distance"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Begins with the first step."""
        self.show()

    def show(self) -> None:
        """Shows the steps so far and asks for the next."""
        title = _(" {job} · {name} test of the laser", job=self.session.plan.job, name=self._test.name)
        self.query_one("#head", Static).update(plain(title))
        self.query_one(Sheet).show([[(self._test.what, "ink")], [], *self._sketch(), *self._steps()])
        if len(self._typed) < len(self._test.steps):
            self.say(f"{self._test.steps[len(self._typed)]} …?")
            return
        fact = actions.instrument_test(self.session.state, self._test.name, self._typed).fact
        assert isinstance(fact, InstrumentTested)
        verdict = field_tests.verdict_of(self.session.state, fact)
        self.say(_("{verdict} Enter records the test, Escape goes back one step.", verdict=verdict))

    def _sketch(self) -> list[Row]:
        """The laser's two places between the pegs, the one that is worked from marked."""
        if len(self._test.steps) != len(PEGS):
            return []
        at = 0 if len(self._typed) < 2 else 1
        return [*([(line, "strong" if at == place else "quiet")] for place, line in enumerate(PLACES)), []]

    def _steps(self) -> list[Row]:
        """Each step: those done with their figures, the one that is asked for marked, the others standing back."""
        wide = max(map(len, self._test.steps))
        rows: list[Row] = []
        for at, step in enumerate(self._test.steps):
            now = at == len(self._typed)
            look = "strong" if now else "ink" if at < len(self._typed) else "quiet"
            typed = self._typed[at] if at < len(self._typed) else "…" if now else ""
            rows.append([(f"{at + 1}  {step:<{wide}}  ", look), (typed, "strong")])
        return rows

    async def commit(self, text: str) -> None:
        """Takes the next figure, or records the test."""
        typed = text.strip()
        if typed == "?":
            await self.run_action("app.keys")
        elif typed and len(self._typed) < len(self._test.steps):
            field_tests.figure(self.session.state, typed, len(self._typed))
            self._typed.append(typed)
            try:
                self.show()
            except Refusal:
                self._typed.pop()
                raise
        elif not typed and len(self._typed) == len(self._test.steps):
            await self.keep(
                "", tuple(self._typed), actions.instrument_test(self.session.state, self._test.name, self._typed)
            )
            self.dismiss()

    def action_other_test(self) -> None:
        """To the other test, from its first step."""
        tests = list(FIELD_TESTS.values())
        self._test = tests[(tests.index(self._test) + 1) % len(tests)]
        self._typed = []
        self.show()

    async def leave(self) -> None:
        """One step back, and from the first step out."""
        if self._typed:
            self._typed.pop()
            self.show()
        else:
            self.dismiss()
