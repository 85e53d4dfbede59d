"""Import: a file of an office is looked at, asked about one question at a time, and written by Enter alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from gradecheck.app.screens.import_list import ImportScreen
from gradecheck.app.screens.plan import PlanScreen
from gradecheck.measure.notation import Units
from gradecheck.plan.point_list import read_point_list
from tests.app.driving import Clock, app_for, press, running, settle, shown, typed, words

SENT = "1;1,5;2,25;-0,125;at the door\r\n2;3,5;2,25;-0,25;\r\n"
"""A list as an office exports it: numbered, northing before easting, decimal commas, no headings."""


async def importing(pilot: Any, *answers: str) -> None:
    """Goes to Plan and from there to Import, and types what is to be typed there."""
    await press(pilot, "ctrl+y")
    await settle(pilot)
    await press(pilot, "ctrl+b")
    await settle(pilot)
    assert isinstance(pilot.app.screen, ImportScreen)
    for each in answers:
        await entered(pilot, each)


async def entered(pilot: Any, text: str) -> None:
    """Types an answer and waits for what comes of it."""
    await press(pilot, text, "enter") if text else await press(pilot, "enter")
    await pilot.app.screen.settled()
    await settle(pilot)


@pytest.fixture
def sent(tmp_path: Path) -> Path:
    """The list, somewhere else than the job."""
    path = tmp_path / "office" / "stake out.txt"
    path.parent.mkdir()
    path.write_bytes(SENT.encode())
    return path


async def test_questions_come_in_turn_and_the_last_enter_keeps(jobs: Path, clock: Clock, sent: Path) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        assert app.session is not None
        folder = app.session.folder
        await importing(pilot, str(sent))
        assert "import a list or drawing" in shown(app)
        assert words(app).startswith("The list has no headings and 5 columns. Which is which? Type a letter for each")
        assert "line 1: 1 | 1,5 | 2,25 | −0,125 | at the door" in shown(app)
        await entered(pilot, "pnezd")
        assert words(app).startswith("What unit are the numbers in?")
        assert "--" not in words(app)
        await entered(pilot, "yards")
        assert words(app).startswith("“yards” is no answer. What unit are the numbers in?")
        assert typed(app) == "yards", "what was not understood stays in the box"
        await press(pilot, "ctrl+u")
        await entered(pilot, "m")
        assert words(app).startswith("2 names could be taken for a reading")
        await entered(pilot, "Q")
        assert words(app) == "Enter alone writes stake-out.csv; an answer can still be changed, like units m."
        assert not list(folder.glob("stake*")), "nothing is kept before"
        await entered(pilot, "")
        assert words(app) == "Written. Another file, or Escape."
        assert "points: stake-out.csv" in shown(app)
        text = (folder / "stake-out.csv").read_text(encoding="utf-8")
        points = read_point_list(text, "stake-out.csv", Units.M)
        assert [(each.name, each.note) for each in points] == [("Q1", "at the door"), ("Q2", "")]
        first = points[0]
        assert first.at is not None
        assert first.elevation is not None
        sizes = [size.metres for size in (*first.at, first.elevation.height)]
        assert sizes == [9 / 4, 3 / 2, -1 / 8], "northing is y"
        # The next version of the same file needs no answer, and what changed is told.
        sent.write_bytes(SENT.replace("-0,25", "-0,3").encode() + b"3;5,5;2,25;-0,5;\r\n")
        await entered(pilot, str(sent))
        says = shown(app)
        assert "Anything not answered now uses last time's answer." in says
        assert "1 new: Q3" in says
        assert "1 changed: Q2" in says
        await entered(pilot, "units ft")
        assert "3 changed" not in shown(app)
        assert words(app).startswith("Enter alone writes")
        await press(pilot, "escape")
        assert isinstance(app.screen, PlanScreen)
        assert (folder / "stake-out.csv").read_text(encoding="utf-8") == text, "given up, nothing is written"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "can't be read"),
        (b"\x89PNG\r\n\x1a\n", "line 1: "),
        (b"name,x,y,elevation (m)\nA1,1,2\n", "What unit"),
    ],
)
async def test_what_can_not_be_taken_is_told_in_a_sentence(
    jobs: Path, clock: Clock, tmp_path: Path, content: bytes | None, says: str
) -> None:
    path = tmp_path / "sent.csv"
    if content is not None:
        path.write_bytes(content)
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await importing(pilot, str(path))
        assert says in words(app)
        assert not list(jobs.rglob("sent.csv"))


async def test_layers_of_a_drawing_are_asked_for_and_may_be_several(jobs: Path, clock: Clock, tmp_path: Path) -> None:
    points = "".join(
        f'<CgPoints name="{layer}"><CgPoint name="{name}">{at}</CgPoint></CgPoints>'
        for layer, name, at in (("walk", "W1", "1 2 0.5"), ("deck", "D1", "2 3 0.25"), ("old", "O1", "3 4 0.125"))
    )
    units = '<Units><Metric linearUnit="meter"/></Units>'
    (tmp_path / "site.xml").write_text(
        f'<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2">{units}{points}</LandXML>', encoding="utf-8"
    )
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        assert app.session is not None
        await importing(pilot, str(tmp_path / "site.xml"))
        assert words(app).startswith("Points are on several layers: “walk”")
        await entered(pilot, "walk; deck")
        assert words(app).startswith("Enter alone writes site.csv")
        await entered(pilot, "")
        points_kept = read_point_list((app.session.folder / "site.csv").read_text(encoding="utf-8"), "", Units.M)
        assert [each.name for each in points_kept] == ["W1", "D1"]
