"""When a mark is to be looked at again: after so many readings, or minutes with a reading, or a clock set back."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.report.instrument import look_again, set_up_line
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.journal_strategies import JOB
from tests.session.test_session import MORNING, Clock

W1 = Surface("walk", "W1", "finish")


def reminded(folder: Path, readings: int, minutes: float) -> str:
    """What is said so many minutes after a setup, with so many readings from it; the plan asks after 4, or 60."""
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock()
    session = Session(folder, by="RK", clock=clock)
    try:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        for _ in range(readings):
            session.record(actions.reading(session.state, W1, "48-1/2"))
        return look_again(session.state, MORNING + timedelta(minutes=minutes))
    finally:
        session.close()


@pytest.mark.parametrize(
    ("readings", "minutes", "says"),
    [
        (3, 10, ""),
        (4, 10, "4 readings since the last recheck. Press F5."),
        (1, 59.9, ""),
        (1, 60, "60 minutes since the last recheck. Press F5."),
        (0, 600, ""),
        (1, -2 / 60, ""),
        (1, -3 / 60, "The clock was set back since the last recheck. Press F5."),
        (0, -60, ""),
    ],
)
def test_a_mark_is_to_be_looked_at_again_when_the_plan_says_so(
    tmp_path: Path, readings: int, minutes: float, says: str
) -> None:
    assert reminded(tmp_path, readings, minutes) == says


@pytest.mark.parametrize(
    ("kind", "reads", "told"), [("standard", "48 1/4", "HI 48 1/4 in"), ("direct", "48 1/4", "rod zero -48 1/4 in")]
)
def test_the_height_of_the_instrument_is_called_what_crews_call_it(
    tmp_path: Path, kind: str, reads: str, told: str
) -> None:
    job = f"job: Plover Row\nunits: in\nrods: {{staff: {{kind: {kind}}}}}\nbenchmarks: {{DOOR: 0}}\n"
    job += "tolerances: {finish: 1/8}\n"
    (tmp_path / "job.yaml").write_text(job + "areas:\n  walk:\n    points: {W1: 0}\n", encoding="utf-8")
    session = Session(tmp_path, by="RK")
    session.record(actions.set_up(session.state, "DOOR", reads))
    stood = session.state.setup
    assert stood is not None
    assert set_up_line(session.state, stood) == f"staff on DOOR {reads} in; {told}"
    session.close()
