"""What stands around the verdict: no figure is cut, whatever the window; each count that occurs is to be seen."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.app.check_view import Card
from gradecheck.app.widgets.check_regions import (
    AreaProgress,
    Band,
    PointCard,
    bar,
    cell_of,
    heights,
)
from gradecheck.app.widgets.region import Region, width_of
from gradecheck.report.bars import shared
from gradecheck.state.tally import StageCount

CARD = Card(
    "P7", "walk, corner at the gate of the neighbor", "subgrade", "~62 1/2", "-11 3/8", "±3/8", "62 5/16", "10:42"
)


def lines(region: Region, width: int, height: int) -> list[str]:
    """The region as text."""
    rows = region.rows(width, height)
    assert all(width_of(row) <= width for row in rows)
    return ["".join(text for text, _ in row).rstrip() for row in rows]


# -- how the window is shared out


@given(st.integers(40, 250), st.integers(12, 80))
def test_the_regions_fit_and_the_list_goes_first(width: int, rows: int) -> None:
    share = heights(width, rows)
    beside = max(share.card + share.progress, 3) if share.beside else share.card + share.progress + 2 * share.points
    # Band, the sentence, the box and the keys; where the window is not low a row says who decides.
    assert (4 if rows < 22 else 5) + share.verdict + share.bar + beside <= rows + (0 if share.points else 1)
    assert share.verdict >= 7
    assert share.card >= 1
    if not share.progress:
        assert not share.points
    if not share.bar:
        assert not share.progress


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ((60, 20), (7, 1, 2, 1, True, 0)),
        ((80, 24), (7, 1, 2, 1, True, 0)),
        ((80, 29), (10, 1, 2, 1, True, 0)),
        ((120, 40), (13, 1, 18, 3, True, 58)),
        ((100, 24), (7, 1, 8, 3, True, 38)),
        ((60, 15), (7, 1, 2, 1, False, 0)),
        ((40, 12), (7, 0, 1, 0, False, 0)),
    ],
)
def test_the_sizes_that_were_designed(size: tuple[int, int], expected: tuple[int, ...]) -> None:
    share = heights(*size)
    assert (share.verdict, share.bar, share.card, share.progress, share.points, share.beside) == expected


@given(st.integers(40, 250), st.integers(12, 79))
def test_a_higher_window_never_has_a_smaller_verdict(width: int, rows: int) -> None:
    assert heights(width, rows).verdict <= heights(width, rows + 1).verdict


# -- the band


def test_the_band_names_the_job_where_it_is_wide_and_drops_whole_parts() -> None:
    band = Band()
    band._shown = ("Alder Street 12", ("Patio", "subgrade"), ("2 IN DOUBT", "setup on CURB 7:52", "JR"))
    assert lines(band, 100, 1)[0].startswith("  Alder Street 12  Patio  subgrade   ")
    assert lines(band, 80, 1)[0] == "  Patio  subgrade" + " " * 27 + "2 IN DOUBT  setup on CURB 7:52  JR"
    assert lines(band, 44, 1)[0].endswith("2 IN DOUBT")


def test_an_old_copy_stands_first_in_the_band_and_a_new_one_last() -> None:
    band = Band()
    band._shown = ("Alder Street 12", ("Patio", "subgrade"), ("2 IN DOUBT", "setup on CURB 7:52", "JR"))
    band._copied = ("copied 14:03", False)
    assert lines(band, 100, 1)[0].endswith("2 IN DOUBT  setup on CURB 7:52  JR  copied 14:03")
    band._copied = ("COPY 2 DAYS OLD", True)
    assert lines(band, 44, 1)[0].endswith("COPY 2 DAYS OLD  2 IN DOUBT")
    assert [look for text, look in band.rows(100, 1)[0] if text == "COPY 2 DAYS OLD"] == ["doubt"]


# -- the bar


@given(st.fractions(-5, 5), st.integers(6, 40))
def test_the_mark_is_never_on_the_wrong_side_of_a_limit(place: Fraction, half: int) -> None:
    limit = max(half // 3, 2)
    cell = cell_of(place, limit, half)
    assert abs(cell) <= half
    assert (abs(cell) <= limit) == (abs(place) <= 1)
    assert cell * place >= 0


def test_low_is_at_the_left_and_the_way_from_the_middle_is_heavy() -> None:
    def text(place: Fraction) -> str:
        return "".join(cell for cell, _ in bar(place, 9, "work"))

    assert text(Fraction(0)) == "······┃──█──┃······"
    assert text(Fraction(-2)) == "···█━━┃━━┼──┃······"
    assert text(Fraction(1)) == "······┃──┼━━█······"
    assert text(Fraction(9)) == "······┃──┼━━┃━━━━━█"


# -- the card


@pytest.mark.parametrize("width", [40, 60, 80])
def test_the_card_cuts_where_the_point_is_and_no_figure(width: int) -> None:
    card = PointCard()
    card._card = CARD
    first, second = lines(card, width, 2)
    assert first.startswith("▌ P7  walk, c")
    assert first.endswith("should read 62 1/2"), "and no sign that it was rounded: the list says that once"
    assert second.startswith("▌ target −11 3/8")
    assert second.endswith("last read 62 5/16  10:42" if width > 40 else "last read 62 5/16")


def test_beside_the_list_the_rod_figure_is_large_and_lesser_things_go() -> None:
    card = PointCard()
    card._card = CARD
    assert lines(card, 58, 18)[:5] == [
        "▌ P7  walk, corner at the gate of the neighbor",
        "▌ target −11 3/8  tolerance ±3/8",
        "▌ last read 62 5/16  10:42",
        "▌",
        "▌ the rod should read",
    ]
    assert lines(card, 58, 18)[5].startswith("▌ ██████  ██████  ")
    assert len(lines(card, 58, 18)) == 18
    low = lines(card, 38, 8)
    assert low[2] == "▌ the rod should read"
    assert low[3].startswith("▌ ███ ███ ")


# -- the progress


@given(st.lists(st.integers(0, 10_000), min_size=4, max_size=4), st.integers(4, 120))
def test_each_kind_that_occurs_has_a_cell_and_no_other_has(numbers: list[int], cells: int) -> None:
    sizes = shared(numbers, cells)
    assert sum(sizes) == (cells if any(numbers) else 0)
    for number, size in zip(numbers, sizes, strict=True):
        assert (size > 0) == (number > 0)
        if any(numbers):
            assert abs(size - number * cells / sum(numbers)) < 4


def test_the_progress_says_in_words_what_the_bar_shows() -> None:
    region = AreaProgress()
    region._shown = ("Patio, subgrade", StageCount(22, 5, 3, 1, 13), "")
    assert lines(region, 80, 1) == ["  ███████▒▒▒▒?──────────────────         5 of 22  3 out  1 in doubt  13 unread"]
    assert lines(region, 60, 1)[0].endswith("5 of 22  3 out  1 in doubt  13 unread")
    assert lines(region, 40, 1)[0].endswith("5 of 22  3 out")
    assert lines(region, 38, 3) == [
        "  Patio, subgrade   5 of 22 on grade",
        "  ████████▒▒▒▒▒?────────────────────",
        "  3 out  1 in doubt  13 unread",
    ]


def test_an_area_that_is_not_counted_in_full_says_how_many_were_read() -> None:
    region = AreaProgress()
    region._shown = ("border, finish", None, "2 of 10000 read")
    assert lines(region, 80, 1)[0].strip() == "2 of 10000 read"
