"""The Check screen: the points of an area, the verdict of the last reading, and the box for the next."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal, Vertical
from textual.geometry import Size
from textual.widgets import Input

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.app import check_words
from gradecheck.app.bindings import bind
from gradecheck.app.check_view import (
    BEING_WRITTEN,
    COUNTED_AT_ONCE,
    NO_SETUP,
    RECHECK_FIRST,
    CheckView,
    Tally,
    Unsaved,
    check_view,
)
from gradecheck.app.check_words import LayerNote, Need, layer_note, needs_of_check
from gradecheck.app.dig_beside import DigBeside
from gradecheck.app.find import listed, listed_areas, matches
from gradecheck.app.route import Route
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.check_regions import (
    WIDE,
    AreaProgress,
    Band,
    EntryPrompt,
    PointCard,
    ToleranceBar,
    heights,
    is_low,
)
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.points_view import PointsView
from gradecheck.app.widgets.region import touched
from gradecheck.app.widgets.title import warned
from gradecheck.app.widgets.verdict_panel import VerdictPanel, face_of
from gradecheck.catalogue import _, stage_word, translated
from gradecheck.checks.blunders import KEEPS, STRIKES
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Reading
from gradecheck.measure.printed import offset_words
from gradecheck.measure.verdict_words import Word
from gradecheck.report.decides import said_on
from gradecheck.report.instrument import setup_since
from gradecheck.report.rows import at_offset
from gradecheck.session.session import BROUGHT_BACK_NOW
from gradecheck.state.state import KeptSetup, Surface
from gradecheck.system.settings import GO_ON

LOOKED_THROUGH = 5_000
"""Points that are looked through at every key of a name: some 40 ms, measured; with more, at Enter alone."""
BELLS = {Word.ON_GRADE: 1, Word.CUT: 2, Word.FILL: 3}
BELLS_APART = 0.25
"""Seconds; closer together terminals ring once."""
UNSEEN = 0.2
"""Seconds for which a reading may be on its way to the disk before the panel says that it is not saved."""
SIGNS = {"+": "move(1)", "-": "move(-1)", "*": "strike", "/": "next_area"}
"""What a sign alone does on Enter, so that a numeric pad is all that a hand needs."""


OFFSET = "offset"
"""The word before a working offset."""
PLACEHOLDERS = (
    _("rod reading, point name, ? help, + next, - back, * strike, / area"),
    _("+ next, - back, * strike, / area, ? help"),
)
"""What the box is for; where there is little room, what a sign alone does: that nobody could guess."""
FOUND_BY = (
    _("part of a point's name, its digits, a word of where it is; an area; a stage"),
    _("part of a name, digits, a word of where"),
)


def _is_offset(typed: str) -> bool:
    return typed.casefold().split()[0] == OFFSET


class Questioned(Refusal):
    """A reading that is asked about: Enter again keeps it."""


class CheckScreen(EntryScreen):
    """A number is a reading at the current point; a name goes to that point; ? helps."""

    WHERE_ELSE = _(" Ctrl+B goes on in another folder.")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", _("Drop what is typed, or back to the jobs")),
        bind("area", "next_area", _("Go to the next area"), show=True),
        bind("stage", "next_stage", _("Next layer up"), show=True),
        bind("set-up", "set_up", _("Set up or move the laser"), show=True),
        bind("recheck", "recheck", _("Recheck a mark from the same setup"), show=True),
        bind("log", "log", _("View, correct, strike, add notes"), show=True),
        bind("mark", "mark", _("Shoot a turning point before moving"), show=True),
        bind("strike", "strike", _("Strike the last reading; it stays in the log"), show=True),
        bind("day", "day", _("Results, open items, sign-off")),
        bind("undo", "undo", _("Undo your own last reading or strike")),
        bind("find", "find", _("Find a point by part of its name or a word of where it is; an area; a stage")),
        bind("left", "left", _("What is left of this area at this stage")),
        bind("person", "person", _("Another person checks from here on")),
        bind("go-on", "survey", _("Always go on to the next point after a reading")),
        bind("other", "map", _("The area drawn in plan, or as a profile"), word=_("Map")),
        bind("more", "layer", _("Compaction of this stage, or an undercut that was ordered"), word=_("Layer")),
        bind("datum", "next_datum", _("Show elevations from another datum")),
        bind("accuracy", "sure", _("Show how sure each answer is")),
        bind("doubt", "trust", _("Trust the readings in doubt, with a reason")),
        bind("correct", "correct_mark", _("Correct a mark's elevation")),
        bind("plan", "plan", _("Change the plan, or accept a new one")),
        bind("other-folder", "other_folder", _("Copy the job and go on there")),
        bind("checks", "test", _("Field test of the laser"), word=_("Test")),
        bind("up", "move(-1)", word=_("Point before")),
        bind("down", "move(1)", word=_("Point after")),
        bind("page-up", "move(-10)", word=_("Ten points before")),
        bind("page-down", "move(10)", word=_("Ten points after")),
    ]

    def __init__(self, typed: str = "") -> None:
        """`typed` stands in the box from the start."""
        super().__init__()
        self._typed = typed
        self._questioned: tuple[Surface, str] | None = None
        self._unsaved_now: Unsaved | None = None
        self._failed = False
        self._read_from: KeptSetup | None = None
        self._old_then = ""
        self._seen_view: CheckView | None = None
        self._hint = ""
        self._surveys = False
        self._found_said: str | None = None
        self._finds = False
        self._counted: Tally | None = None
        self._show_sure = False
        self._shared: Size | None = None
        self._dig = DigBeside(self, self._show_answer)

    def compose(self) -> ComposeResult:
        """From top to bottom: what was, what is next, and the hand."""
        ascii_only = self.host.ascii_only
        yield Band(id="head")
        yield VerdictPanel(id="verdict", ascii_only=ascii_only)
        yield ToleranceBar(id="bar", ascii_only=ascii_only)
        with Container(id="middle"):
            with Vertical(id="aside"):
                yield PointCard(id="card", ascii_only=ascii_only)
                yield AreaProgress(id="counts", ascii_only=ascii_only)
            yield PointsView(self.session.plan, id="points")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            with Horizontal(id="box"):
                yield EntryPrompt(id="asked")
                yield EntryBox(*PLACEHOLDERS, id="reading")
        yield KeyLine()

    def on_mount(self) -> None:
        """Takes up where the last reading left off."""
        self.watch(self.app, "changes", self._changed, init=False)
        self.watch(self.app, "offers", self._offered, init=False)
        self.watch(self.app, "copies", self._show_head, init=False)
        self._read_from = self.session.state.setup
        self._share_out()
        self.show()
        self.entry.value = self._typed
        self.call_after_refresh(self._greet)

    def on_screen_suspend(self) -> None:
        """Another screen is gone to."""
        self._read_from, self._old_then = self.session.state.setup, self.session.why_set_up_is_old

    def on_screen_resume(self) -> None:
        """Back from another screen: under another setup no verdict of the one before stands over the next point."""
        setup = self.session.state.setup
        if self.is_mounted and setup not in (None, self._read_from) and self.shown != self.surface:
            self.route.shown = None
            self._show_answer()
        if self._unsaved_now is not None and self._old_then != self.session.why_set_up_is_old:
            # The setup kept it from being saved, and that has changed.
            self._unsaved_now = Unsaved(self._unsaved_now.typed, self._asked())
            self._show_answer()
        self._read_from = self.session.state.setup

    def on_resize(self) -> None:
        """There is more room now, or less."""
        if self.is_mounted:
            self._share_out()
            self._show_answer()

    def _share_out(self) -> None:
        """Gives each region its rows, as the window has them."""
        size = self.app.size
        if self._shared == size:
            return
        self.query_one("#asking").set_class(is_low(size.height), "low")
        self._shared, share = size, heights(size.width, size.height - touched(self.app))
        for id, rows in (("verdict", share.verdict), ("bar", share.bar), ("counts", share.progress)):
            region = self.query_one(f"#{id}")
            region.styles.height, region.display = rows, rows > 0
        self.query_one("#card").styles.height = share.card
        self.query_one("#points").display = share.points
        middle, aside = self.query_one("#middle"), self.query_one("#aside")
        middle.styles.layout = "horizontal" if share.beside else "vertical"
        if not share.points:  # a long sentence above the box takes its rows from the verdict, nothing else is left
            self.query_one("#verdict").styles.height = "1fr"
        middle.styles.height = "1fr" if share.points else share.card + share.progress
        aside.styles.width, aside.styles.height = share.beside or "100%", share.card + share.progress

    def _changed(self) -> None:
        """Something was recorded: here, which shows itself where it changed, or elsewhere."""
        if self.keeping:
            return
        self.show()
        self._look_at_dig()
        if lost := self.route.lost:
            self.route.lost = ""
            self.lost(lost)
            self.session.remark = lost  # told up to the next reading, whatever is asked meanwhile

    def _greet(self) -> None:
        """The day's cautions first, then a setup where there is none."""
        if self.session.view_only:
            self.complain(self._asked())  # nothing can be signed or set up here either
        elif not self.session.cautions_read_today:
            from gradecheck.app.screens.cautions import CautionsScreen

            self.app.push_screen(CautionsScreen(), self._cautioned)
        else:
            self._cautioned(None)

    def _cautioned(self, _: None) -> None:
        if not self.session.cautions_read_today:
            self.host.close_job()
        elif self.session.why_set_up_is_old == BROUGHT_BACK_NOW:
            self.action_recheck()
        elif self.session.state.setup is None or self.session.why_set_up_is_old:
            from gradecheck.app.screens.set_up import SetUpScreen

            self.app.push_screen(SetUpScreen())
        self.set_timer(1.0, self._look_at_dig)

    # -- showing

    @cached_property
    def route(self) -> Route:
        """The way along the points; it takes up where the last reading left off."""
        return Route(self.session, self.goes_on)

    @property
    def surface(self) -> Surface:
        """What the next reading is about."""
        return self.route.surface

    @property
    def shown(self) -> Surface:
        """What the panel is about."""
        return self.route.shown

    @property
    def goes_on(self) -> str:
        """What comes after a reading: as the settings have it, or on a survey pass the next point always."""
        return GO_ON if self._surveys else self.host.settings.after_a_reading

    @property
    def view(self) -> CheckView:
        """What is to be seen now."""
        state, unsaved = self.session.state, self._unsaved_now
        tally, old = self._tally, self.session.why_set_up_is_old
        first = RECHECK_FIRST if old == BROUGHT_BACK_NOW else NO_SETUP if old else ""
        return check_view(
            state, self.surface, self.shown, unsaved=unsaved, hint=self._hint, tally=tally, no_reading=first
        )

    @property
    def _tally(self) -> Tally | None:
        """How far the area is; None for one so large that counting it would hold up a key."""
        area, stage = self.route.area, self.route.stage
        if len(area.points) > COUNTED_AT_ONCE:
            return None
        if self._counted is None or (self._counted.area, self._counted.stage) != (area.name, stage):
            self._counted = Tally(self.session.state, area.name, stage)
        return self._counted

    @property
    def needs(self) -> Sequence[Need]:
        """What this state needs first."""
        seen = self._seen_view
        return tuple(needs_of_check(self.session, seen, failed=self._failed)) if seen is not None else ()

    def show(self) -> None:
        """Shows everything as it is now."""
        route, self._counted = self.route, None
        self.query_one(PointsView).show_area(self.session.state, route.area.name, route.stage, route.index)
        self._show_words()

    def _show_words(self) -> None:
        self._show_head()
        self._show_answer()
        self._ask()

    def _show_head(self) -> None:
        state = self.session.state
        setup = None if self.session.why_set_up_is_old else state.setup
        doubts = len(state.doubts())
        warning, why = warned(self.session)
        area, stage = self.route.area, self.route.stage
        tally = self._tally
        left = (
            area.name,
            stage_word(stage),
            _("from {datum}", datum=state.datum) if state.datum else "",
            _("GO ON") if self.goes_on == GO_ON else "",
            tally.named(state) if tally else "",
        )
        loud = (
            at_offset(state.offset, self.session.plan.notation.units).replace(
                _("offset {offset}", offset=""), _("OFFSET {offset}", offset="")
            ),
            _("{doubts} IN DOUBT", doubts=doubts) if doubts else "",
            _("NO SETUP") if setup is None else "",
            warning,
        )
        right = ("" if warning or setup is None else setup_since(setup), self.session.by)
        sharing = self.host.sharing
        copied, old = sharing.age() if sharing is not None else ("", False)
        self.query_one(Band).show(self.session.plan.job, left, right, copied, old=old, loud=loud, why=why)

    def _show_answer(self) -> None:
        view, area, stage = self.view, self.route.area, self.route.stage
        self._seen_view = view
        dug = self._dig.text(area, stage, wide=self.size.width >= WIDE)
        low = is_low(self.app.size.height)
        self.query_one(VerdictPanel).show(
            face_of(view, with_sure=self._show_sure, beside=said_on("CheckScreen") * low)
        )
        self.query_one(ToleranceBar).show(view.answer, dug)
        self.query_one(PointCard).show(view.card)
        counted = _(
            "{checked} of {points} read",
            checked=self.session.state.checked(area.name, stage),
            points=len(area.points),
        )
        self.query_one(AreaProgress).show(f"{area.name}, {stage_word(stage)}", view.progress, counted)
        self._label()

    def _label(self) -> None:
        """What the box fills."""
        here = self.surface
        spot = self.session.state.spot(here) is not None
        reads = _("{point} reads", point=_("this spot") if spot else here.point)
        self.query_one(EntryPrompt).show(_("find") if self._finds else reads)

    def _look_at_dig(self) -> None:
        self._dig.look(self.route.area, self.route.stage)

    def _ask(self) -> None:
        behind = "  ".join(filter(None, (check_words.beginning(self.session, self.route), self.session.remark)))
        asked = self._asked()
        asked += "." if behind and asked[-1:].isalnum() else ""
        self.say("  ".join(filter(None, (self._hinted(), asked, behind))))

    def _hinted(self) -> str:
        """That the reading just saved may be a slip, up to the next key; in a low window the panel alone says so."""
        return f"{self.shown.point}: {self._hint}." if self._hint and not is_low(self.app.size.height) else ""

    def _asked(self) -> str:
        """What is to be done next, or what keeps it from being done."""
        return check_words.prompt_text(self.session, self.route)

    def _offered(self) -> None:
        """The job file changed, or went with its stick; what was just refused is told on, and this behind it."""
        if not self.query_one("#says").has_class("wrong"):
            self._ask()

    # -- acting; the other screens are imported when they are gone to, so that the first picture comes sooner

    def may_leave(self, typed: str) -> bool:
        """A figure is read here; a name may lead to a layout check, and a question mark to the keys."""
        return (not self._finds and "?" in typed) or any(character.isalpha() for character in typed)

    async def commit(self, text: str) -> None:
        """A number is a reading, a name a place to go to, a question mark help."""
        typed = text.strip()
        if self._finds:
            self._find(typed)
        elif not typed:
            if self.had_seen:  # else it is a glove on the key
                self._go_on()
        elif typed == "?":
            await self.run_action("app.keys")
        elif typed in SIGNS:
            await self.run_action(SIGNS[typed])
        elif (name := self.session.name_of(typed)) is not None:
            self._go_to(name)
        elif typed in self.session.plan.layout:
            from gradecheck.app.screens.layout import LayoutScreen

            self.app.push_screen(LayoutScreen(typed))
        elif _is_offset(typed):
            await self._offset(typed)
        elif layer_note(typed) and not matches(self.session.state, self.surface, typed):
            self._note_layer(typed)
        elif (spot := self._spot(typed)) is not None:
            self._unsaved_now, self._hint = None, ""
            self.route.go_to_spot(spot)
            self.show()
        elif typed[0].isalpha():
            self._find(typed)
        else:
            await self._read(typed)

    def _spot(self, typed: str) -> Surface | None:
        """The spot on a string that is meant, at the stage at hand where its area has it; None where none is."""
        spot = actions.spot_on_string(self.session.state, None, typed)
        if spot is None or self.route.stage not in self.session.plan.areas[spot.area].stages:
            return spot
        return spot._replace(stage=self.route.stage)

    async def _offset(self, typed: str) -> None:
        """A string or form stands so far off its target from here on, or no more; the word alone asks how it is."""
        state, units = self.session.state, self.session.plan.notation.units
        if typed.casefold() == OFFSET:
            at = state.offset
            stands = (
                _(
                    "The offset is {offset} the target; offset off takes it off.",
                    offset=offset_words(at, units),
                )
                if at
                else ""
            )
            self.say(stands or _("No offset is on. {how_offset}", how_offset=self._how_offset()))
            return
        await self.keep(typed, OFFSET, actions.change_offset(state, typed))
        self._unsaved_now = None
        self.show()

    def _how_offset(self) -> str:
        return _("Type it like offset {riser} above.", riser=self.session.plan.notation.units.examples.riser)

    async def _read(self, typed: str) -> None:
        surface, above = self.surface, self.session.state.offset
        looks = self.session.question(surface, typed, above)
        if looks is not None and looks.stops and self._questioned != (surface, typed):
            self._questioned = surface, typed
            raise Questioned(
                _("{typed} is {says} {keeps}", typed=typed, says=translated(looks.says), keeps=translated(KEEPS))
            )
        self._questioned = None
        before, plan = self.route.index, self.session.plan
        with self._not_saved_yet(typed):
            asked = looks.says if looks else ""
            await self.keep(typed, surface, actions.reading(self.session.state, surface, typed, asked, above))
        self._unsaved_now = None
        self._hint = (
            f"{translated(looks.says)} {translated(STRIKES)}" if looks is not None and not looks.stops else ""
        )
        if self._counted is not None:
            self._counted.read(self.session.state, surface)
        self._ring(surface)
        if self.surface == surface:
            self._after_reading(surface)
        self.route.shown = surface
        if self.session.plan is not plan:  # accepted in another window, and seen now
            self._changed()
            return
        self._dig.read(surface)
        points = self.query_one(PointsView)
        points.redraw(before)
        points.go_to(self.route.index)
        self._show_words()

    def _after_reading(self, surface: Surface) -> None:
        """Stays on the point, or goes on, as is wished; a point with nothing to be held against is done with."""
        if self.route.is_done_with(surface, self.goes_on):
            self.route.go_on(() if self.goes_on == GO_ON else self._left)

    def _ring(self, surface: Surface) -> None:
        """Where the settings wish it: one bell on grade, two cut, three fill."""
        verdict = self.session.state.verdict(surface)
        if self.host.settings.bell and verdict is not None:
            for number in range(1, BELLS.get(verdict.word, 0) + 1):
                self.set_timer(number * BELLS_APART, self.app.bell)

    @property
    def _left(self) -> list[str]:
        """The points that are not on grade, the one behind this one first."""
        tally = self._tally
        return tally.left(self.surface.point) if tally is not None else []

    def _go_on(self) -> None:
        """Without another reading here: to the next point that was not read, else to one that is not on grade."""
        self._unsaved_now, self.route.shown = None, None
        went = self.route.go_on(self._left)
        self.query_one(PointsView).go_to(self.route.index)
        self._show_words()
        if not went:
            self.say(f"{check_words.stays_put(self.route, left=bool(self._left))}  {self._said}")

    @contextlib.contextmanager
    def _not_saved_yet(self, typed: str) -> Iterator[None]:
        """While a reading is being written: where that takes a moment, no older verdict stands in its place."""

        def tell() -> None:
            if self.is_attached:
                self._unsaved_now = Unsaved(typed, BEING_WRITTEN)
                self._show_answer()

        timer = asyncio.get_running_loop().call_later(UNSEEN, tell)
        try:
            yield
        finally:
            timer.cancel()

    def refused(self, text: str, wrong: Refusal | JournalError) -> None:
        """What was entered is not saved: until it is, or is dropped, no verdict stands in its place."""
        self._unsaved_now = Unsaved(text.strip(), str(wrong), asked=isinstance(wrong, Questioned))
        self._failed = isinstance(wrong, JournalError)
        if self.is_attached:
            self._show_answer()
        if isinstance(wrong, actions.HeldError):
            from gradecheck.app.screens.hold import HoldScreen

            self.app.push_screen(HoldScreen(wrong))

    @on(Input.Changed, "#reading")
    def _next_key(self, event: Input.Changed) -> None:
        """Another figure is begun: the verdict of the point before goes."""
        if event.value and self.route.shown != self.surface:
            self._hint, self.route.shown = "", None
            self._show_answer()
        if event.value != self.entry.being_typed:  # entered meanwhile, or refused: that is what the line is about
            return
        if (typed := event.value.strip()) and typed not in SIGNS and self._unsaved_now is None:
            before = self._said
            self._show_found(typed)
            self._found_said = self._said if self._said != before else self._found_said
        elif not typed and self._said == self._found_said:  # taken back: Enter does not go there any more
            self._ask_again()

    def dropped(self) -> None:
        """What was not saved is gone, so the point's own last verdict stands again."""
        self._unsaved_now, self.route.shown = None, None
        self._end_finding()
        self._show_answer()

    def _find(self, typed: str) -> None:
        """Goes to the first that the text may mean."""
        found = matches(self.session.state, self.surface, typed)
        if typed and not found:
            raise actions.no_point(self.session.plan, typed)
        self._end_finding()
        if not found:
            self._ask()
            return
        self._unsaved_now, self._hint = None, ""
        match found[0].kind:
            case "area":
                self.route.go_to_area(found[0].name)
            case "stage":
                self.route.go_to_stage(found[0].name)
            case "point":
                self.route.go_to(found[0].name)
        self.show()
        self._look_at_dig()

    def _ask_again(self) -> None:
        """Says what is to be done, as before anything was typed."""
        if self._finds:
            self.action_find()
        else:
            self._ask()

    def action_find(self) -> None:
        """The next text is looked for, digits alone too."""
        self._finds = True
        self._label()
        self.entry.wanted(*FOUND_BY)
        self.say(_("Find: {listed_areas}.", listed_areas=listed_areas(self.session.state, self.surface)))

    def _end_finding(self) -> None:
        self._finds = False
        self._label()
        self.entry.wanted(*PLACEHOLDERS)

    def _show_found(self, typed: str) -> None:
        """What the text may mean, while it is typed; Enter goes to the first."""
        if not self._finds and _is_offset(typed) and not matches(self.session.state, self.surface, typed):
            self.say(
                _(
                    "Enter sets the working offset. {how_offset} offset off takes it off.",
                    how_offset=self._how_offset(),
                )
            )
            return
        if not self._finds and (note := layer_note(typed)) and not matches(self.session.state, self.surface, typed):
            self.say(
                _("Enter notes compaction of {stage}; compact 4 for four passes.", stage=self.route.stage)
                if note is LayerNote.COMPACTION
                else _("Enter notes an undercut that was ordered, with who and why.")
            )
            return
        try:
            if not self._finds and (spot := self._spot(typed)) is not None:
                self.say(_("Enter goes to {point}, {stage}.", point=spot.point, stage=spot.stage))
                return
        except Refusal as wrong:  # half of it is typed
            self.say(str(wrong))
            return
        few = len(self.session.plan.area_of) <= LOOKED_THROUGH
        if few and (self._finds or typed[0].isalpha()):
            found = matches(self.session.state, self.surface, typed)
            self.say(
                _("Enter goes to {listed}.", listed=listed(found))
                if found
                else _("Nothing here is named “{typed}”.", typed=typed)
            )

    def _go_to(self, name: str) -> None:
        if name not in self.session.plan.area_of:
            raise Refusal(_("{name} is a benchmark; press F4 to set up on it.", name=name))
        self._unsaved_now, self._hint = None, ""
        self.route.go_to(name)
        self.show()

    def action_move(self, by: int) -> None:
        """To another point of the route."""
        self._unsaved_now, self._hint = None, ""
        self.route.move(by)
        self.query_one(PointsView).go_to(self.route.index)
        self._show_answer()
        self._ask()

    def action_survey(self) -> None:
        """On a survey pass every reading goes on to the next point; again, and it is as the settings have it."""
        self._surveys = not self._surveys
        self._show_head()
        self._ask()

    def action_next_area(self) -> None:
        """To the next area, at the same stage where it has it."""
        self._unsaved_now, self._hint = None, ""
        self.route.next_area()
        self.show()
        self._look_at_dig()

    def action_next_stage(self) -> None:
        """To the next surface up, and from the finish back to the subgrade."""
        self._unsaved_now, self._hint = None, ""
        self.route.next_stage()
        self.show()
        self._look_at_dig()

    def action_set_up(self) -> None:
        """To the Setup screen."""
        from gradecheck.app.screens.set_up import SetUpScreen

        self.app.push_screen(SetUpScreen())

    def action_recheck(self) -> None:
        """To the Recheck screen."""
        from gradecheck.app.screens.recheck import RecheckScreen

        self.app.push_screen(RecheckScreen())

    def action_mark(self) -> None:
        """To the Mark screen."""
        from gradecheck.app.screens.mark import MarkScreen

        self.app.push_screen(MarkScreen())

    def action_test(self) -> None:
        """To the tests of the instrument."""
        from gradecheck.app.screens.field_test import FieldTestScreen

        self.app.push_screen(FieldTestScreen())

    def action_other_folder(self) -> None:
        """Copies the job into another folder and goes on there, with what is typed still in the box."""
        from gradecheck.app.screens.other_folder import OtherFolderScreen

        screen = OtherFolderScreen()

        def left(_: None) -> None:
            if screen.went is not None:
                self.host.go_on_in(screen.went, self.entry.value, screen.holds)

        self.app.push_screen(screen, left)

    def action_map(self) -> None:
        """To the Map screen."""
        from gradecheck.app.screens.map import MapScreen

        self.app.push_screen(MapScreen(self))

    def action_layer(self) -> None:
        """Asks about compaction of this stage, or an undercut."""
        self._note_layer(LayerNote.COMPACTION)

    def _note_layer(self, typed: str) -> None:
        from gradecheck.app.screens.layer import LayerScreen

        note, first = layer_note(typed), typed.partition(" ")[2].strip()
        assert note is not None
        if note is LayerNote.UNDERCUT:
            actions.refuse_no_subgrade(self.route.area)
        screen = LayerScreen(self.route.area.name, self.route.stage, note, first)

        def left(_: None) -> None:
            self.show()
            if screen.noted:
                self.say(f"{screen.noted}  {self._said}")

        self.app.push_screen(screen, left)

    def action_day(self) -> None:
        """To the Day screen."""
        from gradecheck.app.screens.day import DayScreen

        self.app.push_screen(DayScreen())

    def action_plan(self) -> None:
        """To the Plan screen, for this area."""
        from gradecheck.app.screens.plan import PlanScreen

        self.app.push_screen(PlanScreen(self.route))

    def action_correct_mark(self) -> None:
        """To the screen where a mark's elevation is corrected."""
        from gradecheck.app.screens.given import GivenScreen

        self.app.push_screen(GivenScreen())

    async def action_next_datum(self) -> None:
        """Shows elevations from the next datum that is tied."""
        state = self.session.state
        tied = [datum for datum in (None, *self.session.plan.datums) if state.zero_of(datum) is not None]
        if len(tied) < 2:
            waiting = [
                _("{name} waits for {mark}", name=datum.name, mark=datum.mark)
                for datum in self.session.plan.datums.values()
            ]
            self.complain(
                _("No other datum to show: {waiting}.", waiting=", ".join(waiting) or _("the plan names none"))
            )
            return
        chosen = tied[(tied.index(state.datum) + 1) % len(tied)] if state.datum in tied else tied[0]
        await self.host.record(actions.show_datum(self.session.state, chosen))
        self.show()

    def action_sure(self) -> None:
        """Shows or hides how sure each answer is."""
        self._show_sure = not self._show_sure
        self._show_answer()

    def action_trust(self) -> None:
        """Asks why the readings in doubt may be trusted."""
        if not self.session.state.doubts() and not self.session.state.doubt.marks():
            self.complain(_("Nothing is in doubt."))
            return
        from gradecheck.app.screens.doubt import DoubtScreen

        screen = DoubtScreen()

        def left(_: None) -> None:
            if screen.answered:
                self._ask()
                self.say(f"{screen.answered}  {self._said}")

        self.app.push_screen(screen, left)

    def action_log(self) -> None:
        """To the Log screen, for this area."""
        from gradecheck.app.screens.log import LogScreen

        self.app.push_screen(LogScreen(self.route))

    async def action_strike(self) -> None:
        """Strikes the last reading that counts, and goes back to its point."""
        last = self.session.last_reading()
        if last is None:
            self.complain(_("There is no reading to strike."))
            return
        assert isinstance(last.fact, Reading)
        surface = Surface(last.fact.area, last.fact.point, last.fact.stage)
        await self.host.record(self.session.strike(last.id, _("struck at once")))
        self._unsaved_now, self._hint = None, ""
        self.route.go_back(surface)
        self.show()
        self.say(check_words.struck(surface, last.typed))

    async def action_undo(self) -> None:
        """Takes back one's own last reading, correction of one, or strike, and goes to its point."""
        undone = await self.host.record(self.session.undo())
        self._unsaved_now, self._hint = None, ""
        surface, what = check_words.undone(self.session, undone)
        if surface is not None:
            self.route.go_back(surface)
        self.show()
        self.say(_("{what} It stays in the log.  {said}", what=what, said=self._said))

    def action_left(self) -> None:
        """What is left: the points that are out, in doubt or unread, the next along the route first."""
        line = self.query_one("#says", SentenceLines)
        self.say(check_words.what_is_left(self.session.state, self.route, self._left, line.holds))

    def action_person(self) -> None:
        """Another person signs the cautions, and is who checks from here on."""
        from gradecheck.app.screens.cautions import CautionsScreen

        self.app.push_screen(CautionsScreen(), lambda _: self.show())

    async def leave(self) -> None:
        """Gives up finding first, then a spot on a string; else back to the jobs."""
        if self._finds:
            self._end_finding()
            self._ask()
        elif self.route.leave_spot():
            self._hint = ""
            self.show()
        else:
            self.host.close_job()
