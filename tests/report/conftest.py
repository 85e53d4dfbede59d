"""A day's work as the tests of its papers have it, made once for each file of tests."""

from __future__ import annotations

import pytest

from gradecheck.report.daily_report import DailyReport
from tests.report.day import Site, a_day


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """A day's work; closed at once, for its report and its state are all that is asked."""
    made = a_day(tmp_path_factory.mktemp("day") / "court")
    made.kept = made.report()
    made.session.close()
    return made


@pytest.fixture(scope="module")
def report(site: Site) -> DailyReport:
    """Its report."""
    assert site.kept is not None
    return site.kept
