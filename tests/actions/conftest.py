"""What the tests of actions share: a session on a small job with two rods, a layout check and a rule for rechecks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck.session.session import Session
from tests.first_things import job_open

JOB = """\
job: Sorrel Yard
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in, length: 13 ft}
  mm rod: {kind: standard, units: mm, graduation: 1 mm, length: 13 ft}
  open rod: {kind: direct, graduation: 1/16 in}
rechecks: {readings: 4, minutes: 60, allowed: 1/8 in}
benchmarks:
  DOOR: 0
  Gate: -4
tolerances: {finish: 1/8 in}
areas:
  yard:
    points: {A1: -1, A2: -2}
layout:
  corner: {sides: [10 ft, 12 ft]}
"""


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job where nothing has happened yet."""
    with job_open(tmp_path, JOB) as session:
        yield session
