"""How old the copy off the laptop is, as the title says it."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from gradecheck.report.sharing import copy_age

HERE = timezone(timedelta(hours=-5))
NOW = datetime(2026, 5, 13, 16, 30, tzinfo=HERE)  # a Wednesday


@pytest.mark.parametrize(
    ("at", "says"),
    [
        (datetime(2026, 5, 13, 14, 3, tzinfo=HERE), ("copied 14:03", False)),
        (datetime(2026, 5, 13, 19, 3, tzinfo=timezone.utc), ("copied 14:03", False)),  # noqa: UP017 - as it is kept
        (datetime(2026, 5, 12, 16, 31, tzinfo=HERE), ("copied Tue 16:31", False)),
        (datetime(2026, 5, 12, 16, 30, tzinfo=HERE), ("COPY 1 DAY OLD", True)),
        (datetime(2026, 5, 10, 16, 31, tzinfo=HERE), ("COPY 2 DAYS OLD", True)),
        (datetime(2026, 5, 14, 9, 0, tzinfo=HERE), ("copied Thu 09:00", False)),  # the clock was set back since
        (None, ("NOT COPIED YET", True)),
    ],
)
def test_an_age_is_a_time_today_a_day_yesterday_and_days_when_it_is_old(
    at: datetime | None, says: tuple[str, bool]
) -> None:
    assert copy_age(at, NOW) == says
