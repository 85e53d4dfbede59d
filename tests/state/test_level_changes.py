"""What an accessible route steps by, as it was built or gauged, is held to what a change in level may be."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.report.checks import CheckResult, area_results, gauged_result
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_gauged
from gradecheck.state.state import Surface

JOB = """\
job: Bittern Walk
units: in
codes: [{codes}]
benchmarks: {{DOOR: 0}}
build-ups: {{walk: [{{paver: 2}}, {{base: 6}}]}}
tolerances: {{subgrade: 1/2, base: 3/8, finish: 1/4}}
rules: {{lippage at most: 1/2 in}}
areas:
  walk:
    build-up: walk
    accessible: {accessible}
    points:
      W1: {{elevation: -1, at: [0, 0]}}
      W2: {{from: W1, down: 1, riser: 3/16, at: [4 ft, 0]}}
"""
ADA = "ADA Standards 2010, 303.2"


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[list[Session]]:
    """Sessions that are closed at the end."""
    sessions: list[Session] = []
    yield sessions
    for session in sessions:
        session.close()


def _site(
    sessions: list[Session], folder: Path, *rods: str, codes: str = "us-accessible", accessible: str = "yes"
) -> Session:
    """The rod stands at 50 in on the zero; what it reads on W1 and W2."""
    (folder / "job.yaml").write_text(JOB.format(codes=codes, accessible=accessible), encoding="utf-8")
    session = Session(folder, by="RK")
    sessions.append(session)
    session.record(actions.set_up(session.state, "DOOR", "50"))
    for point, rod in zip(("W1", "W2"), rods, strict=False):
        session.record(actions.reading(session.state, Surface("walk", point, "finish"), rod))
    return session


def _told(session: Session) -> list[CheckResult]:
    results = area_results(check_area(session.state, "walk"), session.plan.notation)
    return [each for each in results if each.section == "level change"]


# The rod is read to a sixteenth, so each height may be half of that off and a step a whole one.
@pytest.mark.parametrize(
    ("rod", "verdict", "says"),
    [
        ("51-3/16", "passes", "level change 3/16 in, W1 to W2"),
        ("51-1/4", "passes", "level change 1/4 in, W1 to W2"),
        ("51-5/16", "can't tell", "level change 5/16 in, W1 to W2"),
        ("51-3/8", "fault", "level change 3/8 in, W1 to W2"),
        ("50-5/8", "fault", "level change 3/8 in, W1 to W2"),
    ],
)
def test_a_step_that_was_built_is_held_to_it_either_way_up(
    opened: list[Session], tmp_path: Path, rod: str, verdict: str, says: str
) -> None:
    (told,) = _told(_site(opened, tmp_path, "51", rod))
    assert (told.verdict, told.says, told.limit, told.source) == (verdict, says, "1/4 in", ADA)


def test_one_whose_ends_were_not_both_read_is_not_checked(opened: list[Session], tmp_path: Path) -> None:
    (told,) = _told(_site(opened, tmp_path, "51"))
    assert (told.verdict, told.says) == ("not checked", "W1 to W2: not both ends are known; read both ends")


def test_off_an_accessible_route_nothing_is_held_to_it(opened: list[Session], tmp_path: Path) -> None:
    assert _told(_site(opened, tmp_path, "51", "53", accessible="no")) == []


def test_where_no_code_limits_it_that_is_told(opened: list[Session], tmp_path: Path) -> None:
    session = _site(opened, tmp_path, "51", "53", codes="us-residential")
    results = area_results(check_area(session.state, "walk"), session.plan.notation)
    (codes,) = (each for each in results if each.section == "codes")
    assert codes.verdict == "not checked"
    assert "the slopes of an accessible route and its changes in level" in codes.says


@pytest.mark.parametrize(
    ("size", "accessible", "verdict"),
    [("1/4", "yes", "passes"), ("5/16", "yes", "fault"), ("5/16", "no", "passes"), ("9/16", "no", "fault")],
)
def test_a_joint_of_an_accessible_route_is_held_to_the_stricter_of_both(
    opened: list[Session], tmp_path: Path, size: str, accessible: str, verdict: str
) -> None:
    session = _site(opened, tmp_path, accessible=accessible)
    fact = session.record(actions.gauge(session.state, "lippage", "walk", "by W1", size)).fact
    told = gauged_result(check_gauged(session.state, fact), session.plan.notation)  # type: ignore[arg-type]
    assert told.verdict == verdict
    assert told.source == (ADA if accessible == "yes" else "the plan")
