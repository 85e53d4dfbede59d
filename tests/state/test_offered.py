"""What is offered of a changed job file is what would move: what was changed on site stays, and is counted."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.measure.quantities import inches
from gradecheck.report.plan_changes import change_lines, summary
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.first_things import job_open

JOB = """\
job: Teasel Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas:
  court:
    points: {C1: -1, C2: -2, C3: -3}
"""


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job in which C2 was lifted and N1 added on site."""
    with job_open(tmp_path, JOB) as session:
        session.record(actions.change_target(session.state, "C2", "-1 1/2", "a root"))
        session.record(actions.add_point(session.state, "court", "N1", "-4"))
        yield session


def _office_sends(session: Session, points: str) -> str:
    (session.folder / "job.yaml").write_text(JOB.replace("C1: -1, C2: -2, C3: -3", points), encoding="utf-8")
    assert session.plan_file.refresh()
    assert session.offered_changes is not None
    return summary(session.offered_changes, session.plan.notation)


def _wanted(session: Session) -> dict[str, object]:
    targets = {name: session.state.target(Surface("court", name, "finish")) for name in session.plan.area_of}
    return {name: found.wanted for name, found in targets.items() if found is not None}


def test_a_point_changed_on_site_is_not_told_as_moving_and_does_not_move(session: Session) -> None:
    before = _wanted(session)
    said = _office_sends(session, "C1: -1 1/4, C2: -2 1/4, C3: -3 1/4")
    assert said == "2 points moved, most C1 finish by 1/4 in down, 1 point changed on site stays (C2)"
    assert session.offered_changes is not None
    lines = change_lines(session.offered_changes, session.plan.notation)
    assert lines == ["court: 2 points moved (C1, C3) at finish, all -1/4 in"]
    session.record(session.accept_plan())
    after = _wanted(session)
    assert {name for name, wanted in after.items() if wanted != before[name]} == {"C1", "C3"}


def test_where_all_that_moves_was_changed_on_site_no_target_changes(session: Session) -> None:
    assert _office_sends(session, "C1: -1, C2: -2 1/4, C3: -3") == (
        "no target changes, 1 point changed on site stays (C2)"
    )


def test_a_site_point_that_the_office_drew_elsewhere_moves_and_is_not_new(session: Session) -> None:
    assert _office_sends(session, "C1: -1, C2: -2, C3: -3, N1: -5") == "1 point moved, most N1 finish by 1 in down"
    changes = session.offered_changes
    assert changes is not None
    assert [(each.point, each.by) for each in changes.moved] == [("N1", inches(-1))]
    assert changes.added == ()


def test_without_changes_on_site_nothing_stays(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(tmp_path / "other", by="RK")
    session.record(actions.note("begun"))
    assert _office_sends(session, "C1: -1, C2: -2 1/4, C3: -3") == "1 point moved, most C2 finish by 1/4 in down"
    session.close()
