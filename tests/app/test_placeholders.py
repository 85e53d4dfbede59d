"""What the empty box says that it is for: whole words in every window, and what a sign alone does in all of them."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.widgets.entry import fitting
from tests.app.driving import check, press, resize, shown
from tests.thorough import some


@pytest.mark.parametrize(
    ("room", "says"),
    [
        (40, "rod reading, point name, or a word"),
        (34, "rod reading, point name, or a word"),
        (33, "a reading, a name, ? help"),
        (25, "a reading, a name, ? help"),
        (24, "a reading, a name"),
        (10, "a reading"),
        (5, "a reading"),
    ],
)
def test_only_whole_parts_stand_in_the_box(room: int, says: str) -> None:
    assert fitting(["rod reading, point name, or a word", "a reading, a name, ? help"], room) == says


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(60, 20)]))
@pytest.mark.parametrize("gone_to", ["p2", "p1 to p3 half way", "?"])
async def test_the_signs_of_a_number_pad_are_named_whole_in_every_window(
    pilot: Pilot[int], app: GradeApp, size: tuple[int, int], gone_to: str
) -> None:
    if gone_to != "?":
        await press(pilot, gone_to, "enter")
    await resize(pilot, *size)
    entry = check(app).entry
    assert len(entry.placeholder) <= entry.content_size.width
    assert "+ next, - back, * strike, / area" in shown(app)
    await press(pilot, "ctrl+f")
    assert len(entry.placeholder) <= entry.content_size.width
    await press(pilot, "enter")
    assert "+ next, - back, * strike, / area" in shown(app)
