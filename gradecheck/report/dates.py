"""Days with their names, never all in figures: 1/5 is a day in May in one language, in January in another."""

from __future__ import annotations

from datetime import date

from gradecheck.catalogue import _, placed

WEEKDAYS = (_("Mon"), _("Tue"), _("Wed"), _("Thu"), _("Fri"), _("Sat"), _("Sun"))
MONTHS = (
    placed("month", "Jan"),
    placed("month", "Feb"),
    placed("month", "Mar"),
    placed("month", "Apr"),
    placed("month", "May"),
    placed("month", "Jun"),
    placed("month", "Jul"),
    placed("month", "Aug"),
    placed("month", "Sep"),
    placed("month", "Oct"),
    placed("month", "Nov"),
    placed("month", "Dec"),
)


def weekday(day: date) -> str:
    """``Mon``."""
    return WEEKDAYS[day.weekday()]


def day_and_month(day: date) -> str:
    """``04 May``."""
    return f"{day:%d} {MONTHS[day.month - 1]}"
