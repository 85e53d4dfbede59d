"""Keys act in the order in which they were pressed, however fast they come and whatever they lead to."""

from __future__ import annotations

import asyncio
import os
import random
from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot
from textual.screen import Screen

from gradecheck.app.app import GradeApp
from gradecheck.app.flood import GatedParser
from gradecheck.app.screens.base import EntryScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import KeysScreen
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.app.widgets.line import SentenceLines
from tests.app.driving import (
    YARD_DIG,
    Clock,
    app_for,
    check,
    go_to,
    key_events,
    point,
    post,
    press,
    readings,
    ready_job,
    recorded,
    running,
    settle,
    typed,
    words,
)


async def test_a_burst_of_readings_and_keys_acts_in_its_order(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    post(pilot, "51", "enter", "51-1/2", "enter", "f2", "51-1/4", "enter", "f3", YARD_DIG[0], "enter")
    post(pilot, "up", "60-11/16", "enter", "down", YARD_DIG[2], "enter", "y7", "enter", YARD_DIG[6], "enter")
    post(pilot, "f8", YARD_DIG[6], "enter", "f3", "f2", "52", "enter", "5")
    await settle(pilot)
    assert readings(job) == [
        ("P1", "finish", "51"),
        ("P2", "finish", "51-1/2"),
        ("Y1", "finish", "51-1/4"),
        ("Y1", "subgrade", YARD_DIG[0]),
        ("Y1", "subgrade", "60-11/16"),
        ("Y3", "subgrade", YARD_DIG[2]),
        ("Y7", "subgrade", YARD_DIG[6]),
        ("Y7", "subgrade", YARD_DIG[6]),
        ("P3", "finish", "52"),
    ]
    assert (check(app).surface.area, typed(app)) == ("path", "5")
    assert len(recorded(job, "void")) == 1


async def test_what_is_keyed_behind_the_enter_to_another_folder_is_not_taken(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("other folder", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "other folder")
        await press(pilot, str(tmp_path / "stick"), "enter", "51", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder.name == "stick"
    assert app._exception is None
    assert readings(tmp_path / "stick") == []


async def test_the_ten_points_keyed_in_one_go_are_all_right(pilot: Pilot[int], job: Path) -> None:
    keys = [key for rod in YARD_DIG for key in (*rod, "enter")]
    post(pilot, "y1", "enter", "f3", *keys)
    await settle(pilot)
    assert readings(job) == [(f"Y{n}", "subgrade", rod) for n, rod in enumerate(YARD_DIG, 1)]


async def test_editing_keys_act_between_the_characters_they_were_keyed_between(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "59", "backspace", "1", "home", "delete", "5", "end", "-1/16", "left", "left", "enter")
    assert readings(job) == [("P1", "finish", "51-1/16")]
    await press(pilot, "99", "ctrl+u", "51-1/2", "enter")
    assert readings(job)[1:] == [("P2", "finish", "51-1/2")]


async def test_keys_before_a_screen_is_painted_stand_up_to_the_first_enter(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = recorded(job)
    first_screen = app._first_screen

    def with_keys_before_it() -> Screen[None]:
        for event in key_events("51", "enter", "52"):
            app.post_message(event)
        return first_screen()

    monkeypatch.setattr(app, "_first_screen", with_keys_before_it)
    async with running(app) as pilot:
        assert (point(app), typed(app), recorded(job)) == ("P1", "51", before)
        assert words(app) == "Ignored, typed before this screen was up: “52”."
        await press(pilot, "ctrl+u")
        post(pilot, "f4")
        while not isinstance(app.screen, SetUpScreen):
            await asyncio.sleep(0)
        post(pilot, "48", "enter", "enter")
        await settle(pilot)
        assert isinstance(app.screen, SetUpScreen)
        assert (typed(app), recorded(job)) == ("48", before)


async def test_a_figure_keyed_behind_a_key_to_another_screen_stands_in_its_box(app: GradeApp, job: Path) -> None:
    before = recorded(job)
    async with running(app) as pilot:
        await press(pilot, "f4", "51", "enter", "52", "enter", "53")  # meant as backsights, and no reading at P1
        assert isinstance(app.screen, SetUpScreen)
        assert typed(app) == "51"
        assert words(app) == "Ignored, typed before this screen was up: “52”, “53”."
        assert recorded(job) == before


async def test_a_figure_behind_the_enter_of_a_setup_is_no_backsight(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "enter", "49", "enter")
    assert isinstance(app.screen, CheckScreen)
    assert typed(app) == "49"
    assert recorded(job, "backsight") == [("backsight", "DOOR=48")]
    assert readings(job) == []


async def test_what_had_no_box_is_named_on_the_next_screen_with_one(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f1", "51", "enter")
    assert isinstance(app.screen, KeysScreen)
    await press(pilot, "escape")
    assert words(app) == "Ignored, typed before this screen was up: “51”."


async def test_a_figure_begun_too_early_is_not_taken_in_part(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    """Its half that comes when the screen is drawn goes with it, up to its Enter; what comes behind takes effect."""
    await press(pilot, "f4", "51", "enter", "1-1/")
    assert (typed(app), words(app)) == ("51", "Ignored, typed before this screen was up: “1-1/”.")
    await press(pilot, "2", "enter")
    assert (typed(app), words(app)) == ("51", "Ignored, typed before this screen was up: “1-1/2”.")
    assert recorded(job, "backsight") == []
    await press(pilot, "48", "enter")
    assert recorded(job, "backsight") == [("backsight", "DOOR=48")]


MOVES: dict[str, tuple[str, ...]] = {
    "check": ("f4", "f5", "f6", "f7", "f9", "ctrl+y", "ctrl+e", "ctrl+k", "ctrl+r"),
    "elsewhere": ("escape", "enter"),
}
"""Keys that change the screen, from Check and back to it."""
SEEDED = int(os.environ.get("GRADECHECK_KEYS_AT_CHANGES", "1000"))
"""Keys; 10,000 were tried, which takes three minutes."""


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(2))
async def test_no_character_is_lost_in_silence_around_a_change_of_screen(
    seed: int, pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is typed at any moment of a change stands in a box, is entered or is named."""
    told = _heard(monkeypatch)
    draw = random.Random(seed)
    keys = 0
    while keys < SEEDED / 2:
        at_check = isinstance(app.screen, CheckScreen)
        keys += await _typed_across(pilot, draw, draw.choice(MOVES["check" if at_check else "elsewhere"]), job, told)
        for _ in range(3):
            if not isinstance(app.screen, CheckScreen):
                await press(pilot, "escape")
        if app.screen.entry.value:  # type: ignore[attr-defined]
            await press(pilot, "escape")
        assert isinstance(app.screen, CheckScreen)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(2))
async def test_no_character_is_lost_in_silence_around_the_opening_of_a_job(
    seed: int, jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the list of jobs, which has no box, by the screen that reads the log, to Check."""
    told = _heard(monkeypatch)
    draw = random.Random(seed)
    job = ready_job(jobs / "court", clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        keys = 0
        while keys < SEEDED / 4:
            assert isinstance(app.screen, JobsScreen)
            keys += await _typed_across(pilot, draw, "enter", job, told)
            for _ in range(4):
                if not isinstance(app.screen, JobsScreen):
                    await press(pilot, "escape")


def _heard(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """All that any line above a box says from now on."""
    told: list[str] = []
    say = SentenceLines.say

    def heard(line: SentenceLines, text: str) -> None:
        told.append(text)
        say(line, text)

    monkeypatch.setattr(SentenceLines, "say", heard)
    return told


async def _typed_across(pilot: Pilot[int], draw: random.Random, move: str, job: Path, told: list[str]) -> int:
    """A key to another screen with figures right behind it, none of which may be lost unsaid; how many keys."""
    app = pilot.app
    figures = [str(draw.randrange(10_000, 100_000)) for _ in range(draw.randint(1, 3))]
    burst = [move]
    for figure in figures:
        burst += [*figure, "enter"]
    if draw.random() < 0.5:
        burst.pop()
    before = recorded(job)
    told.clear()
    for key in burst:
        post(pilot, key)
        for _ in range(draw.choice((0, 0, 0, 1, 2, 5, 20))):
            await asyncio.sleep(0)
    await settle(pilot)
    boxes = [screen.entry.value for screen in app.screen_stack if isinstance(screen, EntryScreen)]
    said = " ".join(told)
    entered = " ".join(text for _, text in recorded(job)[len(before) :])
    for figure in figures:
        # Where the screen was drawn in the midst of a figure, the first half is named and the second taken.
        halves = [(figure[:half], figure[half:]) for half in range(1, len(figure))]
        split = any(f"“{one}”" in said and any(other in text for text in (*boxes, entered)) for one, other in halves)
        whole = any(figure in box for box in boxes) or figure in said or figure in entered
        assert whole or split, (figure, burst, boxes, said, recorded(job)[-4:])
    return len(burst)


async def test_a_key_that_bounces_opens_one_screen(pilot: Pilot[int], app: GradeApp) -> None:
    depth = len(app.screen_stack)
    for key, kind in (("f6", LogScreen), ("f4", SetUpScreen), ("f1", KeysScreen)):
        await press(pilot, key, key, key)
        if kind is not KeysScreen:  # there the same key goes back
            assert isinstance(app.screen, kind)
            assert len(app.screen_stack) == depth + 1
        await press(pilot, "escape")
        assert (type(app.screen), len(app.screen_stack)) == (CheckScreen, depth)


async def test_a_step_back_keyed_too_early_leaves_no_screen_behind(pilot: Pilot[int], app: GradeApp) -> None:
    depth = len(app.screen_stack)
    await press(pilot, "f6", "escape", "escape")
    assert (type(app.screen), len(app.screen_stack)) == (LogScreen, depth + 1)
    await press(pilot, "escape")
    await press(pilot, "escape")
    assert (type(app.screen), len(app.screen_stack)) == (JobsScreen, depth)


async def test_enter_twice_on_the_cautions_signs_once(jobs: Path, clock: Clock) -> None:
    app = app_for("cautions", jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "rk", "enter", "enter")
        assert isinstance(app.screen, SetUpScreen)
        assert len(recorded(jobs / "court", "cautions")) == 1


async def test_enter_twice_on_the_jobs_opens_the_job_once(jobs: Path, clock: Clock) -> None:
    ready_job(jobs / "court", clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        depth = len(app.screen_stack)
        await press(pilot, "enter", "enter")
        assert (point(app), len(app.screen_stack)) == ("P1", depth)


REPLACED = [
    # refused, what is typed behind it, what stands in the box then
    ("52-5/3", "51-1/2", "51-1/2"),
    ("69-13/17", "70-11/16", "70-11/16"),
    ("1/3", "2", "2"),
    ("51 furlong", "P2", "P2"),
    ("51-3/7", ".5", ".5"),
    ("51-3/7", "+22", "+22"),
]
EDITED = [
    ("51 1", ("/", "2"), "51 1/2"),
    ("54-7/", ("8",), "54-7/8"),
    ("54-", ("7/8",), "54-7/8"),
    ("51-1/3", ("backspace", "2"), "51-1/2"),
    ("413", ("/", "16"), "413/16"),
    ("51-3/7", ("-", "5"), "51-3/7-5"),
    ("51-3/7", (" ", "5"), "51-3/7 5"),
    ("51-3/7", ("home", "4"), "451-3/7"),
]


async def test_a_refused_figure_is_replaced_by_the_next_digit(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    for refused, then, stands in REPLACED:
        await press(pilot, refused, "enter")
        assert typed(app) == refused
        await press(pilot, *then)
        assert typed(app) == stands
        assert words(app).startswith(f"“{refused}” was not entered.")
        await press(pilot, "escape")
    assert readings(job) == []


async def test_a_refused_figure_is_edited_by_signs_and_half_a_figure(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with running(app) as pilot:
        for refused, keys, stands in EDITED:
            app.screen.entry.put_back(refused)  # type: ignore[attr-defined]  # some of these make sense as they are
            await press(pilot, *keys)
            assert typed(app) == stands, refused
            await press(pilot, "escape")


async def test_a_figure_typed_before_the_last_was_seen_refused_is_asked_about(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        post(pilot, "52-5/3", "enter", "51-1/2")
        await settle(pilot)
        assert typed(app) == "51-1/2", "never joined to what was refused"
        assert "“52-5/3” was not taken." in words(app)
        await press(pilot, "enter")
        assert "“51-1/2” was typed before that; Enter again uses it for what is asked now." in words(app)
        assert readings(job) == []
        await press(pilot, "enter")
        assert readings(job) == [("P1", "finish", "51-1/2")]


def test_escape_with_a_character_right_behind_it_is_both_keys() -> None:
    """A terminal sends them together, and so they were one key with Alt."""
    for character, name in (
        ("5", "5"),
        ("-", "minus"),
        ("/", "slash"),
        ("p", "p"),
        ("b", "b"),
        ("P2", "P"),
        ("O7", "O"),
    ):
        parser = GatedParser()
        sent = [*parser.feed(f"51\x1b{character}"), *parser.feed("")]
        keys = [event for event in sent if isinstance(event, events.Key)]
        assert [key.key for key in keys][:4] == ["5", "1", "escape", name]
        assert "".join(key.character or "" for key in keys[3:]) == character
    for sequence, name in (("\x1b[A", "up"), ("\x1bOP", "f1"), ("\x1b[15~", "f5")):
        assert [event.key for event in GatedParser().feed(sequence) if isinstance(event, events.Key)] == [name]


async def test_a_refused_text_that_is_edited_is_taken(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "51-1/3", "enter")
    await press(pilot, "backspace", "16", "enter")
    assert [text for _, _, text in readings(job)] == ["51-1/16"]


async def test_an_enter_before_its_screen_was_up_is_said_to_be_missing(jobs: Path, clock: Clock) -> None:
    app = app_for("doubt", jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "escape")
        await press(pilot, "ctrl+n", "taped from the wall", "enter")
        assert type(app.screen).__name__ == "DoubtScreen"
        assert typed(app) == "taped from the wall"
        assert words(app).startswith(
            "“taped from the wall” is not entered: that Enter came before this screen was up."
        )
        await press(pilot, "enter")
        assert recorded(jobs / "court")[-1] == ("doubt", "taped from the wall")
