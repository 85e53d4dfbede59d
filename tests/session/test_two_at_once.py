"""One point read in two windows within a second: each of them is told of the other's."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, readings, ready_job

P1 = Surface("path", "P1", "finish")


@pytest.mark.parametrize(("apart", "flagged"), [(0.0, True), (0.9, True), (1.0, True), (1.1, False), (60.0, False)])
def test_a_point_read_in_two_windows_within_a_second_is_told_in_both(
    tmp_path: Path, apart: float, flagged: bool
) -> None:
    clock = Clock()
    job = ready_job(tmp_path / "court", clock)
    one, other = (Session(job, by=by, clock=clock) for by in ("RK", "OV"))
    try:
        draft = one.draft(actions.reading(one.state, P1, "51"))
        clock.pass_by(seconds=apart)
        unaware = other.draft(actions.reading(other.state, P1, "51-1/16"))
        one.record(draft)
        other.record(unaware)
        one.catch_up()
        assert len(readings(job)) == 2
        says = "P1 was read in another window at the same time ({}); see the log."
        assert (one.remark == says.format("51-1/16, OV")) is flagged
        assert (other.remark == says.format("51, RK")) is flagged
    finally:
        one.close()
        other.close()


def test_a_point_read_twice_in_one_window_or_two_points_in_two_are_not(tmp_path: Path) -> None:
    clock = Clock()
    job = ready_job(tmp_path / "court", clock)
    one, other = (Session(job, by=by, clock=clock) for by in ("RK", "OV"))
    try:
        one.record(actions.reading(one.state, P1, "51"))
        one.record(actions.reading(one.state, P1, "51-1/16"))
        other.record(actions.reading(other.state, Surface("path", "P2", "finish"), "51-1/2"))
        one.catch_up()
        assert (one.remark, other.remark) == ("", "")
    finally:
        one.close()
        other.close()
