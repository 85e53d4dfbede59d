"""A check that could apply and was not made says so, why, and what it would take: silence is no pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area
from gradecheck.state.state import Surface

JOB = """\
job: Wicken Yard
units: in
benchmarks: {DOOR: 0}
build-ups:
  yard: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}]
tolerances: {subgrade: 1/2, base: 3/8, bedding: 1/4, finish: 1/4}
areas:
"""
Opened = Callable[..., Session]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    """Opens a job with these areas, the instrument at 100 in, and reads points given as ``stage, A=-1, B=-2``."""
    sessions: list[Session] = []

    def job(areas: str, *readings: tuple[str, dict[str, float]], more: str = "") -> Session:
        (tmp_path / "job.yaml").write_text(JOB + areas + more, encoding="utf-8")
        session = Session(tmp_path, by="RK")
        sessions.append(session)
        session.record(session.set_up("DOOR", "100"))
        for stage, heights in readings:
            for point, height in heights.items():
                surface = Surface(session.plan.area_of[point], point, stage)
                session.record(session.reading(surface, f"{100 - height:.6f}".rstrip("0").rstrip(".")))
        return session

    yield job
    for session in sessions:
        session.close()


def said(session: Session, area: str, check: str, stage: str | None = None) -> list[str]:
    """Why that check of the area was not made."""
    return [each.why for each in check_area(session.state, area, stage).not_checked if each.check == check]


YARD = """\
  yard:
    build-up: yard
    points: {A: -1, B: -2}
"""


def test_layers_below_that_nobody_read_are_told(opened: Opened) -> None:
    session = opened(YARD, ("base", {"A": -4, "B": -5}), ("finish", {"A": -1}))
    assert said(session, "yard", "layers") == ["subgrade was not read", "bedding was not read"]
    assert said(session, "yard", "layers", "base") == ["subgrade was not read"]
    assert said(session, "yard", "layers", "subgrade") == []
    assert said(session, "yard", "layers", "bedding") == [], "nothing was read there, so nothing is said of it"
