"""The board: the row that knows most is shown, what contradicts it is told, and no name in it is ever obeyed."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.facts import Head
from gradecheck.report.board import (
    Board,
    KeptRow,
    age_text,
    board_csv,
    board_json,
    board_lines,
    board_of,
    last_text,
    setup_text,
    setups_text,
    when,
)
from gradecheck.report.page import board_page
from gradecheck.state.progress import Progress, SetupStands, StageProgress, Stamp
from tests.report.test_page import HOSTILE, read, text_of

SITE = timezone(timedelta(hours=-5))
NOW = datetime(2026, 5, 14, 15, 0, tzinfo=SITE)
NORTH, SOUTH = "north crew/11111111", "south crew/22222222"


def at(day: int, hour: int, minute: int = 0) -> str:
    """A moment of that May by the clock on site, as rows have it."""
    return datetime(2026, 5, day, hour, minute, tzinfo=SITE).astimezone(UTC).isoformat(timespec="milliseconds")


def stamp(day: int = 14, hour: int = 10, by: str = "JR", laptop: str = "north crew") -> Stamp:
    return Stamp(at(day, hour, 42), -300, by, laptop)


def stage(
    name: str = "subgrade", counts: tuple[int, int, int, int] = (5, 3, 1, 13), area: str = "Patio"
) -> StageProgress:
    last = stamp() if counts != (0, 0, 0, 22) else Stamp("", 0, "")
    return StageProgress(area, name, sum(counts), *counts, *last)


def row(
    laptop: str = NORTH,
    known: Sequence[tuple[str, int]] = ((NORTH, 40), (SOUTH, 30)),
    *,
    entries: int = 0,
    **other: object,
) -> Progress:
    heads = tuple(Head(whose, number, f"{number:064x}") for whose, number in known)
    made = Progress(
        name="Alder Street 12",
        plan="a" * 64,
        laptop=laptop,
        heads=heads,
        entries=entries or sum(number for _, number in known),
        last=stamp(),
        doubt=1,
        setup=SetupStands("CURB", at(14, 7, 52), at(14, 9), -300),
        stages=(stage(), stage("base", (0, 0, 0, 22))),
    )
    return replace(made, **other)  # type: ignore[arg-type]


def one(*rows: Progress, highest: int = 0) -> Board:
    return board_of([("job", [KeptRow(each) for each in rows], highest)])


def remarks(*rows: Progress, highest: int = 0) -> tuple[str, ...]:
    [job] = one(*rows, highest=highest).jobs
    return job.remarks


# -- which row is shown


def test_the_row_that_knows_most_is_shown_and_never_a_sum() -> None:
    less = row(SOUTH, ((NORTH, 20), (SOUTH, 30)), stages=(stage(counts=(9, 9, 0, 4)),))
    for rows in ((less, row()), (row(), less)):
        [job] = one(*rows).jobs
        assert job.row == row()
        assert [kept.row for kept in job.rows] == [row(), less]
        assert job.remarks == ()  # it knows all that the other does


def test_what_another_row_knows_beyond_it_is_told() -> None:
    other = row(SOUTH, ((NORTH, 10), (SOUTH, 42)))
    assert remarks(row(), other) == ("12 entries of south crew are not counted in yet.",)
    third = row("west/3", ((NORTH, 10), ("west/3", 1)))
    assert remarks(row(), third) == ("1 entry of west is not counted in yet.",)


def test_a_laptop_that_was_given_another_name_is_the_same_laptop() -> None:
    assert remarks(row(), row(SOUTH, (("renamed/11111111", 39), (SOUTH, 30)))) == ()


def test_two_that_say_otherwise_of_the_same_entries_are_told() -> None:
    liar = row(SOUTH, stages=(stage(counts=(22, 0, 0, 0)),))
    assert remarks(row(), liar) == ("south crew and north crew count the same entries otherwise.",)
    other_plan = row(SOUTH, plan="b" * 64, stages=(stage(counts=(6, 2, 1, 13)),))
    assert remarks(row(), other_plan) == ("south crew and north crew judge the same entries by different plans.",)
    # Who counted and his own setup are his.
    assert remarks(row(), row(SOUTH, setup=None)) == ()


def test_names_of_files_tell_of_newer_entries_and_of_such_as_are_not_there() -> None:
    assert remarks(row(), highest=41) == ("Newer entries are there than these counts know of.",)
    assert remarks(row(), highest=40) == ()
    assert remarks(row(), highest=39) == ("These counts know of entries that are not there.",)


def test_of_one_laptop_the_row_that_knows_most_is_kept() -> None:
    old = row(NORTH, ((NORTH, 3),))
    [job] = one(old, row()).jobs
    assert [kept.row for kept in job.rows] == [row()]


def test_jobs_of_the_same_day_stand_by_name_and_the_last_day_first() -> None:
    jobs = [
        (name, [KeptRow(row(name=name, last=last))], 0)
        for name, last in (("Cedar", stamp(12)), ("birch", stamp(14, 8)), ("Alder", stamp(14, 7)), ("Elm", None))
    ]
    assert [job.row.name for job in board_of(jobs).jobs] == ["Alder", "birch", "Cedar", "Elm"]


@given(st.permutations([(NORTH, 40, 30), (SOUTH, 20, 35), ("west/3", 40, 30)]))
def test_the_order_in_which_rows_are_found_changes_nothing(order: list[tuple[str, int, int]]) -> None:
    rows = [row(laptop, ((NORTH, north), (SOUTH, south))) for laptop, north, south in order]
    known = [(NORTH, 40, 30), (SOUTH, 20, 35), ("west/3", 40, 30)]
    assert one(*rows) == one(*(row(laptop, ((NORTH, north), (SOUTH, south))) for laptop, north, south in known))


# -- in words


@pytest.mark.parametrize(
    ("last", "says"),
    [
        (stamp(14), "10:42"),
        (stamp(13), "Wed 10:42"),
        (stamp(8), "Fri 10:42"),
        (stamp(7), "2026-05-07"),
        (Stamp(at(14, 15, 10), -300, "JR"), "15:10"),
        (Stamp(at(14, 15, 16), -300, "JR"), "2026-05-14 15:16, AHEAD OF THIS CLOCK"),
        (Stamp("2099-12-31T23:59:59.999+00:00", 0, "JR"), "2099-12-31 23:59, AHEAD OF THIS CLOCK"),
    ],
)
def test_when_something_was_recorded(last: Stamp, says: str) -> None:
    assert when(last, NOW) == says


def test_a_setup_of_another_day_is_none_and_one_that_disagrees_says_so() -> None:
    stands = SetupStands("CURB", at(14, 7, 52), at(14, 9), -300)
    assert setup_text(stands, NOW) == "setup on CURB 07:52"
    assert setup_text(stands, NOW + timedelta(days=1)) == "no setup"
    assert setup_text(replace(stands, disagrees="7/16 in"), NOW) == "SETUP DISAGREES 7/16 in"
    assert setup_text(None, NOW) == "no setup"
    [job] = one(row(), row(SOUTH, ((SOUTH, 3),), setup=None)).jobs
    assert setups_text(job, NOW) == "north crew: setup on CURB 07:52"


def test_the_age_of_a_row_is_told() -> None:
    [job] = board_of([("job", [KeptRow(row(), datetime(2026, 5, 14, 19, 3, tzinfo=UTC))], 0)]).jobs
    assert age_text(job, NOW) == "counted by north crew from 70 entries, sent 14:03"
    assert last_text(job, NOW) == "last entry 10:42 JR, north crew"


def test_the_board_as_text() -> None:
    assert list(board_lines(one(row(), row(SOUTH, ((SOUTH, 32),))), NOW, "office")) == [
        "1 job, office",
        "Alder Street 12: 1 IN DOUBT  north crew: setup on CURB 07:52; south crew: setup on CURB 07:52  "
        "last entry 10:42 JR, north crew",
        # Of 24 cells 5/22 are 5.45, 3/22 3.3, 1/22 1.1 and 13/22 14.2: the one left goes to the first.
        "  Patio             subgrade    ██████▒▒▒?──────────────  5 of 22  3 out  1 in doubt  13 unread  "
        "10:42 JR, north crew",
        "  stages: 1 not begun",
        "  counted by north crew from 70 entries",
        "  2 entries of south crew are not counted in yet.",
    ]


def test_the_board_as_csv_has_a_row_for_each_stage() -> None:
    heading, first, second = csv.reader(io.StringIO(board_csv(one(row()))))
    assert dict(zip(heading, first, strict=True)) == {
        "job": "Alder Street 12", "area": "Patio", "stage": "subgrade", "points": "22", "on grade": "5", "out": "3",
        "in doubt": "1", "unread": "13", "last reading": "2026-05-14 10:42", "by": "JR", "laptop": "north crew",
        "last entry in job": "2026-05-14 10:42", "counted by": "north crew", "entries": "70", "remarks": "",
    }  # fmt: skip
    assert second[2:9] == ["base", "22", "0", "0", "0", "22", ""]


def test_the_board_as_json() -> None:
    [job] = board_json(one(row()))["jobs"]  # type: ignore[misc]
    assert (job["in doubt"], job["entries"], job["counted by"]) == (1, 70, "north crew")
    assert job["stages"][0] == {
        "area": "Patio", "stage": "subgrade", "points": 22, "read": 9, "on grade": 5, "out": 3, "in doubt": 1,
        "unread": 13, "last reading": {"time": "2026-05-14T15:42:00.000+00:00", "by": "JR", "laptop": "north crew"},
    }  # fmt: skip


# -- hostile names


def hostile(text: str) -> Board:
    last = Stamp(at(14, 10), -300, text, text)
    stages = (StageProgress(text, text, 2, 1, 1, 0, 0, *last),)
    setup = SetupStands(text, at(14, 9), at(14, 9), -300, "")
    first = row(f"{text}/1", ((f"{text}/1", 3),), name=text, last=last, setup=setup, stages=stages)
    other = replace(first, laptop=f"{text}/2", heads=(Head(f"{text}/2", 2, "0" * 64),), name=f"{text}!", entries=2)
    board = board_of([("job", [KeptRow(first), KeptRow(other)], 9)], [f"gc1-x.progress: {text}"])
    assert len(board.jobs[0].remarks) == 3
    return board


@pytest.mark.parametrize("text", [*HOSTILE, "'; DROP TABLE entry; --", "[bold red]x[/]", "\x1b]0;t\x07", "\ud800"])
def test_no_name_on_the_page_is_obeyed(text: str) -> None:
    page = board_page(hostile(text), NOW, text)
    says = text_of(read(page))
    assert "\x1b" not in page
    assert "\u202e" not in page
    if text.isprintable() and "&#" not in text and "  " not in text:
        assert text.replace("-", "\N{MINUS SIGN}") in says or text in says
    page.encode()


@pytest.mark.parametrize("text", [*HOSTILE, "=1+1", "@SUM(A1)", "-2+3", "+1", "\t=1"])
def test_no_name_in_the_list_is_a_formula_or_obeyed_by_a_terminal(text: str) -> None:
    told = board_csv(hostile(text))
    for cells in csv.reader(io.StringIO(told)):
        for cell in cells:
            assert not cell.startswith(("=", "@", "+", "-", "\t"))
            assert "\x1b" not in cell


def test_the_page_loads_and_runs_nothing_and_says_what_the_board_says() -> None:
    page = board_page(one(row()), NOW, "/mnt/office")
    says = text_of(read(page))
    for text in ("/mnt/office", "Alder Street 12", "1 IN DOUBT", "5 of 22", "last entry 10:42 JR, north crew",
                 "counted by north crew from 70 entries", "Local code and the drawings decide."):  # fmt: skip
        assert text in says
    assert "default-src 'none'" in page
    assert "<script" not in page
