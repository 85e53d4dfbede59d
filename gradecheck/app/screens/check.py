"""The Check screen: the points of an area, the verdict of the last reading, and the box for the next."""

from __future__ import annotations

from functools import cached_property
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.app.dig_beside import DigBeside
from gradecheck.app.route import Route
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.answer_panel import AnswerPanel
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Line, Words
from gradecheck.app.widgets.points_view import PointsView
from gradecheck.journal.facts import Reading
from gradecheck.journal.stamps import on_site
from gradecheck.plan.problems import suggestion
from gradecheck.report.instrument import look_again
from gradecheck.report.rows import answer, example_figures, grade_rod
from gradecheck.state.state import Surface

WIDE = 100
"""Columns from which the job's name has room beside area and stage."""


class CheckScreen(EntryScreen):
    """A number is a reading at the current point; a name goes to that point; ? helps."""

    WHERE_ELSE = " Ctrl+S goes on elsewhere."
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back", id="back", show=False, tooltip="Drop what is typed, or back to the jobs"),
        Binding("f2", "next_area", "Area", id="area", tooltip="Go to the next area"),
        Binding("f3", "next_stage", "Stage", id="stage", tooltip="Next layer up"),
        Binding("f4", "set_up", "Setup", id="set-up", tooltip="Set up or move the laser"),
        Binding("f5", "recheck", "Recheck", id="recheck", tooltip="Recheck a mark from the same setup"),
        Binding("f6", "log", "Log", id="log", tooltip="View, correct, strike, add notes"),
        Binding("f7", "mark", "Mark", id="mark", tooltip="Shoot a turning point before moving"),
        Binding("f8", "strike", "Strike", id="strike", tooltip="Strike the last reading; it stays in the log"),
        Binding("f9", "day", "Day", id="day", show=False, tooltip="Results, open items, sign-off"),
        Binding("ctrl+z", "map", "Map", id="map", show=False, tooltip="The area drawn in plan, or as a profile"),
        Binding(
            "ctrl+o", "next_datum", "Datum", id="datum", show=False, tooltip="Show elevations from another datum"
        ),
        Binding("ctrl+l", "sure", "How sure", id="sure", show=False, tooltip="Show how sure each answer is"),
        Binding(
            "ctrl+n", "trust", "Trust", id="trust", show=False, tooltip="Trust the readings in doubt, with a reason"
        ),
        Binding("ctrl+r", "put_right", "Correct", id="put-right", show=False, tooltip="Correct a mark's elevation"),
        Binding("ctrl+y", "plan", "Plan", id="plan", show=False, tooltip="Change the plan, or take it over"),
        Binding(
            "ctrl+s", "elsewhere", "Elsewhere", id="elsewhere", show=False, tooltip="Copy the job and go on there"
        ),
        Binding("ctrl+g", "test", "Test", id="test", show=False, tooltip="Field test of the laser"),
        Binding("up", "move(-1)", "Point before", id="up", show=False),
        Binding("down", "move(1)", "Point after", id="down", show=False),
        Binding("pageup", "move(-10)", "Ten points before", id="page-up", show=False),
        Binding("pagedown", "move(10)", "Ten points after", id="page-down", show=False),
    ]

    def __init__(self, typed: str = "") -> None:
        """`typed` stands in the box from the start."""
        super().__init__()
        self._typed = typed
        self._questioned: tuple[Surface, str] | None = None
        self._show_sure = False
        self._dig = DigBeside(self, self._show_answer)

    def compose(self) -> ComposeResult:
        """The table for the person typing above, the verdict for the machine below."""
        yield Line(id="head")
        yield PointsView(self.session.plan, id="points")
        yield AnswerPanel(ascii_only=self.host.ascii_only, id="verdict")
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="reading", placeholder="rod reading, point name, or ? for help")
        yield KeyLine()

    def on_mount(self) -> None:
        """Takes up where the last reading left off."""
        self.watch(self.app, "changes", self._changed, init=False)
        self.watch(self.app, "offers", self._offered, init=False)
        self.show()
        self.entry.value = self._typed
        self.call_after_refresh(self._greet)

    def on_resize(self) -> None:
        """The head has more room now, or less."""
        if self.is_mounted:
            self._show_head()

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
        elif self.session.state.setup is None or self.session.why_set_up_is_old:
            from gradecheck.app.screens.set_up import SetUpScreen

            self.app.push_screen(SetUpScreen())
        self.set_timer(1.0, self._look_at_dig)

    # -- showing

    @cached_property
    def route(self) -> Route:
        """The way along the points; it takes up where the last reading left off."""
        return Route(self.session)

    @property
    def surface(self) -> Surface:
        """What the next reading is about."""
        return self.route.surface

    @property
    def answered(self) -> Surface | None:
        """What the last reading was about."""
        return self.route.answered

    def show(self) -> None:
        """Shows everything as it is now."""
        route = self.route
        self.query_one(PointsView).show_area(self.session.state, route.area.name, route.stage, route.index)
        self._show_words()

    def _show_words(self) -> None:
        self._show_head()
        self._show_answer()
        self._ask()

    def _show_head(self) -> None:
        state = self.session.state
        stood = None if self.session.why_set_up_is_old else state.setup
        seen = (
            f"setup on {stood.fact.backsights[0].mark} {on_site(stood.at, stood.offset):%H:%M}"
            if stood
            else "NO SETUP"
        )
        doubts = len(state.doubts()) if state.doubt.disturbed else 0
        seen = f"{doubts} IN DOUBT · {seen}" if doubts else seen
        area, stage = self.route.area, self.route.stage
        done = f"{state.checked(area.name, stage)} of {len(area.points)}"
        zero = f" · from {state.datum}" if state.datum else ""
        left = f" {area.name} · {stage}{zero}"
        if self.size.width >= WIDE:
            left = f" {self.session.plan.job} ·{left}"
        right = f"{seen} · {done} · {self.session.by} "
        room = max(self.size.width - cell_len(right) - 2, 10)
        left = left if cell_len(left) <= room else set_cell_size(left, room - 1) + "…"
        self.query_one("#head", Line).say(f"{set_cell_size(left, room)}  {right}")

    def _show_answer(self) -> None:
        told = answer(self.session.state, self.answered) if self.answered else None
        stage = self.answered.stage if self.answered else ""
        dug = self._dig.text(self.route.area, self.route.stage, wide=self.size.width >= WIDE)
        self.query_one(AnswerPanel).say(told, stage, with_sure=self._show_sure, dug=dug)

    def _look_at_dig(self) -> None:
        self._dig.look(self.route.area, self.route.stage)

    def _ask(self) -> None:
        self.say("  ".join(filter(None, (self._asked(), self._beginning(), self.session.remark))))

    def _beginning(self) -> str:
        """One caution more where nobody has read yet at a stage below the finish."""
        area, stage = self.route.area, self.route.stage
        if stage == area.stages[-1] or self.session.state.checked(area.name, stage) or self.session.view_only:
            return ""
        from gradecheck.report.cautions import stage_caution

        return stage_caution(self.session.plan, area.name, stage)

    def _asked(self) -> str:
        """What is to be done next, or what keeps it from being done."""
        if only := self.session.view_only:
            return only[:1].upper() + only[1:]
        state, surface, area = self.session.state, self.surface, self.route.area
        what = area.point(surface.point).what
        name = f"{surface.point} ({what})" if what else surface.point
        examples = example_figures(state.examples(surface, state.setup.id if state.setup else ""))
        rod = examples or grade_rod(state, surface)
        if state.setup is None or self.session.why_set_up_is_old:
            return f"{name}: no setup. Press F4 to set up."
        if state.target(surface) is None:
            datum = self.session.plan.datums[area.datum or ""]
            return f"{name}: datum “{datum.name}” is not tied in yet. F7 shoots {datum.mark} as a mark."
        if offer := self._offer():
            return f"{name}: {rod}. {offer}"
        if reminder := look_again(state, self.session.clock(), self.session.since_look):
            return f"{name}: {rod}. {reminder}"
        if state.checked(area.name, surface.stage) == len(area.points) and state.latest(surface):
            from gradecheck.report.review import all_checked

            return f"{all_checked(state, area, surface.stage)}. F3 next stage, F2 next area; {name}: {rod}"
        if examples:
            return f"{name}: {examples}; write your own figures there first."
        return f"{name}: the rod should read {rod}"

    def _offered(self) -> None:
        """The job file changed, or went with its stick; what was just refused is told on, and this behind it."""
        if not self.query_one("#says").has_class("wrong"):
            self._ask()

    def _offer(self) -> str:
        """That the job file changed, until it is taken over."""
        if self.session.plan_file.wrong is not None:
            return "The job file has changed and can't be read; Ctrl+Y shows why."
        changes = self.session.offered_changes
        if changes is None:
            return ""
        from gradecheck.report.plan_changes import summary

        return f"The job file has changed: {summary(changes, self.session.plan.notation)}. Ctrl+Y shows it."

    # -- acting; the other screens are imported when they are gone to, so that the first picture comes sooner

    async def commit(self, text: str) -> None:
        """A number is a reading, a name a place to go to, a question mark help."""
        typed = text.strip()
        if not typed:
            return  # an empty Enter is a glove on the key
        if typed == "?":
            await self.run_action("app.keys")
        elif (name := self.session.name_of(typed)) is not None:
            self._go_to(name)
        elif typed in self.session.plan.layout:
            from gradecheck.app.screens.layout import LayoutScreen

            self.app.push_screen(LayoutScreen(typed))
        elif typed[0].isalpha():
            known = self.session.plan.area_of
            raise Refusal(f"There is no point “{typed}” in this job.{suggestion(typed, known)}")
        else:
            await self._read(typed)

    async def _read(self, typed: str) -> None:
        surface = self.surface
        question = self.session.question(surface, typed)
        if question is not None and self._questioned != (surface, typed):
            self._questioned = surface, typed
            raise Refusal(question)
        self._questioned = None
        before, plan = self.route.index, self.session.plan
        await self.keep(typed, surface, actions.reading(self.session.state, surface, typed, question or ""))
        self.route.answered = surface
        if self.surface == surface:
            self.route.go_on()
        if self.session.plan is not plan:  # taken over in another window, and seen now
            self._changed()
            return
        self._dig.read(surface)
        points = self.query_one(PointsView)
        points.redraw(before)
        points.go_to(self.route.index)
        self._show_words()

    def _go_to(self, name: str) -> None:
        if name not in self.session.plan.area_of:
            raise Refusal(f"{name} is a benchmark; press F4 to set up on it.")
        self.route.go_to(name)
        self.show()

    def action_move(self, by: int) -> None:
        """To another point of the route."""
        self.route.move(by)
        self.query_one(PointsView).go_to(self.route.index)
        self._ask()

    def action_next_area(self) -> None:
        """To the next area, at the same stage where it has it."""
        self.route.next_area()
        self.show()
        self._look_at_dig()

    def action_next_stage(self) -> None:
        """To the next surface up, and from the finish back to the subgrade."""
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

    def action_elsewhere(self) -> None:
        """Copies the job into another folder and goes on there, with what is typed still in the box."""
        from gradecheck.app.screens.elsewhere import ElsewhereScreen

        screen = ElsewhereScreen()

        def left(_: None) -> None:
            if screen.went is not None:
                self.host.go_on_in(screen.went, self.entry.value, screen.holds)

        self.app.push_screen(screen, left)

    def action_map(self) -> None:
        """To the Map screen."""
        from gradecheck.app.screens.map import MapScreen

        self.app.push_screen(MapScreen(self))

    def action_day(self) -> None:
        """To the Day screen."""
        from gradecheck.app.screens.day import DayScreen

        self.app.push_screen(DayScreen())

    def action_plan(self) -> None:
        """To the Plan screen, for this area."""
        from gradecheck.app.screens.plan import PlanScreen

        self.app.push_screen(PlanScreen(self.route))

    def action_put_right(self) -> None:
        """To where a mark's elevation is put right."""
        from gradecheck.app.screens.given import GivenScreen

        self.app.push_screen(GivenScreen())

    async def action_next_datum(self) -> None:
        """Shows elevations from the next datum that is tied."""
        state = self.session.state
        tied = [datum for datum in (None, *self.session.plan.datums) if state.zero_of(datum) is not None]
        if len(tied) < 2:
            waiting = [f"{datum.name} waits for {datum.mark}" for datum in self.session.plan.datums.values()]
            self.complain(f"No other datum to show: {', '.join(waiting) or 'the plan names none'}.")
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
            self.complain("Nothing is in doubt.")
            return
        from gradecheck.app.screens.doubt import DoubtScreen

        self.app.push_screen(DoubtScreen())

    def action_log(self) -> None:
        """To the Log screen, for this area."""
        from gradecheck.app.screens.log import LogScreen

        self.app.push_screen(LogScreen(self.route))

    async def action_strike(self) -> None:
        """Strikes the last reading that counts, and goes back to its point."""
        last = self.session.last_reading()
        if last is None:
            self.complain("There is no reading to strike.")
            return
        assert isinstance(last.fact, Reading)
        surface = Surface(last.fact.area, last.fact.point, last.fact.stage)
        await self.host.record(self.session.strike(last.id, "struck at once"))
        self.route.go_back(surface)
        self.show()
        struck = f"Struck: {surface.point} {surface.stage}, rod {last.typed}. It stays in the log."
        self.say(f"{struck} Enter the reading again.")

    async def leave(self) -> None:
        """Back to the jobs."""
        self.host.close_job()
