"""The Edit screen: the job file as a form; nothing is written before it was shown, and nothing is lost unasked."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.edit import EditScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.paged import Pages
from gradecheck.app.screens.plan import PlanScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.plan.load import load_plan
from gradecheck.session.clock_watch import now
from gradecheck.sharing.last_copy import note
from tests.app.driving import JOB, Clock, app_for, go_to, press, recorded, resize, running, shown, typed, words
from tests.thorough import some

SMALL, USUAL, WIDE = (60, 20), (80, 24), (120, 40)


async def opened(pilot, *keys: str) -> EditScreen:  # type: ignore[no-untyped-def]
    """The Edit screen from the list of jobs, after those keys."""
    await press(pilot, "ctrl+r")
    await press(pilot, *keys)
    screen = pilot.app.screen
    assert isinstance(screen, EditScreen)
    return screen


def row(app: GradeApp) -> str:
    screen = app.screen
    assert isinstance(screen, EditScreen)
    return screen.rows[screen.query_one(RowsView).current].label


def on_disk(jobs: Path) -> str:
    return (jobs / "court" / "job.yaml").read_text(encoding="utf-8")


TO_POINTS = ("enter", "enter", "enter")
"""From the top: the areas, the path, its points."""


async def test_a_rule_is_added_by_its_name_and_its_limit(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        await opened(pilot)
        await press(pilot, "rules", "enter", "enter")
        assert "Nothing here yet. Type a name, a colon and its value to add one." in words(app)
        await press(pilot, "riser at most", "enter")
        assert typed(app) == "riser at most: "
        await press(pilot, "7 in", "enter")
        assert row(app) == "riser at most"
        await press(pilot, "tread at least 12 in", "enter")
        assert row(app) == "tread at least"
        await press(pilot, "riser at mots: 6 in", "enter", "ctrl+y")
        assert words(app).startswith("Not written: ")
        await press(pilot, "ctrl+z", "escape")
        assert row(app) == "rules", "though it stands among what is set now"
        await press(pilot, "ctrl+y", "enter")
    assert on_disk(jobs) == f"{JOB}rules:\n  riser at most: 7 in\n  tread at least: 12 in\n"


@pytest.mark.parametrize("size", some([SMALL, USUAL, WIDE], [USUAL]))
async def test_a_point_is_added_in_one_line_shown_and_written(
    jobs: Path, clock: Clock, size: tuple[int, int]
) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, size) as pilot:
        await opened(pilot, *TO_POINTS)
        await press(pilot, "P4 from P3, fall 2%, over 50 in", "enter")
        assert row(app) == "P4"
        assert "−3" in shown(app)
        assert on_disk(jobs) == JOB
        await press(pilot, "ctrl+y")
        assert "+      P4: {from: P3, fall: 2%, over: 50 in}" in shown(app)
        assert on_disk(jobs) == JOB
        await press(pilot, "enter")
        assert words(app) == "job.yaml is written: 1 change."
    before = "      P3: {elevation: -2, what: at the gate}\n"
    assert on_disk(jobs) == JOB.replace(before, before + "      P4: {from: P3, fall: 2%, over: 50 in}\n")


async def test_a_value_is_taken_into_the_box_changed_and_taken_back(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        screen = await opened(pilot, *TO_POINTS, "P2", "enter", "enter")
        assert row(app) == "elevation"
        await press(pilot, "enter")
        assert typed(app) == "-1 1/2"
        await press(pilot, "ctrl+u", "-1 5/8", "enter")
        assert "P2 = −1 5/8 in" in shown(app)
        assert "1 change not written" in shown(app)
        await press(pilot, "ctrl+z")
        assert not screen.editing.is_changed
        assert "P2 = −1 1/2 in" in shown(app)


async def test_a_value_that_can_not_be_is_refused_and_stays_in_the_box(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        screen = await opened(pilot, *TO_POINTS, "P2", "enter", "enter")
        await press(pilot, "low", "enter")
        assert "“low”" in words(app)
        assert typed(app) == "low"
        assert not screen.editing.is_changed


async def test_what_is_not_whole_yet_is_said_and_not_written(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS, "P9", "enter")
        assert words(app) == "P9 is new: give it what it needs, row by row. Esc goes back."
        await press(pilot, "P1", "enter")
        await press(pilot, "down", "2%", "enter")
        assert "“fall:” (or “rise:”) and “over:” belong together" in shown(app)
        await press(pilot, "ctrl+y")
        assert words(app).startswith("Not written: “fall:”")
        labels = [each.label for each in app.screen.rows]  # type: ignore[attr-defined]
        await press(pilot, *["down"] * (labels.index("over") - labels.index(row(app))), "4 ft", "enter")
        assert "P9 = −1" in shown(app)
        await press(pilot, "ctrl+y", "enter")
    assert "P9: {from: P1, fall: 2%, over: 4 ft}" in on_disk(jobs)


async def test_a_rename_takes_its_users_along_and_who_is_used_stays(jobs: Path, clock: Clock) -> None:
    text = JOB.replace("P2: {elevation: -1 1/2, what: half way}", "P2: {from: P1, fall: 2%, over: 25 in}  # half way")
    app = app_for("jobs", jobs, clock, text)
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS)
        await press(pilot, "f8")
        assert words(app) == "“P1” is used by P2; change that first."
        await press(pilot, "ctrl+r", "TOP", "enter")
        assert row(app) == "TOP"
        await press(pilot, "ctrl+y", "enter")
    assert on_disk(jobs) == text.replace("P1:", "TOP:").replace("from: P1", "from: TOP")


async def test_a_row_is_deleted_and_moved_and_both_come_back(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        screen = await opened(pilot, *TO_POINTS)
        await press(pilot, "f8")
        assert words(app) == "P1 is deleted. Ctrl+Z brings it back."
        assert [each.label for each in screen.rows] == ["P2", "P3"]
        await press(pilot, "ctrl+z", "P1", "enter", "ctrl+o", "P3", "enter")
        assert [each.label for each in screen.rows] == ["P2", "P3", "P1"]
        assert row(app) == "P1"
        await press(pilot, "ctrl+o", "enter")
        assert [each.label for each in screen.rows] == ["P1", "P2", "P3"]
        await press(pilot, "ctrl+o", "P7", "enter")
        assert words(app) == "There is no “P7” here."


async def test_an_area_is_made_from_its_name_on(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        screen = await opened(pilot, "enter", "lawn edge", "enter")
        labels = [each.label for each in screen.rows]
        assert labels[:3] == ["points", "outline", "surface"]
        await press(pilot, "enter", "L1 from DOOR, fall 2%, over 10 ft", "enter")
        await press(pilot, "escape")
        await press(pilot, *["down"] * [each.label for each in screen.rows].index("build-up"), "yard", "enter")
        assert not screen.editing.problems
        await press(pilot, "ctrl+y", "enter")
    area = load_plan(jobs / "court" / "job.yaml").plan.areas["lawn edge"]
    assert area.build_up is not None
    assert area.build_up.name == "yard"
    assert [point.name for point in area.points] == ["L1"]


async def test_leaving_asks_before_changes_are_lost(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS, "P4 -3", "enter", "escape", "escape", "escape")
        assert isinstance(app.screen, EditScreen)
        await press(pilot, "escape")
        assert words(app) == "1 change not written. Esc again drops them; Ctrl+Y shows and writes them."
        await press(pilot, "down", "escape")
        assert isinstance(app.screen, EditScreen), "only an Escape right behind the question drops anything"
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
    assert on_disk(jobs) == JOB


async def test_a_file_changed_by_someone_else_is_noticed_and_asked_about(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS, "P4 -3", "enter", "ctrl+y")
        theirs = JOB.replace("Quillmere", "Quillmore") + "# theirs\n"
        (jobs / "court" / "job.yaml").write_text(theirs, encoding="utf-8")
        await press(pilot, "enter")
        assert words(app).startswith("job.yaml was changed by someone else; nothing is written.")
        assert on_disk(jobs) == theirs
        await press(pilot, "enter")
        assert "+      P4: −3" in shown(app)
        assert on_disk(jobs) == theirs
        await press(pilot, "enter")
    before = "      P3: {elevation: -2, what: at the gate}\n"
    assert on_disk(jobs) == theirs.replace(before, before + "      P4: -3\n")


async def test_the_drawing_stands_beside_under_or_alone(jobs: Path, clock: Clock) -> None:
    text = JOB.replace("{elevation: -2, what: at the gate}", "{elevation: -2, what: at the gate, at: [3 ft, 9 ft]}")
    app = app_for("jobs", jobs, clock, text)
    async with running(app, WIDE) as pilot:
        screen = await opened(pilot, "enter", "enter")
        form, drawing = screen.query_one(RowsView), screen.query_one(DrawingView)
        assert drawing.region.x >= form.region.right
        await resize(pilot, *USUAL)
        assert drawing.region.y >= form.region.bottom
        await resize(pilot, *SMALL)
        assert not drawing.display
        await press(pilot, "ctrl+e")
        assert drawing.display
        assert not form.display
        await press(pilot, "escape")
        assert form.display


async def test_findings_arise_as_it_is_edited(jobs: Path, clock: Clock) -> None:
    text = JOB.replace("  path:\n", "  path:\n    outline: [[0, 0], [9 ft, 0], [9 ft, 9 ft], [0, 9 ft]]\n")
    app = app_for("jobs", jobs, clock, text)
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS)
        assert words(app, "found") == ""
        await press(pilot, "P4 elevation -1, at 20 ft, 3 ft", "enter")
        assert "P4: is outside the area's outline" in words(app, "found")
        await press(pilot, "ctrl+x")
        assert app.screen.query_one(Pages).display
        await press(pilot, "escape")
        assert not app.screen.query_one(Pages).display


async def test_a_plan_that_can_not_be_read_is_mended_here(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock, JOB.replace("finish: 1/8 in", "finish: soon"))
    async with running(app, USUAL) as pilot:
        screen = await opened(pilot)
        assert "“soon”" in words(app, "found")
        labels = [each.label for each in screen.rows]
        up = labels.index("areas") - labels.index("tolerances")
        await press(pilot, *["up"] * up, "enter", "finish", "enter", "finish 1/8 in", "enter")
        assert not screen.editing.problems
        await press(pilot, "ctrl+y", "enter")
    assert on_disk(jobs) == JOB


async def test_from_check_the_new_plan_is_offered_and_accepted_as_any_other(jobs: Path, clock: Clock) -> None:
    app = app_for("plan", jobs, clock)
    async with running(app, USUAL) as pilot:
        await go_to(pilot, "plan")
        await press(pilot, "ctrl+r")
        assert isinstance(app.screen, EditScreen)
        await press(pilot, "enter", "P2", "enter", "enter", "-1 5/8", "enter", "ctrl+y", "enter")
        await press(pilot, *["escape"] * 5)
        assert isinstance(app.screen, PlanScreen)
        assert "The job file has changed" in shown(app)
        await press(pilot, "ctrl+y")
        assert app.session is not None
        assert app.session.offered is None
        assert app.session.plan.areas["path"].point("P2").finish.height.metres * 10_000 == -1.625 * 254


async def test_what_was_changed_on_site_goes_into_the_file_by_one_action(jobs: Path, clock: Clock) -> None:
    app = app_for("plan", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "plan")
        await press(pilot, "ctrl+o")
        assert words(app) == "Nothing was changed on site."
        await press(pilot, "N1 from P1 fall 2% over 50 in", "enter")
        await press(pilot, "P2 -1 5/8", "enter", "as the owner wants it", "enter")
        await press(pilot, "finish +1/4 -1/8", "enter", "rough edge", "enter")
        await press(pilot, "ctrl+o")
        assert isinstance(app.screen, EditScreen)
        await press(pilot, "enter", "escape")
        assert "The job file has changed" in shown(app)
        await press(pilot, "ctrl+y", "ctrl+o")
        assert words(app) == "The job file has it all already."
    path = load_plan(jobs / "court" / "job.yaml").plan.areas["path"]
    assert on_disk(jobs).count("\n") == JOB.count("\n") + 4
    assert "      P2: {elevation: -1 5/8 in, what: half way}\n" in on_disk(jobs)
    assert path.point("N1").finish.height.metres * 10_000 == -2 * 254
    assert path.tolerances["finish"].high.metres * 10_000 == 254 / 4
    assert [kind for kind, _ in recorded(jobs / "court")].count("plan") == 2


async def test_where_the_office_gives_the_plan_only_the_office_writes_it(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    job = jobs / "court"
    async with running(app, USUAL) as pilot:
        note(job, "plan 3 came", whole=True, at=now(), office=(3, "abc"))
        await press(pilot, "ctrl+r")
        assert isinstance(app.screen, JobsScreen)
        assert words(app).startswith("The office writes this job's plan (number 3)")
        note(job, "plan 3 given out", whole=True, at=now(), office=(3, "abc"), gives=True)
        await press(pilot, "ctrl+r")
        assert isinstance(app.screen, EditScreen)


async def test_what_is_not_set_stands_below_a_heading_that_the_hand_skips(tmp_path: Path) -> None:
    app = app_for("edit", tmp_path / "jobs", Clock())
    async with running(app, (80, 24)) as pilot:
        await go_to(pilot, "edit")
        lines = shown(app).split("\n")
        at = next(number for number, line in enumerate(lines) if line.strip().startswith("NOT SET"))
        assert lines[at - 1].startswith("> areas"), "the last that the file has"
        assert lines[at + 1].startswith("  instrument")
        await press(pilot, "down")
        assert shown(app).split("\n")[at + 1].startswith("> instrument")
        await press(pilot, "up")
        assert shown(app).split("\n")[at - 1].startswith("> areas")
        for _unused in range(40):
            await press(pilot, "down")
        assert any(line.startswith("> round targets") for line in shown(app).split("\n")), (
            "the last row comes into sight"
        )


async def test_a_plan_without_places_says_so_in_one_line(tmp_path: Path) -> None:
    app = app_for("edit", tmp_path / "jobs", Clock())
    async with running(app, (120, 40)) as pilot:
        await go_to(pilot, "edit")
        text = shown(app)
        assert text.count("Nothing to draw yet: no point has a place.") == 1
        assert "no place:" not in text
        await press(pilot, "ctrl+e")
        assert "no place:" in shown(app), "the drawing alone is still to be had"


LISTED = JOB.replace("    points:\n", "    points: path.csv\n    added:\n", 1)
SPOTS = "\ufeffname;x;y;elevation;note\r\nL1;0;0;-1,5;by the wall\r\nL2;50;0;-2,25;\r\n"


@pytest.mark.parametrize("size", some([SMALL, USUAL, WIDE], [USUAL]))
async def test_points_of_a_list_are_edited_in_their_list(jobs: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = app_for("jobs", jobs, clock, LISTED)
    file = jobs / "court" / "path.csv"
    file.write_bytes(SPOTS.encode())
    async with running(app, size) as pilot:
        screen = await opened(pilot, *TO_POINTS)
        assert [each.label for each in screen.rows] == ["L1", "L2"]
        await press(pilot, "L3 x 100, y 0, elevation -3, note at the gate", "enter")
        assert row(app) == "L3"
        await press(pilot, "L2", "enter", "enter", "down", "down", "enter")
        assert typed(app) == "-2,25"
        await press(pilot, "ctrl+u", "low", "enter")
        assert "“low”" in words(app)
        await press(pilot, "ctrl+u", "-2 3/8", "enter", "escape")
        assert [each.label for each in screen.rows] == ["L1", "L2", "L3"]
        await press(pilot, "L1", "enter", "ctrl+r", "WALL", "enter", "ctrl+o", "L2", "enter")
        assert [each.label for each in screen.rows] == ["L2", "WALL", "L3"]
        await press(pilot, "L3", "enter", "f8")
        assert [each.label for each in screen.rows] == ["L2", "WALL"]
        await press(pilot, "ctrl+z", "ctrl+y")
        assert words(app) == "This is what changes in path.csv. Enter writes it, Esc goes on editing."
        assert "path.csv:" in shown(app)
        assert "+L2;50;0;" in shown(app)
        assert file.read_bytes() == SPOTS.encode()
        await press(pilot, "enter")
        assert words(app) == "path.csv is written: 4 changes."
    head = "\ufeffname;x;y;elevation;note\r\n"
    rows = "L2;50;0;-2,375;\r\nWALL;0;0;-1,5;by the wall\r\nL3;100;0;-3;at the gate\r\n"
    assert file.read_bytes() == (head + rows).encode()
    assert on_disk(jobs) == LISTED


async def test_a_list_that_somebody_changed_meanwhile_is_noticed(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock, LISTED)
    file = jobs / "court" / "path.csv"
    file.write_bytes(SPOTS.encode())
    async with running(app, USUAL) as pilot:
        await opened(pilot, *TO_POINTS)
        await press(pilot, "L2 elevation -3", "enter")
        theirs = SPOTS.replace("by the wall", "at the wall").encode()
        file.write_bytes(theirs)
        await press(pilot, "ctrl+y", "enter")
        assert words(app).startswith("path.csv was changed by someone else; nothing is written.")
        assert file.read_bytes() == theirs
        await press(pilot, "enter", "enter")
    assert file.read_bytes() == theirs.replace(b"-2,25", b"-3")
