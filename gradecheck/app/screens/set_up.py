"""The Setup screen: the rod on one or more marks, and the zero is carried to where the instrument stands now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.instrument import beam_falls, place_named
from gradecheck.app import check_words
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.marks import MarksScreen
from gradecheck.app.widgets.check_regions import Band
from gradecheck.app.widgets.title import warned
from gradecheck.app.widgets.verdict_panel import PanelFace, PanelShape
from gradecheck.catalogue import _, count
from gradecheck.ground.spots import Place
from gradecheck.journal.facts import BacksightTaken, Entry
from gradecheck.measure.judged import limit_text
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import FallXY
from gradecheck.plan.names import as_known
from gradecheck.plan.problems import suggestion
from gradecheck.report.instrument import (
    agreement_line,
    agreement_rows,
    disagreement,
    disagrees_by,
    falls_line,
    set_up_line,
    setup_since,
    zero_name,
)
from gradecheck.session.clock_watch import SINCE_UNKNOWN
from gradecheck.state.state import KeptSetup
from gradecheck.survey.level_book import RecordedSetup

AT = "at "
FALLS = "falls "
LEVEL = "level"


class SetUpScreen(MarksScreen):
    """Key the rod's figure on each mark seen from here; Enter alone then stands the instrument."""

    TITLE = _("Setup")
    TITLE_WORDS = _("set up the laser")
    WHAT_TO_DO = _("Rod on a mark, enter its reading. Press Enter alone to finish the setup.")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("other", "next_rod", _("Take another rod"), word=_("Rod"), show=True),
        bind("strike", "strike", _("Drop the chosen mark's backsight, the odd one, or the last"), show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._rod: str | None = None
        self._warned = False
        self._asks_moved = False
        self._falls: FallXY | None = None
        self._place: Place | None = None

    def top(self) -> ComposeResult:
        """That a setup is being made."""
        yield Band(id="head")

    def on_mount(self) -> None:
        """Goes on where a setup was left half way: with its beam, and the first mark that was not read yet."""
        self._falls = self.falls
        self.show()
        self._go_on()

    @property
    def rod(self) -> str:
        """The rod in use: that of the backsights taken, else the chosen one, else that of the last setup."""
        state = self.session.state
        last = state.newest_setup
        known = state.sights[-1].rod if state.sights else self._rod or (last.fact.rod if last else "")
        return known if known in state.plan.rods else state.plan.rod.name

    @property
    def taken(self) -> RecordedSetup:
        """The setup that the backsights taken so far would make."""
        state = self.session.state
        sights = [(sight.sight.mark, sight.sight.rod) for sight in state.sights]
        return state.setup_from(sights, self.rod, self.falls)

    @property
    def falls(self) -> FallXY | None:
        """The falls of the beam, None for a level one: those that the backsights were taken with, else the chosen."""
        sights = self.session.state.sights
        return sights[-1].slopes if sights else self._falls

    def line(self, name: str) -> str:
        """A mark, with what was read on it and the zero that gives."""
        rows = {row.mark: row for row in agreement_rows(self.session.state, self.taken)}
        if name not in rows:
            return super().line(name)
        row = rows[name]
        off = _(", {off} from the mean", off=row.off) if row.off else ""
        return _(
            "{name:<10} rod {rod}: {zero_name} {zero}{off}",
            name=name,
            rod=row.rod,
            zero_name=zero_name(self.session.plan.rods[self.rod]),
            zero=row.zero,
            off=off,
        )

    def notes(self) -> list[str]:
        """How well the backsights agree, and what stands until then."""
        return [*self._beam(), *self._where(), *self._setup_notes()]

    def _beam(self) -> list[str]:
        return [_("The beam {falls} along x and y.", falls=falls_line(self.falls))] if self.falls else []

    def _where(self) -> list[str]:
        """Where the laser stands; how to say so, while U has to take every shot for the longest."""
        state = self.session.state
        if self._place is not None:
            x, y = (show_exact(size, state.plan.notation.units, unit=True) for size in self._place)
            return [_("The laser is at {x}, {y}.", x=x, y=y)]
        if state.sights and state.plan.instrument is not None:
            return [_("Where is the laser? “at 12, 20” or “at” and a point; until then U takes the longest shot.")]
        return []

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """To finish the setup; where its marks disagree, the key that drops one comes first."""
        if not self._taken_marks:
            return ()
        if self._asks_moved:
            return (("back", _("finish it later")),)
        if not disagreement(self.session.state, self.taken):
            return (("open", _("finish the setup")),)
        return (("strike", _("drop {to_drop}", to_drop=self._to_drop)), ("open", _("use it for a reason")))

    def show_notes(self) -> None:
        """Shows the header, the panel and the lines below the marks; under the panel only what must be said."""
        if disagreement(self.session.state, self.taken):
            self.query_one("#notes", Static).update(
                plain_lines([f"  {line}" for line in (*self._beam(), *self._setup_notes())])
            )
            self._show_panel()
        else:
            super().show_notes()
        self._show_head()

    def _show_head(self) -> None:
        session = self.session
        taken, setup = len(session.state.sights), None if session.why_set_up_is_old else session.state.setup
        stands = setup_since(setup) if setup is not None else _("NO SETUP")
        warning, why = warned(session)
        loud = (_("NOT FINISHED"),) if taken else (warning,) if warning else ()
        right = () if taken or warning else (stands,)
        left = (_("SETTING UP"), _("{taken} read", taken=count(taken, "mark")) if taken else _("no mark read yet"))
        self.query_one(Band).show(session.plan.job, left, (*right, session.by), loud=loud, why="" if taken else why)

    def _show_panel(self) -> None:
        """Where the marks disagree, by how much, as large as Check's verdict."""
        super()._show_panel()
        self.query_one("#what-to-do").display = not self.must_be_seen

    @property
    def must_be_seen(self) -> bool:
        """That the marks disagree."""
        return bool(self.session.state.sights and disagrees_by(self.session.state, self.taken))

    def face(self) -> PanelFace | None:
        """By how much the marks disagree; else the mark that is read next, or what the one just read makes of it."""
        state = self.session.state
        by = disagrees_by(state, self.taken) if state.sights else ""
        if not by:
            rows = {row.mark: row for row in agreement_rows(state, self.taken)} if state.sights else {}
            if self.marks and self.mark in rows:
                row, zero = rows[self.mark], zero_name(self.session.plan.rods[self.rod])
                notes = (_("rod {rod} on {mark}", rod=row.rod, mark=row.mark), _("Enter alone finishes the setup"))
                return PanelFace(PanelShape.EMPTY, (self.mark,), "", f"{zero} {row.zero.removesuffix(' in')}", notes)
            return super().face()
        allowed = limit_text(state.plan.rechecks.allowed, state.plan.notation.units)
        named = (_("{odd_one} is the odd one", odd_one=self._odd_one),) if self._odd_one else ()
        notes = (*named, _("allowed {allowed}", allowed=allowed), _("F8 drops {to_drop}", to_drop=self._to_drop))
        marks = _(" and ").join(sorted(self._taken_marks)) if len(self._taken_marks) == 2 else _("the marks")
        return PanelFace(
            PanelShape.FILLED, (_("{marks} disagree", marks=marks),), "", _("DISAGREE {by}", by=by), notes
        )

    def _how_they_disagree(self) -> str:
        """By how much the marks disagree and what to do about it; empty where they agree."""
        wrong, odd, drop = disagreement(self.session.state, self.taken), self._odd_one, self._to_drop
        if not wrong:
            return ""
        if len(self._taken_marks) == 2:
            return _(
                "THEY DISAGREE {wrong}. Read one again or a third mark; F8 drops {drop}.", wrong=wrong, drop=drop
            )
        named = (
            _("{odd} is the odd one: F8 drops it.", odd=odd)
            if odd == drop
            else _("{odd} is the odd one; F8 drops {drop}.", odd=odd, drop=drop)
        )
        return _(
            "THEY DISAGREE {wrong}. {named}",
            wrong=wrong,
            named=named if odd else _("No one mark is clearly wrong; F8 drops {drop}.", drop=drop),
        )

    @property
    def _odd_one(self) -> str:
        """The mark that disagrees with the others; none where nobody can say which."""
        state = self.session.state
        agreement = state.book.agreement(self.taken) if disagreement(state, self.taken) else None
        return (agreement.stands_out or "") if agreement is not None else ""

    @property
    def _to_drop(self) -> str:
        """The mark whose backsight F8 strikes: the chosen one where it was read, else the odd one, else the last."""
        if self.mark in self._taken_marks:
            return self.mark
        sights = self.session.state.sights
        return self._odd_one or (sights[-1].sight.mark if sights else "")

    def _setup_notes(self) -> list[str]:
        state = self.session.state
        setup, newest = state.setup, state.newest_setup
        if state.sights:
            return [
                self._how_they_disagree() or agreement_line(state, self.taken),
                _("Setup isn't finished; no readings until it is."),
            ]
        if setup is not None and not self.session.why_set_up_is_old:
            return [
                _("Current setup: {setup}", setup=set_up_line(state, setup)),
                *self._disagreeing(setup),
                _("It is replaced by the first backsight entered here."),
            ]
        if newest is not None and self.session.why_set_up_is_old:
            if self.session.why_set_up_is_old == SINCE_UNKNOWN:
                return [SINCE_UNKNOWN]
            return [_("The last setup is from another day: the laser may have moved; set up again.")]
        if newest is not None and state.doubt.failed(newest.id):
            return [_("The laser may have moved since the last setup.")]
        return [_("No setup now.")]

    def _disagreeing(self, setup: KeptSetup) -> list[str]:
        """That the marks it stands on disagree, as a reading corrected later can make them."""
        made = self.session.state.book.recorded(setup.id)
        wrong = disagreement(self.session.state, made) if made else ""
        return [_("ITS MARKS DISAGREE {wrong}.", wrong=wrong)] if wrong else []

    @property
    def _taken_marks(self) -> set[str]:
        return {sight.sight.mark for sight in self.session.state.sights}

    def _question(self) -> str:
        return check_words.backsight_asked(self.session.state, self.mark, self.taken, self.rod)

    def ask(self) -> None:
        """Asks for the next backsight, or for another figure where there is one."""
        self.say(self._question())

    async def named(self, typed: str) -> None:
        """Chooses a mark; a point that was read becomes one; ``falls 2%, 0.5%`` or ``level`` sets the beam.

        ``at 12, 20`` or ``at`` and a point says where the laser stands.
        """
        if self._asks_moved:
            await self._moved_or_not(typed)
            return
        name = self.session.name_of(typed)
        if self._warned and name is None and as_known(typed, self.marks) is None:
            await self._stand(typed)
            return
        if name is None and typed.casefold().startswith(AT) and as_known(typed, self.marks) is None:
            self._place = place_named(self.session.state, typed[len(AT) :])
            self.show()
            return
        if typed.casefold().startswith(FALLS):
            await self._set_beam(typed, beam_falls(typed[len(FALLS) :], self.session.plan.notation.units))
            return
        if name is None and typed.casefold() == LEVEL and as_known(typed, self.marks) is None:
            await self._set_beam(typed, None)
            return
        if name is not None and actions.mark_question(self.session.state, name) is None:
            surface = actions.read_surface(self.session.state, name)
            await self.keep(typed, surface, actions.promote(self.session.state, surface))
            self.show()
            self.choose(name)
            return
        await super().named(typed)

    async def _set_beam(self, typed: str, falls: FallXY | None) -> None:
        """The beam is set so; what was read in this setup already was read under it."""
        if drafts := self.session.beam(falls, typed):
            await self.keep(typed, "beam", *drafts)
        self._falls, self._warned = falls, False
        self.show()
        set_to = _("{falls} along x and y", falls=falls_line(falls)) if falls else _("is level")
        self.say(_("The beam {set_to}. {mark}: what does the rod read?", set_to=set_to, mark=self.mark))

    async def figure(self, typed: str) -> None:
        """Takes a backsight on the chosen mark and goes on to the next without one."""
        self._asks_moved = False
        about = self.mark, self.rod, self.falls
        await self.keep(typed, about, *actions.backsight(self.session.state, self.mark, typed, self.rod, self.falls))
        self._warned = False
        self.show()
        self._go_on()

    def _go_on(self) -> None:
        """To the first mark that was not read yet; where there is none, to the one that does not agree."""
        taken = self._taken_marks
        following = next((name for name in self.marks if name not in taken), self._odd_one or None if taken else None)
        if taken and following in self.marks:
            self.choose(following)

    async def nothing(self) -> None:
        """Stands the instrument; where the marks disagree, only when Enter is pressed again."""
        state = self.session.state
        if not state.sights:
            return
        if self._asks_moved:
            self._ask_moved()
        elif wrong := disagreement(state, self.taken):
            self._warned = True
            self.complain(check_words.marks_disagree(wrong))
        else:
            await self._stand()

    async def _stand(self, why: str = "") -> None:
        """Stands the instrument; where the marks disagree, for that reason."""
        if why and (meant := suggestion(why, self.marks)):
            raise Refusal(
                _(
                    "There is no mark “{why}”.{meant} To use the setup as it is, say why in a few words.",
                    why=why,
                    meant=meant,
                )
            )
        await self.keep(why, "stand", actions.finish_setup(self.session.state, self.falls, self._place, why))
        self.dismiss()

    async def leave(self) -> None:
        """Back; where a setup was begun in place of another, asks first whether the laser was moved."""
        if self._asks_moved or not self.session.bring_back():
            self.dismiss()  # what was begun stays begun
            return
        self._ask_moved()

    def _ask_moved(self) -> None:
        self._asks_moved = True
        self.complain(
            _("Was the laser moved? “no” brings back the previous setup; “yes” or Escape: finish this one later.")
        )

    async def _moved_or_not(self, typed: str) -> None:
        answer = typed.casefold()
        if answer in ("y", "yes", "s", "si", "sí"):
            self.dismiss()
        elif answer in ("n", "no"):
            await self.keep(typed, "moved", *self.session.bring_back())
            self.dismiss()
        else:
            raise Refusal(_("Was the laser moved? Type yes or no."))

    def action_next_rod(self) -> None:
        """Takes the next rod of the plan."""
        if self.session.state.sights:
            self.complain(_("This setup was begun on one rod; strike its backsights first (F8)."))
            return
        rods = list(self.session.plan.rods)
        self._rod = rods[(rods.index(self.rod) + 1) % len(rods)]
        self.ask()

    def _backsight(self) -> Entry | None:
        """The backsight that F8 strikes."""
        mark = self._to_drop
        if mark not in self._taken_marks:
            return self.session.last_backsight()
        for line in reversed(self.session.lines(limit=200)):
            fact = line.entry.fact
            if isinstance(fact, BacksightTaken) and fact.sight.mark == mark and line.replaced_by is None:
                return line.entry
        return None

    async def action_strike(self) -> None:
        """Strikes the chosen mark's backsight; where it has none the odd one's, else the last for this setup."""
        struck = self._backsight()
        if struck is None:
            self.complain(_("There is no backsight to strike."))
            return
        await self.host.record(self.session.strike(struck.id, _("while setting up")))
        assert isinstance(struck.fact, BacksightTaken)
        self._warned = False
        self.show()
        self.choose(struck.fact.sight.mark)
        self.say(_("Struck: {typed}. {question}", typed=struck.typed, question=self._question()))
