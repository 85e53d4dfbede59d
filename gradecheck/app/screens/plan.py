"""The Plan screen: what the job file would change, what was changed on site, and the box to change more."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.actions.points import high_and_low, ways_to_lie
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.route import Route
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.plan.names import as_known
from gradecheck.report.plan_changes import amendment_line, change_lines, offer_words, summary
from gradecheck.report.plan_view import bare_plan_view


def _examples(units: Units) -> list[str]:
    """What can be typed, and what each does."""
    fall, risers, place, elevation = ways_to_lie(units)
    typed = {
        f"N1 {fall}": _("new, from a known point"),
        f"N1 {risers}": _("new, by risers"),
        f"N1 {place}": _("new, on the surface"),
        f"N1 {elevation}": _("new, at that finish"),
        f"P4 {elevation}": _("another finish"),
        f"base {high_and_low(units)}": _("another tolerance"),
    }
    wide = max(map(len, typed))
    return [f"  {each:<{wide}}  {does}" for each, does in typed.items()]


class PlanScreen(PagedScreen):
    """A new name with where it lies adds a point; a known one with a length changes it, and a reason is asked."""

    GUIDE = "evening"
    TITLE_WORDS = _("Plan")
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (116, "-wide")]
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", show=True),
        bind("plan", "accept_plan", _("Accept the job file as it is now"), word=_("Accept"), show=True),
        bind(
            "correct",
            "edit",
            _("Edit the job file: areas, points, layers, tolerances, rules"),
            word=_("Edit"),
            show=True,
        ),
        bind("other-folder", "import_list", _("Import points from the office's list or drawing"), word=_("Import")),
        bind("more", "merge", _("Put what was changed on site into the job file"), word=_("Into the file")),
    ]

    def __init__(self, route: Route) -> None:
        """For the area that the route stands in."""
        super().__init__()
        self._route = route
        self._shown = ""
        self._change: tuple[str, str] | None = None

    def compose(self) -> ComposeResult:
        """What changed, and one line to change more."""
        yield Title()
        with Container(id="planning"):
            with Pages(id="keys"):
                yield Static(id="changes")
            yield DrawingView(id="area")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="change", placeholder=_("a point to add or change, as shown above"))
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows what changed."""
        self.watch(self.app, "changes", self.show, init=False)
        self.watch(self.app, "offers", self.show, init=False)
        self.show()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self.call_after_refresh(self._picture)

    def _picture(self) -> None:
        """The area as it is planned now, where there is width for it."""
        view = self.query_one(DrawingView)
        columns, rows = view.size
        if columns > 0 and rows > 0:
            braille = not self.host.ascii_only
            view.show(
                bare_plan_view(self.session.plan, self.area, columns, rows, braille=braille, figures=True).drawing
            )

    @property
    def area(self) -> str:
        """The area that is changed here."""
        return self._route.area.name

    def show(self) -> None:
        """Shows the state of the plan as it is now."""
        before, self._shown = self._shown, self.area
        self._tell()
        if before.casefold() not in ("", self.area.casefold()):
            self._change = None
            self._ask()
            self.lost(_("{before} is no longer in the plan; this is {area}.", before=before, area=self.area))
        elif self._change is not None and not self._knows(self._change[0]):
            (name, _finish), self._change = self._change, None
            self._ask()
            self.lost(_("{name} is no longer in the plan.", name=name))
        else:
            self._ask()

    def _tell(self) -> None:
        self.query_one("#head", Static).update(
            plain(_(" {job} · plan · {area}", job=self.session.plan.job, area=self.area))
        )
        session, notation = self.session, self.session.plan.notation
        lines = []
        if (offered := session.offered_changes) is not None:
            what = offer_words(session.offered_number)
            lines += [_("{what}: {summary}. Ctrl+Y accepts it.", what=what, summary=summary(offered, notation)), ""]
            lines += [f"  {line}" for line in change_lines(offered, notation)[:200]] + [""]
        elif session.plan_file.wrong is not None:
            lines += [_("The job file has changed and can't be read; the current plan stays:"), ""]
            lines += [f"  {problem}" for problem in session.plan_file.wrong.problems[:20]] + [""]
        if amendments := session.state.amendments:
            lines += [
                _("Changed on site:"),
                *(f"  {amendment_line(each, notation, session.state)}" for each in amendments),
                "",
            ]
        lines += [_("To add or change in {area}:", area=self.area), *_examples(notation.units)]
        self.query_one("#changes", Static).update(plain_lines(lines))
        self._picture()

    def _ask(self) -> None:
        if self._change is not None:
            name, typed = self._change
            self.say(
                _("{name} becomes {typed}. Why? Type the reason, then Enter. Esc cancels.", name=name, typed=typed)
            )
        elif self.session.offered is not None:
            self.say(_("Ctrl+Y accepts the job file as it is now; or add or change a point."))
        elif self.session.plan_file.wrong is not None or self.session.state.amendments:
            self.say(_("Add or change a point, or Escape."))
        else:
            self.say(_("Using job.yaml as written. Add or change a point, or Escape."))

    async def commit(self, text: str) -> None:
        """Adds a point at once; asks for a reason before anything is changed."""
        if self._change is not None:
            await self._keep_change(text)
            return
        name, typed = self._parted(" ".join(text.split()))
        if self._knows(name):
            self._draft(name, typed, _("to be said"))  # refused now rather than behind the reason
            self._change = name, typed
            self._ask()
            return
        await self.keep(text, self.area, actions.add_point(self.session.state, self.area, name, typed))
        self.say(_("{name} added.", name=name))

    async def _keep_change(self, why: str) -> None:
        assert self._change is not None
        name, typed = self._change
        await self.keep(why, self._change, self._draft(name, typed, why))
        self._change = None
        self.show()

    def _draft(self, name: str, typed: str, why: str) -> Action:
        if as_known(name, self._stages):
            return actions.change_tolerance(self.session.state, self.area, name, typed, why)
        return actions.change_target(self.session.state, name, typed, why)

    def _knows(self, name: str) -> bool:
        known = self.session.name_of(name) in self.session.plan.area_of
        return known or as_known(name, self._stages) is not None

    @property
    def _stages(self) -> tuple[str, ...]:
        return self._route.area.stages

    def _parted(self, text: str) -> tuple[str, str]:
        """The name that is meant and what is said of it; names may have spaces, so known ones are tried first."""
        known = [*self._stages, *self.session.plan.area_of]
        folded = text.casefold()
        fitting = [name for name in known if folded.startswith(f"{name.casefold()} ")]
        if fitting:
            name = max(fitting, key=len)
            return name, text[len(name) :].strip().removeprefix("=").strip()
        name, _space, rest = text.partition(" ")
        if not rest:
            raise Refusal(_("Say where “{name}” is, as in the examples above.", name=name))
        return name, rest.removeprefix("=").strip()

    async def action_accept_plan(self) -> None:
        """The job file's plan is the current one from here on."""
        await self.host.record(self.session.accept_plan())
        self.show()
        self.say(_("New plan accepted; all readings re-judged by it."))

    async def action_edit(self) -> None:
        """The job file as a form, at this area."""
        from gradecheck.app.screens.edit import EditScreen

        self.app.push_screen(EditScreen(self.session.folder, self._written, at=("areas", self.area)))

    def action_import_list(self) -> None:
        """A list or drawing that the office sent becomes a list beside the job file."""
        from gradecheck.app.screens.import_list import ImportScreen  # it needs what reads drawings

        self.app.push_screen(ImportScreen())

    async def action_merge(self) -> None:
        """What was changed on site is put into the job file, shown before it is written."""
        from gradecheck.app.screens.edit import EditScreen
        from gradecheck.plan.edits import JobFileDraft
        from gradecheck.report.merging import into_the_file

        state = self.session.state
        if not state.amendments:
            raise Refusal(_("Nothing was changed on site."))

        def change(draft: JobFileDraft) -> JobFileDraft:
            return draft.edited(*into_the_file(draft, state.amendments, state.plan))

        screen = EditScreen(self.session.folder, self._written, change=change)
        if not screen.editing.is_changed:
            raise Refusal(_("The job file has it all already."))
        self.app.push_screen(screen)

    def _written(self) -> None:
        """The job file is another now: it is offered here."""
        self.session.plan_file.refresh()
        self.show()

    async def leave(self) -> None:
        """Gives up the change first, then the screen."""
        if self._change is not None:
            self._change = None
            self._ask()
        else:
            self.dismiss()
