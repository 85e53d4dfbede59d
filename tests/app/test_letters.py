"""The large letters: drawn as they should be, in the largest size there is room for, and told apart."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.app.widgets.letters import SIZES, large

VERDICTS = st.one_of(
    st.sampled_from(["ON GRADE", "TOO CLOSE", "NOT SAVED", "DISAGREE 7/16", "RELLENO 3/8", "Ñandú P7", "SÍ"]),
    st.builds(
        "{} {}{}/16{}".format,
        st.sampled_from(["CUT", "FILL"]),
        st.sampled_from(["", "1 ", "12 "]),
        st.integers(1, 15),
        st.sampled_from(["", " ?"]),
    ),
)


def drawn(text: str, width: int, rows: int) -> list[str]:
    """The lines without what is blank at their ends."""
    return [line.rstrip() for line in large(text, width, rows)]


def test_a_mixed_number_stands_apart_from_its_fraction() -> None:
    assert drawn("CUT 1 1/4", 62, 5) == [
        "██████  ██  ██  ██████          ██          ██      ██  ██  ██",
        "██      ██  ██    ██          ████        ████      ██  ██  ██",
        "██      ██  ██    ██            ██          ██    ██    ██████",
        "██      ██  ██    ██            ██          ██  ██          ██",
        "██████  ██████    ██            ██          ██  ██          ██",
    ]
    assert drawn("1 1/4", 20, 5)[0] == " █     █   █ █ █", "four cells, and what a 1 leaves of its own"


def test_with_less_room_the_letters_stand_closer_and_then_shrink() -> None:
    assert drawn("FILL 13/16", 57, 5)[0] == "██████ ██ ██     ██          ██ ██████     ██   ██ ██████"
    assert drawn("NOT SAVED", 40, 5)[0] == "█  █ ███ ███    ███ ███ █ █ ███ ██"


def test_pixels_of_three_half_rows_are_drawn_with_half_blocks() -> None:
    assert drawn("ON", 20, 8) == [
        "██████  ██    ██",
        "██▀▀██  ██▄▄  ██",
        "██  ██  ████  ██",
        "██  ██  ██  ████",
        "██  ██  ██  ▀▀██",
        "██  ██  ██    ██",
        "██████  ██    ██",
        "▀▀▀▀▀▀  ▀▀    ▀▀",
    ]


def test_the_letters_of_spanish() -> None:
    assert drawn("ñí", 8, 5) == ["████  █", "", "██ █ █", "█ ██ █", "█  █ █"]
    assert drawn("áéóúü", 20, 5) == [
        "  █   █   █   █ █ █",
        "",
        " █  ███ ███ █ █ █ █",
        "███ ██  █ █ █ █ █ █",
        "█ █ ███ ███ ███ ███",
    ]
    assert drawn("¿¡", 8, 5) == [" █  █", "", "██  █", "█   █", "███ █"]
    assert drawn("CORTÈ", 40, 5) == drawn("CORTE", 40, 5), "an accent that the face does not have is left off"


@pytest.mark.parametrize(
    ("word", "smallest"), [("CORTE 2 7/8", 39), ("RELLENO 12 13/16", 57), ("A NIVEL", 24), ("NO SE GUARDÓ", 45)]
)
def test_the_verdicts_of_spanish_grow_with_the_window(word: str, smallest: int) -> None:
    # By hand: the pixels, one cell between letters, three around a space, four before a fraction.
    heights = [len(large(word, width, 60)) for width in range(smallest, 600)]
    assert heights[0] == 5
    assert heights == sorted(heights)
    assert heights[-1] == 25, "5 pixels of 10 half rows"
    assert len(set(heights)) > 4


def test_without_blocks_they_are_made_of_number_signs() -> None:
    assert large("1", 10, 8, ascii_only=True) == ("  ##", "####", "  ##", "  ##", "  ##")
    for rows in range(5, 30):
        assert set("".join(large("FILL 13/16", 300, rows, ascii_only=True))) == {"#", " "}


@pytest.mark.parametrize(
    ("text", "size", "columns"),
    [
        ("CUT 1 1/4", (93, 10), (93, 10)),
        ("CUT 1 1/4", (92, 10), (85, 10)),
        ("CUT 1 1/4", (84, 10), (79, 10)),
        ("CUT 1 1/4", (79, 8), (62, 8)),
        ("ON GRADE", (120, 13), (117, 13)),
        ("ON GRADE", (63, 5), (57, 5)),
        ("ON GRADE", (56, 5), (55, 5)),
        ("NOT SAVED", (69, 5), (62, 5)),
        ("NOT SAVED", (61, 5), (60, 5)),
        ("ON GRADE", (31, 5), (31, 5)),
        ("ON GRADE", (30, 5), (0, 0)),
        ("ON GRADE", (300, 4), (0, 0)),
    ],
)
def test_the_size_that_is_taken(text: str, size: tuple[int, int], columns: tuple[int, int]) -> None:
    # Worked out by hand: the pixels of all letters, a gap between letters, two gaps and a space between words.
    lines = large(text, *size)
    assert (len(lines[0]) if lines else 0, len(lines)) == columns


@given(VERDICTS, st.integers(1, 250), st.integers(1, 60))
def test_it_fits_and_is_as_large_as_in_any_smaller_window(text: str, width: int, rows: int) -> None:
    lines = large(text, width, rows)
    assert len(lines) <= rows
    assert len({len(line) for line in lines}) <= 1
    assert all(len(line) <= width for line in lines)
    for narrower, lower in ((width - 1, rows), (width, rows - 1)):
        if narrower and lower:
            assert len(large(text, narrower, lower)) <= len(lines)


@pytest.mark.parametrize("rows", [5, 8, 10, 13])
def test_letters_are_told_apart(rows: int) -> None:
    pictures = {
        letter: large(letter, 400, rows)
        for letter in "ABCDEFGHIJKLMNÑOPQRSTUVWXYZÁÉÍÓÚÜ0123456789/'\"+-=±.,:·?¿!¡()_#%&"
    }
    assert all(pictures.values())
    alike = {frozenset(pair) for pair in combinations(pictures, 2) if pictures[pair[0]] == pictures[pair[1]]}
    assert alike == {frozenset("O0"), frozenset("S5")}, "as on many a sign"


@pytest.mark.parametrize("text", ["", "   ", "漢字", "P7 漢", "\x1b[31m"])
def test_what_has_no_letters_is_not_drawn(text: str) -> None:
    assert large(text, 400, 60) == ()


def test_the_largest_size_comes_first() -> None:
    assert list(SIZES) == sorted(SIZES, reverse=True)
