"""That the measurements measure: one short round of all of them. How fast anything is, is no matter here."""

from __future__ import annotations

import math

import pytest

from tests.bench.__main__ import measure
from tests.bench.measure import Measure, paired, percentile, table


@pytest.fixture(scope="module")
def measures(tmp_path_factory: pytest.TempPathFactory) -> list[Measure]:
    """One round."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("bench")
        patch.setenv("GRADECHECK_CACHE", str(folder / "cache"))
        patch.setenv("GRADECHECK_SETTINGS", str(folder / "settings"))
        return measure(folder, rounds=1, enters=2, together=2, side=10)


def test_everything_is_measured(measures: list[Measure]) -> None:
    assert {each.number for each in measures} == {1, 2, 3, 4, 9, 13, 14}
    for each in measures:
        if each.ratio is None:
            assert "not" in each.note, each
        else:
            assert math.isfinite(each.ratio), each
            assert each.ratio > 0, each


def test_the_burst_is_booked_right(measures: list[Measure]) -> None:
    (burst,) = [each for each in measures if each.number == 13]
    assert burst.ratio == 1


def test_the_table_shows_every_measure_and_marks_what_is_too_much(measures: list[Measure]) -> None:
    lines = table(measures).splitlines()[1:]
    assert len(lines) == len(measures)
    assert "!" in table([Measure(1, "slow", 1.7, 1.6, 1.25)])
    assert "!" not in table([Measure(1, "quick", 1.6, 1.6, 1.25)])


def test_a_ratio_is_the_median_of_pairs_taken_side_by_side() -> None:
    # The machine was ten times slower in the middle round: each pair still tells the same.
    assert paired([2.0, 20.0, 2.0], [1.0, 10.0, 1.0]) == 2.0
    assert paired([1.0, 4.0, 3.0], [1.0, 1.0, 1.0]) == 3.0


def test_the_95th_percentile_leaves_one_in_twenty_above_it() -> None:
    values = [float(value) for value in range(100)]
    assert sum(value > percentile(values, 0.95) for value in values) <= 5
