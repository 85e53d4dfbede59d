"""How plain text is broken into lines."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.widgets import Static

from gradecheck.app.plain import clean, plain, plain_lines
from gradecheck.app.widgets.line import SentenceLines

FIGURES = ("64 3/8 in", "4' 3 1/2\"", "250 mm", "−7 1/16", "2.5%")
SENTENCE = f"F16 (edge right): {', then '.join(FIGURES)} and no more of them."


@pytest.mark.parametrize("width", range(20, 70, 3))
async def test_a_figure_is_never_broken_over_two_lines(width: int) -> None:
    class Shows(App[None]):
        def compose(self) -> ComposeResult:
            yield Static(plain(SENTENCE))

    app = Shows()
    async with app.run_test(size=(width, 12)):
        lines = [strip.text.rstrip() for strip in app.screen._compositor.render_strips()]
    assert " ".join(lines).strip() == SENTENCE, "nothing is lost, and the spaces are plain ones"
    for figure in FIGURES:
        assert any(figure in line for line in lines), lines


async def test_a_sentence_has_as_many_lines_as_its_unbroken_figures_need() -> None:
    class Shows(App[None]):
        def compose(self) -> ComposeResult:
            yield SentenceLines()

    app = Shows()
    async with app.run_test(size=(20, 12)) as pilot:
        app.query_one(SentenceLines).styles.height = "auto"
        app.query_one(SentenceLines).say("the rod should 64 3/8")
        await pilot.pause()
        lines = [strip.text.rstrip() for strip in app.screen._compositor.render_strips()]
    assert lines[:2] == ["the rod should", "64 3/8"]


def test_what_is_indented_stays_indented_where_it_goes_on_below() -> None:
    text = plain_lines(["Open:", "  path, finish: 1 of 3 not read", "", "  word"])
    assert text.get_height({}, 20) == 5
    strips = [line.plain for line in text._broken(20).split("\n")]  # type: ignore[attr-defined]
    assert strips == ["Open:", "  path, finish: 1 of", "  3 not read", "", "  word"]


@pytest.mark.parametrize(
    ("text", "drawn"),
    [
        ("-2 13/16 in", "−2 13/16 in"),
        ("off -1/8, found ~-15", "off −1/8, found ~−15"),
        ("+1/4 -1/16", "+1/4 −1/16"),
        ("51-3/8, 4' 3-1/2\", 2026-05-12, job-2, TP-1, F1-F3", "51-3/8, 4' 3-1/2\", 2026-05-12, job-2, TP-1, F1-F3"),
        ("“51 -3/8” has a space beside its hyphen", "“51 -3/8” has a space beside its hyphen"),
        ("--sides 12', -o FILE", "--sides 12', -o FILE"),
    ],
)
def test_one_minus_stands_before_figures_on_every_screen(text: str, drawn: str) -> None:
    assert clean(text) == drawn
    assert plain(text).plain == drawn
