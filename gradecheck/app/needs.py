"""What the state of Check needs first, as keys with a word or two; the line of keys begins with them."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.app.check_view import BEING_WRITTEN, CheckView, Panel
from gradecheck.catalogue import _
from gradecheck.measure.verdict_words import Word
from gradecheck.report.instrument import look_again, setup_disagrees
from gradecheck.session.session import BROUGHT_BACK_NOW, Session

Need = tuple[str, str]
"""The meaning of a key, and what it does now."""


def needs_of_check(session: Session, view: CheckView, *, failed: bool) -> Iterator[Need]:
    """The first comes first; `failed` where what was entered could not be written."""
    if session.view_only:
        yield "other-folder", _("go on in a copy")
        return
    if view.panel is Panel.QUESTION:
        yield "open", _("keep it")
        yield "back", _("clear it")
    elif view.panel is Panel.NOT_SAVED and failed:
        yield "open", _("save it again")
        yield "other-folder", _("go on in a copy")
    elif view.panel is Panel.NOT_SAVED and not view.note.endswith(BEING_WRITTEN):
        yield "back", _("clear it")
    yield from _of_the_laser(session)
    if session.offered_changes is not None or session.plan_file.wrong is not None:
        yield "plan", _("see the changed job file")
    yield from _of_the_point(view)


def _of_the_laser(session: Session) -> Iterator[Need]:
    state = session.state
    if state.setup is not None and session.why_set_up_is_old == BROUGHT_BACK_NOW:
        yield "recheck", _("recheck first")
    elif state.setup is None or session.why_set_up_is_old:
        yield "set-up", _("finish the setup") if state.sights else _("set up")
    elif setup_disagrees(state, state.setup):
        yield "set-up", _("set up again")
    elif look_again(state, session.clock(), session.since_look):
        yield "recheck", _("recheck now")
    doubts = len(state.doubts())
    if doubts or (state.may_doubt and state.doubt.marks()):
        yield "doubt", _("answer {doubts} in doubt", doubts=doubts or _("marks"))


def _of_the_point(view: CheckView) -> Iterator[Need]:
    if view.hint:
        yield "strike", _("strike the slip")
    reading = view.answer
    if reading is not None and reading.word in (Word.CUT, Word.FILL) and view.point == view.here.point:
        yield "open", _("leave it {value}", value=reading.word.shown)
    if view.progress is not None and view.progress.points and not view.progress.left:
        yield "stage", _("next stage")
