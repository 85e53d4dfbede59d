"""Who decides stands on every screen that judges, and every screen there is has been sorted."""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path

import pytest
from textual.screen import Screen

import gradecheck.app.screens
from gradecheck.report.decides import JUDGING_SCREENS
from tests.app.driving import SCREENS, Clock, app_for, go_to, resize, running, shown
from tests.thorough import some

OTHER_SCREENS = {
    "CautionsScreen": "has it as one of the day's cautions",
    "JobsScreen": "counts findings, which the screen of findings tells",
    "BoardScreen": "shows what was counted where it was judged",
    "OpeningScreen": "a journal is being read",
    "NewScreen": "asks for a new job",
    "EditScreen": "changes the job file; the screen of findings tells who decides",
    "ProblemsScreen": "a file that can't be read",
    "MarkScreen": "makes a mark",
    "HoldScreen": "asks why a hold point is gone past; the screens it stands between judge",
    "LayerScreen": "notes what was done or ordered",
    "OtherFolderScreen": "copies a journal",
    "ImportScreen": "shows what an office sent; nothing is judged",
    "JoinScreen": "takes in what was judged on another laptop",
    "KeysScreen": "lists keys",
    "GuideScreen": "shows a page of the guide",
}
"""The others, each with what it does instead."""

SENTENCE = "Local code and the drawings decide."
SHARED = {"LeftOnceScreen", "EntryScreen", "PagedScreen", "MarksScreen", "Palette"}
"""What several screens are made from, and nobody sees as such."""


def _every_screen() -> set[str]:
    modules = pkgutil.walk_packages(gradecheck.app.screens.__path__, f"{gradecheck.app.screens.__name__}.")
    for module in modules:
        importlib.import_module(module.name)
    found, left = set[type]([Screen]), [Screen]
    while left:
        below = set(left.pop().__subclasses__()) - found
        found |= below
        left += below
    return {each.__name__ for each in found if each.__module__.startswith("gradecheck.")}


def test_every_screen_is_sorted_as_judging_or_not() -> None:
    assert JUDGING_SCREENS | OTHER_SCREENS.keys() == _every_screen() - SHARED
    assert not JUDGING_SCREENS & OTHER_SCREENS.keys()


@pytest.mark.parametrize("size", some([(80, 24), (60, 20)], [(80, 24)]), ids=["80x24", "60x20"])
@pytest.mark.parametrize("screen", some(SCREENS))
async def test_a_screen_that_judges_says_who_decides(
    screen: str, size: tuple[int, int], jobs: Path, clock: Clock
) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        await resize(pilot, *size)
        name = type(app.screen).__name__
        assert name in JUDGING_SCREENS | OTHER_SCREENS.keys()
        if name != "CautionsScreen":
            assert (SENTENCE in shown(app)) == (name in JUDGING_SCREENS)


def test_every_screen_is_one_of_those_that_are_looked_at() -> None:
    seen = {"".join(word.capitalize() for word in name.split()) + "Screen" for name in SCREENS}
    named = {"PutRightScreen": "GivenScreen", "InstrumentScreen": "FieldTestScreen"}
    # The guide is the second page of the keys, and a hold point has to be in the way; their own tests look at them.
    by_themselves = {"GuideScreen", "HoldScreen", "LayerScreen"}
    assert {named.get(name, name) for name in seen} | by_themselves == JUDGING_SCREENS | OTHER_SCREENS.keys()
