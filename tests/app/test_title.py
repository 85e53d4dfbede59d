"""The title of a screen beside the warning of a setup that disagrees: what gives way to what."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from gradecheck.app.widgets.title import beside

WARNING = "SETUP DISAGREES 13/16 in"
WHY = "no time for another setup before the rain"
JOB = "Teasel Mead, five areas"


@pytest.mark.parametrize(
    ("width", "line"),
    [
        (78, " Teasel Mead, fiv… · recheck a mark  SETUP DISAGREES 13/16 in: no time for an…"),
        (60, " Teas… · recheck a mark  SETUP DISAGREES 13/16 in: no time …"),
        (50, " Tease… · recheck a mark  SETUP DISAGREES 13/16 in"),
        (28, " …  SETUP DISAGREES 13/16 in"),
    ],
)
def test_the_job_gives_way_first_and_the_figure_never(width: int, line: str) -> None:
    assert beside(f" {JOB} · recheck a mark", WARNING, WHY, width, JOB) == line


@pytest.mark.parametrize(
    "words", ["set up the laser", "recheck a mark", "correct a mark's elevation", "log of all areas"]
)
@pytest.mark.parametrize("job", ["Y", JOB, "Teasel Mead " * 9, "長い庭の名前" * 6, "recheck a mark"])
def test_the_name_of_a_screen_is_whole_where_the_figure_leaves_room(words: str, job: str) -> None:
    for width in range(24, 140):
        line = beside(f" {job} · {words}", WARNING, WHY, width, job)
        assert cell_len(line) == width
        assert WARNING in line
        # A blank, four cells of the job and the dot before the name, two blanks behind it.
        if width >= 1 + 4 + 3 + len(words) + 2 + len(WARNING):
            assert f" · {words} " in line


def test_a_title_without_a_job_is_cut_only_where_no_reason_is_left_to_cut() -> None:
    for width in range(60, 140):
        line = beside(" Court north · finish · map", WARNING, WHY, width)
        assert line.startswith(" Court north · finish · map ")


def test_a_title_is_as_it_is_where_nothing_disagrees() -> None:
    assert beside(f" {JOB} · recheck a mark", "", "", 20, JOB) == f" {JOB} · recheck a mark"
