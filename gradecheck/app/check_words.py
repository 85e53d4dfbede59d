"""What Check says and asks, as sentences: the screen has them above its box, ``gradecheck line`` prints them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from enum import StrEnum

from gradecheck.app.check_view import BEING_WRITTEN, CheckView, Panel, points_said
from gradecheck.app.route import Route
from gradecheck.catalogue import _
from gradecheck.journal.facts import Entry, Reading
from gradecheck.measure.verdict_words import Word
from gradecheck.report.instrument import disagreement, look_again, setup_disagrees
from gradecheck.report.rows import at_offset, example_figures, grade_rod
from gradecheck.session.session import BROUGHT_BACK_NOW, Session
from gradecheck.state.state import State, Surface
from gradecheck.survey.level_book import RecordedSetup

LEFT_AT_MOST = 12
"""Points left that are named one by one."""


class LayerNote(StrEnum):
    """What is noted; the word that is typed for it on Check, as the command is called."""

    COMPACTION = "compact"
    UNDERCUT = "undercut"


def layer_note(typed: str) -> LayerNote | None:
    """What that typed text begins to note, where its first word says so."""
    word = typed.casefold().split()[0]
    return next((note for note in LayerNote if note.value == word), None)


def without_tilde(text: str) -> str:
    """The figure without the sign that it was rounded: that is said once, over the list."""
    return text.removeprefix("~")


def prompt_text(session: Session, route: Route) -> str:
    """What is to be done next at the point under the hand, or what keeps it from being done."""
    if only := session.view_only:
        return only[:1].upper() + only[1:]
    state, surface, area = session.state, route.surface, route.area
    what = state.what(surface)
    name = f"{surface.point} ({what})" if what else surface.point
    examples = example_figures(state.examples(surface, state.setup.id if state.setup else ""))
    at = at_offset(state.offset, session.plan.notation.units)
    rod = examples or f"{without_tilde(grade_rod(state, surface))}{f' ({at})' if at else ''}"
    if state.setup is not None and session.why_set_up_is_old == BROUGHT_BACK_NOW:
        return f"{name}: {BROUGHT_BACK_NOW}"
    if state.setup is None or session.why_set_up_is_old:
        return _("{name}: no setup. Press F4 to set up.", name=name)
    if state.target(surface) is None:
        datum = session.plan.datums[area.datum or ""]
        return _(
            "{point}: datum “{datum}” isn't tied in yet; shoot {mark} first (F7).",
            point=name,
            datum=datum.name,
            mark=datum.mark,
        )
    if (hold := state.record.hold_before(area, surface.stage)) is not None:
        return _("{name}: {hold} is a hold point and not signed off. F9 signs it.", name=name, hold=hold)
    if offer := _offer(session):
        return f"{name}: {rod}. {offer}"
    if reminder := look_again(state, session.clock(), session.since_look):
        return f"{name}: {rod}. {reminder}"
    if state.checked(area.name, surface.stage) == len(area.points) and state.latest(surface):
        from gradecheck.report.review import all_checked

        return _(
            "{all_checked}. F3 next stage, F2 next area; {name}: {rod}",
            all_checked=all_checked(state, area, surface.stage),
            name=name,
            rod=rod,
        )
    if examples:
        return _("{name}: {examples}; write your own figures there first.", name=name, examples=examples)
    return _("{name}: the rod should read {rod}{stays}", name=name, rod=rod, stays=_stays(state, route))


def _stays(state: State, route: Route) -> str:
    """That the point stays current, behind a reading there that is not on grade."""
    verdict = state.verdict(route.surface)
    if verdict is None or verdict.word is Word.ON_GRADE or route.shown != route.surface:
        return ""
    return _(". Read it again, or Enter alone goes on.")


def _offer(session: Session) -> str:
    """That the job file changed, until it is accepted."""
    if session.plan_file.wrong is not None:
        return _("The job file has changed and can't be read; Ctrl+Y shows why.")
    changes = session.offered_changes
    if changes is None:
        return ""
    from gradecheck.report.plan_changes import offer_words, summary

    what = offer_words(session.offered_number)
    return _("{what}: {summary}. Ctrl+Y shows it.", what=what, summary=summary(changes, session.plan.notation))


def beginning(session: Session, route: Route) -> str:
    """One caution more where nobody has read yet at a stage below the finish."""
    area, stage = route.area, route.stage
    if stage == area.stages[-1] or session.state.checked(area.name, stage) or session.view_only:
        return ""
    from gradecheck.report.cautions import stage_caution

    return stage_caution(session.plan, area.name, stage)


def stays_put(route: Route, *, left: bool) -> str:
    """Why Enter alone has not gone anywhere."""
    why = _("the only one left") if left else _("on grade, as all here")
    return _("{point} is {left}.", point=route.surface.point, left=why)


def struck(surface: Surface, typed: str) -> str:
    """That a reading was struck at once."""
    said = _(
        "Struck: {point} {stage}, rod {typed}. It stays in the log.",
        point=surface.point,
        stage=surface.stage,
        typed=typed,
    )
    return _("{struck} Enter the reading again.", struck=said)


def undone(session: Session, entry: Entry) -> tuple[Surface | None, str]:
    """What that undo did, and where, where that was at a point."""
    place = session.journal.first_and_last(entry.id)
    fact = next((each.fact for each in (place or ()) if isinstance(each.fact, Reading)), None)
    if fact is None or place is None:
        return None, _("Undone.")
    counts = _("counts again") if isinstance(place[1].fact, Reading) else _("no longer counts")
    said = _("Undone: the reading at {point} {stage} {counts}.", point=fact.point, stage=fact.stage, counts=counts)
    return Surface(fact.area, fact.point, fact.stage), said


def what_is_left(
    state: State, route: Route, left: Sequence[str], fits: Callable[[str], bool] = lambda _said: True
) -> str:
    """The points that are out, in doubt or unread, the next along the route first; so many as fit are named."""
    area, stage = route.area, route.stage
    if left[-1:] == [route.surface.point] and state.latest(route.surface) is None:  # gone to, and not read yet
        left = [left[-1], *left[:-1]]
    at = (spot for spot in state.spots if (spot.area, spot.stage) == (area.name, stage))
    off = [spot.point for spot in at if (seen := state.verdict(spot)) is None or seen.word is not Word.ON_GRADE][
        :LEFT_AT_MOST
    ]
    strings = _(" On strings: {points}.", points=", ".join(points_said(state, area.name, stage, off))) if off else ""
    if not left:
        return _(
            "Nothing is left: all {points} are on grade at {stage}.{strings}",
            points=len(area.points),
            stage=stage,
            strings=strings,
        )
    points = points_said(state, area.name, stage, left[:LEFT_AT_MOST])
    along = _("Press Enter alone to go through them. On F9, Ctrl+L prints them.")

    def says(named: int) -> str:
        more = _(" and {left} more", left=len(left) - named) if len(left) > named else ""
        return _(
            "{left} left: {points}{more}.{strings} {along}",
            left=len(left),
            points=", ".join(points[:named]),
            more=more,
            strings=strings,
            along=along,
        )

    return next((each for each in map(says, range(len(points), 1, -1)) if fits(each)), says(1))


# -- the laser


def backsight_asked(state: State, mark: str, taken: RecordedSetup, rod_name: str) -> str:
    """What the rod reads on that mark, for a setup with the backsights taken so far."""
    rod, sights = state.plan.rods[rod_name], {sight.sight.mark for sight in state.sights}
    again = _("read already; to replace that, what") if mark in sights else _("what")
    more = _(" Press Enter alone to finish.") if sights else ""
    if sights and disagreement(state, taken):
        more = _(" To use it as it is, press Enter alone and type why.")
    return _(
        "{mark}: {again} does the {name} ({kind}, {units}) read there?{more}",
        mark=mark,
        again=again,
        name=rod.name,
        kind=rod.kind,
        units=rod.notation.units,
        more=more,
    )


def marks_disagree(wrong: str) -> str:
    """What to do about marks that disagree by that much."""
    return _("The marks disagree {wrong}. Read one again or a third; to use it anyway, type why.", wrong=wrong)


def recheck_asked(mark: str) -> str:
    """What a recheck asks."""
    return _("{mark}: what does the rod read there now?", mark=mark)


def doubt_asked() -> str:
    """What is asked about readings in doubt."""
    return _("Why can they be trusted? Type the reason, then Enter. Escape leaves them in doubt.")


def initials_asked(by: str) -> str:
    """What is asked under the day's cautions; `by` signs where nobody says otherwise."""
    if by:
        return _("Read and understood? Press Enter to sign as {by}, or type other initials, then Enter.", by=by)
    return _("Read and understood? Type your initials, then Enter.")


# -- what the line of keys begins with


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
