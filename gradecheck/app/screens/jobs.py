"""The Jobs screen: the jobs of a folder, what is doubtful about each, and the way to a new one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static

from gradecheck.actions import Refusal
from gradecheck.app import early
from gradecheck.app.bindings import bind, own, shown_key
from gradecheck.app.plain import looked, plain
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.entry import LONGEST
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.region import touched
from gradecheck.catalogue import _, count
from gradecheck.journal.errors import JournalError
from gradecheck.plan.load import PLAN_NAME, Loaded, load_plan
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError

if TYPE_CHECKING:
    from gradecheck.app.job_board import BoardRead, JobBoard
    from gradecheck.app.screens.findings import Counted, FindingLines
    from gradecheck.sharing.boards import BoardSource

COUNTS_AFTER = 0.4
"""Seconds after the list is up; who opens a job at once must not wait for findings on all of them."""
MOST_POINTS = 4_000
"""Points of a plan that is looked at unasked: about a second, measured; one with more only by Ctrl+X."""

LOOKS = (
    (r"^    .*$", "$quiet not bold"),
    (r"█+|#+(?=[=?.]* )", "$calm"),
    (r"▒+|=+(?=[?.]* )", "$work"),
    (r"(?<=[█▒#= ])\?+(?=[─. ])", "$doubt"),
    (r"\d+ of \d+", "$ink bold"),
    (r"\d+ IN DOUBT|SETUP DISAGREES [^ ]+(?: \d+/\d+)?", "$doubt bold"),
)
"""What is below a job's name stands back; its bars have the colors they have on Check."""


class JobList(OptionList):
    """Takes Enter itself, so that it comes behind the arrows that were pressed before it."""

    BINDINGS: ClassVar[list[BindingType]] = [bind("open", "screen.open", show=True)]


class JobsScreen(LeftOnceScreen[None]):
    """Up and down choose a job, Enter opens it."""

    GUIDE = "job-file"
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("checks", "findings", _("Findings on the job's plan"), word=_("Findings"), show=True),
        bind("plan", "new", _("Begin a new job, question by question"), word=_("New"), show=True),
        bind("correct", "edit", _("Edit the job's plan"), word=_("Edit"), show=True),
        bind("other-folder", "join", _("Take in what another laptop recorded on the job"), word=_("Join")),
        bind("more", "again", _("Read the folder again"), word=_("Reload")),
        bind("keys", "app.keys", show=True),
        bind("quit", "app.leave", show=True),
        bind("find", "get", _("Find and get a job where laptops meet"), word=_("Get a job")),
    ]

    def __init__(self, folder: Path, wrong: str = "", *, chosen: Path | None = None) -> None:
        """`wrong` is what went wrong before, `chosen` the job that is left for the list."""
        super().__init__()
        self.folder = folder
        self._wrong = wrong
        self._marked = chosen
        self._warned_of: Path | None = None
        self._typed: list[early.Typed] = []
        """What was typed though no job is open: none of it is taken, and Enter behind it opens none."""
        self.jobs: list[Path] = []
        self._read: dict[Path, Loaded | PlanProblemsError] = {}
        self._found: dict[Path, FindingLines] = {}
        self._boards: dict[Path, JobBoard] = {}

    def compose(self) -> ComposeResult:
        """The list, and a line on what to do."""
        yield Static(plain(_(" gradecheck · jobs in {folder}", folder=self.folder)), id="head")
        yield JobList(id="jobs")
        yield Static(id="empty")
        yield Static(id="says")
        yield KeyLine()

    def on_mount(self) -> None:
        """Reads the folder; what went wrong before stays in front of the person."""
        self.action_again()
        if self._wrong:
            self._say(self._wrong)

    def action_again(self) -> None:
        """Reads the folder, and each plan in it; the bar stays on its job."""
        try:
            self.jobs = sorted(path.parent for path in self.folder.glob(f"*/{PLAN_NAME}"))
        except OSError:
            self.jobs = []
        self._read = {job: _read(job) for job in self.jobs}
        self._found = {}
        self._boards = {}
        jobs = self.query_one(OptionList)
        jobs.clear_options()
        at = self.jobs.index(self._marked) if self._marked in self.jobs else 0
        self._marked = self.jobs[at] if self.jobs else None
        jobs.add_options([looked(self._describe(job), LOOKS) for job in self.jobs])
        if self.jobs:
            jobs.highlighted = at
            self._say(_("Enter opens the job."))
        else:
            self._say(
                _(
                    "No job here: put a folder with a {file_name} into {folder}, then Ctrl+O.",
                    file_name=PLAN_NAME,
                    folder=self.folder,
                )
            )
            self.query_one("#empty", Static).update(
                plain(_("No jobs here. {key_of} makes one.", key_of=self._key_of("new")))
            )
        jobs.display, self.query_one("#empty").display = bool(self.jobs), not self.jobs
        self.set_timer(COUNTS_AFTER, self._count)

    def _key_of(self, action: str) -> str:
        """The key that does it, as it is written on the keyboard."""
        every = (binding for bindings in own(self).values() for binding in bindings)
        return next(shown_key(binding.key) for binding in every if binding.action == action)

    def on_resize(self) -> None:
        """The bars have more room now, or less."""
        for job in self._boards:
            self._show_again(job)

    def on_board_read(self, event: BoardRead) -> None:
        """Shows how far a job is, below its name."""
        if event.job in self.jobs:
            self._boards[event.job] = event.board
            self._show_again(event.job)

    def _say(self, text: str) -> None:
        self.query_one("#says", Static).update(plain(text))

    def complain(self, text: str) -> None:
        """Says what is wrong, and rings the bell."""
        self._say(text)
        self.app.bell()

    @property
    def _chosen(self) -> Path | None:
        index = self.query_one(OptionList).highlighted
        return None if index is None else self.jobs[index]

    def on_key(self, event: events.Key) -> None:
        """A figure typed here was meant for a job: it is named, so that the next one is not taken for it."""
        if event.key != "enter":
            self._mind_typed(event)

    def on_paste(self, event: events.Paste) -> None:
        """The same for what is pasted."""
        self._mind_typed(event)

    def _mind_typed(self, event: early.Typed) -> None:
        before = early.texts(self._typed)[-1].strip()
        self._typed = [*self._typed, event][-LONGEST:]
        if typed := early.texts(self._typed)[-1].strip():
            self._say(_("“{typed}” is not taken: no job is open.", typed=typed))
        elif before:
            self._say(_("Enter opens the job."))
        if not typed:
            self._typed = []

    def action_open(self) -> None:
        """Opens the highlighted job, or shows why it can't be."""
        typed, self._typed = early.texts(self._typed)[-1].strip(), []
        if typed and self._chosen is not None:
            self.complain(
                _(
                    "“{typed}” was not taken: no job was open. Enter again opens {name}.",
                    typed=typed,
                    name=self._chosen.name,
                )
            )
        elif self._chosen is not None:
            self._open(self._chosen)

    def _open(self, job: Path) -> None:
        if (went := self.host.went_on.get(job)) is not None and self._warned_of != job:
            self._warned_of = job
            self.complain(_("Work moved to {went}; press Enter again to open this older copy.", went=went))
            return
        try:
            self.host.open_job(job)
        except PlanProblemsError as wrong:
            self._show_problems(job, wrong)
        except JournalError as wrong:
            self.complain(str(wrong))

    def _show_problems(self, job: Path, wrong: PlanProblemsError) -> None:
        from gradecheck.app.screens.problems import ProblemsScreen  # screens are imported when they are gone to

        self.app.push_screen(ProblemsScreen(job, wrong))

    # -- a new job

    def action_new(self) -> None:
        """Asks what a new job needs, and shows it in the list when it is there."""
        from gradecheck.app.screens.new import NewScreen

        self.app.push_screen(NewScreen(self.folder, self._begun))

    def _begun(self, job: Path) -> None:
        self.action_again()
        if job in self.jobs:
            self.query_one(OptionList).highlighted = self.jobs.index(job)
        self._say(
            _(
                "{job} is written. Ctrl+X shows what to look at in it, Ctrl+R edits it, Enter opens the job.",
                job=job / PLAN_NAME,
            )
        )

    # -- its plan edited

    def action_edit(self) -> None:
        """The highlighted job's plan as a form, also where it can't be read as it is."""
        job = self._chosen
        if job is None:
            return
        from gradecheck.app.screens.edit import EditScreen

        try:
            self.app.push_screen(EditScreen(job, self.action_again))
        except Refusal as wrong:
            self.complain(str(wrong))

    async def action_join(self) -> None:
        """Goes to where what another laptop recorded on the highlighted job is taken in."""
        job = self._chosen
        if job is None:
            return
        self._say(_("Reading {name} …", name=job.name))
        try:
            await self.host.join_to(job)
        except PlanProblemsError as wrong:
            self._show_problems(job, wrong)
        except JournalError as wrong:
            self.complain(str(wrong))

    # -- a job that is not here yet

    def action_get(self) -> None:
        """Shows the jobs of the meeting place that the settings name; the one that is got is in the list then."""
        place = self.host.settings.meets_at
        if place is None:
            self.complain(
                _('No meeting place is named: "copy to" = "FOLDER" in settings.toml, or the address of an office.')
            )
            return
        from gradecheck.actions import Refusal
        from gradecheck.app.screens.board import BoardScreen, Getting

        try:
            source = _source(place)
        except Refusal as wrong:
            self.complain(str(wrong))
            return
        self.app.push_screen(BoardScreen(source, getting=Getting(place, self.folder.absolute(), self._got)))

    def _got(self, job: Path) -> None:
        self.action_again()
        there = [each for each in self.jobs if each.name == job.name]
        if there:
            self.query_one(OptionList).highlighted = self.jobs.index(there[0])
        self._say(_("{job} is here; Enter opens it.", job=job.name))

    # -- findings

    def action_findings(self) -> None:
        """Shows what is doubtful about the highlighted job's plan, or what keeps it from being read."""
        job = self._chosen
        if job is None:
            return
        read = self._read_anew(job)
        if isinstance(read, PlanProblemsError):
            self._show_problems(job, read)
            return
        from gradecheck.app.screens.findings import FindingsScreen

        def left(opens: bool | None) -> None:
            if opens:
                self.call_later(self._open, job)  # when that screen is gone

        self.app.push_screen(FindingsScreen(job, read.plan, self._found.get(job)), left)

    def _read_anew(self, job: Path) -> Loaded | PlanProblemsError:
        """The plan as its files have it now; what was found before stands only where they are as they were."""
        before, now = self._read[job], _read(job)
        if isinstance(before, Loaded) and isinstance(now, Loaded) and before.digest == now.digest:
            return before
        self._read[job] = now
        self._found.pop(job, None)
        self._show_again(job)
        return now

    def _count(self) -> None:
        """Looks for findings beside the drawing, one job after the other."""
        if not self.is_attached:
            return
        from gradecheck.app.screens.findings import look_beside

        reads = self._read
        plans = [(job, read.plan) for job, read in reads.items() if isinstance(read, Loaded)]
        small = [(job, plan) for job, plan in plans if _points(plan) <= MOST_POINTS]
        look_beside(self, small, lambda: self.is_attached and self._read is reads)
        from gradecheck.app.job_board import read_beside

        read_beside(self, self.jobs, lambda: self.is_attached and self._read is reads)

    def on_counted(self, event: Counted) -> None:
        """Shows how many findings there are on a job's plan, behind its name."""
        read = self._read.get(event.job)
        if isinstance(read, Loaded) and read.plan is event.plan:
            self._found[event.job] = event.found
            self._show_again(event.job)

    def _show_again(self, job: Path) -> None:
        self.query_one(OptionList).replace_option_prompt_at_index(
            self.jobs.index(job), looked(self._describe(job), LOOKS)
        )

    async def on_option_list_option_selected(self) -> None:
        """A job that is tapped opens; Enter comes as an action of its own."""
        await self.run_action("open")

    def on_option_list_option_highlighted(self) -> None:
        """Puts the sign where the bar is: its colors alone can't be seen everywhere."""
        before, self._marked = self._marked, self._chosen
        for job in {before, self._marked}:
            if job in self.jobs:
                self._show_again(job)

    def _describe(self, job: Path) -> list[str]:
        name = f"{'>' if job == self._marked else ' '} {self._job_line(job, self.size.width - 4)}"
        board = self._boards.get(job)
        if board is None:
            return [name, *[""] * touched(self.app)]  # two rows high for a finger
        from gradecheck.app.job_board import lines_of

        return [name, *lines_of(board, self.size.width - 2, ascii_only=self.host.ascii_only)]

    def _job_line(self, job: Path, room: int) -> str:
        """The job in one line where it can be: how large it is goes first."""
        read = self._read[job]
        if isinstance(read, PlanProblemsError):
            return _(
                "{name}: {problems} in its plan, Enter shows them",
                name=job.name,
                problems=count(len(read.problems), "problem"),
            )
        plan, found, points = read.plan, self._found.get(job), _points(read.plan)
        says = _(
            "{name}: {job} ({areas}, {points}, {units})",
            name=job.name,
            job=plan.job,
            areas=count(len(plan.areas), "area"),
            points=count(points, "point"),
            units=plan.notation.units,
        )
        more = f", {count(found.count, 'finding')}" if found and found.count else ""
        return f"{says}{more}" if cell_len(says + more) <= room else f"{job.name}: {plan.job}{more}"


def _read(job: Path) -> Loaded | PlanProblemsError:
    try:
        return load_plan(job / PLAN_NAME)
    except PlanProblemsError as wrong:
        return wrong


def _points(plan: Plan) -> int:
    return sum(len(area.points) for area in plan.areas.values())


def _source(place: Path | str) -> BoardSource:
    """The board of a meeting place. Raises Refusal."""
    if isinstance(place, Path):
        from gradecheck.sharing.boards import FolderBoard

        return FolderBoard(place)
    from gradecheck.office.address import address
    from gradecheck.office.board import OfficeBoard

    return OfficeBoard(address(place))
