"""The Map screen: the area drawn in plan, or as a profile along a line; the box reads as on Check."""

from __future__ import annotations

import re
from typing import ClassVar, Protocol

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.check_view import CheckView
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, stage_word
from gradecheck.report.plan_view import plan_view
from gradecheck.report.profile import line_through, points_on_lines, profile, profile_key, stations
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

    TITLE = _("Map")

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("area", "next_area", _("Go to the next area"), show=True),
        bind("stage", "next_stage", _("Next layer up"), show=True),
        bind(
            "other",
            "other_view",
            _("The plan, or a profile along a line: type A1 to A4"),
            word=_("Plan/profile"),
            show=True,
        ),
        bind("up", "move(-1)", word=_("Point before")),
        bind("down", "move(1)", word=_("Point after")),
        bind("page-up", "move(-10)", word=_("Ten points before")),
        bind("page-down", "move(10)", word=_("Ten points after")),
    ]

    def __init__(self, walk: Walk) -> None:
        super().__init__()
        self._walk = walk
        self._profile = False
        self._line: tuple[str, tuple[str, ...]] | None = None
        """The area and the points from which to which the profile runs, where someone chose them."""
        self._shown: Surface | None = None
        self._drawn_on = (0, 0)
        """Columns and rows that the drawing was made for."""
        self._signs: list[str] = []
        """What the signs mean in the drawing."""
        self._fitted: list[str] = []
        """What the signs mean in the drawing that was last made anew for its room."""
        self._head = Title()
        self._drawing = DrawingView(id="map")
        self._key = Static(id="key")

    def compose(self) -> ComposeResult:
        """The drawing, what its signs mean, and the box."""
        yield self._head
        yield self._drawing
        yield self._key
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="map-box", placeholder=_("rod reading, point name, or A1 to A4 for a profile"))
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
        """Something was recorded, here or in another window: an accepted plan may have lost the point."""
        before = self._shown
        self.show()
        now = self._walk.surface
        if before is not None and [name.casefold() for name in before] != [name.casefold() for name in now]:
            self.lost(_("{point} {stage} is no longer in the plan.", point=before.point, stage=before.stage))

    def show(self) -> None:
        """Draws anew."""
        here, view = self._walk.surface, self._drawing
        self._shown = here
        columns, rows = view.size
        if columns < 1 or rows < 1:  # also while the screen is made up or taken down
            return
        state, braille = self.session.state, not self.host.ascii_only
        if self._profile:
            names = self._along(here)
            along = stations(state, here.area, here.stage, names, current=here.point)
            drawn = profile(along, self.session.plan.notation, columns, rows, braille=braille)
            view.show(drawn.drawing)
            key = [profile_key(braille=braille), *drawn.remarks]
            what = _("profile {start} to {end}", start=names[0], end=names[-1]) if len(names) > 1 else "profile"
        else:
            plan = plan_view(state, here.area, here.stage, columns, rows, braille=braille, current=here.point)
            view.show(plan.drawing)
            key, what = list(plan.key), _("map")
        self._key.update(plain_lines(key))
        self._drawn_on, self._signs = (columns, rows), key
        self._head.update(plain(f" {here.area} · {stage_word(here.stage)} · {what}"))
        self._ask()

    def on_drawing_view_resized(self) -> None:
        """Where what the signs mean takes other rows than before, draws for what is left, once."""
        if self._drawn_on not in ((0, 0), self._drawing.size) and self._signs != self._fitted:
            self._fitted = self._signs
            self.show()

    def _along(self, here: Surface) -> list[str]:
        """The points of the profile: on the line that was chosen, else on the longest one through this point."""
        area = self.session.plan.areas[here.area]
        if self._line is not None:
            chosen, names = self._line
            if chosen == area.name and all(name in area.index for name in names):
                return points_on_lines(area, names)
        return line_through(area, here.point)

    def _ends(self, text: str) -> tuple[str, ...] | None:
        """The points that a line was typed from and to; None where the text is something else."""
        area = self.session.plan.areas[self._walk.surface.area]
        parts = re.split(r"\s+to\s+", text.strip(), flags=re.IGNORECASE)
        names = [self.session.name_of(part) for part in parts]
        known = tuple(name for name in names if name is not None and name in area.index)
        return known if len(known) == len(parts) > 1 else None

    def _ask(self) -> None:
        state, here = self.session.state, self._walk.surface
        examples = example_figures(state.examples(here, state.setup.id if state.setup else ""))
        at = f" ({offset})" if (offset := at_offset(state.offset, state.plan.notation.units)) else ""
        wanted = _("the rod should read {rod}", rod=f"{grade_rod(state, here)}{at}")
        asked = f"{here.point}: {examples or wanted}"
        if state.setup is None or self.session.why_set_up_is_old:
            asked = _("{point}: no setup", point=here.point)
        reading = answer(state, self._walk.shown)
        doubt = " ?" if reading is not None and reading.doubt else ""
        off = f" ({reading.off})" if reading is not None and reading.off else ""
        hint = f" {hint}." if (hint := self._walk.view.hint) else ""
        self.say(f"{reading.point} {reading.headline}{doubt}{off}.{hint} {asked}" if reading else asked)

    # -- acting: Check does it, this screen shows it

    async def commit(self, text: str) -> None:
        """A line from point to point is drawn as a profile; all else is what Check makes of it."""
        if (ends := self._ends(text)) is not None:
            self._profile, self._line = True, (self._walk.surface.area, ends)
            self.show()
            return
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
