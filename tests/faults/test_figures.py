"""A table of figures says plainly what is right, what is not, and whether a control was caught."""

from __future__ import annotations

import pytest

from tests.faults.figures import Figures, table


@pytest.mark.parametrize(
    ("wrong", "control", "right"),
    [
        pytest.param(0, False, True, id="nothing-wrong"),
        pytest.param(1, False, False, id="something-wrong"),
        pytest.param(1, True, True, id="control-caught"),
        pytest.param(0, True, False, id="control-not-caught"),
    ],
)
def test_a_row_is_right_without_anything_wrong_and_a_control_only_with(
    wrong: int, *, control: bool, right: bool
) -> None:
    assert Figures("kills", "kills", {}, wrong, control=control).right is right


def test_the_table_names_each_figure_and_shows_examples_for_what_is_wrong() -> None:
    rows = [
        Figures("kills", "kills", {"kills": 1000, "lost": 0}, 0),
        Figures("kills", "too early", {"kills": 3, "lost": 2}, 2, control=True, example="kill 1 lost P001"),
        Figures("clocks", "clocks", {"clocks": 5}, 1, example="seed 1, clock 2: wrong day"),
        Figures("writers", "careless", {"lost": 0}, 0, control=True),
    ]
    lines = table(rows).splitlines()
    assert "kills 1,000, lost 0" in lines[2]
    assert lines[2].split()[:4] == ["kills", "kills", "0", "right"]
    assert "control: too early" in lines[3]
    assert "caught" in lines[3]
    assert "NOT RIGHT" in lines[4]
    assert "NOT RIGHT" in lines[5]
    assert lines[-2:] == [
        "clocks, clocks: seed 1, clock 2: wrong day",
        "writers, careless: nothing came out wrong",
    ]
