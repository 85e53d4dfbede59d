"""The Map screen: the area drawn in plan, or as a profile along its route; the box reads as on Check."""

from __future__ import annotations

from typing import ClassVar, Protocol

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.check_view import CheckView
from gradecheck.app.plain import plain
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import Entry
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import Words
from gradecheck.app.widgets.title import Title
from gradecheck.report.plan_view import plan_view
from gradecheck.report.profile import profile, stations
from gradecheck.report.rows import answer, at_offset, example_figures, grade_rod
from gradecheck.state.state import Surface


class Walk(Protocol):
    """The way along the points that the map goes too: Check's."""

    @property
    def surface(self) -> Surface:
        """What the next reading is about."""

    @property
    def shown(self) -> Surface:
        """What the verdict shown is about."""

    @property
    def view(self) -> CheckView:
        """What Check would show."""

    async def commit(self, text: str) -> None:
        """Acts on what was typed."""

    def action_move(self, by: int) -> None:
        """Along the route."""

    def action_next_area(self) -> None:
        """To the next area."""

    def action_next_stage(self) -> None:
        """To the next stage."""


class MapScreen(EntryScreen):
    """Drives Check from the map: a number is a reading at the current point, a name goes to that point."""

    TITLE = "Map"

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("area", "next_area", "Go to the next area", show=True),
        bind("stage", "next_stage", "Next layer up", show=True),
        bind("other", "other_view", "The plan, or a profile along the route", word="Plan/profile", show=True),
        bind("up", "move(-1)", word="Point before"),
        bind("down", "move(1)", word="Point after"),
        bind("page-up", "move(-10)", word="Ten points before"),
        bind("page-down", "move(10)", word="Ten points after"),
    ]

    def __init__(self, walk: Walk) -> None:
        super().__init__()
        self._walk = walk
        self._profile = False
        self._shown: Surface | None = None
        self._head = Title()
        self._drawing = DrawingView(id="map")
        self._key = Static(id="key")

    def compose(self) -> ComposeResult:
        """The drawing, what its signs mean, and the box."""
        yield self._head
        yield self._drawing
        yield self._key
        with Vertical(id="asking"):
            yield Words(id="says")
            yield Entry(id="map-box", placeholder="rod reading, or point name")
        yield KeyLine()

    def on_mount(self) -> None:
        """Draws what is known; what is recorded meanwhile follows."""
        self.watch(self.app, "changes", self._follow, init=False)
        self.call_after_refresh(self.show)

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self.call_after_refresh(self.show)

    # -- showing

    def _follow(self) -> None:
        """Something was recorded, here or in another window: a plan taken over may have lost the point."""
        before = self._shown
        self.show()
        now = self._walk.surface
        if before is not None and [name.casefold() for name in before] != [name.casefold() for name in now]:
            self.lost(f"{before.point} {before.stage} is not in the plan any more.")

    def show(self) -> None:
        """Draws anew."""
        here, view = self._walk.surface, self._drawing
        self._shown = here
        columns, rows = view.size
        if columns < 1 or rows < 1:  # also while the screen is made up or taken down
            return
        state, braille = self.session.state, not self.host.ascii_only
        if self._profile:
            along = stations(state, here.area, here.stage, current=here.point)
            drawn = profile(along, self.session.plan.notation, columns, rows, braille=braille)
            view.show(drawn.drawing)
            key = " ".join(drawn.remarks) or "target, tolerance, and what was found"
        else:
            plan = plan_view(state, here.area, here.stage, columns, rows, braille=braille, current=here.point)
            view.show(plan.drawing)
            key = "  ".join(plan.key)
        self._key.update(plain(f" {key}"))
        what = "profile" if self._profile else "map"
        self._head.update(plain(f" {here.area} · {here.stage} · {what}"))
        self._ask()

    def _ask(self) -> None:
        state, here = self.session.state, self._walk.surface
        examples = example_figures(state.examples(here, state.setup.id if state.setup else ""))
        at = f" ({offset})" if (offset := at_offset(state.offset, state.plan.notation.units)) else ""
        asked = f"{here.point}: {examples or f'the rod should read {grade_rod(state, here)}{at}'}"
        if state.setup is None or self.session.why_set_up_is_old:
            asked = f"{here.point}: no setup"
        told = answer(state, self._walk.shown)
        doubt = " ?" if told is not None and told.doubt else ""
        off = f" ({told.off})" if told is not None and told.off else ""
        hint = f" {hint}." if (hint := self._walk.view.hint) else ""
        self.say(f"{told.point} {told.headline}{doubt}{off}.{hint} {asked}" if told else asked)

    # -- acting: Check does it, this screen shows it

    async def commit(self, text: str) -> None:
        """What Check makes of it."""
        await self._walk.commit(text)
        self.show()

    def action_move(self, by: int) -> None:
        """To another point of the route."""
        self._walk.action_move(by)
        self.show()

    def action_next_area(self) -> None:
        """To the next area."""
        self._walk.action_next_area()
        self.show()

    def action_next_stage(self) -> None:
        """To the next surface up."""
        self._walk.action_next_stage()
        self.show()

    def action_other_view(self) -> None:
        """The plan, or the profile."""
        self._profile = not self._profile
        self.show()
