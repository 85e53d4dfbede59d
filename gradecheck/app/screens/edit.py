"""The Edit screen: the job file as a form beside the drawing, findings below, the difference before it is written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import Static

from gradecheck.actions import Refusal
from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.paged import PagedScreen, Pages
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from gradecheck.catalogue import _, count, plural
from gradecheck.files.job_file import ChangedMeanwhileError, Opened, open_to_edit, reader, write_edited
from gradecheck.measure.printed import show
from gradecheck.plan.editing import Change, Editing, deleting, moving, putting, renaming, typed_value
from gradecheck.plan.edits import EditRefusedError
from gradecheck.plan.limits import RULES
from gradecheck.plan.list_edits import list_at, value_at
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.names import as_known, name_fault
from gradecheck.plan.spans import Plain
from gradecheck.plan.yaml_tree import KeyPath
from gradecheck.report.cells import CellDrawing
from gradecheck.report.plan_form import FormRow, changes_said, difference, form_rows, takes_names, takes_value, trail
from gradecheck.report.plan_view import bare_plan_view
from gradecheck.sharing.last_copy import last_copy

FORM = (ListColumn(_("key"), 14), ListColumn(_("value"), 0))
POINTS = (ListColumn(_("point"), 9), ListColumn(_("finish"), 11, "right"), ListColumn(_("given as"), 0))
LEAST_ROWS = 24
"""Rows of a window from which on the drawing stands under the form; in a lower one Ctrl+E shows it alone."""
AT_ONCE = 200
"""Points of a plan that is drawn at once; a larger one is drawn beside the screen."""
MOST_FOUND = 400
"""Points of a plan whose findings are looked for at every change; of a larger one by Ctrl+X."""


def refuse_of_office(folder: Path) -> None:
    """Refuses where the office gives this job its plan, unless it was given out from here."""
    last = last_copy(folder)
    if last.number and not last.gives:
        raise Refusal(
            _(
                "The office writes this job's plan (number {number}); on site, Ctrl+Y on Check changes points.",
                number=last.number,
            )
        )


class EditScreen(PagedScreen):
    """Arrows choose a row, Enter opens it or takes what was typed; nothing is in the file before Ctrl+Y and Enter."""

    GUIDE = "job-file"
    TITLE_WORDS = _("Edit")
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("plan", "write", _("Show what would change in the job file, and write it"), word=_("Write"), show=True),
        bind("undo", "take_back", _("Take the last change back")),
        bind("strike", "delete", _("Delete the row marked >"), word=_("Delete"), show=True),
        bind("correct", "rename", _("Rename the row marked >, everywhere"), word=_("Rename"), show=True),
        bind("more", "place", _("Put the row marked > behind another"), word=_("Move"), show=True),
        bind("other", "drawing", _("The drawing alone, and back"), word=_("Drawing"), show=True),
        bind(
            "checks", "findings", _("Problems and findings of the plan as it is now"), word=_("Findings"), show=True
        ),
        bind("up", "move(-1)", word=_("Row before")),
        bind("down", "move(1)", word=_("Row after")),
    ]

    def __init__(
        self,
        folder: Path,
        written: Callable[[], None],
        *,
        at: KeyPath = (),
        change: Change | None = None,
    ) -> None:
        """`at` is the place it begins at; with a `change` that is made at once, and shown.

        Raises Refusal where the job file can't be edited here.
        """
        super().__init__()
        refuse_of_office(folder)
        self._folder = folder
        self._tell_written = written
        self._opened: Opened = open_to_edit(folder)
        try:
            self.editing = Editing(self._opened.draft, reader(folder))
            assert self.editing.draft.root
            if change is not None:
                self.editing.make(change)
                self.editing.read()
        except EditRefusedError as wrong:
            raise Refusal(str(wrong)) from wrong
        self._path: KeyPath = at
        self._shown_first = change is not None
        self._came_from: dict[KeyPath, int] = {}
        self._mode = ""
        self._row_of_mode: FormRow | None = None
        self._asked_to_lose = False
        self._changed_by_others = PLAN_NAME
        self.rows = form_rows(self.editing.draft, self.editing.plan, at)
        self._found: tuple[str, ...] = ()
        self._alone = False

    # -- the picture

    def compose(self) -> ComposeResult:
        """The form, the drawing, what is wrong, and the box."""
        yield Static(id="head")
        with Container(id="editing"):
            yield RowsView(FORM, id="form")
            with Pages(id="keys"):
                yield Static(id="notes")
            yield DrawingView(id="area")
            yield Static(id="found")
        with Vertical(id="asking"):
            yield SentenceLines(id="says")
            yield EntryBox(id="value")
        yield KeyLine()

    def on_mount(self) -> None:
        """Shows the form."""
        self._find()
        self.show()
        if not self._path:
            self._to("areas")  # what is edited most
        if self._shown_first:
            self._show_difference()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._lay_out()
        self.query_one("#head", Static).update(plain(self._title()))
        self.call_after_refresh(self._picture)

    def show(self, current: int | None = None) -> None:
        """Draws the form anew; what needs more time follows."""
        editing = self.editing
        self.rows = form_rows(editing.draft, editing.plan, self._path)
        points = self.rows.figures
        table = self.query_one(RowsView)
        table.columns = POINTS if points else FORM
        at = table.current if current is None else current
        table.show(len(self.rows), self._cells, max(min(at, len(self.rows) - 1), 0), self._parted())
        self.query_one("#head", Static).update(plain(self._title()))
        self._lay_out()
        self._ask()
        self.call_after_refresh(self._picture)

    def _title(self) -> str:
        """Where in the plan this is, and how much is not written; the job's name where there is room for it."""
        editing, parts = self.editing, [_("edit"), self._here(), changes_said(self.editing.count)]
        text = " · ".join(filter(None, parts))
        name = editing.plan.job if editing.plan else self._folder.name
        whole = f" {name} · {text}"
        return whole if cell_len(whole) + 2 <= self.size.width else f" {text}"

    def _here(self) -> str:
        """The way to this place, and what a point comes to."""
        plan, path = self.editing.plan, self._path
        area = plan.areas.get(str(path[1])) if plan and self._point else None
        if plan is None or area is None or self.editing.problems or self._point not in area.index:
            return trail(path)
        height = area.point(self._point).finish.height
        return _("{place} = {height}", place=trail(path[1:]), height=show(height, plan.notation, unit=True))

    @property
    def _point(self) -> str:
        """The point whose form this is, in the job file or in a list; empty where it is none."""
        listed = list_at(self.editing.draft, self._path)
        if listed is not None:
            return str(listed.rest[0]) if listed.rest else ""
        return str(self._path[3]) if self._path[:1] == ("areas",) and len(self._path) == 4 else ""

    def _cells(self, index: int) -> Cells:
        row = self.rows[index]
        value = row.value if row.is_there or row.figure else row.says.partition(". E.g.")[0]
        texts: tuple[str, ...] = (row.label, value)
        if len(self.query_one(RowsView).columns) == len(POINTS):
            texts = (row.label, row.figure, value)
        return Cells(texts, "" if row.is_there else "quiet", back=not row.is_there and not row.figure)

    def _parted(self) -> tuple[int, str] | None:
        """What the file has stands above the heading, what it may have below; none where it has nothing here yet."""
        first = next((at for at, row in enumerate(self.rows) if not row.is_there), 0) if not self.rows.figures else 0
        return (first, _("NOT SET")) if first else None

    @property
    def _is_bare(self) -> bool:
        """Whether nothing of what would be drawn has a place, so that a drawing would show nothing."""
        plan, path = self.editing.plan, self._path
        if plan is None or self.editing.problems:
            return False
        areas = [each for each in plan.areas.values() if path[:1] != ("areas",) or path[1:2] in ((), (each.name,))]
        return not any(area.outline or any(point.at is not None for point in area.points) for area in areas)

    def _lay_out(self) -> None:
        paging = self._mode in ("write", "found")
        low = self.size.height < LEAST_ROWS and self.size.width < 100
        self.query_one(RowsView).display = not paging and not self._alone
        self.query_one(Pages).display = paging
        bare = self._is_bare and not self._alone
        self.query_one(DrawingView).display = not paging and not bare and (self._alone or not low)
        self.query_one("#editing").set_class(bare, "bare")
        lines = self._wrong()[:2]
        self.query_one("#found", Static).set_class(not lines, "calm")
        if bare and not low:
            lines.append(_("Nothing to draw yet: no point has a place."))
        found = self.query_one("#found", Static)
        found.display = bool(lines) and not paging
        found.update(plain_lines(lines))

    def _wrong(self) -> list[str]:
        """What is wrong with the plan as it is now: problems before findings."""
        problems = [
            _("line {line}: {says}", line=each.line, says=each.says) if each.file == PLAN_NAME
            else _("{file} line {line}: {says}", file=each.file, line=each.line, says=each.says)
            for each in self.editing.problems
        ]  # fmt: skip
        return [*problems, *self._found]

    def _picture(self) -> None:
        if not self.is_attached:
            return
        view = self.query_one(DrawingView)
        if not view.display or not view.size.area:
            return
        draw = self._drawing(*view.size)
        if draw is None or self._points_drawn <= AT_ONCE:
            view.show(draw() if draw is not None else None)
        else:
            self.run_worker(self._draw_beside(draw), group="drawing", exclusive=True)

    async def _draw_beside(self, draw: Callable[[], CellDrawing]) -> None:
        """A large plan takes a second to draw; until it is drawn, nothing stale stands there."""
        view = self.query_one(DrawingView)
        view.show(None)
        drawing = await self.host.beside(draw)
        if self.is_attached:
            view.show(drawing)

    @property
    def _points_drawn(self) -> int:
        plan = self.editing.plan
        return sum(len(area.points) for area in plan.areas.values()) if plan is not None else 0

    def _drawing(self, columns: int, rows: int) -> Callable[[], CellDrawing] | None:
        """Draws the area that is edited, the whole plan above it; None where the plan can't be read as it is."""
        plan = self.editing.plan
        if plan is None or self.editing.problems:
            return None
        area = str(self._path[1]) if self._path[:1] == ("areas",) and len(self._path) > 1 else None
        if area is not None and area not in plan.areas:
            return None
        row, braille = self._row, not self.host.ascii_only
        current = row.label if row is not None and row.figure else self._point or None
        return lambda: (
            bare_plan_view(
                plan, area, columns, rows, braille=braille, figures=area is not None, current=current
            ).drawing
        )

    @property
    def _row(self) -> FormRow | None:
        current = self.query_one(RowsView).current
        return self.rows[current] if current < len(self.rows) else None

    def _ask(self) -> None:
        """Says what the row is for, and what can be typed."""
        row = self._row
        if self._mode == "rename" and self._row_of_mode:
            self.entry.placeholder = _("its new name")
            self.say(_("{name} becomes? Everything that uses it follows. Esc cancels.", name=self._row_of_mode.label))
        elif self._mode == "place" and self._row_of_mode:
            self.entry.placeholder = _("a name, or Enter for the first place")
            self.say(_("{name} comes behind which? Enter alone: before all. Esc cancels.",
                       name=self._row_of_mode.label))  # fmt: skip
        elif self._mode == "write":
            self.entry.placeholder = ""
            self.say(_("This is what changes in {file}. Enter writes it, Esc goes on editing.", file=self._files))
        elif self._mode == "again":
            self.entry.placeholder = ""
            self.say(
                _(
                    "{file} was changed by someone else; nothing is written. "
                    "Enter makes your changes on it as it is now and shows them.",
                    file=self._changed_by_others,
                )
            )
        elif self._mode == "found":
            self.entry.placeholder = ""
            self.say(_("Esc goes back to the form."))
        else:
            names = takes_names(self.editing.draft, self._path)
            label = row.label if row is not None else ""
            self.entry.placeholder = _("a name here, or a new one") if names else _("{label}: type it", label=label)
            self.say(self._row_said(row, names))

    def _row_said(self, row: FormRow | None, names: bool) -> str:
        if row is None and names and takes_value(self.editing.draft, (*self._path, "")):
            return _("Nothing here yet. Type a name, a colon and its value to add one.")
        if row is None:
            return _("Nothing here yet. Type a name to add one.") if names else _("Nothing here. Esc goes back.")
        if names:
            opens = _("Enter opens {name}.", name=row.label) if row.opens else ""
            return " ".join(filter(None, (row.says, opens, _("A new name adds one."))))
        does = _("Enter opens it.") if row.opens else _("Type the value.") if not row.is_there else ""
        return " ".join(filter(None, (row.says, does))) or _("{label}: {value}", label=row.label, value=row.value)

    @property
    def _files(self) -> str:
        """The files that are written."""
        editing = self.editing
        lists = editing.changed_files
        return _(" and ").join([*([PLAN_NAME] if editing.draft.text != editing.opened.text else []), *lists])

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """What this state needs first."""
        if self._mode == "write":
            return [("open", _("write it")), ("back", _("go on editing"))]
        if self._mode == "again":
            return [("open", _("make them again")), ("back", _("go on editing"))]
        return []

    # -- what is typed

    async def commit(self, text: str) -> None:
        """Takes a value, a name, or the answer to what is asked."""
        self._asked_to_lose = False
        typed = " ".join(text.split())
        if self._mode:
            await self._answer(typed)
        elif not typed:
            self._open_row()
        elif takes_names(self.editing.draft, self._path):
            await self._take_name(typed)
        elif (row := self._row) is None:
            raise Refusal(_("There is no row here to take this."))
        elif row.opens and (known := as_known(typed, self.rows.labels)) is not None:
            self._to(known)
        else:
            await self._change(putting(row.path, self._value(typed, row.path)), row.path)

    def _value(self, typed: str, path: KeyPath) -> Plain:
        if (listed := list_at(self.editing.draft, path)) is not None and listed.rest:
            return typed
        try:
            return typed_value(typed, path)
        except EditRefusedError as wrong:
            raise Refusal(str(wrong)) from wrong

    def _open_row(self) -> None:
        """Into the row, or its value into the box to be changed."""
        row = self._row
        if row is None:
            return
        if row.opens:
            self._go(row.path)
            if len(row.path) == 2 and row.path[0] == "areas":
                self._to("points")
        elif row.is_there and row.value:
            self.entry.put(row.value)
        else:
            self.say(_("Type the value for “{label}”. {says}", label=row.label, says=row.says))

    def _go(self, path: KeyPath, current: int = 0) -> None:
        self._came_from[self._path] = self.query_one(RowsView).current
        self._path = path
        self.show(current)

    async def _take_name(self, typed: str) -> None:
        """Goes to a name that is here; adds another, with what is said behind it or to be said in its form."""
        labels = self.rows.labels
        if (known := as_known(typed, labels)) is not None:
            self.query_one(RowsView).go_to(labels.index(known))
            self.action_move(0)
            return
        behind = [label for label in labels if typed.casefold().startswith(f"{label.casefold()} ")]
        if behind:
            name = max(behind, key=len)
            row = self.rows[labels.index(name)]
            rest = typed[len(name) :].strip()
            await self._change(putting(row.path, self._value(rest, row.path)), row.path)
            return
        name, rest = self._name_and_value(typed)
        if fault := name_fault(name):
            raise Refusal(fault)
        path = (*self._path, name)
        if not rest and takes_value(self.editing.draft, path):
            self.entry.put(f"{name}: ")
            self.say(_("Type its value behind the colon, then Enter."))
            return
        if rest:
            await self._change(putting(path, self._value(rest, path)), path)
            self._to(name)
            return
        self._go(path)
        self.say(_("{name} is new: give it what it needs, row by row. Esc goes back.", name=name))

    def _name_and_value(self, typed: str) -> tuple[str, str]:
        """A new name, and the value behind it; empty where its form, or another line, is to say that."""
        name, _unused, rest = typed.partition(" ")
        in_one_line = (
            len(self._path) == 3
            or list_at(self.editing.draft, self._path) is not None
            or self._path[:1] in (("benchmarks",), ("tolerances",))
        )
        if rest and in_one_line:
            return name, rest
        name, colon, rest = (each.strip() for each in typed.partition(":"))
        if self._path[-1] == "rules" and not colon:
            begun = (rule for rule in RULES if f"{typed} ".casefold().startswith(f"{rule} "))
            name = max(begun, key=len, default=typed)
            rest = typed[len(name) :].strip()
        return (name, rest) if takes_value(self.editing.draft, (*self._path, name)) else (typed, "")

    def _to(self, name: str) -> None:
        labels = self.rows.labels
        if name in labels:
            self.query_one(RowsView).go_to(labels.index(name))
            self._ask()
            self.call_after_refresh(self._picture)

    async def _change(self, change: Change, path: KeyPath | None = None) -> None:
        """Makes a change and draws it at once; a value that can't be is taken back and refused."""
        editing = self.editing
        try:
            editing.make(change)
        except EditRefusedError as wrong:
            raise Refusal(str(wrong)) from wrong
        self.show()
        before = len(editing.problems)
        await self.host.beside(editing.read)
        if not self.is_attached:
            return
        fault = editing.problem_with(path) if path is not None else None
        if fault is not None:
            editing.take_back()
            await self.host.beside(editing.read)
            self.show()
            raise Refusal(fault.says)
        self._find()
        self.show()
        if len(editing.problems) > before:
            self.say(_("{says} Ctrl+Z takes the change back.", says=editing.problems[0].says))

    def _find(self) -> None:
        """Looks for findings, where the plan is not so large that a key would wait."""
        plan = self.editing.plan
        self._found = ()
        if (
            plan is None
            or self.editing.problems
            or sum(len(area.points) for area in plan.areas.values()) > MOST_FOUND
        ):
            return
        self._found = _found_in(self.editing)

    async def _answer(self, typed: str) -> None:
        row, mode = self._row_of_mode, self._mode
        if mode == "write":
            if typed:
                raise Refusal(_("Enter alone writes it; Esc goes on editing."))
            await self._write()
        elif mode == "again":
            await self._make_again()
        elif mode == "found":
            self._leave_mode()
        elif mode == "rename" and row is not None:
            if not typed or (fault := name_fault(typed)):
                raise Refusal(fault if typed else _("Type the new name, or press Esc."))
            await self._change(renaming(row.path, typed))
            self._leave_mode()
            self._to(typed)
        elif mode == "place" and row is not None:
            labels = [each.label for each in self.rows if each.is_there]
            after = as_known(typed, labels) if typed else None
            if typed and after is None:
                raise Refusal(_("There is no “{name}” here.", name=typed))
            step: str | int | None = after if isinstance(row.path[-1], str) or after is None else labels.index(after)
            await self._change(moving(row.path, step))
            self._leave_mode()
            self._to(row.label)

    def _leave_mode(self) -> None:
        self._mode, self._row_of_mode = "", None
        self.show()

    # -- keys

    def action_move(self, by: int) -> None:
        """To another row."""
        if self._mode in ("write", "found"):
            self.query_one(Pages).scroll_relative(y=by, animate=False, immediate=True)
            return
        table = self.query_one(RowsView)
        table.go_to(max(0, min(table.current + by, len(self.rows) - 1)))
        self._asked_to_lose = False
        self._ask()
        if self.rows.figures:
            self.call_after_refresh(self._picture)

    def action_turn(self, by: int) -> None:
        """A page of rows, or of what does not fit."""
        if self._mode in ("write", "found"):
            super().action_turn(by)
        else:
            self.action_move(by * max(self.query_one(RowsView).size.height - 2, 1))

    def _begin(self, mode: str) -> None:
        row = self._row
        if row is None or not row.is_there or not isinstance(row.path[-1], str | int):
            raise Refusal(_("There is nothing in the file at this row."))
        if mode == "rename" and not takes_names(self.editing.draft, self._path):
            raise Refusal(_("“{label}” is a key of the job file; only names can be changed.", label=row.label))
        self._mode, self._row_of_mode = mode, row
        self._ask()

    async def action_rename(self) -> None:
        """Asks for the new name."""
        self._begin("rename")

    async def action_place(self) -> None:
        """Asks behind which other it comes."""
        self._begin("place")

    async def action_delete(self) -> None:
        """Deletes the row; the key beside it brings it back."""
        row = self._row
        if row is None or not row.is_there or self._mode:
            raise Refusal(_("There is nothing in the file at this row."))
        await self._change(deleting(row.path))
        self.say(_("{label} is deleted. Ctrl+Z brings it back.", label=row.label))

    async def action_take_back(self) -> None:
        """The last change is taken back."""
        if self._mode:
            self._leave_mode()
        if not self.editing.take_back():
            self.complain(_("There is no change to take back."))
            return
        await self.host.beside(self.editing.read)
        while (
            self._path
            and value_at(self.editing.draft, self._path) is None
            and takes_names(self.editing.draft, self._path[:-1])
        ):
            self._path = self._path[:-1]
        self._find()
        self.show()
        self.say(_("Taken back."))

    def action_drawing(self) -> None:
        """The drawing alone, or the form again."""
        self._alone = not self._alone
        self._lay_out()
        self.call_after_refresh(self._picture)

    async def action_findings(self) -> None:
        """All problems, else all findings."""
        if not self._found and not self.editing.problems and self.editing.plan is not None:
            self._found = await self.host.beside(lambda: _found_in(self.editing))
        self._mode = "found"
        self.query_one("#notes", Static).update(
            plain_lines(self._wrong() or [_("No issues found; read the plan over yourself.")])
        )
        self._lay_out()
        self._ask()

    async def action_write(self) -> None:
        """Shows what would change in the file."""
        if self.editing.problems:
            more = len(self.editing.problems) - 1
            says = self.editing.problems[0].says
            others = plural(more, " {n} more problem: Ctrl+X.", " {n} more problems: Ctrl+X.") if more else ""
            self.complain(_("Not written: {says}{others}", says=says, others=others))
        elif not self.editing.is_changed:
            self.complain(_("Nothing is changed yet."))
        elif self._mode == "write":
            await self._write()
        else:
            self._show_difference()

    def _show_difference(self) -> None:
        self._mode = "write"
        lines = difference(self.editing.opened, self.editing.draft)
        self.query_one("#notes", Static).update(plain_lines(lines))
        self.query_one(Pages).to_top()
        self._lay_out()
        self._ask()
        self.refresh_bindings()

    async def _write(self) -> None:
        editing = self.editing
        try:
            self._opened = await self.host.beside(lambda: write_edited(self._folder, editing.draft, self._opened))
        except ChangedMeanwhileError as changed:
            self._mode, self._changed_by_others = "again", changed.file
            self._ask()
            self.query_one("#says", SentenceLines).add_class("wrong")
            self.app.bell()
            return
        made, files = editing.count, self._files
        editing.written()
        self._tell_written()
        self._leave_mode()
        self.say(_("{file} is written: {changes}.", file=files, changes=count(made, "change")))

    async def _make_again(self) -> None:
        """The same changes on the file as it is now; what can't be made on it is said, and nothing is lost."""
        opened = open_to_edit(self._folder)
        try:
            self.editing.begin_anew(opened.draft)
        except EditRefusedError as wrong:
            raise Refusal(_("Your changes can't be made on the new file: {wrong}", wrong=wrong)) from wrong
        self._opened = opened
        await self.host.beside(self.editing.read)
        self._find()
        if self.editing.problems or not self.editing.is_changed:
            self._leave_mode()
            await self.action_write()
        else:
            self._show_difference()

    async def leave(self) -> None:
        """A step up; from the top back, asking before changes are lost."""
        if self._mode:
            self._leave_mode()
        elif self._alone:
            self.action_drawing()
        elif self._path:
            left = self._path
            self._path = left[:-1]
            # A place that holds one thing alone, such as a layer's name, is no form of its own.
            while (
                self._path
                and isinstance(self.editing.draft.at(self._path), list | str)
                and list_at(self.editing.draft, self._path) is None
            ):
                self._path = self._path[:-1]
            self.show(self._came_from.pop(self._path, 0))
            # It may have moved: keys that are not set come last.
            self._to(str(left[len(self._path)]))
        elif self.editing.is_changed and not self._asked_to_lose:
            self._asked_to_lose = True
            self.complain(_("{changes}. Esc again drops them; Ctrl+Y shows and writes them.",
                            changes=changes_said(self.editing.count).capitalize()))  # fmt: skip
        else:
            self.dismiss()


def _found_in(editing: Editing) -> tuple[str, ...]:
    from gradecheck.findings.every import findings
    from gradecheck.findings.finding import Severity
    from gradecheck.report.findings import finding_line

    assert editing.plan is not None
    found = [each for each in findings(editing.plan) if each.severity is not Severity.REMINDER]
    return tuple(finding_line(editing.plan, each) for each in found)
