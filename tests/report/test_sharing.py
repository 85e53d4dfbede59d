"""How old the copy off the laptop is, as the title says it."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from gradecheck.report.sharing import copy_age, office_age

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


@pytest.mark.parametrize(
    ("at", "to_send", "says"),
    [
        (datetime(2026, 5, 13, 14, 3, tzinfo=HERE), 0, ("office 14:03", False)),
        (datetime(2026, 5, 13, 14, 3, tzinfo=HERE), 12, ("12 to send", False)),
        (datetime(2026, 5, 12, 16, 31, tzinfo=HERE), 1, ("1 to send", False)),
        (datetime(2026, 5, 12, 16, 31, tzinfo=HERE), 0, ("office Tue 16:31", False)),
        (datetime(2026, 5, 12, 16, 30, tzinfo=HERE), 12, ("12 TO SEND SINCE Tue 16:30", True)),
        (datetime(2026, 5, 1, 16, 30, tzinfo=HERE), 0, ("office Fri 16:30", False)),
        (datetime(2026, 5, 14, 9, 0, tzinfo=HERE), 3, ("3 to send", False)),  # the clock was set back since
        (None, 0, ("NOT SENT YET", True)),
    ],
)
def test_the_title_says_when_the_office_had_all_or_how_much_is_to_be_sent(
    at: datetime | None, to_send: int, says: tuple[str, bool]
) -> None:
    assert office_age(at, NOW, to_send) == says
