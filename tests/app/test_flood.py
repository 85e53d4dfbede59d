"""A document pasted or poured into the terminal by mistake is kept out, and nothing a person keys is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.events import Key

from gradecheck.app.flood import Gate, GatedParser

CTRL_U = "\x15"
"""Empties the box."""

START, END = "\x1b[200~", "\x1b[201~"


def in_pieces(text: str, size: int, *, pauses: bool = False) -> tuple[str, int]:
    """What passes of a text that comes in pieces of that size, and how often a flood is said to begin."""
    gate, passed, floods = Gate(), "", 0
    for at in range(0, len(text), size):
        piece, flooded = gate.let_pass(text[at : at + size])
        if pauses:
            gate.pause()
        passed += piece
        floods += flooded
    return passed, floods


keyed = st.lists(
    st.sampled_from(["5", "3", "-", "1/2", "\r", "\x1b[A", "\x1bOS", "\x1b[20~", "\x1b", "\x15", "\x1b[13u", "é"])
).map("".join)


@given(keyed, st.integers(1, 50))
def test_whatever_is_keyed_with_pauses_passes_as_it_is_however_it_is_cut(text: str, size: int) -> None:
    passed, floods = in_pieces(text, size, pauses=True)
    held = next((n for n in (5, 4, 3, 2) if text.endswith(START[:n])), 0)  # an Escape alone waits for nothing
    assert (passed, floods) == (text[: len(text) - held], 0)


@given(st.lists(st.text("0123456789/-. ", max_size=12), max_size=200), st.integers(1, 4096))
def test_readings_sent_all_at_once_pass_in_order(readings: list[str], size: int) -> None:
    text = "".join(f"{each}\r" for each in readings)
    assert in_pieces(text, size) == (text, 0)


@given(st.text(st.characters(exclude_characters="\x1b"), max_size=400), st.integers(1, 500))
def test_a_paste_that_fits_passes_whole(text: str, size: int) -> None:
    assert in_pieces(f"12{START}{text}{END}34\r", size) == (f"12{START}{text}{END}34\r", 0)


@given(st.integers(401, 100_000), st.integers(7, 4096))
def test_of_a_larger_paste_so_much_passes_that_it_is_seen_to_be_too_large(length: int, size: int) -> None:
    passed, _ = in_pieces(f"{START}{'x' * length}{END}53\r", size)
    assert passed == f"{START}{'x' * 400}{END}53\r"


@given(st.integers(401, 100_000), st.integers(1, 4096))
def test_a_row_of_keys_without_end_is_dropped_and_leaves_an_empty_box(length: int, size: int) -> None:
    assert in_pieces("7" * length + "\r", size) == ("7" * 400 + CTRL_U, 1)


def test_lines_without_end_are_dropped_too_and_the_last_one_is_no_reading() -> None:
    passed, floods = in_pieces("53-1/2\r" * 30_000, 4096)
    assert (len(passed), floods) == (3_001, 1)
    assert passed.endswith("53-1/2\r53-1" + CTRL_U)


def test_behind_a_flood_that_has_ended_the_next_key_passes() -> None:
    gate = Gate()
    assert gate.let_pass("7" * 5000) == ("7" * 400 + CTRL_U, True)
    assert gate.let_pass("7" * 5000) == ("", False)
    gate.pause()
    assert gate.let_pass("53\r") == ("53\r", False)


def test_a_key_that_is_held_down_is_no_flood() -> None:
    assert in_pieces("\x1b[B" * 2900, 3) == ("\x1b[B" * 2900, 0)
    assert in_pieces("\x1bOB" * 390, 3) == ("\x1bOB" * 390, 0)


BROKEN = st.text("0123456789;:?<$Mmu~ABPRcty٣", max_size=8)


@given(st.lists(BROKEN | st.sampled_from(["9" * 30, "PIN\r"]), max_size=8))
def test_no_broken_sequence_ends_the_reader_of_the_terminal(broken: list[str]) -> None:
    parser = GatedParser()
    for piece in broken:
        list(parser.feed(f"\x1b[{piece}"))
    after = [each.key for each in parser.feed(f"{END}{'x' * 64}\r") if isinstance(each, Key)]
    assert after[-1] == "enter"


@pytest.mark.parametrize("broken", ["\x1b[1;9:P", "\x1b[1;9:3P", "\x1b[97:65;2u", "\x1b[99999999999u"])
def test_a_key_that_cannot_be_read_types_nothing(broken: str) -> None:
    assert [each.character for each in GatedParser().feed(f"{broken}7") if isinstance(each, Key)] == ["7"]
