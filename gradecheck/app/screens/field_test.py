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
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.journal.facts import InstrumentTested


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
            yield Static(id="steps")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="figure", placeholder=_("reading or distance"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Begins with the first step."""
        self.show()

    def show(self) -> None:
        """Shows the steps so far and asks for the next."""
        title = _(" {job} · {name} test of the laser", job=self.session.plan.job, name=self._test.name)
        self.query_one("#head", Static).update(plain(title))
        done = [f"  {step} {typed}" for step, typed in zip(self._test.steps, self._typed, strict=False)]
        self.query_one("#steps", Static).update(plain_lines([f"  {self._test.what}", "", *done]))
        if len(self._typed) < len(self._test.steps):
            self.say(f"{self._test.steps[len(self._typed)]} …?")
            return
        fact = actions.instrument_test(self.session.state, self._test.name, self._typed).fact
        assert isinstance(fact, InstrumentTested)
        verdict = field_tests.verdict_of(self.session.state, fact)
        self.say(_("{verdict} Enter records the test, Escape goes back one step.", verdict=verdict))

    async def commit(self, text: str) -> None:
        """Takes the next figure, or records the test."""
        typed = text.strip()
        if typed == "?":
            await self.run_action("app.keys")
        elif typed and len(self._typed) < len(self._test.steps):
            field_tests.figure(self.session.state, typed)
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
