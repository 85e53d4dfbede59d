"""Help and palette are read from the bindings: whatever a key can do is told there, and can be done from there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from textual import events
from textual.binding import Binding
from textual.command import CommandList, CommandPalette
from textual.pilot import Pilot
from textual.screen import Screen

from gradecheck.app.app import GradeApp
from gradecheck.app.bindings import GROUPS, KEYS, example_of, shown_key
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.edit import EditScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import TYPING, GuideScreen, KeysScreen, guide_rows
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.screens.new import NewScreen
from gradecheck.app.screens.plan import PlanScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.sheet import Sheet
from tests.app.driving import (
    JOB,
    SCREENS,
    Clock,
    app_for,
    check,
    go_to,
    point,
    press,
    readings,
    ready_job,
    recorded,
    running,
    settle,
    shown,
    typed,
    verdict,
    words,
)
from tests.thorough import some


def bound(app: GradeApp, screen: Screen[object]) -> dict[str, list[Binding]]:
    """Every action that our own classes bind for this screen, looked up where they declare it."""
    found: dict[str, list[Binding]] = {}
    for kind in (*type(screen).__mro__, *type(app).__mro__):
        if kind.__module__.startswith("gradecheck."):
            for binding in kind.__dict__.get("BINDINGS", ()):
                assert isinstance(binding, Binding)
                found.setdefault(binding.action.removeprefix("app."), []).extend(
                    replace(binding, key=key) for key in binding.key.split(",")
                )
    if app.sharing is None:  # there is nothing to share by
        found.pop("share", None)
    return found


@pytest.mark.parametrize("screen", some(SCREENS))
async def test_help_and_palette_hold_every_bound_action_once_on(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app, (100, 60)) as pilot:
        await go_to(pilot, screen)
        actions = bound(app, app.screen)
        assert {"leave", "next_theme"} <= actions.keys()
        offered = [command.title for command in app.get_system_commands(app.screen)]
        assert sorted(offered) == sorted(bindings[0].description for bindings in actions.values())
        if screen == "keys":
            return  # there is no help on the help
        await press(pilot, "f1")
        assert isinstance(app.screen, KeysScreen)
        lines = [line.strip() for line in shown(app).splitlines() if line.startswith("  ")]
        for bindings in actions.values():
            does = next((each.tooltip for each in bindings if each.tooltip), bindings[0].description)
            told = [line.removesuffix(f" {does}").strip() for line in lines if line.endswith(f" {does}")]
            assert len(told) == 1, f"{does} is told {len(told)} times"
            assert sorted(told[0].split(", ")) == sorted({shown_key(each.key) for each in bindings})
        assert {line.strip() for line in TYPING} <= set(lines)


def test_each_key_has_one_meaning_over_all_screens() -> None:
    """What the screens bind is read off their classes, and held against the table."""
    keys = [key for key, _ in KEYS.values()]
    assert len(set(keys)) == len(keys)
    for kind in (GradeApp, *_all_below(Screen)):
        for binding in kind.__dict__.get("BINDINGS", ()) if kind.__module__.startswith("gradecheck.") else ():
            assert isinstance(binding, Binding)
            assert binding.id in KEYS, (kind, binding)
            assert KEYS[binding.id][0] in binding.key.split(","), (kind, binding)
            assert set(binding.key.split(",")) <= {KEYS[binding.id][0], "enter", "f1"}, (kind, binding)


def test_each_key_is_in_one_group_of_the_help() -> None:
    meanings = [meaning for group in GROUPS for meaning in group.meanings]
    assert sorted(meanings) == sorted(KEYS)
    for group in GROUPS:
        assert group.examples
        for needed, _ in group.examples:
            assert needed <= set(KEYS)


def test_guide_and_readme_name_no_key_that_the_table_does_not_have() -> None:
    root = Path(__file__).parents[2]
    known = {shown_key(key) for key, _ in KEYS.values()} | {"Ctrl+P"}
    pages = [root / "README.md", *sorted((root / "gradecheck" / "guide").glob("*.md"))]
    for page in pages:
        told = set(re.findall(r"`(Ctrl\+[A-Z]|F[0-9]+)`|\*\*(Ctrl\+[A-Z]|F[0-9]+)\*\*", page.read_text("utf-8")))
        assert {one or other for one, other in told} <= known, page.name


def test_the_guide_s_table_has_every_key_of_check() -> None:
    page = (Path(__file__).parents[2] / "gradecheck" / "guide" / "keys.md").read_text("utf-8")
    rows = " ".join(line.split("|")[1] for line in page.splitlines() if line.startswith("| `"))
    told = set(re.findall(r"`([^`]+)`", rows))
    usual = {"Up", "Down", "PageUp", "PageDown", "Escape", "F1", "F12", "Ctrl+T", "Ctrl+W"}
    own = {shown_key(each.key) for each in CheckScreen.BINDINGS if isinstance(each, Binding)}
    names = {"Esc": "Escape", "PgUp": "PageUp", "PgDn": "PageDown"}
    assert told == {names.get(key, key) for key in own} | usual


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_the_help_is_grouped_with_an_example_each(size: tuple[int, int], job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app, size) as pilot:
        await press(pilot, "f1")
        text = " ".join(each.text.replace("\n", " ") for each in app.screen.query(Sheet))
        text = re.sub(" +", " ", text)
        for heading in (
            "AT A POINT: 51-3/8, Enter",
            "SETUP AND MARKS: F4, a mark, Enter, 51-3/8,",
            "LOG AND EVENING: F9,",
            "JOB AND PLAN: ",
            "LEAVE AND HELP: Esc",
        ):
            assert heading in text
        assert " Ctrl+Z" in text
        assert "^z" not in text
        assert "Ctrl+P" in text
        assert (
            text.index("Ctrl+Z")
            < text.index("SETUP AND MARKS")
            < text.index(" F4 Set up")
            < text.index(" F9 Results")
        )


@pytest.mark.parametrize(
    ("kind", "heading", "example"),
    [
        (JobsScreen, "SETUP AND MARKS", "Ctrl+R shows the plan as a form beside its drawing"),
        (JobsScreen, "LOG AND EVENING", "Ctrl+X shows what to look at in the plan"),
        (JobsScreen, "JOB AND PLAN", "Ctrl+Y asks for a new job, and draws it as it grows"),
        (EditScreen, "AT A POINT", "F8 deletes the row marked >, Ctrl+Z brings it back"),
        (EditScreen, "SETUP AND MARKS", "Ctrl+R, a new name, Enter renames the row marked >"),
        (EditScreen, "JOB AND PLAN", "Ctrl+Y shows what changes in the file, Ctrl+Y again saves it"),
        (NewScreen, "AT A POINT", "Ctrl+Z goes back to the question before, with its answer"),
        (PlanScreen, "SETUP AND MARKS", "Ctrl+R shows the plan as a form beside its drawing"),
        (PlanScreen, "JOB AND PLAN", "Ctrl+Y accepts the job file as it is now"),
        (LogScreen, "SETUP AND MARKS", "Ctrl+R, {rod}, Enter puts {rod} in its place"),
        (CheckScreen, "AT A POINT", "{rod}, Enter: CUT {off}; scrape, and enter the new reading"),
        (CheckScreen, "JOB AND PLAN", "the job file was changed: Ctrl+Y shows how"),
    ],
)
def test_an_example_tells_what_the_keys_do_on_that_screen(kind: type[Screen], heading: str, example: str) -> None:
    meanings = {each.id for each in kind.BINDINGS if isinstance(each, Binding) and each.id}
    group = next(group for group in GROUPS if group.name == heading)
    assert example_of(group, meanings) == example


async def test_the_examples_of_the_help_are_in_the_unit_of_the_rod(jobs: Path, clock: Clock) -> None:
    metric = JOB.replace("units: in\n", "units: mm\n", 1).replace("1/16 in", "1 mm").replace("threshold", "sill")
    app = GradeApp(jobs, ready_job(jobs / "court", clock, metric), clock=clock)
    async with running(app, (100, 60)) as pilot:
        await press(pilot, "f1")
        assert "AT A POINT: 1351, Enter: CUT 9;" in shown(app)
        assert "51-3/8" not in shown(app)


# -- what the lowest line says first


def lowest(app: GradeApp) -> str:
    """The line of keys."""
    return shown(app).splitlines()[-1].strip()


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_the_lowest_line_begins_with_what_is_needed(size: tuple[int, int], job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app, size) as pilot:
        usual = lowest(app)
        assert usual.startswith("F1 Keys   F2 Area")
        await press(pilot, "51-3/8", "enter")  # P1 at -1 reads 51 where it is right: 3/8 lower
        assert lowest(app).startswith("Enter leave it FILL")
        await press(pilot, "51", "enter")
        assert lowest(app) == usual
        await press(pilot, "51-3/7", "enter")
        assert lowest(app).startswith("Esc clear it")
        await press(pilot, "escape", "f5")
        await press(pilot, "51", "enter")
        assert lowest(app).startswith("Esc then F4 sets up again   F8 strike it")
        await press(pilot, "escape")
        assert lowest(app).startswith("F4 set up   Ctrl+N answer 1 in doubt")
        await press(pilot, "f4")
        await press(pilot, "48", "enter")
        assert lowest(app).startswith("Enter finish the setup")
        await press(pilot, "53", "enter")
        assert lowest(app).startswith("F8 drop PIN   Enter use it for a reason")
        await press(pilot, "f8", "enter")
        assert lowest(app).startswith("Ctrl+N answer 1 in doubt")
        await press(pilot, "ctrl+n")
        assert lowest(app).startswith("Enter trust them for that reason")


async def test_a_recheck_that_is_due_and_an_area_that_is_done_say_their_keys(
    pilot: Pilot[int], app: GradeApp, clock: Clock
) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter")
    clock.pass_by(hours=9)
    await press(pilot, "52", "enter")
    assert lowest(app).startswith("F5 recheck now   F3 next stage")


async def test_a_setup_begun_is_finished_by_its_key(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape", "escape")
    assert lowest(app).startswith("F4 finish the setup")


async def test_what_is_needed_can_be_tapped(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51-3/8", "enter")
    line = app.screen.query_one(KeyLine)
    await line.on_click(events.Click(line, 3, 0, 0, 0, 1, False, False, False))
    await settle(pilot)
    assert point(app) == "P2"
    assert len(readings(job)) == 1


def _all_below(kind: type) -> Iterator[type]:
    for below in kind.__subclasses__():
        yield below
        yield from _all_below(below)


async def test_the_help_of_the_set_up_screen_is_titled_with_a_word(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "f1")
    assert words(app, "head") == " Keys · Setup"


@pytest.mark.parametrize("screen", some(screen for screen in SCREENS if screen != "keys"))
async def test_no_help_is_titled_with_words_run_together(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app, (100, 40)) as pilot:
        await go_to(pilot, screen)
        await press(pilot, "f1")
        assert isinstance(app.screen, KeysScreen)
        title = words(app, "head").removeprefix(" Keys · ")
        assert title.strip()
        assert re.search("[a-z][A-Z]", title) is None, title


async def test_a_question_mark_opens_the_help_and_what_was_keyed_before_stays(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter", "?", "enter")
    assert isinstance(app.screen, KeysScreen)
    for key in ("escape", "f1", "enter"):
        await press(pilot, key)
    assert isinstance(app.screen, CheckScreen)
    assert (typed(app), point(app)) == ("", "P2")
    assert readings(job) == [("P1", "finish", "51")]


@pytest.mark.parametrize(
    ("screen", "page", "says"),
    [
        ("check", "keys", "Keys on Check"),
        ("set up", "moving", "Kicked?"),
        pytest.param("day", "evening", "The day", marks=pytest.mark.thorough),
        pytest.param("jobs", "job-file", "The job file", marks=pytest.mark.thorough),
    ],
)
async def test_f1_twice_opens_the_guide_at_the_page_of_the_screen(
    screen: str, page: str, says: str, jobs: Path, clock: Clock
) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app, (100, 40)) as pilot:
        await go_to(pilot, screen)
        below = app.screen
        await press(pilot, "f1")
        await press(pilot, "f1")
        assert isinstance(app.screen, GuideScreen)
        assert words(app, "head") == f" Guide · {page}"
        assert says in shown(app)
        await press(pilot, "escape")
        assert app.screen is below


async def test_a_question_mark_opens_the_help_wherever_figures_are_keyed(pilot: Pilot[int], app: GradeApp) -> None:
    for screen in ("set up", "recheck", "mark", "put right", "instrument"):
        await go_to(pilot, screen)
        await press(pilot, "?", "enter")
        assert isinstance(app.screen, KeysScreen)
        for _ in range(2):
            await press(pilot, "escape")


def first_hit(app: GradeApp) -> str:
    """The name of the first command that the palette found."""
    found = app.screen.query_one(CommandList)
    return str(found.get_option_at_index(0).prompt).splitlines()[0].strip() if found.option_count else ""


async def test_the_palette_does_what_the_key_does(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51-3/16", "enter")
    for name, expected in (("Strike", CheckScreen), ("Log", LogScreen)):
        await press(pilot, "ctrl+p")
        await press(pilot, name)
        for _ in range(1000):  # the palette searches while other things go on, and does not say when it is done
            if first_hit(app) == name:
                break
            await pilot.pause(0.01)
        await press(pilot, "down", "enter")
        while isinstance(app.screen, CommandPalette):
            await pilot.pause(0.01)
        await settle(pilot)
        assert isinstance(app.screen, expected)
        if name == "Strike":
            assert (verdict(app), point(app)) == ("", "P1")
            assert words(app).startswith("Struck: P1 finish, rod 51-3/16.")


BURSTS = (
    ("ctrl+p", "enter", "enter"),
    ("ctrl+p", "enter", "enter", "enter", "enter"),
    ("ctrl+p", "pagedown", "enter", "enter"),
    ("ctrl+p", "escape", "escape", "escape"),
    ("ctrl+p", "ctrl+p", "escape", "ctrl+p", "escape", "ctrl+p"),
    ("f1", "escape", "escape", "f1", "enter", "enter", "f1", "f1", "f1"),
    ("escape", "ctrl+p", "enter", "enter"),
    ("f6", "escape", "escape", "ctrl+p", "f6", "ctrl+p", "enter", "enter"),
)
"""Keys that leave a screen, and keys behind them; one screen was left for each, down to none, and the app ended."""


@pytest.mark.parametrize("keys", BURSTS, ids=" ".join)
@pytest.mark.parametrize("shown_first", some([False, True], [False]), ids=["in one burst", "the first seen"])
async def test_a_screen_is_left_once_however_many_keys_come_behind(
    keys: tuple[str, ...], shown_first: bool, pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, *keys[:shown_first])
    await pilot.pause(0.3 if shown_first else 0)  # the palette's list comes a little later
    await press(pilot, *keys[shown_first:])
    await pilot.pause(0.3)
    await settle(pilot)
    assert app._exception is None
    assert isinstance(app.screen_stack[1], (CheckScreen, JobsScreen)), app.screen_stack
    if isinstance(app.screen, CommandPalette):
        await press(pilot, "escape")
    assert type(app.screen) is not Screen, "Textual's own empty one"
    assert shown(app).strip()


async def test_what_the_palette_chose_for_a_screen_that_is_gone_is_said(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f6")
    log = app.screen
    assert isinstance(log, LogScreen)
    await press(pilot, "escape")
    await log.act("strike")
    await settle(pilot)
    assert "Ignored, another screen was up by then: Strike." in words(app)


async def test_an_action_chosen_with_two_enters_is_done_once(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51-3/16", "enter", "51-9/16", "enter", "52", "enter")
    await press(pilot, "ctrl+p")
    await press(pilot, *"Strike")
    for _ in range(1000):
        if first_hit(app) == "Strike":
            break
        await pilot.pause(0.01)
    await press(pilot, "enter", "enter", "enter")
    await pilot.pause(0.1)
    await settle(pilot)
    assert len(recorded(job, "void")) == 1


async def test_a_key_before_a_screen_is_made_up_is_not_done_and_is_said(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51-3/16", "enter")
    for screen, action, what in (
        (CheckScreen(), "strike", "Strike"),
        (LogScreen(check(app).route), "move(-1)", "Entry before"),
        (JobsScreen(app.folder), "findings", "Findings"),
    ):
        app.push_screen(screen)
        await app.run_action(action, screen)  # as Textual does it while there is no box yet
        await settle(pilot)
        assert words(app) == f"Ignored; pressed before this screen was up: {what}."
    assert recorded(job, "void") == []


async def test_what_is_chosen_before_its_screen_is_made_up_is_done_behind_that(
    pilot: Pilot[int], app: GradeApp
) -> None:
    log = LogScreen(check(app).route)
    app.push_screen(log)
    await log.act("other_area")
    await settle(pilot)
    assert log.area is None


async def test_keys_nobody_bound_do_nothing(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    before = shown(app)
    await press(pilot, "f10", "f11", "ctrl+@")
    assert shown(app) == before
    assert readings(job) == []


@pytest.mark.parametrize("screen", some(SCREENS))
async def test_the_lowest_line_names_the_keys_that_are_shown_on(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app, (120, 40)) as pilot:
        await go_to(pilot, screen)
        line = shown(app).splitlines()[-1]
        told: dict[str, list[str]] = {}
        for binding in (active.binding for active in app.screen.active_bindings.values() if active.binding.show):
            words = f" {shown_key(binding.key)} {binding.description} "
            told.setdefault(binding.action, []).append(words)
        assert told
        assert all(any(each in f"{line} " for each in keyed) for keyed in told.values()), line


async def test_the_guide_is_read_without_the_marks_of_its_file(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f1")
    await press(pilot, "f1")
    assert isinstance(app.screen, GuideScreen)
    lines = shown(app).splitlines()
    assert not any(mark in line for line in lines[1:] for mark in ("|", "`", "---", "# "))
    assert any(re.fullmatch(r"  F5 +recheck a mark", line.rstrip(" ▁▂▃▄▅▆▇█")) for line in lines)


def test_each_page_of_the_guide_is_all_there_but_for_its_marks() -> None:
    for page in sorted((Path(__file__).parents[2] / "gradecheck" / "guide").glob("*.md")):
        text = page.read_text("utf-8")
        says = " ".join("".join(piece for piece, _ in row) for row in guide_rows(text))
        marks = str.maketrans("", "", "|`#*-\\")
        wanted = [word for word in text.translate(marks).split() if word not in ("sh", "toml", "yaml", "bat")]
        assert says.translate(marks).split() == wanted, page.name


SWALLOWED = {
    # Windows Terminal: paste, copy, full screen, the size of letters, settings, tabs.
    *(
        "ctrl+v",
        "ctrl+c",
        "f11",
        "alt+enter",
        "ctrl+plus",
        "ctrl+minus",
        "ctrl+0",
        "ctrl+comma",
        "ctrl+tab",
        "alt+f4",
    ),
    # A Mac laptop: the desktop, its windows and spaces, the input source.
    *("ctrl+up", "ctrl+down", "ctrl+left", "ctrl+right", "ctrl+space"),
    # The same characters as Tab, Enter, Backspace and Escape, wherever keys arrive as characters (ASCII).
    *("ctrl+i", "ctrl+j", "ctrl+m", "ctrl+h", "ctrl+left_square_bracket"),
}
"""Keys that do not reach a program there: common practice, no source."""


def test_no_key_is_one_that_a_terminal_or_a_laptop_keeps_to_itself() -> None:
    keys = {key for key, _word in KEYS.values()}
    assert not keys & SWALLOWED
    assert all(re.fullmatch(r"f([1-9]|1[0-2])|ctrl\+[a-z]|up|down|page(up|down)|escape|enter", key) for key in keys)
