"""Colours: readable in sunlight and in the cab, and never needed to understand anything."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import Color, ColorType
from rich.style import Style
from textual.pilot import Pilot
from textual.theme import Theme

from gradecheck.app import themes
from gradecheck.app.app import GradeApp
from tests.app.driving import SCREENS, Clock, app_for, go_to, press, running, settle, shown, strips

ENOUGH = 7.0
"""Contrast of text against its ground, WCAG 2 level AAA (success criterion 1.4.6)."""

Triplet = tuple[int, int, int]


def luminance(colour: Triplet) -> float:
    """Relative luminance, as WCAG 2 defines it."""
    parts = [part / 255 for part in colour]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: Triplet, other: Triplet) -> float:
    """The contrast of two colours, from 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_of_known_pairs() -> None:
    # The ends of the scale, and the grey that is just 4.5:1 on white (WCAG 2, technique G18).
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast((200, 3, 90), (200, 3, 90)) == 1
    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.54, abs=0.01)


def of_hex(text: str) -> Triplet:
    """``#RRGGBB`` as numbers."""
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


@pytest.mark.parametrize("theme", themes.OURS, ids=lambda theme: theme.name)
def test_each_colour_of_a_theme_is_readable_on_each_ground_it_may_lie_on(theme: Theme) -> None:
    grounds = {theme.background, theme.surface, theme.panel}
    verdicts = [theme.variables[name] for name in (themes.CUT, themes.FILL, themes.ON_GRADE, themes.DOUBT)]
    texts = {theme.foreground, theme.primary, theme.accent, theme.success, theme.warning, theme.error, *verdicts}
    for text in texts:
        for ground in grounds:
            assert text is not None
            assert ground is not None
            assert contrast(of_hex(text), of_hex(ground)) >= ENOUGH, (theme.name, text, ground)


@pytest.mark.parametrize("theme", [themes.SUN, themes.NIGHT], ids=lambda theme: theme.name)
def test_cut_fill_and_on_grade_have_colours_of_their_own(theme: Theme) -> None:
    assert len({theme.variables[name] for name in (themes.CUT, themes.FILL, themes.ON_GRADE, themes.DOUBT)}) == 4


def drawn_pairs(app: GradeApp) -> Iterator[tuple[str, Triplet, Triplet]]:
    """Every text on the screen with its colour and its ground."""
    for strip in strips(app):
        for segment in strip:
            style = segment.style or Style()
            if any(not character.isspace() and not _is_scroll_bar(character) for character in segment.text):
                assert style.color is not None, segment
                assert style.bgcolor is not None, segment
                assert not style.dim, segment
                text, ground = (of_colour(colour) for colour in (style.color, style.bgcolor))
                yield (segment.text, ground, text) if style.reverse else (segment.text, text, ground)


def _is_scroll_bar(character: str) -> bool:
    return character in "▁▂▃▄▅▆▇"


def of_colour(colour: Color) -> Triplet:
    """What a terminal with all colours makes of it."""
    assert colour.type is ColorType.TRUECOLOR, colour
    assert colour.triplet is not None
    return tuple(colour.triplet)


@pytest.mark.parametrize("screen", SCREENS)
async def test_every_text_of_a_screen_is_readable_in_every_theme(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        for theme in themes.OURS:
            app.theme = theme.name
            await settle(pilot)
            for keys in _telling(screen):
                await press(pilot, *keys)
                worst = min(drawn_pairs(app), key=lambda pair: contrast(*pair[1:]))
                assert contrast(*worst[1:]) >= ENOUGH, (theme.name, keys, worst)


def _telling(screen: str) -> list[tuple[str, ...]]:
    """Keys that bring out what a screen can show: verdicts, refusals, what is typed, struck lines."""
    match screen:
        case "check":
            rods = ("50-13/16", "51-3/16", "51")
            # Then back onto the point, whose row has a ground of its own.
            verdicts = [("ctrl+u", "p1", "enter", rod, "enter", "p1", "enter") for rod in rods]
            return [(), *verdicts, ("51-3/7", "enter"), ("ctrl+u", "ctrl+l")]
        case "log":
            return [(), ("a note", "enter"), ("f8", "wrong", "enter"), ("up", "51-")]
        case "jobs" | "problems" | "keys":
            return [()]
        case _:
            return [(), ("51/", "enter"), ("ctrl+u", "down")]


async def test_no_color_gives_black_on_white_that_is_readable(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "")
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        assert app.theme == "plain"
        for keys in (*_telling("check"), ("f4",), ("escape",), ("f6",), ("f1",)):
            await press(pilot, *keys)
            pairs = list(drawn_pairs(app))
            assert all(len(set(text)) == len(set(ground)) == 1 for _, text, ground in pairs), "greys alone"
            worst = min(pairs, key=lambda pair: contrast(*pair[1:]))
            assert contrast(*worst[1:]) >= ENOUGH, (keys, worst)


@pytest.mark.parametrize("screen", SCREENS)
async def test_sixteen_colours_are_the_terminal_s_own_and_show_the_same_words(
    screen: str, jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "linux")
    monkeypatch.delenv("COLORTERM")
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        assert app.theme == themes.SIXTEEN
        ansi = shown(app)
        assert ansi.strip()
        for strip in strips(app):
            for segment in strip:
                for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                    assert colour is None or colour.type in (ColorType.DEFAULT, ColorType.STANDARD), segment
        app.theme = "sun"
        await settle(pilot)
        assert shown(app) == ansi


@pytest.mark.parametrize(
    ("no_color", "system", "expected"),
    [
        (False, "truecolor", "night"),
        (False, "256", "night"),
        (False, "standard", "ansi-light"),
        (False, None, "ansi-light"),
        (True, "truecolor", "plain"),
        (True, "standard", "plain"),
        (True, None, "plain"),
    ],
)
def test_the_wanted_theme_is_taken_where_the_terminal_and_the_person_can_have_it(
    no_color: bool, system: str | None, expected: str
) -> None:
    assert themes.fitting("night", no_color=no_color, color_system=system) == expected


async def test_ctrl_t_goes_from_sun_to_night_to_plain_with_the_entry_as_it_was(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, "51-")
    before = shown(app)
    seen = [app.theme]
    for _ in range(3):
        await press(pilot, "ctrl+t")
        seen.append(app.theme)
        assert shown(app) == before
    assert seen == ["sun", "night", "plain", "sun"]
