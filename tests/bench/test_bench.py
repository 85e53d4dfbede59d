"""That the measurements measure: one short round of all of them. How fast anything is, is no matter here."""

from __future__ import annotations

import contextlib
import math
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.journal.store import Soundness
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.bench import scale
from tests.bench.__main__ import measure
from tests.bench.made import worked_border
from tests.bench.measure import Measure, paired, percentile, table
from tests.bench.screens import compiled
from tests.pty.terminal import PATIENCE


@pytest.fixture(scope="module")
def measures(tmp_path_factory: pytest.TempPathFactory) -> list[Measure]:
    """One round."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("bench")
        patch.setenv("GRADECHECK_CACHE", str(folder / "cache"))
        patch.setenv("GRADECHECK_SETTINGS", str(folder / "settings"))
        return measure(folder, rounds=1, enters=2, together=2, side=10, jobs=10)


@pytest.fixture(scope="module")
def scaled(tmp_path_factory: pytest.TempPathFactory) -> list[Measure]:
    """One round of what needs large jobs, in small ones."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("scale")
        patch.setenv("GRADECHECK_CACHE", str(folder / "cache"))
        patch.setenv("GRADECHECK_SETTINGS", str(folder / "settings"))
        patch.setattr(scale, "PATIENCE", PATIENCE)
        found = scale.measure(folder, compiled(folder / "compiled"), scale.QUICK)
        assert {each.name for each in folder.iterdir()} <= {"cache", "settings", "compiled", "growth"}
        return found


def test_everything_is_measured(measures: list[Measure]) -> None:
    assert {each.number for each in measures} == {1, 2, 3, 4, 9, 13, 14, 16, 17, 18, 23, 24}
    for each in measures:
        _is_a_ratio(each)


def test_everything_is_measured_at_scale(scaled: list[Measure]) -> None:
    assert {each.number for each in scaled} == {5, 6, 7, 8, 10, 11, 12, 15, 19, 20, 21, 22, 24}
    for each in scaled:
        if each.number == 11:  # an exponent of so little work may be anything
            assert each.ratio is not None
            assert math.isfinite(each.ratio), each
        else:
            _is_a_ratio(each)


def _is_a_ratio(each: Measure) -> None:
    if each.ratio is None:
        assert "not" in each.note, each
    else:
        assert math.isfinite(each.ratio), each
        assert each.ratio > 0, each


@pytest.mark.parametrize("entries", [10, 11, 700, 1500])
def test_a_made_journal_is_one_the_program_might_have_written(tmp_path: Path, entries: int) -> None:
    job = worked_border(tmp_path / "job", 100, entries)
    with contextlib.closing(Session(job.folder)) as session:
        last = session.entry(str(entries))
        assert session.journal.verify() == Soundness(entries, last.hash, None)
        assert session.state.problems() == []
        assert session.cautions_read_today
        assert not session.why_set_up_is_old
        read = session.record(
            actions.reading(session.state, Surface("border 0", job.points[0], "finish"), job.rods[0])
        )
        assert read.seq == entries + 1
        assert session.lines()[-1].entry.plan == session.lines()[0].entry.plan == session.digest


def test_a_made_journal_says_of_each_reading_what_the_program_says(tmp_path: Path) -> None:
    job = worked_border(tmp_path / "job", 100, 1500)
    with contextlib.closing(Session(job.folder)) as session:
        rows = [log_row(session.state, line) for line in session.lines(limit=1500)]
    assert {"reading", "void", "recheck", "set-up", "moved", "cautions", "day", "note", "plan"} == {
        row.kind for row in rows
    }
    readings = [row for row in rows if row.kind == "reading" and not row.struck]
    assert len(readings) > 1300
    assert all(row.then == row.now for row in readings)


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
