"""Colours: readable in sunlight and in the cab, and never needed to understand anything."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from rich.color import Color, ColorType
from rich.style import Style
from textual.color import Color as TextualColor
from textual.pilot import Pilot
from textual.theme import Theme

from gradecheck.app import themes
from gradecheck.app.app import GradeApp
from tests.app.driving import SCREENS, Clock, app_for, go_to, press, running, settle, shown, strips
from tests.thorough import some

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


TEXTS = ("ink", "quiet", "calm", "work", "doubt")
GROUNDS = ("ground", "card")
PAIRS = [(text, ground) for text in TEXTS for ground in GROUNDS] + [
    *(("band-ink", "band"), ("band-quiet", "band")),
    *(("ground", "work"), ("ground", "doubt"), ("ground", "ink")),
]
"""Text and ground of our style sheet: plain, the band, a filled panel, a complaint, what is reversed."""

XTERM = (
    *((0, 0, 0), (205, 0, 0), (0, 205, 0), (205, 205, 0), (0, 0, 238), (205, 0, 205), (0, 205, 205), (229, 229, 229)),
    *((127, 127, 127), (255, 0, 0), (0, 255, 0), (255, 255, 0)),
    *((92, 92, 255), (255, 0, 255), (0, 255, 255), (255, 255, 255)),
)
"""What xterm makes of the sixteen colors as it comes (its resource file XTerm-col.ad)."""
VGA = (
    *((0, 0, 0), (170, 0, 0), (0, 170, 0), (170, 85, 0), (0, 0, 170), (170, 0, 170), (0, 170, 170), (170, 170, 170)),
    *((85, 85, 85), (255, 85, 85), (85, 255, 85), (255, 255, 85)),
    *((85, 85, 255), (255, 85, 255), (85, 255, 255), (255, 255, 255)),
)
"""The palette of the text consoles; values from memory."""


def of_theme(theme: Theme, role: str) -> tuple[Triplet, ...]:
    """What a role looks like: one color, or one for each palette that a terminal of sixteen colors may have."""
    color = TextualColor.parse(theme.variables[role])
    return (color.rgb,) if color.ansi is None else (XTERM[color.ansi], VGA[color.ansi])


@pytest.mark.parametrize("theme", [*themes.OURS, *themes.SIXTEEN], ids=lambda theme: theme.name)
def test_each_color_of_a_theme_is_readable_on_each_ground_it_may_lie_on(theme: Theme) -> None:
    for text, ground in PAIRS:
        for pair in zip(of_theme(theme, text), of_theme(theme, ground), strict=True):
            assert contrast(*pair) >= ENOUGH, (theme.name, text, ground)


@pytest.mark.parametrize("theme", [themes.SUN, themes.NIGHT, themes.SIXTEEN_NIGHT], ids=lambda theme: theme.name)
def test_calm_work_left_and_doubt_and_plain_text_have_colors_of_their_own(theme: Theme) -> None:
    assert len({theme.variables[name] for name in ("calm", "work", "doubt", "ink")}) == 4


def drawn_pairs(app: GradeApp, palette: Sequence[Triplet] = ()) -> Iterator[tuple[str, Triplet, Triplet]]:
    """Every text on the screen with its colour and its ground, the sixteen colours being those of the palette."""
    for strip in strips(app):
        for segment in strip:
            style = segment.style or Style()
            if any(not character.isspace() and not _is_scroll_bar(character) for character in segment.text):
                assert style.color is not None, segment
                assert style.bgcolor is not None, segment
                assert not style.dim, segment
                text, ground = (of_colour(colour, palette) for colour in (style.color, style.bgcolor))
                yield (segment.text, ground, text) if style.reverse else (segment.text, text, ground)


def _is_scroll_bar(character: str) -> bool:
    return character in "▁▂▃▄▅▆▇"


def of_colour(colour: Color, palette: Sequence[Triplet] = ()) -> Triplet:
    """What a terminal with all colours makes of it, or one of sixteen with that palette."""
    if palette:
        assert colour.type is ColorType.STANDARD, colour
        assert colour.number is not None
        return palette[colour.number]
    assert colour.type is ColorType.TRUECOLOR, colour
    assert colour.triplet is not None
    return tuple(colour.triplet)


@pytest.mark.parametrize("screen", some(SCREENS))
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


async def test_every_text_of_the_palette_is_readable_in_every_theme(pilot: Pilot[int], app: GradeApp) -> None:
    for theme in (*themes.OURS, *themes.SIXTEEN):
        app.theme = theme.name
        await press(pilot, "ctrl+p")
        for keys in (("down",), ("a",)):
            await press(pilot, *keys)
            while not app.screen.query("CommandList > .option-list--option, CommandList.--visible"):
                await pilot.pause(0.01)
            for palette in ((),) if theme in themes.OURS else (XTERM, VGA):
                worst = min(drawn_pairs(app, palette), key=lambda pair: contrast(*pair[1:]))
                assert contrast(*worst[1:]) >= ENOUGH, (theme.name, keys, worst)
        await press(pilot, "escape")


def _telling(screen: str) -> list[tuple[str, ...]]:
    """Keys that bring out what a screen can show: verdicts, refusals, what is typed, struck lines."""
    match screen:
        case "check":
            rods = ("50-13/16", "51-3/16", "51")
            # Then back onto the point, whose row has a ground of its own.
            verdicts = [("ctrl+u", "p1", "enter", rod, "enter", "p1", "enter") for rod in rods]
            return [(), *verdicts, ("51-3/7", "enter"), ("ctrl+u", "ctrl+a")]
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


@pytest.mark.parametrize("screen", some(SCREENS))
async def test_sixteen_colours_are_the_terminal_s_own_and_show_the_same_words(
    screen: str, jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "linux")
    monkeypatch.delenv("COLORTERM")
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        assert app.theme == themes.SIXTEEN_SUN.name
        ansi = shown(app)
        assert ansi.strip()
        for strip in strips(app):
            for segment in strip:
                for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                    assert colour is None or colour.type in (ColorType.DEFAULT, ColorType.STANDARD), segment
        for theme in themes.SIXTEEN:
            app.theme = theme.name
            await settle(pilot)
            for palette in (XTERM, VGA):
                worst = min(drawn_pairs(app, palette), key=lambda pair: contrast(*pair[1:]))
                assert contrast(*worst[1:]) >= ENOUGH, (theme.name, worst)
        app.theme = "sun"
        await settle(pilot)
        assert shown(app) == ansi


@pytest.mark.parametrize(
    ("no_color", "system", "expected"),
    [
        (False, "truecolor", "night"),
        (False, "256", "night"),
        (False, "standard", "night-16"),
        (False, None, "night-16"),
        (True, "truecolor", "plain"),
        (True, "standard", "plain"),
        (True, None, "plain"),
    ],
)
def test_the_wanted_theme_is_taken_where_terminal_and_person_can_have_it(
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


async def test_ctrl_t_stays_within_the_sixteen_colours_of_a_plain_terminal(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "linux")
    monkeypatch.delenv("COLORTERM")
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        seen = [app.theme]
        for _ in range(2):
            await press(pilot, "ctrl+t")
            seen.append(app.theme)
        assert seen == ["sun-16", "night-16", "sun-16"]
