"""The lower half of Check: the last reading in words, its verdict for the machine's seat, and where it lies."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.containers import Vertical

from gradecheck.app.check_view import CheckView
from gradecheck.app.widgets.banner import Banner
from gradecheck.app.widgets.line import Line
from gradecheck.app.widgets.tolerance_bar import ToleranceBar
from gradecheck.measure.verdict_words import Word

TONES = {Word.CUT.value: "tone-work", Word.FILL.value: "tone-work", Word.ON_GRADE.value: "tone-calm"}
"""The colour of each verdict; anything else is doubt."""
DOUBT = "tone-doubt"


class AnswerPanel(Vertical):
    """Shows one answer, or that there is none yet."""

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:
        super().__init__(id=id)
        self._ascii_only = ascii_only
        self._told: tuple[str, str, str] | None = None

    def compose(self) -> ComposeResult:
        """One line of words, the large letters, the tolerance."""
        yield Line(id="answer")
        yield Banner(id="banner", ascii_only=self._ascii_only)
        yield ToleranceBar(id="bar")

    def say(self, view: CheckView, *, with_sure: bool, dug: str = "") -> None:
        """Shows the answer; `with_sure` adds how sure it is, `dug` says what is over-dug so far."""
        answer, stage = view.answer, view.stage
        self.query_one(ToleranceBar).place(answer, dug)
        words, banner = self.query_one("#answer", Line), self.query_one(Banner)
        if answer is None:
            self._told = None
            words.say(f" {view.point} {stage}: {'not saved.' if view.large else 'no reading yet.'}")
            banner.say(view.large, DOUBT if view.large else "")
            return
        sure = f" {answer.sure or '(the plan does not say how sure)'}" if with_sure else ""
        end = "IN DOUBT: read it again" if answer.doubt else "saved"
        self._told = (
            f" {answer.point} {stage}  ",
            f"{view.was}  {answer.what}" if view.was else answer.what,
            f"   found {answer.found}{sure}, rod {answer.rod}   {end}",
        )
        self._fit()
        banner.say(view.large, DOUBT if answer.doubt else TONES.get(answer.word, DOUBT))

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._fit()

    def _fit(self) -> None:
        """Shows the words; where they are too long, those on what the point is give way and not the last ones."""
        if self._told is None:
            return
        before, what, behind = self._told
        room = self.size.width - cell_len(before) - cell_len(behind)
        if self.size.width and room < cell_len(what):
            what = set_cell_size(what, max(room - 1, 0)) + "…"
        self.query_one("#answer", Line).say(f"{before}{what}{behind}")
