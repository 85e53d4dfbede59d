"""The panel of the verdict: its shape alone says what it is, and nothing in it moves what stands below."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.app.widgets.region import width_of
from gradecheck.app.widgets.verdict_panel import PanelFace, PanelShape, VerdictPanel, drawn

NAMES = st.text("P7漢 é(\x1b", min_size=0, max_size=40)
FACES = st.builds(
    PanelFace,
    shape=st.sampled_from(PanelShape),
    name=st.lists(NAMES, max_size=3).map(tuple),
    corner=st.sampled_from(["", "saved 10:42", "not saved"]),
    large=st.sampled_from(["", "CUT 1 1/4", "FILL 13/16", "ON GRADE", "NOT SAVED", "CUT 12' 7 13/16\" ?", "漢"]),
    notes=st.lists(NAMES, max_size=5).map(tuple),
)


def lines(shape: PanelShape, large: str, width: int = 80, height: int = 7, *notes: str) -> list[str]:
    """The panel as text."""
    face = PanelFace(shape, ("P7  subgrade", "walk, corner"), "saved 10:42", large, notes)
    return ["".join(text for text, _ in row) for row in drawn(face, width, height)]


def test_cut_is_filled_from_edge_to_edge_and_nothing_else_is() -> None:
    face = PanelFace(PanelShape.FILLED, ("P7  subgrade",), "saved 10:42", "CUT 1 1/4", ("was CUT 2, now CUT 1 1/4",))
    for shape in PanelShape:
        looks = [{look for text, look in row} for row in drawn(PanelFace(shape, *_rest(face)), 80, 7)]
        assert all(look == {"filled"} for look in looks) == (shape is PanelShape.FILLED)
        assert any("filled" in look for look in looks) == (shape is PanelShape.FILLED)


def _rest(face: PanelFace) -> tuple[tuple[str, ...], str, str, tuple[str, ...]]:
    return face.name, face.corner, face.large, face.notes


def test_fill_is_framed_on_all_four_sides() -> None:
    drawing = lines(PanelShape.FRAMED, "FILL 13/16", 60, 7, "off −13/16")
    assert drawing == [
        "█▀ P7  subgrade  walk, corner ▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀ saved 10:42 ▀█",
        "███████ ██ ██     ██          ██ ██████     ██   ██ ██████ █",
        "███     ██ ██     ██        ████     ██     ██ ████ ██     █",
        "█████   ██ ██     ██          ██   ████   ██     ██ ██████ █",
        "███     ██ ██     ██          ██     ██ ██       ██ ██  ██ █",
        "███     ██ ██████ ██████      ██ ██████ ██       ██ ██████ █",
        "█▄ off −13/16 ▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄▄█",
    ]


def test_on_grade_is_two_level_lines_without_sides() -> None:
    drawing = lines(PanelShape.LEVEL, "ON GRADE")
    assert drawing[0] == "━━ P7  subgrade  walk, corner ━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━ saved 10:42 ━━"
    assert drawing[-1] == "━" * 80
    assert all(line[0] == line[-1] == " " for line in drawing[1:-1])


def test_doubt_has_a_broken_frame() -> None:
    drawing = lines(PanelShape.BROKEN, "CUT 1/4 ?")
    assert drawing[0].startswith("━  P7  subgrade  walk, corner ━ ━ ━")
    assert [line[0] for line in drawing[1:-1]] == [line[-1] for line in drawing[1:-1]] == [" ", "┃", " ", "┃", " "]


def test_what_is_not_saved_is_told_from_cut_without_a_color() -> None:
    drawing = lines(PanelShape.HATCHED, "NOT SAVED", 80, 7, "the disk is full")
    assert all(line.startswith("▚▚") and line.endswith("▚▚") for line in drawing)
    assert "▚" not in "".join(lines(PanelShape.FILLED, "NOT SAVED"))


def test_no_two_shapes_are_told_apart_by_color_alone() -> None:
    pictures = {shape: (lines(shape, "P7"), shape is PanelShape.FILLED) for shape in PanelShape}
    assert all(pictures[one] != pictures[other] for one, other in combinations(PanelShape, 2))


def test_the_point_that_was_not_read_stands_there_in_large_letters() -> None:
    assert "██  ██" in "\n".join(lines(PanelShape.EMPTY, "", 80, 7, "No reading at P7 yet"))


def test_of_the_notes_whole_ones_go_and_the_last_first() -> None:
    notes = ("was CUT 2, now CUT 1 1/4", "off +1 1/4", "read 5' 2 1/4\"", "allowed ±3/8")
    assert lines(PanelShape.FILLED, "CUT 1 1/4", 80, 7, *notes)[-1].strip() == " · ".join(notes)
    assert lines(PanelShape.FILLED, "CUT 1 1/4", 60, 7, *notes)[-1].strip() == " · ".join(notes[:2])


@given(FACES, st.integers(1, 140), st.integers(1, 20))
def test_the_panel_never_changes_its_size_with_what_is_in_it(face: PanelFace, width: int, height: int) -> None:
    rows = drawn(face, max(width, 20), height)
    assert len(rows) == height
    assert {width_of(row) for row in rows} == {max(width, 20)}


@pytest.mark.parametrize("shape", PanelShape)
def test_without_blocks_it_is_plain_letters(shape: PanelShape) -> None:
    panel = VerdictPanel(ascii_only=True)
    panel.face = PanelFace(shape, ("P7  subgrade",), "saved 10:42", "CUT 1/4", ("off −1/4", "read 5"))
    texts = [text for row in panel.rows(80, 7) for text, _ in row]
    assert any(text.strip() for text in texts)
    assert all(text.isascii() for text in texts)
