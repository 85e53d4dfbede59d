"""What Check shows, as plain data: screens and tests read one object, widgets only draw it.

`CheckView` is the seam between what Check does and how it looks. The screen keeps three things: the surface under the
hand (`here`), the surface that the panel is about (`shown`), and what was entered and is not saved (`unsaved`).
`check_view` makes everything else from those and the state. A widget that draws it needs nothing more:

- `panel` says which of the four panels it is, and `large` what stands in its letters: NOTHING has none (the point's
  name may stand there) and `note` where no setup is, VERDICT has `answer`, QUESTION and NOT_SAVED a `note` why.
- `point` and `stage` name what the panel is about; `here` names where the next reading goes. They differ only after
  ON GRADE, until the next key.
- `was` is what the reading before said (``was CUT 1, now CUT 1/4``), `hint` a likely slip in the reading just saved
  (``1 ft more than its neighbors: slip? * strikes it``); both are empty when there is nothing to say.
- `card` is the point under the hand: what the rod should read there, its target, its last reading.
- `progress` counts the area at the stage, `left` names what is left of it when that is little.
- `line` is the sentence above the box, `wrong` whether it says why something was not done.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gradecheck.catalogue import _
from gradecheck.journal.stamps import day_of, on_site
from gradecheck.measure.printed import offset_words, show, show_exact
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.targets import true_minus
from gradecheck.report.dates import day_and_month
from gradecheck.report.rows import Answer, answer, at_offset, grade_rod, headline, shown
from gradecheck.state.state import Shot, State, Surface
from gradecheck.state.tally import DOUBT, StageCount, stage_count, word_at

NEARLY_DONE = 3
"""Points left of an area that are named in the header; more than that are only counted."""
NO_SETUP = _("No setup · press F4 to set up")
"""What is to be done before any rod is held anywhere."""
RECHECK_FIRST = _("Recheck a mark first · press F5")
BEING_WRITTEN = _("being written")
"""Why a reading is not saved that is on its way to the disk."""
COUNTED_AT_ONCE = 1000
"""Points of an area that are all judged when it is gone to: some 60 ms, measured."""


class Panel(StrEnum):
    """What the large panel says."""

    NOTHING = "nothing"
    """The point was not read at this stage yet."""
    VERDICT = "verdict"
    """The last reading at `point`, saved."""
    QUESTION = "question"
    """What was entered is not saved: Enter again keeps it."""
    NOT_SAVED = "not saved"
    """What was entered is not saved: it was refused, or could not be written."""


@dataclass(frozen=True, slots=True)
class Unsaved:
    """What was entered and is not on the disk, and why; `asked` where Enter again keeps it."""

    typed: str
    says: str
    asked: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """The point under the hand. `should_read` and `target` are empty where they can't be said."""

    point: str
    what: str
    stage: str
    should_read: str
    target: str
    tolerance: str
    last_read: str
    last_at: str
    offset: str = ""
    """The working offset that stands, ``offset 3 1/4 in above``."""
    crew: str = ""
    """What the laptop is called whose crew read it last, where that is another one: then how it came out is told."""


@dataclass(frozen=True, slots=True)
class CheckView:
    """Everything Check shows."""

    panel: Panel
    point: str
    stage: str
    large: str
    note: str
    answer: Answer | None
    saved_at: str
    was: str
    hint: str
    here: Surface
    card: Card
    progress: StageCount | None
    crew: str = ""
    """Who read what the panel shows, where that was another laptop's crew: ``JM, north crew``."""
    late_by: str = ""
    """Who read it, where it was entered later than it was taken: `saved_at` is then when it was read."""


def check_view(
    state: State,
    here: Surface,
    shown_at: Surface | None,
    *,
    unsaved: Unsaved | None = None,
    hint: str = "",
    tally: Tally | None = None,
    no_reading: str = "",
) -> CheckView:
    """What is to be shown: nothing stale. What is not saved comes before any verdict.

    `here` is where the next reading goes, `shown_at` what the panel is about, None for nothing. `no_reading` says
    what is to be done first where nothing may be read from the setup that the state has, as from that of another day.
    """
    shown = answer(state, shown_at) if shown_at is not None and unsaved is None else None
    about = shown_at if shown is not None and shown_at is not None else here
    if unsaved is not None:
        panel = Panel.QUESTION if unsaved.asked else Panel.NOT_SAVED
        large, note = "SLIP?" if unsaved.asked else _("NOT SAVED"), _why(unsaved)
    elif shown is not None:
        panel, large, note = Panel.VERDICT, f"{shown.headline} ?" if shown.doubt else shown.headline, ""
    else:
        panel, large, note = Panel.NOTHING, "", NO_SETUP if state.setup is None else no_reading
    shot = state.latest(about) if shown is not None else None
    return CheckView(
        panel=panel,
        point=about.point,
        stage=about.stage,
        large=large,
        note=note,
        answer=shown,
        saved_at=f"{on_site(shot.at, shot.offset):%H:%M}" if shot is not None else "",
        was=was(state, about) if shown is not None else "",
        hint=hint if shown is not None else "",
        here=here,
        card=card(state, here),
        progress=tally.progress if tally is not None else None,
        crew=state.who(shot.seq, shot.by) if shot is not None and not state.is_own(shot) else "",
        late_by=shot.by if shot is not None and shot.late else "",
    )


def _why(unsaved: Unsaved) -> str:
    """Why it is not saved, behind what was typed where the sentence does not name that itself."""
    named = re.search(rf"(?<![\w/]){re.escape(unsaved.typed)}(?![\w/])", unsaved.says)
    return unsaved.says if named else f"{unsaved.typed}: {unsaved.says}"


def notes_of(view: CheckView, reading: Answer, *, with_sure: bool = False) -> tuple[str, ...]:
    """What is said of a reading next to its verdict."""
    allowed = f"±{reading.allowed_high}" if reading.allowed_high == reading.allowed_low else ""
    notes = (
        _("IN DOUBT: read it again") if reading.doubt else "",
        view.hint,
        _("read {rod}, {offset}", rod=reading.rod, offset=reading.offset)
        if reading.offset
        else _("read {rod}", rod=reading.rod),
        view.was,
        _("off {length}", length=true_minus(reading.off)) if reading.off else "",
        (reading.sure or _("(no uncertainty given in the plan)")) if with_sure else "",
        _("found {length}", length=true_minus(reading.found)),
        _("allowed {allowed}", allowed=allowed or f"+{reading.allowed_high} −{reading.allowed_low}"),
    )
    return tuple(filter(None, notes))


def card(state: State, here: Surface) -> Card:
    """The point under the hand."""
    target, shot = state.target(here), state.latest(here)
    notation = state.plan.notation
    wanted = target.wanted if target is not None and not state.is_example(here) else None
    crew = state.laptops.called(shot.seq) if shot is not None and state.laptops and not state.is_own(shot) else ""
    return Card(
        point=here.point,
        what=state.what(here),
        stage=here.stage,
        should_read=grade_rod(state, here),
        target=shown(state.shown(wanted), notation) if wanted is not None else "",
        tolerance=_tolerance(state, here),
        # What another laser's rod read says nothing here; how it came out does.
        last_read=(_needs(state, here) if crew else _last_read(state, shot)) if shot is not None else "",
        last_at=_last_at(state, shot, crew) if shot is not None else "",
        crew=crew,
        offset=at_offset(state.offset, notation.units),
    )


def _last_at(state: State, shot: Shot, crew: str) -> str:
    """When it was read; where another crew did, by whom, and on which day if not the last one."""
    when = on_site(shot.at, shot.offset)
    if not crew or state.laptops is None:
        return f"{when:%H:%M}"
    today = state.laptops.last_own_at
    day = "" if today and day_of(today, shot.offset) == day_of(shot.at, shot.offset) else f"{day_and_month(when)} "
    return f"{shot.by} {day}{when:%H:%M}"


def reads_as_now(state: State, shot: Shot) -> bool:
    """Whether the rod read it from the last setup and at the offset that stands: what it should read is for those."""
    newest = state.newest_setup
    return newest is not None and shot.setup == newest.id and shot.above == state.offset


def _last_read(state: State, shot: Shot) -> str:
    """What the rod read; from which setup, or at which offset, where that is not the one that stands now."""
    setup, notation, newest = state.book.setup(shot.setup), state.plan.notation, state.newest_setup
    read = show(shot.rod, setup.rod.notation if setup else notation)
    if newest is None or shot.setup != newest.id:
        return _("{read} at another setup", read=read)
    if shot.above == state.offset:
        return read
    return _(
        "{read} at {offset}",
        read=read,
        offset=offset_words(shot.above, notation.units) if shot.above is not None else _("no offset"),
    )


def _tolerance(state: State, here: Surface) -> str:
    target, units = state.target(here), state.plan.notation.units
    if target is None:
        return ""
    high, low = (show_exact(size, units) for size in (target.tolerance.high, target.tolerance.low))
    return f"±{high}" if high == low else f"+{high} −{low}"


def was(state: State, surface: Surface) -> str:
    """What the reading before the last said, and what this one does; empty where there is none before it."""
    shots = state.readings(surface)
    if len(shots) < 2:
        return ""
    before, now = (state.judge(shot, surface) for shot in shots[-2:])
    if before is None or now is None or Word.EXAMPLE in (before.word, now.word):
        return ""
    then, since = (headline(each, state.plan.notation) for each in (before, now))
    return _("was {then}, now {since}", then=then, since=since) if then != since else _("{since} again", since=since)


class Tally:
    """How far one area is at one stage, kept up reading by reading; what else changes has it counted anew."""

    def __init__(self, state: State, area: str, stage: str) -> None:
        """Judges every point once."""
        self.area, self.stage = area, stage
        self._points = [point.name for point in state.plan.areas[area].points]
        self._at = {name: place for place, name in enumerate(self._points)}
        self._word = {name: self._judged(state, name) for name in self._points}
        here = (spot for spot in state.spots if (spot.area, spot.stage) == (area, stage))
        self._spots = {spot.point: self._judged(state, spot.point) for spot in here}

    @property
    def progress(self) -> StageCount:
        """The counts."""
        return replace(stage_count(self._word.values()), spots=list(self._spots.values()).count(DOUBT))

    def read(self, state: State, surface: Surface) -> None:
        """One point was read."""
        if (surface.area, surface.stage) == (self.area, self.stage):
            words = self._word if surface.point in self._word else self._spots
            words[surface.point] = self._judged(state, surface.point)

    def left(self, after: str = "") -> list[str]:
        """The points that are not on grade, in the order of the route from behind that one round to it again."""
        at = self._at.get(after, -1) + 1
        return [name for name in (*self._points[at:], *self._points[:at]) if self._word[name] != Word.ON_GRADE.value]

    def named(self, state: State, after: str = "") -> str:
        """``2 left: T4 CUT 1/2, T9 unread`` when an area that was begun is nearly done, else nothing."""
        left = self.left(after)
        if not 0 < len(left) <= min(NEARLY_DONE, len(self._points) - 1):
            return ""
        return _(
            "{left} left: {points}", left=len(left), points=", ".join(points_said(state, self.area, self.stage, left))
        )

    def _judged(self, state: State, point: str) -> str:
        return word_at(state, Surface(self.area, point, self.stage))


def points_said(state: State, area: str, stage: str, points: Iterable[str]) -> Sequence[str]:
    """Each point with what it still needs: ``T4 CUT 1/2``, ``T9 unread``, ``T3 in doubt``."""
    return [f"{point} {_needs(state, Surface(area, point, stage))}" for point in points]


def _needs(state: State, surface: Surface) -> str:
    shot = state.latest(surface)
    if shot is None:
        return _("unread")
    verdict = state.judge(shot, surface)
    if verdict is None:
        return _("not judged")
    return _("in doubt") if state.in_doubt(shot) else headline(verdict, state.plan.notation)
