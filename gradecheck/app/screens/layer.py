"""The Layer screen: that a stage was compacted, in how many passes, or that someone ordered an undercut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.check_words import LayerNote
from gradecheck.app.plain import plain
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, stage_word, translated
from gradecheck.journal.facts import Note
from gradecheck.plan.model import SUBGRADE

NOTED_AT_MOST = 6
"""What was noted before in the area, the latest, that there is room for."""


@dataclass(frozen=True, slots=True)
class _Question:
    name: str
    asks: str
    example: str
    if_none: str = ""
    """What Enter alone says; empty where there has to be an answer."""


_ASKED = {
    LayerNote.COMPACTION: (
        _Question(_("passes"), _("In how many passes was it compacted?"), _("a whole number such as 4")),
        _Question(
            _("remark"),
            _("What was it rolled with, how wet was it?"),
            _("a few words; Enter alone leaves it out"),
            _("none"),
        ),
    ),
    LayerNote.UNDERCUT: (
        _Question(_("depth"), _("How far below the subgrade is it to be dug?"), _("a length")),
        _Question(_("where"), _("At which point?"), _("a point; Enter alone means the whole area"), _("everywhere")),
        _Question(_("ordered by"), _("Who ordered it?"), _("a name")),
        _Question(_("why"), _("Why was it ordered?"), _("a few words")),
    ),
}


class LayerScreen(PagedScreen):
    """One answer after the other; the last one records them all."""

    GUIDE = "evening"
    TITLE = _("Layer")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "other_note", _("Compaction, or an undercut that was ordered"), word=_("Other"), show=True),
        bind("stage", "next_stage", _("Next layer up"), show=True),
    ]

    def __init__(self, area: str, stage: str, note: LayerNote = LayerNote.COMPACTION, first: str = "") -> None:
        """`first` is the answer to the first question, where it was typed already."""
        super().__init__()
        self._area = area
        self._stage = stage
        self._note = note
        self._first = first
        self._answers: list[str] = []
        self.noted = ""
        """What was recorded, once it was."""

    def compose(self) -> ComposeResult:
        """The questions with their answers, what was noted before, and one line for the next answer."""
        yield Title()
        with Pages(id="keys"):
            yield Sheet()
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="answer-box")
        yield KeyLine()

    def on_mount(self) -> None:
        """Begins with the first question that is not answered yet."""
        self.show()
        if self._first:
            try:
                self._answer(self._first)
            except Refusal as wrong:
                self.entry.value = self._first
                self.complain(str(wrong))

    @property
    def _asked(self) -> tuple[_Question, ...]:
        return _ASKED[self._note]

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """The last answer records them all; Escape goes back one question."""
        last = len(self._answers) == len(self._asked) - 1
        return (("open", _("record it") if last else _("next question")),)

    def show(self) -> None:
        """Shows the answers so far and asks for the next."""
        title = _(" {job} · {area}", job=self.session.plan.job, area=self._area)
        self.query_one("#head", Static).update(plain(title))
        self.query_one(Sheet).show([*self._rows(), *self._before()])
        question = self._asked[len(self._answers)]
        self.entry.placeholder = question.example
        back = _("Escape goes back one question.") if self._answers else _("Escape goes back.")
        self.say(f"{question.asks} {back}")

    def _rows(self) -> list[Row]:
        where = stage_word(self._stage) if self._note is LayerNote.COMPACTION else stage_word(SUBGRADE)
        what = _("Compaction") if self._note is LayerNote.COMPACTION else _("Undercut, ordered")
        rows: list[Row] = [[(f"{what}: ", "ink"), (f"{self._area}, {where}", "strong")], []]
        wide = max(len(question.name) for question in self._asked)
        for at, question in enumerate(self._asked):
            now = at == len(self._answers)
            look = "strong" if now else "ink" if at < len(self._answers) else "quiet"
            given = self._answers[at] or question.if_none if at < len(self._answers) else "…" if now else ""
            rows.append([(f"{at + 1}  {question.name:<{wide}}  ", look), (given, "strong")])
        return rows

    def _before(self) -> list[Row]:
        noted = [translated(kept.fact.text) for kept in self.session.state.record.on_layers(self._area)]
        if not noted:
            return []
        return [
            [],
            [(_("Noted here before:"), "quiet")],
            *([(f"  {each}", "ink")] for each in noted[-NOTED_AT_MOST:]),
        ]

    async def commit(self, text: str) -> None:
        """Takes the next answer, and records them all behind the last."""
        typed = text.strip()
        if typed == "?":
            await self.run_action("app.keys")
            return
        if len(self._answers) < len(self._asked) - 1:
            self._answer(typed)
            return
        answers = (*self._answers, typed)
        kept = await self.keep(typed, (self._note, self._stage, *answers), self._action(*answers))
        assert isinstance(kept.fact, Note)
        self.noted = _("Noted in {area}: {text}.", area=kept.fact.area, text=translated(kept.fact.text))
        self.dismiss()

    def _answer(self, typed: str) -> None:
        """Takes it where it makes sense; what is not asked yet is looked at when it is."""
        answers = (*self._answers, typed)
        later = ["" if each.if_none else "-" for each in self._asked[len(answers) :]]
        self._action(*answers, *later)
        self._answers.append(typed)
        self.show()

    def _action(self, *answers: str) -> Action:
        state = self.session.state
        if self._note is LayerNote.COMPACTION:
            passes, remark = answers
            return actions.compaction(state, self._area, self._stage, passes, remark)
        depth, point, ordered_by, why = answers
        return actions.order_undercut(state, self._area, point, depth, ordered_by, why)

    def action_other_note(self) -> None:
        """To the other kind of note, from its first question."""
        notes = list(LayerNote)
        note = notes[(notes.index(self._note) + 1) % len(notes)]
        if note is LayerNote.UNDERCUT:
            actions.refuse_no_subgrade(self.session.plan.areas[self._area])
        self._note = note
        self._answers = []
        self.show()

    def action_next_stage(self) -> None:
        """To the next layer up of the area, from the finish to the lowest."""
        stages = self.session.plan.areas[self._area].stages
        self._stage = stages[(stages.index(self._stage) + 1) % len(stages)]
        self._note, self._answers = LayerNote.COMPACTION, self._answers if self._note is LayerNote.COMPACTION else []
        self.show()

    async def leave(self) -> None:
        """One question back, and from the first one out."""
        if self._answers:
            self._answers.pop()
            self.show()
        else:
            self.dismiss()
